"""Which sheets of paper cover a drawing, how they overlap, and the marks by which they are joined.

Pure geometry in millimetres of paper: u to the right, v up. Every sheet shows a window of the
drawing; windows of neighbours overlap, and the join runs down the middle of what both show. Rows
are lettered from the top, columns numbered from the left: A1, A2, B1.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from core.geometry.ring import Array

Rect = tuple[float, float, float, float]
"""(u low, v low, u high, v high) in mm."""
Side = Literal["left", "right", "top", "bottom"]

MOST_SHEETS = 400
_STEP = 0.5
_SEARCH_STEP = 2.0
_MOST_POINTS = 60_000
_OFFSETS = 9
_MARKS_APART = 90.0
_INSET = 10.0
_WAYS: tuple[tuple[Side, int, int], ...] = (
    ("left", 0, -1), ("right", 0, 1), ("top", -1, 0), ("bottom", 1, 0),
)


class TilingError(ValueError):
    """The drawing cannot be laid over such sheets; ``str`` is one sentence."""


@dataclass(frozen=True, order=True)
class Tile:
    """One sheet by its place in the grid, both counted from 0."""

    row: int
    column: int

    @property
    def name(self) -> str:
        """Its letter and number: "B3"; after Z comes AA."""
        letters, rest = "", self.row
        while rest >= 0:
            letters = chr(ord("A") + rest % 26) + letters
            rest = rest // 26 - 1
        return f"{letters}{self.column + 1}"


@dataclass(frozen=True)
class Join:
    """Where a sheet meets a neighbour that is printed too: a line from ``start`` to ``end``."""

    side: Side
    neighbour: Tile
    start: tuple[float, float]
    end: tuple[float, float]


@dataclass(frozen=True)
class Tiling:
    """A grid of windows, and which of them have anything on them.

    ``left`` and ``top``: u and v of the grid's corner. ``wide`` × ``tall``: one window, in mm.
    ``bridges``: those of the ``tiles`` that hold others together and have nothing to cut on them.
    """

    left: float
    top: float
    wide: float
    tall: float
    overlap: float
    columns: int
    rows: int
    tiles: tuple[Tile, ...]
    bridges: tuple[Tile, ...] = ()

    @cached_property
    def _printed(self) -> frozenset[Tile]:
        return frozenset(self.tiles)

    @property
    def box(self) -> Rect:
        """All windows together, the blank ones included."""
        return (
            self.left, self.top - self.overlap - self.rows * (self.tall - self.overlap),
            self.left + self.overlap + self.columns * (self.wide - self.overlap), self.top,
        )

    def window(self, tile: Tile) -> Rect:
        """What the sheet shows, overlaps included."""
        u = self.left + tile.column * (self.wide - self.overlap)
        v = self.top - tile.row * (self.tall - self.overlap)
        return u, v - self.tall, u + self.wide, v

    def core(self, tile: Tile) -> Rect:
        """The part of its window that no neighbour in the grid has: cut at the joins, cores fill the grid."""
        u0, v0, u1, v1 = self.window(tile)
        half = self.overlap / 2
        return (
            u0 + half * (tile.column > 0), v0 + half * (tile.row < self.rows - 1),
            u1 - half * (tile.column < self.columns - 1), v1 - half * (tile.row > 0),
        )

    def joins(self, tile: Tile) -> tuple[Join, ...]:
        """The lines at which the sheet is joined to its printed neighbours, as long as its core."""
        u0, v0, u1, v1 = self.core(tile)
        ends = {
            "left": ((u0, v0), (u0, v1)), "right": ((u1, v0), (u1, v1)),
            "top": ((u0, v1), (u1, v1)), "bottom": ((u0, v0), (u1, v0)),
        }
        found = []
        for side, down, along in _WAYS:
            neighbour = Tile(tile.row + down, tile.column + along)
            if neighbour in self._printed:
                found.append(Join(side, neighbour, *ends[side]))
        return tuple(found)

    def marks(self, tile: Tile) -> tuple[tuple[float, float], ...]:
        """(u, v) of the registration marks on the sheet's joins; a neighbour has those of its join too."""
        found: dict[tuple[float, float], None] = {}
        u0, v0, u1, v1 = self.core(tile)
        inner = (tile.column > 0, tile.row < self.rows - 1, tile.column < self.columns - 1, tile.row > 0)
        low_u, low_v = u0 + _INSET * (not inner[0]), v0 + _INSET * (not inner[1])
        high_u, high_v = u1 - _INSET * (not inner[2]), v1 - _INSET * (not inner[3])
        for join in self.joins(tile):
            if join.side in ("left", "right"):
                places = [(join.start[0], float(v)) for v in _between(low_v, high_v)]
            else:
                places = [(float(u), join.start[1]) for u in _between(low_u, high_u)]
            # Sums taken in different order differ in their last figures; a mark is drawn once.
            found.update(dict.fromkeys((round(u, 6), round(v, 6)) for u, v in places))
        return tuple(found)


