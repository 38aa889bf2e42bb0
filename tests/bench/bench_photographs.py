"""How well photographs of plans are told from scans: drawn pictures of many kinds, opened as the window does.

    python tests/bench/bench_photographs.py [EACH] [SEED]

Prints, by kind, how many of EACH (5) were taken for photographs, and how long the looking took beside
what the opening took.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "app")]

import numpy as np  # noqa: E402
from drawn_photographs import HARD_PHOTOGRAPHS, PHOTOGRAPHS  # noqa: E402
from drawn_scans import HARD_SCANS, SCANS  # noqa: E402
from drawn_sheets import Draw  # noqa: E402

from app.scans.opening import open_picture  # noqa: E402
from app.scans.photograph import looks_like_photograph  # noqa: E402


def measure(
    title: str, kinds: dict[str, Draw], each: int, seed: int, seconds: list[tuple[float, float]]
) -> None:
    """Print how many of each kind were taken for photographs, and put down how long it took."""
    print(title)
    called = 0
    for k, (name, draw) in enumerate(kinds.items()):
        here = 0
        for number in range(each):
            data = draw(np.random.default_rng((seed, k, number)))
            start = time.thread_time()
            picture = open_picture(data, name)
            opened = time.thread_time()
            looks_like_photograph(picture.levels)
            seconds.append((time.thread_time() - opened, opened - start))
            here += picture.photograph
        print(f"  {name:36s} {here:3d} of {each}")
        called += here
    print(f"  {'taken for photographs':36s} {called:3d} of {each * len(kinds)}")


def main() -> None:
    each, seed = (int(word) for word in (*sys.argv[1:], *("5", "2026")[len(sys.argv) - 1 :]))
    seconds: list[tuple[float, float]] = []
    for title, kinds in (
        ("Photographs", PHOTOGRAPHS), ("Photographs, hard to tell", HARD_PHOTOGRAPHS), ("Scans", SCANS),
        ("Scans, hard to tell", HARD_SCANS),
    ):
        measure(title, kinds, each, seed, seconds)
    looking, opening = np.median(np.array(seconds), axis=0) * 1000
    print(f"Looking {looking:.0f} ms, opening with it {opening:.0f} ms of processor time, medians")


if __name__ == "__main__":
    main()
