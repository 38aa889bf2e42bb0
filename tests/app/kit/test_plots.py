"""An error in what Qt calls in the plot library reaches the hook, and the process lives on."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

_SHOWN = """
import sys
from PySide6.QtWidgets import QApplication
from app.kit.plots import pg

told = []
sys.excepthook = lambda kind, error, trace: told.append(kind)
app = QApplication([])
plot = pg.PlotWidget()
plot.plot([0, 1, 2], [3, 1, 2])
plot.resize(300, 200)
plot.show()
app.processEvents()
assert not told

def nothing(*_, **__):
    return 1 / len("")

{fault}
for _ in range(3):
    plot.resize(plot.width() + 40, 240)
    plot.grab()
    app.processEvents()
assert set(told) == {{ZeroDivisionError}}, told
print("alive")
"""

FAULTS = {
    "an extent": "pg.InfiniteLine._computeBoundingRect = nothing; plot.addItem(pg.InfiniteLine(1.0))",
    "an axis": "pg.AxisItem.generateDrawSpecs = nothing",
    "a new size": "pg.ViewBox.updateMatrix = nothing",
    "a label": "pg.AxisItem.tickStrings = nothing",
}


@pytest.mark.parametrize("where", FAULTS)
def test_an_error_inside_a_plot_is_told_and_ends_nothing(where: str) -> None:
    code, root = _SHOWN.format(fault=FAULTS[where]), Path(__file__).resolve().parents[3]
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=root, env=dict(os.environ, QT_QPA_PLATFORM="offscreen"),
        capture_output=True, text=True, timeout=60, check=False,
    )
    assert (done.returncode, done.stdout) == (0, "alive\n"), done.stderr
