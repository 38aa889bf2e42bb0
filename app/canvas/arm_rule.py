"""The arm rule: 0 % at the CG, 100 % at the fin centre, the aim as a span, the CLA as a pointer."""

from __future__ import annotations

from typing import Literal

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QFontMetricsF,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.canvas import marks
from app.canvas.canvas import Canvas
from app.document import Document
from app.overrides import errors_told
from app.readout import Readout
from app.theme import Theme
from core.design import Aim, Design
from core.redesign.design_edits import set_aim
from core.stability.wording import aim_words, percent

Grip = Literal["low", "aim", "high", "span"]
GRAB_PX = 8.0
HEIGHT = 90
_BAR_TOP, _BAR_HIGH = 34.0, 14.0


def place_of(fraction: float, cg_x: float, arm: float) -> float:
    """Station in mm of a part of the tail arm."""
    return cg_x + fraction * arm


def grip_at(aim: Aim, fraction: float, reach: float) -> Grip | None:
    """Which part of the aim lies at ``fraction`` of the arm, give or take ``reach``.

    Between a limit and the aim the grips leave the middle third to the span, however near they stand.
    """
    if aim.low < fraction < aim.high:
        gap = aim.cla_fraction - aim.low if fraction < aim.cla_fraction else aim.high - aim.cla_fraction
        reach = min(reach, gap / 3)
    gaps: dict[Grip, float] = {
        "aim": abs(aim.cla_fraction - fraction), "low": abs(aim.low - fraction),
        "high": abs(aim.high - fraction),
    }
    grip = min(gaps, key=lambda g: gaps[g])
    if gaps[grip] <= reach:
        return grip
    return "span" if aim.low < fraction < aim.high else None


def dragged_aim(aim: Aim, grip: Grip, fraction: float, start: float) -> tuple[float, float, float]:
    """(low, aim, high) after ``grip`` was pulled from ``start`` to ``fraction``; order is kept."""
    low, middle, high = aim.low, aim.cla_fraction, aim.high
    if grip == "low":
        return min(fraction, middle), middle, high
    if grip == "high":
        return low, middle, max(fraction, middle)
    if grip == "aim":
        return low, min(max(fraction, low), high), high
    step = fraction - start
    return low + step, middle + step, high + step


