"""What windows have in common that show a sheet of the tail's surfaces: which of them, besides the paper."""

from __future__ import annotations

from PySide6.QtWidgets import QComboBox, QWidget

from app.kit.plain import Label
from app.paper.pages import PAPERS
from app.side.beside import Beside
from app.side.sheet_window import SheetWindow


class SurfaceSheetWindow(SheetWindow):
    """A kind of sheet is a class with ``_sheet`` and ``_surfaces``."""

    def __init__(
        self, beside: Beside, title: str, name: str, besides: tuple[tuple[QWidget, ...], ...] = ()
    ) -> None:
        """``besides`` stand between surface and paper."""
        self.surface = QComboBox()
        self.surface.setAccessibleName("Surface")
        self.surface.setMinimumContentsLength(14)
        self.surface.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        label = Label("S&urface")
        label.setBuddy(self.surface)
        self._offered: list[tuple[str, tuple[str, ...]]] = []
        super().__init__(beside, title, name, tuple(PAPERS), ((label, self.surface), *besides))
        self.surface.activated.connect(lambda _: self.compute())

    def _surfaces(self) -> list[tuple[str, tuple[str, ...]]]:
        """(words, ids) of each choice."""
        raise NotImplementedError

    @property
    def ids(self) -> tuple[str, ...]:
        """Ids of what is chosen; none where there is nothing to choose."""
        at = self.surface.currentIndex()
        return self._offered[at][1] if 0 <= at < len(self._offered) else ()

    def choose(self, ids: tuple[str, ...]) -> None:
        """Choose what has those ids, where it is offered."""
        self._offer()
        found = [at for at, (_, these) in enumerate(self._offered) if these == ids]
        if found:
            self.surface.setCurrentIndex(found[0])
            self.compute()

    def _offer(self) -> None:
        kept, offered = self.ids, self._surfaces()
        if offered == self._offered:
            return
        self._offered = offered
        self.surface.clear()
        for words, _ in offered:
            self.surface.addItem(words)
        same = [at for at, (_, these) in enumerate(offered) if these == kept]
        self.surface.setCurrentIndex(same[0] if same else 0)

    def compute(self) -> None:
        """What there is to choose from follows the design."""
        if not self._document.busy:
            self._offer()
        super().compute()
