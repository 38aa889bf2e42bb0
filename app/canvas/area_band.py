"""The area band: side area per millimetre along the aeroplane, on the profile's own x axis."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QEvent, QPointF, Qt, QTimer
from PySide6.QtGui import QBrush, QColor, QFont, QFontMetricsF, QPen, QWheelEvent
from PySide6.QtWidgets import QGraphicsSceneWheelEvent

from app.canvas.canvas import Canvas
from app.kit.band_words import ONCE, TWICE, greatest_words
from app.kit.inks import mixed
from app.kit.overrides import errors_told
from app.kit.plots import pg
from app.kit.round_steps import nice_step, round_top
from app.kit.theme import Theme
from app.work.document import Change
from app.work.readout import Readout
from core.geometry.ring import Array

HEIGHT = 104
_STATIONS = 480


@errors_told
class _StillBox(pg.ViewBox):  # type: ignore[misc]
    """A view box that leaves the wheel to the canvas."""

    def wheelEvent(self, event: QGraphicsSceneWheelEvent, axis: int | None = None) -> None:
        event.ignore()


@errors_told
class AreaBand(pg.PlotWidget):  # type: ignore[misc]
    """Single and doubled side area per mm, one on the other, with CG and CLA across them."""

    def __init__(self, readout: Readout, canvas: Canvas, theme: Theme) -> None:
        super().__init__(viewBox=_StillBox(enableMouse=False, enableMenu=False))
        self._readout, self._canvas, self._theme = readout, canvas, theme
        self.setFixedHeight(HEIGHT)
        self.setFrameShape(self.Shape.NoFrame)
        self.setAccessibleName("Area band: side area per millimetre along the aeroplane")
        self.setToolTip(
            "Side area per millimetre along the aeroplane. Plain: what is counted once.\n"
            "Hatched, on top of it: what is counted twice or more. It balances at the CLA."
        )
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        item = self.getPlotItem()
        item.hideAxis("left")
        item.hideAxis("bottom")
        item.hideButtons()
        item.layout.setContentsMargins(0, 0, 0, 0)
        item.layout.setSpacing(0)
        item.vb.setDefaultPadding(0)
        item.setContentsMargins(0, 0, 0, 0)
        # The doubled part shows above the single one, whose opaque fill covers the rest of the hatch:
        # two plain fills cost a fifth of a fill between two curves.
        self._single, self._whole = pg.PlotCurveItem(fillLevel=0.0), pg.PlotCurveItem(fillLevel=0.0)
        self._cg, self._cla = pg.InfiniteLine(angle=90), pg.InfiniteLine(angle=90)
        for thing in (self._whole, self._single, self._cg, self._cla):
            self.addItem(thing)
        self._words = pg.TextItem(anchor=(0, 0))
        self._words.setParentItem(item.vb)
        self._words.setPos(6, 2)
        self._top = 0.0
        # While a hand moves, forty drawings a second are as many as the eye follows here.
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(25)
        self._soon.timeout.connect(self.redraw)
        self.set_theme(theme)
        readout.listen(self._changed)
        canvas.view_changed.connect(self._look)
        self.redraw()

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self.setBackground(QColor(theme.panel))
        ink = QColor(theme.ink)
        self._single.setBrush(QBrush(mixed(theme.body, theme.panel, 0.6)))
        self._whole.setBrush(QBrush(mixed(theme.ink, theme.panel, 0.7), Qt.BrushStyle.BDiagPattern))
        self._single.setPen(QPen(ink, 0))
        self._whole.setPen(QPen(ink, 0))
        self._cg.setPen(pg.mkPen(QColor(theme.ink), width=1.4, style=Qt.PenStyle.DashLine))
        self._cla.setPen(pg.mkPen(QColor(theme.cla), width=2.0))
        self._words.setColor(QColor(theme.ink_soft))
        self._words.fill = pg.mkBrush(QColor(theme.panel))
        font = QFont(self.font())
        font.setPointSizeF(max(7.0, font.pointSizeF() * 0.82))
        self._words.setFont(font)

    def _changed(self, change: Change) -> None:
        if change.what in ("preview", "proposal"):
            if not self._soon.isActive():
                self._soon.start()
        else:
            self._soon.stop()
            self.redraw()

    def redraw(self) -> None:
        """Show the readings' side area."""
        readings = self._readout.readings
        stations = self._stations()
        single, doubled = readings.side.depths(stations)
        whole = single + doubled
        self._single.setData(stations, single)
        self._whole.setData(stations, whole)
        for line, x in (
            (self._cg, readings.cg.x if readings.cg else None),
            (self._cla, readings.cla[0] if readings.cla else None),
        ):
            line.setVisible(x is not None)
            if x is not None:
                line.setValue(x)
        self._fit_height(float(whole.max(initial=0.0)))
        self._look_at()

    def _stations(self) -> Array:
        """Evenly spaced stations over what is seen, held to a grid so that a small pan changes none."""
        view, width = self._canvas.view, max(self._canvas.width(), 50)
        step = nice_step(width / view.scale / _STATIONS)
        first = np.floor(view.x / step)
        return np.asarray((first + np.arange(int(width / view.scale / step) + 3)) * step)

    def _fit_height(self, highest: float) -> None:
        # The range moves in steps, so that the band does not breathe under a drag.
        wanted = round_top(max(highest, 1e-6) * 1.3)
        if wanted != self._top:
            self._top = wanted
            self.getPlotItem().vb.setYRange(0, wanted, padding=0)
        short, deepest = f"hatched: {TWICE}", ""
        long = f"side area along the length: plain {ONCE}, hatched {TWICE.removeprefix('counted ')}"
        if self._readout.readings.scale_known and highest > 0:
            deepest = f" · {greatest_words(highest, self._canvas.design.display_units)}"
        wide = QFontMetricsF(self._words.textItem.font()).horizontalAdvance(long + deepest)
        fits = wide < self.width() - 20
        self._words.setText((long if fits else short) + deepest)

    def _look(self) -> None:
        self._look_at()
        if not self._soon.isActive():
            self._soon.start()

    def _look_at(self) -> None:
        view, width = self._canvas.view, max(self.width(), 1)
        self.getPlotItem().vb.setXRange(view.x, view.x + width / view.scale, padding=0)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom all three bands, about the same station."""
        self._canvas.wheelEvent(event)

    def changeEvent(self, event: QEvent) -> None:
        """A new font or size is taken up with the next drawing."""
        super().changeEvent(event)

    def resizeEvent(self, event: QEvent) -> None:
        """Keep the x axis the profile's own."""
        super().resizeEvent(event)
        if hasattr(self, "_top"):
            self._look_at()

    def station_at(self, px: float) -> float:
        """Station in mm under a pixel of this band, by its own axis: the profile's, or it is a fault."""
        return float(self.getPlotItem().vb.mapSceneToView(QPointF(px, 10)).x())
