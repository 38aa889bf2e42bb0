"""Where the window's parts lead to in the help, what opens it, and the first steps in a sample."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Protocol, cast

from PySide6.QtCore import QObject, QPoint, Qt
from PySide6.QtWidgets import QMainWindow, QWidget

from app.canvas.canvas import Canvas
from app.kit.asking_what import ask_what
from app.kit.help_places import HANDS, PANELS, help_of, set_help
from app.kit.theme import Theme, data_folder
from app.window.first_steps import FirstSteps
from app.window.menus import Menus
from app.window.side_windows import SideWindows
from app.work.readout import Readout
from core.design_file import ENDING

_SAMPLE = f"marsh-harrow-52{ENDING}"


class _Guide(Protocol):
    # The help's own module is imported when it is asked for.
    def go_to(self, place: str) -> None: ...


class Guidance(QObject):
    """What the Help menu does."""

    def __init__(
        self, window: QMainWindow, readout: Readout, canvas: Canvas, side: SideWindows,
        parts: Callable[[str], QWidget], open_sample: Callable[[Path], None], theme: Theme,
    ) -> None:
        super().__init__(window)
        self._window, self._canvas, self._side, self._open_sample = window, canvas, side, open_sample
        self._asked = False
        self.first_steps = FirstSteps(window, readout, parts, theme)
        for name, place in PANELS.items():
            set_help(parts(name), place)
        canvas.hand_changed.connect(lambda _: self._hand_changed())
        self._hand_changed()
        # The canvas has a menu of its own under the right button.
        canvas.setContextMenuPolicy(Qt.ContextMenuPolicy.PreventContextMenu)
        window.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        window.customContextMenuRequested.connect(self._ask_what)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self.first_steps.set_theme(theme)

    def follow(self, menus: Menus) -> None:
        """Have the first steps know what is chosen from the menus."""
        for name, action in menus.actions.items():
            action.triggered.connect(lambda _=False, entry=name: self.first_steps.chosen(entry))

    # The help

    def show(self, place: str) -> None:
        """Open the help at a place."""
        cast(_Guide, self._side.show("help")).go_to(place)

    def show_here(self) -> None:
        """Open it at what has the focus."""
        self.show(help_of(self._window.focusWidget(), self._window))

    def _hand_changed(self) -> None:
        set_help(self._canvas, HANDS[self._canvas.hand.name])

    def _ask_what(self, at: QPoint) -> None:
        ask_what(self._window, at, self.show)

    # The first steps

    def begin_first_steps(self) -> None:
        """Open a sample, after asking about unsaved work, and lead through it."""
        self._asked = True
        self._open_sample(data_folder("sample_designs") / _SAMPLE)
        self._asked = False

    def file_opened(self, path: Path) -> None:
        """The program was started with that file: a sample is one whatever way it is opened."""
        if path.suffix == ENDING and path.resolve().parent == data_folder("sample_designs").resolve():
            self.sample_opened()

    def sample_opened(self) -> None:
        """Lead through the first sample that is opened, and through those that are opened for it."""
        if self._asked or not self.first_steps.seen:
            self.first_steps.begin()
