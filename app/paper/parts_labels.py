"""Where a part's label and the arrow of its grain go: inside it where there is room, else beside it.

Everything in mm of paper in the piece's own plane.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from app.paper.ink import one_line
from app.paper.parts_pieces import ARROW_HALF, Arrow, Label, Piece, Words, further_words
from app.paper.parts_words import stock_words
from core.design import Design
from core.geometry.overlay import common
from core.geometry.prepared import prepared

AIR = 1.0
_ARROWS = (40.0, 26.0, 16.0, 10.0)
_OUTSIDE_ARROW = 9.0
_GRID = 25
Width = Callable[[str, float, bool], float]
"""How wide a text of so many points is, bold or not, in mm."""


def labelled(piece: Piece, design: Design, width: Width) -> Piece:
    """The piece with its label and grain: inside it where there is room, else beneath."""
    options = _options(piece, design)
    lines = _lines(piece)
    if not piece.breaks:
        edge = prepared(piece.edge)
        for option in options:
            size = _size(option, width)
            spot = _inside(edge, lines, *size)
            if spot is None:
                continue
            label = Label(option, *spot, *size)
            if math.isnan(piece.grain):
                return replace(piece, label=label)
            arrow = _arrow(edge, [*lines, label.box], piece.grain)
            if arrow is not None:
                return replace(piece, label=label, arrow=arrow)
    return _beneath(piece, options[0], width, piece.grain, lines)


def labelled_on(
    piece: Piece, design: Design, width: Width, pages: Sequence[BaseGeometry],
    others: Sequence[BaseGeometry],
) -> Piece:
    """The piece with its label and grain on one of the ``pages`` that it runs over.

    Inside it if that can be, else near it and clear of ``others``; without a label where all is full.
    """
    options, lines = _options(piece, design), _lines(piece)
    shares = [common(piece.edge, page) for page in pages]
    found = piece
    for option in options:
        size = _size(option, width)
        spots = (_inside(share, lines, *size) for share in shares)
        spot = next((spot for spot in spots if spot is not None), None)
        if spot is not None:
            found = replace(piece, label=Label(option, *spot, *size))
            break
    else:
        size = _size(options[0], width)
        near = _near(piece, pages, [*others, *piece.edge_lines], *size)
        if near is not None:
            found = replace(piece, label=Label(options[0], *near, *size))
    if math.isnan(piece.grain):
        return found
    taken = [*lines, *([] if found.label is None else [found.label.box])]
    arrows = (_arrow(share, taken, piece.grain) for share in shares)
    return replace(found, arrow=next((arrow for arrow in arrows if arrow is not None), None))


def _lines(piece: Piece) -> list[BaseGeometry]:
    return [shapely.LineString(line) for line in piece.engraved if len(line) > 1]


def _options(piece: Piece, design: Design) -> list[tuple[Words, ...]]:
    """What a label may say, the fullest first."""
    cut, head = f"cut {piece.count}", f"{piece.number}  {piece.name}"
    stock = stock_words(piece.part, design, design.display_units)
    full: tuple[Words, ...] = (Words(head, 8.0, True), Words(f"{cut} · {one_line(stock[:120])}", 6.5))
    further = further_words(piece, design)
    if further:
        full = (*full, Words(further, 6.5))
    return [full, (Words(head, 7.0, True), Words(cut, 6.5)), (Words(f"{head} · {cut}", 6.0, True),)]


def _near(
    piece: Piece, pages: Sequence[BaseGeometry], others: Sequence[BaseGeometry], wide: float, tall: float
) -> tuple[float, float] | None:
    """The middle of a box on one page, clear of everything, as near to the piece as can be."""
    low_u, low_v, high_u, high_v = piece.edge.bounds
    grid = np.stack(np.meshgrid(
        np.arange(low_u - 20.0, high_u + 20.0, 4.0), np.arange(low_v - 20.0, high_v + 20.0, 1.5)
    ), axis=-1).reshape(-1, 2)
    half_u, half_v = wide / 2 + AIR, tall / 2 + AIR
    boxes = np.asarray(shapely.box(
        grid[:, 0] - half_u, grid[:, 1] - half_v, grid[:, 0] + half_u, grid[:, 1] + half_v
    ))
    free = np.zeros(len(boxes), dtype=bool)
    for page in pages:
        free |= np.asarray(shapely.contains(page, boxes))
    for shape in others:
        free &= ~np.asarray(shapely.intersects(shape, boxes))
    if not free.any():
        return None
    off = np.asarray(shapely.distance(piece.edge, boxes))
    u, v = grid[int(np.where(free, off, np.inf).argmin())]
    return float(u), float(v)


def _beneath(
    piece: Piece, lines: tuple[Words, ...], width: Width, grain: float, engraved: list[BaseGeometry]
) -> Piece:
    """The label under the piece, the grain inside where it can be, else before the label."""
    wide, tall = _size(lines, width)
    low_u, low_v, _, _ = piece.edge.bounds
    low_v = min([low_v, *(float(line[:, 1].min()) for line in piece.breaks)])
    inside = None
    if not math.isnan(grain) and not piece.breaks:
        inside = _arrow(piece.edge, engraved, grain)
    arrow = inside
    u, top = low_u, low_v - 1.2
    if inside is None and not math.isnan(grain):
        c, s = math.cos(math.radians(grain)), math.sin(math.radians(grain))
        half_u = _OUTSIDE_ARROW / 2 * abs(c) + ARROW_HALF
        half_v = _OUTSIDE_ARROW / 2 * abs(s) + ARROW_HALF
        at_u, at_v = u + half_u, top - max(half_v, tall / 2)
        reach = _OUTSIDE_ARROW / 2
        arrow = ((at_u - reach * c, at_v - reach * s), (at_u + reach * c, at_v + reach * s))
        u += 2 * half_u + 1.5
        return replace(piece, label=Label(lines, u + wide / 2, at_v, wide, tall), arrow=arrow)
    return replace(piece, label=Label(lines, u + wide / 2, top - tall / 2, wide, tall), arrow=arrow)


def _size(lines: Sequence[Words], width: Width) -> tuple[float, float]:
    return max(width(w.text, w.size, w.bold) for w in lines), sum(w.pitch for w in lines)


def _inside(
    region: BaseGeometry, lines: Sequence[BaseGeometry], wide: float, tall: float
) -> tuple[float, float] | None:
    """The middle of a box in the region and clear of ``lines``, nearest the region's own middle."""
    if region.is_empty:
        return None
    low_u, low_v, high_u, high_v = region.bounds
    half_u, half_v = wide / 2 + AIR, tall / 2 + AIR
    if high_u - low_u < 2 * half_u or high_v - low_v < 2 * half_v:
        return None
    us = np.linspace(low_u + half_u, high_u - half_u, _GRID)
    vs = np.linspace(low_v + half_v, high_v - half_v, _GRID)
    centres = np.stack(np.meshgrid(us, vs), axis=-1).reshape(-1, 2)
    boxes = np.asarray(shapely.box(
        centres[:, 0] - half_u, centres[:, 1] - half_v, centres[:, 0] + half_u, centres[:, 1] + half_v
    ))
    free = np.asarray(shapely.contains_properly(region, boxes))
    for line in lines:
        free &= ~np.asarray(shapely.intersects(line, boxes))
    if not free.any():
        return None
    middle = region.centroid
    off = np.hypot(centres[:, 0] - middle.x, centres[:, 1] - middle.y)
    u, v = centres[int(np.where(free, off, np.inf).argmin())]
    return float(u), float(v)


