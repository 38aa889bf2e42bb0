"""Ribs: the section at their height, under the skin and between the edges, notched and lightened."""

from __future__ import annotations

from functools import partial

import numpy as np
import shapely
from numpy.typing import NDArray

from core.design_build import Ribs
from core.parts.bays import Bays
from core.parts.cut import SAW_CUT, Piece
from core.parts.edging import once
from core.parts.part import Array, Drawn
from core.parts.said import Remark
from core.parts.section import Cuts, pair
from core.parts.shoelace import areas_of, box_of
from core.parts.spar import Bools, Run, inner_half

EDGE = 0.2
"""Of a rib's depth, what a hole leaves at its edge."""
LONGEST_HOLE = 2.0
"""Of a rib's depth: longer ones get a bridge (our own choice)."""
LEAST_HOLE = 3.0
"""mm: a smaller one is not worth its cut (our own choice)."""
LEAST_RIB = 3.0
"""mm: a shorter rib holds nothing (our own choice)."""
NOSE = 0.02
"""Of the chord: a rib that begins nearer to the leading edge has the round nose itself."""
_SHARES = np.linspace(0.0, 1.0, 49)
_AROUND = 0.5 - 0.5 * np.cos(np.pi * np.linspace(0.0, 1.0, 15))


def stretches(bays: Bays, ribs: Ribs, skin: float) -> tuple[Array, Bools, list[str]]:
    """(from where to where each rib has depth (K, 2), which can be made (K,), a sentence for each other)."""
    cuts = bays.ribs
    # Without a stick the rib has the nose itself, which is round.
    shares = _SHARES**2 if (cuts.inner <= cuts.front).all() else _SHARES
    c = cuts.inner[:, None] + (cuts.outer - cuts.inner)[:, None] * shares
    half = inner_half(cuts, c, skin)
    least = SAW_CUT if ribs.halves else 0.5 * SAW_CUT
    stretch, made = c[:, (0, -1)], np.zeros(len(c), dtype=np.bool_)
    thin, short = [], []
    for k, (fewest, most) in enumerate(pair(half.min(axis=1), half.max(axis=1)).tolist()):
        if most < least:
            thin.append(k + 1)
            continue
        if fewest < least:
            stretch[k] = _enough(c[k], half[k], least)
        if stretch[k, 1] - stretch[k, 0] < LEAST_RIB:
            short.append(k + 1)
            continue
        made[k] = True
    # Where none is asked for by its place, an end may do without: a block closes it.
    ends = ((1, 0, 1), (len(c), -1, -2)) if ribs.at is None and len(c) > 1 else ()
    ended = [number for number, end, beside in ends if made[beside] and not made[end]]
    faults: list[str] = [
        Remark(
            f"Rib {number} of {bays.panel.name} is left out: at that end the surface is too"
            f" {'thin' if number in thin else 'short'} for one. Close it with a block between the edges,"
            " which is not weighed."
        ) for number in ended
    ]
    thin, short = ([number for number in some if number not in ended] for some in (thin, short))
    faults += [
        f"{_ribs(which)} of {bays.panel.name} {'is' if len(which) == 1 else 'are'} {why}."
        for which, why in (
            (thin, "thinner than a saw cut: make the surface thicker there, or its skin thinner"),
            (short, "too short between the edges: move it, or make the edges narrower"
             if len(short) == 1 else "too short between the edges: move them, or make the edges narrower"),
        ) if which
    ]
    return stretch, made, faults


def _ribs(which: list[int]) -> str:
    if len(which) == 1:
        return f"Rib {which[0]}"
    return f"Ribs {', '.join(map(str, which[:-1]))} and {which[-1]}"


def _enough(c: Array, half: Array, least: float) -> tuple[float, float]:
    """From where to where the depth is enough round its greatest; crossings on straight lines between."""
    top = int(half.argmax())
    short = half < least
    before, after = np.nonzero(short[:top])[0], np.nonzero(short[top:])[0]
    start, end = float(c[0]), float(c[-1])
    if len(before):
        i = int(before[-1])
        start = float(np.interp(least, half[i:i + 2], c[i:i + 2]))
    if len(after):
        i = top + int(after[0])
        end = float(np.interp(-least, -half[i - 1:i + 1], c[i - 1:i + 1]))
    return start, end


