"""Photographs through a bent lens: how right they are measured, how fast drawn, how often the sheet is found.

    python tests/bench/bench_lens.py [CAMERAS] [EACH]

Prints, for CAMERAS (200) seeded ones with up to 3 % of barrel either way, what is left with four corners
alone and with lines along the sides; the time to draw a 12-megapixel photograph; and of EACH (8) drawn
photographs of a kind, how many sheets are found and how near their corners.
"""

from __future__ import annotations

import os
import sys
import time
from dataclasses import replace as altered
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "app"), str(ROOT / "tests" / "core")]

import drawn_photographs  # noqa: E402
import numpy as np  # noqa: E402
from cameras import PICTURE, Camera, pairs  # noqa: E402
from making import curved_outline  # noqa: E402
from PySide6.QtCore import QRectF  # noqa: E402
from PySide6.QtGui import QImage, QPainter, QTransform  # noqa: E402

from app.scans.drawing import draw_scan  # noqa: E402
from app.scans.lens_drawing import draw_bent  # noqa: E402
from app.scans.levels import blank, grey_pixels, pyramid  # noqa: E402
from app.scans.opening import open_picture  # noqa: E402
from app.scans.picture import Picture  # noqa: E402
from app.scans.sheet_corners import sheet_in  # noqa: E402
from core.design import EMPTY, Design, Matrix, Scan  # noqa: E402
from core.geometry.ring import Array, flatten, ring_of  # noqa: E402
from core.redesign.scan_plane import KnownRectangle, straighten  # noqa: E402
from core.scan_map import lens_about_the_middle, mm_of  # noqa: E402

SHEET = np.array(((0.0, 0.0), (841.0, 0.0), (841.0, 594.0), (0.0, 594.0)))
BODY = flatten(ring_of(curved_outline("fuselage", "fuselage", 420, 300, 760).nodes))
UPRIGHT: Matrix = ((0.254, 0.0, 0.0), (0.0, -0.254, 762.0), (0.0, 0.0, 1.0))
SCAN = Scan("photo", "photo.jpg", to_mm=UPRIGHT, scale_from="none")
TILTED: Matrix = ((0.25, 0.01, -3.0), (0.012, -0.25, 700.0), (1e-5, 2e-5, 1.0))


def folded(points: Array, height: float) -> Array:
    x, z = points.T
    return np.column_stack((
        x, z, height * (np.abs((x / 210.25) % 2 - 1) + np.abs((z / 297.0) % 2 - 1) - 1.0)
    ))


def area(ring: Array) -> float:
    x, z = ring.T
    return abs(float((x * np.roll(z, -1) - np.roll(x, -1) * z).sum()) / 2)


def measured(count: int, height: float) -> None:
    rng = np.random.default_rng(2026)
    found: dict[str, list[tuple[float, float]]] = {"four corners": [], "and lines along the sides": []}
    grid = np.stack(np.meshgrid(np.linspace(10, 831, 22), np.linspace(10, 584, 16)), -1).reshape(-1, 2)
    part = np.linspace(0.05, 0.95, 7)[:, None]
    for _ in range(count):
        tilt, pan, roll = rng.uniform((-18, -18, -8), (18, 18, 8))
        camera = Camera(
            3600, tilt, pan, roll, rng.uniform(900, 1200), 420.5, 297.0, barrel=rng.uniform(-0.03, 0.03)
        )

        def seen(points: Array, noise: float, camera: Camera = camera) -> Array:
            at = camera.looks_at(folded(points, height))
            return at + rng.normal(0, noise / np.sqrt(2), at.shape)

        lines = tuple(
            pairs(seen(a + part * (b - a), 1.0)) for a, b in zip(SHEET, np.roll(SHEET, -1, 0), strict=True)
        )
        corners = KnownRectangle(pairs(seen(SHEET, 1.0)), 841.0, 594.0)
        for name, known in zip(found, (corners, altered(corners, lines=lines)), strict=True):
            design: Design = EMPTY.__class__(format=1, title="", scans=(SCAN,))
            laid = straighten(design, "photo", known, {"photo": PICTURE})[0].scan("photo")
            off = mm_of(laid, seen(grid, 0.0)) - grid
            off = np.hypot(*(off - off.mean(axis=0)).T)
            found[name].append((float(off.max()), abs(area(mm_of(laid, seen(BODY, 0.0))) / area(BODY) - 1)))
    for name, rows in found.items():
        worst, by_area = np.array(rows).T
        print(
            f"  {name:26s} worst place {np.median(worst):.2f} mm median, {np.percentile(worst, 95):.2f} p95;"
            f" area {100 * np.median(by_area):.2f} % median, {100 * np.percentile(by_area, 95):.2f} p95,"
            f" {100 * by_area.max():.2f} worst"
        )


def drawing() -> None:
    level = blank(4000, 3000, colour=False)
    grey_pixels(level)[:] = np.random.default_rng(1).integers(0, 255, (3000, 4000))
    picture = Picture(pyramid(level), 4000, 3000)
    scan = Scan("a", "a.jpg", to_mm=TILTED, opacity=1.0, lens=lens_about_the_middle(0.02, PICTURE))
    for zoom, x, z in ((0.6, -100, 900), (1.3, -20, 700), (6.0, 200, 500)):
        to_view = QTransform(zoom, 0, 0, -zoom, -x * zoom, z * zoom)
        spent = []
        for bent in (True, False):
            times = []
            for _ in range(15):
                image = QImage(1600, 1000, QImage.Format.Format_RGB32)
                painter = QPainter(image)
                start = time.perf_counter()
                if bent:
                    draw_bent(painter, scan, picture, to_view, QRectF(0, 0, 1600, 1000), 1.0)
                else:
                    draw_scan(painter, picture, TILTED, to_view, 1.0, QRectF(0, 0, 1600, 1000), 1.0)
                times.append(time.perf_counter() - start)
                painter.end()
            spent.append(1000 * float(np.median(times)))
        print(f"  {zoom} px/mm: through the lens {spent[0]:.0f} ms, the perspective alone {spent[1]:.0f} ms")


def sheets(each: int) -> None:
    true, kept = drawn_photographs.corners, []

    def spied(*given: object) -> Array:
        kept.append(true(*given))  # type: ignore[arg-type]
        return kept[-1]

    drawn_photographs.corners = spied
    seconds = []
    for k, (name, draw) in enumerate(drawn_photographs.PHOTOGRAPHS.items()):
        off = []
        for number in range(each):
            kept.clear()
            picture = open_picture(draw(np.random.default_rng((2026, k, number))), name)
            start = time.thread_time()
            found = sheet_in(picture.levels, (picture.width, picture.height))
            seconds.append(time.thread_time() - start)
            if found is not None and kept:
                at = np.array(found.corners)
                turns = [np.roll(kept[0][::way], i, axis=0) for way in (1, -1) for i in range(4)]
                off.append(min(float(np.hypot(*(at - turn).T).max()) for turn in turns))
        near = sum(mm < 3 for mm in off)
        print(f"  {name:34s} {len(off)} of {each} found, {near} within 3 pixels of 1280")
    print(f"  {1000 * np.median(seconds):.0f} ms each")


def main() -> None:
    count, each = (int(word) for word in (*sys.argv[1:], *("200", "8")[len(sys.argv) - 1 :]))
    for height in (0.0, 1.0):
        print(f"Straightened, a pixel of noise a click, folds {height:g} mm off the table:")
        measured(count, height)
    print("Drawn, 1600 x 1000, by the clock (the library draws a perspective in threads):")
    drawing()
    print("Sheets found:")
    sheets(each)


if __name__ == "__main__":
    main()
