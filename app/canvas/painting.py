"""Painting of the profile: what rests from its layers, what moves anew, and how little of it can be."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRect, QRectF
from PySide6.QtGui import QColor, QPainter, QRegion
from PySide6.QtWidgets import QWidget

from app.canvas.frame import Frame, draw_frame, moves_everything, moving_px
from app.canvas.layers import RULER_PX, Ghost, Layers, draw_ruler, moving_outlines
from app.canvas.tools.edit import EditHand
from app.canvas.tools.hand import Hand, Overlay
from app.canvas.view import View
from app.kit.theme import Theme
from app.scans.shelf import Shelf
from app.work.document import Document
from app.work.readout import Readout
from app.work.selection import Picked


class Painting:
    """Draws what is on view."""

    def __init__(
        self, document: Document, readout: Readout, picked: Picked, shelf: Shelf, theme: Theme
    ) -> None:
        self._document, self._readout, self._picked, self._shelf = document, readout, picked, shelf
        self.theme = theme
        self.layers = Layers()
        self.ghost: Ghost | None = None
        self.figure_at = QPointF()
        """Where the cursor is, which the figure stands beside."""
        self._moved = QRegion()

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self.theme = theme
        self.layers.drop()

    def begin(self, whole: QRect) -> None:
        """A gesture may begin: its first frame is painted whole."""
        self._moved = QRegion(whole)

    def moved(self, whole: QRect, view: View, *, show_weights: bool) -> QRegion:
        """Only that which a gesture moves, before and after: a frame's cost is mostly its area."""
        now, was = self._document.design, self._document.committed
        region = QRegion(whole)
        if now.surfaces == was.surfaces and not moves_everything(now, was, show_weights=show_weights):
            region = moving_px(now, self._readout.readings, view, self._moving(), self.figure_at)
        stale, self._moved = region + self._moved, region
        return stale

    def _moving(self) -> frozenset[str]:
        document = self._document
        return moving_outlines(document.design, document.committed, self._picked.now.outlines)

    def paint(
        self, painter: QPainter, due: QRect, canvas: QWidget, view: View, hand: Hand, half: Overlay | None, *,
        show_weights: bool,
    ) -> None:
        """Paint what is ``due`` of ``canvas``; ``half`` is what waits half drawn."""
        document, readings, moving = self._document, self._readout.readings, self._moving()
        size = canvas.size()
        resting = self.layers.resting(
            self._shelf.with_guest(document.design), moving, self._shelf, view, size,
            canvas.devicePixelRatioF(), self.theme, ghost=self.ghost,
        )
        painter.drawPixmap(0, 0, resting)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if due.bottom() >= size.height() - RULER_PX:
            units = document.design.display_units if readings.scale_known else None
            draw_ruler(painter, view, size, self.theme, units)
        edit = hand if isinstance(hand, EditHand) else None
        draw_frame(
            painter,
            Frame(
                document.design, readings, view, self._picked.now, moving,
                edit.hover if edit and document.proposal is None else None, hand.overlay(),
                self.figure_at, edit is not None,
                show_weights, edit.hover_weight if edit else None, half,
            ),
            self.theme, size,
        )
        if canvas.hasFocus():
            painter.setPen(QColor(self.theme.pick))
            painter.drawRect(QRectF(0.5, 0.5, size.width() - 1, size.height() - 1))
