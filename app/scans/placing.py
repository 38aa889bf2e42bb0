"""Where a scan lies before anyone has set its scale from points.

Both placements put the nose of the plan where it is in the picture (x to the right, z up), the left
edge of the picture at x = 0 and its bottom edge at z = 0.
"""

from __future__ import annotations

import math

from core.design import Matrix

MM_PER_INCH = 25.4
PROVISIONAL_MM_PER_PIXEL = 0.254
"""As if scanned at 100 dpi: an arbitrary start that gives a sheet-sized picture, and not a scale."""


def place_by_dpi(width: int, height: int, dpi: float | tuple[float, float]) -> Matrix:
    """The matrix from pixels to mm for a plan drawn full size and scanned at ``dpi``.

    ``width`` and ``height`` in pixels; ``dpi`` in dots per inch, one figure or (across, down).
    ValueError with one sentence where a size or a resolution is not a positive number.
    """
    across, down = dpi if isinstance(dpi, tuple) else (dpi, dpi)
    for figure in (across, down):
        if not (math.isfinite(figure) and figure > 0):
            raise ValueError(
                f"dpi: expected a number greater than zero, found {figure!r}; set the scale by two points"
            )
    return _upright(width, height, MM_PER_INCH / across, MM_PER_INCH / down)


def place_unscaled(width: int, height: int) -> Matrix:
    """The provisional matrix, 0.254 mm to the pixel: lengths mean nothing until the scale is set."""
    return _upright(width, height, PROVISIONAL_MM_PER_PIXEL, PROVISIONAL_MM_PER_PIXEL)


def _upright(width: int, height: int, mm_across: float, mm_down: float) -> Matrix:
    if width < 1 or height < 1:
        raise ValueError(
            f"picture size: expected at least 1 x 1 pixel, found {width} x {height}; open another scan"
        )
    return ((mm_across, 0.0, 0.0), (0.0, -mm_down, height * mm_down), (0.0, 0.0, 1.0))
