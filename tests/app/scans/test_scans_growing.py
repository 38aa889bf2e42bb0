"""Levels that grow while level 0 is decoded into place: the same pyramid, and something to see before."""

from __future__ import annotations

import io
import struct
import zlib

import numpy as np
import pytest
from PIL import Image

from app.scans import decoding, growing
from app.scans.growing import Growing, Marks
from app.scans.levels import blank, grey_pixels, pyramid
from app.scans.opening import open_picture
from app.scans.picture import Picture


def saved(values: np.ndarray, kind: str, **options: object) -> bytes:
    with io.BytesIO() as stream:
        Image.fromarray(values).save(stream, kind, **options)
        return stream.getvalue()


@pytest.mark.parametrize("size", [(901, 1203), (1024, 512), (300, 257), (4097, 3), (2, 700)])
@pytest.mark.parametrize("steps", [(), (100,), (16, 333, 334, 700)])
def test_grown_bit_by_bit_is_the_pyramid(size: tuple[int, int], steps: tuple[int, ...]) -> None:
    values = np.random.default_rng(1).integers(0, 256, size, dtype=np.uint8)
    level_0 = blank(size[1], size[0], colour=False)
    grey_pixels(level_0)[:] = values
    grown = Growing(level_0)
    told: list[float] = []
    for rows in (*(s for s in steps if s < size[0]), size[0]):
        grown.grow(rows, told.append)
    expected = pyramid(level_0)
    assert len(grown.levels) == len(expected)
    for one, other in zip(grown.levels, expected, strict=True):
        np.testing.assert_array_equal(grey_pixels(one), grey_pixels(other))
    assert min(told, default=0.0) >= 0 and max(told, default=1.0) <= 1.0


def test_what_is_not_there_yet_is_white() -> None:
    level_0 = blank(2100, 2300, colour=False)
    grey_pixels(level_0)[:] = 90
    grown = Growing(level_0)
    grown.grow(1200)
    coarse = grown.so_far()
    assert coarse is not None and (coarse.width, coarse.height, coarse.shrunk) == (2100, 2300, 8)
    grey = grey_pixels(coarse.levels[0])
    assert (grey[:150] == 90).all() and (grey[150:] == 255).all()
    # It is a copy: what grows on does not change what is shown.
    grown.grow(2300)
    assert (grey_pixels(coarse.levels[0])[150:] == 255).all()


def test_marks_tell_how_far_the_rows_have_come() -> None:
    level_0 = blank(40, 200, colour=False)
    rows = grey_pixels(level_0)
    marks = Marks(level_0)
    assert marks.written() == 0
    for written in range(0, 201, 7):
        rows[:written] = 33
        assert written - 32 < marks.written() <= written
    narrow = blank(4, 200, colour=False)
    grey_pixels(narrow)[:] = 3
    assert Marks(narrow).written() == 0


def test_a_big_png_is_shown_while_it_is_decoded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(growing, "SECONDS_BETWEEN", 0.0)
    monkeypatch.setattr(decoding, "BIG_FROM_PIXELS", 1_000_000)
    values = np.random.default_rng(2).integers(100, 200, (2400, 1000), dtype=np.uint8)
    shown: list[Picture] = []
    picture = open_picture(saved(values, "PNG"), "plan.png", preview=shown.append)
    np.testing.assert_array_equal(grey_pixels(picture.levels[0]), values)
    assert len(shown) > 2
    there = [(grey_pixels(p.levels[0]) < 250).all(axis=1) for p in shown]
    rows = [int(rows.sum()) for rows in there]
    assert rows == sorted(rows) and 0 < rows[0] < rows[-1]
    for rows_there, coarse in zip(there, shown, strict=True):
        assert rows_there[: rows_there.sum()].all(), "from the top down"
        last = grey_pixels(picture.levels[3])[rows_there]
        np.testing.assert_array_equal(grey_pixels(coarse.levels[0])[rows_there], last)


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "TIFF", "BMP"])
def test_a_grey_picture_is_held_once(kind: str) -> None:
    values = np.random.default_rng(2).integers(0, 256, (300, 503), dtype=np.uint8)
    data = saved(values, kind)
    with Image.open(io.BytesIO(data)) as image:
        level_0 = blank(*image.size, colour=False)
        lent = growing.lend_memory(image, level_0)
        image.load()
        assert image.im is lent
        np.testing.assert_array_equal(grey_pixels(level_0), np.asarray(image))


def test_an_interlaced_png_comes_whole() -> None:
    # Adam7 by hand: seven small pictures, each row with filter 0 (PNG, third edition, 8.2).
    values = np.random.default_rng(4).integers(0, 256, (300, 320), dtype=np.uint8)
    passes = (
        (0, 0, 8, 8), (0, 4, 8, 8), (4, 0, 8, 4), (0, 2, 4, 4), (2, 0, 4, 2), (0, 1, 2, 2), (1, 0, 2, 1)
    )
    rows = b"".join(
        b"\0" + row.tobytes() for i, j, down, across in passes for row in values[i::down, j::across]
    )
    head = struct.pack(">IIBBBBB", 320, 300, 8, 0, 0, 0, 1)
    parts = ((b"IHDR", head), (b"IDAT", zlib.compress(rows)), (b"IEND", b""))
    data = b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        for kind, body in parts
    )
    picture = open_picture(data, "plan.png")
    np.testing.assert_array_equal(grey_pixels(picture.levels[0]), values)
    expected = pyramid(picture.levels[0])
    np.testing.assert_array_equal(grey_pixels(picture.levels[1]), grey_pixels(expected[1]))
