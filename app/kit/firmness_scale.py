"""The drawing of firmness in yaw on a scale, once for screen and paper.

The band between the methods as a bar, the best estimate as a disc on an upright line, both witnesses of
the fin as stems from above with their names, the usual range as a lane, and nought, left of which it
swaps ends, with slanting lines.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from app.kit.arm_scale import Script
from app.kit.inks import Inks, mixed
from app.kit.round_steps import nice_step
from core.stability.firmness import SWAPS, Firmness
from core.stability.ranges import CN_BETA, span_words
from core.units import format_number

FIELD = 22.0
"""Height of the field in units."""
_FROM, _TO, _STEP, _AIR = -0.05, 0.20, 0.05, 0.01
_INSET, _HATCH, _GAP = 15.0, 4.5, 8.0


def ends_of(found: Firmness, air: float = _AIR) -> tuple[float, float]:
    """From where to where the scale reaches, in whole steps, so that it seldom changes under the hand.

    ``air`` is the least that stays free at both ends.
    """
    values = (found.low, found.best, found.high, *found.witnesses.values())
    low = math.floor((min(values) - air) / _STEP + 1e-9) * _STEP
    high = math.ceil((max(values) + air) / _STEP - 1e-9) * _STEP
    return min(_FROM, low), max(_TO, high)


def tall(script: Script, unit: float = 1.0) -> float:
    """Height of the whole drawing."""
    return 3.0 * script.high() + (FIELD + 22.0) * unit


@dataclass(frozen=True)
class FirmnessScale:
    """Where it lies: words and figures between ``left`` and ``right``, its upper edge at ``top``.

    ``unit`` is a logical pixel, or as many mm of paper as stand for one; ``high`` that of the letters.
    """

    left: float
    right: float
    top: float
    high: float
    ends: tuple[float, float]
    unit: float = 1.0

    def x(self, value: float) -> float:
        """Where a value of Cnβ lies."""
        low, high = self.ends
        start, end = self.left + _INSET * self.unit, self.right - _INSET * self.unit
        return start + (value - low) / (high - low) * (end - start)

    @property
    def field(self) -> QRectF:
        """What lies between the witnesses' names and the axis."""
        start, end = self.x(self.ends[0]), self.x(self.ends[1])
        return QRectF(start, self.top + self.high + 6.0 * self.unit, end - start, FIELD * self.unit)


