"""A band along a path, straightened into a strip, and how much of a line runs along it at each place.

A strip has a row for each step along the path and a column for each offset across it. What counts as a
line is told by direction: darkness is averaged over a few millimetres along each of some slants, and only
then set against what lies on both sides. A line that crosses darkens the middle and the sides alike.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.ink.corners import smoothed, spaced
from core.ink.darkness import Array, Dark, Grey

_FINEST_MM = 0.1
"""Samples are taken so close together, or as close as the pixels are."""
_WINDOW_MM = 1.6
"""Half the length that darkness is averaged over along a slant."""
_INK_MM = 0.25
"""Half the width that is taken for a stroke; thicker ones fill it, thinner ones do not."""
_SIDE_MM = 0.75
"""How far beside the middle the paper is looked at."""
_BASE, _PAPER = 0.12, 1.0
"""What a millimetre costs along a strong line, and how much more over paper."""
_THICK = 1.35
"""Strength, as a part of the usual, from which thicker is no cheaper."""
_CLEAR = 12.0
"""Times the scatter of bare paper that a line of the usual strength stands out by, at least."""
_LEVEL_MM = 80.0
"""Along so much of the path the usual strength of a line is taken."""


@dataclass(frozen=True, eq=False)
class Strip:
    """``base`` (S, 2) px along the path and ``normals`` (S, 2) across it; ``tone`` (S, D) grey there.

    ``offsets`` (D,) mm along the normals, evenly spaced and symmetrical. ``step_mm`` between the rows.
    """

    base: Array
    normals: Array
    tone: Dark
    offsets: Array
    step_mm: float
    mm_per_px: float
    closed: bool

    def points(self, rows: Array, offset_mm: Array) -> Array:
        """Points (N, 2) px at (fractional) ``rows`` and these offsets in mm."""
        at = np.arange(len(self.base), dtype=np.float64)
        places = []
        for values in (self.base, self.normals):
            if self.closed:
                places.append([np.interp(rows, at, column, period=len(at)) for column in values.T])
            else:
                places.append([np.interp(rows, at, column) for column in values.T])
        base, normal = (np.stack(columns, axis=1) for columns in places)
        return np.asarray(base + normal * (offset_mm / self.mm_per_px)[:, None])


def straightened(
    grey: Grey, path: Array, reach_mm: float, *, closed: bool, mm_per_px: float, step_mm: float,
    across_mm: float, soft_mm: float,
) -> Strip:
    """The strip ``reach_mm`` to either side of ``path`` (N, 2) px, its cells ``step_mm`` × ``across_mm``.

    The path is smoothed over ``soft_mm`` first. Only the pixels of the band are looked at; what lies off
    the picture takes the grey of its nearest pixel.
    """
    fine = max(mm_per_px, _FINEST_MM)
    along, across = max(1, round(step_mm / fine)), max(1, round(across_mm / fine))
    base = spaced(path, step_mm / mm_per_px, closed=closed)
    if len(base) >= 4:
        base = smoothed(base, soft_mm / step_mm, closed=closed)
        base = spaced(base, step_mm / mm_per_px, closed=closed)
    normals = normals_of(smoothed(base, 1.5, closed=closed) if len(base) >= 4 else base, closed)
    half = round(reach_mm / across_mm)
    offsets = np.arange(-half, half + 1, dtype=np.float64) * across_mm
    beside = (offsets[:, None] + (np.arange(across) - (across - 1) / 2) * across_mm / across).ravel()
    ahead = _ahead(base, closed)
    height, width = grey.shape
    tone = np.zeros((len(base), len(offsets)), dtype=np.float32)
    reach = (beside / mm_per_px).astype(np.float32)
    over_u = normals[:, 0].astype(np.float32)[:, None] * reach
    over_v = normals[:, 1].astype(np.float32)[:, None] * reach
    for i in range(along):
        start = base + ahead * ((i + 0.5) / along - 0.5)
        u = np.clip(start[:, :1].astype(np.float32) + over_u, 0, width - 1).astype(np.intp)
        v = np.clip(start[:, 1:].astype(np.float32) + over_v, 0, height - 1).astype(np.intp)
        taken = grey[v, u].reshape(len(base), len(offsets), across)
        tone += taken.sum(axis=2, dtype=np.float32)
    tone /= np.float32(along * across)
    return Strip(base, normals, tone, offsets, step_mm, mm_per_px, closed)


def _ahead(base: Array, closed: bool) -> Array:
    if closed:
        return np.asarray((np.roll(base, -1, axis=0) - np.roll(base, 1, axis=0)) / 2)
    return np.gradient(base, axis=0)


def normals_of(line: Array, closed: bool) -> Array:
    """Unit normals (N, 2), a quarter turn from the direction of travel towards +v from +u."""
    along = _ahead(line, closed)
    along = along / np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-9)[:, None]
    return np.stack((-along[:, 1], along[:, 0]), axis=1)


def light_on_dark(tone: Dark) -> bool:
    """True if the strip's lines are lighter than its paper: its tones reach further up than down."""
    flat = tone[:: max(1, len(tone) // 4000)]
    rows = max(1, len(flat) // 40)
    skew = 0.0
    for block in np.array_split(flat, max(1, len(flat) // rows)):
        off = block - np.median(block)
        skew += float(np.sum(off.astype(np.float64) ** 3))
    return skew > 0.0


@dataclass(frozen=True, eq=False)
class Strength:
    """``of`` (N, D, K): how strong a line leaves row n, offset d, along slant k, as a part of the usual.

    ``slants`` (K,) whole cells across for one step of ``step_mm``. ``grain``: what paper scatters by.
    """

    of: Dark
    slants: NDArray[np.intp]
    step_mm: float
    grain: float


def strength(strip: Strip, every: int, most_slant: int) -> Strength:
    """What runs along the strip between each ``every``-th row and the next, ink being dark in ``tone``."""
    cell = float(strip.offsets[1] - strip.offsets[0])
    slants = np.arange(-most_slant, most_slant + 1)
    half = max(1, round(_WINDOW_MM / strip.step_mm))
    rows, width = strip.tone.shape
    count = rows // every if strip.closed else (rows - 1) // every
    pad_rows = half + every
    pad = math.ceil(most_slant * (half + every) / every) + math.ceil((_SIDE_MM + 2 * _INK_MM) / cell) + 1
    tone = np.pad(strip.tone, ((0, 0), (pad, pad)), mode="edge")
    tone = np.pad(tone, ((pad_rows, pad_rows + every), (0, 0)), mode="wrap" if strip.closed else "edge")
    out = np.empty((count, width, len(slants)), dtype=np.float32)
    middle, keep = every / 2, _margin(cell)
    taps = np.arange(-half, half + 1)
    for index, slant in enumerate(slants):
        total = np.zeros((count, width + 2 * keep), dtype=np.float32)
        for tap in taps:
            row = math.floor(middle) + int(tap)
            shift = round(slant * row / every)
            first = pad_rows + row
            left = pad - keep + shift
            total += tone[first : first + every * count : every, left : left + width + 2 * keep]
        out[:, :, index] = _contrast(total, cell, width) / np.float32(len(taps))
    grain = 1.4826 * float(np.median(np.abs(out[:: max(1, count // 400), :, most_slant])))
    out /= _usual(out, grain, strip.step_mm * every, strip.closed)[:, None, None]
    return Strength(out, slants, strip.step_mm * every, grain)


def along(strip: Strip, every: int) -> Dark:
    """The tone between each ``every``-th row and the next, averaged along the strip as lines are, (N, D)."""
    half = max(1, round(_WINDOW_MM / strip.step_mm))
    rows = np.arange(0, len(strip.tone), every) + every // 2
    tone = np.pad(strip.tone, ((half, half + every), (0, 0)), mode="wrap" if strip.closed else "edge")
    total = sum(tone[rows + tap] for tap in range(2 * half + 1))
    return np.asarray(total / np.float32(2 * half + 1), dtype=np.float32)


def _margin(cell: float) -> int:
    return math.ceil((_SIDE_MM + 2 * _INK_MM) / cell) + 1


def _contrast(tone: Dark, cell: float, width: int) -> Dark:
    """How much darker each cell (N, width) is than both its sides, nearly."""
    ink, far, margin = max(1, round(_INK_MM / cell)), round(_SIDE_MM / cell), _margin(cell)
    sums = np.cumsum(np.pad(tone, ((0, 0), (1, 0))), axis=1, dtype=np.float64)

    def mean(low: int, high: int) -> Dark:
        n = high - low + 1
        at = margin + low
        return np.asarray((sums[:, at + n : at + n + width] - sums[:, at : at + width]) / n, np.float32)

    # A stroke of 2 × ``ink`` cells: its outermost half cells count half.
    middle = 0.5 * (mean(-ink, ink) + mean(-ink + 1, ink - 1)) if ink > 1 else mean(-1, 1)
    left, right = mean(-far - ink, -far + ink - 1), mean(far - ink + 1, far + ink)
    lighter, darker = np.maximum(left, right), np.minimum(left, right)
    # A second line close by must not hide this one.
    return np.asarray(0.7 * lighter + 0.3 * darker - middle, dtype=np.float32)


def _usual(values: Dark, grain: float, step_mm: float, closed: bool) -> Dark:
    """The usual strength of the strongest line, row by row: shadow and fading change it slowly."""
    best = values.max(axis=2).max(axis=1)
    near = max(1, min(len(best) // 2, round(_LEVEL_MM / 2 / step_mm)))
    wide = np.pad(best, near, mode="wrap" if closed else "edge")
    leap = max(1, near // 3)
    at = np.arange(0, len(best), leap)
    local = np.array([np.quantile(wide[i : i + 2 * near + 1], 0.6) for i in at])
    level = np.interp(np.arange(len(best)), at, local)
    least = max(0.3 * float(np.quantile(best, 0.6)), _CLEAR * grain, 1.5)
    return np.asarray(np.maximum(level, least), dtype=np.float32)


def priced(lines: Strength) -> Dark:
    """What a millimetre costs by the strength of the line there, (N, D, K)."""
    lacking = 1.0 - np.clip(lines.of, 0.0, _THICK) / np.float32(_THICK)
    return np.asarray(_BASE + _PAPER * np.square(lacking), dtype=np.float32)
