"""Ribs: the section at their height, under the skin and between the edges, notched and lightened."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from core.design_build import Ribs
from core.parts.bays import Bays
from core.parts.cut import SAW_CUT, Piece
from core.parts.part import Array
from core.parts.section import Cuts, pair
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
    stretch, made = np.zeros((len(c), 2)), np.zeros(len(c), dtype=np.bool_)
    thin, short = [], []
    for k in range(len(c)):
        if half[k].max() < least:
            thin.append(k + 1)
            continue
        stretch[k] = _enough(c[k], half[k], least)
        if stretch[k, 1] - stretch[k, 0] < LEAST_RIB:
            short.append(k + 1)
            continue
        made[k] = True
    faults = [
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
    rings: list[NDArray[Any]] = []
    owners: list[NDArray[np.int64]] = []
    walls: list[tuple[NDArray[np.int64], Array]] = []
    corner = np.zeros((len(made), 2))
    for number in sorted(set(count[made].tolist())):
        rows = np.nonzero(made & (count == number))[0]
        some, kept = cuts.of(rows), notches[rows][:, :number]
        shells = _shells(some, skin, stretch[rows], kept, ribs.halves)
        low = shells.min(axis=1, keepdims=True)
        corner[rows] = low[:, 0]
        rings.append(shapely.linearrings(shells - low))
        owners.append(rows)
        walls.append((np.repeat(rows, number + 1), _walls(stretch[rows], kept).reshape(-1, 2)))
    if not rings:
        return []
    if ribs.holes:
        owner, between = np.concatenate([r for r, _ in walls]), np.concatenate([w for _, w in walls])
        holes, owner = _holes(cuts.of(owner), skin, owner, between, ribs.halves)
        if len(holes):
            rings.append(np.asarray(shapely.linearrings(holes - corner[owner][:, None])))
            owners.append(owner)
    owned = np.concatenate(owners)
    # A polygon's first ring is its shell: the sort keeps the order of those of one rib.
    order = np.argsort(owned, kind="stable")
    rows, which = np.unique(owned, return_inverse=True)
    outlines: NDArray[Any] = np.asarray(shapely.polygons(np.concatenate(rings)[order], indices=which[order]))
    areas, boxes = np.asarray(shapely.area(outlines)), shapely.bounds(outlines)
    middles = corner[rows, 0] + shapely.get_x(shapely.centroid(outlines))
    half = 0.5 * ribs.thick
    pieces = []
    for k, outline, area, middle, box in zip(
        rows.tolist(), outlines, areas.tolist(), middles.tolist(), boxes.tolist(), strict=True
    ):
        s, (start, end) = float(cuts.s[k]), stretch[k].tolist()
        name = f"{bays.panel.name} rib {k + 1}"
        pieces.append(Piece(
            f"{bays.panel.id}-rib-{k + 1}", f"{name}, half" if ribs.halves else name, "rib", ribs.material,
            outline, (box[2] - box[0], box[3] - box[1], ribs.thick), area * ribs.thick,
            np.array(((middle, s),)),
            (np.array((
                (start, s - half), (end, s - half), (end, s + half), (start, s + half), (start, s - half)
            )),),
            count=2 if ribs.halves else 1,
        ))
    return pieces


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
    loops = np.concatenate((
        pair(along, middle - height), pair(along, middle + height)[:, -2:0:-1]
    ), axis=1)
    worth = (end - start >= LEAST_HOLE) & (2.0 * height.max(axis=1) >= LEAST_HOLE)
    return loops[worth], owner[worth]
