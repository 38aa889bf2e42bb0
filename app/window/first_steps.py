"""Five notes that lead through a sample: each is done when the builder does what it says."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import QEvent, QObject, QPoint, QRect, QSettings
from PySide6.QtWidgets import QMainWindow, QWidget

from app.kit.overrides import errors_told
from app.kit.theme import Theme
from app.panels.step_note import Side, StepNote
from app.work.document import Change
from app.work.readout import Readout
from core.design import Outline
from core.kinds import RUDDERS

_SEEN = "first-steps/seen"
_MOVED = 0.001
"""A change of the CLA fraction that can be seen on the rule."""
Where = Literal["canvas", "arm_rule", "answer", "Redesign", "Paper"]


@dataclass(frozen=True)
class Step:
    """One note: its words, what it stands at, on which side its point is."""

    words: str
    where: Where
    side: Side


STEPS: tuple[Step, ...] = (
    Step("Drag the trailing edge of the rudder, at the far right, a little aft or forward. "
         "Undo takes everything back.", "canvas", "none"),
    Step("This rule runs from the CG (0 %) to the fin centre (100 %). Drag the rudder once more and watch "
         "the pointer, the CLA, move along the aim.", "arm_rule", "bottom"),
    Step("Here stands what to do, made from two witnesses: the rule under the sheet, and the handbook "
         "further down. Only where both are content is nothing to be done. Click the answer when you have "
         "read it.", "answer", "right"),
    Step("Have the size found: open Refit the tail in the Redesign menu. It says what each way to the aim "
         "costs; nothing is changed until you press Do it.", "Redesign", "top"),
    Step("To the bench: open the bench sheet in the Paper menu, and look at it before you print it.",
         "Paper", "top"),
)
_REFIT = ("refit",)
_PRINTED = ("sheet", "print")


@errors_told
class FirstSteps(QObject):
    """Shown once by itself, with the first sample that is opened; then when it is asked for."""

    def __init__(
        self, window: QMainWindow, readout: Readout, parts: Callable[[str], QWidget], theme: Theme
    ) -> None:
        super().__init__(window)
        self._window, self._readout, self._parts = window, readout, parts
        self._theme = theme
        self._note: StepNote | None = None
        self._at = -1
        self._watched: list[QWidget] = []
        self._rudders: tuple[Outline, ...] = ()
        self._fraction: float | None = None
        readout.listen(self._changed)

    @property
    def at(self) -> int:
        """Which step is told, from 0; −1 for none."""
        return self._at

    @property
    def note(self) -> StepNote | None:
        """The note on the screen; None while there is none."""
        return self._note

    @property
    def seen(self) -> bool:
        """True if they were begun once."""
        return bool(QSettings().value(_SEEN, False, type=bool))

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        if self._note is not None:
            self._note.set_theme(theme)

    # From one to the next

    def begin(self) -> None:
        """Tell the first step; from now on they are not shown unasked."""
        self.leave()
        QSettings().setValue(_SEEN, True)
        whole = self._whole()
        self._note = StepNote(whole, self._theme)
        self._note.next_wanted.connect(self.next)
        self._note.leave_wanted.connect(self.leave)
        self._watched = [whole, *map(self._parts, ("canvas", "answer"))]
        for widget in self._watched:
            widget.installEventFilter(self)
        self._tell(0)

    def next(self) -> None:
        """Go on, whether the step was done or not; after the last they end."""
        if self._at + 1 < len(STEPS):
            self._tell(self._at + 1)
        else:
            self.leave()

    def leave(self) -> None:
        """No more notes."""
        self._at = -1
        for widget in self._watched:
            widget.removeEventFilter(self)
        self._watched = []
        if self._note is not None:
            self._note.hide()
            self._note.deleteLater()
            self._note = None

    def _tell(self, at: int) -> None:
        assert self._note is not None
        self._at = at
        self._rudders = self._rudders_now()
        self._fraction = self._readout.committed_readings.value("cla_fraction")
        self._note.tell(STEPS[at].words, at + 1, len(STEPS))
        self._place()
        self._note.show()

    # What the builder does

    def _rudders_now(self) -> tuple[Outline, ...]:
        design = self._readout.committed_readings.aeroplane.design
        return tuple(o for o in design.outlines if o.kind in RUDDERS)

    def _changed(self, change: Change) -> None:
        if self._at < 0:
            return
        if change.what == "file" and change.name != "saved":
            self.leave()
        elif change.what == "design" and self._at == 0 and self._rudders_now() != self._rudders:
            self.next()
        elif change.what == "design" and self._at == 1:
            now = self._readout.committed_readings.value("cla_fraction")
            if None not in (now, self._fraction) and abs((now or 0.0) - (self._fraction or 0.0)) >= _MOVED:
                self.next()

    def chosen(self, entry: str) -> None:
        """An entry of the menus was chosen, by its name."""
        if (self._at == 3 and entry in _REFIT) or (self._at == 4 and entry in _PRINTED):
            self.next()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: D102
        if self._note is None:
            return False
        if event.type() in (QEvent.Type.Resize, QEvent.Type.Move):
            self._place()
        elif (
            event.type() == QEvent.Type.MouseButtonRelease and self._at == 2
            and watched is self._parts("answer")
        ):
            self.next()
        return False

    # Where the note stands

    def _whole(self) -> QWidget:
        whole = self._window.centralWidget()
        assert whole is not None
        return whole

    def _place(self) -> None:
        assert self._note is not None
        step, whole = STEPS[self._at], self._whole()
        room = whole.rect().adjusted(2, 2, -2, -2)
        if step.where in ("Redesign", "Paper"):
            bar = self._window.menuBar()
            entry = next(a for a in bar.actions() if a.text().replace("&", "") == step.where)
            place = bar.actionGeometry(entry)
            at = QRect(whole.mapFromGlobal(bar.mapToGlobal(place.topLeft())), place.size())
        else:
            part = self._parts(step.where)
            at = QRect(part.mapTo(whole, QPoint(0, 0)), part.size())
            if step.where == "canvas":
                at = at.adjusted(34, 26, 0, 0)
            elif step.where == "answer":
                at = at.adjusted(0, 10, 0, 0)
        self._note.stand(at, step.side, room)
