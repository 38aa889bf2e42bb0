"""An outline stretched from its far side when one of its curved edges is pulled, so that curves stay fair.

Fin and rudder are stretched along the chord from their hinge line, and together upwards from the root.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from msgspec.structs import replace

from core.design import Design, Node, Outline, Vector
from core.geometry.ring import Array, point_on, ring_of, signed_area
from core.kinds import UPRIGHT
from core.parts.hinge import axis_of, hinge_between
from core.redesign.belonging import is_shared, joined
from core.redesign.outline_edits import EditError, edge_normal
from core.redesign.tail import tails
from core.stability.side_area import form_of

_SMOOTH = math.radians(4.0)
HINGE_GAP = 2.0
"""mm: edges of fin and rudder half as far again from each other are the two sides of one hinge."""
HELD = 0.5
"""mm: what lies this near to the line that a stretch begins at stays exactly where it is."""
_UPWARDS = 0.8
"""An edge whose normal leans to the hinge's line by more than this cosine is a tip or a root."""
_FLAT = 0.8
"""A sine: an edge beside the run leads its corner if it goes so much away from the far side."""
_ALONG = 0.3
"""A pull moves an edge that it slides along by less than this (a cosine) alone: all else would leap."""
_LEAST = 0.02
"""A stretch leaves this much of what there was, so that nothing turns over."""


def smooth_run(outline: Outline, edge: int) -> tuple[int, ...]:
    """The edges, in order, of the run through ``edge`` that has no corner; none if all of it is straight."""
    count = len(outline.nodes)
    run = [edge]
    while len(run) < count and _runs_through(outline, (run[-1] + 1) % count):
        run.append((run[-1] + 1) % count)
    while len(run) < count and _runs_through(outline, run[0]):
        run.insert(0, (run[0] - 1) % count)
    curved = ring_of(outline.nodes).curved
    return tuple(run) if any(curved[e] for e in run) else ()


def _runs_through(outline: Outline, index: int) -> bool:
    """True if the outline has no corner at that node."""
    into, out = _tangent(outline, index, -1), _tangent(outline, index, 1)
    turn = math.atan2(into[0] * out[1] - into[1] * out[0], -(into[0] * out[0] + into[1] * out[1]))
    return abs(turn) < _SMOOTH


def _tangent(outline: Outline, index: int, way: int) -> Vector:
    """From a node along its edge: way 1 the one that begins there, −1 the one that ends there."""
    nodes = outline.nodes
    node, next_one = nodes[index], nodes[(index + way) % len(nodes)]
    own, far = (node.handle_out, next_one.handle_in) if way > 0 else (node.handle_in, next_one.handle_out)
    if own is not None and math.hypot(*own) > 1e-9:
        return own
    far = far or (0.0, 0.0)
    return next_one.x + far[0] - node.x, next_one.z + far[1] - node.z


@dataclass(frozen=True)
class _Line:
    """A straight line: a point on it and the unit normal to the side that is stretched."""

    at: Vector
    normal: Vector

    def height(self, x: float, z: float) -> float:
        return (x - self.at[0]) * self.normal[0] + (z - self.at[1]) * self.normal[1]

    def along(self, x: float, z: float) -> float:
        return (z - self.at[1]) * self.normal[0] - (x - self.at[0]) * self.normal[1]


def far_side(places: Array, way: Vector) -> _Line:
    """The side of ``places`` (N, 2) mm that looks most against ``way``: an edge of the hull."""
    hull = shapely.get_coordinates(shapely.convex_hull(shapely.multipoints(places)))
    best: tuple[float, _Line] | None = None
    if len(hull) > 3:
        turn = 1.0 if shapely.is_ccw(shapely.linearrings(hull)) else -1.0
        for a, b in pairwise(hull):
            along = (b - a) / np.hypot(*(b - a))
            inwards = (float(-turn * along[1]), float(turn * along[0]))
            agree = inwards[0] * way[0] + inwards[1] * way[1]
            if best is None or agree > best[0]:
                best = (agree, _Line((float(a[0]), float(a[1])), inwards))
    if best is not None and best[0] > _FLAT:
        return best[1]
    # Round or slanting away everywhere: a line square to the pull.
    back = places[int((places @ np.array(way)).argmin())]
    return _Line((float(back[0]), float(back[1])), way)


