"""The sticks along a panel's front and rear edge, and along its hinge.

Shaped to the section, no deeper than the builder's stick. A straight edge is one stick. One that bends is
made in runs that meet at ribs, each sawn to its outline as the surface is seen: a straight stick where
the run is straight, from sheet as thick as the section where it is not. A moving panel's front stick at
the hinge is bevelled or rounded for the throw; a fixed panel's rear one there is left square.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import partial

import numpy as np
import shapely
from numpy.typing import NDArray

from core.design_build import Strip
from core.parts.bays import Bays
from core.parts.cut import SAW_CUT, Piece
from core.parts.hinge_edge import shaped
from core.parts.hinge_places import hinge_places
from core.parts.part import Array, Drawn
from core.parts.said import length
from core.parts.section import HINGE_NEAR, pair
from core.parts.shoelace import box_of

STRAIGHT = 0.3
"""mm: a stick this near to the edge all along follows it (our own choice)."""
Ints = NDArray[np.int64]
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
    ends, between = bays.ends, bays.between
    end, face = (ends.rear, ends.outer) if rear else (ends.front, ends.inner)
    start, stop = (between.outer, between.rear) if rear else (between.front, between.inner)
    area, moment = between.area(start, stop, strip.deep)
    # Rows: at the lower, at the upper end of each step.
    depth = 2.0 * ends.half(face[:, None] + (end - face)[:, None] * _ACROSS)
    depth = np.ascontiguousarray(depth.T).max(axis=0).reshape(2, -1)
    mean = area / np.maximum(stop - start, 1e-9)
    edge, inside = end.reshape(2, -1), face.reshape(2, -1)
    if strip.deep is not None:
        depth = np.minimum(depth, strip.deep)
    s, weights = bays.quadrature
    per = len(s) // len(low)
    shares = weights * area
    where = pair(moment / np.maximum(area, 1e-300), s)
    runs = _runs(bays, edge, inside)
    first = np.array([begin for begin, _ in runs])
    hinged = bays.chords.hinged[bays.chords.row(0.5 * (low + high)), int(rear)] * (high - low)
    on_hinges = np.add.reduceat(hinged, first) > 0.5 * np.add.reduceat(high - low, first)
    deeps = np.maximum(
        np.maximum.reduceat(depth.max(axis=0), first), np.maximum.reduceat(mean, per * first)
    ).tolist()
    thins = np.maximum.reduceat(np.abs(edge - inside).max(axis=0), first).tolist()
    volumes = np.add.reduceat(shares, per * first).tolist()
    every = float(shares.sum())
    outlines, ways, sizes = _outlines(edge, inside, (low, high), runs)
    sides = (edge, inside, np.array((low, high)))
    pieces: list[Piece] = []
    faults: list[str] = []
    number = 0
    for (begin, beyond), on_hinge, deep, volume, thin, outline, way, size in zip(
        runs, on_hinges.tolist(), deeps, volumes, thins, outlines, ways, sizes, strict=True
    ):
        thin = min(deep, thin)
        # Less than what the stick beside it may be off is nothing to make.
        if thin < STRAIGHT or len(outline) < 3 or not volume > 0.0:
            continue
        if min(thin, size[1]) < SAW_CUT - 1e-6 and volume < CRUMB * every:
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
        rows, per_run = slice(begin, beyond), slice(begin * per, beyond * per)
        pieces.append(Piece(
            f"{bays.panel.id}-{'rear' if rear else 'front'}-{number}", name, "stick", strip.material,
            partial(_drawn, bays.surface.plan.hinges if on_hinge else (), sides, rows, outline, way),
            (*size, deep), volume, where[per_run], (np.concatenate((outline, outline[:1])),),
            shares=shares[per_run],
        ))
    return pieces, faults


def _outlines(
    edge: Array, inside: Array, steps: tuple[Array, Array], runs: list[tuple[int, int]]
) -> tuple[list[Array], Array, list[tuple[float, float]]]:
    """The outline (N, 2) of each stick between its ``edge`` and its ``inside``, the ways (K, 2) they run.

    And the (length, width) of each along and across its way: as ``laid`` has them, all at once.
    """
    s = pair(*steps).ravel()
    up, down = pair(edge.T.ravel(), s), pair(inside.T.ravel(), s)[::-1]
    every = np.empty((2 * len(s), 2))
    for begin, beyond in runs:
        every[4 * begin:2 * (begin + beyond)] = up[2 * begin:2 * beyond]
        every[2 * (begin + beyond):4 * beyond] = down[len(s) - 2 * beyond:len(s) - 2 * begin]
    first, last = np.array(runs).T
    away = _apart(every, 4 * first, 4 * last)
    # None is left without any corner: it would have no place among the others.
    away[4 * first] |= ~np.logical_or.reduceat(away, 4 * first)
    count = np.add.reduceat(away, 4 * first, dtype=np.int64)
    every, starts = every[away], np.cumsum(count) - count
    ways = up[2 * last - 1] - up[2 * first]
    along = np.repeat(ways / np.maximum(np.hypot(ways[:, 0], ways[:, 1]), 1e-12)[:, None], count, axis=0)
    turned = pair(
        every[:, 0] * along[:, 0] + every[:, 1] * along[:, 1],
        every[:, 1] * along[:, 0] - every[:, 0] * along[:, 1],
    )
    sizes = np.maximum.reduceat(turned, starts) - np.minimum.reduceat(turned, starts)
    outlines = [every[k:k + many] for k, many in zip(starts.tolist(), count.tolist(), strict=True)]
    return outlines, ways, [(long, wide) for long, wide in sizes.tolist()]


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
    if len(must) == 2 and _straight(edge, low, high, 0, count):
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
            if _straight(edge, low, high, may[place], may[other]):
                furthest = other
            if may[other] in must:
                break
        runs.append((may[place], may[furthest]))
        place = furthest
    return runs


def _straight(edge: Array, low: Array, high: Array, start: int, end: int) -> bool:
    """True if an edge follows the straight line between its ends, from step ``start`` to ``end``."""
    first, bottom = float(edge[0, start]), float(low[start])
    slope = (float(edge[1, end - 1]) - first) / (float(high[end - 1]) - bottom)
    most = STRAIGHT * math.hypot(1.0, slope)
    # Most that bend do so half way.
    half = (start + end) // 2
    if abs(float(edge[1, half]) - first - slope * (float(high[half]) - bottom)) > most:
        return False
    away = edge[1, start:end] - first - slope * (high[start:end] - bottom)
    return float(np.abs(away).max()) <= most


def once(corners: Array) -> Array:
    """A closed outline's corners (N, 2) without those that lie on the one before."""
    return np.asarray(corners[_apart(corners, np.zeros(1, np.int64), np.array((len(corners),)))])


