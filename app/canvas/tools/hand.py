"""What every hand has in common: plain events in, edits and an overlay out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, Protocol

from app.canvas.snapping import Snap
from app.canvas.tools.inking import InkService
from app.canvas.view import View
from app.scans.lying_sheet import FoundSheet
from app.work.selection import Selection
from core.design import Design
from core.kinds import Kind
from core.redesign.scan_edits import Size

Point = tuple[float, float]


@dataclass(frozen=True)
class Pointer:
    """The mouse: its point in mm and in logical pixels, and the keys held with it."""

    x: float
    z: float
    px: float
    py: float
    shift: bool = False
    ctrl: bool = False
    alt: bool = False


@dataclass(frozen=True)
class Label:
    """A few words at a point in mm; ``marked`` where they tell of something to look at."""

    x: float
    z: float
    text: str
    marked: bool = False


@dataclass(frozen=True)
class Beside:
    """Two lines that run side by side, of which one is taken; ``marked`` where keys would take the other."""

    taken: tuple[Point, ...]
    other: tuple[Point, ...]
    marked: bool = False


@dataclass(frozen=True)
class Overlay:
    """What a hand wants drawn over the canvas; all points in mm."""

    draft: tuple[Point, ...] = ()
    """Corners of the flattened half-drawn outline."""
    draft_nodes: tuple[Point, ...] = ()
    draft_handles: tuple[tuple[Point, Point], ...] = ()
    guides: tuple[tuple[Point, Point], ...] = ()
    points: tuple[Point, ...] = ()
    snap: Snap | None = None
    band: tuple[Point, Point] | None = None
    """Two opposite corners of the rectangle that is being drawn out."""
    figure: str = ""
    """Text beside the cursor."""
    closing: bool = False
    """Whether the next click would close the draft."""
    labels: tuple[Label, ...] = ()
    edge: tuple[Point, ...] = ()
    """Corners of the sheet that is worked on, whose edge is brought out."""
    ghost_edge: tuple[Point, ...] = ()
    """Corners of where that sheet would come to lie."""
    besides: tuple[Beside, ...] = ()
    """Stretches of the draft beside which a second line runs."""


NO_OVERLAY = Overlay()

ARROWS = {"Left": (-1, 0), "Right": (1, 0), "Up": (0, 1), "Down": (0, -1)}
"""How far (right, up) an arrow key points."""


class Bench(Protocol):
    """What a hand may reach: the design through its one door, the selection, the view."""

    @property
    def design(self) -> Design: ...
    @property
    def busy(self) -> bool: ...
    @property
    def selection(self) -> Selection: ...
    @property
    def view(self) -> View: ...
    @property
    def scan_sizes(self) -> dict[str, Size]: ...
    def sheet_of(self, scan_id: str) -> FoundSheet | None: ...
    @property
    def tracing_kind(self) -> Kind: ...
    @property
    def ink(self) -> InkService | None: ...
    def select(self, selection: Selection) -> None: ...
    def begin(self, name: str, *, lasting: bool = False) -> None: ...
    def preview(self, design: Design) -> None: ...
    def commit(self) -> None: ...
    def abort(self) -> None: ...
    def apply(self, name: str, edit: Callable[[Design], Design]) -> None: ...
    def say(self, sentence: str) -> None: ...
    def tell(self, sentence: str) -> None: ...
    def shift_view(self, dx: float, dz: float) -> None: ...
    def traced(self, outline_id: str) -> None: ...
    def take_hand(self, name: str) -> None: ...


Cursor = Literal["arrow", "cross", "move", "edge", "node"]


class Hand:
    """A hand at rest; the others override what they answer to."""

    name = "hand"
    label = "Hand"
    letter = ""
    icon = ""
    tip = ""
    overlay_moves = False
    """Whether the overlay moves with the mouse, all over the canvas, while a gesture is under way."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench

    @property
    def busy(self) -> bool:
        """Whether a gesture or a draft is under way."""
        return False

    @property
    def undoable(self) -> bool:
        """True if ``undo`` has something of this hand's own to take back."""
        return self.busy

    @property
    def redoable(self) -> bool:
        """True if ``redo`` has something of this hand's own to do again."""
        return False

    def hint(self) -> str:
        """What this hand does now and what its keys do."""
        return self.tip

    def unusable(self) -> str:
        """Why the hand cannot be used yet; empty where it can."""
        return ""

    def press(self, at: Pointer) -> None:
        """The left button went down."""

    def move(self, at: Pointer, held: bool) -> None:
        """The mouse moved, the left button ``held`` or not."""

    def release(self, at: Pointer) -> None:
        """The left button came up."""

    def double(self, at: Pointer) -> None:
        """A double click, after its first press and release."""

    def key(self, key: str, *, shift: bool = False) -> bool:
        """A key ("Return", "Escape", "Backspace", "Delete", "Left", ...); whether it was used."""
        return False

    def hold(self, down: bool) -> bool:
        """The key that is held (F) went down or came up; whether it means something to this hand."""
        return False

    def settle(self) -> None:
        """Another key, a press, or the focus goes: what is done as it stands ends."""

    def undo(self) -> bool:
        """Take back the last step of a draft; whether there was one."""
        return False

    def redo(self) -> bool:
        """Do it again; whether there was one."""
        return False

    def keep_draft(self) -> None:
        """The window is about to close: put what is half done into the design, as far as that can be."""

    def hand_over(self) -> None:
        """Another hand is about to be taken: what only waits to be worked out goes into the design."""

    def leave(self) -> None:
        """Another hand takes over: a gesture under way is dropped; a half-drawn outline waits."""

    def go_on(self) -> None:
        """The hand is taken up, or a scan has come: go on with what was half done."""

    def overlay(self) -> Overlay:
        """What to draw over the canvas now."""
        return NO_OVERLAY

    def cursor(self) -> Cursor:
        """How the cursor should look."""
        return "arrow"
