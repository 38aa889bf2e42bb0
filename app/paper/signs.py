"""The signs on a sheet that are none of the aeroplane's: the verdict's shape, the check bar."""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt

from app.kit.state_sign import draw_state
from app.paper.ink import INK, Ink
from core.stability.answer import AnswerState


def state_sign(ink: Ink, x: float, y: float, state: AnswerState, size: float) -> float:
    """The sign of a state or verdict, as in the window.

    ``x`` is the left end, ``y`` the middle, ``size`` the height, in mm; returns the width.
    """
    draw_state(ink.painter, QRectF(x, y - size / 2, size, size), state, INK)
    return size


def check_bar(ink: Ink, x: float, y: float, *, inches: bool) -> float:
    """The bar that shows a shrunken print, its top at ``y``: 100 mm, or 4 in. Returns its length in mm."""
    step, count = (12.7, 8) if inches else (10.0, 10)
    length, height = step * count, 2.0
    for i in range(count):
        if i % 2 == 0:
            ink.fill(QRectF(x + i * step, y, step, height), INK)
    ink.pen(0.1)
    # The line lies inside, so that the bar's outer edges are its length apart.
    ink.painter.setBrush(Qt.BrushStyle.NoBrush)
    ink.stroke(QRectF(x + 0.05, y + 0.05, length - 0.1, height - 0.1))
    every = 2 if inches else 5
    for i in range(0, count + 1, every):
        name = f"{i * step / 25.4:g}" if inches else f"{i * step:g}"
        last = i == count
        ink.text(x + i * step, y + height + 2.6, name + ((" in" if inches else " mm") if last else ""), 6.5,
                 align="left" if i == 0 else "right" if last else "centre")
    return length
