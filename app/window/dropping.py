"""Files and pictures dropped anywhere on a window are the window's, on a field for text too."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QMimeData, QObject
from PySide6.QtGui import QDragEnterEvent, QDragMoveEvent, QDropEvent
from PySide6.QtWidgets import QApplication, QWidget

from app.kit.overrides import errors_told


def is_ours(mime: QMimeData) -> bool:
    """True if files or a picture are dragged: words belong to the field they are dropped on."""
    return mime.hasUrls() or mime.hasImage()


@errors_told
class Drops(QObject):
    """Hears what the system drops on a window before Qt looks for the field under it."""

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self._window = window
        self._heard: QObject | None = None

    def listen(self) -> None:
        """Begin, once the window is shown."""
        handle = self._window.windowHandle()
        if handle is not self._heard:
            self._heard = handle
            handle.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: D102
        if not isinstance(event, QDropEvent) or not is_ours(event.mimeData()):
            return False
        if isinstance(event, QDragMoveEvent) and not isinstance(event, QDragEnterEvent):
            event.acceptProposedAction()
            return True
        QApplication.sendEvent(self._window, event)
        return True
