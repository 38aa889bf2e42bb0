"""The hands in the order of work: prepare the plan, trace and edit, and what goes on paper."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.canvas.canvas import Canvas
from app.kit.help_places import HANDS, set_help
from app.kit.inks import mixed
from app.kit.plain import Label, plain
from app.kit.theme import Theme, icon
from app.panels.hand_button import HandButton
from app.work.readout import Readout

GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Prepare the plan", ("open", "straighten", "scale", "level", "join", "datum")),
    ("Trace and edit", ("trace", "region", "circle", "edit", "cg")),
    ("Paper", ("sheet",)),
)
"""Heading, and what stands under it: hands by name, "open" a scan, the bench "sheet"."""
_DIM = 0.45


class HandsPanel(QWidget):
    """One column in three groups, with words or, where there is no room for them, icons alone."""

    def __init__(
        self, canvas: Canvas, readout: Readout, theme: Theme, open_scan: Callable[[], None],
        make_sheet: Callable[[], None],
    ) -> None:
        super().__init__()
        self._canvas = canvas
        self.buttons: dict[str, HandButton] = {}
        self.headings: list[Label] = []
        self._lines: list[QWidget] = []
        column = QVBoxLayout(self)
        column.setContentsMargins(6, 6, 6, 6)
        column.setSpacing(1)
        others = {"open": ("Open scan", open_scan), "sheet": ("Bench sheet", make_sheet)}
        for title, names in GROUPS:
            self._add_heading(column, title)
            for name in names:
                words, call = others.get(name) or (canvas.hands[name].label, partial(self.take, name))
                button = HandButton(words, "" if name in others else canvas.hands[name].letter)
                button.setCheckable(name not in others)
                button.clicked.connect(partial(_press, call))
                set_help(button, HANDS[name])
                self.buttons[name] = button
                column.addWidget(button)
        column.addStretch(1)
        self.set_theme(theme)
        self.set_worded(True)
        canvas.hand_changed.connect(lambda _: self.refresh())
        readout.listen(lambda _: self.refresh())
        self.refresh()

    def _add_heading(self, column: QVBoxLayout, title: str) -> None:
        """The words over a group, and the line that stands for them where there is no room."""
        if self.headings:
            column.addSpacing(5)
        heading, line = Label(title), QWidget()
        heading.setContentsMargins(8, 2, 4, 2)
        line.setFixedHeight(1)
        line.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        column.addWidget(heading)
        column.addWidget(line)
        self.headings.append(heading)
        self._lines.append(line)

    @property
    def worded(self) -> bool:
        """True if words stand beside the icons."""
        return not self.headings[0].isHidden()

    def set_worded(self, worded: bool) -> None:
        """Words beside the icons, or icons alone."""
        for button in self.buttons.values():
            button.set_worded(worded)
        for at, (heading, line) in enumerate(zip(self.headings, self._lines, strict=True)):
            heading.setVisible(worded)
            line.setVisible(not worded and at > 0)
        self.setFixedWidth(self.width_if(worded))

    def width_if(self, worded: bool) -> int:
        """How wide it is in px, with words or without."""
        icons = min(b.iconSize().width() for b in self.buttons.values()) + 28
        if not worded:
            return icons
        metrics = self.fontMetrics()
        texts = (b.text() for b in self.buttons.values())
        words = icons + 11 + max(metrics.horizontalAdvance(t) for t in texts) + 22
        return max(words + metrics.horizontalAdvance("W"),
                   max(heading.sizeHint().width() for heading in self.headings) + 12)

    def height_with_words(self) -> int:
        """How high it is in px with words."""
        buttons = sum(b.sizeHint().height() + 1 for b in self.buttons.values())
        return buttons + sum(heading.sizeHint().height() + 8 for heading in self.headings) + 12

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        faint = mixed(theme.ink, theme.panel, _DIM).name()
        for name, button in self.buttons.items():
            drawn = {"open": "open-scan", "sheet": "sheet"}.get(name) or self._canvas.hands[name].icon
            button.set_icon(icon(drawn, theme.ink), icon(drawn, faint), QColor(theme.ink_soft))
        for heading, line in zip(self.headings, self._lines, strict=True):
            heading.setStyleSheet(f"color: {theme.ink_soft};")
            line.setStyleSheet(f"background: {theme.line};")

    def take(self, name: str) -> None:
        """Take the hand of that name, or say why it cannot be taken yet."""
        why = self._canvas.hands[name].unusable()
        if why:
            self._canvas.say(f"{self._canvas.hands[name].label}: {why}")
            # What was ticked by the press goes back to the hand that is in use.
            self._canvas.hand_changed.emit(self._canvas.hand.name)
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
                    tip = "The bench sheet: look at it, write it as PDF or print it"
            else:
                hand = self._canvas.hands[name]
                why = hand.unusable()
                tip = f"{hand.tip} ({hand.letter})" + (f"\nNot yet: {why}." if why else "")
                button.setChecked(self._canvas.hand.name == name)
                button.set_dim(bool(why))
            tip = f"{button.text()}: {tip}" if not tip.startswith(button.text()) else tip
            if button.toolTip() != tip:
                button.setToolTip(plain(tip))
                button.setAccessibleDescription(tip)


def _press(call: Callable[[], None], _checked: bool = False) -> None:
    call()
