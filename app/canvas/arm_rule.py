"""The arm rule: 0 % at the CG, 100 % at the fin centre, the aim as a span, the CLA as a pointer."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.canvas.aim_grips import CALLED, Grip, dragged_aim, grip_at, place_of, reach_of
from app.canvas.canvas import Canvas
from app.kit.arm_scale import (
    BAR,
    ArmScale,
    Letters,
    draw_arm_scale,
    draw_limit,
    no_rule,
    yaw_neutral_of,
)
from app.kit.overrides import errors_told
from app.kit.theme import Theme
from app.work.document import Document
from app.work.readout import Readout
from core.design import Design
from core.redesign.design_edits import set_aim
from core.stability.wording import percent

GRAB_PX = 8.0
KEY_STEP = 0.005
_ARROWS = (Qt.Key.Key_Left, Qt.Key.Key_Right)
HEIGHT = 90
_BAR_Y = 41.0


@errors_told
class ArmRule(QWidget):
    """Lies under the profile and shares its x axis; the aim can be dragged on it.

    Arrow keys move the grip that has the focus, which is ringed: by Tab the aim, else the one that was
    pressed. A click on nothing leaves the focus where it is.
    """

    told = Signal(str)
    """What the keys do here; empty when they do it elsewhere."""

    def __init__(self, document: Document, readout: Readout, canvas: Canvas, theme: Theme) -> None:
        super().__init__()
        self._document, self._readout, self._canvas, self._theme = document, readout, canvas, theme
        self._letters: Letters | None = None
        self._grip: Grip | None = None
        self._over: Grip | None = None
        self._start: tuple[float, Design] | None = None
        self._keyed: Grip = "aim"
        self._run: Design | None = None
        """What a run of arrow keys has made of the design; None where there is no run."""
        self.setFixedHeight(HEIGHT)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setAccessibleName("Arm rule: from the CG to the fin centre, with the aim and the CLA")
        self.setToolTip(
            "The tail arm: 0 % at the CG, 100 % at the fin centre. Drag the aim or its limits;\n"
            "arrow keys go on with what was pressed, which is ringed then; with Shift all three move."
        )
        # Not by event(): see the canvas.
        self.installEventFilter(self)
        readout.listen(lambda _: self._changed())
        canvas.view_changed.connect(self.update)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self.update()

    def sizeHint(self) -> QSize:  # noqa: D102
        return QSize(600, HEIGHT)

    def _changed(self) -> None:
        self.update()
        if self.hasFocus():
            self._tell()

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
            painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, no_rule(self._readout.readings))
        else:
            self._paint_rule(painter)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QColor(theme.pick))
            painter.drawRect(QRectF(0.5, 0.5, self.width() - 1, self.height() - 1))
        painter.end()

    def _paint_rule(self, painter: QPainter) -> None:
        theme, aim, readings = self._theme, self._document.design.aim, self._readout.readings
        scale = ArmScale(self._x(0.0), self._x(1.0), _BAR_Y, 0.0, float(self.width()))
        if self._letters is None or self._letters.font != self.font():
            self._letters = Letters(self.font())
        fraction, yaw = readings.value("cla_fraction"), yaw_neutral_of(readings)
        draw_arm_scale(painter, scale, aim, fraction, yaw, theme, self._letters.on(painter))
        for grip, part, reach in (
            ("low", aim.low, 3.0), ("high", aim.high, 3.0), ("aim", aim.cla_fraction, 6.0)
        ):
            if grip in (self._over, self._grip):
                draw_limit(painter, scale, part, reach, QPen(QColor(theme.pick), 2.4))
        if self.hasFocus():
            low, high = (self._x(f) for f in reach_of(aim, self._keyed))
            painter.setPen(QPen(QColor(theme.pick), 1.6))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            ring = QRectF(low - 6.0, scale.top - 9.0, high - low + 12.0, BAR + 18.0)
            painter.drawRoundedRect(ring, 5.0, 5.0)

    # Dragging the aim

    def _fraction(self, px: float) -> float:
        arm = self._arm()
        assert arm is not None
        return (self._canvas.view.to_mm(px, 0.0)[0] - arm[0]) / arm[1]

    def _grip_under(self, event: QMouseEvent) -> Grip | None:
        arm = self._arm()
        if arm is None or not -17 <= event.position().y() - _BAR_Y <= 19:
            return None
        reach = GRAB_PX / self._canvas.view.scale / arm[1]
        return grip_at(self._document.design.aim, self._fraction(event.position().x()), reach)

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: D102
        if event.button() == Qt.MouseButton.LeftButton:
            self.settle()
            # A proposal on view goes first, and its tail arm with it.
            self._document.withdraw("arm rule")
            self._grip = self._grip_under(event)
            if self._grip is not None:
                self._keyed = self._grip
                # A press takes the keys along: Escape lets go of the aim, arrows go on with it.
                self.setFocus(Qt.FocusReason.MouseFocusReason)
                self._changed()
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

    # The keys

    def _in_sight(self, grip: Grip) -> bool:
        low, high = (self._x(f) for f in reach_of(self._document.edited.aim, grip))
        return high >= 0.0 and low <= self.width()

    def _tell(self) -> None:
        if self._arm() is None:
            self.told.emit("The arm rule has no aim to move yet.")
            return
        low, high = reach_of(self._document.edited.aim, self._keyed)
        figures = percent(low) if low == high else f"{percent(low)} to {percent(high)}"
        self.told.emit(
            f"{CALLED[self._keyed]}, {figures}: left and right arrow move it by {percent(KEY_STEP)}, with "
            "Shift aim and limits. Return: keep. Escape: as it was, then back to the profile."
        )

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: D102
        key = event.key()
        if key == Qt.Key.Key_Escape and self._grip is not None:
            self._grip = self._start = None
            self._document.abort("arm rule")
        elif key == Qt.Key.Key_Escape and self._running:
            self._document.abort("arm rule")
        elif key == Qt.Key.Key_Escape:
            self._canvas.setFocus()
        elif key in _ARROWS:
            shifted = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            self._step("span" if shifted else self._keyed, -KEY_STEP if key == Qt.Key.Key_Left else KEY_STEP)
        elif key != Qt.Key.Key_Shift:
            self.settle()
            super().keyPressEvent(event)

    def _step(self, grip: Grip, step: float) -> None:
        self._document.withdraw("arm rule")
        if self._arm() is None or self._grip is not None:
            return
        if not self._in_sight(grip):
            self._canvas.say("The aim is out of sight: the arrow keys move it only where it is seen.")
            return
        if not self._running:
            self._document.begin("move the aim", lasting=True)
        aim = self._document.edited.aim
        start, _ = reach_of(self._document.edited.aim, grip)
        moved = dragged_aim(aim, grip, round(start + step, 6), start)
        self._run = set_aim(self._document.edited, *moved)
        self._document.preview(self._run, "arm rule")

    @property
    def _running(self) -> bool:
        """Whether a run of arrow keys is under way, which will be one entry of undo."""
        return self._run is not None and self._document.busy and self._document.edited is self._run

    def settle(self) -> None:
        """A run of arrow keys ends and becomes one entry of undo."""
        if self._running:
            self._document.commit("arm rule")
        self._run = None

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: D102
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            run_on = event.key() in (*_ARROWS, Qt.Key.Key_Shift, Qt.Key.Key_Escape)
            if not run_on:
                # Before undo, saving and the like: they find the run done.
                self.settle()
        return False

    def focusInEvent(self, event: QFocusEvent) -> None:  # noqa: D102
        if event.reason() in (Qt.FocusReason.TabFocusReason, Qt.FocusReason.BacktabFocusReason):
            self._keyed = "aim"
        self._changed()

    def focusOutEvent(self, event: QFocusEvent) -> None:  # noqa: D102
        self.settle()
        self.told.emit("")
        self.update()
