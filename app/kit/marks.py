"""CG, CLA, fin centre and neutral points: their shapes and names, once for screen and paper.

Sizes are in the painter's unit, logical pixels or mm of paper; lines are as thick as a mark is large.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPainterPath, QPen, QPolygonF

from app.kit.inks import Inks
from core.design import Design
from core.stability.body import shaft_z
from core.stability.readings import Readings
from core.stability.wording import percent
from core.units import format_length

Place = tuple[float, float]
DISC_NAME = "propeller"
MarkKind = Literal["fin", "cla", "neutral", "cg"]
ON_RULE: frozenset[MarkKind] = frozenset(("fin", "cla", "cg"))
"""What the arm rule shows too."""


@dataclass(frozen=True)
class NamedMark:
    """A mark on the profile, ``at`` (x, z) in mm, and the words beside it."""

    kind: MarkKind
    at: Place
    words: str


def named_marks(design: Design, readings: Readings) -> list[NamedMark]:
    """The marks on the profile by rank: the first lies on top and finds room for its words first."""
    found: list[NamedMark] = []
    if readings.cg is not None:
        station = format_length(readings.cg.x, design.display_units) if readings.scale_known else ""
        found.append(NamedMark("cg", (readings.cg.x, readings.cg.z), f"CG {station}".strip()))
    if readings.cla is not None:
        found.append(NamedMark("cla", readings.cla, cla_words(readings.value("cla_fraction"))))
    if readings.fin_centre is not None:
        found.append(NamedMark("fin", readings.fin_centre, "fin centre"))
    neutral = neutral_place(readings)
    if neutral is not None:
        margin = readings.value("static_margin")
        words = "" if margin is None else f", margin {percent(margin, 0)}"
        found.append(NamedMark("neutral", neutral, f"neutral point{words}"))
    return found


def cla_words(fraction: float | None) -> str:
    """The CLA's name and where on the tail arm it lies."""
    return "CLA" if fraction is None else f"CLA {percent(fraction)}"


def neutral_place(readings: Readings) -> Place | None:
    """Where the neutral point in pitch is marked, in mm: under the root of the first wing."""
    station, wings = readings.value("neutral_point_x"), readings.aeroplane.design.wings
    if station is None or not wings or not wings[0].stations:
        return None
    root = wings[0].stations[0]
    return station, root.z - 0.5 * wings[0].section.thickness * root.chord


def draw_mark(painter: QPainter, kind: MarkKind, at: Place, inks: Inks, unit: float = 1.0) -> None:
    """Draw a mark of the profile; it is 18 units high or less, but for the CLA's string."""
    if kind == "fin":
        draw_fin_centre(painter, at, inks, 6.5 * unit)
    elif kind == "cla":
        draw_cla(painter, at, inks, 9.0 * unit)
    elif kind == "neutral":
        draw_neutral(painter, at, inks, 7.0 * unit)
    else:
        draw_cg(painter, at, inks, 9.0 * unit)


def mark_box(kind: MarkKind, at: Place, unit: float = 1.0) -> QRectF:
    """The room that ``draw_mark`` takes."""
    left, top, right, bottom = {
        "fin": (-12.0, -12.0, 12.0, 12.0), "cla": (-8.0, -28.0, 8.0, 2.0),
        "neutral": (-7.0, -1.0, 7.0, 12.0), "cg": (-11.0, -11.0, 11.0, 11.0),
    }[kind]
    return QRectF(at[0] + left * unit, at[1] + top * unit, (right - left) * unit, (bottom - top) * unit)


def mark_colour(kind: MarkKind, inks: Inks) -> str:
    """What a mark's name is written in."""
    return {"fin": inks.fin, "cla": inks.cla}.get(kind, inks.ink)


def _rimmed(inks: Inks, colour: str, rim: float, width: float) -> Iterator[QPen]:
    """A pen for a light rim and one for the line upon it, so that the line reads over anything."""
    for each, wide in ((inks.paper, rim), (colour, width)):
        yield QPen(QColor(each), wide, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap)


def draw_cg(painter: QPainter, at: Place, inks: Inks, radius: float) -> None:
    """The quartered circle that the trade uses for the CG."""
    x, y = at
    box = QRectF(x - radius, y - radius, 2 * radius, 2 * radius)
    painter.setPen(QPen(QColor(inks.ink), 0.15 * radius))
    painter.setBrush(QColor(inks.paper))
    painter.drawEllipse(box)
    painter.setBrush(QColor(inks.ink))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.drawPie(box, 0, 90 * 16)
    painter.drawPie(box, 180 * 16, 90 * 16)
    painter.setBrush(Qt.BrushStyle.NoBrush)


