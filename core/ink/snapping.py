"""Snapping a single click to ink: to the middle of a stroke, or to the corner where strokes meet."""

from __future__ import annotations

import numpy as np

from core.ink.darkness import Array, Darkness, Grey, blurred, noise, stroke_at


def nearest_ink(grey: Grey, at: tuple[float, float], reach: float) -> tuple[float, float] | None:
    """The middle of the stroke nearest to ``at`` within ``reach`` pixels; None where there is no ink.

    A corner, a joint or a crossing is taken instead of the bare middle where it lies within ``reach`` too and
    no further from ``at`` than twice the middle's distance and half of ``reach``: the strokes around are cut
    by rings, the cuts that line up outwards are taken for arms, and the lines through them for the sides; two
    sides more than 20° apart meet in the corner. Places in pixels, sub-pixel.
    """
    size = int(reach * 2 + 40)
    left, top = max(0, int(at[0]) - size), max(0, int(at[1]) - size)
    piece = grey[top : int(at[1]) + size + 1, left : int(at[0]) + size + 1]
    if piece.size == 0 or min(piece.shape) < 3:
        return None
    darkness = Darkness(piece, lines=True)
    spot = np.array([at[0] - left, at[1] - top])
    middle = _middle(darkness, spot, reach)
    if middle is None:
        return None
    place, width, level = middle
    meeting = _meeting(darkness, place, width, level, reach)
    if meeting is not None:
        far = float(np.hypot(*(meeting - spot)))
        inked = float(darkness.at(meeting)) > 0.6 * level
        if inked and far <= reach and far <= max(2.0 * float(np.hypot(*(place - spot))), 0.5 * reach, width):
            place = meeting
    return float(place[0] + left), float(place[1] + top)


def _middle(darkness: Darkness, spot: Array, reach: float) -> tuple[Array, float, float] | None:
    """(place, width, level) of the stroke nearest to ``spot``; None where all is paper."""
    dark = darkness.darkness()
    soft = blurred(dark)
    height, width = dark.shape
    v, u = np.mgrid[0:height, 0:width]
    away = np.hypot(u + 0.5 - spot[0], v + 0.5 - spot[1])
    within = away <= reach + 0.5
    if not within.any():
        return None
    level = float(soft[within].max())
    if level < max(6.0 * noise(darkness.grey), 12.0):
        return None
    inked = within & (soft > 0.5 * level)
    row, column = np.unravel_index(int(np.argmin(np.where(inked, away, np.inf))), dark.shape)
    place = np.array([column + 0.5, row + 0.5])
    level, stroke = stroke_at(darkness, (float(place[0]), float(place[1])), 2.0)
    radius = stroke + 1.0
    start = place
    # It moves no further than that, or not at all.
    far = int(radius + 2.0 * stroke + 2.0) + 1
    top, left = max(0, int(row) - far), max(0, int(column) - far)
    part = slice(top, int(row) + far + 1), slice(left, int(column) + far + 1)
    over, u, v = np.clip(dark[part] - 0.3 * level, 0.0, None), u[part], v[part]
    for _ in range(8):
        near = np.hypot(u + 0.5 - place[0], v + 0.5 - place[1]) <= radius
        weight = np.where(near, over, 0.0)
        total = float(weight.sum())
        if total <= 0:
            break
        new = np.array([float((weight * (u + 0.5)).sum()), float((weight * (v + 0.5)).sum())]) / total
        moved = float(np.hypot(*(new - place)))
        place = new
        if moved < 0.02:
            break
    if np.hypot(*(place - start)) > 2.0 * stroke + 2.0:
        place = start
    return place, stroke, level


def _meeting(darkness: Darkness, place: Array, width: float, level: float, reach: float) -> Array | None:
    """Where the strokes around ``place`` meet; None where there is but one, going straight on."""
    inner = 0.5 * reach + 1.2 * width + 1.0
    radii = inner + np.linspace(0.0, max(5.0, 2.5 * width), 6)
    arms: list[list[Array]] = []
    for radius in radii:
        cuts = _ring_cuts(darkness, place, float(radius), width, level)
        for cut in cuts:
            fitting = [arm for arm in arms if np.hypot(*(arm[-1] - cut)) < 0.5 * width + 2.5]
            if fitting:
                fitting[0].append(cut)
            elif radius == radii[0]:
                arms.append([cut])
    sides: list[tuple[Array, Array]] = []
    for arm in arms:
        if len(arm) < 5:
            continue
        points = np.array(arm)
        middle = points.mean(axis=0)
        direction = np.linalg.svd(points - middle)[2][0]
        for other, along in sides:
            gap = middle - other
            if abs(float(along @ direction)) > np.cos(np.radians(20.0)) and abs(
                float(along[0] * gap[1] - along[1] * gap[0])
            ) < 0.5 * width + 0.12 * float(np.hypot(*gap)):
                break
        else:
            sides.append((middle, direction))
    if not 2 <= len(sides) <= 3:
        return None
    # Least squares: the point nearest to all the lines.
    lhs = sum(np.eye(2) - np.outer(along, along) for _, along in sides)
    rhs = sum((np.eye(2) - np.outer(along, along)) @ middle for middle, along in sides)
    meet = np.linalg.solve(np.asarray(lhs), np.asarray(rhs))
    off = max(abs(float(d[0] * (meet - m)[1] - d[1] * (meet - m)[0])) for m, d in sides)
    if off > 0.5 * width + 0.5 or float(np.hypot(*(meet - place))) > inner:
        return None
    return np.asarray(meet, dtype=np.float64)


def _ring_cuts(darkness: Darkness, place: Array, radius: float, width: float, level: float) -> list[Array]:
    """The middles of the inked arcs of a ring, those as wide as a stroke; (2,) each."""
    number = int(2 * np.pi * radius / 0.5)
    angle = np.linspace(0.0, 2 * np.pi, number, endpoint=False)
    ring = place + radius * np.stack((np.cos(angle), np.sin(angle)), axis=1)
    inked = darkness.at(ring) > 0.45 * level
    if inked.all() or not inked.any():
        return []
    shift = int(np.flatnonzero(~inked)[0])
    inked, ring = np.roll(inked, -shift), np.roll(ring, -shift, axis=0)
    edges = np.flatnonzero(np.diff(inked.astype(np.int8)))
    cuts = []
    for begin, end in zip(edges[::2] + 1, np.append(edges[1::2], number - 1), strict=False):
        if 0.4 * width <= (end - begin + 1) * 0.5 <= 2.2 * width + 1.0:
            cuts.append(ring[begin : end + 1].mean(axis=0))
    return cuts
