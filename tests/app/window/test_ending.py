"""The system or the terminal ends the program: the work is kept, nobody is asked, and it ends at once."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from app.keeping.recovery import Recovery
from core.design_file import read

ROOT = Path(__file__).resolve().parents[3]
pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows ends programs in another way")

QUIET = "This plugin does not support propagateSizeHints()"

CHILD = """
import sys
from pathlib import Path
from PySide6.QtCore import QPoint, QTimer, Qt
from PySide6.QtTest import QTest
from app.window import running

def draw():
    window = next(w for w in running.application().topLevelWidgets() if isinstance(w, running.Window))
    window.canvas.take_hand("trace")
    for i in range(4):
        at = QPoint(150 + 40 * i, 120 + 30 * (i % 2))
        QTest.mouseClick(window.canvas, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, at)
    QTest.qWait(200)
    print("drawn", flush=True)

running.application()
QTimer.singleShot(500, draw)
"""
COUNTING = """
def die():
    window = next(w for w in running.application().topLevelWidgets() if isinstance(w, running.Window))
    window.counting._worker.start(lambda job: job._gone.wait())
    running.application().exit(1)

QTimer.singleShot(1000, die)
"""
RUN = "sys.exit(running.run(Path(sys.argv[1])))"
NAME = "marsh-harrow-52.sternpost"


@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_a_signal_ends_a_window_that_nothing_stirs_and_the_trace_is_offered(
    name: str, tmp_path: Path, own_home: Path
) -> None:
    number = getattr(signal, name)
    with drawn_in(tmp_path, CHILD) as child:
        child.send_signal(number)
        _, said = child.communicate(timeout=60)
    assert child.returncode == 128 + number, said
    assert said.strip() in ("", QUIET), said
    the_trace_is_offered(own_home, tmp_path / NAME)


def test_a_display_that_dies_ends_the_window_whatever_it_is_counting(tmp_path: Path, own_home: Path) -> None:
    """Qt leaves the loop then, without any window being closed; a count may have minutes to go."""
    with drawn_in(tmp_path, CHILD + COUNTING) as child:
        _, said = child.communicate(timeout=60)
    assert child.returncode == 1, said
    assert said.strip() in ("", QUIET), said
    the_trace_is_offered(own_home, tmp_path / NAME)


@contextmanager
def drawn_in(folder: Path, program: str) -> Iterator[subprocess.Popen[str]]:
    """The window of ``program`` with a design, four nodes of a trace drawn in it, until this ends."""
    shutil.copy(ROOT / "sample_designs" / NAME, folder / NAME)
    child = subprocess.Popen(
        [sys.executable, "-c", program + RUN, str(folder / NAME)], stdout=subprocess.PIPE,
        stderr=subprocess.PIPE, text=True, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert child.stdout is not None
    try:
        assert child.stdout.readline() == "drawn\n"
        yield child
    finally:
        child.kill()
        child.wait()


def the_trace_is_offered(home: Path, design: Path) -> None:
    """All of it, and the file is what it was."""
    before = (ROOT / "sample_designs" / NAME).read_bytes()
    (folder,) = home.glob("**/recovery")
    recovery = Recovery(folder)
    try:
        (salvage,) = recovery.found()
        assert salvage.trace is not None and len(salvage.trace.places) == 4
        assert recovery.take(salvage)[0] == read(design).design and design.read_bytes() == before
    finally:
        recovery.stop()
