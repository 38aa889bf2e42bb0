"""Marks that only the canvas has: weights, nodes, handles, catches; and labels that stay readable."""

from __future__ import annotations

import math
from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPainterPath, QPen, QPolygonF

from app.kit.theme import Theme

Place = tuple[float, float]

_NEAR = 4
"""So many of the places for a label touch the mark that it names."""
_RIM_PX = 8.0


def draw_weight(
    painter: QPainter, at: Place, size: float, theme: Theme, *, selected: bool, faint: bool = False
) -> None:
    """Something that weighs: a weight of scales, a dot on the point; ``size`` is half its height."""
    x, y = at
    colour = QColor(theme.pick if selected else theme.ink_soft)
    rim = QColor(theme.paper)
    if faint:
        colour.setAlpha(240)
        rim.setAlpha(240)
    body = QPainterPath(QPointF(x - 0.62 * size, y - 0.45 * size))
    body.lineTo(x + 0.62 * size, y - 0.45 * size)
    body.lineTo(x + 0.92 * size, y + size)
    body.lineTo(x - 0.92 * size, y + size)
    body.closeSubpath()
    knob = QRectF(x - 0.3 * size, y - size, 0.6 * size, 0.6 * size)
    shape = QPainterPath()
    shape.addEllipse(knob)
    shape = shape.united(body)
    painter.strokePath(shape, QPen(rim, 2.6))
    painter.fillPath(shape, colour)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(rim)
    painter.drawEllipse(QPointF(x, y), 1.5, 1.5)
    painter.setBrush(Qt.BrushStyle.NoBrush)


def draw_small_labels(
    painter: QPainter, labels: Sequence[tuple[str, Place, float, str, bool]], taken: Sequence[QRectF],
    theme: Theme, inside: QRectF, *, last_moves: bool,
) -> list[QRectF]:
    """(text, the mark's place, its half height, colour, whether it must be) each, in small letters.

    What ``taken`` or another mark or label covers is kept free; a label that finds no room is left
    out unless it must be. With ``last_moves`` the last makes room for the others, but they none for
    it: dragged past them, it pushes none about. Returns what the labels cover, in pixels.
    """
    usual = painter.font()
    font = QFont(usual)
    font.setPointSizeF(max(7.5, 0.88 * font.pointSizeF()))
    painter.setFont(font)
    metrics = QFontMetricsF(font)
    still = labels[:-1] if last_moves else labels
    held = [QRectF(x - s, y - s, 2 * s, 2 * s) for _, (x, y), s, _, _ in still]
    written = list(taken)
    for number, (full, (x, y), size, colour, must) in enumerate(labels):
        text = metrics.elidedText(full, Qt.TextElideMode.ElideRight, 120.0)
        wide, high = metrics.horizontalAdvance(text), metrics.height()
        right, left = x + size + 5, x - size - 5 - wide
        choices = [
            QRectF(right, y - high / 2, wide, high), QRectF(left, y - high / 2, wide, high),
            QRectF(x - wide / 2, y - size - high - 3, wide, high),
            QRectF(x - wide / 2, y + size + 3, wide, high),
            QRectF(right, y - size - high, wide, high), QRectF(left, y - size - high, wide, high),
            QRectF(right, y + size, wide, high), QRectF(left, y + size, wide, high),
        ]
        full_up = (*written, *(box for i, box in enumerate(held) if i != number))
        free = [
            c for c in choices
            if inside.contains(c) and not any(c.adjusted(-3, 0, 3, 0).intersects(t) for t in full_up)
        ]
        if not free and not must:
            continue
        box = free[0] if free else choices[0]
        written.append(box)
        slip = QColor(theme.paper)
        slip.setAlpha(205)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(slip)
        painter.drawRoundedRect(box.adjusted(-2, 0, 2, 0), 2, 2)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QColor(colour))
        painter.drawText(QPointF(box.left(), box.top() + metrics.ascent()), text)
    painter.setFont(usual)
    return written[len(taken):]


def draw_labels(
    painter: QPainter, labels: Sequence[tuple[str, Place, str]], theme: Theme, width: float, height: float
) -> list[QRectF]:
    """(text, the mark's place, colour) each, set beside its mark where it covers none of the others.

    One that found no room at its mark is led to it by a line. Returns what marks and labels cover, in
    pixels.
    """
    font = QFont(painter.font())
    font.setBold(True)
    painter.setFont(font)
    metrics = QFontMetricsF(font)
    taken = [QRectF(x - 11, y - 11, 22, 22) for _, (x, y), _ in labels]
    for text, (x, y), colour in labels:
        wide, high = metrics.horizontalAdvance(text), metrics.height()
        choices = [
            QRectF(x + 14, y - high - 4, wide, high), QRectF(x - wide - 14, y - high - 4, wide, high),
            QRectF(x + 14, y + 6, wide, high), QRectF(x - wide - 14, y + 6, wide, high),
            QRectF(x - wide / 2, y + 20, wide, high), QRectF(x - wide / 2, y - 42, wide, high),
            QRectF(x + 14, y - 2 * high - 8, wide, high), QRectF(x - wide - 14, y - 2 * high - 8, wide, high),
            QRectF(x + 14, y + high + 10, wide, high), QRectF(x - wide - 14, y + high + 10, wide, high),
        ]
        inside = QRectF(2, 2, width - 4, height - 4)
        # The first that is free, or else the one that hides least, all of it seen where possible.
        box = min(choices, key=lambda c: (not inside.contains(c), _covered(c, taken)))
        taken.append(box)
        if box not in choices[:_NEAR]:
            _lead(painter, (x, y), box, colour, theme)
        # A slip of paper under the words, so that they read over any scan and any line.
        slip = QColor(theme.paper)
        slip.setAlpha(215)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(slip)
        painter.drawRoundedRect(box.adjusted(-4, 0, 4, 0), 3, 3)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QColor(colour))
        painter.drawText(QPointF(box.left(), box.top() + metrics.ascent()), text)
    font.setBold(False)
    painter.setFont(font)
    return taken


