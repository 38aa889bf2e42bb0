"""The system or the terminal ends the program: the work is kept, nobody is asked, and it ends at once."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
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
sys.exit(running.run(Path(sys.argv[1])))
"""


@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_a_signal_ends_a_window_that_nothing_stirs_and_the_trace_is_offered(
    name: str, tmp_path: Path, own_home: Path
) -> None:
    import shutil

    design = tmp_path / "harrow.sternpost"
    shutil.copy(ROOT / "sample_designs" / "marsh-harrow-52.sternpost", design)
    before = design.read_bytes()
    child = subprocess.Popen(
        [sys.executable, "-c", CHILD, str(design)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    number = getattr(signal, name)
    assert child.stdout is not None
    try:
        assert child.stdout.readline() == "drawn\n"
        child.send_signal(number)
        _, said = child.communicate(timeout=60)
    finally:
        child.kill()
    assert child.returncode == 128 + number, said
    assert said.strip() in ("", QUIET), said
    (folder,) = own_home.glob("**/recovery")
    recovery = Recovery(folder)
    try:
        (salvage,) = recovery.found()
        assert salvage.trace is not None and len(salvage.trace.places) == 4
        assert recovery.take(salvage)[0] == read(design).design and design.read_bytes() == before
    finally:
        recovery.stop()
