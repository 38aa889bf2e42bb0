"""Firmness in yaw on a scale, under the sentence of its group; follows every movement of the hand."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPointF, QSize
from PySide6.QtGui import QFont, QHelpEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from app.kit.arm_scale import Letters
from app.kit.firmness_scale import FirmnessScale, draw_firmness, ends_of, tall
from app.kit.overrides import errors_told
from app.kit.plain import plain
from app.kit.theme import Theme
from core.stability.firmness import WITNESSES, Firmness, firmness, firmness_words
from core.stability.readings import Readings
from core.units import format_number

_NEAR_PX = 7.0


@errors_told
class FirmnessBar(QWidget):
    """Painted in its place; takes no room while there is nothing to show."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme
        self._before: Firmness | None = None
        self.shown: Firmness | None = None
        self._letters = Letters(self.font())
        self.setAccessibleName("Firmness in yaw")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self.update()

    def show_readings(self, readings: Readings, before: Readings | None, settled: bool) -> None:
        """Show these; a screen reader is told when the hand has let go."""
        found = firmness(readings)
        was = firmness(before) if before is not None else None
        if (found, was) != (self.shown, self._before):
            self.shown, self._before = found, was
            self.update()
        if settled:
            words = firmness_words(found) if found is not None else ""
            if words != self.accessibleDescription():
                self.setAccessibleDescription(words)

    def scale(self) -> FirmnessScale:
        """Where things lie at this size."""
        assert self.shown is not None
        return FirmnessScale(0.0, float(self.width()), 1.0, self._letters.high(), ends_of(self.shown))

    def tip_at(self, place: QPointF) -> str:
        """What is to be said of the place: of a witness at its stem, of all elsewhere."""
        if self.shown is None:
            return ""
        scale = self.scale()
        for name, value in self.shown.witnesses.items():
            if abs(scale.x(value) - place.x()) <= _NEAR_PX and place.y() < scale.field.center().y():
                return f"{name.capitalize()}: {WITNESSES[name]}. So taken Cnβ is {format_number(value, 3)}."
        return firmness_words(self.shown)

    def sizeHint(self) -> QSize:  # noqa: D102
        return QSize(240, round(tall(self._letters)) + 2)

    def minimumSizeHint(self) -> QSize:  # noqa: D102
        return QSize(190, self.sizeHint().height())

    def changeEvent(self, event: QEvent) -> None:  # noqa: D102
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._letters = Letters(QFont(self.font()))
            self.updateGeometry()

    def event(self, event: QEvent) -> bool:  # noqa: D102
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            QToolTip.showText(event.globalPos(), plain(self.tip_at(QPointF(event.pos()))), self)
            return True
        return bool(super().event(event))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: D102
        if self.shown is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        script = self._letters.on(painter)
        draw_firmness(painter, self.scale(), self.shown, self._theme, script, before=self._before)
        painter.end()
