"""Heading, sideslip or bank over the seconds after a kick: line, band, a kept state's beside it, a cursor."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QPointF, Qt, Signal
from PySide6.QtGui import QBrush, QColor, QMouseEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from app.kit.overrides import errors_told
from app.kit.plain import Label
from app.kit.plots import Axis, StillBox, pg
from app.kit.theme import Theme
from core.geometry.ring import Array
from core.stability.lateral.gust import Band
from core.units import format_angle

_AXIS_PX = 46
_LEAST_PX = 62
_NICE = (2.0, 4.0, 6.0, 8.0, 10.0, 15.0, 20.0, 30.0, 45.0, 60.0, 90.0)
"""Where an axis may end, in degrees. What runs out of the last is past all that the estimate tells."""
_FLAT = 5.0
_ROOM = 0.24
"""What a name takes of a small plot's height."""
_LITTLE = 0.04
"""What does not reach this part of the other side's end needs no side of its own."""


@dataclass(frozen=True, eq=False)
class Line:
    """What one plot shows of one aeroplane: band over ``seconds`` (K,), and its name."""

    seconds: Array
    band: Band
    name: str

    def at(self, second: float) -> tuple[float, float, float]:
        """(low, middle, high) in degrees at that moment."""
        low, middle, high = (
            float(np.interp(second, self.seconds, y))
            for y in (self.band.low, self.band.middle, self.band.high)
        )
        return low, middle, high


@errors_told
class _Seconds(Axis):
    """Whole seconds, with their unit."""

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:
        """The seconds at the ticks; the last has no room for its words."""
        return [f"{value:.0f} s" if spacing >= 1.0 else "" for value in values]


