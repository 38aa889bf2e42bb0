"""The system asks the program to end (SIGTERM, SIGHUP, Ctrl+C): the work is kept, and it ends at once."""

from __future__ import annotations

import signal
import socket
from collections.abc import Callable
from types import FrameType

from PySide6.QtCore import QSocketNotifier

_WANTED = ("SIGINT", "SIGTERM", "SIGHUP")
_SHELL = 128
"""What a shell adds to the number of the signal that ended a program."""


class Ending:
    """Hears signals while the window's loop sleeps. Nobody is asked: what is unsaved is offered again.

    Python's own handlers wait until the interpreter has something to do; a socket wakes Qt's loop.
    """

    def __init__(self, keep: Callable[[], None], leave: Callable[[int], None]) -> None:
        """``keep`` sees to the work, whatever is under way; ``leave`` ends the program with a status."""
        self._keep, self._leave = keep, leave
        self._told, self._woken = socket.socketpair()
        for end in (self._told, self._woken):
            end.setblocking(False)
        self._before = {
            number: signal.signal(number, self._heard)
            for number in (getattr(signal, name, None) for name in _WANTED) if number is not None
        }
        self._wakeup_before = signal.set_wakeup_fd(self._told.fileno(), warn_on_full_buffer=False)
        self._notifier = QSocketNotifier(self._woken.fileno(), QSocketNotifier.Type.Read)
        self._notifier.activated.connect(self._wake)

    def _wake(self) -> None:
        # From Qt's loop, not from the handler: that comes in the midst of anything, locks held.
        try:
            number = self._woken.recv(64)[0]
        except (BlockingIOError, IndexError):
            return
        if number in self._before:
            try:
                self._keep()
            finally:
                self._leave(_SHELL + number)

    @staticmethod
    def _heard(number: int, frame: FrameType | None) -> None:
        # Where the loop does not come to its turn, a second one ends the program as it ever did.
        signal.signal(number, signal.SIG_DFL)

    def remove(self) -> None:
        """Give the signals back."""
        self._notifier.setEnabled(False)
        signal.set_wakeup_fd(self._wakeup_before)
        for number, handler in self._before.items():
            signal.signal(number, handler)
        for end in (self._told, self._woken):
            end.close()
