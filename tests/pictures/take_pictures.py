"""Pictures of the real window, for the README and for looking at after visible work.

    python tests/pictures/take_pictures.py [FOLDER | --help-pictures]

Writes window.png (the README's) beside this script; with FOLDER, all of them there: empty, each
sample, mid-trace, once round, mid-drag, tail parts, the pages of the help, the first steps, dark, and
(each in a process of its own) the sizes, the scale, the font and the locales of OTHERS. With
--help-pictures those that the help shows, by day and by night, into icons/help.
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
from PIL import Image  # noqa: E402
from PySide6.QtCore import QEvent, QLocale, QPoint, QPointF, QRect, QSettings, Qt  # noqa: E402
from PySide6.QtGui import QMouseEvent, QPixmap  # noqa: E402
from PySide6.QtTest import QTest  # noqa: E402
from PySide6.QtWidgets import QWidget  # noqa: E402

from app.kit.worker import Worker  # noqa: E402
from app.side.parts_window import PartsWindow  # noqa: E402
from app.window.window import Window, application  # noqa: E402
from app.work.selection import NOTHING, Selection  # noqa: E402
from core.design_build import BUILD_WAYS, BuildWay  # noqa: E402
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
        QSettings().setValue("first-steps/seen", True)
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

    def parts(self, way: BuildWay) -> None:
        """Parts for the first surface, made that way, in the window beside the window."""
        side = self.window.side.show("parts")
        assert isinstance(side, PartsWindow)
        side.surfaces.setCurrentRow(0)
        side.ways.buttons[way].click()
        self.until(lambda: True)
        side.grab().save(str(self.folder / f"parts-{way}.png"))

    def help_pages(self) -> None:
        """The pages of the help, and what a search finds."""
        for key, place in (
            ("method", "card"), ("steps", "answer"), ("words", "cla"), ("trust", "estimates"),
            ("keys", "hands"),
        ):
            self.window.guidance.show(f"{key}/{place}")
            side = self.window.side.show("help")
            self.until(lambda: True)
            side.grab().save(str(self.folder / f"help-{key}.png"))
        self.window.side.close()

    def first_steps(self) -> None:
        """Each of the notes that lead through a sample."""
        steps = self.window.guidance.first_steps
        steps.begin()
        while steps.at >= 0:
            self.take(f"first-step-{steps.at + 1}")
            steps.next()

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
    person.sample("marsh-harrow-52")
    for way in BUILD_WAYS:
        person.parts(way)
    window.side.close()
    person.help_pages()
    person.first_steps()
    window.set_theme("night")
    person.take("dark")
    window.set_theme("day")
    person.close()


OTHERS: dict[str, dict[str, str]] = {
    "size-1024x600": {}, "size-1366x768": {}, "size-1920x1080": {},
    "at-200-per-cent": {"QT_SCALE_FACTOR": "2"}, "font-14": {"PICTURE_FONT": "14"},
    "locale-de": {"PICTURE_LOCALE": "de_DE"}, "locale-fr": {"PICTURE_LOCALE": "fr_FR"},
    "locale-ar": {"PICTURE_LOCALE": "ar_EG"}, "locale-he": {"PICTURE_LOCALE": "he_IL"},
}
"""What is looked at besides, by the name of its picture: set in the environment of a process of its own."""
FRAME = (0, 68)
"""px of a screen that task bar and title take."""


def another(folder: Path, name: str) -> None:
    """One of OTHERS: the first start on a screen of that size, and a window beside it."""
    app = application()
    if "PICTURE_FONT" in os.environ:
        font = app.font()
        font.setPointSize(int(os.environ["PICTURE_FONT"]))
        app.setFont(font)
    if "PICTURE_LOCALE" in os.environ:
        QLocale.setDefault(QLocale(os.environ["PICTURE_LOCALE"]))
    person = Photographer(folder)
    window, size = person.window, (1366, 768)
    if name.startswith("size-"):
        wide, high = name.removeprefix("size-").split("x")
        size = int(wide), int(high)
    elif name == "at-200-per-cent":
        size = 960, 540
    window.resize(size[0] - FRAME[0], size[1] - FRAME[1])
    person.take(f"{name}-empty")
    person.sample("marsh-harrow-52")
    person.take(name)
    window.room.choose("lists", True)
    fin = next(o for o in window.document.design.outlines if o.kind == "fin")
    window.picked.set(Selection((fin.id,)))
    person.take(f"{name}-lists")
    person.close()


def readme(folder: Path) -> None:
    """The picture in the README: a fin being dragged."""
    person = Photographer(folder)
    person.sample("marsh-harrow-52")
    person.begin_drag("rudder", 10)
    person.take("window")
    person.window.document.abort()
    person.close()


HELP_PICTURES = ("open", "scale", "trace", "count", "answer", "change", "refit", "paper")
"""What the help shows, each by day and by night."""
_WIDE, _HIGH = 560, 340


def help_pictures(folder: Path) -> None:
    """Parts of the window as the help shows them, at 560 pixels across or less."""
    person = Photographer(folder)
    window, canvas = person.window, person.window.canvas
    window.resize(1180, 760)
    for theme in ("day", "night"):
        window.set_theme(theme)

        def keep(name: str, of: QWidget, part: QRect, theme: str = theme) -> None:
            person.until(lambda: True)
            small(of.grab(part.intersected(of.rect())), folder / f"{name}-{theme}.png")

        def within(widget: QWidget) -> QRect:
            return QRect(widget.mapTo(window, QPoint(0, 0)), widget.size())

        person.sample("long-meadow-2000")
        keep("open", window, QRect(0, 0, 860, 520))
        canvas.take_hand("scale")
        for x in (0.0, 620.0):
            QTest.mouseClick(canvas, LEFT, PLAIN, person.px(x, -40.0))
        strip = within(window.strip)
        keep("scale", window, QRect(strip.left(), strip.top(), strip.width(), 390))
        canvas.take_hand("edit")
        person.sample("tallow-twin")
        end = person.once_round("fuselage")
        keep("trace", window, QRect(strip.left(), strip.top(), strip.width(), 390))
        QTest.mouseRelease(canvas, LEFT, PLAIN, end)
        canvas.hand.leave()
        canvas.take_hand("edit")
        person.sample("marsh-harrow-52")
        window.tabs.setCurrentWidget(window.outlines)
        wheel = next(o for o in window.document.design.outlines if o.kind == "wheel")
        window.picked.set(Selection((wheel.id,)))
        keep("count", window, within(window.tabs))
        place = window.answer.parentWidget().parentWidget()
        assert place is not None
        keep("answer", window, within(place))
        window.picked.set(NOTHING)
        window.resize(1180, 600)
        person.until(lambda: True)
        canvas.fit()
        person.begin_drag("rudder", 12)
        rule = within(window.arm_rule)
        keep("change", window, QRect(strip.left(), rule.top() - 300, rule.width(), 300 + rule.height()))
        window.document.abort()
        canvas.hand.leave()
        window.resize(1180, 760)
        for name, side_name in (("refit", "refit"), ("paper", "bench-sheet")):
            side = window.side.show(side_name)
            person.until(lambda: True)
            workers = side.findChildren(Worker)
            person.until(lambda workers=workers: not any(w.busy for w in workers), 60.0)
            keep(name, side, side.rect())
            side.close()
    person.close()


def small(taken: QPixmap, path: Path) -> None:
    """Written in 64 colours, no larger than the help shows it: under 60 kB."""
    fine = taken.scaled(
        min(_WIDE, taken.width()), min(_HIGH + 80, taken.height()), Qt.AspectRatioMode.KeepAspectRatio,
        Qt.TransformationMode.SmoothTransformation,
    )
    fine.save(str(path))
    with Image.open(path) as image:
        image.convert("RGB").quantize(64).save(path, optimize=True)


def main() -> None:
    if len(sys.argv) < 2:
        readme(HERE)
        return
    if sys.argv[1] == "--help-pictures":
        help_pictures(ROOT / "icons" / "help")
        return
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    if len(sys.argv) > 2:
        another(folder, sys.argv[2])
        return
    everything(folder)
    for name, env in OTHERS.items():
        subprocess.run([sys.executable, __file__, str(folder), name], check=True, env={**os.environ, **env})


if __name__ == "__main__":
    main()
