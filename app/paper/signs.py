"""The signs on a sheet: CG, CLA, fin centre, the verdict's shape, the check bar."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainterPath

from app.kit.state_sign import draw_state
from app.paper.ink import INK, WHITE, Ink
from core.stability.answer import AnswerState

CG_RADIUS = 2.3
CLA_SIZE = 2.3


def cg_sign(ink: Ink, x: float, y: float, radius: float = CG_RADIUS) -> None:
    """The quartered circle that plans carry at the CG."""
    box = QRectF(x - radius, y - radius, 2 * radius, 2 * radius)
    disc = QPainterPath()
    disc.addEllipse(box)
    ink.fill(disc, WHITE)
    for start in (0, 180):
        quarter = QPainterPath(QPointF(x, y))
        quarter.arcTo(box, start, 90)
        quarter.closeSubpath()
        ink.fill(quarter, INK)
    ink.pen(0.3)
    ink.stroke(disc)


def cla_sign(ink: Ink, x: float, y: float, size: float = CLA_SIZE) -> None:
    """A plumb bob on its string, as it hangs from a card copy; its tip is the point."""
    middle = y - size
    wide, shoulder = 0.62 * size, middle - 0.2 * size
    bob = QPainterPath(QPointF(x, y))
    bob.lineTo(x - wide, shoulder)
    bob.cubicTo(x - wide, middle - size, x + wide, middle - size, x + wide, shoulder)
    bob.closeSubpath()
    for width, colour in ((0.95, WHITE), (0.35, INK)):
        ink.pen(width, colour)
        ink.line(x, middle - 0.8 * size, x, middle - 2.1 * size)
    ink.pen(0.7, WHITE)
    ink.stroke(bob)
    ink.fill(bob, INK)


def cla_box(x: float, y: float, size: float = CLA_SIZE) -> QRectF:
    """The room that ``cla_sign`` takes."""
    return QRectF(x - 0.62 * size - 0.5, y - 3.1 * size, 1.24 * size + 1.0, 3.1 * size + 0.6)


def fin_sign(ink: Ink, x: float, y: float, radius: float = 1.6) -> None:
    """A ring with a cross through it."""
    ring = QPainterPath()
    ring.addEllipse(QPointF(x, y), radius, radius)
    for width, colour in ((0.95, WHITE), (0.4, INK)):
        ink.pen(width, colour)
        ink.stroke(ring)
        ink.line(x - radius * 1.6, y, x + radius * 1.6, y)
        ink.line(x, y - radius * 1.6, x, y + radius * 1.6)


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
