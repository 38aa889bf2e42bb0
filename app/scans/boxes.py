"""The boxes that HEIC, AVIF and JPEG 2000 files are made of (ISO/IEC 14496-12, 4.2; 15444-1, I.4)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

_HELD_WHOLE = (b"meta", b"mdat", b"moov")
_SOC_SIZ, _EOC = b"\xff\x4f\xff\x51", b"\xff\xd9"


class Box(NamedTuple):
    """A box at the top of a file: its kind, where its content begins, and where it says that it ends."""

    kind: bytes
    begins: int
    ends: int


def boxes(data: bytes) -> Iterator[Box]:
    """The boxes of ``data`` one after the other; the last may say that it ends past the file."""
    at = 0
    while at + 8 <= len(data):
        length, kind, begins = int.from_bytes(data[at : at + 4], "big"), data[at + 4 : at + 8], at + 8
        if length == 1:
            length, begins = int.from_bytes(data[at + 8 : at + 16], "big"), at + 16
        elif length == 0:
            length = len(data) - at
        ends = max(at + length, begins)
        yield Box(kind, begins, ends)
        at = ends


def ends_in_the_file(data: bytes) -> bool:
    """True if no box of a HEIC that holds tags or pixels reaches past the end of the file.

    A picture of many tiles would open with what is left of them.
    """
    return not any(box.kind in _HELD_WHOLE and box.ends > len(data) for box in boxes(data))


def codestream(data: bytes) -> bytes:
    """The JPEG 2000 codestream in its file or bare; empty where there is none."""
    if data.startswith(_SOC_SIZ):
        return data
    return next((data[box.begins : box.ends] for box in boxes(data) if box.kind == b"jp2c"), b"")


def codestream_ends(data: bytes) -> bool:
    """True if the JPEG 2000 picture has its end marker (ISO/IEC 15444-1, A.4.4: EOC).

    Cut between two tiles it would open without the rest. Files are padded by mailers and transfers.
    """
    return codestream(data).rstrip(b"\0\r\n")[-2:] == _EOC
