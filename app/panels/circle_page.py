"""The strip's page of the circle hand: the radius, typed."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QPushButton, QWidget

from app.canvas.canvas import Canvas
from app.canvas.tools.circle import CircleHand
from app.kit.plain import Label
from app.work.document import Document
from core.redesign.outline_edits import EditError
from core.units import UnitError, parse_length


class CirclePage(QWidget):
    """A radius about the centre that was clicked; dim until one was."""

    def __init__(self, document: Document, canvas: Canvas) -> None:
        super().__init__()
        self._document, self._canvas = document, canvas
        label = Label("Radius")
        self.radius = QLineEdit()
        self.radius.setPlaceholderText("centre first")
        self.radius.setAccessibleName("Radius of the circle")
        self.radius.setMinimumWidth(60)
        self.radius.setMaximumWidth(180)
        self.radius.returnPressed.connect(self._typed)
        label.setBuddy(self.radius)
        self.button = QPushButton("Draw it")
        self.button.clicked.connect(self._typed)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        for widget in (label, self.radius, self.button):
            row.addWidget(widget)
        row.addStretch(1)
        self.refresh()

    def refresh(self) -> None:
        """The field is there to be typed into once a centre was clicked."""
        hand = self._canvas.hand
        ready = isinstance(hand, CircleHand) and hand.centre is not None
        if ready != self.radius.isEnabled():
            self.radius.setEnabled(ready)
            self.button.setEnabled(ready)
            self.radius.setPlaceholderText("2 1/4 in, 57 mm" if ready else "centre first")

    def _typed(self) -> None:
        hand = self._canvas.hand
        if not isinstance(hand, CircleHand):
            return
        try:
            hand.typed(parse_length(self.radius.text(), self._document.edited.display_units))
        except (UnitError, EditError) as error:
            self._canvas.say(str(error))
            return
        self.radius.clear()
        self._canvas.setFocus()
        self._canvas.hint_changed.emit()
        self._canvas.update()
