"""The program as it is started, closed, and killed: the real command line, in a process of its own."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from driving import ROOT, Driver, bare_sample, sample

from app.__main__ import main
from app.keeping.recovery import Recovery
from app.keeping.recovery_file import load
from app.window.window import Window
from core.design_file import encode, read, write
from core.redesign.design_edits import set_cg

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")

# Runs the command line on the arguments after the first, which names what the builder does meanwhile.
_BUILDER = """
import os, signal, sys
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QMessageBox
from app.__main__ import main
from app.window.window import Window, application
from driving import Boxes, Driver
import threading, time

app = application()
boxes = Boxes()
began = time.monotonic()

class Bot:
    pass

def wait():
    windows = [w for w in QApplication.topLevelWidgets() if isinstance(w, Window)]
    driver = Driver(windows[0], Bot(), boxes) if windows else None
    if driver and READY(driver) and windows[0].area_band is not None:
        WORK(driver)
    elif time.monotonic() - began > 40:
        os._exit(3)
    else:
        QTimer.singleShot(10, wait)

QTimer.singleShot(0, wait)
"""

_OPENED = "READY = lambda d: bool(d.design.outlines) and d.decoded() and d.canvas.isVisible()\n"


def builder(
    work: str, arguments: list[str], home: Path, ready: str = _OPENED
) -> subprocess.CompletedProcess[str]:
    """Run the command line with a builder at it, in ``home``."""
    code = _BUILDER + ready + work + "\nstatus = main(sys.argv[1:])\n" + (
        "left = [t.name for t in threading.enumerate() if t is not threading.main_thread()]\n"
        "assert not left, left\n"
        "assert not boxes.unexpected and not boxes.waiting, (boxes.unexpected, boxes.waiting)\n"
        "sys.exit(status)\n"
    )
    environment = dict(
        os.environ, HOME=str(home), XDG_CONFIG_HOME=str(home), XDG_DATA_HOME=str(home),
        XDG_CACHE_HOME=str(home), QT_QPA_PLATFORM="offscreen",
        PYTHONPATH=os.pathsep.join((str(ROOT), str(ROOT / "tests" / "app"))),
    )
    return subprocess.run(
        [sys.executable, "-X", "faulthandler", "-c", code, *arguments], env=environment, capture_output=True,
        text=True, timeout=90, check=False,
    )


def clean(done: subprocess.CompletedProcess[str]) -> None:
    """Ended well, with nothing but Qt's own word on size hints on standard error."""
    said = [line for line in done.stderr.splitlines() if "propagateSizeHints" not in line]
    assert (done.returncode, said) == (0, [])


_DRAG_AND_SAVE = """
def WORK(d):
    d.zoom_to((960.0, 84.0), 2.0)
    d.drag((995.0, 84.0), (1015.0, 84.0))
    assert d.window.document.dirty
    d.do("save")
    d.window.close()
"""


def test_open_drag_save_and_close_through_the_command_line(own_home: Path, tmp_path: Path) -> None:
    path = tmp_path / "harrow.sternpost"
    write(path, sample().design, sample().pictures)
    clean(builder(_DRAG_AND_SAVE, [str(path)], own_home))
    found = read(path)
    assert found.design.outline("rudder").nodes[2].x == pytest.approx(1015, abs=1.0)
    assert dict(found.pictures) == dict(sample().pictures)
    assert list(own_home.rglob("*.json")) == [], "nothing is left to be offered"
    # The next window stands where this one stood.
    assert any("geometry" in p.read_text() for p in own_home.rglob("*.conf"))


def test_a_scan_on_the_command_line_begins_a_design(own_home: Path, tmp_path: Path) -> None:
    from PIL import Image

    Image.new("L", (500, 200), 220).save(tmp_path / "plan.png")
    ready = "READY = lambda d: len(d.design.scans) == 1 and d.decoded()\n"
    work = """
def WORK(d):
    assert d.canvas.hand.name == "scale"
    d.boxes.answer("Discard")
    d.window.close()
"""
    clean(builder(work, [str(tmp_path / "plan.png")], own_home, ready))


def test_closing_while_a_scan_is_being_opened(own_home: Path, tmp_path: Path) -> None:
    path = tmp_path / "harrow.sternpost"
    write(path, sample().design, sample().pictures)
    ready = "READY = lambda d: bool(d.design.outlines)\n"
    clean(builder("def WORK(d):\n    d.window.close()\n", [str(path)], own_home, ready))


