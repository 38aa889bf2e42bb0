"""Parts as they are drawn on paper, one by one: whole, or of a long stick its ends; with label and grain.

Everything in mm of paper in the piece's own plane, u to the right, v up.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from app.paper.ink import one_line
from app.paper.parts_words import joint_name, length_words
from core.bench.cutting_list import filled_edge, turned_by
from core.bench.nesting import Laid
from core.design import Design
from core.geometry.overlay import common
from core.geometry.ring import Array
from core.parts.part import Built, Part
from core.units import format_angle

END = 40.0
"""mm of a long stick that are drawn at either end."""
_BREAK = 7.0
_ALIKE = 0.02
ARROW_HALF = 1.3


@dataclass(frozen=True)
class Words:
    """One line of a label, in points."""

    text: str
    size: float
    bold: bool = False

    @property
    def pitch(self) -> float:
        """In mm."""
        return 1.22 * self.size * 25.4 / 72


@dataclass(frozen=True)
class Label:
    """Lines about their middle (u, v); ``wide`` × ``tall`` mm."""

    lines: tuple[Words, ...]
    u: float
    v: float
    wide: float
    tall: float

    @property
    def box(self) -> BaseGeometry:
        """What it covers."""
        return shapely.box(
            self.u - self.wide / 2, self.v - self.tall / 2, self.u + self.wide / 2, self.v + self.tall / 2
        )


Arrow = tuple[tuple[float, float], tuple[float, float]]


@dataclass(frozen=True, eq=False)
class Piece:
    """One drawing: the part's ``edge`` to cut, lines marked on it, where a long stick is broken."""

    number: int
    part: Part
    name: str
    count: int
    edge: BaseGeometry
    engraved: tuple[Array, ...]
    grain: float
    """Degrees from u; NaN: none."""
    breaks: tuple[Array, ...] = ()
    label: Label | None = None
    arrow: Arrow | None = None

    @property
    def edge_lines(self) -> list[BaseGeometry]:
        """The edge, and all that is marked."""
        return [self.edge.boundary, *(shapely.LineString(line) for line in self.engraved if len(line) > 1)]

    def at(self, laid: Laid) -> Piece:
        """The piece where it was laid, without its label."""
        return replace(
            self, edge=laid.move(self.edge), grain=self.grain + 90.0 * laid.quarter, label=None, arrow=None,
            engraved=tuple(laid.points(line) for line in self.engraved),
        )

    def turned(self, degrees: float) -> Piece:
        """The piece turned to the left, without its label."""
        return replace(
            self, edge=turned_by(self.edge, degrees), grain=self.grain + degrees, label=None, arrow=None,
            engraved=tuple(shapely.get_coordinates(turned_by(shapely.LineString(line), degrees))
                           for line in self.engraved if len(line) > 1),
        )

    @property
    def room(self) -> BaseGeometry:
        """All that it covers on paper, label and grain's arrow included."""
        whole = shapely.box(*self.edge.bounds) if self.breaks else filled_edge(self.edge)
        more: list[BaseGeometry] = [] if self.label is None else [self.label.box]
        if self.arrow is not None:
            more.append(shapely.buffer(shapely.LineString(self.arrow), ARROW_HALF, quad_segs=2))
        outside = [shape for shape in more if not shapely.covers(whole, shape)]
        return _together([*shapely.get_parts(whole), *outside]) if outside else whole


def _together(shapes: Sequence[BaseGeometry]) -> BaseGeometry:
    return shapely.MultiPolygon([shape for shape in shapes if isinstance(shape, shapely.Polygon)])


def pieces_of(builts: Iterable[Built]) -> tuple[Piece, ...]:
    """Every part numbered from 1, equal ones of a build once; plain sticks have an empty edge."""
    found: list[tuple[list[str], Part, int]] = []
    for built in builts:
        own: list[tuple[list[str], Part, int]] = []
        for part in built.parts:
            same = next((i for i, (_, p, _) in enumerate(own) if _alike(p, part)), None)
            if same is None:
                own.append(([part.name], part, part.count))
            else:
                names, first, count = own[same]
                own[same] = [*names, part.name], first, count + part.count
        found += own
    return tuple(
        _piece(number, one_line(joint_name(names)[:120]), part, count)
        for number, (names, part, count) in enumerate(found, 1)
    )


def _alike(one: Part, other: Part) -> bool:
    if (one.role, one.material) != (other.role, other.material):
        return False
    if max(abs(getattr(one, s) - getattr(other, s)) for s in ("length", "width", "thick")) > _ALIKE:
        return False
    # Of one outline, but bevelled or tapered in its depth.
    if abs(one.volume - other.volume) > 1e-2 * max(one.volume, other.volume):
        return False
    if max(abs(a - b) for a, b in zip(one.outline.bounds, other.outline.bounds, strict=True)) > _ALIKE:
        return False
    if len(one.engraved) != len(other.engraved):
        return False
    lines = zip(one.engraved, other.engraved, strict=True)
    if not all(a.shape == b.shape and np.abs(a - b).max(initial=0.0) <= _ALIKE for a, b in lines):
        return False
    edge, second = one.outline.boundary, other.outline.boundary
    return bool(shapely.hausdorff_distance(edge, second) <= _ALIKE)


