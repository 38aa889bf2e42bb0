"""The three pictures of the first start. Every figure in them is computed from the design they show."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from msgspec.structs import replace
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QFontMetricsF,
    QPainter,
    QPainterPath,
    QPen,
    QPolygonF,
    QRadialGradient,
    QTransform,
)

from app.canvas.ink import draw_outline, path_of, transform_of
from app.canvas.view import View, fitted
from app.kit.arm_scale import BAR, ArmScale, Letters, draw_arm_scale, draw_bar, draw_pointer, draw_ticks
from app.kit.marks import draw_cg, draw_cla, draw_fin_centre
from app.kit.theme import Theme
from core.design import EMPTY, Aim, Design, Mark, Node, Outline
from core.stability.readings import Readings, ReadingsEngine
from core.stability.wording import percent
from core.units import format_length

Point = tuple[float, float]
Box = tuple[float, float, float, float]

PULL_MM = 12.0
_FUSELAGE = Outline("fuselage", "fuselage", (
    Node(0, 4, (0, -16), (0, 16)), Node(60, 44, (-34, -6), (34, 6)), Node(196, 60, (-40, -4), (18, 20)),
    Node(262, 104, (-30, -3), (44, 4)), Node(392, 84, (-44, 14), (90, -26)), Node(830, 30, (-190, 24)),
    Node(834, 4), Node(440, -44, (150, 18), (-110, -13)), Node(130, -54, (90, 4), (-46, -2)),
    Node(24, -32, (44, 12), (-16, -5)),
))
_FIN = Outline("fin", "fin", (
    Node(690, 34), Node(754, 118, (-22, -40), (9, 16)), Node(794, 138, (-20, 0)), Node(842, 138),
    Node(842, 8),
))
_TRAILING = (3, 4)
_PINS = ((404.0, 75.0), (272.0, 95.0))
_LEG = Outline("leg", "gear leg", (Node(226, -46), Node(258, -46), Node(246, -84), Node(234, -84)), count=2)
_WHEEL = Outline("wheel", "wheel", (
    Node(240, -60, (-13, 0), (13, 0)), Node(264, -84, (0, 13), (0, -13)),
    Node(240, -108, (13, 0), (-13, 0)), Node(216, -84, (0, -13), (0, 13)),
), count=2)


@dataclass(frozen=True)
class Example:
    """An aeroplane of ours and its readings, and the same with the fin's trailing edge pulled out."""

    design: Design
    readings: Readings
    pulled: Design
    pulled_readings: Readings


@lru_cache(maxsize=1)
def example() -> Example:
    """The aeroplane of the pictures, read by the same engine as any other."""
    design = replace(
        EMPTY, title="Picture", outlines=(_FUSELAGE, _FIN, _LEG, _WHEEL), cg_mark=Mark(310, 8), aim=Aim(),
    )
    nodes = tuple(
        replace(node, x=node.x + PULL_MM) if i in _TRAILING else node for i, node in enumerate(_FIN.nodes)
    )
    pulled = replace(design, outlines=(_FUSELAGE, replace(_FIN, nodes=nodes), _LEG, _WHEEL))
    engine = ReadingsEngine()
    return Example(design, engine.read(design), pulled, engine.read(pulled))


_WHOLE: Box = (-5.0, -112.0, 847.0, 142.0)


def _view(box: Box, place: QRectF, margin: float = 0.0) -> View:
    return fitted(box, place.width(), place.height(), margin).panned(place.left(), place.top())


def _font(painter: QPainter, *, bold: bool = False, part: float = 0.92) -> QFontMetricsF:
    font = QFont(painter.font())
    font.setPointSizeF(max(7.0, QFont().pointSizeF() * part))
    font.setBold(bold)
    painter.setFont(font)
    return QFontMetricsF(font)


def _pen(colour: str, width: float, style: Qt.PenStyle = Qt.PenStyle.SolidLine, alpha: int = 255) -> QPen:
    ink = QColor(colour)
    ink.setAlpha(alpha)
    pen = QPen(ink, width, style)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    return pen