def rib_pieces(
    bays: Bays, ribs: Ribs, skin: float, stretch: Array, made: Bools, runs: list[Run]
) -> list[Piece]:
    """The ribs of a panel that can be made, in halves where the build has them."""
    cuts = bays.ribs
    notches = _notches(cuts, skin, runs)
    count = np.array([sum(run.first <= k <= run.last for run in runs) for k in range(len(made))])
    shells: list[Array | None] = [None] * len(made)
    holes: list[list[Array]] = [[] for _ in made]
    areas, moments, sizes = np.zeros(len(made)), np.zeros(len(made)), np.zeros((len(made), 2))
    corner = np.zeros((len(made), 2))
    walls: list[tuple[NDArray[np.int64], Array]] = []
    for number in sorted(set(count[made].tolist())):
        rows = np.nonzero(made & (count == number))[0]
        some, kept = cuts.of(rows), notches[rows][:, :number]
        edges = _shells(some, skin, stretch[rows], kept, ribs.halves)
        low, high = box_of(edges)
        corner[rows], sizes[rows] = low, high - low
        edges = edges - low[:, None]
        areas[rows], moments[rows] = areas_of(edges)
        for row, edge in zip(rows.tolist(), edges, strict=True):
            shells[row] = edge
        walls.append((np.repeat(rows, number + 1), _walls(stretch[rows], kept).reshape(-1, 2)))
    if ribs.holes and walls:
        owner, between = np.concatenate([r for r, _ in walls]), np.concatenate([w for _, w in walls])
        loops, owner = _holes(cuts.of(owner), skin, owner, between, ribs.halves)
        if len(loops):
            loops = loops - corner[owner][:, None]
            areas, moments = (
                whole - np.bincount(owner, taken, len(made))
                for whole, taken in zip((areas, moments), areas_of(loops), strict=True)
            )
            for row, loop in zip(owner.tolist(), loops, strict=True):
                holes[row].append(loop)
    half = 0.5 * ribs.thick
    faces = half * np.array((-1.0, -1.0, 1.0, 1.0, -1.0))
    places = pair(stretch[:, (0, 1, 1, 0, 0)], cuts.s[:, None] + faces)
    middles = pair(corner[:, 0] + moments / np.maximum(areas, 1e-300), cuts.s)
    pieces = []
    for k, (shell, area, size) in enumerate(zip(shells, areas.tolist(), sizes.tolist(), strict=True)):
        if shell is None:
            continue
        name = f"{bays.panel.name} rib {k + 1}"
        pieces.append(Piece(
            f"{bays.panel.id}-rib-{k + 1}", f"{name}, half" if ribs.halves else name, "rib", ribs.material,
            partial(_drawn, shell, holes[k]), (size[0], size[1], ribs.thick), area * ribs.thick,
            middles[k:k + 1], (places[k],), count=2 if ribs.halves else 1,
        ))
    return pieces


def _drawn(shell: Array, holes: list[Array]) -> Drawn:
    return Drawn(shapely.Polygon(shell, [once(hole) for hole in holes]))


def _notches(cuts: Cuts, skin: float, runs: list[Run]) -> Array:
    """(K, R, 3): (from, to, floor) of each spar's notch in each rib, from front to rear; inf where none."""
    found = np.full((len(cuts.s), len(runs), 3), np.inf)
    for i, run in enumerate(runs):
        top, deep = run.levels(cuts, skin)
        middle, side = run.at(cuts.s), 0.5 * run.spar.cap[0]
        rows = slice(run.first, run.last + 1)
        found[rows, i] = np.stack((middle - side, middle + side, top - deep), axis=1)[rows]
    order = np.argsort(found[:, :, 0], axis=1)
    return np.take_along_axis(found, order[:, :, None], axis=1)


def _walls(stretch: Array, notches: Array) -> Array:
    """(K, R + 1, 2): from where to where a rib runs between its ends and notches."""
    inner = notches[:, :, :2].reshape(len(stretch), -1)
    return np.concatenate((stretch[:, :1], inner, stretch[:, 1:]), axis=1).reshape(len(stretch), -1, 2)


