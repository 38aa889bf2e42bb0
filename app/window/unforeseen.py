"""An error that nobody foresaw: the window lives on, the work is kept, and a report can be copied."""

from __future__ import annotations

import logging
import os
import platform
import re
import sys
import threading
import time
import traceback
from collections.abc import Callable
from contextlib import suppress
from io import TextIOWrapper
from logging.handlers import RotatingFileHandler
from pathlib import Path, PureWindowsPath
from types import TracebackType
from typing import cast

from PySide6.QtCore import QObject, QStandardPaths, Qt, QTimer, Signal, qVersion
from PySide6.QtGui import QGuiApplication

from app.kit.plain import Box
from app.window.window import Window

LOG_BYTES, LOG_FILES = 500_000, 3
QUIET_S = 60.0
"""After its box the same error is said and logged alone: one at every frame leaves time to save."""
_log = logging.getLogger("sternpost")
_ROOT = Path(__file__).resolve().parents[2]
_SOURCES = (".py", ".pyi", ".pyx", ".so", ".pyd", ".dll")
# What Python quotes has a stroke before a quotation mark of the same kind.
_QUOTED = re.compile(r"""(["'])((?:[A-Za-z]:)?[/\\](?:\\.|(?!\1)[^\n])*)\1""")
_BARE = re.compile(r"""(?<![\w"'./\\…-])(?:[A-Za-z]:)?[/\\](?=[^\s])(?:[^\n"':]*[/\\])?[^\s"':]*""")
# What tells one error from another: its kind, and file and line where it was raised.
_Place = tuple[type, str, int]


def log_file() -> Path:
    """Where the log stands; its folder is made when it is first written."""
    place = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.AppLocalDataLocation)
    return Path(place) / "sternpost.log"


def report_of(error: BaseException) -> str:
    """What happened, for whoever mends it: no personal path, no design, no file name of the person's."""
    lines = traceback.format_exception(error)
    text = "".join(lines)
    for name in sorted(_named_in(error), key=len, reverse=True):
        text = text.replace(repr(name), f"'{_short(name)}'")
        if "/" in name or "\\" in name:
            text = text.replace(name, _short(name))
    text = without_paths(text)
    system = f"{platform.system()} {platform.release()}, Python {platform.python_version()}, Qt {qVersion()}"
    return f"Sternpost\n{system}\n\n{text}"


def _named_in(error: BaseException | None) -> set[str]:
    """The files that the system's errors name, which may be written in any way and without a folder."""
    found: set[str] = set()
    seen: list[BaseException] = []
    while error is not None and error not in seen:
        seen.append(error)
        if isinstance(error, OSError):
            given = (error.filename, error.filename2)
            found.update(os.fsdecode(name) for name in given if isinstance(name, str | bytes | os.PathLike))
        error = error.__cause__ or error.__context__
    return found - {""}


def without_paths(text: str) -> str:
    """``text`` with every folder taken away from file names; those of the program keep their room.

    Of what is no source file the name goes too. A path without quotation marks may have blanks in it: all
    up to the last stroke before a colon is taken for one.
    """
    text = _QUOTED.sub(lambda found: f"{found[1]}{_short(found[2])}{found[1]}", text)
    text = _BARE.sub(lambda found: _short(found[0]), text)
    home = str(Path.home())
    return text.replace(home, "~") if len(home) > 1 else text


def _short(written: str) -> str:
    path = PureWindowsPath(written) if "\\" in written else Path(written)
    if isinstance(path, Path) and path.is_relative_to(_ROOT):
        return path.relative_to(_ROOT).as_posix()
    return path.name if path.suffix in _SOURCES else f"…{path.suffix}"


def _place_of(error: BaseException) -> _Place:
    frames = traceback.extract_tb(error.__traceback__)
    return (type(error), frames[-1].filename, frames[-1].lineno or 0) if frames else (type(error), "", 0)


def _logged(error: BaseException) -> str:
    """Write the report into the log, and return it."""
    report = report_of(error)
    _log.error("%s", report)
    return report


class _OwnersLog(RotatingFileHandler):
    """A log that nobody but its owner can read."""

    def _open(self) -> TextIOWrapper:
        stream = open(  # noqa: SIM115
            self.baseFilename, self.mode, encoding=self.encoding,
            opener=lambda name, how: os.open(name, how, 0o600),
        )
        with suppress(OSError):
            # One of an older version was there.
            Path(self.baseFilename).chmod(0o600)
        return cast(TextIOWrapper, stream)


