"""What opening may take, however a file was made: time, memory, size; and strips longer than Qt counts."""

from __future__ import annotations

import io
import json
import os
import struct
import subprocess
import sys
import threading
import zlib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter, QTransform
from PySide6.QtWidgets import QApplication

from app.scans import guards, opening, watch
from app.scans.drawing import draw_scan
from app.scans.faults import OpeningCancelledError, ScanError
from app.scans.guards import BIG_PIXELS, one_big_at_a_time
from app.scans.levels import blank, colour_pixels, grey_pixels
from app.scans.opening import open_picture
from core.design import Matrix

ROOT = Path(__file__).resolve().parents[3]


def saved(image: Image.Image, kind: str, **options: Any) -> bytes:
    with io.BytesIO() as stream:
        image.save(stream, kind, **options)
        return stream.getvalue()


def bomb(width: int, height: int) -> bytes:
    """A PNG that unpacks to a thousand times its size: white all over."""
    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    squeeze = zlib.compressobj(1)
    row = b"\0" + b"\xff" * width
    body = b"".join(squeeze.compress(row * 64) for _ in range(height // 64)) + squeeze.flush()
    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


# Time


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "TIFF", "GIF"])
def test_reading_ends_when_its_time_is_up(monkeypatch: pytest.MonkeyPatch, kind: str) -> None:
    monkeypatch.setattr(watch, "MOST_SECONDS", -1.0)
    values = np.random.default_rng(1).integers(0, 256, (200, 300), dtype=np.uint8)
    with pytest.raises(ScanError, match=r"plan: the picture was not read within .* save it anew as PNG"):
        open_picture(saved(Image.fromarray(values), kind), "plan")


def test_a_jpeg_of_endless_passes_is_refused_before_it_is_opened(monkeypatch: pytest.MonkeyPatch) -> None:
    # Each pass of a progressive JPEG is worked through at full size, however few bytes it has.
    data = saved(Image.fromarray(np.full((400, 400), 90, np.uint8)), "JPEG", progressive=True)
    begins = data.rindex(b"\xff\xda")
    last = data[begins:-2]
    assert data.count(b"\xff\xda") < guards.MOST_JPEG_PASSES / 5, "a real one is far from the limit"
    opened: list[object] = []
    monkeypatch.setattr(Image, "open", lambda *what, **_: opened.append(what))
    with pytest.raises(ScanError, match="too many passes; save it as PNG"):
        open_picture(data[:-2] + last * 5000 + data[-2:], "plan.jpg")
    assert opened == []


def test_an_animation_of_many_pictures_opens_its_first() -> None:
    frames = [Image.fromarray(np.full((8, 8), i % 250, np.uint8)) for i in range(300)]
    for kind in ("GIF", "WEBP"):
        data = saved(frames[0], kind, save_all=True, append_images=frames[1:], lossless=True)
        picture = open_picture(data, "plan")
        assert (picture.width, picture.height) == (8, 8)
        assert "The first of" in picture.note


# Memory