def _words(painter: QPainter, x: float, y: float, text: str, colour: str, theme: Theme) -> None:
    """Words on their base line at (x, y), with a rim of paper so that they read over lines."""
    path = QPainterPath()
    path.addText(QPointF(x, y), painter.font(), text)
    rim = _pen(theme.paper, 4.0, alpha=225)
    rim.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.strokePath(path, rim)
    painter.fillPath(path, QColor(colour))


# 1: the card copy


def hang_turn(pin: Point, cla: Point) -> float:
    """Degrees, clockwise as seen, by which a card (x aft, z up; mm) turns when hung from ``pin``."""
    return math.degrees(math.atan2(cla[0] - pin[0], pin[1] - cla[1]))


def paint_card(painter: QPainter, box: QRectF, theme: Theme) -> None:
    """The side view cut from card, hanging from a pin, the plumb line running through the CLA."""
    shown = example()
    cla = shown.readings.cla
    assert cla is not None
    pin, other = _PINS
    turn = hang_turn(pin, cla)
    tilt = QTransform().translate(pin[0], pin[1]).rotate(-turn).translate(-pin[0], -pin[1])
    hung = tilt.mapRect(QRectF(QPointF(_WHOLE[0], _WHOLE[1]), QPointF(_WHOLE[2], _WHOLE[3])))
    # The corners of the box are empty: the card itself is less high.
    card = _view((hung.left(), hung.top() + 36, hung.right(), hung.bottom() - 44), box)
    at = QPointF(*card.to_px(*pin))
    hang_px = math.dist(pin, cla) * card.scale
    painter.save()
    painter.translate(at)
    painter.rotate(turn)
    painter.translate(-at)
    shade = QColor(theme.ink if not theme.dark else "#000000")
    shade.setAlpha(60 if theme.dark else 26)
    for outline in shown.design.outlines:
        painter.fillPath(transform_of(card).map(path_of(outline)).translated(3.0, 4.5), shade)
    for outline in shown.design.outlines:
        painter.fillPath(transform_of(card).map(path_of(outline)), QColor(theme.panel))
        draw_outline(painter, outline, card, theme)
    second, centre = QPointF(*card.to_px(*other)), QPointF(*card.to_px(*cla))
    past = centre + (centre - second) * 0.3
    painter.setPen(_pen(theme.cla, 1.2, Qt.PenStyle.DashLine, 190))
    painter.drawLine(second, past)
    painter.setPen(_pen(theme.ink, 1.0))
    painter.setBrush(QColor(theme.paper))
    painter.drawEllipse(second, 2.6, 2.6)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.restore()

    bob = QPointF(at.x(), box.bottom() - 3)
    draw_cla(painter, (bob.x(), bob.y()), theme, 8.0)
    for colour, width in ((theme.paper, 3.2), (theme.cla, 1.5)):
        painter.setPen(_pen(colour, width))
        painter.drawLine(at, bob - QPointF(0, 13))
    middle = QPointF(at.x(), at.y() + hang_px)
    painter.setPen(_pen(theme.cla, 1.8))
    painter.setBrush(QColor(theme.paper))
    painter.drawEllipse(middle, 4.2, 4.2)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    _draw_pin(painter, at, theme)
    _font(painter, bold=True)
    _words(painter, middle.x() + 11, middle.y() - 3, "CLA", theme.cla, theme)
    _font(painter)


def _draw_pin(painter: QPainter, at: QPointF, theme: Theme) -> None:
    """A round-headed pin, seen a little from the left."""
    head = at + QPointF(-5.0, -7.0)
    painter.setPen(_pen(theme.ink, 1.6))
    painter.drawLine(at, head)
    gloss = QRadialGradient(head + QPointF(-2, -2), 8.0)
    gloss.setColorAt(0.0, QColor(theme.pick).lighter(165))
    gloss.setColorAt(1.0, QColor(theme.pick))
    painter.setPen(_pen(theme.ink, 1.2))
    painter.setBrush(QBrush(gloss))
    painter.drawEllipse(head, 5.2, 5.2)
    painter.setBrush(Qt.BrushStyle.NoBrush)


