"""Pictures of the real window, for the README and for looking at after visible work.

    python tests/pictures/take_pictures.py [FOLDER]

Writes window.png (the README's) beside this script; with FOLDER, all of them there: empty, each
sample, mid-trace, once round, mid-drag, dark, a small window, and (in a process of its own) at 200 %.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
sys.path.insert(0, str(ROOT))
_own = tempfile.mkdtemp()
for _name in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME"):
    os.environ[_name] = _own

import numpy as np  # noqa: E402
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt  # noqa: E402
from PySide6.QtGui import QMouseEvent  # noqa: E402
from PySide6.QtTest import QTest  # noqa: E402

from app.window.window import Window, application  # noqa: E402
from core.geometry.ring import point_on  # noqa: E402
from core.redesign.design_edits import delete_outlines  # noqa: E402
from core.redesign.settling import path_of  # noqa: E402
from core.stability.side_area import form_of  # noqa: E402

SAMPLES = ROOT / "sample_designs"
LEFT, PLAIN = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier


class Photographer:
    """Drives one window and keeps what it looks like."""

    def __init__(self, folder: Path) -> None:
        self.app, self.folder = application(), folder
        self.window = Window()
        self.window.resize(1400, 840)
        self.window.show()
        self.until(lambda: self.window.area_band is not None)

    def until(self, done: Callable[[], bool], seconds: float = 20.0) -> None:
        end = time.monotonic() + seconds
        while not done():
            if time.monotonic() > end:
                raise SystemExit("the window did not get there in time")
            self.app.processEvents()
        settled = time.monotonic() + 0.25
        while time.monotonic() < settled:
            self.app.processEvents()

    def take(self, name: str) -> None:
        self.until(lambda: True)
        self.window.grab().save(str(self.folder / f"{name}.png"))

    def sample(self, name: str) -> None:
        self.window.document._saved = self.window.document.committed
        self.window.filing.open_sample(SAMPLES / f"{name}.sternpost")
        self.until(lambda: bool(self.window.shelf.pictures))

    def px(self, x: float, z: float) -> QPoint:
        px, py = self.window.canvas.view.to_px(x, z)
        return QPoint(round(px), round(py))

    def begin_drag(self, kind: str, by: int) -> QPoint:
        """Take hold of the aftmost edge of an outline of that kind and pull it aft by so many pixels."""
        design, canvas = self.window.document.design, self.window.canvas
        outline = next(o for o in design.outlines if o.kind == kind)
        ring = form_of(outline).ring
        middles = [point_on(ring, i, 0.5) for i in range(len(ring))]
        edge = int(np.argmax([m[0] for m in middles]))
        start = self.px(float(middles[edge][0]), float(middles[edge][1]))
        QTest.mouseMove(canvas, start)
        QTest.mousePress(canvas, LEFT, Qt.KeyboardModifier.ControlModifier, start)
        for step in range(1, by + 1):
            QTest.mouseMove(canvas, start + QPoint(step, 0))
        return start + QPoint(by, 0)

    def once_round(self, kind: str) -> QPoint:
        """Take the outline of that kind away and draw loosely round where it was; the pen stays down."""
        document, canvas = self.window.document, self.window.canvas
        outline = next(o for o in document.design.outlines if o.kind == kind)
        document.apply("take away", lambda d: delete_outlines(d, [outline.id]))
        canvas.take_hand("trace")
        path = path_of(outline)
        path = path[:: max(1, len(path) // 160)]
        path = path + 1.5 * np.sin(np.arange(len(path))[:, None] / (4, 5))
        places = [self.px(float(x), float(z)) for x, z in path]
        QTest.mousePress(canvas, LEFT, PLAIN, places[0])
        for at in places[1:-4]:
            event = QMouseEvent(
                QEvent.Type.MouseMove, QPointF(at), QPointF(canvas.mapToGlobal(at)),
                Qt.MouseButton.NoButton, LEFT, PLAIN,
            )
            self.app.sendEvent(canvas, event)
        return places[-4]

    def close(self) -> None:
        self.window.document._saved = self.window.document.committed
        self.window.close()


def everything(folder: Path) -> None:
    """All pictures worth a look."""
    person = Photographer(folder)
    window = person.window
    person.take("empty")
    for name in ("marsh-harrow-52", "tallow-twin", "long-meadow-2000"):
        person.sample(name)
        person.take(name)
    person.sample("marsh-harrow-52")
    end = person.begin_drag("rudder", 14)
    person.take("mid-drag")
    QTest.mouseRelease(window.canvas, LEFT, PLAIN, end)
    window.canvas.take_hand("trace")
    for x, z in ((820, 120), (905, 300), (985, 292)):
        QTest.mouseClick(window.canvas, LEFT, PLAIN, person.px(x, z))
    QTest.mouseMove(window.canvas, person.px(940, 60))
    person.take("mid-trace")
    window.canvas.take_hand("edit")
    person.sample("tallow-twin")
    end = person.once_round("fuselage")
    person.take("once-round")
    QTest.mouseRelease(window.canvas, LEFT, PLAIN, end)
    person.until(lambda: window.canvas.hand.overlay().figure == "" or not window.canvas.hand.busy, 60.0)
    person.take("two-lines")
    window.canvas.take_hand("edit")
    window.set_theme("night")
    person.take("dark")
    window.set_theme("day")
    window.resize(window.minimumSizeHint())
    person.take("small")
    person.close()


def readme(folder: Path) -> None:
    """The picture in the README: a fin being dragged."""
    person = Photographer(folder)
    person.sample("marsh-harrow-52")
    person.begin_drag("rudder", 10)
    person.take("window")
    person.window.document.abort()
    person.close()


def main() -> None:
    if len(sys.argv) < 2:
        readme(HERE)
        return
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    if os.environ.get("QT_SCALE_FACTOR") == "2":
        person = Photographer(folder)
        person.sample("tallow-twin")
        person.take("at-200-per-cent")
        person.close()
        return
    everything(folder)
    subprocess.run(
        [sys.executable, __file__, str(folder)], check=True, env={**os.environ, "QT_SCALE_FACTOR": "2"}
    )


if __name__ == "__main__":
    main()
