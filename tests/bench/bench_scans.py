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
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np
from PySide6.QtCore import QSize
from PySide6.QtGui import QImage, QImageReader, QPainter, QPixmap, QTransform
from PySide6.QtWidgets import QApplication

WIDTH, HEIGHT = 9933, 14043
VIEW_WIDTH, VIEW_HEIGHT = 1600, 1000
FRAMES = 25


def now() -> float:
    """Seconds of the processors' time that this process had: a busy machine does not count.

    Not this thread's alone: Qt converts and scales big pictures in several.
    """
    return time.process_time()


def make_files(folder: Path) -> list[Path]:
    """The scan as grey PNG, grey JPEG, colour JPEG and G4; a G4 of 20000 x 14000, a strip of 2000 x 60000."""
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
    names = ("grey.png", "grey.jpg", "colour.jpg", "g4.tif", "280-megapixel-g4.tif", "strip.png")
    files = [folder / name for name in names]
    image.save(files[0], compress_level=3, dpi=(300, 300))
    image.save(files[1], quality=85, dpi=(300, 300))
    image.convert("RGB").save(files[2], quality=85, dpi=(300, 300))
    Image.fromarray(sheet > 128).save(files[3], compression="group4", dpi=(300, 300))
    wide = np.tile((sheet > 128)[:2000], (7, 3))[:, :20000]
    Image.fromarray(wide).save(files[4], compression="group4", dpi=(600, 600))
    Image.fromarray(np.tile(sheet[:10000, :2000], (6, 1))).save(files[5], compress_level=1, dpi=(300, 300))
    return files


def make_new_kinds(folder: Path) -> list[Path]:
    """The grey scan as JPEG 2000 whole and in tiles, AVIF, and 35 megapixels of it as HEIC by ``heif-enc``.

    A single picture of HEVC has no more; phones put bigger ones together from tiles, which that cannot write.
    """
    from PIL import Image

    (source, *others) = make_files(folder)
    for other in others:
        other.unlink()
    files = [folder / name for name in ("whole.jp2", "tiles.jp2", "grey.avif")]
    with Image.open(source) as image:
        rates = {"irreversible": True, "quality_mode": "rates", "quality_layers": [20]}
        image.save(files[0], **rates)
        image.save(files[1], tile_size=(1024, 1024), **rates)
        image.save(files[2], speed=10, quality=60)
        image.crop((0, 0, 8000, 4400)).save(source)
    encoder = shutil.which("heif-enc")
    if encoder is not None:
        files.append(folder / "part.heic")
        quick = ("-q", "50", "-p", "preset=ultrafast")
        subprocess.run([encoder, *quick, str(source), "-o", str(files[-1])], check=True)
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
        begun = now()
        painter = QPainter(paper)
        draw(painter, view)
        painter.end()
        times.append((now() - begun) * 1000)
    return times


def summary(times: list[float]) -> str:
    return f"median {np.median(times):6.2f}  p95 {np.percentile(times, 95):6.2f} ms"


def measure_ours(file: Path, *, drawn: bool = True) -> dict[str, Any]:
    """Load through ScanLoader with the event loop running, then draw."""
    from PySide6.QtCore import QEventLoop, QTimer

    from app.scans.levels import grey_pixels
    from app.scans.loader import ScanLoader

    data = file.read_bytes()
    before = megabytes()[0]
    loader, loop = ScanLoader(), QEventLoop()
    found: dict[str, Any] = {}
    seen: list[tuple[float, bool]] = []
    ticks: list[float] = []

    def heard(_key: object, picture: Any) -> None:
        # White at the lower edge alone: the rest has not been decoded yet.
        lines = grey_pixels(picture.levels[0])[-40:-8]
        seen.append((time.perf_counter() - begun, bool((lines < 255).any())))

    begun = time.perf_counter()
    loader.preview.connect(heard)
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
    held, most = megabytes()
    frames = {name: summary(times) for name, times in canvas_frames(picture)} if drawn else {}
    return {
        "preview": seen[0][0] if seen else None,
        "whole": next((at for at, whole in seen if whole), ready),
        "ready": ready,
        "longest pause of the event loop": float(np.diff(ticks).max()) if len(ticks) > 1 else None,
        "memory": f"{held - before:.0f} MB kept, {most - before:.0f} MB at most; process {most:.0f} MB",
        "frames": frames,
    }


