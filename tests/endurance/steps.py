"""What the steps of a walk have in common: how they are named and drawn, and what they take hold of."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from desk import ALT, CTRL, FREE, SHIFT, Desk, Place
from PySide6.QtCore import Qt

from app.work.selection import Selection
from core.design import Outline

Step = Callable[[Desk, Random], object]
STEPS: dict[str, Step] = {}
OFTEN: list[str] = []
"""Names of the steps, those that are done often several times."""
MOST_OUTLINES, MOST_SCANS, MOST_PARTS = 14, 3, 8
"""Beyond these a walk makes no more, so that its steps stay quick."""


def step(often: int = 1) -> Callable[[Step], Step]:
    """Name a step by its function; ``often`` as many times as likely as the rarest."""

    def named(function: Step) -> Step:
        name = function.__name__.replace("_", " ")
        STEPS[name] = function
        OFTEN.extend([name] * often)
        return function

    return named


def some_outline(desk: Desk, n: Random) -> Outline | None:
    """One of the outlines shown, those that the hand passes over now and then included."""
    outlines = desk.design.outlines
    free = [o for o in outlines if not (o.locked or o.hidden)] or outlines
    return n.choice(free if n.random() < 0.9 else outlines) if outlines else None


def held_keys(n: Random) -> Qt.KeyboardModifier:
    """Mostly no key."""
    return n.choice((FREE, FREE, FREE, SHIFT, CTRL, ALT))


def place_on_sheet(desk: Desk, n: Random) -> Place:
    """Anywhere on the canvas as it is seen now."""
    # What is drawn must not depend on how large the canvas is just now: else a walk cannot be gone again.
    canvas, across, down = desk.canvas, n.random(), n.random()
    return canvas.view.to_mm(5 + across * (canvas.width() - 10), 5 + down * (canvas.height() - 10))


def near(desk: Desk, n: Random, at: Place, px: int = 60) -> Place:
    """A place not far from another, as far as a hand pulls."""
    scale = desk.canvas.view.scale
    return at[0] + n.randint(-px, px) / scale, at[1] + n.randint(-px, px) / scale


def middle_of_edge(outline: Outline, index: int) -> Place:
    """Half way along the cubic of an edge."""
    one, other = outline.nodes[index], outline.nodes[(index + 1) % len(outline.nodes)]
    out, into = one.handle_out or (0.0, 0.0), other.handle_in or (0.0, 0.0)
    return (
        (one.x + 3 * (one.x + out[0]) + 3 * (other.x + into[0]) + other.x) / 8,
        (one.z + 3 * (one.z + out[1]) + 3 * (other.z + into[1]) + other.z) / 8,
    )


def in_sight(desk: Desk, n: Random) -> None:
    """What is taken hold of must be seen: fit now and then, and whenever the view went astray."""
    scale = desk.canvas.view.scale
    if n.random() < 0.1 or not 0.05 < scale < 40:
        desk.canvas.fit()


def picked_some(desk: Desk, n: Random) -> bool:
    """See to it that something is selected; whether anything could be."""
    if not desk.window.picked.now.outlines or n.random() < 0.3:
        outline = some_outline(desk, n)
        if outline is None:
            return False
        desk.window.picked.set(Selection((outline.id,)))
    return True


def room_for_outlines(desk: Desk) -> bool:
    """Whether a walk may make more outlines."""
    return len(desk.document.committed.outlines) < MOST_OUTLINES
