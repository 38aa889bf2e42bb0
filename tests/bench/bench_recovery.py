"""Measure how long keeping the work holds up the thread that asks for it, and how long it takes.

Run as a script. The design has 12 outlines of 60 curved nodes and a scan of 40 MB (seeded noise).
"""

from __future__ import annotations

import os
import random
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from msgspec.structs import replace

from app.keeping.recovery import Recovery
from core.design import EMPTY, Design, Node, Outline, Scan

OUTLINES, NODES, SCAN_BYTES, KEEPS = 12, 60, 40_000_000, 200


def big_design() -> Design:
    """Twelve outlines of sixty nodes with both handles, and one scan."""
    numbers = random.Random(1)
    outlines = tuple(
        Outline(
            f"o{i}", "other",
            tuple(
                Node(numbers.uniform(0, 900), numbers.uniform(0, 200), (-1.25, 2.5), (1.25, -2.5))
                for _ in range(NODES)
            ),
        )
        for i in range(OUTLINES)
    )
    return replace(EMPTY, title="Bench", outlines=outlines, scans=(Scan("plan", "plan.png"),))


def main() -> None:
    """Print the times."""
    design = big_design()
    pictures = {"plan.png": random.Random(2).randbytes(SCAN_BYTES)}
    with tempfile.TemporaryDirectory() as folder:
        recovery = Recovery(Path(folder) / "recovery")
        start = time.perf_counter()
        recovery.keep(design, pictures, None)
        called = time.perf_counter()
        recovery.flush()
        print(f"first keep, scan and all: call {1e3 * (called - start):.3f} ms, "
              f"written after {1e3 * (time.perf_counter() - start):.0f} ms")
        calls, whole = [], []
        for i in range(KEEPS):
            state = replace(design, title=f"State {i}")
            start = time.perf_counter()
            recovery.keep(state, pictures, None)
            calls.append(time.perf_counter() - start)
            recovery.flush()
            whole.append(time.perf_counter() - start)
        print(f"further keeps, one by one ({KEEPS}): call median {1e3 * median(calls):.3f} ms, "
              f"worst {1e3 * max(calls):.3f} ms; written after median {1e3 * median(whole):.2f} ms, "
              f"worst {1e3 * max(whole):.2f} ms")
        calls = []
        for i in range(KEEPS):
            state = replace(design, title=f"Burst {i}")
            start = time.perf_counter()
            recovery.keep(state, pictures, None)
            calls.append(time.perf_counter() - start)
        print(f"in a burst ({KEEPS}): call median {1e3 * median(calls):.3f} ms, "
              f"worst {1e3 * max(calls):.3f} ms")
        recovery.stop()
        trouble = recovery.trouble
        again = Recovery(Path(folder) / "recovery")
        start = time.perf_counter()
        (salvage,) = again.found()
        looked = time.perf_counter()
        taken, found, _ = again.take(salvage)
        print(f"after a crash: look {1e3 * (looked - start):.1f} ms, "
              f"take up {1e3 * (time.perf_counter() - looked):.0f} ms; "
              f"whole: {taken.title == f'Burst {KEEPS - 1}' and found == pictures}; trouble: {trouble}")
        again.clear()
        again.stop()


if __name__ == "__main__":
    main()
