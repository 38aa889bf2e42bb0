"""Where a template's words and grain arrows go: inside their piece, on one page, clear of every line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from app.paper.template_pieces import Drawing, Piece
from core.bench.tiling import Tiling
from core.geometry.overlay import common
from core.geometry.prepared import prepared

MM_PER_PT = 25.4 / 72
_ARROWS = (45.0, 30.0, 20.0, 12.0)
_ARROW_HALF = 2.4
_AIR = 1.2
_INSET = 3.0
_WIDEST = 52.0
_GRID = 17
_FAR = 80.0
# Words keep further off than this.
_ROUGH = 0.2
# Advances as parts of the size, a little more than those of the faces used: words are cut to their room.
_ADVANCES = {**dict.fromkeys("iljtfrI.,:;·'’|!() ", 0.32), **dict.fromkeys("mwMW@%—", 0.92)}
_CAPITAL, _ADVANCE, _BOLD = 0.64, 0.56, 1.12


@dataclass(frozen=True)
class Line:
    """One line of a label, in points."""

    text: str
    size: float
    bold: bool = False

    @property
    def width(self) -> float:
        """In mm, about."""
        ems = sum(
            _ADVANCES.get(letter, _CAPITAL if letter.isupper() else _ADVANCE) for letter in self.text[:100]
        )
        return min(_WIDEST, ems * (_BOLD if self.bold else 1.0) * self.size * MM_PER_PT)

    @property
    def pitch(self) -> float:
        """In mm."""
        return 1.25 * self.size * MM_PER_PT


@dataclass(frozen=True)
class Placed:
    """A label of ``lines`` in ``room`` mm about its middle (u, v); the grain's arrow, where there is room.

    ``leader``: from a label that stands beside its piece to a point within it.
    """

    piece: str
    lines: tuple[Line, ...]
    u: float
    v: float
    room: float
    arrow: tuple[tuple[float, float], tuple[float, float]] | None
    leader: tuple[tuple[float, float], tuple[float, float]] | None = None


def place_labels(
    drawing: Drawing, tiling: Tiling, heads: Mapping[str, tuple[str, str]], small: tuple[str, ...]
) -> tuple[Placed, ...]:
    """A label for every piece: its ``heads`` (name, what to cut), with the ``small`` lines if they fit."""
    rings = [shapely.LinearRing(p.corners) for p in (*drawing.pieces, *drawing.before)]
    lines = [shapely.simplify(ring, _ROUGH) for ring in rings]
    wide: list[BaseGeometry] = [shapely.LineString((h.start, h.end)) for h in drawing.hinges]
    wide += [shapely.LineString(r) for r in drawing.roots]
    wide += [shapely.LineString((r.start, r.end)) for r in drawing.references]
    wide += [shapely.LineString((s.leading, s.trailing)) for s in drawing.seats]
    wide += [shapely.Point(drawing.cg)] if drawing.cg is not None else []
    wide += [shapely.Point(m).buffer(h.across / 2) for h in drawing.hinges for m in h.hinges]
    blocked = [*lines, *(shapely.buffer(line, 3.6, quad_segs=1) for line in wide)]
    placed = []
    for piece in sorted(drawing.pieces, key=lambda p: p.region.area):
        found = _place(piece, tiling, blocked, *heads[piece.id], small)
        placed.append(found)
        blocked.append(_block(found))
        if found.arrow is not None:
            blocked.append(shapely.buffer(shapely.LineString(found.arrow), _ARROW_HALF, quad_segs=1))
    return tuple(placed)


def _block(found: Placed) -> BaseGeometry:
    tall = sum(line.pitch for line in found.lines)
    return shapely.box(
        found.u - found.room / 2, found.v - tall / 2, found.u + found.room / 2, found.v + tall / 2
    )


def _options(name: str, cut: str, small: tuple[str, ...]) -> list[tuple[Line, ...]]:
    head = (Line(name, 10.0, True), *((Line(cut, 9.0, True),) if cut else ()))
    rest = tuple(Line(words, 6.8) for words in small)
    short = f"{name} · {cut}" if cut else name
    return [(*head, *rest), (*head, rest[1], rest[2]), head, (Line(short, 7.0, True),), (Line(short, 5.8),)]


def _place(
    piece: Piece, tiling: Tiling, blocked: list[BaseGeometry], name: str, cut: str, small: tuple[str, ...]
) -> Placed:
    tree = shapely.STRtree(blocked)
    parts = _by_page(piece, tiling)
    lines: tuple[Line, ...] = ()
    spot: tuple[float, float] | None = None
    room = tall = 0.0
    for lines in _options(name, cut, small):
        room, tall = max(line.width for line in lines), sum(line.pitch for line in lines)
        spot = _spot(parts, tree, _boxes_about(room, tall))
        if spot is not None:
            break
    leader = None
    if spot is None:
        spot, leader = _beside(piece, tiling, tree, room, tall)
    label = Placed(piece.id, lines, *spot, room, None, leader)
    tree = shapely.STRtree([*blocked, _block(label)])
    du, dv = piece.grain
    for length in _ARROWS:
        at = _spot(parts, tree, _strips_about(du, dv, length))
        if at is not None:
            half = length / 2
            arrow = ((at[0] - du * half, at[1] - dv * half), (at[0] + du * half, at[1] + dv * half))
            return replace(label, arrow=arrow)
    return label


def _beside(
    piece: Piece, tiling: Tiling, tree: shapely.STRtree, room: float, tall: float
) -> tuple[tuple[float, float], tuple[tuple[float, float], tuple[float, float]]]:
    """The nearest place on a printed page for the words of a piece too slim for them, and a leader to it."""
    shapes = _boxes_about(room, tall)
    best: tuple[float, tuple[float, float]] | None = None
    for tile in tiling.tiles:
        u0, v0, u1, v1 = tiling.core(tile)
        if u1 - u0 <= room + 2 * _INSET or not shapely.box(u0, v0, u1, v1).dwithin(piece.region, _FAR):
            continue
        grid_u, grid_v = np.meshgrid(
            np.arange(u0 + room / 2 + _INSET, u1 - room / 2 - _INSET, 4.0),
            np.arange(v0 + tall / 2 + _INSET, v1 - tall / 2 - _INSET, 3.0),
        )
        middles = np.column_stack((grid_u.ravel(), grid_v.ravel()))
        tried = shapes.at(middles)
        hit = shapely.intersects(piece.region, tried)
        hit[tree.query(tried, predicate="intersects")[0]] = True
        if hit.all():
            continue
        away = np.where(hit, np.inf, shapely.distance(tried, piece.region))
        at = int(away.argmin())
        if best is None or away[at] < best[0]:
            best = float(away[at]), (float(middles[at, 0]), float(middles[at, 1]))
    u, v = best[1] if best is not None else (piece.box[2] + 2.0 + room / 2, (piece.box[1] + piece.box[3]) / 2)
    box = shapely.box(u - room / 2, v - tall / 2, u + room / 2, v + tall / 2)
    core = shapely.buffer(piece.region, -0.5)
    to = core if not core.is_empty else piece.region.representative_point()
    start, end = shapely.get_coordinates(shapely.shortest_line(box, to))
    return (u, v), ((float(start[0]), float(start[1])), (float(end[0]), float(end[1])))


def _by_page(piece: Piece, tiling: Tiling) -> list[BaseGeometry]:
    """The piece's parts on the printed pages, clear of the joins, the largest first."""
    found = []
    for tile in tiling.tiles:
        u0, v0, u1, v1 = tiling.core(tile)
        if u0 < piece.box[2] and u1 > piece.box[0] and v0 < piece.box[3] and v1 > piece.box[1]:
            page = shapely.box(u0 + _INSET, v0 + _INSET, u1 - _INSET, v1 - _INSET)
            part = common(shapely.simplify(piece.region, _ROUGH), page)
            if part.area > 4.0:
                found.append(part)
    return sorted(found, key=lambda part: -part.area)


