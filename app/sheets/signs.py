"""The signs on a sheet: CG, CLA, fin centre, the verdict's shape, the check bar."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainterPath

from app.sheets.ink import INK, WHITE, Ink, closed_path
from core.stability.readings import Verdict

CG_RADIUS = 2.3
CLA_RADIUS = 2.1


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


def cla_sign(ink: Ink, x: float, y: float, radius: float = CLA_RADIUS) -> None:
    """A plumb bob: the point from which a card copy would hang level."""
    bob = closed_path([
        (x - radius, y - radius * 0.55), (x + radius, y - radius * 0.55), (x, y + radius * 1.25),
    ])
    ink.fill(bob, WHITE)
    ink.pen(0.45)
    ink.stroke(bob)
    dot = QPainterPath()
    dot.addEllipse(QPointF(x, y), 0.5, 0.5)
    ink.fill(dot, INK)


def fin_sign(ink: Ink, x: float, y: float, radius: float = 1.7) -> None:
    """A square with a cross in it."""
    box = QRectF(x - radius, y - radius, 2 * radius, 2 * radius)
    ink.fill(box, WHITE)
    ink.pen(0.3)
    ink.stroke(box)
    ink.line(x - radius * 1.5, y, x + radius * 1.5, y)
    ink.line(x, y - radius * 1.5, x, y + radius * 1.5)


def verdict_sign(
    ink: Ink, x: float, y: float, verdict: Verdict, size: float, *, tight: bool = False
) -> float:
    """The range as two posts, and the figure ahead of, between or past them.

    ``x`` is the left end, ``y`` the middle, ``size`` the height, in mm; returns the width.
    ``tight`` leaves no room for the pointers that are not there.
    """
    half, gap = size / 2, size * 0.85
    left = x + (0.0 if tight and verdict != "below" else gap)
    right = left + gap * 1.1
    ink.pen(size * 0.13)
    for post, inward in ((left, 1), (right, -1)):
        ink.line(post, y - half, post, y + half)
        for end in (y - half, y + half):
            ink.line(post, end, post + inward * size * 0.2, end)
    if verdict == "within":
        dot = QPainterPath()
        dot.addEllipse(QPointF((left + right) / 2, y), size * 0.24, size * 0.24)
        ink.fill(dot, INK)
    else:
        away = -1.0 if verdict == "below" else 1.0
        foot = (left if away < 0 else right) + away * gap * 0.25
        tip = foot + away * gap * 0.65
        ink.fill(closed_path([(foot, y - half * 0.75), (foot, y + half * 0.75), (tip, y)]), INK)
    return right + (0.0 if tight and verdict != "above" else gap) - x


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
