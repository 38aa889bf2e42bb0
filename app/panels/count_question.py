"""The question that a wheel, leg, float or strut is asked once: does it come twice?"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from app.kit.plain import Label, plain
from app.kit.theme import Theme
from core.design import Outline


class CountQuestion(QWidget):
    """One line with two answers; it is there only while there is something to ask, and waits."""

    def __init__(self, settle: Callable[[int], None]) -> None:
        super().__init__()
        self._words = Label()
        self._words.setWordWrap(True)
        self.answers: dict[int, QPushButton] = {}
        row = QHBoxLayout(self)
        row.setContentsMargins(8, 0, 4, 0)
        row.setSpacing(6)
        row.addWidget(self._words, 1)
        for count, name, tip in (
            (2, "It comes twice", "Both sides have one: it counts twice."),
            (1, "It comes once", "There is one: it counts once, and is not asked about again."),
        ):
            button = QPushButton(str(count))
            button.setAccessibleName(name)
            button.setToolTip(plain(tip))
            # A click leaves the keys with the hand that traces.
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.setFixedWidth(button.fontMetrics().horizontalAdvance("0") + 18)
            button.clicked.connect(lambda _checked=False, n=count: settle(n))
            self.answers[count] = button
            row.addWidget(button)
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.setObjectName("question")
        self.hide()

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self.setStyleSheet(
            f"#question {{ background: {theme.paper}; border-left: 3px solid {theme.pick}; }}"
            "#question QPushButton { padding: 3px 6px; }"
        )

    def ask(self, outline: Outline | None) -> None:
        """Ask about that one; None: there is nothing to ask."""
        if outline is not None:
            self._words.setText(f"Does this {outline.kind.split()[-1]} come twice?")
        self.setVisible(outline is not None)

    @property
    def words(self) -> str:
        """What is asked; empty while nothing is."""
        return "" if self.isHidden() else self._words.text()