@errors_told
class ArmRule(QWidget):
    """Lies under the profile and shares its x axis; the aim can be dragged on it."""

    def __init__(self, document: Document, readout: Readout, canvas: Canvas, theme: Theme) -> None:
        super().__init__()
        self._document, self._readout, self._canvas, self._theme = document, readout, canvas, theme
        self._grip: Grip | None = None
        self._over: Grip | None = None
        self._start: tuple[float, Design] | None = None
        self.setFixedHeight(HEIGHT)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setMouseTracking(True)
        # A press takes the keys along: Escape lets go of the aim, arrows go on with it.
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setAccessibleName("Arm rule: from the CG to the fin centre, with the aim and the CLA")
        self.setToolTip(
            "The tail arm: 0 % at the CG, 100 % at the fin centre. Drag the aim or its limits;\n"
            "with the keyboard: left and right move the aim, with Shift its whole span."
        )
        readout.listen(lambda _: self.update())
        canvas.view_changed.connect(self.update)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self.update()

    def sizeHint(self) -> QSize:  # noqa: D102
        return QSize(600, HEIGHT)

    def _arm(self) -> tuple[float, float] | None:
        readings = self._readout.readings
        if readings.cg is None or readings.fin_centre is None:
            return None
        arm = readings.fin_centre[0] - readings.cg.x
        return (readings.cg.x, arm) if arm > 1e-9 else None

    def _x(self, fraction: float) -> float:
        arm = self._arm()
        assert arm is not None
        return self._canvas.view.to_px(place_of(fraction, *arm), 0.0)[0]

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: D102
        theme = self._theme
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), QColor(theme.panel))
        painter.setPen(QPen(QColor(theme.line), 1.0))
        painter.drawLine(0, 0, self.width(), 0)
        if self._arm() is None:
            painter.setPen(QColor(theme.ink_soft))
            missing = self._readout.readings["cla_fraction"].missing or ""
            painter.drawText(
                self.rect(), Qt.AlignmentFlag.AlignCenter,
                f"The arm rule appears with a CG and a vertical tail: {missing}.",
            )
        else:
            self._paint_rule(painter)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QColor(theme.pick))
            painter.drawRect(QRectF(0.5, 0.5, self.width() - 1, self.height() - 1))
        painter.end()

    def _paint_rule(self, painter: QPainter) -> None:
        theme, aim = self._theme, self._document.design.aim
        reading = self._readout.readings["cla_fraction"]
        x0, x1 = self._x(0.0), self._x(1.0)
        bar = QRectF(x0, _BAR_TOP, x1 - x0, _BAR_HIGH)
        painter.fillRect(bar, QColor(theme.paper))
        span = QRectF(self._x(aim.low), _BAR_TOP, self._x(aim.high) - self._x(aim.low), _BAR_HIGH)
        fill = QColor(theme.aim)
        fill.setAlpha(150)
        painter.fillRect(span, fill)
        painter.fillRect(span, QBrush(QColor(theme.ink), Qt.BrushStyle.Dense6Pattern))
        painter.setPen(QPen(QColor(theme.ink), 1.3))
        painter.drawRect(bar)
        self._paint_ticks(painter, x0, x1)
        for grip, fraction in (("low", aim.low), ("high", aim.high), ("aim", aim.cla_fraction)):
            x = self._x(fraction)
            lit = grip in (self._over, self._grip)
            painter.setPen(QPen(QColor(theme.pick if lit else theme.ink), 2.4 if lit else 1.6))
            reach = 6.0 if grip == "aim" else 3.0
            painter.drawLine(QPointF(x, _BAR_TOP - reach), QPointF(x, _BAR_TOP + _BAR_HIGH + reach))
        marks.draw_cg(painter, (x0, _BAR_TOP + _BAR_HIGH / 2), theme, 8.0)
        marks.draw_fin_centre(painter, (x1, _BAR_TOP + _BAR_HIGH / 2), theme, 6.0)
        if reading.value is not None:
            self._paint_pointer(painter, reading.value)
        self._paint_yaw_neutral(painter)

    def _paint_yaw_neutral(self, painter: QPainter) -> None:
        """The yaw neutral point beside the CLA: a diamond, named under the rule."""
        arm, station = self._arm(), self._readout.readings.value("yaw_neutral_x")
        if arm is None or station is None:
            return
        x = self._x((station - arm[0]) / arm[1])
        if not -20 <= x <= self.width() + 20:
            return
        y = _BAR_TOP + _BAR_HIGH / 2
        painter.setPen(QPen(QColor(self._theme.ink), 1.3))
        painter.setBrush(QColor(self._theme.paper))
        corners = ((0, -6), (6, 0), (0, 6), (-6, 0))
        painter.drawPolygon(QPolygonF([QPointF(x + dx, y + dy) for dx, dy in corners]))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        font = QFont(painter.font())
        font.setBold(False)
        font.setPointSizeF(max(7.0, self.font().pointSizeF() * 0.82))
        painter.setFont(font)
        painter.setPen(QColor(self._theme.ink_soft))
        words = "yaw neutral point"
        wide = QFontMetricsF(font).horizontalAdvance(words)
        left = min(max(x - wide / 2, 4.0), self.width() - wide - 4)
        painter.drawLine(QPointF(x, y + 7), QPointF(x, HEIGHT - 14))
        painter.drawText(QPointF(left, HEIGHT - 3), words)

    def _paint_ticks(self, painter: QPainter, x0: float, x1: float) -> None:
        theme = self._theme
        font = QFont(painter.font())
        font.setPointSizeF(max(7.0, font.pointSizeF() * 0.82))
        painter.setFont(font)
        metrics = QFontMetricsF(font)
        step = 10 if x1 - x0 > 340 else 25 if x1 - x0 > 120 else 100
        for per_cent in range(0, 101, step):
            x = x0 + (x1 - x0) * per_cent / 100
            painter.setPen(QPen(QColor(theme.ink), 1.0))
            painter.drawLine(QPointF(x, _BAR_TOP + _BAR_HIGH), QPointF(x, _BAR_TOP + _BAR_HIGH + 5))
            words = f"{per_cent} %"
            painter.setPen(QColor(theme.ink_soft))
            y = _BAR_TOP + _BAR_HIGH + 8 + metrics.ascent()
            painter.drawText(QPointF(x - metrics.horizontalAdvance(words) / 2, y), words)
        aim = self._document.design.aim
        words = f"aim {aim_words(aim)}"
        painter.setPen(QColor(theme.ink_soft))
        wide = metrics.horizontalAdvance(words)
        fraction = self._readout.readings.value("cla_fraction")
        # The pointer carries its own words on its left below the aim, on its right above it.
        x = self._x(aim.low) - wide - 8 if self._right_of_aim(fraction) else self._x(aim.high) + 10
        x = min(max(x, 4.0), self.width() - wide - 4)
        if fraction is not None:
            # With both out of sight at one edge of the rule, they stand side by side.
            left, right = self._cla_words(fraction)
            if x < right + 12 and left < x + wide + 12:
                x = right + 12 if left < self.width() / 2 else left - wide - 12
        painter.drawText(QPointF(x, _BAR_TOP - 6), words)

    def _cla_words(self, fraction: float) -> tuple[float, float]:
        """From where to where the words of the pointer stand."""
        font = QFont(self.font())
        font.setBold(True)
        wide = QFontMetricsF(font).horizontalAdvance(f"CLA {percent(fraction)}")
        x = self._x(fraction)
        left = x + 10 if self._right_of_aim(fraction) else x - wide - 10
        left = min(max(left, 4.0), self.width() - wide - 4)
        return left, left + wide

    def _right_of_aim(self, fraction: float | None) -> bool:
        aim = self._document.design.aim
        return fraction is not None and fraction > (aim.low + aim.high) / 2

    def _paint_pointer(self, painter: QPainter, fraction: float) -> None:
        theme = self._theme
        x = self._x(fraction)
        foot, head = _BAR_TOP - 1, _BAR_TOP - 12
        tip = QPolygonF([QPointF(x, foot), QPointF(x - 6, head), QPointF(x + 6, head)])
        painter.setPen(QPen(QColor(theme.paper), 2.0))
        painter.setBrush(QColor(theme.cla))
        painter.drawPolygon(tip)
        painter.setPen(QPen(QColor(theme.cla), 1.6))
        painter.drawLine(QPointF(x, _BAR_TOP), QPointF(x, _BAR_TOP + _BAR_HIGH))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        font = QFont(self.font())
        font.setBold(True)
        painter.setFont(font)
        painter.drawText(QPointF(self._cla_words(fraction)[0], _BAR_TOP - 6), f"CLA {percent(fraction)}")

    # Dragging the aim

    def _fraction(self, px: float) -> float:
        arm = self._arm()
        assert arm is not None
        return (self._canvas.view.to_mm(px, 0.0)[0] - arm[0]) / arm[1]

    def _grip_under(self, event: QMouseEvent) -> Grip | None:
        arm = self._arm()
        if arm is None or not _BAR_TOP - 10 <= event.position().y() <= _BAR_TOP + _BAR_HIGH + 12:
            return None
        reach = GRAB_PX / self._canvas.view.scale / arm[1]
        return grip_at(self._document.design.aim, self._fraction(event.position().x()), reach)

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: D102
        if event.button() == Qt.MouseButton.LeftButton:
            # A proposal on view goes first, and its tail arm with it.
            self._document.withdraw("arm rule")
            self._grip = self._grip_under(event)
            if self._grip is not None:
                self._start = (self._fraction(event.position().x()), self._document.edited)
                self._document.begin("drag the aim")

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: D102
        if self._grip is None or self._start is None:
            over = self._grip_under(event)
            if over != self._over:
                self._over = over
                self.setCursor(Qt.CursorShape.SizeHorCursor if over else Qt.CursorShape.ArrowCursor)
                self.update()
            return
        if self._arm() is None:
            return
        if not self._document.busy:
            self._grip = self._start = None
            return
        start, design = self._start
        # Half a per cent is as fine as an aim needs to be; Shift for finer.
        fine = 1000 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 200
        fraction = round(self._fraction(event.position().x()) * fine) / fine
        start = round(start * fine) / fine
        aim = dragged_aim(design.aim, self._grip, fraction, start)
        self._document.preview(set_aim(design, *aim), "arm rule")

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: D102
        if self._grip is not None:
            self._grip = self._start = None
            self._document.commit("arm rule")

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: D102
        key = event.key()
        if key == Qt.Key.Key_Escape and self._grip is not None:
            self._grip = self._start = None
            self._document.abort("arm rule")
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            step = -0.005 if key == Qt.Key.Key_Left else 0.005
            grip: Grip = "span" if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else "aim"

            def edit(design: Design) -> Design:
                aim = design.aim
                start = aim.cla_fraction
                return set_aim(design, *dragged_aim(aim, grip, round(start + step, 6), start))

            self._document.apply("move the aim", edit, "arm rule")
        else:
            super().keyPressEvent(event)