OPEN_IN_A_CHILD = """
import json, sys
from pathlib import Path
from app.scans.faults import ScanError
from app.scans.opening import open_picture

def megabytes(key):
    lines = dict(l.split(":", 1) for l in Path("/proc/self/status").read_text().splitlines())
    return int(lines[key].split()[0]) / 1024

import PIL.PngImagePlugin
data = Path(sys.argv[1]).read_bytes()
before = megabytes("VmRSS")
picture = open_picture(data, "plan.png")
print(json.dumps([megabytes("VmHWM") - before, picture.memory_bytes / 2**20, picture.finest]))
"""


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="reads the process's own figures")
def test_a_bomb_of_40_megapixels_costs_what_it_shows_and_no_more(tmp_path: Path) -> None:
    data = bomb(6_400, 6_400)
    assert len(data) < 300_000
    (tmp_path / "bomb.png").write_bytes(data)
    done = subprocess.run(
        [sys.executable, "-c", OPEN_IN_A_CHILD, str(tmp_path / "bomb.png")],
        check=True, capture_output=True, text=True, cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    peak, kept, finest = json.loads(done.stdout)
    assert kept == pytest.approx(6_400 * 6_400 * 4 / 3 / 2**20, rel=0.02) and finest == 1
    assert peak < kept + 15, "no second copy of the picture at any moment"


def test_greys_beyond_the_limit_are_kept_half_as_sharp(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opening, "MOST_SHARP_PIXELS", 1_000_000)
    values = np.random.default_rng(1).integers(0, 256, (1100, 1000), dtype=np.uint8)
    picture = open_picture(saved(Image.fromarray(values), "PNG"), "plan.png")
    assert (picture.width, picture.height, picture.shrunk) == (1000, 1100, 2)
    assert picture.levels[0].width() == 500
    assert picture.note == "Shown half as sharp: 1 megapixels of grey are too many."


def test_big_pictures_wait_for_one_another_and_can_be_stopped_waiting() -> None:
    inside, leave, order = threading.Event(), threading.Event(), []

    def first() -> None:
        with one_big_at_a_time(BIG_PIXELS, lambda: None):
            order.append("first")
            inside.set()
            leave.wait(5)

    thread = threading.Thread(target=first)
    thread.start()
    assert inside.wait(5)
    with one_big_at_a_time(BIG_PIXELS - 1, lambda: None):
        order.append("a small one does not wait")

    def stop() -> None:
        raise OpeningCancelledError

    with pytest.raises(OpeningCancelledError), one_big_at_a_time(BIG_PIXELS, stop):
        order.append("never")
    leave.set()
    thread.join(5)
    with one_big_at_a_time(BIG_PIXELS, lambda: None):
        order.append("second")
    assert order == ["first", "a small one does not wait", "second"]


# Long strips: raster painting counts pixels in 16 bits in places


LONG, SHORT = 60_000, 300
MARK = (slice(58_000, 58_010), slice(200, 210))


def long_strip() -> np.ndarray:
    strip = np.full((LONG, SHORT), 255, np.uint8)
    strip[MARK] = 0
    strip[33_000:33_003] = 60
    return strip


def at_the_mark(to_mm: Matrix, picture: Any, u: float, v: float, zoom: float, device: int = 40) -> np.ndarray:
    x, z = (np.array(to_mm) @ (u, v, 1.0))[:2]
    paper = QImage(device, device, QImage.Format.Format_RGB32)
    paper.fill(0xFF80A0FF)
    painter = QPainter(paper)
    view = QTransform(zoom, 0, 0, -zoom, device / 2 - x * zoom, device / 2 + z * zoom)
    draw_scan(painter, picture, to_mm, view, 1.0, QRectF(0, 0, device, device), 1.0)
    painter.end()
    return (colour_pixels(paper) & 255).astype(int)


@pytest.mark.parametrize("kind", ["grey png", "g4"])
def test_the_end_of_a_strip_of_60_000_pixels_opens_and_is_drawn_right(qapp: QApplication, kind: str) -> None:
    strip = long_strip()
    image = Image.fromarray(strip)
    data = (
        saved(image, "PNG", compress_level=1) if kind == "grey png"
        else saved(image.point(lambda grey: 255 * (grey > 128)).convert("1"), "TIFF", compression="group4")
    )
    picture = open_picture(data, "plan")
    assert (picture.width, picture.height) == (SHORT, LONG)
    assert (picture.bits is not None) == (kind == "g4")
    if kind == "grey png":
        np.testing.assert_array_equal(grey_pixels(picture.levels[0])[57_990:58_020], strip[57_990:58_020])
    for to_mm in (
        ((1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, 1.0)),
        ((0.0, -1.0, 9.0), (-1.0, 0.0, 5.0), (0.0, 0.0, 1.0)),
        ((-1.0, 0.0, 9.0), (0.0, 1.0, 5.0), (0.0, 0.0, 1.0)),
        ((0.8, 0.6, 9.0), (0.6, -0.8, 5.0), (0.0, 0.0, 1.0)),
    ):
        near = at_the_mark(to_mm, picture, 205.0, 58_005.0, 1.0)
        assert (near[18:22, 18:22] == 0).all() and (near[:3] == 255).all() and (near[:, -3:] == 255).all()
        close = at_the_mark(to_mm, picture, 205.0, 58_005.0, 3.0)
        assert (close[11:29, 11:29] <= 1).all() and close[0, 0] == 255
        away = at_the_mark(to_mm, picture, 205.0, 58_005.0, 0.25)
        assert away[20, 20] < 120 and (away[:4] == 255).all()


@pytest.mark.parametrize("transposed", [False, True])
@pytest.mark.parametrize("across", [1.0, -1.0])
@pytest.mark.parametrize("down", [1.0, -1.0])
def test_whole_turns_and_mirrors_show_every_pixel_in_its_place(
    transposed: bool, across: float, down: float
) -> None:
    from app.scans.levels import pyramid
    from app.scans.picture import Picture

    values = np.random.default_rng(1).integers(0, 256, (30, 50), dtype=np.uint8)
    level = blank(50, 30, colour=False)
    grey_pixels(level)[:] = values
    rows = ((0.0, across, 0.0), (down, 0.0, 0.0)) if transposed else ((across, 0.0, 0.0), (0.0, down, 0.0))
    paper = QImage(140, 140, QImage.Format.Format_RGB32)
    paper.fill(0xFF80A0FF)
    painter = QPainter(paper)
    draw_scan(
        painter, Picture(pyramid(level), 50, 30), (*rows, (0.0, 0.0, 1.0)), QTransform(1, 0, 0, 1, 70, 70),
        1.0, QRectF(0, 0, 140, 140), 1.0,
    )
    painter.end()
    i, j = np.mgrid[0:30, 0:50]
    u, v = j + 0.5, i + 0.5
    x, y = (across * v, down * u) if transposed else (across * u, down * v)
    shown = (colour_pixels(paper) & 255)[np.floor(y + 70).astype(int), np.floor(x + 70).astype(int)]
    np.testing.assert_array_equal(shown, values)