def _shells(cuts: Cuts, skin: float, stretch: Array, notches: Array, halves: bool) -> Array:
    """Ribs' edges (K, N, 2) with as many notches each: over the middle plane, or mirrored about it too."""
    walls = _walls(stretch, notches)
    shares = np.linspace(0.0, 1.0, max(16, 72 // walls.shape[1]))
    c = walls[:, :, :1] + (walls[:, :, 1:] - walls[:, :, :1]) * shares
    if cuts.symmetric and bool((stretch[:, 0] - cuts.lead < NOSE * cuts.chord).any()):
        # Near the nose the form goes with the root of the distance.
        c[:, 0] = walls[:, 0, :1] + (walls[:, 0, 1:] - walls[:, 0, :1]) * shares**2
    y = inner_half(cuts, c.reshape(len(c), -1), skin).reshape(c.shape)
    above = pair(c, y)
    if notches.shape[1]:
        # After each piece but the last, the floor of the notch behind it.
        floor = pair(notches[:, :, :2], np.repeat(notches[:, :, 2:], 2, axis=2))
        behind = np.concatenate((above[:, :-1], floor), axis=2).reshape(len(c), -1, 2)
        edge = np.concatenate((behind, above[:, -1]), axis=1)
    else:
        edge = above[:, 0]
    if not halves:
        return np.concatenate((edge[:, ::-1] * np.array((1.0, -1.0)), edge), axis=1)[:, ::-1]
    feet = edge[:, (0, -1)] * np.array((1.0, 0.0))
    return np.concatenate((feet, edge[:, ::-1]), axis=1)


def _holes(
    cuts: Cuts, skin: float, owner: NDArray[np.int64], walls: Array, halves: bool
) -> tuple[Array, NDArray[np.int64]]:
    """Lightening holes (H, N, 2), a fifth of the depth from edges and notches, and whose (H,) each is.

    ``walls`` (M, 2): from where to where a rib runs between its ends and notches, ``owner`` (M,) whose
    stretch each is, ``cuts`` the section there.
    """
    left, right = walls.T
    full = 1.0 if halves else 2.0
    deep = full * inner_half(cuts, 0.5 * (left + right)[:, None], skin)[:, 0]
    wall = np.maximum(EDGE * deep, SAW_CUT)
    free = right - left - wall
    count = np.where(free > 0.0, np.ceil(free / ((LONGEST_HOLE + EDGE) * deep)), 0.0).astype(np.int64)
    which = np.repeat(np.arange(len(walls)), count)
    place = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)
    step = free[which] / count[which]
    start = left[which] + wall[which] + place * step
    end = left[which] + (place + 1) * step
    owner, some = owner[which], cuts.of(which)
    along = start[:, None] + (end - start)[:, None] * _AROUND
    depth = full * inner_half(some, along, skin)
    least = SAW_CUT * np.sqrt(1.0 + some.slope(along) ** 2)
    height = np.maximum(0.5 * depth - np.maximum(EDGE * depth, least), 0.0)
    radius = np.minimum(0.5 * (end - start), height[:, len(_AROUND) // 2])[:, None]
    near = np.minimum(along - start[:, None], end[:, None] - along) / np.maximum(radius, 1e-9)
    height = height * np.sqrt(1.0 - (1.0 - np.clip(near, 0.0, 1.0)) ** 2)
    middle = 0.5 * depth if halves else np.zeros_like(depth)
    worth = (end - start >= LEAST_HOLE) & (2.0 * height.max(axis=1) >= LEAST_HOLE)
    kept = _open(height)
    along, middle, height = (np.take_along_axis(v, kept, axis=1) for v in (along, middle, height))
    loops = np.concatenate((
        pair(along, middle - height), pair(along, middle + height)[:, -2:0:-1]
    ), axis=1)
    return loops[worth], owner[worth]


def _open(height: Array) -> NDArray[np.int64]:
    """Which places (H, N) of each hole to draw it through: of those before and behind it, its ends.

    Where a rib grows too thin, a hole ends in a point, and no slit goes on from there.
    """
    order = np.arange(height.shape[1])
    high, empty = height.argmax(axis=1)[:, None], height <= 0.0
    first = np.where(empty & (order < high), order, 0).max(axis=1, initial=0)[:, None]
    last = np.where(empty & (order > high), order, order[-1]).min(axis=1, initial=order[-1])[:, None]
    return np.asarray(np.minimum(np.maximum(order, first), last))