def draw_firmness(
    painter: QPainter, scale: FirmnessScale, found: Firmness, inks: Inks, script: Script, *,
    before: Firmness | None = None, names: Mapping[str, str] | None = None, figures: bool = False,
) -> None:
    """Draw it whole; ``before`` is where the best estimate was, ``names`` what to write for a witness.

    With ``figures`` those of the band's ends stand beside it.
    """
    _draw_ground(painter, scale, inks)
    _draw_axis(painter, scale, inks, script)
    _write_meanings(scale, inks, script)
    unit, field = scale.unit, scale.field
    if before is not None and scale.ends[0] <= before.best <= scale.ends[1]:
        painter.setPen(QPen(QColor(inks.ink), 1.2 * unit, Qt.PenStyle.DotLine))
        _upright(painter, scale.x(before.best), field.top(), field.bottom())
    middle, half = field.center().y(), 4.5 * unit
    band = QRectF(scale.x(found.low), middle - half, scale.x(found.high) - scale.x(found.low), 2 * half)
    painter.setPen(QPen(QColor(inks.ink), 1.0 * unit))
    painter.setBrush(mixed(inks.ink, inks.paper, 0.28))
    painter.drawRect(band)
    if figures:
        base, gap = middle + 0.5 * scale.high, 3.0 * unit
        low, high = (format_number(value, 3) for value in (found.low, found.high))
        script.write(band.left() - gap - script.wide(low), base, low, inks.ink)
        script.write(band.right() + gap, base, high, inks.ink)
    _draw_witnesses(painter, scale, found, inks, script, names or {})
    x = scale.x(found.best)
    painter.setPen(QPen(QColor(inks.ink), 2.2 * unit, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
    _upright(painter, x, field.top(), field.bottom())
    painter.setPen(QPen(QColor(inks.paper), 1.4 * unit))
    painter.setBrush(QColor(inks.ink))
    painter.drawEllipse(QPointF(x, middle), 5.6 * unit, 5.6 * unit)
    painter.setBrush(Qt.BrushStyle.NoBrush)


def _upright(painter: QPainter, x: float, top: float, foot: float) -> None:
    painter.drawLine(QPointF(x, top), QPointF(x, foot))


def _draw_ground(painter: QPainter, scale: FirmnessScale, inks: Inks) -> None:
    """The lane of the usual range, slanting lines where it swaps ends, and nought."""
    unit, field = scale.unit, scale.field
    lane = QRectF(field)
    lane.setLeft(scale.x(CN_BETA[0]))
    lane.setRight(scale.x(CN_BETA[1]))
    painter.fillRect(lane, mixed(inks.aim, inks.paper, 0.55))
    painter.setPen(QPen(QColor(inks.ink_soft), 1.0 * unit))
    for x in (lane.left(), lane.right()):
        _upright(painter, x, field.top(), field.bottom())
    nought, high = scale.x(0.0), field.height()
    painter.setPen(QPen(QColor(inks.ink_soft), 0.8 * unit))
    lines, start = [], nought + high - _HATCH * unit
    while start > field.left():
        # Rising to the right, cut off at nought and at the field's left end.
        head, foot = min(start, nought), max(start - high, field.left())
        lines.append(QLineF(head, field.top() + start - head, foot, field.top() + start - foot))
        start -= _HATCH * unit
    painter.drawLines(lines)
    painter.setPen(QPen(QColor(inks.ink), 2.0 * unit, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
    _upright(painter, nought, field.top() - 2.0 * unit, field.bottom() + 5.0 * unit)


def _draw_axis(painter: QPainter, scale: FirmnessScale, inks: Inks, script: Script) -> None:
    unit, field = scale.unit, scale.field
    low, high = scale.ends
    painter.setPen(QPen(QColor(inks.ink), 1.0 * unit))
    painter.drawLine(field.bottomLeft(), field.bottomRight())
    apart = script.wide(format_number(-_STEP, 2)) + 5.0 * unit
    step = nice_step(max(_STEP, apart * (high - low) / field.width()))
    base = field.bottom() + 7.0 * unit + scale.high
    for k in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1):
        x = scale.x(k * step)
        _upright(painter, x, field.bottom(), field.bottom() + 4.0 * unit)
        words = "0" if k == 0 else format_number(k * step, 2)
        script.write(x - script.wide(words) / 2, base, words, inks.ink_soft)


def _write_meanings(scale: FirmnessScale, inks: Inks, script: Script) -> None:
    """What the left side of nought means, and what the lane is, under the figures."""
    gap, base = _GAP * scale.unit, scale.field.bottom() + 13.0 * scale.unit + 2 * scale.high
    usual = f"usual {span_words(CN_BETA)}"
    long, wide = script.wide(SWAPS), script.wide(usual)
    lane = (scale.x(CN_BETA[0]) + scale.x(CN_BETA[1])) / 2
    at = min(max(lane - wide / 2, scale.left), scale.right - wide)
    left = max(scale.x(0.0) - 3.0 * scale.unit - long, scale.left)
    if left + long + gap > at:
        left = max(at - gap - long, scale.left)
        at = max(at, left + long + gap)
    script.write(left, base, SWAPS, inks.ink)
    script.write(at, base, usual, inks.ink_soft)


def _draw_witnesses(
    painter: QPainter, scale: FirmnessScale, found: Firmness, inks: Inks, script: Script,
    names: Mapping[str, str],
) -> None:
    """A stem for each from above into the band, its name on the side that is away from the other's."""
    unit, field = scale.unit, scale.field
    base, foot = scale.top + scale.high + 1.0 * unit, field.center().y()
    painter.setPen(QPen(QColor(inks.ink), 1.4 * unit, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
    end = scale.left - _GAP * unit
    rest = [(names.get(key, key), scale.x(value)) for key, value in found.witnesses.items()]
    room = [script.wide(words) for words, _ in rest]
    for at, (words, x) in enumerate(rest):
        _upright(painter, x, base - scale.high, foot)
        left = x - room[at] - 3.0 * unit if at == 0 and len(rest) > 1 else x + 3.0 * unit
        after = sum(wide + _GAP * unit for wide in room[at + 1 :])
        left = max(min(left, scale.right - room[at] - after), end + _GAP * unit)
        end = left + room[at]
        script.write(left, base, words, inks.ink)
