"""Round figures for axes and rulers."""

from __future__ import annotations

import math
from collections.abc import Sequence


def round_top(least: float) -> float:
    """The smallest of 1, 1.5, 2, 3, 4, 5, 6, 8 × 10ⁿ that is not under ``least``: the top of an axis."""
    return _round_up(least, (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0))


def nice_step(least: float) -> float:
    """The smallest of 1, 2, 5 × 10ⁿ that is not under ``least``."""
    return _round_up(least, (1.0, 2.0, 5.0))


def _round_up(least: float, factors: Sequence[float]) -> float:
    if not least > 0 or not math.isfinite(least):
        return 1.0
    power = 10.0 ** math.floor(math.log10(least))
    return next((f * power for f in factors if f * power >= least * 0.999999), 10.0 * power)
