"""The arm rule's drawing, once for screen and paper.

0 % at the CG, 100 % at the fin centre, the aim as a span, the CLA as a pointer, the yaw neutral point
as a diamond, and their words where they do not cover one another.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen, QPolygonF

from app.kit.inks import Inks, mixed
from app.kit.marks import cla_words, draw_cg, draw_fin_centre, draw_yaw_neutral
from core.design import Aim
from core.stability.readings import Readings
from core.stability.wording import aim_words

BAR = 14.0
"""Height of the bar in units."""
_TICK, _FINE, _GAP = 5.0, 3.0, 6.0
_LABELS_APART, _TICKS_APART, _HATCH = 33.0, 7.0, 3.7


class Script(Protocol):
    """Letters in the painter's unit: bold ones for what the pointer says, small ones for all else."""

    def wide(self, words: str, *, bold: bool = False) -> float:
        """Width of one line."""

    def high(self) -> float:
        """Height of the small capitals and digits."""

    def write(self, x: float, y: float, words: str, colour: str, *, bold: bool = False) -> None:
        """Write one line that begins at ``x`` with its baseline at ``y``."""


class Letters:
    """Letters in a font of the screen, kept from one painting to the next: fonts anew cost a third."""

    def __init__(self, font: QFont) -> None:
        self.font, self._bold, self._small = font, QFont(font), QFont(font)
        self._bold.setBold(True)
        self._small.setPointSizeF(max(7.0, font.pointSizeF() * 0.82))
        self._metrics = QFontMetricsF(self._bold), QFontMetricsF(self._small)

    def on(self, painter: QPainter) -> Letters:
        """These letters, to be written by ``painter``."""
        self.painter = painter
        return self

    def wide(self, words: str, *, bold: bool = False) -> float:
        """See ``Script``."""
        return self._metrics[0 if bold else 1].horizontalAdvance(words)

    def high(self) -> float:
        """See ``Script``."""
        return self._metrics[1].capHeight()

    def write(self, x: float, y: float, words: str, colour: str, *, bold: bool = False) -> None:
        """See ``Script``."""
        self.take(bold=bold)
        self.painter.setPen(QColor(colour))
        self.painter.drawText(QPointF(x, y), words)

    def take(self, *, bold: bool) -> None:
        """Give the painter the bold font or the small one."""
        self.painter.setFont(self._bold if bold else self._small)


@dataclass(frozen=True)
class ArmScale:
    """Where a rule lies: 0 % at ``x0`` and 100 % at ``x1``, its bar's middle at ``y``.

    ``unit`` is a logical pixel, or as many mm of paper as stand for one; words and ticks stay between
    ``left`` and ``right``. The bar is seen from ``ends[0]`` to ``ends[1]``, parts of the tail arm.
    """

    x0: float
    x1: float
    y: float
    left: float
    right: float
    unit: float = 1.0
    ends: tuple[float, float] = (0.0, 1.0)

    def x(self, part: float) -> float:
        """Where a part of the tail arm lies."""
        return self.x0 + part * (self.x1 - self.x0)

    @property
    def top(self) -> float:
        """The bar's upper edge."""
        return self.y - BAR / 2 * self.unit

    @property
    def foot(self) -> float:
        """The bar's lower edge."""
        return self.y + BAR / 2 * self.unit

    def box(self, low: float, high: float) -> QRectF:
        """The bar between two parts of the arm."""
        return QRectF(self.x(low), self.top, self.x(high) - self.x(low), BAR * self.unit)


def no_rule(readings: Readings) -> str:
    """What stands in the rule's place while there is none."""
    return f"No arm rule yet: {readings['cla_fraction'].missing or ''}."


def yaw_neutral_of(readings: Readings) -> float | None:
    """The yaw neutral point as a part of the tail arm."""
    station, cg, fin = readings.value("yaw_neutral_x"), readings.cg, readings.fin_centre
    if station is None or cg is None or fin is None or fin[0] == cg.x:
        return None
    return (station - cg.x) / (fin[0] - cg.x)


