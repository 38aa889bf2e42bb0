"""The sticks along a panel's front and rear edge, and along its hinge.

Shaped to the section, no deeper than the builder's stick. A straight edge is one stick. One that bends is
made in runs that meet at ribs, each sawn to its outline as the surface is seen: a straight stick where
the run is straight, from sheet as thick as the section where it is not. A moving panel's front stick at
the hinge is bevelled or rounded for the throw; a fixed panel's rear one there is left square.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from core.design_build import Strip
from core.parts.bays import Bays
from core.parts.cut import SAW_CUT, Piece
from core.parts.hinge_edge import shaped
from core.parts.hinge_places import hinge_places
from core.parts.part import Array
from core.parts.said import length
from core.parts.section import HINGE_NEAR, pair

STRAIGHT = 0.3
"""mm: a stick this near to the edge all along follows it (our own choice)."""
_ACROSS = np.linspace(0.0, 1.0, 5)
CRUMB = 0.02
"""Of an edge's wood: less of it that is thinner than a saw cut is not missed, and not said."""
SAME = 1e-5
"""mm: corners this near are one."""
STUB = 10.0
"""mm: no joint nearer than this to the next (our own choice)."""
_TURN = math.radians(10.0)
"""An edge that turns by more has a corner there, and its sticks may have a joint."""


def edging(bays: Bays) -> tuple[list[Piece], list[str]]:
    """The sticks of both edges of a panel, and what of them cannot be made."""
    build = bays.surface.plan.build
    pieces: list[Piece] = []
    faults: list[str] = []
    for strip, rear in ((build.leading_edge, False), (build.trailing_edge, True)):
        if strip is None or strip.wide == 0.0:
            continue
        if strip.wide < SAW_CUT:
            faults.append(
                f"The {_word(False, rear)} of {bays.panel.name} is {length(strip.wide)} wide, less than a"
                " saw cut: make it wider, or leave it out."
            )
        else:
            found, wrong = _stick(bays, strip, rear)
            pieces += found
            faults += wrong
    return pieces, faults


def _stick(bays: Bays, strip: Strip, rear: bool) -> tuple[list[Piece], list[str]]:
    low, high = bays.steps
    steps = np.array((low, high))
    ends, between = bays.ends, bays.between
    end, face = (ends.rear, ends.outer) if rear else (ends.front, ends.inner)
    start, stop = (between.outer, between.rear) if rear else (between.front, between.inner)
    area, moment = between.area(start, stop, strip.deep)
    # Rows: at the lower, at the upper end of each step.
    depth = 2.0 * ends.half(face[:, None] + (end - face)[:, None] * _ACROSS).max(axis=1).reshape(2, -1)
    mean = area / np.maximum(stop - start, 1e-9)
    edge, inside = end.reshape(2, -1), face.reshape(2, -1)
    if strip.deep is not None:
        depth = np.minimum(depth, strip.deep)
    s, weights = bays.quadrature
    per = len(s) // len(low)
    shares = weights * area
    where = pair(moment / np.maximum(area, 1e-300), s)
    hinged = bays.chords.hinged[bays.chords.row(0.5 * (low + high)), int(rear)] * (high - low)
    pieces: list[Piece] = []
    faults: list[str] = []
    runs = _runs(bays, edge, inside)
    number = 0
    for first, last in runs:
        rows = slice(first, last)
        on_hinge = bool(hinged[rows].sum() > 0.5 * (high - low)[rows].sum())
        deep = max(float(depth[:, rows].max()), float(mean[first * per:last * per].max()))
        volume = float(shares[first * per:last * per].sum())
        outline = _between(
            *(pair(line[0][rows], line[1][rows]) for line in (edge, inside, steps))
        )
        # Less than what the stick beside it may be off is nothing to make.
        thin = min(deep, float(np.abs(edge - inside)[:, rows].max()))
        if thin < STRAIGHT or len(outline) < 3 or not volume > 0.0:
            continue
        marks = _hinge_marks(bays, edge[:, rows], inside[:, rows], steps[:, rows]) if on_hinge else []
        foot, top = np.array((edge[0, first], low[first])), np.array((edge[1, last - 1], high[last - 1]))
        flat, size, marks = laid(outline, foot, top, marks)
        if min(thin, size[1]) < SAW_CUT - 1e-6 and volume < CRUMB * float(shares.sum()):
            continue
        if thin >= SAW_CUT - 1e-6 and size[1] < SAW_CUT - 1e-6:
            # The edge runs along the chord here: an end, which its rib closes, and no leading edge.
            continue
        number += 1
        name = f"{bays.panel.name} {_word(on_hinge, rear)}"
        if on_hinge and bays.panel.moves and not rear:
            name += shaped(bays.surface.plan)
        if len(runs) > 1:
            name = f"{name}, piece {number}"
        if thin < SAW_CUT - 1e-6:
            faults.append(
                f"{name} would be {length(thin)} thin, less than a saw cut: make it wider, or leave it out."
            )
            continue
        pieces.append(Piece(
            f"{bays.panel.id}-{'rear' if rear else 'front'}-{number}", name, "stick", strip.material,
            shapely.Polygon(flat), (*size, deep), volume, where[first * per:last * per],
            (np.vstack((outline, outline[:1])),), shares=shares[first * per:last * per],
            engraved=tuple(marks),
        ))
    return pieces, faults


