"""What goes to and fro between the window and the process that reads PDFs, and the limits on it.

A message is a length, a JSON object of that length, and as many bytes as its key "bytes" tells. Both
ends import this file: no Qt and no numpy here.
"""

from __future__ import annotations

import json
import struct
from typing import IO, Any

DOTS_PER_INCH = 300
"""Pixel coordinates of a PDF page are those of the page drawn at so many dots per inch.

However a page is drawn (coarse, sharp in part, or by the pixels of the one picture that it is),
``Scan.to_mm`` speaks of the same coordinates: a design does not depend on how we draw.
"""
POINTS_PER_INCH = 72
LONGEST_SIDE_POINTS = 15_700.0
"""5.5 m. Longer pages are refused: at 300 dots per inch they pass 65 500 pixels."""
SHORTEST_SIDE_POINTS = 3.0
"""1 mm."""
MOST_DRAWN_PIXELS = 48_000_000
"""Most pixels of one answer; a window of 4K and its margins have 13 million."""
MOST_PROCESS_BYTES = 2 << 30
"""Most memory (address space) of the process that reads PDFs, where the system can limit it."""
DRAWING_SECONDS = 20.0
"""Longest time for one page or one part of a page."""
THUMBNAIL_SECONDS = 6.0
IDLE_SECONDS = 300.0
"""So long after the last question the process ends; the next one starts it anew."""
MOST_DOCUMENTS = 3
"""So many documents are kept open; one that is asked for again is sent again."""

_LENGTH = struct.Struct("<I")
_MOST_HEADER = 1 << 20

# What may be wrong, by its word on the wire.
DAMAGED, ENCRYPTED, LOCKED = "damaged", "encrypted", "locked"
NO_PAGES, NO_SUCH_PAGE = "no-pages", "no-such-page"
TOO_LARGE, TOO_SMALL, BROKEN_PAGE, NO_ROOM = "too-large", "too-small", "broken-page", "no-room"
UNKNOWN, STOPPED, NO_READER = "unknown", "stopped", "no-reader"

Message = dict[str, Any]


def send(stream: IO[bytes], message: Message, payload: bytes | memoryview = b"") -> None:
    """Write one message. OSError where nobody reads any more."""
    header = json.dumps({**message, "bytes": len(payload)}).encode()
    stream.write(_LENGTH.pack(len(header)) + header)
    if payload:
        stream.write(payload)
    stream.flush()


def receive(stream: IO[bytes]) -> tuple[Message, bytes]:
    """Read one message; EOFError where the other end has gone or talks nonsense."""
    (length,) = _LENGTH.unpack(_exactly(stream, _LENGTH.size))
    if length > _MOST_HEADER:
        raise EOFError("the message is too long")
    try:
        message = json.loads(_exactly(stream, length))
        size = int(message["bytes"])
    except (ValueError, TypeError, KeyError) as error:
        raise EOFError("the message cannot be read") from error
    return message, _exactly(stream, size)


def _exactly(stream: IO[bytes], count: int) -> bytes:
    if count < 0:
        raise EOFError("a message of less than nothing")
    found = stream.read(count)
    if len(found) < count:
        raise EOFError("the other end has gone")
    return found
