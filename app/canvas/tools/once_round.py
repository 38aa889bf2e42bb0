"""Once round: a free line of the pen round a drawn shape, which is pulled on to the ink.

What the tracing hand keeps of it while it is drawn, on its way, and on view with its doubtful stretches.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from app.canvas.tools.halves import half_round, pull_of
from app.canvas.tools.hand import Bench, Beside, Label, Overlay, Point, Pointer
from app.canvas.tools.inking import Rounded
from app.canvas.tools.pen_line import PenLine
from app.work.half_trace import HalfRound
from core.design import Node
from core.ink.pulling import Pull, flipped

Stage = Literal["none", "pen", "pulling", "shown", "as drawn"]

_REACH_PX = 9.0


@dataclass(frozen=True, eq=False)
class _Dropped:
    """What Escape dropped: undo brings it back."""

    line: tuple[Point, ...]
    pull: Pull | None


class OnceRound:
    """One line round a shape, from the pen's first move until it is an outline or dropped."""

    def __init__(self, bench: Bench, take: Callable[[tuple[Node, ...]], bool]) -> None:
        """``take`` makes an outline of nodes; whether they would do."""
        self._bench, self._take = bench, take
        self._unasked = self._fitting = False
        """Whether its pull on to the ink waits for the scan to be there; whether it is being fitted."""
        self.stage: Stage = "none"
        self._pen: PenLine | None = None
        self._line: tuple[Point, ...] = ()
        self._pull: Pull | None = None
        self._nodes: tuple[Node, ...] | None = None
        """None while a fit is on its way."""
        self._marked = 0
        """The doubtful stretch that keys flip."""
        self._wanted = False
        """True if it becomes an outline as soon as its nodes are there."""
        self._question = 0
        self._dropped: _Dropped | None = None
        self._on_scan = False
        self.over: int | None = None
        """The doubtful stretch under the mouse."""
        self._drawn: tuple[Pull, tuple[Point, ...]] | None = None

    @property
    def busy(self) -> bool:
        """True if something is drawn, on its way, or waits to be accepted."""
        return self.stage != "none" and (self.stage != "pen" or self.drawing)

    @property
    def drawing(self) -> bool:
        """True if the pen's line is shown, since it may become a line round a shape."""
        return self.stage == "pen" and self._on_scan and self._pen is not None and self._pen.likely

    @property
    def afoot(self) -> bool:
        """True from when the pen is lifted until it is an outline or dropped."""
        return self.stage not in ("none", "pen")

    @property
    def acceptable(self) -> bool:
        """True if it becomes an outline without being asked again; the pen's own line does not."""
        return self.stage in ("pulling", "shown") or (self.afoot and self._wanted)

    # Mouse and keys

    def pressed(self, at: Pointer) -> bool:
        """The button went down; whether that was about this line. A press elsewhere accepts it."""
        if self.stage == "as drawn" and not self._wanted:
            self._bench.say("Return keeps the line as you drew it, Escape drops it.")
            return True
        if self.stage != "shown" or self._wanted:
            return False
        at_stretch = self.stretch_at(at)
        if at_stretch is not None:
            return self.flip(at_stretch)
        self.accept()
        return False

    def moved(self, at: Pointer, held: bool) -> None:
        """The mouse moved, the button ``held`` or not."""
        if held and self.stage == "pen" and self._pen is not None:
            self._pen.draw_to(at)
        self.over = self.stretch_at(at)
        if self.over is not None:
            # What is pointed at is what the key is about.
            self._marked = self.over

    def key(self, key: str) -> bool:
        """A key while the line is afoot; whether it was used."""
        if key == "Return":
            self.accept()
        elif key in ("Escape", "Backspace", "Delete"):
            self.drop()
            self._bench.say("The line is dropped: undo brings it back.")
        elif key == "Tab":
            return self.flip()
        elif key in ("Left", "Right"):
            return self._mark_next(1 if key == "Right" else -1)
        else:
            return False
        return True

    # The pen

    def begin(self, at: Pointer) -> None:
        """The pen is put down; what came before is not brought back any more."""
        self.forget()
        ink = self._bench.ink
        self._on_scan = ink is not None and ink.lies_under(at.x, at.z)
        self._pen, self.stage = PenLine.begun(at), "pen"

    def end(self) -> bool:
        """The pen is lifted; whether it went round a shape, which is pulled on to the ink from here on."""
        pen, self._pen = self._pen, None
        if self.stage != "pen" or pen is None:
            return False
        self.stage = "none"
        if not pen.goes_round:
            return False
        if not self._on_scan:
            self._bench.say("Once round needs a scan under the pen: this was taken as a curve.")
            return False
        self._line = tuple(pen.points)
        self._ask()
        return True

    def _ask(self) -> None:
        ink = self._bench.ink
        if ink is None:
            self._refused("no scan is open")
            return
        self.stage, self._pull, self._nodes, self._unasked = "pulling", None, None, False
        ink.once_round(self._line, self._answer())

    def _answer(self) -> Callable[[Rounded | str], None]:
        """Who hears of what is asked for now, as long as nothing else is."""
        self._question += 1
        question = self._question

        def hear(found: Rounded | str) -> None:
            if question == self._question:
                self._heard(found)

        return hear

    def _heard(self, found: Rounded | str) -> None:
        if isinstance(found, str):
            self._refused(found)
            return
        first = self.stage == "pulling"
        self._pull, self._nodes, self._fitting = found.pull, found.nodes, False
        self.stage = "as drawn" if self.stage == "as drawn" else "shown"
        if self._wanted or (first and not found.pull.choices):
            self._put_in()
        elif first:
            self._marked = 0

    def _refused(self, reason: str) -> None:
        self._wanted = False
        self._nodes = None
        self._pull = Pull(np.array(self._line), (), ())
        self.stage = "as drawn"
        self._bench.say(f"It was not pulled on to the ink: {reason}. Return keeps the line as you drew it.")

    # What is on view

    def accept(self) -> None:
        """It becomes an outline, now or when it is fitted."""
        if self.stage == "pulling":
            if self._unasked:
                self._ask()
            self._wanted = self.stage == "pulling"
        elif self.stage in ("shown", "as drawn"):
            if self._nodes is not None:
                self._put_in()
                return
            self._wanted = True
            if self.stage == "as drawn":
                self._fit()

    def accept_now(self) -> None:
        """The same while everybody waits: the window closes, or another hand is taken."""
        ink = self._bench.ink
        if not self.busy or self.stage == "pen" or ink is None:
            return
        if self._nodes is None:
            self._question += 1
            found = ink.round_now(self._pull or self._line)
            if isinstance(found, str) and self._pull is None:
                # The pen's own line is worth more than none.
                found = ink.round_now(Pull(np.array(self._line), (), ()))
            if isinstance(found, str):
                self._bench.say(f"The line round was dropped: {found}.")
                self.drop()
                return
            self._pull, self._nodes = found.pull, found.nodes
        self._put_in()

    def _put_in(self) -> None:
        nodes = self._nodes or ()
        dropped = _Dropped(self._line, self._pull)
        self.forget()
        if not self._take(nodes):
            self._dropped = dropped

    def _fit(self) -> None:
        ink = self._bench.ink
        if ink is not None and self._pull is not None:
            self._nodes, self._fitting = None, True
            ink.fit_round(self._pull, self._answer())

    def flip(self, k: int | None = None) -> bool:
        """Take the other line at a doubtful stretch, the marked one for None; whether there is one."""
        pull = self._pull
        if self.stage != "shown" or pull is None or not pull.choices:
            return False
        k = self._marked if k is None else k
        self._pull, self._marked, self.over = flipped(pull, k), k, None
        self._fit()
        return True

    def _mark_next(self, step: int) -> bool:
        """Mark another doubtful stretch for the keys; whether there is one."""
        if self.stage != "shown" or self._pull is None or not self._pull.choices:
            return False
        self._marked = (self._marked + step) % len(self._pull.choices)
        return True

    def stretch_at(self, at: Pointer) -> int | None:
        """The doubtful stretch, either line of it, under the pointer."""
        if self.stage != "shown" or self._pull is None:
            return None
        best: tuple[float, int] | None = None
        for k, choice in enumerate(self._pull.choices):
            for run in (self._pull.points[choice.first : choice.last + 1], choice.other):
                if not len(run):
                    continue
                gap = float(np.hypot(*(run - (at.x, at.z)).T).min()) * self._bench.view.scale
                if gap <= _REACH_PX and (best is None or gap < best[0]):
                    best = gap, k
        return None if best is None else best[1]

    # Dropping it

    def drop(self) -> None:
        """It is not wanted; undo brings it back."""
        dropped = _Dropped(self._line, self._pull if self.stage == "shown" else None) if self._line else None
        self.forget()
        self._dropped = dropped

    @property
    def dropped(self) -> bool:
        """True if ``restore`` has something to bring back."""
        return self._dropped is not None

    def restore(self) -> bool:
        """Bring back what was dropped last; whether there was anything."""
        dropped = self._dropped
        if dropped is None:
            return False
        self.forget()
        self._line = dropped.line
        if dropped.pull is None:
            self._ask()
        else:
            self._pull, self.stage = dropped.pull, "shown"
            self._fit()
        return True

    def forget(self) -> None:
        """Nothing of it is left, and nothing that is on its way is wanted."""
        self._question += 1
        if self.stage not in ("none", "pen") and self._nodes is None and self._bench.ink is not None:
            self._bench.ink.cancel()
        self.stage, self._pen, self._line = "none", None, ()
        self._pull, self._nodes, self._wanted, self._marked = None, None, False, 0
        self._dropped, self._drawn, self.over, self._unasked = None, None, None, False
        self._fitting = False

    # Put by, and kept

    def put_by(self) -> None:
        """Another hand is taken: what waits stays as it is, the pen is put away."""
        if self.stage == "pen":
            self.forget()
        # The other hand may ask of the ink too, and what was on its way is not answered then.
        self._wanted, self._dropped, self.over, self._fitting = False, None, None, False

    def parts(self) -> tuple[object, ...]:
        """What ``half`` is made of: the same objects while nothing has changed."""
        return (self._line, self._pull, self._nodes, self.stage) if self.afoot else ()

    def half(self) -> HalfRound | None:
        """What is to be kept of it."""
        if not self.afoot:
            return None
        return half_round(self._line, self._pull, self._nodes, as_drawn=self.stage == "as drawn")

    def take_up(self, half: HalfRound) -> None:
        """Have it on view as it was kept; ``go_on`` sees to what is missing."""
        self.forget()
        self._line, self._pull, self._nodes = half.line, pull_of(half), half.nodes
        self.stage = "as drawn" if half.as_drawn else "pulling" if self._pull is None else "shown"
        self._unasked = self.stage == "pulling"

    def go_on(self) -> None:
        """The hand is taken up again, or a scan has come: ask for what is missing."""
        ink = self._bench.ink
        if self._unasked and ink is not None and ink.lies_under(*self._line[0]):
            self._ask()
        elif self.stage == "shown" and self._nodes is None and not self._fitting:
            self._fit()

    # Seen

    def hint(self) -> str:
        """What goes on and what the keys do."""
        kind = self._bench.tracing_kind
        if self.stage == "pen":
            return f"Once round the {kind}: back to where you began, and let go. Let go elsewhere: a curve."
        if self.stage == "pulling":
            return f"Pulling the line on to the ink… Then it is the {kind}. Escape: drop it."
        if self._wanted:
            return f"Fitting the {kind} to the ink… Escape: drop it."
        if self.stage == "as drawn":
            return f"Not on the ink. Return: keep the line as drawn, as the {kind}. Escape: drop it."
        number = len(self._pull.choices) if self._pull is not None else 0
        if not number:
            return f"Return: it is the {kind}. Escape: drop it."
        several = "" if number == 1 else " Left, Right: the next."
        runs = "Two lines run here" if number == 1 else f"At {number} places two lines run"
        return f"{runs}: a click on the dashes or Tab takes the other.{several} Return: done. Escape: drop."

    def overlay(self) -> Overlay:
        """The pen's line, or the line on the ink with both lines where it is doubtful."""
        if self.stage == "pen":
            points = tuple(self._pen.points) if self._pen is not None else ()
            back = self._pen is not None and self._pen.goes_round
            return Overlay(draft=points, figure="let go: once round" if back else "once round…")
        if self._pull is None:
            return Overlay(draft=(*self._line, *self._line[:1]), figure="on to the ink…")
        line = self._line_of(self._pull)
        besides = tuple(
            Beside(
                _points(self._pull.points[c.first : c.last + 1]), _points(c.other),
                marked=k == self._marked,
            )
            for k, c in enumerate(self._pull.choices)
        )
        figure = "fitting…" if self._wanted else "as drawn" if self.stage == "as drawn" else ""
        # Of several the one that the key flips says so.
        labels = tuple(_key_label(b) for b in besides if b.marked and len(besides) > 1)
        return Overlay(draft=(*line, *line[:1]), besides=besides, labels=labels, figure=figure)

    def _line_of(self, pull: Pull) -> tuple[Point, ...]:
        """Points along it; worked out once, not at every frame."""
        if self._drawn is None or self._drawn[0] is not pull:
            self._drawn = pull, _points(pull.points)
        return self._drawn[1]


def _key_label(beside: Beside) -> Label:
    x, z = beside.other[len(beside.other) // 2]
    return Label(x, z, "Tab", marked=True)


def _points(line: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> tuple[Point, ...]:
    return tuple((float(x), float(z)) for x, z in line)
