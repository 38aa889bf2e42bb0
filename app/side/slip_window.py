"""The curve that no card can give: the moment in yaw from straight ahead to broadside on."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPen
from PySide6.QtWidgets import QVBoxLayout

from app.kit.plain import Label
from app.kit.plots import pg
from app.kit.theme import Theme
from app.side.beside import Beside
from app.side.side_window import SideWindow
from app.work.document import Change
from core.stability.lateral.slip_range import slip_curve
from core.stability.plain_words import group_words
from core.units import MM_PER_IN

_PAUSE_MS = 80
_MM3_PER_DM3 = 1e6


class SlipWindow(SideWindow):
    """Stays open beside the window and follows the design when the hand pauses."""

    shows_on_canvas = True

    def __init__(self, beside: Beside) -> None:
        super().__init__(beside, "Yaw through the whole range of sideslip")
        self.resize(720, 560)
        self.plot = pg.PlotWidget()
        # With its legend under it, less leaves no room for the curves.
        self.plot.setMinimumHeight(180 + 5 * self.fontMetrics().lineSpacing())
        self.plot.setAccessibleName("Moment in yaw over the angle of sideslip")
        self.words, self._note = Label(), Label()
        for label in (self.words, self._note):
            label.setWordWrap(True)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._note.setText(
            "At small angles the handbook's slope rules; the further it slips, the more the load is drag "
            "across the flow, spread over the side area: broadside on it acts near the CLA. This is the "
            "bridge between the card on the wall and the aeroplane in the air. The grey band is the distance "
            "between methods, not a promise. A rough estimate, from memory of the sources, the propeller in "
            "it only where it is entered: try slips high up first."
        )
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.addStrut(self._across(62))
        layout.addWidget(self.words)
        layout.addWidget(self.plot, 1)
        layout.addWidget(self._note)
        item = self.plot.getPlotItem()
        item.setMenuEnabled(False)
        item.hideButtons()
        item.setMouseEnabled(False, False)
        item.setLabel("bottom", "sideslip, degrees")
        self._legend = pg.LegendItem(colCount=2, verSpacing=-6, horSpacing=14)
        self._curves = {}
        for name, words in (
            ("total", "all together"), ("fin", "fin"), ("body_attached", "body, attached flow"),
            ("others_attached", "propeller and wing"), ("cross_flow", "side area across the flow"),
            ("slope", "slope at small angles"),
        ):
            self._curves[name] = self.plot.plot([], [])
            self._legend.addItem(self._curves[name], words)
        # Under the axis: inside the plot it would cover what it names.
        item.layout.addItem(self._legend, 4, 0, 1, 2)
        self._edges = tuple(pg.PlotCurveItem(antialias=True) for _ in range(2))
        self._band = pg.FillBetweenItem(*self._edges)
        self._band.setZValue(-10)
        self._zero = pg.InfiniteLine(0, angle=0)
        self._reversal = pg.InfiniteLine(0, angle=90)
        self._swings = pg.LinearRegionItem(orientation="vertical", movable=False)
        self._swings.setZValue(-20)
        self._swings_word = pg.InfLineLabel(
            self._swings.lines[0], "may swing round", position=0.06, anchors=[(0.0, 0.5), (0.0, 0.5)]
        )
        self._held = pg.InfiniteLine(0, angle=90, label="full rudder", labelOpts={"position": 0.95})
        for thing in (self._swings, *self._edges, self._band, self._zero, self._reversal, self._held):
            self.plot.addItem(thing)
        self._soon = self._timer(_PAUSE_MS, self.redraw)
        self.set_theme(beside.theme)
        self._listen(self._readout, self._changed)
        self.redraw()

    def _changed(self, change: Change) -> None:
        if self._readout.readings.untold is not None:
            self.redraw()
        elif not self._soon.isActive():
            self._soon.start()

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        super().set_theme(theme)
        self.plot.setBackground(QColor(theme.paper))
        self._note.setStyleSheet(f"color: {theme.ink_soft};")
        styles = {
            "total": (theme.ink, 2.6, Qt.PenStyle.SolidLine), "fin": (theme.fin, 1.6, Qt.PenStyle.DashLine),
            "body_attached": (theme.below, 1.6, Qt.PenStyle.DotLine),
            "others_attached": (theme.within, 1.4, Qt.PenStyle.DashDotDotLine),
            "cross_flow": (theme.draft, 1.6, Qt.PenStyle.DashDotLine),
            "slope": (theme.ink_soft, 1.0, Qt.PenStyle.DashLine),
        }
        for name, (colour, width, style) in styles.items():
            self._curves[name].setPen(pg.mkPen(QColor(colour), width=width, style=style))
        for _, label in self._legend.items:
            # The legend's own colour counts for what is still to come alone.
            label.setText(label.text, color=QColor(theme.ink))
        self._zero.setPen(QPen(QColor(theme.ink), 0))
        self._reversal.setPen(pg.mkPen(QColor(theme.above), width=2))
        self._held.setPen(pg.mkPen(QColor(theme.pick), width=1.6, style=Qt.PenStyle.DashLine))
        band, swings = QColor(theme.ink_soft), QColor(theme.above)
        band.setAlpha(75)
        swings.setAlpha(34)
        self._band.setBrush(band)
        self._swings.setBrush(swings)
        for line in self._swings.lines:
            line.setPen(pg.mkPen(QColor(theme.above), width=1, style=Qt.PenStyle.DotLine))
        for edge in self._edges:
            edge.setPen(pg.mkPen(QColor(theme.ink_soft), width=1, style=Qt.PenStyle.DotLine))
        self._swings_word.setColor(QColor(theme.ink))
        self._held.label.setColor(QColor(theme.ink))
        for side in ("bottom", "left"):
            axis = self.plot.getPlotItem().getAxis(side)
            axis.setPen(QPen(QColor(theme.ink_soft), 0))
            axis.setTextPen(QColor(theme.ink))

    def redraw(self) -> None:
        """Show the curve of the design as it is now."""
        self._soon.stop()
        readings = self._readout.readings
        curve = slip_curve(readings.aeroplane) if readings.untold is None else readings.untold
        # A moment over a pressure is a volume.
        volume, unit = (_MM3_PER_DM3, "dm³") if self._document.design.display_units == "mm" else (
            MM_PER_IN**3, "cu in"
        )
        self.plot.getPlotItem().setLabel("left", f"back  ↑   moment / q, {unit}   ↓  round")
        marks = (self._band, self._reversal, self._swings, self._held)
        if isinstance(curve, str):
            self.words.setText(f"Not yet: {curve}.")
            for line in (*self._curves.values(), *self._edges):
                line.setData([], [])
            for mark in marks:
                mark.hide()
            return
        said = f"{curve.sentence} {group_words('rudder', self._document.design, readings)}".strip()
        proposed = self._document.proposal is not None
        self.words.setText(f"If the proposal is done: {said}" if proposed else said)
        for name in ("total", "fin", "body_attached", "others_attached", "cross_flow"):
            self._curves[name].setData(curve.beta_deg, getattr(curve, name) / volume)
        near = curve.beta_deg[curve.beta_deg <= 30.0]
        self._curves["slope"].setData(near, curve.slope * np.radians(near) / volume)
        for edge, data in zip(self._edges, (curve.low, curve.high), strict=True):
            edge.setData(curve.beta_deg, data / volume)
        first = curve.reversal_low_deg
        if first is not None:
            # As far as the band reaches under nought.
            self._swings.setRegion((first, float(curve.beta_deg[curve.low < 0.0].max(initial=first))))
        for mark, at in (
            (self._reversal, curve.reversal_deg), (self._held, readings.value("sideslip_full_rudder_deg"))
        ):
            if at is not None:
                mark.setValue(at)
            mark.setVisible(at is not None)
        self._band.show()
        self._swings.setVisible(first is not None)
        self.plot.getPlotItem().vb.setXRange(0, 90, padding=0.01)
