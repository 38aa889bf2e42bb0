"""Where the area band stands: empty until the plot library is there, which is slow to import."""

from __future__ import annotations

import sys
from threading import Thread
from typing import TYPE_CHECKING

from PySide6.QtCore import QTimer, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.canvas.canvas import Canvas
from app.kit.overrides import errors_told
from app.kit.theme import Theme
from app.work.readout import Readout

if TYPE_CHECKING:
    from app.canvas.area_band import AreaBand

HEIGHT = 104
# Well after the first paint: an import in a thread still holds the interpreter.
_AFTER_MS = 150


@errors_told
class BandPlace(QWidget):
    """Takes the area band in when it can be made."""

    _plots_there = Signal()

    def __init__(self, readout: Readout, canvas: Canvas, theme: Theme) -> None:
        super().__init__()
        self._readout, self._canvas, self._theme = readout, canvas, theme
        self.band: AreaBand | None = None
        self.setFixedHeight(HEIGHT)
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._importing: Thread | None = None
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(_AFTER_MS)
        self._soon.timeout.connect(self._import)
        self._plots_there.connect(self._add)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        if self.band is not None:
            self.band.set_theme(theme)

    def prepare(self) -> None:
        """The window is on the screen: import what the band needs, if it is not there yet."""
        if self.band is None and self._importing is None:
            self._soon.start()

    def stop(self) -> None:
        """Wait until no thread is left; call it before the window goes."""
        self._soon.stop()
        if self._importing is not None:
            self._importing.join()

    def showEvent(self, event: QShowEvent) -> None:  # noqa: D102
        super().showEvent(event)
        self.prepare()

    def _import(self) -> None:
        if "app.kit.plots" in sys.modules:
            self._add()
        elif self._importing is None:
            self._importing = Thread(target=self._work, name="plot-library", daemon=True)
            self._importing.start()

    def _work(self) -> None:
        import app.kit.plots  # noqa: F401

        self._plots_there.emit()

    def _add(self) -> None:
        from app.canvas.area_band import AreaBand

        if self.band is None:
            self.band = AreaBand(self._readout, self._canvas, self._theme)
            self._layout.addWidget(self.band)
