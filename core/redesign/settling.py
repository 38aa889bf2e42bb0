"""An outline pulled on to the ink that runs along it: what it becomes, and what that moves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from msgspec.structs import replace

from core.design import DisplayUnits, Node, Outline
from core.geometry.ring import Array, flatten, ring_of, signed_area
from core.ink.corners import spaced
from core.ink.fitting import nodes_along
from core.ink.pulling import Pull
from core.kinds import NOSE_TO_TAIL, VERTICAL_TAIL
from core.redesign.outline_edits import EditError
from core.redesign.shared_edges import with_better
from core.stability.side_area import is_thin
from core.units import format_length

_STEP = 0.5
_RAMP = 4.0
"""mm over which a line goes from the ink to where it was."""
_NOTHING = 0.02
"""mm: less is no movement."""
Where = Literal["front", "rear", "top", "bottom"]


@dataclass(frozen=True)
class Settled:
    """``outline`` on the ink; ``moved`` is the furthest that its line goes, in mm, and ``at`` where.

    ``area``: what its area changes by, as a part of what it was.
    """

    outline: Outline
    moved: float
    at: tuple[float, float]
    where: Where
    area: float

    @property
    def still(self) -> bool:
        """True if nothing moves that could be seen."""
        return self.moved < _NOTHING

    def words(self, units: DisplayUnits) -> str:
        """What would move, and how far: "at most 1.8 mm, at the tip; area + 0.6 %"."""
        sign = "−" if self.area < 0 else "+"
        place = _place_words(self.outline, self.where)
        return (
            f"at most {format_length(self.moved, units)}, at the {place}; "
            f"area {sign} {abs(100 * self.area):.1f} %"
        )


def settled(outline: Outline, nodes: Sequence[Node]) -> Settled:
    """``outline`` with the nodes that it gets on the ink. EditError where it may not, or has no area then."""
    if outline.locked:
        raise EditError(f'"{outline.name}" is locked: unlock it in the list of outlines first')
    if len(nodes) < 2 or is_thin(nodes):
        raise EditError(f'on the ink "{outline.name}" would have no area: settle its edges one by one')
    moved = replace(outline, nodes=tuple(nodes))
    old, new = path_of(outline), path_of(moved)
    far, at = max(_furthest(new, old), _furthest(old, new))
    was = abs(signed_area(ring_of(outline.nodes)))
    now = abs(signed_area(ring_of(moved.nodes)))
    return Settled(moved, far, at, _where(old, at), (now - was) / was if was > 0 else 0.0)


def on_ink(pull: Pull, path: Array, *, closed: bool) -> Array:
    """The points (M, 2) of a pull in mm as an outline along ``path`` (N, 2) is to settle on them.

    Of two lines that run side by side the one nearer to where it is; where there is no ink it stays
    where it is.
    """
    old = shapely.LinearRing(path) if closed else shapely.LineString(path)
    pull = with_better(pull, lambda own, other: _mean_away(other, old) < _mean_away(own, old))
    points = pull.points.copy()
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))))
    for first, last in pull.bare:
        run = slice(first, last + 1)
        at = shapely.line_interpolate_point(old, shapely.line_locate_point(old, shapely.points(points[run])))
        # Step by step from the ink at either end, so that no corner comes of it.
        to_end = np.minimum(along[run] - along[first], along[last] - along[run])
        share = np.clip(to_end / _RAMP, 0.0, 1.0)[:, None]
        points[run] = (1 - share) * points[run] + share * shapely.get_coordinates(at)
    return points


def _mean_away(points: Array, line: shapely.LineString) -> float:
    return float(shapely.distance(shapely.points(points), line).mean()) if len(points) else np.inf


def path_of(outline: Outline) -> Array:
    """Points (N, 2) in mm along the outline, about half a millimetre apart, the first not repeated."""
    return spaced(flatten(ring_of(outline.nodes)), _STEP, closed=True)


def edge_path(outline: Outline, edge: int) -> Array:
    """Points (N, 2) in mm along one edge, both its ends among them."""
    a, b = outline.nodes[edge], outline.nodes[(edge + 1) % len(outline.nodes)]
    ends = (Node(a.x, a.z, handle_out=a.handle_out), Node(b.x, b.z, handle_in=b.handle_in))
    corners = flatten(ring_of(ends))
    last = int(np.flatnonzero((corners == (b.x, b.z)).all(axis=1))[-1])
    if last == 0:
        raise EditError("that edge has no length: there is nothing to settle")
    return spaced(corners[: last + 1], _STEP)


def with_edge(outline: Outline, edge: int, points: Array, tolerance_mm: float = 0.12) -> tuple[Node, ...]:
    """The nodes of the outline with one edge through ``points`` (N, 2) mm; its two ends go with it."""
    count = len(outline.nodes)
    after = (edge + 1) % count
    run = [Node(j.x, j.z, j.handle_in, j.handle_out) for j in nodes_along(points, tolerance_mm)]
    run[0] = replace(run[0], handle_in=outline.nodes[edge].handle_in)
    run[-1] = replace(run[-1], handle_out=outline.nodes[after].handle_out)
    others = [outline.nodes[(after + k) % count] for k in range(1, count - 1)]
    made = (*run, *others)
    # The node that came first stays first.
    turn = (len(made) - edge) % len(made) if edge < count - 1 else len(run) - 1
    return (*made[turn:], *made[:turn])


def _furthest(points: Array, other: Array) -> tuple[float, tuple[float, float]]:
    away = np.asarray(shapely.distance(shapely.points(points), shapely.LinearRing(other)))
    worst = int(np.argmax(away))
    return float(away[worst]), (float(points[worst, 0]), float(points[worst, 1]))


def _where(path: Array, at: tuple[float, float]) -> Where:
    """At which side of the outline's box a place lies, as seen from its middle."""
    low, high = path.min(axis=0), path.max(axis=0)
    middle, half = (low + high) / 2, (high - low) / 2 + 1e-9
    across, up = ((at[axis] - float(middle[axis])) / float(half[axis]) for axis in (0, 1))
    if abs(across) >= abs(up):
        return "front" if across < 0 else "rear"
    return "top" if up > 0 else "bottom"


def _place_words(outline: Outline, where: Where) -> str:
    """The side as one says it of that kind: a fuselage has a nose, a fin a tip."""
    words: dict[str, str] = {}
    if outline.kind in NOSE_TO_TAIL:
        words = {"front": "nose", "rear": "tail end"}
    elif outline.kind in VERTICAL_TAIL:
        words = {"top": "tip", "bottom": "foot"}
    return words.get(where, where)
