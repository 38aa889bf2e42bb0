"""Carrying a line on over the places where its middle cannot be told: crossings, gaps, corners."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.ink.corners import spaced
from core.ink.darkness import Array

_CORNER_DEG = 25.0
_LEAST = 4
"""Points that are believed, in a row; fewer are not."""
_ENOUGH = 10
"""So many tell the direction by themselves."""
_SAME = 0.4
"""Pixels off one straight line on both sides of a crossing."""


def bridged(
    line: Array, sure: NDArray[np.bool_], side: int, *, closed: bool = False, longest: float = np.inf,
    most_off: float = np.inf,
) -> Array:
    """The line (N, 2), about a pixel between its points, its doubtful runs drawn anew; any number of points.

    Parabolas through up to ``side`` sure points before and after a doubtful run are carried on into it.
    Where they turn by more than 25° and meet within it, it becomes that corner; else a cubic that leaves and
    arrives as they do. Doubtful ends of an open run go on straight.
    """
    total = len(line)
    sure = sure.copy()
    if closed:
        if not sure.any() or sure.all():
            return line
        first = int(np.flatnonzero(sure & ~np.roll(sure, 1))[0])
        line, sure = np.roll(line, -first, axis=0), np.roll(sure, -first)
        line, sure = np.vstack((line, line[:1])), np.append(sure, True)
    for begin, end in _runs(sure):
        if end - begin < _LEAST and begin > 0 and end < len(sure):
            sure[begin:end] = False
    parts: list[Array] = []
    at = 0
    ring = (line[:-1], sure[:-1]) if closed else None
    for begin, end in _runs(~sure):
        if begin == 0 or end == len(sure):
            if end - begin <= side and end - begin < len(sure):
                made = _ended(line, sure, begin, end, side)
                line = made if _apart(made[begin:end], line[begin:end]) <= most_off else line
            continue
        if end - begin > longest:
            continue
        half = 0.5 * float(np.hypot(*(line[end] - line[begin - 1])))
        before = _side(line, sure, begin - 1, -1, side, ring, half)
        after = _side(line, sure, end, 1, side, ring, half)
        if before is None or after is None:
            continue
        bridge = _over(line[begin - 1], line[end], before, after)
        whole = np.vstack((line[begin - 1 : begin], bridge, line[end : end + 1]))
        if _apart(spaced(whole, 1.0), line[begin - 1 : end + 1]) > most_off:
            continue
        parts += [line[at:begin], bridge]
        at = end
    parts.append(line[at:])
    made = np.vstack(parts)
    return made[:-1] if closed and total > 1 else made


def _apart(one: Array, other: Array) -> float:
    """The furthest that a point of either run, points about a pixel apart, lies from those of the other."""
    gaps = np.hypot(*np.moveaxis(one[:, None] - other[None], 2, 0))
    return float(max(gaps.min(axis=0).max(), gaps.min(axis=1).max()))


def _runs(flags: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Where flags are set: begins, and ends (one past)."""
    change = np.flatnonzero(np.diff(np.concatenate(([False], flags, [False])).astype(np.int8)))
    return list(zip(change[::2].tolist(), change[1::2].tolist(), strict=True))


@dataclass(frozen=True, eq=False)
class _Side:
    """What the sure points on one side of a doubtful run say: place and direction of travel, each (2,).

    ``place`` and ``along`` where the run begins, ``far_place`` and ``far_along`` in the middle of it.
    """

    place: Array
    along: Array
    far_place: Array
    far_along: Array


def _side(
    line: Array, sure: NDArray[np.bool_], index: int, way: int, side: int,
    ring: tuple[Array, NDArray[np.bool_]] | None, half: float = 0.0,
) -> _Side | None:
    """From the sure point ``index`` and those beyond it, looked at against the run (``way`` -1 or 1)."""
    if ring is not None:
        points, known = ring
        picked = (index + way * np.arange(side)) % len(points)
    else:
        points, known = line, sure
        picked = index + way * np.arange(side)
        picked = picked[(picked >= 0) & (picked < len(points))]
    t = np.arange(len(picked), dtype=np.float64)
    fine = known[picked]
    until = int(np.argmin(fine)) if not fine.all() else len(picked)
    if until < _LEAST:
        return None
    found = None
    if until < _ENOUGH and int(fine.sum()) > until:
        # Beyond a crossing the line goes on as before; beyond a corner it does not, which the misfit tells.
        found = _carried_on(points[picked][fine], t[fine], _SAME)
    if found is None:
        found = _carried_on(points[picked[:until]], t[:until], np.inf)
    if found is None:
        return None
    far = found[0] - half * found[1] + half * half * found[2]
    return _Side(found[0], way * _unit(found[1]), far, way * _unit(found[1] - 2 * half * found[2]))


def _unit(vector: Array) -> Array:
    return np.asarray(vector / max(float(np.hypot(*vector)), 1e-9))


def _ended(line: Array, sure: NDArray[np.bool_], begin: int, end: int, side: int) -> Array:
    """The line with its doubtful first or last points put on the straight continuation of the sure ones."""
    ahead = begin == 0
    index = end if ahead else begin - 1
    found = _side(line, sure, index, 1 if ahead else -1, side, None)
    if found is None:
        return line
    place, direction = found.place, found.along
    far = float((line[0 if ahead else -1] - place) @ direction)
    if (far < 0) != ahead:
        return line
    made = line.copy()
    share = np.arange(1, end - begin + 1)[:, None] / (end - begin)
    run = place + far * share * direction
    made[begin:end] = run[::-1] if ahead else run
    return made


def _carried_on(points: Array, t: Array, most: float) -> Array | None:
    """The coefficients (3, 2) in t of a straight line or, where it fits clearly better, a parabola.

    None where any point lies more than ``most`` pixels off it; then a parabola is not tried.
    """
    best = None
    for degree in (1, 2) if len(t) >= _ENOUGH and not np.isfinite(most) else (1,):
        basis = np.stack([t**n for n in range(degree + 1)], axis=1)
        fitted = np.linalg.lstsq(basis, points, rcond=None)[0]
        scatter = float(np.sqrt(np.square(points - basis @ fitted).sum(axis=1).mean()))
        if float(np.abs(points - basis @ fitted).max()) > most:
            return None
        if best is None or scatter < 0.8 * best[0] - 0.02:
            best = (scatter, fitted)
    if best is None:
        return None
    return np.vstack((best[1], np.zeros((3 - len(best[1]), 2))))


def _over(begin: Array, end: Array, before: _Side, after: _Side) -> Array:
    """The points of one bridge, without those it begins and ends on."""
    p, d, q, e = before.far_place, before.far_along, after.far_place, after.far_along
    gap = q - p
    length = float(np.hypot(*(end - begin)))
    cross = float(d[0] * e[1] - d[1] * e[0])
    turn = abs(np.degrees(np.arctan2(cross, float(d @ e))))
    if turn > _CORNER_DEG and abs(cross) > 1e-6:
        on = float(gap[0] * e[1] - gap[1] * e[0]) / cross
        back = float(gap[0] * d[1] - gap[1] * d[0]) / cross
        if max(abs(on), abs(back)) < length + 6.0:
            return np.asarray((p + on * d)[None], dtype=np.float64)
    number = max(2, round(length))
    t = np.arange(1, number)[:, None] / number
    s = 1.0 - t
    reach = length / 3.0
    p, d, q, e = before.place, before.along, after.place, after.along
    return np.asarray(
        s**3 * p + 3 * s * s * t * (p + reach * d) + 3 * s * t * t * (q - reach * e) + t**3 * q
    )
