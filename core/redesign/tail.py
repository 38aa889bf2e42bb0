"""The vertical tail as a refit sees it: where it stands on the fuselage, and how it is stretched."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np
import shapely
from msgspec.structs import replace
from shapely.geometry.base import BaseGeometry

from core.design import Design, Node, Outline, Vector
from core.geometry.memo import IdentityMemo
from core.geometry.overlay import NOTHING, common, lines_in, union, without
from core.geometry.regions import rings_of
from core.kinds import CARRIERS, FINS, RUDDERS, UPRIGHT, VERTICAL_TAIL
from core.redesign.outline_edits import EditError
from core.stability.fin import no_tail
from core.stability.side_area import form_of

Line = tuple[float, float]
"""A line across the tail: its station at z = 0 in mm, and by how much that moves aft for each mm up."""
RESTS = 0.5
"""mm: a fin this near to a body stands on it."""


@dataclass(frozen=True, eq=False)
class Tail:
    """The fins and rudders of one count; lengths in mm."""

    count: int
    ids: frozenset[str]
    region: BaseGeometry
    exposed: BaseGeometry
    """What of it stands out of the body, whatever the counting rule makes of its stance."""
    body: BaseGeometry
    root_z: float
    """Height up to which it is held by the body: the highest point where its edge leaves it."""
    top_z: float
    front_x: float
    """Foot of the leading edge, at the root."""
    rear_x: float
    """Foot of the trailing edge, at the root."""
    hinge_x: float
    """Foot of the hinge line; without a hinge the middle of the root."""

    @property
    def height(self) -> float:
        """From the root to the top."""
        return self.top_z - self.root_z

    @property
    def area(self) -> float:
        """Exposed area of one, times the count; mm²."""
        return float(shapely.area(self.exposed)) * self.count


def tails(design: Design) -> tuple[Tail, ...]:
    """The vertical tail by counts, those with most area first. EditError where there is none."""
    body = union(form_of(o).patch.region for o in design.outlines if o.kind in CARRIERS)
    found = []
    for count in sorted({o.count for o in design.outlines if o.kind in VERTICAL_TAIL}):
        here = [o for o in design.outlines if o.kind in VERTICAL_TAIL and o.count == count]
        made = _tail(count, here, body)
        if made is not None:
            found.append(made)
    if not found:
        raise EditError(f"there is no fin to refit: {no_tail(design)}")
    return tuple(sorted(found, key=lambda t: -t.area))


def _tail(count: int, outlines: list[Outline], body: BaseGeometry) -> Tail | None:
    region = union(form_of(o).patch.region for o in outlines)
    exposed = without(region, body)
    if any(o.standing == "clear" for o in outlines) and shapely.area(exposed) < 0.2 * shapely.area(region):
        # Fins at the wing's tips stand beside the fuselage, not in it.
        exposed, body = region, NOTHING
    if not shapely.area(exposed) > 1e-6:
        return None
    low, top = float(shapely.bounds(region)[1]), float(shapely.bounds(region)[3])
    root = _root_z(region, exposed, body, low)
    # A fin that comes out of the body behind it alone has no root that runs along: scale it all.
    if root > top - 0.05 * (top - low):
        root = low
    just_above = root + 0.01 * (top - root)
    across = span_at(exposed, just_above) or (
        float(shapely.bounds(exposed)[0]), float(shapely.bounds(exposed)[2])
    )
    rudder = union(form_of(o).patch.region for o in outlines if o.kind in RUDDERS)
    fin = union(form_of(o).patch.region for o in outlines if o.kind in FINS)
    hinge = 0.5 * (across[0] + across[1])
    if shapely.area(rudder) > 0 and shapely.area(fin) > 0:
        foot = span_at(rudder, just_above)
        hinge = foot[0] if foot else float(shapely.bounds(rudder)[0])
    return Tail(
        count, frozenset(o.id for o in outlines), region, exposed, body, root, top,
        across[0], across[1], hinge,
    )


def _root_z(region: BaseGeometry, exposed: BaseGeometry, body: BaseGeometry, low: float) -> float:
    inside = common(region, body)
    if shapely.area(inside) > 0:
        touching = lines_in(exposed.boundary, shapely.buffer(inside, 0.01))
    elif shapely.dwithin(region, body, RESTS):
        touching = lines_in(region.boundary, shapely.buffer(body, RESTS))
    else:
        return low
    points = shapely.get_coordinates(touching)
    return float(points[:, 1].max()) if len(points) else low


def span_at(region: BaseGeometry, z: float) -> tuple[float, float] | None:
    """(foremost, rearmost) x in mm that the level line at ``z`` meets; None where it meets nothing."""
    return _extent(region, z, 1)


def rise_at(region: BaseGeometry, x: float) -> tuple[float, float] | None:
    """(lowest, highest) z in mm at the station ``x``; None where the region does not reach it."""
    return _extent(region, x, 0)


def _extent(region: BaseGeometry, at: float, axis: int) -> tuple[float, float] | None:
    found: list[float] = []
    for corners, _ in rings_of(region):
        a, b = corners[:-1], corners[1:]
        hit = np.nonzero((a[:, axis] <= at) != (b[:, axis] <= at))[0]
        share = (at - a[hit, axis]) / (b[hit, axis] - a[hit, axis])
        found.extend((a[hit, 1 - axis] + share * (b[hit, 1 - axis] - a[hit, 1 - axis])).tolist())
    return (min(found), max(found)) if found else None


def stands(design: Design) -> bool:
    """Whether every fin of the design still touches what it could stand on, if there is such."""
    for tail in tails(design):
        if not tail.body.is_empty and not shapely.dwithin(tail.region, tail.body, RESTS):
            return False
    return True


def stretched(
    design: Design, along: float, up: float, about: Mapping[str, Line], all_tails: tuple[Tail, ...],
    held: float = 0.0,
) -> Design:
    """The design with its fins and rudders stretched from their roots.

    ``along`` is the factor in x, about the line that ``about`` gives for each outline by id; nodes within
    ``held`` mm of it keep their station to the last bit. ``up`` is the factor in z above the root line,
    below which nothing is raised, so that the root stays in the fuselage. Straight lines stay straight
    on either side of the root line: an edge that crosses it slantwise gets a node there.
    """
    by_id = {i: tail for tail in all_tails for i in tail.ids}
    made = []
    for outline in design.outlines:
        tail = by_id.get(outline.id)
        if tail is None:
            made.append(outline)
            continue
        ready = outline if up == 1.0 else _ready.get((outline, tail), partial(noded, outline, tail))
        made.append(_stretch(ready, along, about[outline.id], up, tail.root_z, held))
    return replace(design, outlines=tuple(made))


_ready: IdentityMemo[Outline] = IdentityMemo(64)


def noded(outline: Outline, tail: Tail) -> Outline:
    """With a node wherever a slanting edge crosses the root line, unless it ends near to it."""
    near = 0.03 * tail.height
    edge = 0
    made = outline
    while edge < len(made.nodes):
        a, b = made.nodes[edge], made.nodes[(edge + 1) % len(made.nodes)]
        rise = b.z - a.z
        crosses = (a.z - tail.root_z) * (b.z - tail.root_z) < 0
        far = min(abs(a.z - tail.root_z), abs(b.z - tail.root_z)) > near
        straight = a.handle_out is None and b.handle_in is None
        if crosses and far and straight and abs(b.x - a.x) > 1e-9:
            # From the lower end, whichever way round: fin and rudder share a hinge to the last bit.
            low, high = (a, b) if rise > 0.0 else (b, a)
            share = (tail.root_z - low.z) / (high.z - low.z)
            between = Node(low.x + share * (high.x - low.x), tail.root_z)
            made = replace(made, nodes=(*made.nodes[: edge + 1], between, *made.nodes[edge + 1 :]))
            edge += 1
        edge += 1
    return made


def _stretch(
    outline: Outline, along: float, about: Line, up: float, root_z: float, held: float
) -> Outline:
    def mapped(x: float, z: float) -> Vector:
        about_x = about[0] + about[1] * z
        return about_x + along * (x - about_x), root_z + up * (z - root_z) if z > root_z else z

    nodes = []
    for node in outline.nodes:
        x, z = mapped(node.x, node.z)

        def handle(
            offset: Vector | None, node: Node = node, x: float = x, z: float = z
        ) -> Vector | None:
            if offset is None:
                return None
            tip_x, tip_z = mapped(node.x + offset[0], node.z + offset[1])
            return tip_x - x, tip_z - z

        stays = abs(node.x - about[0] - about[1] * node.z) <= held
        nodes.append(Node(node.x if stays else x, z, handle(node.handle_in), handle(node.handle_out)))
    return replace(outline, nodes=tuple(nodes))


def tail_front(design: Design) -> float:
    """Foremost station in mm of the tail: fins, rudders, ventral fins, tailplanes; inf without any."""
    xs = [form_of(o).patch.box[0] for o in design.outlines if o.kind in UPRIGHT]
    xs += [min(s.le_x for s in t.stations) for t in design.tailplanes if t.stations]
    return min((x for x in xs if math.isfinite(x)), default=math.inf)