def _apart(corners: Array, first: Ints, last: Ints) -> NDArray[np.bool_]:
    """Which corners (N, 2) lie off the one before in their ring, each from ``first`` to before ``last``."""
    step = np.empty_like(corners)
    step[1:] = corners[1:] - corners[:-1]
    step[first] = corners[first] - corners[last - 1]
    step = np.abs(step)
    return np.asarray(np.maximum(step[:, 0], step[:, 1]) > SAME)


def _drawn(
    hinges: Sequence[Array], sides: tuple[Array, Array, Array], rows: slice, outline: Array, way: Array
) -> Drawn:
    """A stick laid flat, the middles of the ``hinges`` across it; ``sides``: edge, inside, s (2, M)."""
    edge, inside, steps = (side[:, rows] for side in sides)
    flat, _, marks = laid(outline, way, _hinge_marks(hinges, edge, inside, steps))
    return Drawn(shapely.Polygon(flat), tuple(marks))


def _hinge_marks(hinges: Sequence[Array], edge: Array, inside: Array, steps: Array) -> list[Array]:
    """Across a post the middles of its hinges, lines (2, 2) in (c, s)."""
    found = []
    at, face, end = steps.T.ravel(), edge.T.ravel(), inside.T.ravel()
    for line in hinges:
        for c, s in hinge_places(tuple(line[0]), tuple(line[-1])):
            on = float(np.interp(s, at, face))
            if at[0] <= s <= at[-1] and abs(on - c) < HINGE_NEAR:
                found.append(np.array(((on, s), (float(np.interp(s, at, end)), s))))
    return found


def laid(
    outline: Array, along: Array, lines: Sequence[Array] = ()
) -> tuple[Array, tuple[float, float], list[Array]]:
    """An outline (N, 2) turned so that u runs ``along`` (2,), its (length, width), lines on it."""
    way = along / max(float(np.hypot(*along)), 1e-12)
    turn = np.array(((way[0], -way[1]), (way[1], way[0])))
    turned = outline @ turn
    low, high = box_of(turned)
    long, wide = (high - low).tolist()
    return turned - low, (long, wide), [line @ turn - low for line in lines]