def _lead(painter: QPainter, mark: Place, box: QRectF, colour: str, theme: Theme) -> None:
    """A thin line from a label that stands away from its mark, from the box to the mark's rim."""
    x, y = mark
    end = QPointF(min(max(x, box.left()), box.right()), box.bottom() if box.center().y() < y else box.top())
    long = math.hypot(end.x() - x, end.y() - y)
    if long <= _RIM_PX:
        return
    start = QPointF(x + (end.x() - x) * _RIM_PX / long, y + (end.y() - y) * _RIM_PX / long)
    for pen in (QPen(QColor(theme.paper), 3.0), QPen(QColor(colour), 1.2)):
        painter.setPen(pen)
        painter.drawLine(start, end)


def _covered(box: QRectF, taken: Sequence[QRectF]) -> float:
    """How much of ``box`` is covered by others, in square pixels."""
    common = [box.intersected(other) for other in taken]
    return sum(part.width() * part.height() for part in common)


def draw_node(painter: QPainter, at: Place, theme: Theme, *, smooth: bool, selected: bool) -> None:
    """A node: a square corner or a round curve, filled when selected."""
    x, y = at
    size = 3.6
    painter.setPen(QPen(QColor(theme.pick), 1.3))
    painter.setBrush(QColor(theme.pick if selected else theme.paper))
    if smooth:
        painter.drawEllipse(QPointF(x, y), size + 0.4, size + 0.4)
    else:
        painter.drawRect(QRectF(x - size, y - size, 2 * size, 2 * size))
    painter.setBrush(Qt.BrushStyle.NoBrush)


def draw_handle(painter: QPainter, node: Place, at: Place, theme: Theme) -> None:
    """A handle at the end of its arm."""
    painter.setPen(QPen(QColor(theme.pick), 1.0))
    painter.drawLine(QPointF(*node), QPointF(*at))
    painter.setBrush(QColor(theme.paper))
    painter.drawEllipse(QPointF(*at), 3.2, 3.2)
    painter.setBrush(Qt.BrushStyle.NoBrush)


def draw_grip(painter: QPainter, at: Place, theme: Theme) -> None:
    """The grip that scales from the root: two arrows apart on a disc."""
    x, y = at
    painter.setPen(QPen(QColor(theme.pick), 1.3))
    painter.setBrush(QColor(theme.paper))
    painter.drawEllipse(QPointF(x, y), 8.0, 8.0)
    painter.setBrush(QColor(theme.pick))
    painter.drawLine(QPointF(x - 3.5, y + 3.5), QPointF(x + 3.5, y - 3.5))
    for s in (1.0, -1.0):
        tip, left, right = (5, 5), (1.2, 4), (4, 1.2)
        painter.drawPolygon(QPolygonF([QPointF(x + s * a, y - s * b) for a, b in (tip, left, right)]))
    painter.setBrush(Qt.BrushStyle.NoBrush)


def draw_snap(painter: QPainter, at: Place, theme: Theme, *, on_node: bool) -> None:
    """Where a point will catch: a diamond on a node, a cross-bar on an edge."""
    x, y = at
    painter.setPen(QPen(QColor(theme.draft), 1.8))
    if on_node:
        painter.drawPolygon(
            QPolygonF([QPointF(x, y - 8), QPointF(x + 8, y), QPointF(x, y + 8), QPointF(x - 8, y)])
        )
    else:
        painter.drawLine(QPointF(x - 6, y - 6), QPointF(x + 6, y + 6))
        painter.drawLine(QPointF(x - 6, y + 6), QPointF(x + 6, y - 6))


def draw_crossing(painter: QPainter, at: Place, theme: Theme) -> None:
    """Where an outline runs across itself."""
    x, y = at
    painter.setPen(QPen(QColor(theme.fault), 2.0))
    painter.drawEllipse(QPointF(x, y), 9, 9)
    painter.drawLine(QPointF(x, y - 5), QPointF(x, y + 2))
    painter.drawPoint(QPointF(x, y + 5))
