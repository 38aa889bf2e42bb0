"""Laying shapes beside one another on sheets, each wholly on one of them and none upon another."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.geometry.prepared import prepared

CELL = 1.5
"""mm: shapes are laid to squares of this size."""
_SPECK = 0.5


@dataclass(frozen=True)
class Laid:
    """Where a shape came to lie: turned a quarter (x becomes up) about the origin, then moved by (dx, dy)."""

    sheet: int
    quarter: bool
    dx: float
    dy: float

    def move(self, shape: BaseGeometry) -> BaseGeometry:
        """The shape as laid, in mm of the sheet's room, up from its lower left corner."""
        return shapely.transform(shape, self.points)

    def points(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """Points (M, 2) as laid."""
        turned = np.column_stack((-points[:, 1], points[:, 0])) if self.quarter else points
        return np.asarray(turned + np.array((self.dx, self.dy)))


Room = tuple[float, float]
"""Width and height in mm."""


def lay_out(
    shapes: Sequence[BaseGeometry], room: Callable[[int], Room], gap: float, *, most_sheets: int = 40,
    upright: int = 0,
) -> list[Laid] | None:
    """Lay ``shapes`` (mm) in their order, each where it first fits: upper left on the earliest sheet.

    ``room(sheet)`` is the free rectangle of a sheet, ``gap`` the least distance between two shapes in mm.
    The first ``upright`` shapes are not turned. None where one fits on no sheet of ``most_sheets``.
    """
    sheets: list[_Sheet] = []
    found: list[Laid] = []
    known: dict[tuple[int, bool], _Stencil] = {}
    for at, shape in enumerate(shapes):
        stencils = []
        for quarter in (False,) if at < upright else (False, True):
            # Layers of one piece are one shape.
            key = id(shape), quarter
            if key not in known:
                known[key] = _stencil(shape, gap, quarter)
            stencils.append(known[key])
        laid = None
        for number in range(most_sheets):
            if number == len(sheets):
                sheets.append(_Sheet(*room(number), gap))
            laid = sheets[number].take(stencils, number)
            if laid is not None or (number == len(sheets) - 1 and not sheets[number].used and number > 0):
                break
        if laid is None:
            return None
        found.append(laid)
    return found


@dataclass(frozen=True)
class _Stencil:
    """The cells that a shape takes; cell (0, 0) is the upper left, its corner at ``corner``."""

    mask: NDArray[np.bool_]
    corner: tuple[float, float]
    size: tuple[float, float]
    """Width and height of the shape itself, mm."""
    quarter: bool

    @cached_property
    def cells(self) -> int:
        """How many cells it takes."""
        return int(self.mask.sum())


def _quick(size: int) -> int:
    """The least number from ``size`` on that is made of twos, threes and fives alone."""
    while True:
        rest = size
        for factor in (5, 3, 2):
            while rest % factor == 0:
                rest //= factor
        if rest == 1:
            return size
        size += 1


def _stencil(shape: BaseGeometry, gap: float, quarter: bool) -> _Stencil:
    turned = Laid(0, quarter, 0.0, 0.0).move(shape)
    low_x, low_y, high_x, high_y = turned.bounds
    # Half the gap belongs to each shape; and a cell counts as taken wherever the shape may touch it.
    reach = 0.5 * gap + CELL * math.sqrt(0.5)
    grown = shapely.buffer(shapely.simplify(turned, 0.05), reach + 0.05)
    half = 0.5 * gap
    columns = max(1, math.ceil((high_x - low_x + gap) / CELL))
    rows = max(1, math.ceil((high_y - low_y + gap) / CELL))
    left, top = low_x - half, high_y + half
    xs = left + (np.arange(columns) + 0.5) * CELL
    ys = top - (np.arange(rows) + 0.5) * CELL
    grid_x, grid_y = np.meshgrid(xs, ys)
    size = high_x - low_x, high_y - low_y
    inside = np.asarray(shapely.contains_xy(prepared(grown), grid_x, grid_y))
    return _Stencil(inside, (left, top), size, quarter)


class _Sheet:
    def __init__(self, width: float, height: float, gap: float) -> None:
        # Half a gap may hang over the edge: there the shape keeps none.
        self._half = 0.5 * gap
        self._width, self._height = width, height
        rows, columns = (math.ceil((max(0.0, side) + gap) / CELL) + 1 for side in (height, width))
        self._taken = np.zeros((rows, columns), dtype=bool)
        self._free = rows * columns
        # Larger than the sheet where that is quicker to transform; what is added is asked for by nobody.
        self._padded = _quick(rows), _quick(columns)
        self._spectrum: NDArray[np.complex128] | None = None
        self.used = False

    def take(self, stencils: Sequence[_Stencil], number: int) -> Laid | None:
        """Lay one of the stencils where its lower edge is highest; None where none fits."""
        best: tuple[tuple[int, int], int, int, _Stencil] | None = None
        for stencil in stencils:
            spot = self._first_free(stencil)
            if spot is None:
                continue
            rank = (spot[0] + stencil.mask.shape[0], spot[1] + stencil.mask.shape[1])
            if best is None or rank < best[0]:
                best = (rank, *spot, stencil)
        if best is None:
            return None
        _, row, column, stencil = best
        tall, wide = stencil.mask.shape
        self._taken[row : row + tall, column : column + wide] |= stencil.mask
        self._free = self._taken.size - int(self._taken.sum())
        self._spectrum = None
        self.used = True
        left, top = column * CELL - self._half, self._height + self._half - row * CELL
        return Laid(number, stencil.quarter, left - stencil.corner[0], top - stencil.corner[1])

    def _first_free(self, stencil: _Stencil) -> tuple[int, int] | None:
        """Row and column of the first place, from above and then from the left, where nothing is met."""
        mask = stencil.mask
        # How far the shape itself, not its cells, may go to the right and down.
        right = math.floor((self._width - stencil.size[0]) / CELL + 1e-9)
        down = math.floor((self._height - stencil.size[1]) / CELL + 1e-9)
        if right < 0 or down < 0:
            return None
        if not self.used:
            return 0, 0
        if stencil.cells > self._free:
            return None
        # The overlap at every shift at once, by the correlation theorem. No shift that fits wraps round.
        if self._spectrum is None:
            self._spectrum = np.fft.rfft2(self._taken.astype(float), self._padded)
        overlap = np.fft.irfft2(
            self._spectrum * np.conj(np.fft.rfft2(mask.astype(float), self._padded)), self._padded
        )[: down + 1, : right + 1]
        free = np.argwhere(overlap < _SPECK)
        return (int(free[0, 0]), int(free[0, 1])) if len(free) else None
