"""Where every part lies on paper: nested on shared pages, or over pages of its own with joins."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from app.paper.parts_labels import Width, labelled, labelled_on
from app.paper.parts_pieces import Piece
from core.bench.cutting_list import filled_edge
from core.bench.nesting import Laid, lay_out
from core.bench.tiling import MOST_SHEETS, Tile, Tiling, TilingError, tile_over
from core.design import Design
from core.redesign.outline_edits import EditError

MARGIN = 8.0
HEAD, FOOT = 9.0, 15.0
OVERLAP = 10.0
GAP = 3.0
WIDE_GAP = 12.0
"""Between parts larger than a page: room for a label."""
PEN = 0.25
MOST_PIECES = 300
MOST_SHARED = 24
"""Pages: parts that reach over more are laid by themselves."""
_CLEAR_OF_JOINS = 4.5


@dataclass(frozen=True, eq=False)
class Spread:
    """Parts larger than a page, laid side by side over the pages of one ``tiling``."""

    name: str
    """What its pages' names begin with: nothing, where there is one such spread."""
    pieces: tuple[Piece, ...]
    tiling: Tiling

    def page_of(self, number: int) -> int | None:
        """The page, counted from 0, on which the drawing of that number begins; None: not one of these."""
        for piece in self.pieces:
            if piece.number == number:
                cores = [shapely.box(*self.tiling.core(tile)) for tile in self.tiling.tiles]
                return next((i for i, core in enumerate(cores) if core.intersects(piece.edge)), 0)
        return None


@dataclass(frozen=True, eq=False)
class Layout:
    """All drawings on a paper of ``width`` × ``height`` mm."""

    width: float
    height: float
    sheets: int
    """Pages that hold whole parts; those of the spreads follow."""
    whole: tuple[tuple[Piece, Laid], ...]
    spreads: tuple[Spread, ...]

    @property
    def pages(self) -> int:
        """How many pages it takes."""
        return self.sheets + sum(len(one.tiling.tiles) for one in self.spreads)

    def page_of(self, number: int) -> int | None:
        """The page, counted from 1, on which the drawing of that number is or begins; None: not drawn."""
        for piece, laid in self.whole:
            if piece.number == number:
                return laid.sheet + 1
        at = self.sheets + 1
        for one in self.spreads:
            page = one.page_of(number)
            if page is not None:
                return at + page
            at += len(one.tiling.tiles)
        return None

    def tile_pages(self) -> list[tuple[Spread, Tile]]:
        """The pages that follow those of whole parts, in order."""
        return [(one, tile) for one in self.spreads for tile in one.tiling.tiles]


def room_of(width: float, height: float) -> tuple[float, float]:
    """What the parts may lie on: under the head, above the foot, mm."""
    return width - 2 * MARGIN, height - 2 * MARGIN - HEAD - FOOT


def lay_pieces(
    pieces: Sequence[Piece], design: Design, width: float, height: float, measure: Width
) -> Layout:
    """Lay the drawings out. EditError where that cannot be done."""
    wide, tall = room_of(width, height)
    if wide < 120.0 or tall < 60.0:
        raise EditError("this paper is too small for parts: choose a larger one")
    drawn = [piece for piece in pieces if not piece.edge.is_empty]
    if len(drawn) > MOST_PIECES:
        raise EditError(
            f"{len(drawn)} different parts are more than {MOST_PIECES}: choose fewer surfaces, or ribs "
            "further apart"
        )
    whole: list[Piece] = []
    large: list[Piece] = []
    for piece in drawn:
        fitting = _fitting(piece, design, wide, tall, measure)
        if fitting is not None:
            whole.append(fitting)
        else:
            large.append(piece.turned(-_narrow_way(piece)))
    put = _together(whole, wide, tall)
    sheets = 1 + max((one.sheet for _, one in put), default=-1)
    spreads = _spreads(large, wide, tall)
    return Layout(width, height, sheets, tuple(put), tuple(
        _labelled(one, design, measure) for one in spreads
    ))


def _together(whole: Sequence[Piece], wide: float, tall: float) -> list[tuple[Piece, Laid]]:
    """The parts on shared pages: bulky, long or large ones first, whichever takes fewest."""
    best: list[tuple[Piece, Laid]] | None = None
    pages = math.inf
    rooms = [piece.room for piece in whole]
    for which in (min, max, sum):
        order = sorted(range(len(whole)), key=lambda i, which=which: -which(_sides(rooms[i])))  # type: ignore[misc]
        laid = _nested([rooms[i] for i in order], wide, tall, GAP)
        if laid is None:
            raise EditError("the parts cannot be laid on this paper: choose a larger one")
        taken = 1 + max((one.sheet for one in laid), default=-1)
        if taken < pages:
            best, pages = [(whole[i], one) for i, one in zip(order, laid, strict=True)], taken
        if taken <= 1:
            break
    assert best is not None
    return best


def _nested(shapes: Sequence[BaseGeometry], wide: float, tall: float, gap: float) -> list[Laid] | None:
    """The shapes on as many rooms as they take, half a pen off their rims."""
    off = PEN / 2
    laid = lay_out(
        shapes, lambda _: (wide - PEN, tall - PEN), gap, most_sheets=max(1, len(shapes))
    )
    return laid and [replace(one, dx=one.dx + off, dy=one.dy + off) for one in laid]


def _fits(piece: Piece, wide: float, tall: float) -> bool:
    low_u, low_v, high_u, high_v = piece.room.bounds
    sides = high_u - low_u + PEN, high_v - low_v + PEN
    return any(a <= wide and b <= tall for a, b in (sides, sides[::-1]))


