"""Where the area band stands: empty until the plot library is there, which is slow to import."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QTimer
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.canvas.canvas import Canvas
from app.kit.overrides import errors_told
from app.kit.theme import Theme
from app.work.readout import Readout

if TYPE_CHECKING:
    from app.canvas.area_band import AreaBand

HEIGHT = 104
_AFTER_MS = 150
"""After the first paint. Imported by the drawing thread, which waits for it once (0.15 to 0.25 s): while
another thread makes classes of Qt's, events that come meanwhile have ended the program."""


@errors_told
class BandPlace(QWidget):
    """Takes the area band in when it can be made."""

    def __init__(self, readout: Readout, canvas: Canvas, theme: Theme) -> None:
        super().__init__()
        self._readout, self._canvas, self._theme = readout, canvas, theme
        self.band: AreaBand | None = None
        self.setFixedHeight(HEIGHT)
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(_AFTER_MS)
        self._soon.timeout.connect(self._add)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        if self.band is not None:
            self.band.set_theme(theme)

    def prepare(self) -> None:
        """The window is on the screen: import what the band needs, if it is not there yet."""
        if self.band is None:
            self._soon.start()

    def stop(self) -> None:
        """The window goes."""
        self._soon.stop()

    def showEvent(self, event: QShowEvent) -> None:  # noqa: D102
        super().showEvent(event)
        self.prepare()

    def _add(self) -> None:
        from app.canvas.area_band import AreaBand

        if self.band is None:
            self.band = AreaBand(self._readout, self._canvas, self._theme)
            self._layout.addWidget(self.band)
