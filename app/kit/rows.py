"""How high a row of two lines is in a list."""

from __future__ import annotations

from PySide6.QtGui import QFontMetrics

_LEAST = 40


def two_lines(metrics: QFontMetrics) -> int:
    """The height of a row with two lines of that font, in px."""
    return max(_LEAST, 2 * metrics.height() + 6)
