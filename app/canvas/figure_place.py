"""Where the figure beside the cursor goes: near it, inside the canvas, over no mark and no name."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF

Place = tuple[float, float]
_EDGE = 4.0
"""Pixels kept free at the canvas's edges, and about what is covered already."""


def figure_box(
    at: Place, wide: float, high: float, canvas: QRectF, taken: Sequence[QRectF]
) -> QRectF:
    """The box, ``wide`` × ``high`` pixels, for a cursor ``at`` a pixel.

    Above it at the right where that is free, else the nearest place round about; the one that hides
    least where none is.
    """
    x, y = at
    right, left = x + 18, x - 18 - wide
    beside = [
        (side, y + down)
        for down in (-high - 12, 20, -2 * high - 20, 28 + high, -3 * high - 28, 36 + 2 * high)
        for side in (right, left, x - wide / 2)
    ]
    inside = canvas.adjusted(_EDGE, _EDGE, -_EDGE, -_EDGE)
    boxes = [_within(QRectF(*place, wide, high), inside) for place in beside]
    clear = [box for box in boxes if not box.adjusted(-6, -6, 6, 6).contains(x, y)] or boxes
    return min(clear, key=lambda box: _hidden(box, taken))


def _within(box: QRectF, inside: QRectF) -> QRectF:
    box = QRectF(box)
    box.moveLeft(max(min(box.left(), inside.right() - box.width()), inside.left()))
    box.moveTop(max(min(box.top(), inside.bottom() - box.height()), inside.top()))
    return box


def _hidden(box: QRectF, taken: Sequence[QRectF]) -> float:
    grown = box.adjusted(-_EDGE, -1, _EDGE, 1)
    parts = [grown.intersected(other) for other in taken]
    return sum(part.width() * part.height() for part in parts)
