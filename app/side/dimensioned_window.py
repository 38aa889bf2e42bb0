"""The dimensioned outline beside the window: a surface of the tail with its measures, as it will be."""

from __future__ import annotations

import datetime

from PySide6.QtWidgets import QCheckBox

from app.keeping.choices import keep_choice
from app.paper.dimensioned import dimensioned_sheet
from app.paper.heads import titled
from app.paper.pages import Sheet
from app.side.beside import Beside
from app.side.surface_sheet import SurfaceSheetWindow
from core.redesign.build_edits import buildable, name_of
from core.redesign.outline_edits import EditError


class DimensionedWindow(SurfaceSheetWindow):
    """Of any surface of the tail, whether it has parts or not."""

    def __init__(self, beside: Beside) -> None:
        self.full_size = QCheckBox("&Full size")
        self.full_size.setToolTip("Over as many pages as it takes; else on one page, at a round scale.")
        keep_choice("dimensioned outline/full size", self.full_size)
        super().__init__(beside, "Dimensioned outline", "the dimensioned outline", ((self.full_size,),))
        self.full_size.toggled.connect(lambda _: self.compute())
        self._fit(820, 860)

    def _surfaces(self) -> list[tuple[str, tuple[str, ...]]]:
        design = self._document.committed
        made = [(name_of(design, build), build.of) for build in design.builds]
        return [*made, *((one.name, one.ids) for one in buildable(design))]

    def _sheet(self) -> Sheet:
        if not self.ids:
            raise EditError("there is no fin, rudder or tailplane to dimension: trace or enter one first")
        return dimensioned_sheet(
            titled(self._document.committed, self._document.path), self.ids, paper=self._size,
            today=datetime.date.today(), full_size=self.full_size.isChecked(),
        )