def _between(low: float, high: float) -> Array:
    count = 2 + max(1, math.ceil((high - low) / _MARKS_APART) - 1)
    return np.linspace(low, high, count)


def tile_over(
    strokes: Sequence[Array], wide: float, tall: float, overlap: float, *, reach: float = 0.0
) -> Tiling:
    """The fewest windows of ``wide`` × ``tall`` mm that cover all ``strokes``, polylines (N, 2) in mm.

    ``reach``: how far ink lies beside a stroke, in mm. A sheet without ink in its core is left out.
    Of grids with as few sheets the one that cuts the fewest strokes apart is taken, of those the one
    with the least of them along its joins, and of those the one best centred. TilingError where the
    overlap leaves nothing, nothing is to be covered, or more than ``MOST_SHEETS`` would be needed.
    """
    lines = [np.asarray(s, dtype=np.float64) for s in strokes if len(s)]
    if not lines:
        raise TilingError("there is nothing to lay on paper: choose an outline that has a length")
    if overlap < 0.0 or min(wide, tall) - overlap < 20.0:
        raise TilingError("so much overlap leaves no paper: choose a smaller one")
    every = np.concatenate(lines)
    low, high = every.min(axis=0) - reach, every.max(axis=0) + reach
    size = np.array((wide, tall))
    pitch = size - overlap
    counts = np.maximum(1, np.ceil((high - low - overlap) / pitch - 1e-9))
    if float(counts.prod()) > 4 * MOST_SHEETS:
        raise TilingError(_too_many(int(counts.prod())))
    step = max(_STEP, sum(_length(line) for line in lines) / _MOST_POINTS)
    left, top = _best_offset(lines, max(step, _SEARCH_STEP), low, high, size, overlap)
    columns, rows = (
        math.ceil((float(reach_to) - overlap) / float(p) - 1e-9)
        for reach_to, p in ((high[0] - left, pitch[0]), (top - low[1], pitch[1]))
    )
    fine = np.concatenate([_dense(line, step) for line in lines])
    hit = np.zeros((max(1, rows), max(1, columns)), dtype=bool)
    # No stroke runs through a core without a sample within half a step of it.
    extra = step / 2 + max(0.0, reach - overlap / 2)
    for du in (-extra, extra):
        for dv in (-extra, extra):
            hit[
                _cells(top - fine[:, 1] - overlap / 2 + dv, float(pitch[1]), hit.shape[0]),
                _cells(fine[:, 0] - left - overlap / 2 + du, float(pitch[0]), hit.shape[1]),
            ] = True
    return _trimmed(hit, left, top, wide, tall, overlap)