def draw_other_cg(painter: QPainter, at: Place, inks: Inks, radius: float = 6.5) -> None:
    """The CG that the design does not go by: the quartered circle in outline only."""
    x, y = at
    for pen in _rimmed(inks, inks.ink_soft, 0.55 * radius, 0.215 * radius):
        painter.setPen(pen)
        painter.drawEllipse(QPointF(x, y), radius, radius)
        painter.drawLine(QPointF(x - radius, y), QPointF(x + radius, y))
        painter.drawLine(QPointF(x, y - radius), QPointF(x, y + radius))


def draw_cla(painter: QPainter, at: Place, inks: Inks, size: float) -> None:
    """The CLA: a plumb bob on its string, as it hangs from a card copy; its tip is the point."""
    x, y = at[0], at[1] - size
    bob = QPainterPath()
    bob.moveTo(x, y + size)
    bob.lineTo(x - 0.62 * size, y - 0.2 * size)
    bob.cubicTo(x - 0.62 * size, y - size, x + 0.62 * size, y - size, x + 0.62 * size, y - 0.2 * size)
    bob.closeSubpath()
    for pen in _rimmed(inks, inks.cla, 0.35 * size, 0.17 * size):
        painter.setPen(pen)
        painter.drawLine(QPointF(x, y - 0.8 * size), QPointF(x, y - 2.1 * size))
    painter.strokePath(bob, QPen(QColor(inks.paper), 0.33 * size))
    painter.fillPath(bob, QColor(inks.cla))


def draw_fin_centre(painter: QPainter, at: Place, inks: Inks, radius: float) -> None:
    """The fin centre: a ring with a cross through it."""
    x, y = at
    for pen in _rimmed(inks, inks.fin, 0.6 * radius, 0.27 * radius):
        painter.setPen(pen)
        painter.drawEllipse(QPointF(x, y), radius, radius)
        painter.drawLine(QPointF(x - 1.6 * radius, y), QPointF(x + 1.6 * radius, y))
        painter.drawLine(QPointF(x, y - 1.6 * radius), QPointF(x, y + 1.6 * radius))


def draw_neutral(painter: QPainter, at: Place, inks: Inks, size: float) -> None:
    """The neutral point in pitch: the edge that the wing would balance on."""
    _hollow(painter, at, inks, size, ((0.0, 0.0), (-0.8, 1.5), (0.8, 1.5)))


def disc_ends(design: Design, readings: Readings) -> tuple[Place, Place] | None:
    """Top and bottom of the propeller's disc in the side view, mm; None without one, or without a scale."""
    propeller = design.flight.propeller
    if propeller is None or not readings.scale_known:
        return None
    z = shaft_z(design, propeller.x)
    return (propeller.x, z + 0.5 * propeller.diameter), (propeller.x, z - 0.5 * propeller.diameter)


def draw_disc(painter: QPainter, top: Place, bottom: Place, inks: Inks) -> None:
    """The propeller's disc seen from the side: a thin dashed line between two short bars, its shaft a dot.

    Its name stands over it in small letters.
    """
    (x, high), (_, low) = top, bottom
    for pen in _rimmed(inks, inks.ink_soft, 3.0, 1.2):
        painter.setPen(pen)
        for y in (high, low):
            painter.drawLine(QPointF(x - 4.0, y), QPointF(x + 4.0, y))
    pen = QPen(QColor(inks.ink_soft), 1.2)
    pen.setDashPattern([7.0, 4.0])
    painter.setPen(pen)
    painter.drawLine(QPointF(x, high), QPointF(x, low))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(inks.ink_soft))
    painter.drawEllipse(QPointF(x, 0.5 * (high + low)), 2.0, 2.0)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    usual = painter.font()
    small = QFont(usual)
    small.setPointSizeF(max(7.5, 0.88 * small.pointSizeF()))
    painter.setFont(small)
    painter.setPen(QColor(inks.ink_soft))
    wide = QFontMetricsF(small).horizontalAdvance(DISC_NAME) + 2.0
    # Whole where the disc stands at the edge of what is seen.
    left = max(x - wide / 2, 3.0) if x >= 0 else x - wide / 2
    name = QRectF(left, high - 24.0, wide, 20.0)
    painter.drawText(name, Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignBottom, DISC_NAME)
    painter.setFont(usual)


def draw_yaw_neutral(painter: QPainter, at: Place, inks: Inks, size: float) -> None:
    """The neutral point in yaw: a diamond."""
    _hollow(painter, at, inks, size, ((0.0, -1.0), (1.0, 0.0), (0.0, 1.0), (-1.0, 0.0)))


def _hollow(painter: QPainter, at: Place, inks: Inks, size: float, corners: tuple[Place, ...]) -> None:
    painter.setPen(QPen(QColor(inks.ink), 0.2 * size))
    painter.setBrush(QColor(inks.paper))
    painter.drawPolygon(QPolygonF([QPointF(at[0] + dx * size, at[1] + dy * size) for dx, dy in corners]))
    painter.setBrush(Qt.BrushStyle.NoBrush)