class _Thread(QObject):
    """What ended a thread, on its way to the thread of the window."""

    ended = Signal(object)


class Unforeseen:
    """Takes what Python would only print, in any thread. One dialogue at a time; the log takes them all."""

    def __init__(self, window: Window) -> None:
        self._window = window
        self._showing = False
        self._kept = True
        """Whether the work could be kept when the last error came."""
        self._quiet_until: dict[_Place, float] = {}
        self._before, self._thread_before = sys.excepthook, threading.excepthook
        self._thread = _Thread()
        self._thread.ended.connect(self._ended, Qt.ConnectionType.QueuedConnection)
        self._handler: RotatingFileHandler | None = None

    def install(self) -> None:
        """Stand in for the hooks of ``sys`` and ``threading`` until ``remove``."""
        sys.excepthook, threading.excepthook = self._caught, self._caught_beside
        try:
            place = log_file()
            place.parent.mkdir(parents=True, exist_ok=True)
            place.parent.chmod(0o700)
            self._handler = _OwnersLog(
                place, maxBytes=LOG_BYTES, backupCount=LOG_FILES - 1, encoding="utf-8", delay=True
            )
        except OSError:
            # Without a place for a log the window works all the same.
            return
        self._handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(message)s"))
        _log.addHandler(self._handler)

    def remove(self) -> None:
        """Give the hooks back and close the log."""
        sys.excepthook, threading.excepthook = self._before, self._thread_before
        if self._handler is not None:
            _log.removeHandler(self._handler)
            self._handler.close()
            self._handler = None

    def _caught(
        self, kind: type[BaseException], error: BaseException, trace: TracebackType | None
    ) -> None:
        if not issubclass(kind, Exception):
            self._before(kind, error, trace)
            return
        error = error.with_traceback(trace)
        # Written down first: whatever is tried next may fail as well.
        report = _logged(error)
        window = self._window
        # The gesture that failed is dropped; what was done before it is written down, and what is half
        # drawn. Each for itself: whatever failed may fail here once more.
        for step in (
            lambda: window.canvas.hand.leave(),
            lambda: window.document.abort("unforeseen"),
            lambda: window.document.withdraw("unforeseen", for_good=True),
        ):
            self._done(step)
        kept = self._done(window.keeper.keep) and self._done(window.keeper.recovery.flush)
        self._kept = kept and not window.keeper.unsafe
        self._tell(error, report)

    def _done(self, step: Callable[[], None]) -> bool:
        try:
            step()
        except Exception:
            _log.exception("keeping the work after an error")
            return False
        return True

    def _state_of_work(self) -> str:
        """What became of the work, as far as it is known."""
        trace = self._window.document.trace
        here = "Your work is still here" if trace is None else f"Your work is still here, {trace.words} too,"
        if self._kept:
            return f"{here} and has been kept. Go on, or save it now."
        why = self._window.keeper.unsafe
        return f"{here} but it could not be kept safe{f' ({why})' if why else ''}: save it now."

    def _caught_beside(self, what: threading.ExceptHookArgs) -> None:
        """In the thread that ended. What the hand is doing goes on."""
        if isinstance(what.exc_value, Exception):
            self._thread.ended.emit(what.exc_value)
        else:
            self._thread_before(what)

    def _ended(self, error: BaseException) -> None:
        """In the thread of the window."""
        self._tell(error, _logged(error))

    def _tell(self, error: BaseException, report: str) -> None:
        place = _place_of(error)
        if time.monotonic() < self._quiet_until.get(place, 0.0):
            work = "your work is kept" if self._kept else "your work could not be kept safe: save it now"
            self._window.strip.say(f"That went wrong once more; {work}, and the log has the report")
        elif not self._showing:
            self._showing = True
            # Not from within whatever was being painted or handled.
            QTimer.singleShot(0, self._window, lambda: self._show(report, place))

    def _show(self, report: str, place: _Place) -> None:
        box = Box(
            self._window, Box.Icon.Warning, "Something went wrong that should not have.",
            f"{self._state_of_work()} "
            "The report holds no names or folders of yours; copy it for whoever mends Sternpost.",
        )
        box.setDetailedText(report)
        copy = box.addButton("Copy the report", Box.ButtonRole.ActionRole)
        box.addButton("Go on", Box.ButtonRole.AcceptRole)
        box.exec()
        box.deleteLater()
        if box.clickedButton() is copy:
            QGuiApplication.clipboard().setText(report)
        self._quiet_until[place] = time.monotonic() + QUIET_S
        self._showing = False