def test_what_is_not_there_is_said_without_a_window(
    own_home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([str(tmp_path / "gone.sternpost")]) == 2
    said = capsys.readouterr().err
    assert "gone.sternpost" in said and said.count("\n") == 1


# Threads


def test_closing_leaves_no_thread(new_window: Callable[[], Driver], tmp_path: Path) -> None:
    path = tmp_path / "harrow.sternpost"
    write(path, sample().design, sample().pictures)
    before = set(threading.enumerate())
    driver = new_window()
    driver.open(path)
    driver.take("g")
    driver.click((400, 0))
    driver.window.keeper.keep()
    driver.window.keeper.recovery.flush()
    assert set(threading.enumerate()) > before
    driver.boxes.answer("Discard")
    assert driver.window.close()
    assert set(threading.enumerate()) <= before


def test_the_plot_library_is_imported_by_the_thread_that_draws(tmp_path: Path) -> None:
    """In a thread of its own it ended the program, now and then, with the first events that came."""
    told = subprocess.run(
        [sys.executable, "-c", _IMPORTED], capture_output=True, text=True, timeout=100, check=True,
        env={**os.environ, "HOME": str(tmp_path), "PYTHONPATH": str(ROOT)},
    )
    assert told.stdout == "False\nTrue MainThread\n", told.stderr


_IMPORTED = """
import sys, threading
from importlib.abc import MetaPathFinder
from PySide6.QtTest import QTest

class By(MetaPathFinder):
    thread = ""
    def find_spec(self, name, path=None, target=None):
        if name == "pyqtgraph":
            By.thread = threading.current_thread().name

sys.meta_path.insert(0, By())
from app.window.window import Window, application
application()
window = Window()
window.show()
print("pyqtgraph" in sys.modules)
for _ in range(600):
    if window.area_band is None:
        QTest.qWait(100)
print("pyqtgraph" in sys.modules, By.thread)
window.close()
"""


def test_a_window_closed_at_once_asks_for_no_plots_any_more(new_window: Callable[[], Driver]) -> None:
    new_window()
    early = Window()
    early.show()
    early.close()
    assert not early.band_place._soon.isActive()
    early.deleteLater()


# After a crash

_KILLED = """
def WORK(d):
    d.zoom_to((960.0, 84.0), 2.0)
    d.drag((995.0, 84.0), (1015.0, 84.0))
    d.window.keeper.keep()
    d.window.keeper.recovery.flush()
    os.kill(os.getpid(), signal.SIGKILL)
"""


_NOT_NOW = """
def WORK(d):
    assert "was not saved when" in d.boxes.seen[0]
    assert d.window.document.path.name == "other.sternpost"
    d.window.close()
"""


def test_lost_work_is_offered_until_it_is_taken_back(
    own_home: Path, tmp_path: Path, new_window: Callable[[], Driver]
) -> None:
    path, other = tmp_path / "harrow.sternpost", tmp_path / "other.sternpost"
    write(path, sample().design, sample().pictures)
    write(other, bare_sample("tallow-twin"), {})
    in_file = path.read_bytes()
    done = builder(_KILLED, [str(path)], own_home)
    assert done.returncode == -signal.SIGKILL, done.stderr

    # Another file is opened meanwhile: that does not bury the work.
    clean(builder(_NOT_NOW, [str(other)], own_home, "boxes.answer('Ask again later')\n" + _OPENED))

    driver = new_window()
    (salvage,) = driver.window.keeper.recovery.found()
    assert salvage.title == "Marsh Harrow 52" and salvage.original == path and not salvage.changed
    driver.boxes.answer("Take it back")
    assert driver.window.keeper.offer()
    assert "“Marsh Harrow 52” was not saved when Sternpost ended on" in driver.boxes.seen[0]
    driver.until_decoded()
    assert driver.outline("rudder").nodes[2].x == pytest.approx(1015, abs=1.0)
    assert driver.window.document.path == path and driver.window.isWindowModified()
    assert path.read_bytes() == in_file, "the file is not touched until it is saved"
    # The killed window had opened the file as it is now: nobody else's work is in it.
    driver.do("save")
    assert encode(read(path).design) == encode(driver.design)
    assert dict(read(path).pictures) == dict(sample().pictures)
    driver.window.keeper.recovery.flush()
    assert driver.window.keeper.recovery.found() == []


def test_work_taken_back_is_not_saved_over_a_newer_file_unasked(
    tmp_path: Path, new_window: Callable[[], Driver]
) -> None:
    path = tmp_path / "harrow.sternpost"
    write(path, bare_sample(), {})
    dead = Recovery()
    dead.opened(path)
    dead.keep(set_cg(bare_sample(), 400.0, 0.0), {}, path)
    dead.stop()
    newer = set_cg(bare_sample(), 380.0, 0.0)
    write(path, newer, {})
    driver = new_window()
    driver.boxes.answer("Take it back", "Cancel")
    assert driver.window.keeper.offer()
    assert "Its file has been changed since" in driver.boxes.seen[0]
    driver.do("save")
    assert "was changed by another window or program" in driver.boxes.seen[1]
    assert encode(read(path).design) == encode(newer) and driver.window.document.dirty


def test_lost_work_can_be_thrown_away(new_window: Callable[[], Driver]) -> None:
    dead = Recovery()
    dead.keep(bare_sample(), {}, None)
    dead.stop()
    driver = new_window()
    assert len(driver.window.keeper.recovery.found()) == 1
    driver.boxes.answer("Throw it away")
    assert not driver.window.keeper.offer()
    assert driver.window.keeper.recovery.found() == []
    assert driver.design.outlines == () and not driver.window.document.dirty


def test_work_is_kept_with_every_gesture_without_being_asked_to(new_window: Callable[[], Driver]) -> None:
    driver = new_window()
    driver.open_outlines(bare_sample())
    driver.drag((995, 84), (1015, 84))
    recovery = driver.window.keeper.recovery
    driver.until(recovery._file.exists)
    recovery.flush()
    assert load(recovery._file)[1] == driver.design
    driver.do("undo")
    driver.until(lambda: not recovery._file.exists())
