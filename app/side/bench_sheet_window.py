"""The bench sheet beside the window: paper, its pages as they will be, then PDF or printer."""

from __future__ import annotations

import datetime

from app.paper.bench_sheet import bench_sheet
from app.paper.heads import titled
from app.paper.pages import Sheet
from app.side.beside import Beside
from app.side.sheet_window import SheetWindow


class BenchSheetWindow(SheetWindow):
    """The readings on one page, as they stand."""

    def __init__(self, beside: Beside) -> None:
        super().__init__(beside, "Bench sheet", "the bench sheet")
        self._fit(980, 760)

    def _sheet(self) -> Sheet:
        return bench_sheet(
            titled(self._document.committed, self._document.path), self._readout.committed_readings,
            self._readout.committed_areas(), paper=self._chosen, today=datetime.date.today(),
        )

    def print(self) -> None:
        """Ask for a printer and print the sheet."""
        self.foot.print()
