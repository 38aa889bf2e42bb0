"""The figures of the motion after a gust, each over the words that explain it; a kept state's below."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from app.kit.plain import Label, plain
from app.kit.theme import Theme
from core.stability.aeroplane import Values
from core.units import MISSING, format_number

# (key, what it is called, what it tells, its decimals and unit)
FIGURES: tuple[tuple[str, str, str, int, str], ...] = (
    ("wag_period_s", "To and fro", "time of one whole swing of the nose", 2, "s"),
    ("wag_half_time_s", "Half as large", "after so long its swings have halved", 2, "s"),
    ("wag_damping", "Damping", "0: swings for ever, 1: no swing at all", 2, ""),
    ("roll_time_s", "Roll dies away", "rolling is down to about a third after that", 2, "s"),
    ("spiral_upright_share", "Stays upright", "of 10 draws, so many wind into no spiral", 0, ""),
)


def figure_words(key: str, values: Values) -> str:
    """What a figure reads; the missing sign where there is none."""
    value = values.get(key)
    if not isinstance(value, float | int):
        return MISSING
    _, _, _, places, unit = next(row for row in FIGURES if row[0] == key)
    if key == "spiral_upright_share":
        return f"{format_number(10.0 * value, 0)} of 10"
    return format_number(value, places, unit=unit)


class GustFigures(QWidget):
    """A column a figure."""

    def __init__(self) -> None:
        super().__init__()
        self.now: dict[str, Label] = {}
        self.kept: dict[str, Label] = {}
        self._words: dict[str, Label] = {}
        self._lines: list[QFrame] = []
        layout = QHBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(10)
        for key, name, tells, _, _ in FIGURES:
            if self._words:
                line = QFrame()
                line.setFixedWidth(1)
                self._lines.append(line)
                layout.addWidget(line)
            column = QVBoxLayout()
            column.setSpacing(0)
            heading, words = Label(name), Label(tells)
            now, kept = self.now[key], self.kept[key] = Label(MISSING), Label()
            now.setAccessibleName(f"{name}: {tells}")
            kept.setAccessibleName(f"{name}, kept state: {tells}")
            font = now.font()
            font.setPointSizeF(1.25 * font.pointSizeF())
            font.setBold(True)
            now.setFont(font)
            words.setWordWrap(True)
            words.setAlignment(Qt.AlignmentFlag.AlignTop)
            for label in (heading, now, kept, words):
                label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
                column.addWidget(label)
            for label in (now, kept):
                label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
            column.addStretch(1)
            kept.hide()
            self._words[key] = words
            layout.addLayout(column, 1)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        for label in self._words.values():
            label.setStyleSheet(f"color: {theme.ink_soft};")
        for label in self.kept.values():
            label.setStyleSheet(f"color: {theme.pick};")
        for line in self._lines:
            line.setStyleSheet(f"background: {theme.line};")

    def show_values(self, now: Values, kept: tuple[str, Values] | None) -> None:
        """Show these, or why there is none; ``kept`` is a kept state's name and its figures."""
        for key, _, tells, _, _ in FIGURES:
            self.now[key].setText(figure_words(key, now))
            why = now.get(key)
            self._words[key].setText(why if isinstance(why, str) else tells)
        for key, label in self.kept.items():
            label.setVisible(kept is not None)
            if kept is not None:
                label.setText(f"- - {figure_words(key, kept[1])}")
                label.setToolTip(plain(kept[0]))
