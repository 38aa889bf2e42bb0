"""One mouse move of an edge drag, from the event to the painted window, with all readings.

    python tests/bench/bench_drag.py

Over a scan of 140 megapixels, at 1600 × 1000, for 12 outlines of 60 curved nodes and for ten times
as many. Beside it, in the same run, a plain window that computes and paints everything anew.
"""

from __future__ import annotations

import os
import resource
import statistics
import sys
import tempfile
import time
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
for _name in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME"):
    os.environ[_name] = tempfile.mkdtemp()

import numpy as np  # noqa: E402
from PySide6.QtCore import QPoint, Qt  # noqa: E402
from PySide6.QtGui import QColor, QImage, QPainter, QPaintEvent, QPen  # noqa: E402
from PySide6.QtTest import QTest  # noqa: E402
from PySide6.QtWidgets import QWidget  # noqa: E402

from app.canvas.ink import path_of, transform_of  # noqa: E402
from app.scans.levels import pyramid  # noqa: E402
from app.scans.picture import Picture  # noqa: E402
from app.window.window import Window, application  # noqa: E402
from core.design import Design, Mark, Node, Outline, Scan  # noqa: E402
from core.stability.readings import ReadingsEngine  # noqa: E402

MOVES = 200
WIDE, HIGH = 14043, 9933


def rounded(number: int, x: float, z: float, wide: float, high: float, kind: str, count: int = 1) -> Outline:
    """An oval of 60 curved nodes."""
    turns = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    k = 4 / 3 * np.tan(np.pi / 120)
    return Outline(f"o{number}", kind, tuple(
        Node(
            float(x + wide * np.cos(t)), float(z + high * np.sin(t)),
            (float(wide * k * np.sin(t)), float(-high * k * np.cos(t))),
            (float(-wide * k * np.sin(t)), float(high * k * np.cos(t))),
        ) for t in turns
    ), count=count)


def design_of(outlines: int) -> Design:
    """A fuselage, a fin, and things along it, a third of them doubled."""
    parts = [rounded(0, 600, 0, 550, 90, "fuselage"), rounded(1, 1120, 90, 60, 90, "fin")]
    for i in range(2, outlines):
        parts.append(
            rounded(i, 80 + 1000 * i / outlines, -110 + 25 * (i % 8), 34, 22, "pylon", 2 if i % 3 == 0 else 1)
        )
    scan = Scan(
        id="plan", file="plan.png", to_mm=((0.0847, 0, 0), (0, -0.0847, 420), (0, 0, 1)), scale_from="points"
    )
    return Design(1, "bench", scans=(scan,), outlines=tuple(parts), cg_mark=Mark(x=330, z=0))


class PlainWindow(QWidget):
    """The baseline: everything is computed and painted anew with every move."""

    def __init__(self, design: Design, picture: Picture, view: object) -> None:
        super().__init__()
        self.design, self.picture, self.view = design, picture, view
        self.resize(1600, 1000)
        self.readings = ReadingsEngine().read(design)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor("white"))
        transform = transform_of(self.view)
        painter.save()
        painter.setWorldTransform(transform)
        painter.scale(1, -1)
        level = self.picture.levels[3]
        painter.drawImage(0, -420, level.scaled(1190, 841))
        painter.restore()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for outline in self.design.outlines:
            path = transform.map(path_of(outline))
            painter.fillPath(path, QColor(200, 180, 140, 90))
            painter.strokePath(path, QPen(QColor("black"), 1.7))
        painter.end()


def report(name: str, times: list[float]) -> None:
    ordered = sorted(times)
    print(
        f"{name:58s} median {statistics.median(times):6.2f} ms   "
        f"p95 {ordered[int(0.95 * len(ordered))]:6.2f} ms   worst {ordered[-1]:6.2f} ms"
    )


def main() -> None:
    app = application()
    rng = np.random.default_rng(7)
    grey = np.full((HIGH, WIDE), 235, np.uint8)
    grey[::40, :] = 60
    grey += rng.integers(0, 12, (1, WIDE), np.uint8)
    image = QImage(grey.data, WIDE, HIGH, WIDE, QImage.Format.Format_Grayscale8).copy()
    picture = Picture(pyramid(image), WIDE, HIGH, None, "")
    for outlines in (12, 120):
        design = design_of(outlines)
        window = Window()
        window.resize(1600, 1000)
        window.show()
        window.document.start(design, {"plan.png": b"x"})
        window.shelf._loader.cancel("plan.png")
        window.shelf.put("plan.png", window.document.pictures["plan.png"], picture)
        deadline = time.perf_counter() + 1.5
        while time.perf_counter() < deadline or window.area_band is None:
            app.processEvents()
        window.canvas.fit()
        app.processEvents()
        canvas = window.canvas
        fin = design.outlines[1]
        # The middle of the aftmost edge of the fin.
        x, z = (fin.nodes[0].x + fin.nodes[1].x) / 2, (fin.nodes[0].z + fin.nodes[1].z) / 2
        px, py = canvas.view.to_px(x, z)
        start = QPoint(round(px), round(py))
        QTest.mouseMove(canvas, start)
        QTest.mousePress(canvas, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.ControlModifier, start)
        for i in range(8):
            QTest.mouseMove(canvas, start + QPoint(i, 0))
            app.processEvents()
        times = []
        for i in range(MOVES):
            begun = time.perf_counter()
            QTest.mouseMove(canvas, start + QPoint(8 + i % 40, i % 3))
            app.processEvents()
            times.append(1e3 * (time.perf_counter() - begun))
        assert window.document.busy, "the drag did not take hold"
        QTest.mouseRelease(canvas, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.ControlModifier, start)
        report(f"{outlines} outlines × 60 nodes, Sternpost's window", times)

        plain = PlainWindow(design, picture, canvas.view)
        plain.show()
        app.processEvents()
        times = []
        for i in range(40):
            moved = rounded(1, 1120 + i % 20, 90, 60, 90, "fin")
            begun = time.perf_counter()
            plain.design = Design(1, "bench", outlines=(design.outlines[0], moved, *(
                Outline(o.id, o.kind, o.nodes, count=o.count) for o in design.outlines[2:]
            )), cg_mark=design.cg_mark)
            plain.readings = ReadingsEngine().read(plain.design)
            plain.update()
            app.processEvents()
            times.append(1e3 * (time.perf_counter() - begun))
        report(f"{outlines} outlines × 60 nodes, plain window, all anew", times)
        plain.close()
        window.document._saved = window.document.committed
        window.close()
        app.processEvents()
    print(f"resident at most {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    main()