# 2: the arm rule


def paint_rule(painter: QPainter, box: QRectF, theme: Theme) -> None:
    """The profile with CG and fin centre, and under it the arm rule on the same x axis."""
    shown = example().readings
    cg, fin, cla = shown.cg, shown.fin_centre, shown.cla
    fraction = shown.value("cla_fraction")
    assert cg is not None and fin is not None and cla is not None and fraction is not None
    font = QFont(painter.font())
    font.setPointSizeF(0.92 * QFont().pointSizeF())
    script = _Rimmed(font, theme).on(painter)
    unit = 0.75
    below = (BAR / 2 + 8) * unit + script.high()
    room = (BAR / 2 + 10) * unit + below
    view = _view(_WHOLE, QRectF(box.left(), box.top(), box.width(), box.height() - room))
    x0, x1 = view.to_px(cg.x, 0.0)[0], view.to_px(fin[0], 0.0)[0]
    scale = ArmScale(x0, x1, box.bottom() - below, box.left(), box.right(), unit)
    places = {name: view.to_px(*point) for name, point in (("cg", (cg.x, cg.z)), ("fin", fin), ("cla", cla))}
    for outline in example().design.outlines:
        draw_outline(painter, outline, view, theme)
    for name, colour in (("cg", theme.ink), ("fin", theme.fin), ("cla", theme.cla)):
        x, y = places[name]
        painter.setPen(_pen(colour, 1.1, Qt.PenStyle.DotLine))
        painter.drawLine(QPointF(x, y), QPointF(x, scale.top))
    draw_arm_scale(painter, scale, Aim(), fraction, None, theme, script)
    draw_cg(painter, places["cg"], theme, 7.5)
    draw_fin_centre(painter, places["fin"], theme, 5.5)
    draw_cla(painter, places["cla"], theme, 7.0)
    _draw_names(painter, theme, places, view.to_px(722, 0)[0], _font(painter))


class _Rimmed(Letters):
    """Letters of the rule with a rim of paper."""

    def __init__(self, font: QFont, theme: Theme) -> None:
        super().__init__(font)
        self._theme = theme

    def write(self, x: float, y: float, words: str, colour: str, *, bold: bool = False) -> None:
        self.take(bold=bold)
        _words(self.painter, x, y, words, colour, self._theme)


def _draw_names(
    painter: QPainter, theme: Theme, places: dict[str, tuple[float, float]], fin_left: float,
    metrics: QFontMetricsF,
) -> None:
    x, y = places["cg"]
    _words(painter, x - metrics.horizontalAdvance("CG") - 12, y + 5, "CG", theme.ink, theme)
    x, y = places["fin"]
    leading = fin_left - metrics.horizontalAdvance("fin centre") - 8
    _words(painter, leading, y - 3, "fin centre", theme.fin, theme)


# 3: a change under the hand


