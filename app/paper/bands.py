"""The two bands under the profile, on the same x axis: the arm rule, and side area per mm."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor

from app.kit.arm_scale import BAR, ArmScale, draw_arm_scale, no_rule, yaw_neutral_of
from app.kit.band_words import ONCE, TWICE, greatest_words
from app.paper.frame import Frame, station_step, station_words
from app.paper.ink import ON_PAPER, SOFT, WASH, WHITE, Ink, closed_path
from app.paper.profile import HATCH
from core.design import Design
from core.stability.readings import Readings
from core.units import MM_PER_IN

RULE_TALL = 12.8
AREA_LEAST = 9.5
STATIONS_TALL = 4.0
_UNIT = 0.22
_BOLD, _SMALL = 8.0, 6.5
_CAPITAL = 0.73 * 25.4 / 72
"""Height of a capital in mm per point, of the faces that sheets are set in."""


def rule_top(top: float) -> float:
    """Paper y of the rule's upper edge in a band that begins at ``top``."""
    return _rule_line(top) - BAR / 2 * _UNIT


def _rule_line(top: float) -> float:
    return top + 5.1


class Letters:
    """Letters of a scale, on white: lines may run down behind them."""

    def __init__(self, ink: Ink) -> None:
        self._ink = ink

    def wide(self, words: str, *, bold: bool = False) -> float:
        """See ``Script``."""
        return self._ink.width(words, _BOLD if bold else _SMALL, bold=bold)

    def high(self) -> float:
        """See ``Script``."""
        return _SMALL * _CAPITAL

    def write(self, x: float, y: float, words: str, colour: str, *, bold: bool = False) -> None:
        """See ``Script``."""
        high = (_BOLD if bold else _SMALL) * _CAPITAL
        self._ink.fill(QRectF(x - 0.5, y - high - 0.3, self.wide(words, bold=bold) + 1.0, high + 0.7), WHITE)
        self._ink.text(x, y, words, _BOLD if bold else _SMALL, bold=bold, colour=QColor(colour))


def draw_arm_rule(ink: Ink, design: Design, readings: Readings, frame: Frame, top: float) -> None:
    """The arm rule under the profile, on its x axis."""
    area, y = frame.area, _rule_line(top)
    fraction = readings["cla_fraction"].value
    cg, fin = readings.cg, readings.fin_centre
    if fraction is None or cg is None or fin is None:
        ink.pen(0.2, SOFT, (6, 5))
        ink.line(area.left() + 45, y, area.right() - 1.5, y)
        words = no_rule(readings)
        wide = ink.width(words, 8.0)
        middle = (area.left() + 45 + area.right()) / 2
        ink.fill(QRectF(middle - wide / 2 - 2, y - 2, wide + 4, 4), WHITE)
        ink.text(middle, y + 1.0, words, 8.0, align="centre")
    else:
        scale = ArmScale(frame.x(cg.x), frame.x(fin[0]), y, area.left(), area.right(), _UNIT)
        yaw = yaw_neutral_of(readings)
        ink.painter.save()
        ink.painter.setClipRect(QRectF(area.left(), top - 1, area.width(), RULE_TALL + 1))
        draw_arm_scale(ink.painter, scale, design.aim, fraction, yaw, ON_PAPER, Letters(ink))
        ink.painter.restore()
    ink.caption(area.left() + 1.5, top + 3.2, "ARM RULE")
    ink.text(area.left() + 1.5, top + 6.2, "per cent of the tail arm", 6.5, colour=SOFT)


def draw_area_band(
    ink: Ink, design: Design, readings: Readings, frame: Frame, top: float, height: float
) -> None:
    """Side area per mm of length, counted once below, counted more than once upon it."""
    left, right = frame.area.left(), frame.area.right()
    count = 600
    stations = np.linspace(frame.station(left), frame.station(right), count)
    single, doubled = readings.side.depths(stations)
    whole = single + doubled
    peak = float(whole.max(initial=0.0))
    ink.caption(left + 1.5, top + 3.2, "SIDE AREA ALONG THE LENGTH")
    at = 1.5 + ink.width("SIDE AREA ALONG THE LENGTH", 6.5, bold=True) + 3
    if peak > 0.0 and readings.scale_known:
        place = float(stations[int(whole.argmax())])
        where = f"{place:.0f} mm" if design.display_units == "mm" else f"{place / MM_PER_IN:.1f} in"
        words = f"{greatest_words(peak, design.display_units)}, at station {where}"
        ink.text(left + at, top + 3.2, words, 6.5, colour=SOFT)
    _legend(ink, right - 1.5, top + 1.1)
    if peak <= 0.0:
        return
    foot, room = top + height, height - 5.0
    x = np.linspace(left, right, count)
    low = foot - single / peak * room
    high = foot - whole / peak * room
    once = closed_path([(left, foot), *zip(x.tolist(), low.tolist(), strict=True), (right, foot)])
    twice = closed_path([
        *zip(x.tolist(), high.tolist(), strict=True), *zip(x[::-1].tolist(), low[::-1].tolist(), strict=True),
    ])
    ink.fill(once, WASH)
    ink.fill(twice, WHITE)
    ink.hatch(twice, HATCH)
    ink.pen(0.14)
    ink.stroke(closed_path([(left, foot), *zip(x.tolist(), low.tolist(), strict=True), (right, foot)]))
    ink.pen(0.25)
    ink.stroke(closed_path([(left, foot), *zip(x.tolist(), high.tolist(), strict=True), (right, foot)]))


def _legend(ink: Ink, right: float, top: float) -> None:
    for words, hatched in ((TWICE, True), (ONCE, False)):
        wide = ink.text(right, top + 2.1, words, 6.5, align="right", colour=SOFT)
        box = QRectF(right - wide - 6.0, top, 5.0, 2.4)
        ink.fill(box, WHITE if hatched else WASH)
        if hatched:
            ink.hatch(box, HATCH)
        ink.pen(0.15)
        ink.stroke(box)
        right -= wide + 10.0


def draw_stations(ink: Ink, design: Design, readings: Readings, frame: Frame, top: float) -> None:
    """Station figures under the lowest band."""
    if frame.ratio is None:
        if not readings.scale_known:
            ink.text(frame.area.center().x(), top + 3.0, "scale not set: stations cannot be given", 6.5,
                     align="centre", colour=SOFT)
        return
    step, _ = station_step(frame, design.display_units)
    first = int(np.ceil(frame.station(frame.area.left() + 18) / step))
    last = int(np.floor(frame.station(frame.area.right() - 4) / step))
    unit = "mm" if design.display_units == "mm" else "in"
    ink.text(frame.area.left(), top + 3.0, f"station, {unit}", 6.5, colour=SOFT)
    for k in range(first, last + 1):
        words = station_words(k * step, design.display_units)
        ink.text(frame.x(k * step), top + 3.0, words, 6.5, align="centre")
