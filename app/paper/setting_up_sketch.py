"""Two small views with a tail's distances: from above with the strings, from behind with the fin."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QPointF, QRectF

from app.paper.ink import FAINT, INK, SOFT, TAIL_WASH, WASH, WHITE, Ink, closed_path
from core.bench.from_wing import root_of
from core.bench.pairs import PairSetting, pair_settings
from core.bench.pin import pin_of
from core.bench.setting_up import fin_marks, fin_square_check, string_check
from core.bench.taut import body_of
from core.design import Design, Station
from core.units import format_fine

HEIGHT = 39.0
_HALF = 15.5
_GAP = 14.0


def has_sketch(design: Design) -> bool:
    """Whether there are strings to be shown."""
    return bool(design.tailplanes) and not isinstance(
        string_check(design.tailplanes[0], pin_of(design), body=body_of(design)), str
    )


def draw_sketch(ink: Ink, design: Design, x: float, y: float, wide: float) -> None:
    """Draw both views side by side in ``wide`` × HEIGHT mm, at one scale; ``has_sketch`` must hold."""
    tailplane = design.tailplanes[0]
    pin = pin_of(design)
    check = string_check(tailplane, pin, body=body_of(design))
    assert not isinstance(check, str)
    half_span = max(s.y for s in tailplane.stations)
    pairs = pair_settings(design)
    aft = max([s.le_x + s.chord for s in tailplane.stations] + [pair.trailing_x for pair in pairs])
    ahead = [root.le_x for wing in design.wings if (root := root_of(wing)) is not None]
    front = min([pin.x] + [s.le_x for s in tailplane.stations] + ahead)
    marks = fin_marks(design)
    square = marks if isinstance(marks, str) else fin_square_check(marks.tip, marks.foot_z, tailplane)
    behind = not isinstance(square, str) and not isinstance(marks, str)
    room = wide - (30.0 if pairs else 12.0) - (2 * _HALF + _GAP + 10.0 if behind else 0.0)
    out = max([half_span] + [0.5 * pair.apart for pair in pairs])
    scale = min(_HALF / out, room / max(aft - front, 1.0))
    middle = y + 4.0 + _HALF
    left = x + 6.0

    def place(station: float, out: float) -> tuple[float, float]:
        return left + (station - front) * scale, middle - out * scale

    ink.caption(left - 4.5, y + 2.0, "FROM ABOVE")
    _surfaces(ink, design, QRectF(x, middle - _HALF - 1.0, room + 12.0, 2 * _HALF + 2.0), place)
    ink.pen(0.15, SOFT, (12.0, 4.0, 3.0, 4.0))
    ink.line(left - 3.0, middle, place(aft, 0.0)[0] + 5.0, middle)
    at_pin = place(pin.x, 0.0)
    for way in (1.0, -1.0):
        tip = place(check.tip[0], way * check.tip[1])
        ink.pen(0.3, INK, (5.0, 3.0))
        ink.line(*at_pin, *tip)
        _dot(ink, *tip)
        words = format_fine(check.square, design.display_units)
        length = ink.width(words, 7.5, bold=True)
        at_x = at_pin[0] + 0.5 * (tip[0] - at_pin[0]) - length
        at_y = at_pin[1] + 0.5 * (tip[1] - at_pin[1]) + (-2.0 if way > 0.0 else 4.0)
        ink.fill(QRectF(at_x - 0.6, at_y - 2.5, length + 1.2, 3.2), WHITE)
        ink.text(at_x, at_y, words, 7.5, bold=True)
    _dot(ink, *at_pin)
    ink.text(at_pin[0] + 1.5, at_pin[1] - 3.2, "pin", 6.5, colour=SOFT)
    for pair in pairs:
        _pair(ink, pair, place, format_fine(pair.apart, design.display_units))
    beside = 5.0 if pairs else 1.5
    ink.text(place(aft, 0.0)[0] + beside, place(0.0, half_span)[1] + 2.2, "starboard", 6.5, colour=SOFT)
    if behind and not isinstance(marks, str) and not isinstance(square, str):
        centre = place(aft, 0.0)[0] + _GAP + half_span * scale
        _behind(
            ink, design, (centre, y), scale, (marks.tip.z, marks.foot_z),
            format_fine(square.upright, design.display_units),
        )


def _pair(
    ink: Ink, pair: PairSetting, place: Callable[[float, float], tuple[float, float]], words: str
) -> None:
    """Both of a pair from above at the chord they are measured at, and the distance between them."""
    half, aft = 0.5 * pair.apart, pair.trailing_x
    ink.pen(0.7, INK)
    for way in (1.0, -1.0):
        ink.line(*place(pair.leading_x, way * half), *place(aft, way * half))
    x, starboard = place(aft, half)
    x, port = x + 2.5, place(aft, -half)[1]
    ink.pen(0.2, INK)
    ink.line(x, starboard, x, port)
    for at in (starboard, port):
        ink.line(x - 1.5, at, x + 1.0, at)
    ink.text(x + 1.2, 0.5 * (starboard + port) - 1.0, words, 7.5, bold=True)


def _surfaces(
    ink: Ink, design: Design, clip: QRectF, place: Callable[[float, float], tuple[float, float]]
) -> None:
    painter = ink.painter
    painter.save()
    painter.setClipRect(clip)
    for surfaces, wash in ((design.wings, WASH), (design.tailplanes[:1], TAIL_WASH)):
        for surface in surfaces:
            for way in (1.0, -1.0):
                corners = _half(surface.stations, way)
                if len(corners) >= 3:
                    path = closed_path([place(*corner) for corner in corners])
                    ink.fill(path, wash)
                    ink.pen(0.15, SOFT)
                    ink.stroke(path)
    painter.restore()


def _half(stations: Sequence[Station], way: float) -> list[tuple[float, float]]:
    ordered = sorted(stations, key=lambda s: s.y)
    front = [(s.le_x, way * s.y) for s in ordered]
    return front + [(s.le_x + s.chord, way * s.y) for s in reversed(ordered)]


def _behind(
    ink: Ink, design: Design, at: tuple[float, float], scale: float, fin: tuple[float, float], words: str
) -> None:
    """The tailplane and the fin from behind, starboard on the right, and the strings from the fin's tip."""
    centre, y = at
    stations = sorted(design.tailplanes[0].stations, key=lambda s: s.y)
    heights = [s.z for s in stations] + list(fin)
    low, high = min(heights), max(heights)
    foot = y + 6.0 + _HALF + 0.5 * (high - low) * scale

    def place(out: float, z: float) -> QPointF:
        return QPointF(centre + out * scale, foot - (z - low) * scale)

    ink.caption(centre - stations[-1].y * scale, y + 2.0, "FROM BEHIND")
    for way in (1.0, -1.0):
        points = [place(way * s.y, s.z) for s in stations]
        ink.pen(1.1, FAINT)
        ink.painter.drawPolyline(points)
        ink.pen(0.2, INK)
        ink.painter.drawPolyline(points)
        tip, top = points[-1], place(0.0, fin[0])
        ink.pen(0.3, INK, (5.0, 3.0))
        ink.line(top.x(), top.y(), tip.x(), tip.y())
        _dot(ink, tip.x(), tip.y())
        half_x, half_y = 0.5 * (top.x() + tip.x()), 0.5 * (top.y() + tip.y())
        ink.text(half_x + way * 1.6, half_y - 1.4, words, 7.0, bold=True,
                 align="left" if way > 0.0 else "right")
    top, bottom = place(0.0, fin[0]), place(0.0, fin[1])
    ink.pen(1.1, FAINT)
    ink.line(top.x(), top.y(), bottom.x(), bottom.y())
    ink.pen(0.25, INK)
    ink.line(top.x(), top.y(), bottom.x(), bottom.y())
    _dot(ink, top.x(), top.y())


def _dot(ink: Ink, x: float, y: float) -> None:
    ink.fill(QRectF(x - 0.6, y - 0.6, 1.2, 1.2), INK)
