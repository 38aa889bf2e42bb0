"""What a test, or a window that was closed in it, must not leave behind: threads, locks, windows, hooks."""

from __future__ import annotations

import logging
import os
import sys
import threading
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QCoreApplication, QEvent, QObject, QTimer
from PySide6.QtWidgets import QApplication, QWidget
from shiboken6 import Shiboken

from app.window.window import Window

# The program's one process for PDFs serves all windows, and ends with the first that closes.
_SHARED_THREADS = ("pdf-answers", "pdf-detail")


@dataclass(frozen=True)
class Leavings:
    """How things stood when a test began; ``kept`` is the window that tests share, if there is one yet."""

    threads: frozenset[threading.Thread]
    windows: tuple[QWidget, ...]
    timers: int
    listeners: frozenset[str] | None
    state: dict[str, object]

    @classmethod
    def now(cls, kept: Sequence[Window]) -> Leavings:
        """How they stand now."""
        return cls(
            frozenset(threading.enumerate()), tuple(_windows(kept)), len(_timers()),
            frozenset(_listeners(kept)) if kept else None, _state(),
        )

    def left(self, homes: Sequence[Path], kept: Sequence[Window]) -> list[str]:
        """What has been left behind since, in words; ``homes`` are the folders to look for locks in."""
        if QApplication.instance() is not None:
            # What was to be deleted is deleted before anybody is blamed for it.
            QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        own = {t for window in kept for t in window.keeper.recovery._worker._threads}
        threads = set(threading.enumerate()) - self.threads - own
        left = [f"thread {t.name}" for t in threads if t.name not in _SHARED_THREADS]
        left += [f"lock {lock.name}" for lock in _held(homes, kept)]
        left += [
            f"window {type(w).__name__} {w.windowTitle()!r}" for w in _windows(kept) if w not in self.windows
        ]
        if self.listeners is not None:
            left += [f"listener {name}" for name in sorted(_listeners(kept) - self.listeners)]
        if len(_timers()) > self.timers:
            left.append(f"{len(_timers()) - self.timers} timers of the application")
        left += [f"without {name}" for window in kept for name in _lost(window)]
        left += [f"colours of {name}" for window in kept for name in _otherwise_dressed(window)]
        left += [f"{what}: {now}" for what, now in _state().items() if now != self.state[what]]
        return sorted(left)


def _windows(kept: Sequence[Window]) -> list[QWidget]:
    """What is on the screen by itself, the shared window left out."""
    if QApplication.instance() is None:
        return []
    return [w for w in QApplication.topLevelWidgets() if w.isVisible() and w not in kept]


def _timers() -> list[QTimer]:
    application = QApplication.instance()
    return [] if application is None else [t for t in application.findChildren(QTimer) if t.isActive()]


def _listeners(kept: Sequence[Window]) -> set[str]:
    """What of the program listens to the shared window."""
    tellers = [t for window in kept for t in (window.document, window.readout, window.picked)]
    return {name for teller in tellers for name in _named(teller._listeners)}


def _named(listeners: Iterable[Callable[..., object]]) -> Iterable[str]:
    for one in listeners:
        if str(getattr(one, "__module__", "")).startswith("app."):
            yield f"{getattr(one, '__qualname__', one)} of {id(getattr(one, '__self__', one)):x}"


def _lost(window: Window) -> list[str]:
    """Parts of the window that are none any more: deleted under it."""
    parts = ((name, part) for name, part in vars(window).items() if isinstance(part, QObject))
    return [name for name, part in parts if not Shiboken.isValid(part)]


def _otherwise_dressed(window: Window) -> list[str]:
    """What of the window wears other colours than the window."""
    parts = (part for part in window.findChildren(QWidget) if hasattr(part, "set_theme"))
    return [
        *(type(part).__name__ for part in parts if getattr(part, "_theme", window.theme) is not window.theme),
        *(["the window"] if window._dressing.choice != "system" else []),
    ]


def _held(homes: Sequence[Path], kept: Sequence[Window]) -> list[Path]:
    """The lock files that this process holds still, but for that of the shared window's own work."""
    own = {window.keeper.recovery._file.with_suffix(".lock") for window in kept}
    folders = {*homes, *(window.filing._claim._folder for window in kept)}
    found = {path for folder in folders for path in folder.rglob("*.lock")}
    # The first line of a QLockFile is its process.
    return [path for path in found - own if path.read_text().partition("\n")[0] == str(os.getpid())]


def _state() -> dict[str, object]:
    """What a test may change of the process, and must set back."""
    return {
        "folder": Path.cwd(), "hook": sys.excepthook, "hook of threads": threading.excepthook,
        "handlers of the log": tuple(logging.getLogger("sternpost").handlers),
    }
