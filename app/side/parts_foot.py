"""What leaves the window of tail parts: sheets and gauges in windows of their own, files for the cutter."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from app.kit.plain import Label, plain
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from app.side.beside import Beside
from app.side.parts_cutting import CuttingFiles
from app.side.surface_sheet import SurfaceSheetWindow
from core.design_build import Build


class PartsFoot(QWidget):
    """What was said, and four buttons; each opens what asks for the rest."""

    def __init__(self, window: QWidget, beside: Beside, build: Callable[[], Build | None]) -> None:
        """``build`` tells which one is shown."""
        super().__init__(window)
        self._window, self._beside, self._build = window, beside, build
        self._theme, self._at_fault = beside.theme, False
        self.said = Label()
        self.said.setWordWrap(True)
        self.said.setAccessibleName("What happened")
        self.sheet_button = QPushButton("&Parts sheet…")
        self.outline_button = QPushButton("&Dimensioned outline…")
        self.cut_button, self.gauges_button = QPushButton("&Cutting files…"), QPushButton("&Gauges…")
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.said, 1)
        for button, does, tip in (
            (self.sheet_button, self.show_sheet, "Every part full size on paper, and the cutting list."),
            (self.outline_button, self.show_outline, "Fin and rudder apart with their measures, on paper."),
            (self.cut_button, self.cut, "SVG or DXF for a laser or a drag knife, its kerf allowed for."),
            (self.gauges_button, lambda: beside.show("gauges"), "Card that measures incidence and throws."),
        ):
            button.setAutoDefault(False)
            button.setToolTip(plain(tip))
            button.clicked.connect(lambda _checked=False, run=does: run())
            row.addWidget(button)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self._colour()

    def _colour(self) -> None:
        self.said.setStyleSheet(f"color: {self._theme.fault if self._at_fault else self._theme.ink};")

    def say(self, words: str, *, at_fault: bool = False) -> None:
        """Show ``words``; nothing where they are empty."""
        self._at_fault = at_fault
        self._colour()
        self.said.setText(as_sentence(words))

    def allow(self, any_build: bool, any_surface: bool) -> None:
        """What can go out: parts, and what has an outline to dimension."""
        for button in (self.sheet_button, self.cut_button):
            button.setEnabled(any_build)
        self.outline_button.setEnabled(any_surface)

    def show_sheet(self) -> None:
        """The parts sheet of what is shown, or of all."""
        build = self._build()
        self._open("parts-sheet", () if build is None else (build.id,))

    def show_outline(self) -> None:
        """The dimensioned outline of what is shown."""
        build = self._build()
        self._open("dimensioned", () if build is None else build.of)

    def _open(self, name: str, ids: tuple[str, ...]) -> None:
        window = self._beside.show(name)
        if ids and isinstance(window, SurfaceSheetWindow):
            window.choose(ids)

    def cut(self) -> None:
        """Ask which parts, for the kerf and the kind of file, and write it."""
        desk = self._beside.desk
        desk.document.settle()
        build = self._build()
        CuttingFiles(
            self._window, desk, self._theme, desk.document.committed, build.id if build else None, self.say
        ).open()
