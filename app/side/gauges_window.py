"""Gauges beside the window: paper, the pages as they will be, then PDF or printer."""

from __future__ import annotations

import datetime

from app.paper.gauges_sheet import gauges_sheet
from app.paper.heads import titled
from app.paper.pages import Sheet
from app.side.beside import Beside
from app.side.sheet_window import SheetWindow


class GaugesWindow(SheetWindow):
    """Incidence and throw gauges of the design as it stands, to print on card and cut."""

    def __init__(self, beside: Beside) -> None:
        super().__init__(beside, "Gauges", "the gauge sheet")
        self._fit(760, 860)

    def _sheet(self) -> Sheet:
        return gauges_sheet(
            titled(self._document.committed, self._document.path), paper=self._chosen,
            today=datetime.date.today(),
        )
