"""The grey pixels along a line that runs over several sheets, as one picture. For a worker's thread."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from app.canvas.ink_fit import Asker, Ground, around, sharp_window
from app.scans.ink_window import InkWindow, scan_under
from core.ink.darkness import sampled
from core.redesign.refit import CancelledError

Floats = NDArray[np.float64]
Bytes = NDArray[np.uint8]

_BLOCK = 64
_MOST_PIXELS = 12_000_000
_AT_ONCE = 60


class Lines(Protocol):
    """Grey pixels with drawn lines, and the way from them to mm and back."""

    @property
    def grey(self) -> Bytes: ...  # noqa: D102
    @property
    def mm_per_px(self) -> float: ...  # noqa: D102
    def mm(self, pixels: ArrayLike) -> Floats: ...  # noqa: D102
    def px(self, mm: ArrayLike) -> Floats: ...  # noqa: D102


@dataclass(frozen=True, eq=False)
class _Laid:
    """Sheets laid over one another, upright: pixel (0, 0) lies at ``corner`` in mm, x low and z high."""

    grey: Bytes
    corner: Floats
    mm_per_px: float

    def mm(self, pixels: ArrayLike) -> Floats:
        at = np.asarray(pixels, np.float64).reshape(-1, 2)
        return np.asarray(self.corner + at * (self.mm_per_px, -self.mm_per_px), np.float64)

    def px(self, mm: ArrayLike) -> Floats:
        at = np.asarray(mm, np.float64).reshape(-1, 2)
        return np.asarray((at - self.corner) / (self.mm_per_px, -self.mm_per_px), np.float64)


def lines_along(ground: Ground, line: Floats, beside: float, asker: Asker) -> Lines | None:
    """The pixels within ``beside`` mm of ``line`` (N, 2) mm; None where no scan that is shown lies under it.

    Where no one scan lies under all of it, those under parts of it are laid over one another as the
    canvas shows them: the darkest counts. CancelledError where ``asker`` has gone.
    """
    points = [(float(x), float(z)) for x, z in line]
    here = ground.under(points)
    if here is not None:
        return sharp_window(*here, around(points, beside), None, asker, ground.patience_s)
    windows = []
    for scan in ground.scans:
        # Some points will do to find out whether it lies under any.
        some = [p for p in points[:: max(1, len(points) // 200)]
                if scan_under((scan,), ground.picture_of, (p,)) is not None]
        picture = ground.picture_of(scan) if some else None
        if picture is not None:
            window = sharp_window(scan, picture, around(points, beside), None, asker, ground.patience_s)
            windows += [window] if window is not None else []
    if len(windows) < 2:
        return windows[0] if windows else None
    return _laid(windows, line, beside, asker)


def _laid(windows: Sequence[InkWindow], line: Floats, beside: float, asker: Asker) -> _Laid:
    low, high = line.min(axis=0) - beside, line.max(axis=0) + beside
    step = max(max(w.mm_per_px for w in windows), math.sqrt(float(np.prod(high - low)) / _MOST_PIXELS))
    wide, high_px = (math.ceil(float(n) / step / _BLOCK) * _BLOCK for n in high - low)
    # What lies beside every sheet is no ink, nor its edge a line.
    paper = float(np.median([np.median(w.grey[::8, ::8]) for w in windows]))
    laid = _Laid(np.full((high_px, wide), round(paper), np.uint8), np.array((low[0], high[1])), step)
    blocks = _near(laid, line, beside)
    inner = np.stack(np.meshgrid(np.arange(_BLOCK), np.arange(_BLOCK)), axis=2).reshape(-1, 2) + 0.5
    for begin in range(0, len(blocks), _AT_ONCE):
        if asker.gone():
            raise CancelledError
        some = blocks[begin : begin + _AT_ONCE]
        at = laid.mm((some[:, None, :] * _BLOCK + inner).reshape(-1, 2))
        seen = np.full(len(at), 256.0)
        for window in windows:
            spots = window.px(at)
            size = np.array(window.grey.shape[::-1])
            there = ((spots >= 0) & (spots < size)).all(axis=1)
            seen[there] = np.minimum(seen[there], sampled(window.grey, spots[there]))
        tones = np.where(seen > 255.0, paper, seen).round().astype(np.uint8).reshape(-1, _BLOCK, _BLOCK)
        for (u, v), tone in zip(some.tolist(), tones, strict=True):
            laid.grey[v * _BLOCK : (v + 1) * _BLOCK, u * _BLOCK : (u + 1) * _BLOCK] = tone
    return laid


def _near(laid: _Laid, line: Floats, beside: float) -> NDArray[np.int64]:
    """Which blocks of the picture lie along the line: (K, 2), across and down."""
    rows, columns = laid.grey.shape[0] // _BLOCK, laid.grey.shape[1] // _BLOCK
    marked = np.zeros((rows, columns), bool)
    block = laid.mm_per_px * _BLOCK
    closed = np.vstack((line, line[:1]))
    steps = np.hypot(*np.diff(closed, axis=0).T)
    along = np.concatenate(([0.0], np.cumsum(steps)))
    at = np.linspace(0.0, along[-1], max(2, math.ceil(float(along[-1]) / block)) * 2)
    dense = np.stack([np.interp(at, along, closed[:, axis]) for axis in (0, 1)], axis=1)
    cells = np.floor(laid.px(dense) / _BLOCK).astype(np.int64)
    reach = math.ceil(beside / block)
    for u, v in np.unique(cells, axis=0).tolist():
        marked[max(0, v - reach) : v + reach + 1, max(0, u - reach) : u + reach + 1] = True
    found = np.argwhere(marked)
    return np.asarray(found[:, ::-1], np.int64)