def _fitting(piece: Piece, design: Design, wide: float, tall: float, measure: Width) -> Piece | None:
    """The piece with its label as it fits a page: as it is, or at a slant; None where it does not."""
    plain = labelled(piece, design, measure)
    if _fits(plain, wide, tall) or piece.breaks:
        return plain
    for degrees in _slants(piece, wide, tall):
        turned = labelled(piece.turned(degrees), design, measure)
        if _fits(turned, wide, tall):
            return turned
    return None


def _slants(piece: Piece, wide: float, tall: float) -> list[float]:
    """Up to three angles at which the edge alone lies within a page, those with most room to spare."""
    hull = shapely.get_coordinates(piece.edge.convex_hull)
    angles = np.append(np.arange(0.0, 180.0, 1.0), -_narrow_way(piece) % 180.0)
    c, s = np.cos(np.radians(angles)), np.sin(np.radians(angles))
    across, up = (
        np.ptp(hull[:, :1] * a + hull[:, 1:] * b, axis=0) + PEN for a, b in ((c, -s), (s, c))
    )
    # A quarter further the same again: upright pages alone need be asked for.
    spare = np.minimum(wide - across, tall - up)
    order = np.argsort(-spare)
    return [float(angles[i]) for i in order if spare[i] >= 0.0][:3]


def _narrow_way(piece: Piece) -> float:
    """Degrees from u of the longer side of the narrowest box about the piece."""
    box = shapely.get_coordinates(shapely.minimum_rotated_rectangle(piece.edge))
    sides = box[1:3] - box[:2]
    longest = sides[int(np.hypot(sides[:, 0], sides[:, 1]).argmax())]
    return math.degrees(math.atan2(longest[1], longest[0]))


def _spreads(large: Sequence[Piece], wide: float, tall: float) -> list[Spread]:
    """The large parts side by side over as few pages as some ways of laying them take."""
    if not large:
        return []
    edges = [filled_edge(piece.edge) for piece in large]
    if any(_alone(edge, wide, tall) for edge in edges):
        # Too far for a nesting: each by itself.
        return [
            Spread(f"{number} " if len(large) > 1 else "", (piece,), _tiling((piece,), wide, tall))
            for number, piece in enumerate(large, 1)
        ]
    order = sorted(range(len(large)), key=lambda i: -min(_sides(edges[i])))
    best: list[Spread] | None = None
    for columns, rows in _grids(edges, wide, tall):
        laid = _nested([edges[i] for i in order], _over(columns, wide), _over(rows, tall), WIDE_GAP)
        if laid is None:
            continue
        put: dict[int, list[Piece]] = {}
        for i, one in zip(order, laid, strict=True):
            put.setdefault(one.sheet, []).append(large[i].at(one))
        many = len(put) > 1
        found = [
            Spread(f"{sheet + 1} " if many else "", tuple(pieces), _tiling(pieces, wide, tall))
            for sheet, pieces in sorted(put.items())
        ]
        if best is None or _pages(found) < _pages(best):
            best = found
    if best is None:
        raise EditError("the parts cannot be laid over pages of this paper: choose a larger one")
    return best


def _pages(spreads: Sequence[Spread]) -> int:
    return sum(len(one.tiling.tiles) for one in spreads)


def _sides(shape: BaseGeometry) -> tuple[float, float]:
    low_u, low_v, high_u, high_v = shape.bounds
    return high_u - low_u, high_v - low_v


def _over(count: int, side: float) -> float:
    """How far so many pages of ``side`` mm reach, less what the pen needs."""
    return count * (side - OVERLAP) + OVERLAP - 2 * PEN


def _grids(edges: Sequence[BaseGeometry], wide: float, tall: float) -> list[tuple[int, int]]:
    """Columns and rows of pages worth trying: all parts level, all upright, and one more of either."""
    def needed(length: float, side: float) -> int:
        return max(1, math.ceil((length + 2 * PEN - OVERLAP) / (side - OVERLAP)))

    sides = [sorted(_sides(edge)) for edge in edges]
    short, long = max(a for a, _ in sides), max(b for _, b in sides)
    found = []
    for columns, rows in (
        (needed(long, wide), needed(short, tall)), (needed(short, wide), needed(long, tall)),
    ):
        found += [(columns, rows), (columns + 1, rows), (columns, rows + 1)]
    return list(dict.fromkeys(found))


def _alone(edge: BaseGeometry, wide: float, tall: float) -> bool:
    """True if a part takes so many pages that others are not laid beside it."""
    across, up = _sides(edge)
    return (across / (wide - OVERLAP)) * (up / (tall - OVERLAP)) > MOST_SHARED


def _tiling(pieces: Sequence[Piece], wide: float, tall: float) -> Tiling:
    strokes = [
        shapely.get_coordinates(polygon.exterior)
        for piece in pieces for polygon in shapely.get_parts(piece.edge)
    ]
    try:
        return tile_over(strokes, wide, tall, OVERLAP, reach=PEN)
    except TilingError:
        names = ", ".join(piece.name for piece in pieces[:6])
        raise EditError(f"{names}: more than {MOST_SHEETS} pages; choose larger paper") from None


def _labelled(one: Spread, design: Design, measure: Width) -> Spread:
    """The spread with the labels of its parts, each on one page and clear of its joins."""
    off = _CLEAR_OF_JOINS
    pages = []
    for tile in one.tiling.tiles:
        u0, v0, u1, v1 = one.tiling.core(tile)
        pages.append(shapely.box(u0 + off, v0 + off, u1 - off, v1 - off))
    done: list[Piece] = []
    for piece in one.pieces:
        others: list[BaseGeometry] = [
            line for other in one.pieces if other is not piece for line in other.edge_lines
        ]
        others += [other.label.box for other in done if other.label is not None]
        done.append(labelled_on(piece, design, measure, pages, others))
    return Spread(one.name, tuple(done), one.tiling)
