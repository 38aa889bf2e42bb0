"""Skin over a panel's ribs, both sides, and the covering over all of it: areas as they lie on the section."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from core.design_build import Skin
from core.geometry.overlay import NOTHING, without
from core.parts.bays import Bays
from core.parts.cut import SAW_CUT, Piece
from core.parts.edging import once
from core.parts.part import Array
from core.parts.section import Cuts, pair

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
    bottom, top = ends.of(steps), ends.of(steps + len(low))
    front, rear = inner[:, steps].T, outer[:, steps].T
    s = pair(low[steps], high[steps])
    up = pair(s.ravel(), front.ravel())
    down = pair(s.ravel(), rear.ravel())[::-1]
    outline = shapely.Polygon(once(np.vstack((up, down))))
    edges = pair(bottom.outer, top.outer)
    flat = once(np.vstack((
        pair(front.ravel(), s.ravel()), pair(edges.ravel(), s.ravel())[::-1]
    )))
    per = len(bays.quadrature[0]) // len(low)
    rows = slice(int(steps[0]) * per, (int(steps[-1]) + 1) * per)
    between = bays.between.of(rows)
    weights = bays.quadrature[1][rows]
    long, moment = between.arc(between.inner, between.outer)
    where, shares = pair(moment / np.maximum(long, 1e-300), between.s), weights * long
    sheet: BaseGeometry = outline
    for slot in bays.surface.plan.slots:
        gone = _developed(bays, slot)
        if shapely.intersects(sheet, gone):
            taken = float(sheet.area)
            sheet = without(sheet, gone)
            where = np.vstack((where, shapely.get_coordinates(shapely.centroid(slot))))
            shares = np.append(shares, float(sheet.area) - taken)
    parts = [part for part in shapely.get_parts(sheet) if float(part.area) > SAW_CUT**2]
    pieces = []
    for number, part in enumerate(parts, 1):
        box = shapely.bounds(part)
        moved = affinity.translate(part, -float(box[0]), -float(box[1]))
        cut_up = len(parts) > 1
        pieces.append(Piece(
            f"{bays.panel.id}-skin-{number}" if cut_up else f"{bays.panel.id}-skin",
            f"{name}, piece {number}" if cut_up else name, "skin", skin.material, moved,
            (float(box[2] - box[0]), float(box[3] - box[1]), skin.thick), float(part.area) * skin.thick,
            shapely.get_coordinates(shapely.centroid(part))[:, ::-1] if cut_up else where,
            (np.vstack((flat, flat[:1])),), count=2, shares=None if cut_up else shares,
        ))
    return pieces, [] if pieces else [f"{name} is cut away by the slot."]


def _longest(free: NDArray[np.bool_], joined: NDArray[np.bool_]) -> NDArray[np.int64]:
    """The longest run of steps that are free and joined to one another."""
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


def _developed(bays: Bays, slot: BaseGeometry) -> BaseGeometry:
    """A slot in (c, s) where it lies on the skin laid flat."""
    corners = shapely.get_coordinates(slot)
    if len(corners) < 4:
        return NOTHING
    cuts: Cuts = bays.surface.cuts(bays.index, corners[:, 1])
    along, _ = cuts.arc(cuts.inner, np.maximum(corners[:, 0], cuts.inner))
    return shapely.Polygon(pair(corners[:, 1], cuts.inner + along))
