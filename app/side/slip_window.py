"""The curve that no card can give: the moment in yaw from straight ahead to broadside on."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPen
from PySide6.QtWidgets import QLabel, QVBoxLayout

from app.kit.plots import pg
from app.kit.theme import Theme
from app.side.beside import Beside
from app.side.side_window import SideWindow
from app.work.document import Change
from core.stability.lateral.slip_range import slip_curve

_PAUSE_MS = 80


class SlipWindow(SideWindow):
    """Stays open beside the window and follows the design when the hand pauses."""

    def __init__(self, beside: Beside) -> None:
        super().__init__(beside, "Yaw through the whole range of sideslip")
        self.resize(720, 520)
        self.plot = pg.PlotWidget()
        self.plot.setAccessibleName("Moment in yaw over the angle of sideslip")
        self.words, self._note = QLabel(), QLabel()
        for label in (self.words, self._note):
            label.setWordWrap(True)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._note.setText(
            "At small angles the handbook's slope rules; the further it slips, the more the load is drag "
            "across the flow, spread over the side area: broadside on it acts near the CLA. This is the "
            "bridge between the card on the wall and the aeroplane in the air. A rough estimate, from "
            "memory of the sources, without propeller: try slips high up first."
        )
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.addWidget(self.words)
        layout.addWidget(self.plot, 1)
        layout.addWidget(self._note)
        item = self.plot.getPlotItem()
        item.setMenuEnabled(False)
        item.hideButtons()
        item.setMouseEnabled(False, False)
        item.setLabel("bottom", "sideslip, degrees")
        item.setLabel("left", "turns it back  ↑   moment / q, dm³   ↓  swings it round")
        self._legend = item.addLegend(offset=(12, 8))
        self._curves = {
            name: self.plot.plot([], [], name=words)
            for name, words in (
                ("total", "all together"), ("fin", "fin"), ("body_attached", "body, attached flow"),
                ("cross_flow", "side area across the flow"), ("slope", "slope at small angles"),
            )
        }
        self._zero = pg.InfiniteLine(0, angle=0)
        self._reversal = pg.InfiniteLine(0, angle=90, label="swings round", labelOpts={"position": 0.9})
        for line in (self._zero, self._reversal):
            self.plot.addItem(line)
        self._soon = self._timer(_PAUSE_MS, self.redraw)
        self.set_theme(beside.theme)
        self._listen(self._readout, self._changed)
        self.redraw()

    def _changed(self, change: Change) -> None:
        if not self._soon.isActive():
            self._soon.start()

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        super().set_theme(theme)
        self.plot.setBackground(QColor(theme.paper))
        self._note.setStyleSheet(f"color: {theme.ink_soft};")
        styles = {
            "total": (theme.ink, 2.6, Qt.PenStyle.SolidLine), "fin": (theme.fin, 1.6, Qt.PenStyle.DashLine),
            "body_attached": (theme.below, 1.6, Qt.PenStyle.DotLine),
            "cross_flow": (theme.cla, 1.6, Qt.PenStyle.DashDotLine),
            "slope": (theme.ink_soft, 1.0, Qt.PenStyle.DashLine),
        }
        for name, (colour, width, style) in styles.items():
            self._curves[name].setPen(pg.mkPen(QColor(colour), width=width, style=style))
        self._legend.setLabelTextColor(QColor(theme.ink))
        self._zero.setPen(QPen(QColor(theme.ink), 0))
        self._reversal.setPen(pg.mkPen(QColor(theme.above), width=2))
        for side in ("bottom", "left"):
            axis = self.plot.getPlotItem().getAxis(side)
            axis.setPen(QPen(QColor(theme.ink_soft), 0))
            axis.setTextPen(QColor(theme.ink))

    def redraw(self) -> None:
        """Show the curve of the design as it is now."""
        curve = slip_curve(self._readout.readings.aeroplane)
        if isinstance(curve, str):
            self.words.setText(f"Not yet: {curve}.")
            for line in self._curves.values():
                line.setData([], [])
            self._reversal.hide()
            return
        proposed = self._document.proposal is not None
        self.words.setText(f"If the proposal is done: {curve.sentence}" if proposed else curve.sentence)
        for name in ("total", "fin", "body_attached", "cross_flow"):
            self._curves[name].setData(curve.beta_deg, getattr(curve, name) / 1e6)
        near = curve.beta_deg[curve.beta_deg <= 30.0]
        self._curves["slope"].setData(near, curve.slope * np.radians(near) / 1e6)
        self._reversal.setVisible(curve.reversal_deg is not None)
        if curve.reversal_deg is not None:
            self._reversal.setValue(curve.reversal_deg)
        self.plot.getPlotItem().vb.setXRange(0, 90, padding=0.01)
