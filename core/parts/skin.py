"""Skin over a panel's ribs, both sides, and the covering over all of it: areas as they lie on the section."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.design_build import Skin
from core.geometry.overlay import GRID, NOTHING, without
from core.parts.bays import Bays
from core.parts.cut import SAW_CUT, Piece
from core.parts.edging import once
from core.parts.part import Array, Drawn
from core.parts.section import Cuts, pair
from core.parts.shoelace import area_of, box_of

LEAST_SHEET = 0.2
"""mm: thinner sheet is not sold (common practice, no source)."""


def covered(bays: Bays) -> tuple[Array, Array]:
    """(places (K, 2) in (c, s), area there (K,) in mm²) of one side of a panel; edges left out."""
    s, weights = bays.quadrature
    long, moment = bays.between.arc(bays.between.front, bays.between.rear)
    return pair(moment / np.maximum(long, 1e-300), s), weights * long


def skins(bays: Bays, skin: Skin) -> tuple[list[Piece], list[str]]:
    """The skin of a panel between the sticks of its edges, developed flat: u along the span, two sides."""
    name = f"{bays.panel.name} skin"
    if skin.thick < LEAST_SHEET:
        return [], [f"{name} is thinner than any sheet: enter how thick it is, or leave it out."]
    ends = bays.ends
    free = (ends.outer - ends.inner).reshape(2, -1).min(axis=0) >= SAW_CUT - 1e-4
    low, high = bays.steps
    long, _ = ends.arc(ends.inner, ends.outer)
    inner, outer = ends.inner.reshape(2, -1), (ends.inner + long).reshape(2, -1)
    # Where an edge steps, what goes on above has to lie on what is below.
    shared = np.minimum(outer[1, :-1], outer[0, 1:]) - np.maximum(inner[1, :-1], inner[0, 1:])
    joined = np.concatenate(((low[1:] - high[:-1] < 1e-6) & (shared >= SAW_CUT - 1e-4), [False]))
    steps = _longest(free, joined)
    if not len(steps):
        return [], [f"{name} has no room between the edges: make them narrower, or leave it out."]
    front, rear = inner[:, steps].T, outer[:, steps].T
    s = pair(low[steps], high[steps])
    up = pair(s.ravel(), front.ravel())
    down = pair(s.ravel(), rear.ravel())[::-1]
    sheet = once(np.concatenate((up, down)))
    edges = ends.outer.reshape(2, -1)[:, steps].T
    flat = once(np.concatenate((
        pair(front.ravel(), s.ravel()), pair(edges.ravel(), s.ravel())[::-1]
    )))
    per = len(bays.quadrature[0]) // len(low)
    rows = slice(int(steps[0]) * per, (int(steps[-1]) + 1) * per)
    between = bays.between.of(rows)
    weights = bays.quadrature[1][rows]
    long, moment = between.arc(between.inner, between.outer)
    where, shares = pair(moment / np.maximum(long, 1e-300), between.s), weights * long
    place = np.concatenate((flat, flat[:1]))

    def piece(number: int, sheet: Array | BaseGeometry, where: Array, shares: Array | None) -> Piece:
        corners = sheet if isinstance(sheet, np.ndarray) else shapely.get_coordinates(sheet)
        least, most = box_of(corners)
        size = (most - least).tolist()
        area = area_of(corners) if corners is sheet else float(shapely.area(sheet))
        return Piece(
            f"{bays.panel.id}-skin-{number}" if number else f"{bays.panel.id}-skin",
            f"{name}, piece {number}" if number else name, "skin", skin.material,
            lambda: Drawn(shapely.transform(_region(sheet), lambda points: points - least)),
            (size[0], size[1], skin.thick), area * skin.thick, where, (place,), count=2, shares=shares,
        )

    left: BaseGeometry | None = None
    for slot in bays.surface.plan.slots:
        gone = _developed(bays, slot, sheet)
        if gone.is_empty:
            continue
        whole = _region(sheet) if left is None else left
        # What merely touches takes nothing.
        if shapely.relate_pattern(whole, gone, "T********"):
            left = without(whole, gone)
            where = np.vstack((where, shapely.get_coordinates(shapely.centroid(slot))))
            shares = np.append(shares, float(shapely.area(left)) - float(shapely.area(whole)))
    if left is None:
        return ([piece(0, sheet, where, shares)], []) if area_of(sheet) > SAW_CUT**2 else ([], [])
    parts = [part for part in shapely.get_parts(left) if float(part.area) > SAW_CUT**2]
    if not parts:
        return [], [f"{name} is cut away by the slot."]
    if len(parts) == 1:
        return [piece(0, parts[0], where, shares)], []
    return [
        piece(number, part, shapely.get_coordinates(shapely.centroid(part))[:, ::-1], None)
        for number, part in enumerate(parts, 1)
    ], []


def _region(sheet: Array | BaseGeometry) -> BaseGeometry:
    return shapely.Polygon(sheet) if isinstance(sheet, np.ndarray) else sheet


def _longest(free: NDArray[np.bool_], joined: NDArray[np.bool_]) -> NDArray[np.int64]:
    """The longest run of steps that are free and joined to one another."""
    if free.all() and joined[:-1].all():
        return np.arange(len(free))
    best, start = (0, 0), 0
    for k, (is_free, goes_on) in enumerate(zip(free.tolist(), joined.tolist(), strict=True)):
        if not is_free:
            start = k + 1
            continue
        if k + 1 - start > best[1] - best[0]:
            best = (start, k + 1)
        if not goes_on:
            start = k + 1
    return np.arange(*best, dtype=np.int64)


def _developed(bays: Bays, slot: BaseGeometry, sheet: Array) -> BaseGeometry:
    """A slot in (c, s) where it lies on the skin laid flat; nothing where it lies beside it."""
    corners = shapely.get_coordinates(slot)
    c, s = corners[:, 0], corners[:, 1]
    if len(corners) < 4 or min(s.max() - sheet[:, 0].min(), sheet[:, 0].max() - s.min()) < GRID:
        return NOTHING
    front, rear = bays.chords.at(s)
    if (c <= front).all() or (c >= rear).all():
        return NOTHING
    cuts: Cuts = bays.surface.cuts(bays.index, s)
    along, _ = cuts.arc(cuts.inner, np.maximum(c, cuts.inner))
    return shapely.Polygon(pair(s, cuts.inner + along))
