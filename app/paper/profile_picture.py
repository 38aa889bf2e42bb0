"""A picture of the profile for showing around: marks, arm rule and answer, as PNG or SVG."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QRectF, QSize
from PySide6.QtGui import QImage, QPainter

from app.kit.sentences import as_sentence
from app.paper.bands import RULE_TALL, draw_arm_rule, rule_top
from app.paper.frame import Frame, extents_of, fit
from app.paper.ink import Ink, one_line
from app.paper.pages import application_for_fonts
from app.paper.png import png_bytes
from app.paper.profile import draw_grid, draw_profile
from core.design import Design
from core.exchange.faults import ExchangeError
from core.stability.answer import answer
from core.stability.readings import Readings

_PX_PER_MM = 8
_WIDE, _TALLEST, _EDGE, _HEAD, _AIR = 240.0, 140.0, 8.0, 19.0, 7.0


@dataclass(frozen=True)
class _Plan:
    """What is drawn, and how high the picture is, in mm."""

    design: Design
    readings: Readings
    frame: Frame
    tall: float


def png_picture(design: Design, readings: Readings) -> bytes:
    """A PNG 240 mm wide at 8 pixels a mm, ``readings`` those of ``design``. ExchangeError where nothing is
    traced.
    """
    plan = _plan(design, readings)
    with application_for_fonts():
        image = QImage(round(_WIDE * _PX_PER_MM), round(plan.tall * _PX_PER_MM), QImage.Format.Format_RGB32)
        image.fill(0xFFFFFFFF)
        image.setText("Software", "Sternpost")
        image.setDotsPerMeterX(1000 * _PX_PER_MM)
        image.setDotsPerMeterY(1000 * _PX_PER_MM)
        painter = QPainter(image)
        try:
            _paint(painter, plan)
        finally:
            painter.end()
        return png_bytes(image)


def svg_picture(design: Design, readings: Readings) -> bytes:
    """The same as SVG. Its lines are rounded for the eye: outlines to work on are in ``svg_bytes``."""
    from PySide6.QtSvg import QSvgGenerator

    plan = _plan(design, readings)
    with application_for_fonts():
        held = QByteArray()
        buffer = QBuffer(held)
        buffer.open(QIODevice.OpenModeFlag.WriteOnly)
        # The default profile of SVG has no clip, and the marks' lines would run out of the frame.
        made = QSvgGenerator(QSvgGenerator.SvgVersion.Svg11)
        made.setOutputDevice(buffer)
        made.setTitle(one_line(design.title[:200]))
        made.setResolution(round(_PX_PER_MM * 25.4))
        size = QSize(round(_WIDE * made.resolution() / 25.4), round(plan.tall * made.resolution() / 25.4))
        made.setSize(size)
        made.setViewBox(QRectF(0, 0, size.width(), size.height()))
        painter = QPainter(made)
        try:
            _paint(painter, plan)
        finally:
            painter.end()
        buffer.close()
        return bytes(held.data())


def _plan(design: Design, readings: Readings) -> _Plan:
    extents = extents_of(design, readings)
    if extents is None:
        raise ExchangeError("outlines: found nothing to draw; trace an outline before exporting")
    wide = _WIDE - 2 * _EDGE
    per_mm, ratio = fit(extents, wide - 2 * _AIR, _TALLEST - 2 * _AIR, known=readings.scale_known)
    tall = max((extents[3] - extents[1]) * per_mm + 2 * _AIR, 40.0)
    area = QRectF(_EDGE, _HEAD, wide, tall)
    frame = Frame(area, (extents[0] + extents[2]) / 2, (extents[1] + extents[3]) / 2, per_mm, ratio)
    return _Plan(design, readings, frame, area.bottom() + RULE_TALL + _EDGE)


def _paint(painter: QPainter, plan: _Plan) -> None:
    design, readings, frame = plan.design, plan.readings, plan.frame
    area, rule = frame.area, frame.area.bottom()
    bottom = rule + RULE_TALL
    ink = Ink(painter)
    try:
        said = answer(design, readings)
        title = ink.cut(one_line(design.title[:200]) or "Untitled", 16.0, area.width(), bold=True)
        ink.text(_EDGE, 9.5, title, 16.0, bold=True)
        told = said.sentence if readings.untold is not None else ""
        words = f"{said.sentence} {as_sentence(said.state_words)}" if said.figure else told
        ink.text(_EDGE, 15.5, ink.cut(words, 10.0, area.width()), 10.0)
        draw_grid(ink, design, frame, area.top(), bottom)
        on_rule = readings["cla_fraction"].value is not None
        names = {f"outline {outline.id}": outline.name for outline in design.outlines}
        draw_profile(ink, design, readings, frame, names, rule_top(rule) if on_rule else rule, legend=True)
        draw_arm_rule(ink, design, readings, frame, rule)
        ink.pen(0.2)
        ink.stroke(QRectF(area.left(), area.top(), area.width(), bottom - area.top()))
        ink.line(area.left(), rule, area.right(), rule)
    finally:
        ink.done()