def _arrow(region: BaseGeometry, taken: Sequence[BaseGeometry], grain: float) -> Arrow | None:
    """The longest arrow along the grain that lies in the region, clear of ``taken``, nearest its middle."""
    if region.is_empty:
        return None
    c, s = math.cos(math.radians(grain)), math.sin(math.radians(grain))
    low_u, low_v, high_u, high_v = region.bounds
    grid = np.stack(np.meshgrid(
        np.linspace(low_u, high_u, _GRID + 2)[1:-1], np.linspace(low_v, high_v, _GRID + 2)[1:-1]
    ), axis=-1).reshape(-1, 2)
    middle = region.centroid
    off = np.hypot(grid[:, 0] - middle.x, grid[:, 1] - middle.y)
    blocked = [shapely.buffer(shape, AIR, quad_segs=2) for shape in taken]
    for long in _ARROWS:
        reach = np.array((c, s)) * long / 2
        shafts = np.asarray(shapely.linestrings(np.stack((grid - reach, grid + reach), axis=1)))
        free = np.asarray(shapely.contains_properly(region, shafts))
        if not free.any():
            continue
        # A box about the shaft, heads and air included.
        ahead = np.array((c, s)) * (long / 2 + AIR / 2)
        beside = np.array((-s, c)) * (ARROW_HALF + AIR / 2)
        at = grid[free][:, None] + np.array((ahead + beside, ahead - beside, -ahead - beside, beside - ahead))
        thick = np.asarray(shapely.polygons(at))
        clear = np.asarray(shapely.contains_properly(region, thick))
        for shape in blocked:
            clear &= ~np.asarray(shapely.intersects(shape, thick))
        if clear.any():
            which = np.flatnonzero(free)[clear]
            middle_of = grid[which[int(off[which].argmin())]]
            start, end = middle_of - reach, middle_of + reach
            return (float(start[0]), float(start[1])), (float(end[0]), float(end[1]))
    return None
