"""The process in which PDFs and some kinds of pictures are read: ``python -m app.scans.pdf_process``.

The libraries behind it are not safe between threads or young, and a hostile file may make them hang,
crash or eat memory. Here it does so alone: the window puts an end to it and says one sentence. Nothing here
imports Qt. The process ends with its standard input, so that none is left behind.
"""

from __future__ import annotations

import os
import sys
import threading
from contextlib import suppress
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING

from app.scans.pdf_wire import BROKEN_PAGE, IDLE_SECONDS, NO_ROOM, STOPPED, Message, receive, send

if TYPE_CHECKING:
    from typing import IO

    from app.scans.pdf_pages import PdfDesk
    from app.scans.picture_desk import PictureDesk


class Stopped:
    """Up to which question, by its number, answers are not wanted any more."""

    now, up_to = 0, -1

    def is_set(self) -> bool:
        """Whether the question in hand is one of them."""
        return self.now <= self.up_to


def main(arguments: list[str]) -> None:
    """Answer until the input ends. ``arguments``: most memory in bytes, 0 for no limit; most idle seconds."""
    answers = os.fdopen(os.dup(1), "wb")
    # Whatever the library prints must not come between the answers.
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    if sys.platform == "win32":
        import msvcrt

        msvcrt.setmode(answers.fileno(), os.O_BINARY)
    _limit_memory(int(arguments[0]) if arguments else 0)
    asked: SimpleQueue[tuple[Message, bytes]] = SimpleQueue()
    stopped = Stopped()
    threading.Thread(target=_listen, args=(sys.stdin.buffer, asked, stopped), daemon=True).start()
    from app.scans.pdf_pages import PdfDesk
    from app.scans.picture_desk import PictureDesk

    send(answers, {"ready": True})
    desk = PdfDesk(stopped.is_set, lambda done: send(answers, {"progress": done}))
    pictures = PictureDesk()
    idle = float(arguments[1]) if len(arguments) > 1 else IDLE_SECONDS
    while True:
        try:
            message, payload = asked.get(timeout=idle)
        except Empty:
            os._exit(0)
        stopped.now = int(message.get("number", 0))
        with suppress(BrokenPipeError):
            _answer(desk, pictures, message, payload, answers)


def _answer(
    desk: PdfDesk, pictures: PictureDesk, message: Message, payload: bytes, answers: IO[bytes]
) -> None:
    from app.scans.pdf_pages import PdfFaultError, StoppedError

    answer: Message
    pixels: bytes | memoryview = b""
    try:
        asked = pictures if str(message.get("op")).startswith("picture-") else desk
        answer, pixels = asked.answer(message, payload)
    except PdfFaultError as fault:
        answer = {"fault": fault.word, **fault.figures}
    except StoppedError:
        answer = {"fault": STOPPED}
    except MemoryError:
        answer = {"fault": NO_ROOM}
    except Exception:  # told as a fault of the page: the process lives on for the others
        answer = {"fault": BROKEN_PAGE}
    try:
        send(answers, answer, pixels)
    finally:
        pictures.let_go()


def _listen(stream: IO[bytes], asked: SimpleQueue[tuple[Message, bytes]], stopped: Stopped) -> None:
    """In a thread of its own, so that a word to stop, and the end, are heard in the midst of a page."""
    while True:
        try:
            message, payload = receive(stream)
        except (EOFError, OSError):
            os._exit(0)
        if message.get("op") == "stop":
            stopped.up_to = int(message.get("number", 0))
        else:
            asked.put((message, payload))


def _limit_memory(most: int) -> None:
    try:
        import resource
    except ImportError:  # no such thing on this system
        return
    with suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    if most:
        with suppress(ValueError, OSError):
            resource.setrlimit(resource.RLIMIT_AS, (most, most))


if __name__ == "__main__":
    main(sys.argv[1:])