def canvas_frames(picture: Any) -> Iterator[tuple[str, list[float]]]:
    """The canvas's resting layers, outlines of 60 curved nodes on top, for each frame of a pan and of a zoom.

    The aeroplane, 1.2 m long, lies across the middle of the sheet, and the middle of the view on it.
    """
    from bench_drag import design_of
    from msgspec.structs import replace

    from app.canvas.layers import Layers
    from app.canvas.view import View
    from app.kit.theme import DAY

    class Held:
        def picture_of(self, _scan: object) -> Any:
            return picture

        def looked_at(self, _scan: object, _per_device: float) -> None:
            pass

    held, size, mm = Held(), QSize(VIEW_WIDTH, VIEW_HEIGHT), 25.4 / 300
    c, s = 0.9994 * mm, 0.0349 * mm
    turns = (("upright", ((mm, 0.0), (0.0, -mm)), 12), ("upright", ((mm, 0.0), (0.0, -mm)), 120),
             ("mirrored", ((-mm, 0.0), (0.0, -mm)), 12), ("turned 2 deg", ((c, s), (s, -c)), 12))
    for name, turn, outlines in turns:
        middle = np.array((600.0, 0.0)) - np.array(turn) @ (picture.width / 2, picture.height / 2)
        to_mm = ((*turn[0], float(middle[0])), (*turn[1], float(middle[1])), (0.0, 0.0, 1.0))
        design = design_of(outlines)
        shown = replace(design, scans=(replace(design.scans[0], to_mm=to_mm, opacity=0.6, hidden=False),))
        for ratio in (1.0, 2.0):
            fit = VIEW_HEIGHT / picture.height
            for at, scale in (("fit", fit), ("1:4", 0.25), ("1:1", 1.0), ("8:1", 8.0)):
                for motion in ("pan", "zoom"):
                    layers, times = Layers(), []
                    per_mm = scale / ratio / mm
                    view = View(per_mm, 600 - VIEW_WIDTH / 2 / per_mm, VIEW_HEIGHT / 2 / per_mm)
                    for frame in range(FRAMES + 1):
                        view = (
                            view.panned(-7, 5) if motion == "pan"
                            else view.zoomed(1.02 if frame % 2 else 1 / 1.019, 800, 500)
                        )
                        begun = now()
                        layers.resting(shown, frozenset(), held, view, size, ratio, DAY)
                        times.append((now() - begun) * 1000)
                    yield f"{name}, {outlines} outlines, {100 * ratio:.0f} %, {at}, {motion}", times[1:]


def measure_plain(file: Path) -> dict[str, Any]:
    """One QPixmap of the whole picture."""
    QImageReader.setAllocationLimit(0)
    data = file.read_bytes()
    before = megabytes()[0]
    begun = time.perf_counter()
    pixmap = QPixmap.fromImage(QImage.fromData(data))
    ready = time.perf_counter() - begun
    held, most = megabytes()

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
        "whole": ready,
        "ready": ready,
        "longest pause of the event loop": ready,
        "memory": f"{held - before:.0f} MB kept, {most - before:.0f} MB at most",
        "frames": frames,
    }


def zooms() -> tuple[tuple[str, float], ...]:
    return (("fit", VIEW_HEIGHT / HEIGHT), ("1:4", 0.25), ("1:1", 1.0), ("8:1", 8.0))


def main() -> None:
    """Measure everything and print it, or one file in one way (for the child process)."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", nargs=2, metavar=("WAY", "FILE"))
    parser.add_argument("--new-kinds", action="store_true", help="JPEG 2000, AVIF, HEIC; no frames")
    arguments = parser.parse_args()
    if arguments.only:
        app = QApplication([])
        way, file = arguments.only
        drawn = not arguments.new_kinds
        found = measure_ours(Path(file), drawn=drawn) if way == "ours" else measure_plain(Path(file))
        print(json.dumps(found))
        app.processEvents()
        return
    files_without_plain = ("280-megapixel-g4.tif", "strip.png")
    with tempfile.TemporaryDirectory() as folder:
        make = make_new_kinds if arguments.new_kinds else make_files
        for file in make(Path(folder)):
            print(f"\n{file.name}: {file.stat().st_size / 1e6:.1f} MB")
            # A pixmap of the bigger ones would take more than a gigabyte.
            alone = file.name in files_without_plain or arguments.new_kinds
            for way in ("ours",) if alone else ("ours", "plain"):
                command = [sys.executable, __file__, "--only", way, str(file)]
                command += ["--new-kinds"] if arguments.new_kinds else []
                done = subprocess.run(command, check=True, capture_output=True, text=True)
                found = json.loads(done.stdout)
                preview = f"first sight {found['preview']:.2f} s, " if found["preview"] else ""
                preview += f"all of it {found['whole']:.2f} s, "
                pause = found["longest pause of the event loop"]
                print(f"  {way:5}  {preview}ready {found['ready']:.2f} s, {found['memory']}", end="")
                print("" if pause is None else f", longest pause {pause * 1000:.0f} ms")
                for at, times in found["frames"].items():
                    print(f"         {at:46} {times}")


if __name__ == "__main__":
    main()