def draw_arm_scale(
    painter: QPainter, scale: ArmScale, aim: Aim, fraction: float | None, yaw: float | None, inks: Inks,
    script: Script,
) -> None:
    """Draw the rule whole; ``fraction`` and ``yaw`` are the CLA and the yaw neutral point on it."""
    draw_bar(painter, scale, aim, inks)
    yaw_x = None if yaw is None else scale.x(yaw)
    if yaw_x is not None and not scale.left - 20 * scale.unit <= yaw_x <= scale.right + 20 * scale.unit:
        yaw_x = None
    draw_ticks(painter, scale, inks, script, away_from=yaw_x)
    draw_cg(painter, (scale.x0, scale.y), inks, 8.0 * scale.unit)
    draw_fin_centre(painter, (scale.x1, scale.y), inks, 6.0 * scale.unit)
    if fraction is not None:
        draw_pointer(painter, scale, fraction, inks)
    _write_words(scale, aim, fraction, inks, script)
    if yaw_x is not None:
        _draw_yaw(painter, scale, yaw_x, inks, script)


def draw_bar(painter: QPainter, scale: ArmScale, aim: Aim, inks: Inks) -> None:
    """The bar and the aim's span on it: a wash with slanting lines, the aim and its limits across."""
    unit, bar = scale.unit, scale.box(*scale.ends)
    painter.fillRect(bar, QColor(inks.paper))
    span = scale.box(aim.low, aim.high)
    seen = span.intersected(QRectF(scale.left, span.top(), scale.right - scale.left, span.height()))
    if not seen.isEmpty():
        painter.fillRect(seen, mixed(inks.aim, inks.paper, 0.6))
        painter.setPen(QPen(QColor(inks.ink), 0.45 * unit))
        painter.drawLines(_falling(span, seen, _HATCH * unit))
    painter.setPen(QPen(QColor(inks.ink), 1.3 * unit))
    painter.drawRect(bar)
    for part, reach in ((aim.low, 3.0), (aim.high, 3.0), (aim.cla_fraction, 6.0)):
        draw_limit(painter, scale, part, reach, QPen(QColor(inks.ink), 1.6 * unit))


def draw_limit(painter: QPainter, scale: ArmScale, part: float, reach: float, pen: QPen) -> None:
    """A line across the bar that stands out by ``reach`` units above and below."""
    x = scale.x(part)
    painter.setPen(pen)
    painter.drawLine(
        QPointF(x, scale.top - reach * scale.unit), QPointF(x, scale.foot + reach * scale.unit)
    )


def _falling(span: QRectF, seen: QRectF, step: float) -> list[QLineF]:
    """Lines from upper left to lower right ``step`` apart, counted from the span's corner, in ``seen``."""
    high = seen.height()
    first = math.floor((seen.left() - high - span.left()) / step) + 1
    last = math.ceil((seen.right() - span.left()) / step)
    lines = []
    for k in range(first, last):
        start = span.left() + k * step
        low, end = max(start, seen.left()), min(start + high, seen.right())
        lines.append(QLineF(low, seen.top() + low - start, end, seen.top() + end - start))
    return lines


def tick_steps(long: float) -> tuple[int, int]:
    """(per cent between labels, between ticks) on a rule ``long`` units long."""
    labelled = next((step for step in (5, 10, 20, 25, 50) if long * step / 100 >= _LABELS_APART), 100)
    fine = next(
        (step for step in (1, 2, 5, 10) if long * step / 100 >= _TICKS_APART and labelled % step == 0),
        labelled,
    )
    return labelled, fine