@dataclass(frozen=True)
class Stretch:
    """How one pull changes outlines: everything off ``line`` moves by its share, ``lead`` says which way."""

    outlines: tuple[Outline, ...]
    what: str
    """What grows, for the figure beside the cursor."""
    point: Vector
    """The place that is pulled, mm."""
    line: _Line
    lead: tuple[tuple[float, Vector], ...]
    """(how far along the line, direction there with a part of 1 off the line): one, or two in order."""
    normal: Vector
    """Unit normal out of the outline at that place."""
    reach: float
    """How far off the line that place is, mm."""

    @property
    def way(self) -> Vector:
        """Where the pulled place goes, a unit vector."""
        (x, z), _ = self._lead(self.line.along(*self.point))
        length = math.hypot(x, z)
        return x / length, z / length

    def pulled(self, dx: float, dz: float) -> float:
        """How far (mm, outwards positive) the pulled place goes to keep its edge under a pull by (dx, dz)."""
        (x, z), (mx, mz) = self.way, self.normal
        return max((dx * mx + dz * mz) / (x * mx + z * mz), -(1.0 - _LEAST) * self._slant * self.reach)

    @property
    def _slant(self) -> float:
        """How far the pulled place goes for each mm off the line."""
        return math.hypot(*self._lead(self.line.along(*self.point))[0])

    def made(self, distance: float) -> dict[str, Outline]:
        """The outlines with the pulled place ``distance`` mm further."""
        k = max(distance / self._slant / self.reach, _LEAST - 1.0)
        return {
            o.id: replace(o, nodes=tuple(self._node(node, k) for node in o.nodes)) for o in self.outlines
        }

    def _lead(self, s: float) -> tuple[Vector, Vector]:
        """(direction, its change for each mm along the line) at ``s``."""
        (s0, a), (s1, b) = self.lead[0], self.lead[-1]
        if s1 - s0 < 1e-9 or s <= s0:
            return a, (0.0, 0.0)
        if s >= s1:
            return b, (0.0, 0.0)
        turn = ((b[0] - a[0]) / (s1 - s0), (b[1] - a[1]) / (s1 - s0))
        return (a[0] + turn[0] * (s - s0), a[1] + turn[1] * (s - s0)), turn

    def _node(self, node: Node, k: float) -> Node:
        off = self.line.height(node.x, node.z)
        if off < -HELD:
            # Ahead of the hinge, such as a balance: nothing of it is pulled.
            return node
        off = off if off > HELD else 0.0
        way, turn = self._lead(self.line.along(node.x, node.z))

        def carried(handle: Vector | None) -> Vector | None:
            if handle is None:
                return None
            (hx, hz), (nx, nz) = handle, self.line.normal
            out, on = hx * nx + hz * nz, hz * nx - hx * nz
            return (
                hx + k * (out * way[0] + off * turn[0] * on), hz + k * (out * way[1] + off * turn[1] * on)
            )

        return Node(
            node.x + k * off * way[0], node.z + k * off * way[1],
            carried(node.handle_in), carried(node.handle_out),
        )


def stretch_of(design: Design, outline_id: str, edge: int, t: float) -> Stretch | None:
    """What pulling an edge of a smooth run at ``t`` stretches; None where the edge moves alone.

    It does where it is straight between corners, where it is the hinge that fin and rudder share, and
    where it lies on the far side itself.
    """
    outline = design.outline(outline_id)
    run = smooth_run(outline, edge)
    if not run or is_shared(design, outline, edge):
        return None
    x, z = point_on(form_of(outline).ring, edge, t).tolist()
    pull = _Pull(design, outline, run, (x, z), _normal_at(outline, edge, t))
    hinge = hinge_line(design, outline)
    if hinge is None:
        return pull.from_side(far_side(_places(outline), pull.normal))
    along = (hinge[1] - hinge[0]) / np.hypot(*(hinge[1] - hinge[0]))
    lean = float(along @ np.array(pull.normal))
    upwards = pull.upwards((float(along[0]), float(along[1]))) if lean > _UPWARDS else None
    if upwards is not None:
        return upwards
    if lean < -_UPWARDS:
        return pull.from_side(far_side(_places(outline), pull.normal))
    across = (float(along[1]), float(-along[0]))
    if across[0] * pull.normal[0] + across[1] * pull.normal[1] < 0.0:
        across = (-across[0], -across[1])
    return pull.from_side(_Line((float(hinge[0, 0]), float(hinge[0, 1])), across))


