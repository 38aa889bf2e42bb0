"""The hands in the order of work: open a scan, scale, level, trace, mark, change, print."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QGridLayout, QSizePolicy, QToolButton, QWidget

from app.canvas.canvas import Canvas
from app.kit.theme import Theme, icon
from app.work.readout import Readout


class HandsPanel(QWidget):
    """Two columns of buttons, read row by row."""

    def __init__(
        self, canvas: Canvas, readout: Readout, theme: Theme, open_scan: Callable[[], None],
        make_sheet: Callable[[], None],
    ) -> None:
        super().__init__()
        self._canvas = canvas
        self.buttons: dict[str, QToolButton] = {}
        grid = QGridLayout(self)
        grid.setContentsMargins(8, 8, 8, 6)
        grid.setSpacing(4)
        # A hand without a letter is taken by a window, not here.
        lettered = (name for name, hand in canvas.hands.items() if hand.letter)
        order = ("open", *lettered, "sheet")
        for at, name in enumerate(order):
            button = QToolButton()
            button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
            button.setIconSize(QSize(24, 24))
            button.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            button.setMinimumHeight(34)
            if name == "open":
                button.setText("Open scan")
                button.clicked.connect(open_scan)
            elif name == "sheet":
                button.setText("Bench sheet")
                button.clicked.connect(make_sheet)
            else:
                hand = canvas.hands[name]
                button.setText(hand.label)
                button.setCheckable(True)
                button.clicked.connect(lambda _checked=False, n=name: self._take(n))
                # For its own window: a second one would make the letter ambiguous, and neither would take it.
                shortcut = QShortcut(QKeySequence(hand.letter), self)
                shortcut.activated.connect(lambda n=name: self._take(n))
            button.setAccessibleName(button.text())
            self.buttons[name] = button
            # The last one of an odd number takes its row whole.
            grid.addWidget(button, at // 2, at % 2, 1, 1 + (at == len(order) - 1 and at % 2 == 0))
        self.set_theme(theme)
        canvas.hand_changed.connect(lambda _: self.refresh())
        readout.listen(lambda _: self.refresh())
        self.refresh()

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        for name, button in self.buttons.items():
            drawn = {"open": "open-scan", "sheet": "sheet"}.get(name) or self._canvas.hands[name].icon
            button.setIcon(icon(drawn, theme.ink))

    def _take(self, name: str) -> None:
        why = self._canvas.hands[name].unusable()
        if why:
            self._canvas.say(f"{self._canvas.hands[name].label}: {why}")
        else:
            self._canvas.take_hand(name)
            self._canvas.setFocus()
        self.refresh()

    def refresh(self) -> None:
        """Show which hand is in use, and why others cannot be."""
        for name, button in self.buttons.items():
            if name in ("open", "sheet"):
                tip = "Open a scan of the plan"
                if name == "sheet":
                    tip = "Export the one-page bench sheet as PDF"
            else:
                hand = self._canvas.hands[name]
                why = hand.unusable()
                tip = f"{hand.tip} ({hand.letter})" + (f"\nNot yet: {why}." if why else "")
                button.setChecked(self._canvas.hand.name == name)
                if button.property("waiting") != bool(why):
                    button.setProperty("waiting", bool(why))
                    button.setStyleSheet("color: palette(placeholder-text);" if why else "")
            if button.toolTip() != tip:
                button.setToolTip(tip)
