"""Painting one gauge: its card, graduation and words. In mm, the gauge's own x right and y down."""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import QPointF
from PySide6.QtGui import QPainterPath, QPolygonF

from app.kit.paths import shape_path
from app.paper.ink import SOFT, Ink
from core.bench.gauge_shapes import Gauge, Point, Scale, Tick, arc_points, on_arc
from core.geometry.ring import Array

CUT, FINE, SET = 0.3, 0.13, 0.6
"""mm: what is cut along its middle, graduations, and the marks of the design's own setting."""
_LONG = (2.6, 3.6, 4.6)
_FIGURES = 6.5


def draw_gauge(ink: Ink, gauge: Gauge) -> None:
    """Paint ``gauge`` about the painter's origin."""
    painter = ink.painter
    ink.pen(0.18, SOFT, (14.0, 10.0))
    for start, end in gauge.lines:
        ink.line(start[0], -start[1], end[0], -end[1])
    if gauge.path:
        ink.stroke(_open(arc_points(gauge.centre, gauge.path, -gauge.reach, gauge.reach)))
    for scale in gauge.scales:
        _draw_scale(ink, scale)
    ink.pen(SET)
    for scale in gauge.scales:
        for degrees in gauge.set_at:
            _radial(ink, scale.centre, degrees, scale.radius, scale.radius + _LONG[2] + 0.4)
    if gauge.kind == "incidence":
        _draw_pivot(ink, gauge)
    ink.pen(CUT)
    painter.save()
    painter.scale(1.0, -1.0)
    ink.stroke(shape_path(gauge.card))
    painter.restore()
    for words in gauge.words:
        ink.text(words.x, -words.y, words.text, words.size, bold=words.bold, align="centre", room=words.room)


def _open(points: Array) -> QPainterPath:
    path = QPainterPath()
    path.addPolygon(QPolygonF([QPointF(x, -y) for x, y in points.tolist()]))
    return path


def _radial(ink: Ink, centre: Point, degrees: float, start: float, end: float) -> None:
    (x0, y0), (x1, y1) = (on_arc(centre, radius, np.array((degrees,)))[0].tolist() for radius in (start, end))
    ink.line(x0, -y0, x1, -y1)


def _draw_scale(ink: Ink, scale: Scale) -> None:
    ink.pen(FINE)
    ink.stroke(_open(arc_points(scale.centre, scale.radius, scale.low, scale.high)))
    for tick in scale.ticks:
        ink.pen(FINE if tick.rank < 2 else 0.2)
        _radial(ink, scale.centre, tick.degrees, scale.radius, scale.radius + _LONG[tick.rank])
    for tick in scale.ticks:
        if tick.words:
            _figure(ink, scale, tick)


def _figure(ink: Ink, scale: Scale, tick: Tick) -> None:
    """The figure of a mark, along the arc; that at nought has the unit with it."""
    x, y = on_arc(scale.centre, scale.radius + _LONG[2] + 3.1, np.array((tick.degrees,)))[0].tolist()
    words = tick.words
    if tick.value == 0.0:
        words += scale.unit if scale.unit == "°" else f" {scale.unit}"
    painter = ink.painter
    painter.save()
    painter.translate(x, -y)
    painter.rotate(-tick.degrees)
    ink.text(0.0, 0.0, words, _FIGURES, align="centre")
    painter.restore()


def _draw_pivot(ink: Ink, gauge: Gauge) -> None:
    x, y = gauge.centre
    ink.pen(FINE)
    ink.painter.drawEllipse(QPointF(x, -y), 0.6, 0.6)
    for turn in (0.0, 90.0):
        dx, dy = 2.5 * math.cos(math.radians(turn)), 2.5 * math.sin(math.radians(turn))
        ink.line(x - dx, -y - dy, x + dx, -y + dy)
    ink.text(x + 4.0, -y + 0.8, "hole for the thread", 6.0, colour=SOFT)


