"""The two bands under the profile, on the same x axis: the arm rule, and side area per mm."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from PySide6.QtCore import QRectF

from app.paper.frame import Frame, length_words, station_step, station_words
from app.paper.ink import INK, SOFT, WASH, WHITE, Ink, closed_path
from app.paper.profile import HATCH
from core.design import Design
from core.stability.readings import Readings
from core.stability.wording import aim_words, percent
from core.units import MM_PER_IN

RULE_TALL = 12.8
AREA_LEAST = 9.5
STATIONS_TALL = 4.0


def rule_line(top: float) -> float:
    """Paper y of the rule in a band that begins at ``top``."""
    return top + 6.9


def draw_arm_rule(ink: Ink, design: Design, readings: Readings, frame: Frame, top: float) -> None:
    """0 % under the CG, 100 % under the fin centre, the aim as a span, the CLA as a pointer."""
    y = rule_line(top)
    ink.caption(frame.area.left() + 1.5, top + 3.2, "ARM RULE")
    ink.text(frame.area.left() + 1.5, top + 6.2, "per cent of the tail arm", 6.5, colour=SOFT)
    fraction = readings["cla_fraction"].value
    cg, fin = readings.cg, readings.fin_centre
    if fraction is None or cg is None or fin is None:
        missing = readings["cla_fraction"].missing or ""
        ink.pen(0.2, SOFT, (6, 5))
        ink.line(frame.area.left() + 45, y, frame.area.right() - 1.5, y)
        words = f"No rule yet: {missing}."
        wide = ink.width(words, 8.0)
        middle = (frame.area.left() + 45 + frame.area.right()) / 2
        ink.fill(QRectF(middle - wide / 2 - 2, y - 2, wide + 4, 4), WHITE)
        ink.text(middle, y + 1.0, words, 8.0, align="centre")
        return
    x0, x1 = frame.x(cg.x), frame.x(fin[0])

    def at(part: float) -> float:
        return x0 + part * (x1 - x0)

    painter = ink.painter
    painter.save()
    painter.setClipRect(QRectF(frame.area.left(), top - 1, frame.area.width(), RULE_TALL + 1))
    aim = design.aim
    span = QRectF(at(aim.low), y - 1.7, at(aim.high) - at(aim.low), 3.4)
    ink.fill(span, WASH)
    ink.hatch(span, 0.9, colour=INK, width=0.1, rising=False)
    ink.pen(0.25)
    ink.stroke(span)
    ink.line(at(aim.cla_fraction), y - 1.7, at(aim.cla_fraction), y + 1.7)
    ink.pen(0.4)
    ink.line(min(x0, at(fraction)), y, max(x1, at(fraction)), y)
    _ticks(ink, at, y, x1 - x0)
    _pointer(ink, design, fraction, at, y)
    painter.restore()


def _ticks(ink: Ink, at: Callable[[float], float], y: float, long: float) -> None:
    labelled = next((step for step in (5, 10, 20, 25, 50) if long * step / 100 >= 8.0), 100)
    fine = next(
        (step for step in (1, 2, 5, 10) if long * step / 100 >= 1.2 and labelled % step == 0), labelled
    )
    for per_cent in range(0, 101, fine):
        end = per_cent in (0, 100)
        tall = 2.2 if end else 1.5 if per_cent % labelled == 0 else 0.8
        ink.pen(0.35 if end else 0.15)
        ink.line(at(per_cent / 100), y, at(per_cent / 100), y + tall)
        if per_cent % labelled == 0:
            ink.text(at(per_cent / 100), y + 5.1, f"{per_cent}" + (" %" if end else ""), 6.5, align="centre",
                     bold=end)


def _pointer(ink: Ink, design: Design, fraction: float, at: Callable[[float], float], y: float) -> None:
    aim = design.aim
    x = at(fraction)
    ink.fill(closed_path([(x, y), (x - 1.5, y - 3.2), (x + 1.5, y - 3.2)]), INK)
    ahead = fraction <= aim.cla_fraction
    words, aim_text = f"CLA {percent(fraction)}", f"aim {aim_words(aim)}"
    side = -1.0 if ahead else 1.0
    _boxed(ink, x + side * 2.4, y - 2.9, words, 8.0, True, side)
    edge = at(aim.high if ahead else aim.low)
    edge = max(edge, x + 1.5) if ahead else min(edge, x - 1.5)
    _boxed(ink, edge - side * 1.4, y - 2.9, aim_text, 7.0, False, -side)


def _boxed(ink: Ink, x: float, y: float, words: str, size: float, bold: bool, side: float) -> None:
    wide = ink.width(words, size, bold=bold)
    left = x if side > 0 else x - wide
    ink.fill(QRectF(left - 0.6, y - 2.6, wide + 1.2, 3.4), WHITE)
    ink.text(left, y, words, size, bold=bold)


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
        metric = design.display_units == "mm"
        depth = f"{peak:.0f} mm² per mm" if metric else f"{peak / MM_PER_IN:.2f} sq in per in"
        where = length_words(place, design.display_units, known=True)
        ink.text(left + at, top + 3.2, f"greatest {depth}, at station {where}", 6.5, colour=SOFT)
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
    for words, hatched in (("counted twice or more", True), ("counted once", False)):
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
