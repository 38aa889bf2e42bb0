"""The program with its window, from its start until the window is closed."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QByteArray, QSettings, QTimer

from app.window.ending import Ending
from app.window.room import onto_the_screen
from app.window.unforeseen import Unforeseen
from app.window.window import Window, application


def run(path: Path | None = None) -> int:
    """Open the window, with a design or a scan in it, and stay until it is closed."""
    app = application()
    window = Window()
    unforeseen = Unforeseen(window)
    unforeseen.install()
    geometry = QSettings().value("geometry")
    if isinstance(geometry, QByteArray):
        window.restoreGeometry(geometry)
    window.show()
    onto_the_screen(window)

    def begin() -> None:
        # Lost work is offered whatever was asked for: opening a file must not bury it.
        if not window.keeper.offer() and path is not None:
            window.filing.open_path(path)
            window.guidance.file_opened(path)

    QTimer.singleShot(0, window, begin)
    ending = Ending(window.keep_all, app.exit)
    status = app.exec()
    if window.isVisible():
        # Qt leaves the loop when the display is gone. Nothing was closed and nobody can be asked: the work
        # is to be on offer at once, not when the last count has come to its end.
        window.keep_all()
    ending.remove()
    unforeseen.remove()
    return status