def draw_ticks(
    painter: QPainter, scale: ArmScale, inks: Inks, script: Script, *, away_from: float | None = None
) -> None:
    """Ticks under the bar and their figures, those at the ends with their sign, or all on a part of it.

    No figure but the ends' stands where it would cover ``away_from``.
    """
    unit = scale.unit
    labelled, fine = tick_steps(abs(scale.x1 - scale.x0) / unit)
    first, last = (round(100 * end) for end in scale.ends)
    base = scale.foot + _GAP * unit + script.high()
    ticks, per = [], (scale.x1 - scale.x0) / 100
    for per_cent in range(-(-first // fine) * fine, last + 1, fine):
        x = scale.x0 + per_cent * per
        if not scale.left - 30 * unit <= x <= scale.right + 30 * unit:
            continue
        named = per_cent % labelled == 0
        ticks.append(QLineF(x, scale.foot, x, scale.foot + (_TICK if named else _FINE) * unit))
        if not named:
            continue
        end = per_cent in (0, 100) or scale.ends != (0.0, 1.0)
        words = f"{per_cent} %" if end else f"{per_cent}"
        wide = script.wide(words)
        if end or away_from is None or abs(x - away_from) > wide / 2 + 3 * unit:
            script.write(x - wide / 2, base, words, inks.ink_soft)
    painter.setPen(QPen(QColor(inks.ink), 1.0 * unit, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
    painter.drawLines(ticks)


def draw_pointer(
    painter: QPainter, scale: ArmScale, fraction: float, inks: Inks, *, left: bool = False
) -> None:
    """The CLA: a wedge on the bar and a line across it; dotted where it has ``left``."""
    x, unit = scale.x(fraction), scale.unit
    foot, head = scale.top - unit, scale.top - 14 * unit
    line = QPen(QColor(inks.cla), 1.6 * unit, Qt.PenStyle.DotLine if left else Qt.PenStyle.SolidLine)
    painter.setPen(line if left else QPen(QColor(inks.paper), 2.0 * unit))
    painter.setBrush(QColor(inks.paper if left else inks.cla))
    painter.drawPolygon(
        QPolygonF([QPointF(x, foot), QPointF(x - 7 * unit, head), QPointF(x + 7 * unit, head)])
    )
    painter.setBrush(Qt.BrushStyle.NoBrush)
    draw_limit(painter, scale, fraction, 0.0, line)


def _held(x: float, wide: float, scale: ArmScale) -> float:
    """The left end nearest to ``x`` of words that stay on the rule's band."""
    edge = 4 * scale.unit
    return min(max(x, scale.left + edge), scale.right - wide - edge)


def _write_words(scale: ArmScale, aim: Aim, fraction: float | None, inks: Inks, script: Script) -> None:
    """The CLA's words on that side of the pointer that is away from the aim, the aim's on the other."""
    unit, base = scale.unit, scale.top - 5 * scale.unit
    aim_said = f"aim {aim_words(aim)}"
    wide = script.wide(aim_said)
    right_of_aim = fraction is not None and fraction > (aim.low + aim.high) / 2
    x = scale.x(aim.low) - wide - 8 * unit if right_of_aim else scale.x(aim.high) + 10 * unit
    x = _held(x, wide, scale)
    if fraction is not None:
        said = cla_words(fraction)
        long, at = script.wide(said, bold=True), scale.x(fraction)
        left = _held(at + 11 * unit if right_of_aim else at - long - 11 * unit, long, scale)
        # With both out of sight at one edge of the rule, they stand side by side.
        if x < left + long + 12 * unit and left < x + wide + 12 * unit:
            before_middle = left < (scale.left + scale.right) / 2
            x = left + long + 12 * unit if before_middle else left - wide - 12 * unit
        script.write(left, base, said, inks.cla, bold=True)
    script.write(x, base, aim_said, inks.ink_soft)


def _draw_yaw(painter: QPainter, scale: ArmScale, x: float, inks: Inks, script: Script) -> None:
    """The yaw neutral point on the bar, named under the figures."""
    unit, words = scale.unit, "yaw neutral point"
    draw_yaw_neutral(painter, (x, scale.y), inks, 6.0 * unit)
    wide, labels = script.wide(words), scale.foot + _GAP * unit + script.high()
    base = labels + 4 * unit + script.high()
    covered = any(abs(x - end) < script.wide("100 %") / 2 + 3 * unit for end in (scale.x0, scale.x1))
    if not covered:
        painter.setPen(QPen(QColor(inks.ink_soft), unit))
        painter.drawLine(QPointF(x, scale.foot), QPointF(x, labels + 2 * unit))
    script.write(_held(x - wide / 2, wide, scale), base, words, inks.ink_soft)