def hinge_line(design: Design, outline: Outline) -> Array | None:
    """The straight line (2, 2), from low to high, at which fin and rudder meet; None without."""
    for other in joined(design, outline):
        hinge = hinge_between(form_of(outline).patch.region, form_of(other).patch.region, HINGE_GAP)
        if hinge is not None:
            return axis_of(hinge.line)
    return None


@dataclass(frozen=True)
class _Pull:
    """What is pulled, and where."""

    design: Design
    outline: Outline
    run: tuple[int, ...]
    point: Vector
    normal: Vector

    def upwards(self, along: Vector) -> Stretch | None:
        """Fin and rudder stretched together from the root, along the hinge line."""
        try:
            tail = next(t for t in tails(self.design) if self.outline.id in t.ids)
        except (EditError, StopIteration):
            return None
        reach = self.point[1] - tail.root_z
        if not reach > 0.5 * tail.height or along[1] < _FLAT:
            return None
        both = (self.outline, *joined(self.design, self.outline))
        kinds = " and ".join(sorted({o.kind for o in both}))
        lead = ((0.0, (along[0] / along[1], 1.0)),)
        line = _Line((tail.front_x, tail.root_z), (0.0, 1.0))
        return Stretch(both, f"{kinds}, height", self.point, line, lead, self.normal, reach)

    def from_side(self, line: _Line) -> Stretch | None:
        """The one outline stretched from a line at its far side."""
        reach = line.height(*self.point)
        most = max(line.height(n.x, n.z) for n in self.outline.nodes)
        if not reach > max(0.05 * most, 2 * HELD):
            return None
        made = Stretch(
            (self.outline,), self.outline.kind, self.point, line, self._leads(line), self.normal, reach
        )
        return made if made.way[0] * self.normal[0] + made.way[1] * self.normal[1] > _ALONG else None

    def _leads(self, line: _Line) -> tuple[tuple[float, Vector], ...]:
        """Along which lines the corners at the ends of the run slide, else level or square to that side."""
        found = []
        count = len(self.outline.nodes)
        usual = line.normal
        if self.outline.kind in UPRIGHT and abs(usual[0]) > _FLAT:
            usual = (1.0 / usual[0], 0.0)
        for index, way in ((self.run[0], -1), ((self.run[-1] + 1) % count, 1)):
            node = self.outline.nodes[index]
            x, z = _tangent(self.outline, index, way)
            off = x * line.normal[0] + z * line.normal[1]
            led = len(self.run) < count and abs(off) > _FLAT * math.hypot(x, z)
            found.append((line.along(node.x, node.z), (x / off, z / off) if led else usual))
        return tuple(sorted(found))


def _places(outline: Outline) -> Array:
    return np.array([(n.x, n.z) for n in outline.nodes])


def _normal_at(outline: Outline, edge: int, t: float) -> Vector:
    """Unit normal out of the outline at a place of an edge."""
    ring = form_of(outline).ring
    a, b = point_on(ring, edge, max(t - 0.02, 0.0)), point_on(ring, edge, min(t + 0.02, 1.0))
    dx, dz = float(b[0] - a[0]), float(b[1] - a[1])
    length = math.hypot(dx, dz)
    if length < 1e-9:
        return edge_normal(outline, edge)
    way = 1.0 if signed_area(ring) >= 0.0 else -1.0
    return way * dz / length, -way * dx / length
