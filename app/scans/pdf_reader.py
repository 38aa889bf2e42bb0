"""The window's end of the process that reads PDFs: started when first needed, ended in time.

One process serves one question at a time. It is killed when it takes too long, when what it was asked
is taken back and it does not stop of itself, and with the window. No Qt here.
"""

from __future__ import annotations

import atexit
import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from queue import Empty, SimpleQueue

from app.scans.pdf_wire import (
    DRAWING_SECONDS,
    IDLE_SECONDS,
    MOST_PROCESS_BYTES,
    STOPPED,
    UNKNOWN,
    Message,
    receive,
    send,
)

_LOOK_SECONDS = 0.02
_STOP_SECONDS = 0.25
START_SECONDS = 30.0
"""Longest time for the process to start."""
Cancelled = Callable[[], bool]
Progress = Callable[[float], None]


class PdfReaderError(Exception):
    """No answer; see the kinds of it."""


class FaultError(PdfReaderError):
    """The file is at fault: ``word`` as in ``pdf_wire``, and figures that go with it."""

    def __init__(self, word: str, figures: Message) -> None:
        super().__init__(word)
        self.word, self.figures = word, figures


class TooLongError(PdfReaderError):
    """It took longer than allowed, and the process was ended."""


class DiedError(PdfReaderError):
    """The process fell over this question, or could not be started."""


class TakenBackError(PdfReaderError):
    """The question was cancelled, or the reader stopped."""


class _Process:
    def __init__(self, memory: int, idle: float) -> None:
        self.idle, self.used = idle, time.monotonic()
        root = str(Path(__file__).resolve().parents[2])
        path = os.pathsep.join(filter(None, (root, os.environ.get("PYTHONPATH", ""))))
        # -P: a folder named app where the window was started from must not be taken for ours.
        self.child = subprocess.Popen(
            [sys.executable, "-P", "-m", "app.scans.pdf_process", str(memory), str(idle)],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": path, "PYTHONDONTWRITEBYTECODE": "1"},
            start_new_session=os.name == "posix",
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )
        self.answers: SimpleQueue[tuple[Message, bytes] | None] = SimpleQueue()
        self.ended_by_us = self.ready = False
        self._listener = threading.Thread(target=self._listen, name="pdf-answers", daemon=True)
        self._listener.start()

    def _listen(self) -> None:
        assert self.child.stdout is not None
        try:
            while True:
                self.answers.put(receive(self.child.stdout))
        except (EOFError, OSError, ValueError):
            self.answers.put(None)

    def say(self, message: Message, payload: bytes = b"") -> None:
        assert self.child.stdin is not None
        # One that has gone is noticed by its answers ending.
        with suppress(OSError, ValueError):
            send(self.child.stdin, message, payload)

    def has_gone(self) -> bool:
        """Whether it has ended, or is about to for want of questions."""
        return self.child.poll() is not None or time.monotonic() - self.used > 0.9 * self.idle

    def end(self) -> None:
        self.ended_by_us = True
        self.child.kill()
        self.child.wait()
        self._listener.join()
        for stream in (self.child.stdin, self.child.stdout):
            with suppress(OSError):
                if stream is not None:
                    stream.close()


