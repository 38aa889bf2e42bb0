"""The parts sheet beside the window: every part full size, and the cutting list, as they will be."""

from __future__ import annotations

import datetime

from app.paper.heads import titled
from app.paper.pages import Sheet
from app.paper.parts_sheet import parts_sheet
from app.side.beside import Beside
from app.side.surface_sheet import SurfaceSheetWindow
from core.redesign.build_edits import name_of


class PartsSheetWindow(SurfaceSheetWindow):
    """Of one surface that has parts, or of all of them."""

    def __init__(self, beside: Beside) -> None:
        super().__init__(beside, "Parts sheet", "the parts sheet")
        self._fit(820, 860)

    def _surfaces(self) -> list[tuple[str, tuple[str, ...]]]:
        design = self._document.committed
        each: list[tuple[str, tuple[str, ...]]] = [(name_of(design, b), (b.id,)) for b in design.builds]
        return [("all with parts", tuple(b.id for b in design.builds)), *each] if len(each) != 1 else each

    def _sheet(self) -> Sheet:
        return parts_sheet(
            titled(self._document.committed, self._document.path), self.ids or None, paper=self._size,
            today=datetime.date.today(),
        )