def paint_change(painter: QPainter, box: QRectF, theme: Theme) -> None:
    """The trailing edge of the fin being pulled out, and the pointer moving into the aim with it."""
    shown = example()
    before = shown.readings.value("cla_fraction")
    after = shown.pulled_readings.value("cla_fraction")
    assert before is not None and after is not None
    _font(painter, bold=True)
    right = QRectF(box.left() + box.width() * 0.46, box.top(), box.width() * 0.54, box.height())
    _paint_fin(painter, right, theme)

    line = _font(painter).height()
    left, wide = box.left() + 14, box.width() * 0.42 - 14
    ends = (0.18, 0.28)
    whole = wide / (ends[1] - ends[0])
    x0 = left - ends[0] * whole
    scale = ArmScale(x0, x0 + whole, box.center().y() + 6, left, left + wide, 0.85, ends)
    draw_bar(painter, scale, Aim(), theme)
    draw_ticks(painter, scale, theme, Letters(painter.font()).on(painter))
    metrics = _font(painter)
    x = scale.x(ends[1]) - metrics.horizontalAdvance("aim")
    _words(painter, x, scale.top - 6, "aim", theme.ink_soft, theme)
    draw_pointer(painter, scale, before, theme, left=True)
    draw_pointer(painter, scale, after, theme)
    y = scale.top - 17
    painter.setPen(_pen(theme.cla, 1.4))
    start, end = scale.x(before), scale.x(after)
    painter.drawLine(QPointF(start, y), QPointF(end - 4, y))
    painter.setBrush(QColor(theme.cla))
    painter.drawPolygon(QPolygonF([QPointF(end, y), QPointF(end - 6, y - 3), QPointF(end - 6, y + 3)]))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    metrics = _font(painter, bold=True)
    words = f"{percent(before)} → {percent(after)}"
    x = (start + end) / 2 - metrics.horizontalAdvance(words) / 2
    _words(painter, max(x, box.left()), y - 0.5 * line, words, theme.cla, theme)
    _font(painter)


def _paint_fin(painter: QPainter, place: QRectF, theme: Theme) -> None:
    shown = example()
    words = f"{format_length(PULL_MM, 'mm', signed=True)} out"
    metrics = _font(painter, bold=True)
    room = metrics.horizontalAdvance(words) + 22
    view = _view((634.0, -34.0, 856.0, 142.0), place.adjusted(0, 0, -room, 0))
    fuselage, fin = shown.pulled.outlines[0], shown.pulled.outlines[1]
    painter.save()
    tear = _tear(view)
    kept = QPainterPath(tear)
    kept.lineTo(place.right(), place.bottom() + 20)
    kept.lineTo(place.right(), place.top() - 20)
    kept.closeSubpath()
    painter.setClipPath(kept)
    draw_outline(painter, fuselage, view, theme)
    draw_outline(painter, fin, view, theme)
    painter.restore()
    painter.setPen(_pen(theme.ink_soft, 1.0))
    painter.save()
    painter.setClipPath(transform_of(view).map(path_of(fuselage)))
    painter.drawPath(tear)
    painter.restore()
    old = [view.to_px(_FIN.nodes[i].x, _FIN.nodes[i].z) for i in _TRAILING]
    new = [view.to_px(_FIN.nodes[i].x + PULL_MM, _FIN.nodes[i].z) for i in _TRAILING]
    painter.setPen(_pen(theme.ink_soft, 1.4, Qt.PenStyle.DashLine))
    painter.drawLine(QPointF(*old[0]), QPointF(*old[1]))
    painter.setPen(_pen(theme.pick, 2.8))
    painter.drawLine(QPointF(*new[0]), QPointF(*new[1]))
    y = (new[0][1] + new[1][1]) / 2
    x = new[0][0]
    hand = QPolygonF([QPointF(x, y) + QPointF(dx, dy) for dx, dy in _ARROW])
    painter.setPen(_pen(theme.paper, 1.4))
    painter.setBrush(QColor(theme.ink))
    painter.drawPolygon(hand)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    _font(painter, bold=True)
    _words(painter, x + 14, y - 6, words, theme.pick, theme)


def _tear(view: View) -> QPainterPath:
    """Where the fuselage is broken off, as a draughtsman's wavy line, from the top down."""
    path = QPainterPath(QPointF(*view.to_px(648, 160)))
    path.lineTo(QPointF(*view.to_px(648, 62)))
    path.cubicTo(*(QPointF(*view.to_px(*at)) for at in ((664, 34), (656, 22), (648, 12))))
    path.cubicTo(*(QPointF(*view.to_px(*at)) for at in ((638, 0), (634, -16), (648, -44))))
    path.lineTo(QPointF(*view.to_px(648, -90)))
    return path


# The cursor of the hand that pulls, its tip at (0, 0), in logical pixels.
_ARROW = ((0, 0), (0, 15), (3.6, 11.6), (6.2, 17.2), (8.8, 16), (6.2, 10.6), (11, 10.4))
