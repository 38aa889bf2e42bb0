"""A HEIC of several tiles, as phones write them, put together by hand from a picture of one."""

from __future__ import annotations

import struct


def box(kind: bytes, *parts: bytes) -> bytes:
    """ISO/IEC 14496-12, 4.2."""
    body = b"".join(parts)
    return struct.pack(">I", 8 + len(body)) + kind + body


def full(kind: bytes, *parts: bytes, version: int = 0, flags: int = 0) -> bytes:
    """The same, with a version and flags."""
    return box(kind, struct.pack(">I", version << 24 | flags), *parts)


def _cut(data: bytes, kind: bytes) -> bytes:
    at = data.index(kind) - 4
    return data[at : at + int.from_bytes(data[at : at + 4], "big")]


def tiled(one: bytes, rows: int, columns: int, size: tuple[int, int]) -> bytes:
    """A grid (ISO/IEC 23008-12, 6.6.2.3) of the coded picture in ``one`` over and over, cut to ``size``.

    ``one`` has a single item of HEVC, which comes first in its iloc (version 0, four bytes for each figure).
    """
    iloc = _cut(one, b"iloc")
    base, _, offset, length = struct.unpack(">IHII", iloc[20:34])
    begins = base + offset
    coded, count = one[begins : begins + length], rows * columns
    grid = struct.pack(">BBBBHH", 0, 0, rows - 1, columns - 1, *size)
    last = count + 1

    infos = [
        full(b"infe", struct.pack(">HH", number, 0), b"hvc1\0", version=2, flags=1)
        for number in range(1, last)
    ]
    infos.append(full(b"infe", struct.pack(">HH", last, 0), b"grid\0", version=2))
    properties = box(
        b"ipco", _cut(one, b"hvcC"), _cut(one, b"ispe"), _cut(one, b"pixi"),
        full(b"ispe", struct.pack(">II", *size)),
    )
    uses = [struct.pack(">HBBBB", number, 3, 0x81, 2, 3) for number in range(1, last)]
    uses.append(struct.pack(">HBBB", last, 2, 4, 3))
    links = struct.pack(f">HH{count}H", last, count, *range(1, last))

    def meta(first: int) -> bytes:
        """With the content of the file's mdat beginning at ``first``: the tiles, and then the grid."""
        places = [(number, first + (number - 1) * length, length) for number in range(1, last)]
        places.append((last, first + count * length, len(grid)))
        listed = b"".join(struct.pack(">HHHII", number, 0, 1, at, size) for number, at, size in places)
        return full(
            b"meta", _cut(one, b"hdlr"), full(b"pitm", struct.pack(">H", last)),
            full(b"iinf", struct.pack(">H", last), *infos), full(b"iref", box(b"dimg", links)),
            box(b"iprp", properties, full(b"ipma", struct.pack(">I", last), *uses)),
            full(b"iloc", b"\x44\x00", struct.pack(">H", last), listed),
        )

    head = box(b"ftyp", b"heic", bytes(4), b"mif1", b"heic")
    first = len(head) + len(meta(0)) + 8
    return head + meta(first) + box(b"mdat", coded * count, grid)
