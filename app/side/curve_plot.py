"""One reading over one thing that is changed: curve, band, the range it should lie in, and the point."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QPointF, Qt, Signal
from PySide6.QtGui import QBrush, QColor, QKeyEvent, QMouseEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from app.kit.overrides import errors_told
from app.kit.plain import OwnHtml
from app.kit.plots import Axis, StillBox, pg
from app.kit.theme import Theme
from core.geometry.ring import Array

_GRAB_PX = 12.0
_AXIS_PX = 58
_LEAST_PX = 72


@dataclass(frozen=True, eq=False)
class Shown:
    """What a plot shows, in the units of its axes. Arrays (points,); NaN where there is a gap."""

    x: Array
    y: Array
    low: Array | None = None
    high: Array | None = None
    """The band about the curve."""
    range_low: float | None = None
    range_high: float | None = None
    """The range to lie in; None: open on that side."""
    least: float = 1.0
    """The least that the y axis spans: a curve that is level is to look level."""


@errors_told
class _Field(pg.PlotWidget):  # type: ignore[misc]
    """The plot, whose point is pulled sideways by mouse or arrow keys."""

    pressed = Signal(float)
    moved = Signal(float)
    released = Signal()
    nudged = Signal(int)
    ended = Signal()

    def __init__(self) -> None:
        super().__init__(
            viewBox=StillBox(enableMouse=False, enableMenu=False),
            axisItems={side: Axis(side) for side in ("left", "bottom")},
        )
        self.point: tuple[float, float] | None = None
        self._held = False
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.viewport().setMouseTracking(True)

    def px_of(self, x: float, y: float) -> QPointF:
        """Where a point of the axes lies, in pixels of this widget."""
        return QPointF(self.mapFromScene(self.getPlotItem().vb.mapViewToScene(QPointF(x, y))))

    def x_at(self, px: float) -> float:
        """What lies under a pixel, on the x axis."""
        return float(self.getPlotItem().vb.mapSceneToView(self.mapToScene(round(px), 10)).x())

    def _near(self, at: QPointF) -> bool:
        if self.point is None:
            return False
        return abs(self.px_of(*self.point).x() - at.x()) <= _GRAB_PX

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of the point, anywhere along its upright line."""
        if event.button() == Qt.MouseButton.LeftButton and self._near(event.position()):
            self._held = True
            self.pressed.emit(self.x_at(event.position().x()))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Pull it along."""
        if self._held:
            self.moved.emit(self.x_at(event.position().x()))
            return
        near = self._near(event.position())
        self.viewport().setCursor(Qt.CursorShape.SizeHorCursor if near else Qt.CursorShape.ArrowCursor)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go of it."""
        if self._held and event.button() == Qt.MouseButton.LeftButton:
            self._held = False
            self.released.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows step along the curve, Return takes what is shown."""
        step = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(event.key()))
        if step is not None:
            big = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            self.nudged.emit(10 * step if big else step)
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.ended.emit()
        else:
            # Escape is the window's.
            event.ignore()


class CurvePlot(QWidget):
    """A heading with the figure at the point, and the plot beneath it."""

    def __init__(self, name: str, range_words: str, theme: Theme) -> None:
        super().__init__()
        self._name, self._theme = name, theme
        self.shown: Shown | None = None
        self.heading = OwnHtml(name)
        self.heading.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.field = _Field()
        self.field.setAccessibleName(name)
        self.field.setFrameShape(self.field.Shape.NoFrame)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.heading)
        layout.addWidget(self.field, 1)
        item = self.field.getPlotItem()
        item.setMenuEnabled(False)
        item.hideButtons()
        item.setContentsMargins(0, 4, 10, 0)
        item.getAxis("left").setWidth(_AXIS_PX)
        for side in ("left", "bottom"):
            item.getAxis(side).enableAutoSIPrefix(False)
        self._range = pg.LinearRegionItem(orientation="horizontal", movable=False)
        self._edges = self._range.lines
        self._range.setZValue(-20)
        self._range_words = pg.TextItem(range_words, anchor=(1, 0))
        self._low, self._high, self._curve = (
            pg.PlotCurveItem(connect="finite", antialias=True) for _ in range(3)
        )
        self._band = pg.FillBetweenItem(self._low, self._high)
        self._band.setZValue(-10)
        self._zero = pg.InfiniteLine(0.0, angle=0)
        self._before = pg.InfiniteLine(angle=90)
        self._line = pg.InfiniteLine(angle=90)
        self._point = pg.ScatterPlotItem(size=13)
        for thing in (
            self._range, self._low, self._high, self._band, self._zero, self._before, self._line, self._curve,
            self._range_words, self._point,
        ):
            self.field.addItem(thing, ignoreBounds=True)
        self.set_theme(theme)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self.field.setBackground(QColor(theme.paper))
        aim = QColor(theme.aim)
        aim.setAlpha(70)
        self._range.setBrush(QBrush(aim))
        for edge in self._edges:
            edge.setPen(pg.mkPen(QColor(theme.aim), width=1))
        self._range_words.setColor(QColor(theme.ink))
        band = QColor(theme.ink_soft)
        band.setAlpha(75)
        self._band.setBrush(QBrush(band))
        thin = pg.mkPen(QColor(theme.ink_soft), width=1, style=Qt.PenStyle.DotLine)
        self._low.setPen(thin)
        self._high.setPen(thin)
        self._curve.setPen(pg.mkPen(QColor(theme.ink), width=2.2))
        self._zero.setPen(QPen(QColor(theme.ink_soft), 0))
        self._before.setPen(pg.mkPen(QColor(theme.ink_soft), width=1, style=Qt.PenStyle.DashLine))
        self._line.setPen(pg.mkPen(QColor(theme.pick), width=1.2))
        self._point.setPen(pg.mkPen(QColor(theme.paper), width=1.6))
        self._point.setBrush(QBrush(QColor(theme.pick)))
        for side in ("bottom", "left"):
            axis = self.field.getPlotItem().getAxis(side)
            axis.setPen(QPen(QColor(theme.ink_soft), 0))
            axis.setTextPen(QColor(theme.ink))

    def show_axis(self, words: str) -> None:
        """The x axis with its words; empty for an axis without figures."""
        axis = self.field.getPlotItem().getAxis("bottom")
        axis.setStyle(showValues=bool(words))
        axis.setLabel(words) if words else axis.showLabel(False)
        axis.setHeight(None if words else 6)
        # Less, and the plot library lets its contents hang out at the bottom.
        self.field.setMinimumHeight(_LEAST_PX + (self.fontMetrics().height() * 2 if words else 0))

    def show_curve(self, shown: Shown, present: float) -> None:
        """Another curve; ``present`` is where the design was that it was computed from."""
        self.shown = shown
        self._curve.setData(shown.x, shown.y)
        banded = shown.low is not None and shown.high is not None
        self._band.setVisible(banded)
        for line, data in ((self._low, shown.low), (self._high, shown.high)):
            line.setVisible(banded)
            line.setData(shown.x, data if data is not None else shown.y)
        self._before.setValue(present)
        box = self.field.getPlotItem().vb
        box.setXRange(float(shown.x[0]), float(shown.x[-1]), padding=0.02)
        low, high = _reach(shown)
        box.setYRange(low, high, padding=0.0)
        ranged = shown.range_low is not None or shown.range_high is not None
        self._range.setVisible(ranged)
        self._range_words.setVisible(ranged)
        if ranged:
            # An open side ends out of sight.
            start = shown.range_low if shown.range_low is not None else low - (high - low)
            end = shown.range_high if shown.range_high is not None else high + (high - low)
            self._range.setRegion((start, end))
            self._place_range_words(shown, min(end, high), high - low)
        self._zero.setVisible(low < 0.0 < high)

    def _place_range_words(self, shown: Shown, top: float, span: float) -> None:
        """At the end where the curve is further off."""
        off_left, off_right = (
            abs(float(y) - top + 0.1 * span) if np.isfinite(y) else span for y in (shown.y[0], shown.y[-1])
        )
        right = off_right >= off_left
        self._range_words.setAnchor((1, 0) if right else (0, 0))
        self._range_words.setPos(float(shown.x[-1 if right else 0]), top)

    def value_at(self, x: float) -> float | None:
        """The curve's own value there; None in a gap."""
        if self.shown is None:
            return None
        y = float(np.interp(x, self.shown.x, self.shown.y))
        return y if np.isfinite(y) else None

    def show_point(self, x: float, y: float | None, words: str) -> None:
        """The point of the design as it is shown, and what it reads, as rich text."""
        self.heading.setText(f"<b>{self._name}</b>&nbsp;&nbsp; {words}")
        self._line.setValue(x)
        self.field.point = (x, y if y is not None else 0.0)
        self._point.setData([x] if y is not None else [], [y] if y is not None else [])

    def point_px(self) -> QPointF:
        """Where the point lies in pixels of the field."""
        assert self.field.point is not None
        return self.field.px_of(*self.field.point)


def _reach(shown: Shown) -> tuple[float, float]:
    """What the y axis shows: the curve, its band, and the nearer limit of the range."""
    parts = [p for p in (shown.y, shown.low, shown.high) if p is not None]
    every = np.concatenate(parts)
    every = every[np.isfinite(every)]
    low, high = (float(every.min()), float(every.max())) if len(every) else (0.0, 1.0)
    limits = [v for v in (shown.range_low, shown.range_high) if v is not None]
    if limits and all(v > high for v in limits):
        high = min(limits)
    if limits and all(v < low for v in limits):
        low = max(limits)
    room = max(0.12 * (high - low), (shown.least - (high - low)) / 2)
    return low - room, high + room