def _word(hinged: bool, rear: bool) -> str:
    if hinged:
        return "hinge post"
    return "trailing edge" if rear else "leading edge"


def _runs(bays: Bays, edge: Array, inside: Array) -> list[tuple[int, int]]:
    """The steps [start, end) of each stick along an edge, from the root to the tip."""
    low, high = bays.steps
    count = len(low)
    way = np.arctan2(edge[1] - edge[0], high - low)
    jump = np.abs(edge[0][1:] - edge[1][:-1]) > STRAIGHT
    # Where it is pinched off to nothing, too, another stick begins.
    thin = np.abs(edge - inside) < SAME
    apart = (low[1:] - high[:-1] > 1e-6) | (thin[1, :-1] & thin[0, 1:])
    must = {0, count, *(np.nonzero(jump | apart)[0] + 1).tolist()}
    if len(must) == 2 and _off(edge, low, high, 0, count) <= STRAIGHT:
        return [(0, count)]
    may = {*must, *(np.nonzero(np.abs(np.diff(way)) > _TURN)[0] + 1).tolist()}
    for k in np.searchsorted(low, bays.stations - 1e-6).tolist():
        # No stub of a stick between a rib and an end or a corner beside it.
        if 0 < k < count and min(abs(low[k] - (low[m] if m < count else high[-1])) for m in may) > STUB:
            may.add(k)
    return _joined(edge, low, high, sorted(may), must)


def _joined(edge: Array, low: Array, high: Array, may: list[int], must: set[int]) -> list[tuple[int, int]]:
    """Runs between places where there ``may`` be a joint, as long as they stay straight."""
    runs: list[tuple[int, int]] = []
    place = 0
    while place < len(may) - 1:
        furthest = place + 1
        for other in range(place + 1, len(may)):
            if _off(edge, low, high, may[place], may[other]) <= STRAIGHT:
                furthest = other
            if may[other] in must:
                break
        runs.append((may[place], may[furthest]))
        place = furthest
    return runs


def _off(edge: Array, low: Array, high: Array, start: int, end: int) -> float:
    """How far an edge lies off the straight line between its ends, from step ``start`` to ``end``; mm."""
    first, last = edge[0][start], edge[1][end - 1]
    slope = (last - first) / (high[end - 1] - low[start])
    away = edge[1][start:end] - first - slope * (high[start:end] - low[start])
    return float(np.abs(away).max() / np.hypot(1.0, slope))


def _between(front: Array, rear: Array, s: Array) -> Array:
    """The closed outline (N, 2) between two edges given at the ends of each step, all (M, 2)."""
    up = pair(front.ravel(), s.ravel())
    down = pair(rear.ravel(), s.ravel())[::-1]
    return once(np.vstack((up, down)))


def once(corners: Array) -> Array:
    """A closed outline's corners (N, 2) without those that lie on the one before."""
    away = np.empty(len(corners), dtype=np.bool_)
    step = np.abs(corners[1:] - corners[:-1])
    away[1:] = np.maximum(step[:, 0], step[:, 1]) > SAME
    away[0] = bool(np.abs(corners[0] - corners[-1]).max() > SAME)
    return np.asarray(corners[away])


def _hinge_marks(bays: Bays, edge: Array, inside: Array, steps: Array) -> list[Array]:
    """Across a post the middles of its hinges, lines (2, 2) in (c, s)."""
    found = []
    at, face, end = steps.T.ravel(), edge.T.ravel(), inside.T.ravel()
    for line in bays.surface.plan.hinges:
        for c, s in hinge_places(tuple(line[0]), tuple(line[-1])):
            on = float(np.interp(s, at, face))
            if at[0] <= s <= at[-1] and abs(on - c) < HINGE_NEAR:
                found.append(np.array(((on, s), (float(np.interp(s, at, end)), s))))
    return found


def laid(
    outline: Array, start: Array, end: Array, lines: Sequence[Array] = ()
) -> tuple[Array, tuple[float, float], list[Array]]:
    """An outline (N, 2) turned so that u runs from ``start`` to ``end``, (length, width), lines on it."""
    way = (end - start) / max(float(np.hypot(*(end - start))), 1e-12)
    turn = np.array(((way[0], -way[1]), (way[1], way[0])))
    turned = outline @ turn
    low = turned.min(axis=0)
    size = turned.max(axis=0) - low
    return turned - low, (float(size[0]), float(size[1])), [line @ turn - low for line in lines]