@errors_told
class _Field(pg.PlotWidget):  # type: ignore[misc]
    """The plot: pressing or pulling in it tells the time there."""

    timed = Signal(float)

    def __init__(self) -> None:
        super().__init__(
            viewBox=StillBox(enableMouse=False, enableMenu=False),
            axisItems={"left": Axis("left"), "bottom": _Seconds("bottom")},
        )
        # The slider has the keys.
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)

    def px_of(self, second: float) -> int:
        """Where a moment lies, in pixels of this widget."""
        return int(self.mapFromScene(self.getPlotItem().vb.mapViewToScene(QPointF(second, 0.0))).x())

    def _tell(self, event: QMouseEvent) -> None:
        at = self.mapToScene(event.position().toPoint())
        self.timed.emit(float(self.getPlotItem().vb.mapSceneToView(at).x()))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """To the time under the mouse."""
        if event.button() == Qt.MouseButton.LeftButton:
            self._tell(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Take the time along."""
        if event.buttons() & Qt.MouseButton.LeftButton:
            self._tell(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Nothing more."""


class MotionPlot(QWidget):
    """What it is and reads at the cursor, and the plot beneath it."""

    timed = Signal(float)

    def __init__(self, name: str, sense: str, theme: Theme) -> None:
        super().__init__()
        self._name = name
        self.now: Line | None = None
        self.kept: Line | None = None
        self.ends = (-_NICE[0], _NICE[0])
        self.heading, self.figures, self._sense = Label(name), Label(), Label(sense)
        bold = self.heading.font()
        bold.setBold(True)
        self.heading.setFont(bold)
        self.figures.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.figures.setAccessibleName(f"{name} at the time of the slider")
        self.field = _Field()
        self.field.setAccessibleName(f"{name} over time, {sense}")
        self.field.setFrameShape(self.field.Shape.NoFrame)
        self.field.setMinimumHeight(_LEAST_PX)
        self.field.timed.connect(self.timed)
        row = QHBoxLayout()
        row.setSpacing(8)
        row.addWidget(self.heading)
        row.addWidget(self.figures, 1)
        row.addWidget(self._sense)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addLayout(row)
        layout.addWidget(self.field, 1)
        self._make_lines()
        self.set_theme(theme)

    def _make_lines(self) -> None:
        item = self.field.getPlotItem()
        item.setMenuEnabled(False)
        item.hideButtons()
        item.setContentsMargins(0, 3, 8, 0)
        item.getAxis("left").setWidth(_AXIS_PX)
        for side in ("left", "bottom"):
            item.getAxis(side).enableAutoSIPrefix(False)
        item.getAxis("bottom").setTickSpacing(1.0, 0.5)
        self._lines = {
            whose: tuple(pg.PlotCurveItem(connect="finite", antialias=True) for _ in range(3))
            for whose in ("kept", "now")
        }
        low, _, high = self._lines["now"]
        self._band = pg.FillBetweenItem(low, high)
        self._zero, self._cursor = pg.InfiniteLine(0.0, angle=0), pg.InfiniteLine(0.0, angle=90)
        self._ends = {whose: pg.TextItem("") for whose in self._lines}
        # Names lie on the band and under the lines: they hide nothing that is read.
        self._band.setZValue(-10)
        for name in self._ends.values():
            name.setZValue(-5)
        for thing in (
            self._band, self._zero, *self._lines["kept"], *self._lines["now"], self._cursor,
            *self._ends.values(),
        ):
            self.field.addItem(thing, ignoreBounds=True)

    def set_theme(self, theme: Theme) -> None:
        """Other colours. The kept state is told by dashes and its name as well."""
        self.field.setBackground(QColor(theme.paper))
        self._sense.setStyleSheet(f"color: {theme.ink_soft};")
        wash = QColor(theme.ink_soft)
        wash.setAlpha(70)
        self._band.setBrush(QBrush(wash))
        paper = QColor(theme.paper)
        paper.setAlpha(170)
        dash, dots = Qt.PenStyle.DashLine, Qt.PenStyle.DotLine
        for whose, colour, style in (
            ("now", theme.ink, Qt.PenStyle.SolidLine), ("kept", theme.pick, dash),
        ):
            low, middle, high = self._lines[whose]
            middle.setPen(pg.mkPen(QColor(colour), width=2.2, style=style))
            for edge in (low, high):
                edge.setPen(pg.mkPen(QColor(colour), width=1, style=dots))
            self._ends[whose].setColor(QColor(colour))
            self._ends[whose].fill = QBrush(paper)
        self._zero.setPen(QPen(QColor(theme.ink_soft), 0))
        self._cursor.setPen(pg.mkPen(QColor(theme.below), width=1.4))
        for side in ("bottom", "left"):
            axis = self.field.getPlotItem().getAxis(side)
            axis.setPen(QPen(QColor(theme.ink_soft), 0))
            axis.setTextPen(QColor(theme.ink))

    def show_axis(self, shown: bool) -> None:
        """The axis of time with its figures, or without."""
        axis = self.field.getPlotItem().getAxis("bottom")
        axis.setStyle(showValues=shown)
        axis.setHeight(None if shown else 5)
        self.field.setMinimumHeight(_LEAST_PX + (self.fontMetrics().height() if shown else 0))

    def show_lines(self, now: Line | None, kept: Line | None, seconds: float, steady: bool) -> None:
        """Show these over so many ``seconds``; ``steady``: the axis may grow and does not shrink."""
        self.now, self.kept = now, kept
        for whose, line in (("now", now), ("kept", kept)):
            for curve, name in zip(self._lines[whose], ("low", "middle", "high"), strict=True):
                if line is None:
                    curve.setData([], [])
                else:
                    curve.setData(line.seconds, np.asarray(getattr(line.band, name)))
        self._band.setVisible(now is not None)
        lines = [line for line in (now, kept) if line is not None]
        ends = _ends([line.band for line in lines])
        if len(lines) > 1:
            ends = _with_room(ends, [float(line.band.middle[-1]) for line in lines])
        if steady:
            ends = min(ends[0], self.ends[0]), max(ends[1], self.ends[1])
        self.ends = ends
        box = self.field.getPlotItem().vb
        box.setXRange(0.0, seconds, padding=0.0)
        box.setYRange(*ends, padding=0.06)
        self._name_ends()

    def _name_ends(self) -> None:
        """Where there are two, the names at the ends of the lines, the higher one's above it."""
        both = self.now is not None and self.kept is not None
        for text in self._ends.values():
            text.setVisible(both)
        if self.now is None or self.kept is None:
            return
        now_is_higher = self.now.band.middle[-1] >= self.kept.band.middle[-1]
        for whose, line, higher in (
            ("now", self.now, now_is_higher), ("kept", self.kept, not now_is_higher),
        ):
            second, degrees, inside = self._end(line)
            text = self._ends[whose]
            text.setText(line.name)
            text.setPos(second, degrees)
            if inside:
                text.setAnchor((1.0, 1.0 if higher else 0.0))
            elif degrees > 0.0:
                # Beyond the line that goes out, where there is nothing; each in a row of its own.
                text.setAnchor((0.0, 0.0 if higher else -1.0))
            else:
                text.setAnchor((0.0, 2.0 if higher else 1.0))

    def _end(self, line: Line) -> tuple[float, float, bool]:
        """Where a line ends on the axis, (s, degrees), and whether it stays on it to its end."""
        (low, high), middle = self.ends, line.band.middle
        last = int(np.nonzero((middle >= low) & (middle <= high))[0][-1])
        return float(line.seconds[last]), float(middle[last]), last == len(middle) - 1

    def show_time(self, second: float) -> None:
        """The cursor there, and what is read at it."""
        self._cursor.setValue(second)
        if self.now is None:
            self.figures.setText("")
            return
        low, middle, high = self.now.at(second)
        words = f"{format_angle(middle)}  ({format_angle(low, with_unit=False)} to {format_angle(high)})"
        if self.kept is not None:
            words += f"   - - {format_angle(self.kept.at(second)[1])}"
        self.figures.setText(words)


def _ends(bands: list[Band]) -> tuple[float, float]:
    """Where the axis of degrees ends, nothing always on it."""
    every = np.concatenate([np.asarray(y) for b in bands for y in (b.low, b.high)] or [np.zeros(0)])
    every = every[np.isfinite(every)]
    if not every.any():
        return -_FLAT, _FLAT
    low, high = float(every.min()), float(every.max())
    top, bottom = (next((n for n in _NICE if most <= n), _NICE[-1]) for most in (high, -low))
    return (
        -bottom if -low > _LITTLE * top else -_LITTLE * 2.0 * top,
        top if high > _LITTLE * bottom else _LITTLE * 2.0 * bottom,
    )


def _with_room(ends: tuple[float, float], last: list[float]) -> tuple[float, float]:
    """Ends of the axis with room for a name above the highest of the lines' ``last`` and below the lowest."""
    low, high = ends
    room = _ROOM * (high - low)
    return (
        low - room if low <= min(last) < low + room else low,
        high + room if high - room < max(last) <= high else high,
    )
