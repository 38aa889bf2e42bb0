"""More small drawings of the help: how it flies, what is changed, and paper."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QPainterPath

from app.kit.marks import draw_cg, draw_neutral
from app.side.help_sketch import CLA, FIN_CORNERS, RUDDER_CORNERS, Place, Sketch, body_path, corners_path


def _above(s: Sketch, turn: float, at: Place = (78, 48), rudder: float = 0.0) -> None:
    """The aeroplane seen from above, nose to the left, turned clockwise by so many degrees."""
    s.painter.save()
    s.painter.translate(QPointF(*at))
    s.painter.rotate(turn)
    s.shape(corners_path(((-42, 0), (-30, -4), (34, -2), (34, 2), (-30, 4))), s.theme.body)
    s.shape(corners_path(((-20, -34), (-10, -34), (-6, 0), (-10, 34), (-20, 34))), s.theme.body)
    s.shape(corners_path(((24, -13), (32, -13), (32, 13), (24, 13))), s.theme.tail)
    lean = math.radians(rudder)
    s.line((34, 0), (34 + 10 * math.cos(lean), 10 * math.sin(lean)), colour=s.theme.pick, width=2.4)
    s.painter.restore()


def _wind(s: Sketch) -> None:
    for y in (14, 46, 78):
        s.arrow((6, y), (22, y), s.theme.ink_soft, 1.1)


def _turn(s: Sketch, box: QRectF, start: int, long: int) -> None:
    s.pen(s.theme.pick)
    s.painter.drawArc(box, start * 16, long * 16)


def _firmness(s: Sketch) -> None:
    _wind(s)
    _above(s, 16)
    s.arrow((128, 70), (136, 54))


def _yaw(s: Sketch) -> None:
    _above(s, 0)
    _turn(s, QRectF(50, 20, 56, 56), -50, 100)
    s.arrow((96, 69), (91, 73))


def _rudder(s: Sketch) -> None:
    _wind(s)
    _above(s, 12, rudder=-26)


def _spiral(s: Sketch) -> None:
    s.painter.save()
    s.painter.translate(78, 46)
    s.painter.rotate(-16)
    s.ring((0, 0), 7, s.theme.body)
    s.line((-58, -10), (-6, 0), width=3.0)
    s.line((6, 0), (58, -10), width=3.0)
    s.line((0, -7), (0, -26), width=2.4)
    s.painter.restore()
    s.line((14, 46), (142, 46), colour=s.theme.ink_soft, width=1.0, dashed=True)
    s.arrow((132, 32), (132, 44))


def _swings(s: Sketch, colour: str) -> None:
    path = QPainterPath(QPointF(14, 46))
    for x in range(129):
        path.lineTo(14 + x, 46 - 32 * math.exp(-x / 42) * math.sin(x / 9.5))
    s.shape(path, edge=colour, width=1.8)


def _wag(s: Sketch) -> None:
    s.line((14, 46), (146, 46), colour=s.theme.ink_soft, width=1.0)
    _swings(s, s.theme.pick)


def _after_gust(s: Sketch) -> None:
    for x in (30, 78, 126):
        s.arrow((x, 86), (x, 68), s.theme.ink_soft, 1.1)
    _above(s, -14, (78, 40))


def _margin(s: Sketch) -> None:
    s.line((30, 40), (126, 40), width=5.0)
    draw_cg(s.painter, (52, 40), s.theme, 7.0)
    draw_neutral(s.painter, (70, 44), s.theme, 8.0)
    s.span(52, 70, 68, "margin")


def _neutral(s: Sketch) -> None:
    s.body()
    s.line((44, 47), (86, 47), width=4.0)
    draw_cg(s.painter, (58, 47), s.theme, 5.0)
    draw_neutral(s.painter, (70, 50), s.theme, 9.0)


def _mean_chord(s: Sketch) -> None:
    s.shape(corners_path(((24, 20), (134, 30), (134, 52), (24, 68))), s.theme.body)
    s.line((78, 25), (78, 60), colour=s.theme.pick, width=2.6)
    s.words(78, 82, "mean chord")


def _dihedral(s: Sketch) -> None:
    s.line((12, 34), (78, 56), (144, 34), width=4.0)
    s.line((12, 56), (144, 56), colour=s.theme.ink_soft, width=1.0, dashed=True)
    s.ring((78, 60), 9, s.theme.body)


def _wing(s: Sketch) -> None:
    s.body(wash=False)
    s.tail(wash=False)
    s.shape(corners_path(((44, 48), (58, 30), (80, 30), (86, 48))), s.theme.other)
    s.words(66, 22, "× 2", s.theme.pick, size=9, bold=True)


def _volume(s: Sketch) -> None:
    s.shape(corners_path(((22, 10), (44, 10), (48, 46), (44, 82), (22, 82), (26, 46))), s.theme.body)
    s.shape(corners_path(((122, 28), (138, 28), (138, 64), (122, 64))), s.theme.tail)
    s.span(34, 130, 46, "arm")


def _propeller(s: Sketch) -> None:
    s.shape(body_path(), s.theme.body)
    s.line((9, 22), (9, 88), colour=s.theme.pick, dashed=True)
    for y in (22, 88):
        s.line((5, y), (13, y), colour=s.theme.pick)


def _flight(s: Sketch) -> None:
    s.plane()
    for y in (16, 30):
        s.arrow((92, y), (30, y), s.theme.ink_soft)
    s.words(64, 84, "12 m/s")


def _weight(s: Sketch) -> None:
    s.body()
    for x, r in ((20, 5), (44, 7), (64, 4), (118, 3)):
        s.dot((x, 53), r)
    draw_cg(s.painter, (58, 76), s.theme, 6.0)


def _station(s: Sketch) -> None:
    s.plane()
    s.line((92, 12), (92, 82), colour=s.theme.pick, dashed=True)
    s.span(8, 92, 70, "station")


def _datum(s: Sketch) -> None:
    s.plane(wash=False)
    s.line((8, 12), (8, 86), colour=s.theme.pick)
    s.line((2, 55), (150, 55), colour=s.theme.pick, width=1.0, dashed=True)
    s.dot((8, 55), 3.2, s.theme.pick)


def _plug(s: Sketch) -> None:
    s.body()
    s.painter.fillRect(QRectF(74, 38, 16, 32), QColor(s.theme.paper))
    s.box(74, 42, 16, 23, s.theme.pick)
    s.arrow((94, 78), (118, 78))


def _refit(s: Sketch) -> None:
    s.body(wash=False)
    s.tail()
    s.shape(corners_path(((106, 47), (121, 12), (134, 12), (134, 51))), edge=s.theme.pick, dashed=True)
    s.shape(corners_path(((134, 12), (148, 17), (148, 51), (134, 51))), edge=s.theme.pick, dashed=True)


def _proposal(s: Sketch) -> None:
    s.plane(wash=False)
    grown = corners_path(((134, 21), (151, 25), (151, 51), (134, 51)))
    s.shape(grown, s.theme.pick, s.theme.pick, dashed=True)
    s.words(60, 84, "not done yet", s.theme.pick)


def _alternative(s: Sketch) -> None:
    s.plane()
    s.painter.save()
    s.painter.translate(0, -7)
    s.shape(corners_path(FIN_CORNERS), edge=s.theme.ink_soft, dashed=True)
    s.shape(corners_path(RUDDER_CORNERS), edge=s.theme.ink_soft, dashed=True)
    s.painter.restore()


def _curves(s: Sketch) -> None:
    s.line((22, 10), (22, 78), (144, 78))
    path = QPainterPath(QPointF(26, 70))
    path.cubicTo(60, 62, 90, 34, 140, 18)
    s.shape(path, edge=s.theme.pick, width=2.0)
    s.dot((82, 45), 3.5, s.theme.pick)


def _once_round(s: Sketch) -> None:
    s.shape(body_path(), width=1.0)
    loose = QPainterPath(QPointF(3, 50))
    loose.cubicTo(10, 28, 60, 34, 84, 36)
    loose.cubicTo(110, 42, 152, 40, 149, 54)
    loose.cubicTo(130, 66, 70, 80, 30, 72)
    loose.cubicTo(14, 70, 0, 64, 4, 46)
    s.shape(loose, edge=s.theme.pick, width=1.6, dashed=True)


def _settle(s: Sketch) -> None:
    s.line((14, 66), (52, 40), (100, 28), (144, 26), colour=s.theme.ink_soft, width=4.0)
    s.line((14, 52), (52, 28), (100, 18), (144, 14), colour=s.theme.pick, width=1.6)
    for x, y in ((40, 37), (76, 25), (120, 18)):
        s.arrow((x, y), (x + 3, y + 9))


def _lens(s: Sketch) -> None:
    for y, bend in ((22, -9), (46, 0), (70, 9)):
        path = QPainterPath(QPointF(16, y))
        path.quadTo(46, y + 2 * bend, 70, y)
        s.shape(path)
        s.line((88, y), (142, y), colour=s.theme.pick)
    s.arrow((73, 46), (85, 46))


def _build(s: Sketch) -> None:
    s.shape(corners_path(((40, 80), (60, 14), (104, 14), (116, 80))), s.theme.tail)
    for y in (30, 46, 62):
        lean = (80 - y) / 66
        s.line((40 + 20 * lean, y), (116 - 12 * lean, y), width=2.2)
    s.line((84, 14), (84, 80), width=3.0)


def _sheet_of(s: Sketch) -> None:
    s.box(52, 8, 54, 76)


def _bench_sheet(s: Sketch) -> None:
    _sheet_of(s)
    s.words(79, 30, "24.6 %", size=8, bold=True)
    for y in (40, 48, 56, 64, 72):
        s.line((60, y), (98, y), colour=s.theme.ink_soft, width=1.6)


def _template(s: Sketch) -> None:
    for x in (18, 66, 114):
        s.box(x - 8, 14, 48 if x < 114 else 44, 66, dashed=True)
    s.painter.save()
    s.painter.translate(0, -4)
    s.shape(body_path())
    s.painter.restore()


def _card_copy(s: Sketch) -> None:
    s.painter.save()
    s.painter.translate(72, 52)
    s.painter.rotate(12)
    s.painter.scale(0.8, 0.8)
    s.painter.translate(-CLA[0], -CLA[1])
    s.plane()
    s.painter.restore()
    s.line((72, 45), (72, 86), colour=s.theme.cla, width=1.4)
    s.dot((72, 45), 2.4)
    s.dot((72, 85), 3.4, s.theme.cla)


def _setting_up(s: Sketch) -> None:
    s.shape(corners_path(((30, 18), (52, 18), (60, 46), (52, 74), (30, 74), (36, 46))), s.theme.body)
    s.shape(corners_path(((118, 30), (130, 30), (130, 62), (118, 62))), s.theme.tail)
    for y, tip in ((18, 30), (74, 62)):
        s.line((18, 46), (52, y), (126, tip), colour=s.theme.pick, width=1.0)


def _gauge(s: Sketch) -> None:
    s.pen(s.theme.ink)
    s.painter.drawPie(QRectF(28, 14, 120, 120), 60 * 16, 60 * 16)
    for degrees in range(64, 120, 8):
        way = math.radians(degrees)
        s.line(*((88 + r * math.cos(way), 74 - r * math.sin(way)) for r in (52, 60)), width=1.0)
    s.line((88, 74), (88 + 56 * math.cos(math.radians(72)), 74 - 56 * math.sin(math.radians(72))),
           colour=s.theme.pick)


def _throw(s: Sketch) -> None:
    s.line((16, 46), (84, 46), width=5.0)
    s.line((84, 46), (138, 46), colour=s.theme.ink_soft, width=1.2, dashed=True)
    s.line((84, 46), (134, 24), width=4.0)
    s.arrow((140, 46), (140, 26))


MORE: Mapping[str, Callable[[Sketch], None]] = {
    "firmness": _firmness, "yaw": _yaw, "rudder": _rudder, "spiral": _spiral, "wag": _wag,
    "after-a-gust": _after_gust, "static-margin": _margin, "neutral-point": _neutral,
    "mean-chord": _mean_chord, "dihedral": _dihedral, "wing": _wing, "volume": _volume,
    "propeller": _propeller, "flight": _flight, "weight": _weight, "station": _station, "datum": _datum,
    "plug": _plug, "refit": _refit, "proposal": _proposal, "alternative": _alternative, "curves": _curves,
    "once-round": _once_round, "settle": _settle, "lens": _lens, "build": _build,
    "bench-sheet": _bench_sheet, "template": _template, "card-copy": _card_copy,
    "setting-up-sheet": _setting_up, "gauge": _gauge, "throw": _throw,
}
"""By the key of a term."""
