"""Measure opening and drawing a scan of 9933 x 14043 pixels (A0 at 300 dpi), beside a plain way.

Run as a script. The scan is drawn here: paper grain and some hundred lines of ink, seeded. Each
file is opened in a process of its own, so that its memory is its own. The plain way is what a
window does that knows no better: ``QImage.fromData`` on the drawing thread, turned into one
``QPixmap`` and drawn whole with a smooth transform.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np
from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QImageReader, QPainter, QPixmap, QTransform
from PySide6.QtWidgets import QApplication

WIDTH, HEIGHT = 9933, 14043
VIEW_WIDTH, VIEW_HEIGHT = 1600, 1000
FRAMES = 40


def make_files(folder: Path) -> list[Path]:
    """The scan as grey PNG, grey JPEG, colour JPEG and G4 TIFF."""
    from PIL import Image

    Image.MAX_IMAGE_PIXELS = None
    random = np.random.default_rng(1)
    grain = random.integers(228, 250, (1000, WIDTH), dtype=np.uint8)
    sheet = np.tile(grain, (HEIGHT // 1000 + 1, 1))[:HEIGHT]
    for place in random.integers(0, HEIGHT - 5, 150):
        sheet[place : place + 4] = 40
    for place in random.integers(0, WIDTH - 5, 150):
        sheet[:, place : place + 4] = 40
    image = Image.fromarray(sheet)
    files = [folder / name for name in ("grey.png", "grey.jpg", "colour.jpg", "g4.tif")]
    image.save(files[0], compress_level=3, dpi=(300, 300))
    image.save(files[1], quality=85, dpi=(300, 300))
    image.convert("RGB").save(files[2], quality=85, dpi=(300, 300))
    Image.fromarray(sheet > 128).save(files[3], compression="group4", dpi=(300, 300))
    return files


def megabytes() -> tuple[float, float]:
    """(resident now, most ever) in MB of this process."""
    status = Path("/proc/self/status")
    if not status.exists():
        most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        return most, most
    # Not ru_maxrss: a child inherits that of the process that started it.
    lines = dict(line.split(":", 1) for line in status.read_text().splitlines())
    return tuple(int(lines[key].split()[0]) / 1024 for key in ("VmRSS", "VmHWM"))  # type: ignore[return-value]


def frame_times(draw: Any, zoom: float) -> list[float]:
    """Milliseconds of FRAMES frames, panned across the sheet and a little turned every fourth."""
    paper = QImage(VIEW_WIDTH, VIEW_HEIGHT, QImage.Format.Format_ARGB32_Premultiplied)
    times = []
    for frame in range(FRAMES):
        view = QTransform()
        view.translate(VIEW_WIDTH / 2, VIEW_HEIGHT / 2)
        view.scale(zoom, zoom)
        slack = max(0.0, 1 - VIEW_HEIGHT / (HEIGHT * zoom))
        view.translate(-WIDTH / 2, -HEIGHT / 2 + (frame / FRAMES - 0.5) * slack * HEIGHT)
        paper.fill(0xFFF4EFE4)
        begun = time.perf_counter()
        painter = QPainter(paper)
        draw(painter, view)
        painter.end()
        times.append((time.perf_counter() - begun) * 1000)
    return times


def summary(times: list[float]) -> str:
    return f"median {np.median(times):6.2f}  p95 {np.percentile(times, 95):6.2f} ms"


def measure_ours(file: Path) -> dict[str, Any]:
    """Load through ScanLoader with the event loop running, then draw."""
    from PySide6.QtCore import QEventLoop, QTimer

    from app.scans.drawing import draw_scan
    from app.scans.loader import ScanLoader

    data = file.read_bytes()
    before = megabytes()[0]
    loader, loop = ScanLoader(), QEventLoop()
    found: dict[str, Any] = {}
    ticks: list[float] = []
    begun = time.perf_counter()
    loader.preview.connect(lambda _key, _picture: found.setdefault("preview", time.perf_counter() - begun))
    loader.failed.connect(lambda _key, sentence: (print(sentence), loop.quit()))
    loader.ready.connect(lambda _key, picture: (found.update(picture=picture), loop.quit()))
    ticker = QTimer()
    ticker.timeout.connect(lambda: ticks.append(time.perf_counter()))
    ticker.start(5)
    loader.start("plan", data, file.name)
    loop.exec()
    ready = time.perf_counter() - begun
    ticker.stop()
    loader.stop()
    picture = found["picture"]
    now, most = megabytes()
    to_mm = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    turned = ((0.999, -0.035, 0.0), (0.035, 0.999, 0.0), (0.0, 0.0, 1.0))
    mirrored = ((-1.0, 0.0, float(WIDTH)), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    seen = QRectF(0, 0, VIEW_WIDTH, VIEW_HEIGHT)
    frames = {}
    for name, matrix in (("", to_mm), (" turned 2 deg", turned), (" mirrored", mirrored)):
        for at, zoom in zooms():
            def draw(painter: QPainter, view: QTransform, matrix: Any = matrix) -> None:
                draw_scan(painter, picture, matrix, view, 0.6, seen, 1.0)

            frames[at + name] = summary(frame_times(draw, zoom))
    return {
        "preview": found.get("preview"),
        "ready": ready,
        "longest pause of the event loop": float(np.diff(ticks).max()) if len(ticks) > 1 else None,
        "memory": f"{now - before:.0f} MB kept, {most - before:.0f} MB at most",
        "frames": frames,
    }


def measure_plain(file: Path) -> dict[str, Any]:
    """One QPixmap of the whole picture."""
    QImageReader.setAllocationLimit(0)
    data = file.read_bytes()
    before = megabytes()[0]
    begun = time.perf_counter()
    pixmap = QPixmap.fromImage(QImage.fromData(data))
    ready = time.perf_counter() - begun
    now, most = megabytes()

    def draw(painter: QPainter, view: QTransform) -> None:
        painter.setOpacity(0.6)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.setTransform(view)
        painter.drawPixmap(0, 0, pixmap)

    frames = {at: summary(frame_times(draw, zoom)) for at, zoom in zooms()}
    turned = QTransform(0.999, 0.035, -0.035, 0.999, 0, 0)
    mirrored = QTransform(-1, 0, 0, 1, WIDTH, 0)
    for name, first in ((" turned 2 deg", turned), (" mirrored", mirrored)):
        for at, zoom in zooms():

            def draw_first(painter: QPainter, view: QTransform, first: QTransform = first) -> None:
                draw(painter, first * view)

            frames[at + name] = summary(frame_times(draw_first, zoom))
    return {
        "preview": None,
        "ready": ready,
        "longest pause of the event loop": ready,
        "memory": f"{now - before:.0f} MB kept, {most - before:.0f} MB at most",
        "frames": frames,
    }


def zooms() -> tuple[tuple[str, float], ...]:
    return (("fit", VIEW_HEIGHT / HEIGHT), ("1:4", 0.25), ("1:1", 1.0), ("8:1", 8.0))


def main() -> None:
    """Measure everything and print it, or one file in one way (for the child process)."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", nargs=2, metavar=("WAY", "FILE"))
    arguments = parser.parse_args()
    if arguments.only:
        app = QApplication([])
        way, file = arguments.only
        print(json.dumps((measure_ours if way == "ours" else measure_plain)(Path(file))))
        app.processEvents()
        return
    with tempfile.TemporaryDirectory() as folder:
        for file in make_files(Path(folder)):
            print(f"\n{file.name}: {WIDTH} x {HEIGHT}, {file.stat().st_size / 1e6:.1f} MB")
            for way in ("ours", "plain"):
                command = [sys.executable, __file__, "--only", way, str(file)]
                done = subprocess.run(command, check=True, capture_output=True, text=True)
                found = json.loads(done.stdout)
                preview = f"first sight {found['preview']:.2f} s, " if found["preview"] else ""
                pause = found["longest pause of the event loop"]
                print(f"  {way:5}  {preview}ready {found['ready']:.2f} s, {found['memory']}", end="")
                print("" if pause is None else f", longest pause {pause * 1000:.0f} ms")
                for at, times in found["frames"].items():
                    print(f"         {at:17} {times}")


if __name__ == "__main__":
    main()
