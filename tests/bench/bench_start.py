"""Start to first paint: Sternpost's window against a bare PySide6 window, each in processes of its own.

    python tests/bench/bench_start.py [ROUNDS]
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

COMPILED = tempfile.mkdtemp()
ROOT = Path(__file__).resolve().parents[2]
PAINTED = """
from PySide6.QtCore import QTimer
def when_painted(window):
    class Watch(type(window)): pass
    import time
    from PySide6.QtCore import QObject, QEvent
    class Filter(QObject):
        def eventFilter(self, thing, event):
            if event.type() == QEvent.Type.Paint:
                QTimer.singleShot(0, lambda: (print(time.perf_counter() - BEGUN), app.exit()))
                window.removeEventFilter(self)
            return False
    window.keep = Filter()
    window.installEventFilter(window.keep)
"""
BARE = """
import time; BEGUN = time.perf_counter()
from PySide6.QtWidgets import QApplication, QMainWindow, QLabel
app = QApplication([])
""" + PAINTED + """
window = QMainWindow(); window.setCentralWidget(QLabel("bare")); window.resize(1360, 820)
when_painted(window); window.show(); app.exec()
"""
OURS = """
import time; BEGUN = time.perf_counter()
from app.window.window import Window, application
app = application()
""" + PAINTED + """
window = Window()
when_painted(window); window.show(); app.exec()
window.close()
"""


def seconds(code: str) -> float:
    home = tempfile.mkdtemp()
    names = ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME")
    environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen", **dict.fromkeys(names, home)}
    # As on a person's machine: compiled once, by the first start.
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    environment["PYTHONPYCACHEPREFIX"] = COMPILED
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, env=environment, check=True, capture_output=True, text=True
    )
    return float(done.stdout.split()[0])


def main() -> None:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 7
    for code in (BARE, OURS):
        seconds(code)
    # Turn about, so that a change in the machine's load meets both.
    pairs = [(seconds(BARE), seconds(OURS)) for _ in range(rounds)]
    bare, ours = statistics.median(p[0] for p in pairs), statistics.median(p[1] for p in pairs)
    print(f"bare PySide6 window, start to first paint  median {1e3 * bare:6.0f} ms of {rounds}")
    print(f"Sternpost's window, start to first paint   median {1e3 * ours:6.0f} ms, {ours / bare:.2f} times")


if __name__ == "__main__":
    main()
