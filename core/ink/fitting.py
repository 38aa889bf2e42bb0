"""Few cubic edges through many points, corners kept as corners and straight runs as straight edges.

Least squares and re-parametrisation after Schneider, "An Algorithm for Automatically Fitting Digitized
Curves", Graphics Gems, 1990 (from memory). Where it halves at the worst point, this takes from one end the
longest piece that one edge holds within the tolerance, which leaves fewer nodes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.ink.corners import Corner, corners, spaced
from core.ink.darkness import Array

_STEP = 0.2
"""mm between the points that are fitted."""
_MOST_POINTS = 70
_CORNER_BLIND, _CORNER_SIDE = 0.4, 2.6
"""mm beside a corner that are not asked about it, and that are."""
_STRAIGHT_LEAST = 12.0
"""mm: shorter straight runs within a curve are left to the curve."""
_STRAIGHT_DEG = 0.6


@dataclass(frozen=True)
class Joint:
    """A node: place and handle offsets in mm. ``corner``: the sides meet at an angle here."""

    x: float
    z: float
    handle_in: tuple[float, float] | None
    handle_out: tuple[float, float] | None
    corner: bool


@dataclass(frozen=True, eq=False)
class Segment:
    """One edge as its four control points (4, 2); a straight one has them on its chord."""

    control: Array
    straight: bool
    corner_after: bool = False


def nodes_along(
    points_mm: Array, tolerance_mm: float = 0.12, *, corner_deg: float = 25.0
) -> tuple[Joint, ...]:
    """The nodes of an open run through ``points_mm`` (N, 2), in order of travel.

    No point is further than ``tolerance_mm`` from the run, save beside corners. The first has no
    ``handle_in``, the last no ``handle_out``. ValueError for fewer than two different points.
    """
    segments = fit_open(points_mm, tolerance_mm, corner_deg=corner_deg)
    joints = []
    for i in range(len(segments) + 1):
        before = segments[i - 1] if i > 0 else None
        after = segments[i] if i < len(segments) else None
        joints.append(_joint(before, after))
    return tuple(joints)


def closed_joints(
    points_mm: Array, tolerance_mm: float = 0.12, *, corner_deg: float = 25.0
) -> tuple[Joint, ...]:
    """The nodes of a closed run; ``points_mm`` (N, 2) goes round once and does not repeat its first.

    ValueError for fewer than three points.
    """
    if len(points_mm) < 3:
        raise ValueError("a closed run needs at least three points")
    points = spaced(points_mm, _STEP, closed=True)
    found = _corners(points, corner_deg, closed=True)
    if found:
        first = found[0].index
        points = np.roll(points, -first, axis=0)
        found = [Corner((c.index - first) % len(points), c.at, c.turn_deg) for c in found]
        segments = _between_corners(np.vstack((points, points[:1])), found[1:], tolerance_mm, found[0])
    else:
        points = np.roll(points, -_calmest(points), axis=0)
        ring = np.vstack((points[-20:], points, points[:21]))
        along = _tangent(ring, 20)
        segments = _fitted(np.vstack((points, points[:1])), along, along, tolerance_mm)
    if len(segments) == 1:
        segments = _halved(segments[0])
    return tuple(_joint(segments[i - 1], segments[i]) for i in range(len(segments)))


def fit_open(points: Array, tolerance: float, *, corner_deg: float = 25.0) -> list[Segment]:
    """The edges of an open run; see ``nodes_along``."""
    points = np.asarray(points, dtype=np.float64)
    if len(points) < 2 or float(np.ptp(points, axis=0).max()) < 1e-9:
        raise ValueError("a run needs at least two different points")
    points = spaced(points, _STEP)
    return _between_corners(points, _corners(points, corner_deg, closed=False), tolerance, None)


def _corners(points: Array, corner_deg: float, *, closed: bool) -> list[Corner]:
    return corners(
        points, round(_CORNER_BLIND / _STEP), round(_CORNER_SIDE / _STEP), least_deg=corner_deg,
        closed=closed, rough=0.06,
    )


def _between_corners(
    points: Array, found: list[Corner], tolerance: float, ends: Corner | None
) -> list[Segment]:
    """Each piece between corners fitted for itself; ``ends``: the corner where a closed run was cut."""
    stops = [0, *(corner.index for corner in found), len(points) - 1]
    places = [points[0], *(np.array(corner.at) for corner in found), points[-1]]
    if ends is not None:
        places[0] = places[-1] = np.array(ends.at)
    blind = round(_CORNER_BLIND / _STEP)
    segments: list[Segment] = []
    for n in range(len(stops) - 1):
        begin, end = stops[n], stops[n + 1]
        sharp = (n > 0 or ends is not None, n < len(stops) - 2 or ends is not None)
        inner = points[begin + (blind if sharp[0] else 1) : end + 1 - (blind if sharp[1] else 1)]
        piece = np.vstack((places[n][None], inner, places[n + 1][None]))
        made = _fitted(piece, None, None, tolerance)
        last = made[-1]
        made[-1] = Segment(last.control, last.straight, sharp[1])
        segments += made
    return segments


def _calmest(points: Array) -> int:
    """Where a smooth closed run bends least: the place for its first node."""
    reach = max(1, min(25, len(points) // 8))
    bend = np.roll(points, reach, axis=0) + np.roll(points, -reach, axis=0) - 2 * points
    return int(np.argmin(np.hypot(bend[:, 0], bend[:, 1])))


def _tangent(points: Array, index: int, reach: int = 15) -> Array:
    """Unit direction of travel at a point, from a parabola through its neighbours."""
    low, high = max(0, index - reach), min(len(points), index + reach + 1)
    t = np.arange(low, high, dtype=np.float64) - index
    degree = 2 if len(t) > 4 else 1
    basis = np.stack([t**n for n in range(degree + 1)], axis=1)
    direction = np.linalg.lstsq(basis, points[low:high], rcond=None)[0][1]
    return np.asarray(direction / max(float(np.hypot(*direction)), 1e-12))


def _fitted(points: Array, first: Array | None, last: Array | None, tolerance: float) -> list[Segment]:
    """A piece without corners. ``first`` and ``last``: directions of travel at its ends, or None for free."""
    whole = _one(points, first, last, tolerance)
    if whole is not None:
        return [whole]
    stops = _straight_stops(points, tolerance)
    if stops:
        marks = [0, *stops, len(points) - 1]
        tangents = [first, *(_straight_tangent(points, marks, n) for n in range(1, len(marks) - 1)), last]
        segments: list[Segment] = []
        for n in range(len(marks) - 1):
            part = points[marks[n] : marks[n + 1] + 1]
            segments += _greedy(part, tangents[n], tangents[n + 1], tolerance)
        return segments
    return _greedy(points, first, last, tolerance)


def _greedy(points: Array, first: Array | None, last: Array | None, tolerance: float) -> list[Segment]:
    """As few edges as reaching far from one end gives, then evened out by a closer tolerance."""
    best = _reaching(points, first, last, tolerance, len(points))
    if len(best) < 2:
        return best
    for part in (0.55, 0.75):
        closer = _reaching(points, first, last, part * tolerance, len(best))
        if closer and len(closer) <= len(best):
            return closer
    return best


def _reaching(
    points: Array, first: Array | None, last: Array | None, tolerance: float, most: int
) -> list[Segment]:
    """Edges that each reach as far as the tolerance lets them; empty where ``most`` are not enough."""
    segments: list[Segment] = []
    begin, end, along, last_reach = 0, len(points) - 1, first, 0
    while begin < end:
        if len(segments) >= most:
            return []
        whole = _one(points[begin:], along, last, tolerance)
        if whole is not None:
            segments.append(whole)
            break
        low, high, kept = begin + 1, end, None
        middle = min(begin + last_reach, (begin + end) // 2) if last_reach else (begin + end) // 2
        while high - low > max(1, (high - begin) // 30):
            made = _one(points[begin : middle + 1], along, _tangent(points, middle), tolerance)
            if made is None:
                high = middle
            else:
                low, kept = middle, made
            # From the reach of the edge before, outwards by doubling until one does not hold.
            middle = min(2 * low - begin, (low + high) // 2) if high == end and kept else (low + high) // 2
        if kept is None:
            kept = Segment(_chord(points[begin], points[low]), True)
        segments.append(kept)
        last_reach = low - begin
        begin, along = low, _tangent(points, low)
    return segments


def _straight_tangent(points: Array, marks: list[int], n: int) -> Array:
    """Direction at a stop: that of the straight run on whichever side of it is straighter."""
    runs = []
    for a, b in ((marks[n - 1], marks[n]), (marks[n], marks[n + 1])):
        chord = points[b] - points[a]
        length = float(np.hypot(*chord))
        runs.append((_sag(points[a : b + 1]) / max(length, 1e-9), chord / max(length, 1e-9)))
    return np.asarray(min(runs, key=lambda run: run[0])[1])


def _sag(points: Array) -> float:
    """The furthest that any point lies from the chord."""
    chord = points[-1] - points[0]
    length = max(float(np.hypot(*chord)), 1e-12)
    off = points - points[0]
    return float(np.abs(off[:, 0] * chord[1] - off[:, 1] * chord[0]).max()) / length


def _straight(points: Array, tolerance: float) -> bool:
    """Whether a chord will do: nothing further off than ``tolerance``, and no bow or swing of 0.75 of that.

    Bow and swing are how much of an arch and of a wave over the length is in the offsets, which scatter of
    single points hardly touches.
    """
    chord = points[-1] - points[0]
    length = float(np.hypot(*chord))
    if length < 1e-9:
        return False
    off = points - points[0]
    beside = (off[:, 0] * chord[1] - off[:, 1] * chord[0]) / length
    if float(np.abs(beside).max()) > tolerance:
        return False
    t = np.clip(off @ chord / length**2, 0.0, 1.0)
    basis = np.stack((4 * t * (1 - t), np.sin(2 * np.pi * t)), axis=1)
    return bool(np.abs(np.linalg.lstsq(basis, beside, rcond=None)[0]).max() <= 0.75 * tolerance)


def _straight_stops(points: Array, tolerance: float) -> list[int]:
    """Where long straight runs within a piece begin and end; indices strictly inside it."""
    total, reach = len(points), round(3.0 / _STEP)
    least = max(round(_STRAIGHT_LEAST / _STEP), total // 5)
    if total < least + reach:
        return []
    ahead = points[np.minimum(np.arange(total) + reach, total - 1)]
    back = points[np.maximum(np.arange(total) - reach, 0)]
    angle = np.unwrap(np.arctan2(*(ahead - back).T[::-1]))
    slack = np.radians(_STRAIGHT_DEG)
    stops: list[int] = []
    begin = 0
    while begin < total - least:
        stretch = angle[begin : begin + least]
        if np.ptp(stretch) > 2 * slack:
            begin += 1
            continue
        middle = float(np.median(stretch))
        out = np.flatnonzero(np.abs(angle[begin + least :] - middle) > slack)
        end = begin + least + int(out[0]) if len(out) else total - 1
        if _straight(points[begin : end + 1], 0.8 * tolerance):
            stops += [i for i in (begin, end) if reach < i < total - 1 - reach]
        begin = end
    return sorted(set(stops))


def _one(points: Array, first: Array | None, last: Array | None, tolerance: float) -> Segment | None:
    """One edge that holds all of ``points`` within ``tolerance``, or None."""
    chord = points[-1] - points[0]
    length = float(np.hypot(*chord))
    if _straight(points, tolerance):
        unit = chord / length
        if all(along is None or float(along @ unit) > 0.9994 for along in (first, last)):
            return Segment(_chord(points[0], points[-1]), True)
    if len(points) <= 3:
        return Segment(_chord(points[0], points[-1]), True) if length > 0 else None
    if len(points) > _MOST_POINTS:
        points = points[np.linspace(0, len(points) - 1, _MOST_POINTS).astype(int)]
    away = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))))
    t = away / away[-1]
    for turn in range(12):
        control = _least_squares(points, t, first, last, float(away[-1]))
        miss = _at(control, t) - points
        error = float(np.hypot(miss[:, 0], miss[:, 1]).max())
        if error <= tolerance:
            return Segment(control, False)
        # Each round takes off little after the first few: what is far off then stays outside.
        if error > tolerance * (12.0, 12.0, 6.0, 4.0, 3.0, 2.5, 2.0, 1.8, 1.6, 1.4, 1.2, 1.1)[turn]:
            return None
        t = _closer(control, points, t)
    return None


def _chord(start: Array, end: Array) -> Array:
    return np.array([start, start + (end - start) / 3, end - (end - start) / 3, end])


def _weights(t: Array) -> Array:
    s = 1.0 - t
    return np.stack((s**3, 3 * s * s * t, 3 * s * t * t, t**3), axis=1)


def _at(control: Array, t: Array) -> Array:
    return np.asarray(_weights(t) @ control)


def _least_squares(
    points: Array, t: Array, first: Array | None, last: Array | None, length: float
) -> Array:
    """Control points (4, 2): ends on the first and last point, handles along given directions or free."""
    w = _weights(t)
    start, end = points[0], points[-1]
    rest = points - (w[:, :2].sum(axis=1)[:, None] * start + w[:, 2:].sum(axis=1)[:, None] * end)
    columns = []
    for weight, along, sign in ((w[:, 1], first, 1.0), (w[:, 2], last, -1.0)):
        if along is None:
            columns += [np.outer(weight, (1.0, 0.0)).ravel(), np.outer(weight, (0.0, 1.0)).ravel()]
        else:
            columns.append(np.outer(weight, sign * along).ravel())
    basis = np.stack(columns, axis=1)
    lhs = basis.T @ basis
    lhs[np.diag_indices_from(lhs)] += 1e-9
    found = np.linalg.solve(lhs, basis.T @ rest.ravel())
    control = np.array([start, start, end, end])
    at = 0
    for row, along, sign in ((1, first, 1.0), (2, last, -1.0)):
        if along is None:
            control[row] = control[row] + found[at : at + 2]
            at += 2
        else:
            # A handle that points backwards makes a loop; Schneider's third of the way instead.
            reach = float(found[at])
            if not 0.02 * length < reach < 2.0 * length:
                reach = length / 3.0
            control[row] = control[row] + sign * reach * along
            at += 1
    return control


def _closer(control: Array, points: Array, t: Array) -> Array:
    """Each parameter one Newton step nearer to its point's foot on the curve."""
    d1 = 3 * np.diff(control, axis=0)
    d2 = 2 * np.diff(d1, axis=0)
    s = 1.0 - t
    velocity = np.stack((s * s, 2 * s * t, t * t), axis=1) @ d1
    bend = np.stack((s, t), axis=1) @ d2
    miss = _at(control, t) - points
    slope = (velocity * velocity).sum(axis=1) + (miss * bend).sum(axis=1)
    step = (miss * velocity).sum(axis=1) / np.where(np.abs(slope) > 1e-12, slope, np.inf)
    moved = np.clip(t - step, 0.0, 1.0)
    return np.asarray(np.maximum.accumulate(moved))


def _halved(segment: Segment) -> list[Segment]:
    """One closed edge as two, so that it has two nodes."""
    a, b, c, d = segment.control
    ab, bc, cd = (a + b) / 2, (b + c) / 2, (c + d) / 2
    left, right = (ab + bc) / 2, (bc + cd) / 2
    middle = (left + right) / 2
    return [
        Segment(np.array([a, ab, left, middle]), segment.straight),
        Segment(np.array([middle, right, cd, d]), segment.straight, segment.corner_after),
    ]


def _joint(before: Segment | None, after: Segment | None) -> Joint:
    at = after.control[0] if after is not None else before.control[3] if before is not None else np.zeros(2)
    return Joint(
        float(at[0]), float(at[1]),
        None if before is None or before.straight else _offset(before.control[2] - before.control[3]),
        None if after is None or after.straight else _offset(after.control[1] - after.control[0]),
        before is not None and after is not None and before.corner_after,
    )


def _offset(vector: Array) -> tuple[float, float]:
    return float(vector[0]), float(vector[1])