class PdfReader:
    """Asks the process, from any thread. ``seconds``, ``memory`` (bytes) and ``idle`` are its limits."""

    def __init__(
        self, seconds: float = DRAWING_SECONDS, memory: int = MOST_PROCESS_BYTES, idle: float = IDLE_SECONDS
    ) -> None:
        self.seconds, self.memory, self.idle = seconds, memory, idle
        self._turn = threading.Lock()
        self._guard = threading.Lock()
        self._process: _Process | None = None
        self._stops = self._number = 0

    @property
    def process_id(self) -> int | None:
        """Of the process that is running, if one is."""
        process = self._process
        return process.child.pid if process is not None and process.child.poll() is None else None

    def ask(
        self, question: Message, key: str, data: bytes, *, seconds: float | None = None,
        cancelled: Cancelled | None = None, progress: Progress | None = None,
    ) -> tuple[Message, bytes]:
        """The answer to a question (see ``pdf_pages``) about the PDF ``data``, which is known by ``key``.

        ``question["open"]`` is what sends the file, where that is not "open". ``cancelled`` is asked, and
        ``progress`` told, in the calling thread. Raises the kinds of PdfReaderError.
        """
        stops = self._stops
        gone = cancelled or (lambda: False)
        limit = self.seconds if seconds is None else seconds
        with self._in_turn(lambda: gone() or self._stops != stops):
            process = self._running(stops)
            self._wait_for_start(process, gone)
            try:
                return self._one(process, {**question, "key": key}, b"", limit, gone, progress)
            except FaultError as fault:
                if fault.word != UNKNOWN:
                    raise
            first = question.get("open", "open")
            opened = self._one(process, {"op": first, "key": key}, data, limit, gone, None)
            if question["op"] == "open":
                return opened
            return self._one(process, {**question, "key": key}, b"", limit, gone, progress)

    def stop(self) -> None:
        """End the process, whatever it is at; a question that is asked later starts it anew."""
        with self._guard:
            self._stops += 1
            process, self._process = self._process, None
        if process is not None:
            process.end()

    @contextmanager
    def _in_turn(self, gone: Cancelled) -> Iterator[None]:
        while not self._turn.acquire(timeout=_LOOK_SECONDS):
            if gone():
                raise TakenBackError
        try:
            if gone():
                raise TakenBackError
            yield
        finally:
            self._turn.release()

    def _running(self, stops: int) -> _Process:
        with self._guard:
            if self._stops != stops:
                raise TakenBackError
            if self._process is not None and self._process.has_gone():
                self._process.end()
                self._process = None
            if self._process is None:
                try:
                    self._process = _Process(self.memory, self.idle)
                except OSError as error:
                    raise DiedError(str(error)) from error
            return self._process

    def _wait_for_start(self, process: _Process, gone: Cancelled) -> None:
        """Starting takes longer on a busy machine than a page may; no file is to blame for it."""
        until = time.monotonic() + START_SECONDS
        while not process.ready:
            with suppress(Empty):
                if process.answers.get(timeout=_LOOK_SECONDS) is None:
                    if process.ended_by_us:
                        raise TakenBackError
                    self._drop(process)
                    raise DiedError("it did not start")
                process.ready = True
            if gone():
                raise TakenBackError
            if time.monotonic() > until:
                self._drop(process)
                raise DiedError("it did not start")

    def _one(
        self, process: _Process, message: Message, payload: bytes, limit: float, gone: Cancelled,
        progress: Progress | None,
    ) -> tuple[Message, bytes]:
        self._number += 1
        process.used = time.monotonic()
        process.say({**message, "number": self._number}, payload)
        until, stopping = time.monotonic() + limit, False
        while True:
            try:
                found = process.answers.get(timeout=_LOOK_SECONDS)
            except Empty:
                found = ({}, b"")
            if found is None:
                if process.ended_by_us:
                    raise TakenBackError
                self._drop(process)
                raise DiedError
            answer, pixels = found
            if "progress" in answer:
                if progress is not None and not stopping:
                    progress(float(answer["progress"]))
            elif "fault" in answer:
                if answer["fault"] == STOPPED:
                    raise TakenBackError
                raise FaultError(str(answer["fault"]), answer)
            elif answer:
                process.used = time.monotonic()
                return answer, pixels
            if gone() and not stopping:
                process.say({"op": "stop", "number": self._number})
                until, stopping = min(until, time.monotonic() + _STOP_SECONDS), True
            if time.monotonic() > until:
                self._drop(process)
                raise TakenBackError if stopping else TooLongError

    def _drop(self, process: _Process) -> None:
        with self._guard:
            if self._process is process:
                self._process = None
        process.end()


_shared: list[PdfReader] = []
_making = threading.Lock()


def shared_reader() -> PdfReader:
    """The one reader of the program, made when first asked for."""
    with _making:
        if not _shared:
            _shared.append(PdfReader())
            atexit.register(_shared[0].stop)
        return _shared[0]


def stop_shared_reader() -> None:
    """End its process, if there is one."""
    if _shared:
        _shared[0].stop()