def _piece(number: int, name: str, part: Part, count: int) -> Piece:
    if part.role == "stick":
        if _plain(part):
            return Piece(number, part, name, count, shapely.Polygon(), (), math.nan)
        broken = _broken(part)
        if broken is not None:
            edge, breaks = broken
            return Piece(number, part, name, count, edge, (), math.nan, breaks)
    return Piece(number, part, name, count, part.outline, part.engraved, part.grain)


def _plain(part: Part) -> bool:
    """True if a stick is a rectangle along u: nothing about it needs a drawing."""
    low_u, low_v, high_u, high_v = part.outline.bounds
    missing = (high_u - low_u) * (high_v - low_v) - part.outline.area
    return not part.engraved and missing <= 0.05 * max(high_v - low_v, 1.0)


def _broken(part: Part) -> tuple[BaseGeometry, tuple[Array, ...]] | None:
    """Both ends of a long stick that is straight between them, moved together; None for all others."""
    low, low_v, high, high_v = part.outline.bounds
    if high - low <= 2 * END + 4 * _BREAK or part.engraved or shapely.get_num_interior_rings(part.outline):
        return None
    corners = shapely.get_coordinates(shapely.simplify(part.outline, 0.01))
    if ((corners[:, 0] > low + END - 1.0) & (corners[:, 0] < high - END + 1.0)).any():
        return None
    ends = [
        common(part.outline, shapely.box(a, low_v - 1.0, b, high_v + 1.0))
        for a, b in ((low, low + END), (high - END, high))
    ]
    if not all(end.geom_type == "Polygon" and not end.is_empty for end in ends):
        return None
    shift = low + END + _BREAK - (high - END)
    second = shapely.transform(ends[1], lambda p: np.asarray(p + np.array((shift, 0.0))))
    breaks = tuple(
        _zigzag(u, *_at(end, u)) for end, u in ((ends[0], low + END), (second, high - END + shift))
    )
    return _together([ends[0], second]), breaks


def _at(shape: BaseGeometry, u: float) -> tuple[float, float]:
    """Lower and upper v of the end's straight cut at ``u``."""
    v = shapely.get_coordinates(shape)
    on = v[np.abs(v[:, 0] - u) < 1e-6][:, 1]
    return float(on.min()), float(on.max())


def _zigzag(u: float, low: float, high: float) -> Array:
    """The sign of a break, a little beyond the stick on both sides."""
    middle, reach = (low + high) / 2, 1.2
    return np.array((
        (u, low - reach), (u, middle - 1.2), (u - 1.0, middle - 0.5), (u + 1.0, middle + 0.5),
        (u, middle + 1.2), (u, high + reach),
    ))


def drawn_edge(piece: Piece) -> list[Array]:
    """What is to be cut, as polylines: closed, but for the side at which a stick is broken."""
    found = []
    levels = [float(line[0, 0]) for line in piece.breaks]
    for polygon in shapely.get_parts(piece.edge):
        if polygon.geom_type != "Polygon":
            continue
        for ring in (polygon.exterior, *polygon.interiors):
            points = shapely.get_coordinates(ring)
            at = [
                i for i in range(len(points) - 1)
                if any(np.abs(points[i : i + 2, 0] - level).max() < 1e-6 for level in levels)
            ]
            if at:
                open_ring = np.vstack((points[at[0] + 1 : -1], points[: at[0] + 1]))
                found.append(open_ring)
            else:
                found.append(points)
    return found


def further_words(piece: Piece, design: Design) -> str:
    """Of a broken stick: how long it is, and the angles of its ends to its lower edge."""
    units = design.display_units
    part = piece.part
    if not piece.breaks:
        return ""
    said = f"{length_words(part.length, units)} {'mm' if units == 'mm' else 'in'} long"
    corners = shapely.get_coordinates(shapely.simplify(part.outline, 0.01))[:-1]
    if len(corners) == 4:
        angles = _end_angles(corners)
        if angles is not None and max(abs(a - 90.0) for a in angles) >= 0.05:
            said += f", ends {format_angle(angles[0])} and {format_angle(angles[1])}"
    return said


def _end_angles(corners: Array) -> tuple[float, float] | None:
    """The inner angles at the lower corners of a four-sided stick, left and right."""
    middle = (corners[:, 0].min() + corners[:, 0].max()) / 2
    left, right = corners[corners[:, 0] < middle], corners[corners[:, 0] >= middle]
    if len(left) != 2 or len(right) != 2:
        return None
    (a, d), (b, c) = (side[side[:, 1].argsort()] for side in (left, right))
    return _angle(b - a, d - a), _angle(a - b, c - b)


def _angle(one: Array, other: Array) -> float:
    cross = float(one[0] * other[1] - one[1] * other[0])
    return math.degrees(math.atan2(abs(cross), float(one @ other)))