class _Shapes:
    """Shapes of one form about many middles: corners (K, 2) relative to the middle."""

    def __init__(self, corners: NDArray[np.float64]) -> None:
        self._corners = corners

    def at(self, middles: NDArray[np.float64]) -> NDArray[np.object_]:
        return np.asarray(shapely.polygons(middles[:, None, :] + self._corners[None]), dtype=object)


def _boxes_about(wide: float, tall: float) -> _Shapes:
    u, v = wide / 2 + _AIR, tall / 2 + _AIR
    return _Shapes(np.array(((-u, -v), (u, -v), (u, v), (-u, v))))


def _strips_about(du: float, dv: float, length: float) -> _Shapes:
    # Room for the word "grain" beside the shaft.
    a, b = length / 2 + 1.0, _ARROW_HALF
    along, across = np.array((du, dv)) * a, np.array((-dv, du)) * b
    return _Shapes(np.array((-along - across, along - across, along + across, -along + across)))


def _spot(parts: list[BaseGeometry], tree: shapely.STRtree, shapes: _Shapes) -> tuple[float, float] | None:
    """The middle that leaves the shape the most room, on the first page that has any for it."""
    for part in map(prepared, parts[:6]):
        u0, v0, u1, v1 = part.bounds
        grid_u, grid_v = np.meshgrid(
            np.linspace(u0, u1, _GRID + 2)[1:-1], np.linspace(v0, v1, _GRID + 2)[1:-1]
        )
        middles = np.column_stack((grid_u.ravel(), grid_v.ravel()))
        middles = middles[shapely.contains_xy(part, middles[:, 0], middles[:, 1])]
        if not len(middles):
            continue
        tried = shapes.at(middles)
        inside = shapely.contains(part, tried)
        middles, tried = middles[inside], tried[inside]
        if not len(middles):
            continue
        hit = np.zeros(len(tried), dtype=bool)
        hit[tree.query(tried, predicate="intersects")[0]] = True
        middles, tried = middles[~hit], tried[~hit]
        if len(middles):
            (which, _), away = tree.query_nearest(tried, return_distance=True, all_matches=False)
            clear = np.zeros(len(tried))
            clear[which] = away
            # Near enough to the best is as good: then the one nearest the middle of the part.
            good = clear >= 0.8 * clear.max()
            off = np.hypot(*(middles - np.array(((u0 + u1) / 2, (v0 + v1) / 2))).T)
            best = int(np.where(good, off, np.inf).argmin())
            return float(middles[best, 0]), float(middles[best, 1])
    return None