def _best_offset(
    lines: Sequence[Array], step: float, low: Array, high: Array, size: Array, overlap: float
) -> tuple[float, float]:
    """Left and top of the best of some hundred grids, each judged by points ``step`` mm apart."""
    dense = [_dense(line, step) for line in lines]
    points = np.concatenate(dense)
    owner = np.repeat(np.arange(len(dense)), [len(d) for d in dense])
    pitch = size - overlap
    across = _offsets(float(high[0] - low[0]), float(pitch[0]), overlap)
    down = _offsets(float(high[1] - low[1]), float(pitch[1]), overlap)
    rows_at = []
    for off, count, lopsided in down:
        offset = high[1] + off - points[:, 1] - overlap / 2
        rows_at.append((
            off, count, lopsided, _cells(offset, float(pitch[1]), count),
            _on_joins(offset, float(pitch[1]), count, overlap),
        ))
    best: tuple[tuple[int, int, int, float], float, float] | None = None
    for off_u, columns, lopsided_u in across:
        offset = points[:, 0] - (low[0] - off_u) - overlap / 2
        c = _cells(offset, float(pitch[0]), columns)
        on_upright = _on_joins(offset, float(pitch[0]), columns, overlap)
        for off_v, rows, lopsided_v, r, on_level in rows_at:
            own = np.zeros((len(dense), rows, columns), dtype=bool)
            own[owner, r, c] = True
            score = (
                int(own.any(axis=0).sum()), int(own.sum()), on_upright + on_level, lopsided_u + lopsided_v
            )
            if best is None or score < best[0]:
                best = (score, float(low[0] - off_u), float(high[1] + off_v))
    assert best is not None
    return best[1], best[2]


def _offsets(extent: float, pitch: float, overlap: float) -> list[tuple[float, int, float]]:
    """(how far the grid begins before the drawing, sheets in a row, how lopsided), of all worth trying.

    As few sheets as its length needs, then one more: it may save sheets that only a corner touches.
    """
    count = max(1, math.ceil((extent - overlap) / pitch - 1e-9))
    slack = count * pitch + overlap - extent
    few = [(float(share * slack), count, abs(float(share) - 0.5)) for share in np.linspace(0, 1, _OFFSETS)]
    if count == 1:
        return few
    shares = np.linspace(0, 1, 2 * _OFFSETS)[1:-1]
    more = [(float(slack + share * (pitch - slack)), count + 1, 1.0) for share in shares]
    return few + (more if slack < pitch else [])


def _trimmed(
    hit: NDArray[np.bool_], left: float, top: float, wide: float, tall: float, overlap: float
) -> Tiling:
    """The tiling without the rows and columns at the rim that nothing is on."""
    in_rows, in_columns = np.nonzero(hit.any(axis=1))[0], np.nonzero(hit.any(axis=0))[0]
    r0, c0 = int(in_rows[0]), int(in_columns[0])
    kept = hit[r0 : int(in_rows[-1]) + 1, c0 : int(in_columns[-1]) + 1]
    pages = int(kept.sum())
    if pages > MOST_SHEETS:
        raise TilingError(_too_many(pages))
    return Tiling(
        left + c0 * (wide - overlap), top - r0 * (tall - overlap), wide, tall, overlap,
        kept.shape[1], kept.shape[0], tuple(Tile(int(r), int(c)) for r, c in np.argwhere(kept)),
    )


def _too_many(count: int) -> str:
    return (
        f"that would take {count} sheets, more than {MOST_SHEETS}: choose fewer outlines, larger paper or "
        "a smaller scale"
    )


def _length(line: Array) -> float:
    return float(np.hypot(*(line[1:] - line[:-1]).T).sum()) if len(line) > 1 else 0.0


def _dense(line: Array, step: float) -> Array:
    """Points along a polyline, no more than ``step`` mm apart, its own among them."""
    if len(line) < 2:
        return line
    along = line[1:] - line[:-1]
    pieces = np.maximum(1, np.ceil(np.hypot(along[:, 0], along[:, 1]) / step)).astype(np.int64)
    edge = np.repeat(np.arange(len(along)), pieces)
    start = np.cumsum(pieces) - pieces
    t = (np.arange(len(edge)) - start[edge]) / pieces[edge]
    return np.vstack((line[edge] + t[:, None] * along[edge], line[-1:]))


def _on_joins(offset: Array, pitch: float, count: int, overlap: float) -> int:
    """How many points lie where two neighbours overlap."""
    nearest = np.clip(np.round(offset / pitch), 1, count - 1) if count > 1 else np.full(len(offset), np.inf)
    return int((np.abs(offset - nearest * pitch) <= overlap / 2).sum())


def _cells(offset: Array, pitch: float, count: int) -> NDArray[np.int64]:
    return np.clip(np.floor(offset / pitch), 0, count - 1).astype(np.int64)
