"""Whether a drawing is dark on light, as on paper, or light on dark, as on a blueprint."""

from __future__ import annotations

import numpy as np

from core.ink.darkness import Grey, blurred, noise

_BLOCK = 24
_TAIL = 0.005
"""The part of the pixels, the darkest and the lightest against their surroundings, that is taken for ink."""
_CLEAR = 1.5
"""So many times as far as the others one tail must stand out."""


def light_on_dark(grey: Grey) -> bool | None:
    """Whether lines are lighter than what is around them; None where neither stands out.

    Told by what is thin and not by how bright the whole is: a faded blueprint is as bright as poor paper.
    Each pixel is held against the median of its own block, so that shading and filled shapes say nothing.
    ``grey`` (H, W) with 24 pixels each way or more tells; fewer tell nothing.
    """
    rows, columns = (size // _BLOCK for size in grey.shape)
    if not rows or not columns:
        return None
    piece = grey[: rows * _BLOCK, : columns * _BLOCK]
    soft = blurred(piece.astype(np.float32)).reshape(rows, _BLOCK, columns, _BLOCK)
    blocks = soft.transpose(0, 2, 1, 3).reshape(rows * columns, -1)
    places = [round(part * (_BLOCK**2 - 1)) for part in (0.25, 0.5, 0.75)]
    low, middle, high = np.partition(blocks, places, axis=1)[:, places].T
    off = blocks - middle[:, None]
    # Where an edge of something wide runs through a block, its median says nothing of the paper.
    thin = high - low < 0.4 * float(np.abs(off).max())
    if not thin.any():
        return None
    dark, light = (abs(float(q)) for q in np.quantile(off[thin].ravel(), (_TAIL, 1.0 - _TAIL)))
    if max(dark, light) < max(3.0 * noise(piece), 6.0):
        return None
    if light > _CLEAR * dark:
        return True
    return False if dark > _CLEAR * light else None
