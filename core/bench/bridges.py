"""Sheets with nothing to cut on them that are printed all the same, so that the others hold together.

A long side's top and bottom lines run along two rows of sheets that meet at nose and tail alone: laid
on a board, the rows slide past one another. A sheet between them with the joins' marks holds them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.bench.tiling import Tile, Tiling
from core.geometry.prepared import prepared
from core.geometry.ring import Array

Blank = Literal["needed", "all", "none"]
"""Which of the sheets that would be blank are printed: those that hold others together, all that lie
within a piece, or none."""
BLANKS: tuple[Blank, ...] = ("needed", "all", "none")

WIDEST_GAP = 3
"""Sheets: rows that face each other over more blank ones than that are held together between."""
Cells = NDArray[np.bool_]


def with_bridges(
    tiling: Tiling, pieces: Sequence[BaseGeometry], lines: Sequence[Array], blank: Blank
) -> Tiling:
    """The tiling with the sheets added that ``blank`` asks for, named in its ``bridges``.

    ``pieces``: the regions of the drawing, each of which has to hang together. ``lines``: what else
    is drawn, polylines (N, 2): a sheet within reach of a piece that holds some of it is one of "all".
    """
    if blank == "none":
        return tiling
    printed = np.zeros((tiling.rows, tiling.columns), dtype=bool)
    for tile in tiling.tiles:
        printed[tile.row, tile.column] = True
    drawn = printed.copy()
    if blank == "all":
        printed |= _within(tiling, printed, pieces, lines)
    for piece in pieces:
        _join_up(printed, _cores_on(tiling, piece.boundary))
    if blank == "needed":
        _span(printed)
    tiles = tuple(Tile(int(r), int(c)) for r, c in np.argwhere(printed))
    return replace(
        tiling, tiles=tiles, bridges=tuple(tile for tile in tiles if not drawn[tile.row, tile.column])
    )


def _cells(tiling: Tiling) -> list[Tile]:
    return [Tile(r, c) for r in range(tiling.rows) for c in range(tiling.columns)]


def _cores_on(tiling: Tiling, shape: BaseGeometry) -> Cells:
    """Which cores the shape meets."""
    boxes = shapely.box(*np.array([tiling.core(tile) for tile in _cells(tiling)]).T)
    return np.asarray(shapely.intersects(prepared(shape), boxes)).reshape(tiling.rows, tiling.columns)


def _within(
    tiling: Tiling, printed: Cells, pieces: Sequence[BaseGeometry], lines: Iterable[Array]
) -> Cells:
    """The blank sheets inside a piece, and those that a line of the drawing alone runs over."""
    found = np.zeros_like(printed)
    for shape in (*pieces, *(shapely.LineString(line) for line in lines)):
        found |= _cores_on(tiling, shape)
    return found & ~printed


def _groups(cells: Cells) -> list[NDArray[np.int64]]:
    """The cells that are true, (N, 2) row and column, by the groups that hang together along edges."""
    left = {(int(r), int(c)) for r, c in np.argwhere(cells)}
    found = []
    while left:
        group = [min(left)]
        left.discard(group[0])
        for r, c in group:
            beside = {(r - 1, c), (r + 1, c), (r, c - 1), (r, c + 1)} & left
            left -= beside
            group.extend(sorted(beside))
        found.append(np.array(group, dtype=np.int64))
    return found


def _join_up(printed: Cells, own: Cells) -> None:
    """Print what it takes for the printed sheets of one piece to meet along edges, not at corners alone."""
    while True:
        # Whoever has ink on them: two sheets that meet along an edge hold together.
        groups = [group for group in _groups(printed) if own[group[:, 0], group[:, 1]].any()]
        if len(groups) < 2:
            return
        one, others = groups[0], np.concatenate(groups[1:])
        away = np.abs(one[:, None] - others[None]).sum(axis=2)
        i, j = np.unravel_index(int(away.argmin()), away.shape)
        (r, c), (to_r, to_c) = one[i], others[j]
        printed[min(r, to_r) : max(r, to_r) + 1, c] = True
        printed[to_r, min(c, to_c) : max(c, to_c) + 1] = True


def _span(printed: Cells) -> None:
    """Print a line of sheets across every hole that is longer than ``WIDEST_GAP``, as often as it needs."""
    while True:
        around = _groups(np.pad(~printed, 1, constant_values=True))
        # The first is what lies outside: its corner is the first cell of all.
        holes = [group - 1 for group in around[1:]]
        long = [hole for hole in holes if int(np.ptp(hole, axis=0).max()) + 1 > WIDEST_GAP]
        if not long:
            return
        for hole in long:
            low, size = hole.min(axis=0), np.ptp(hole, axis=0) + 1
            axis = int(size.argmax())
            bridges = math.ceil((int(size[axis]) - WIDEST_GAP) / (WIDEST_GAP + 1))
            shares = np.arange(1, bridges + 1) / (bridges + 1)
            for at in np.unique(np.floor(low[axis] + shares * size[axis]).astype(int)):
                across = hole[hole[:, axis] == at]
                printed[across[:, 0], across[:, 1]] = True
