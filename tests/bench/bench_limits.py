"""How long a reading takes at the limits of the format: tangles, rough edges, many copies on one another.

Run as a script; prints processor time in seconds and the memory that was needed at most, each case in
a process of its own; fails on nothing:

    python tests/bench/bench_limits.py [case …]
"""

from __future__ import annotations

import resource
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from time import process_time

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import msgspec
import numpy as np

from core.design import EMPTY, Design, Node, Outline
from core.stability.readings import ReadingsEngine, recounted


def _design(*rings: np.ndarray, kind: str = "fuselage", count: int = 1) -> Design:
    outlines = tuple(
        Outline(f"o-{i}", kind, tuple(Node(float(x), float(z)) for x, z in ring), count=count)  # type: ignore[arg-type]
        for i, ring in enumerate(rings)
    )
    return msgspec.structs.replace(EMPTY, outlines=outlines)


def star(points: int = 3000) -> Design:
    """One outline of so many nodes that crosses itself at nearly every pair of edges."""
    turn = 2 * np.pi * (points // 2 - (points + 1) % 2) / points
    angle = turn * np.arange(points)
    return _design(np.stack((500 + 400 * np.cos(angle), 400 * np.sin(angle)), axis=1))


def rough(points: int = 20_000) -> Design:
    """A long body whose edge is rough: a seeded zigzag of a millimetre."""
    draw = np.random.default_rng(5)
    angle = np.linspace(0, 2 * np.pi, points, endpoint=False)
    reach = 1 + draw.uniform(-0.002, 0.002, points)
    return _design(np.stack((600 + 500 * reach * np.cos(angle), 90 * reach * np.sin(angle)), axis=1))


def noise(points: int = 20_000) -> Design:
    """The same walked without care: it crosses itself at thousands of places."""
    draw = np.random.default_rng(6)
    angle = np.linspace(0, 2 * np.pi, points, endpoint=False)
    off = draw.normal(0, 0.3, (points, 2))
    return _design(np.stack((600 + 500 * np.cos(angle), 90 * np.sin(angle)), axis=1) + off)


def smooth(points: int = 199_000) -> Design:
    """A smooth body of so many nodes."""
    angle = np.linspace(0, 2 * np.pi, points, endpoint=False)
    return _design(np.stack((600 + 500 * np.cos(angle), 90 * np.sin(angle)), axis=1))


def copies(number: int = 376, points: int = 60, count: int = 1) -> Design:
    """So many overlapping copies of one body, each a little aside."""
    angle = np.linspace(0, 2 * np.pi, points, endpoint=False)
    ring = np.stack((600 + 500 * np.cos(angle), 90 * np.sin(angle)), axis=1)
    return _design(*(ring + np.array((1.3, 0.7)) * i for i in range(number)), count=count)


def alike(number: int = 376) -> Design:
    """So many copies of one body at the same place."""
    angle = np.linspace(0, 2 * np.pi, 532, endpoint=False)
    ring = np.stack((600 + 500 * np.cos(angle), 90 * np.sin(angle)), axis=1)
    return _design(*([ring] * number))


def squares(number: int = 2000) -> Design:
    """So many squares in rows, each overlapping its neighbours."""
    square = np.array([(0.0, 0.0), (30.0, 0.0), (30.0, 30.0), (0.0, 30.0)])
    return _design(*(square + np.array((20.0 * (i % 50), 20.0 * (i // 50))) for i in range(number)))


CASES: dict[str, Callable[[], Design]] = {
    "star of 3000": star, "rough 20000": rough, "noise 20000": noise, "smooth 199000": smooth,
    "376 copies": copies, "376 copies in pairs": lambda: copies(count=2), "376 alike": alike,
    "2000 squares": squares, "2000 copies": lambda: copies(2000),
    "2000 copies of 100": lambda: copies(2000, 100),
}


def run(name: str) -> None:
    """One line of the table, computed here."""
    design, engine = CASES[name](), ReadingsEngine()
    began = process_time()
    readings = engine.read(design)
    first = process_time()
    engine.counted_areas(design)
    areas = process_time()
    engine.read(msgspec.structs.replace(design, display_units="in"))
    again = process_time()
    if readings.untold is None:
        recounted(readings, design)
    second = process_time()
    area = readings.value("side_area")
    print(
        f"{name:22}{first - began:9.2f}{areas - first:9.2f}{again - areas:9.2f}{second - again:9.2f}"
        f"{resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:9.0f} MB  "
        f"{f'{area:.1f} mm²' if area is not None else readings['side_area'].missing}", flush=True,
    )


def main(names: list[str]) -> None:
    """Print the table."""
    print(f"{'s of processor':22}{'reading':>9}{'areas':>9}{'units':>9}{'recount':>9}{'memory':>9}")
    for name in names or list(CASES):
        try:
            subprocess.run([sys.executable, __file__, "--one", name], check=True, timeout=60)
        except subprocess.TimeoutExpired:
            print(f"{name:22} over 300 s by the clock", flush=True)


if __name__ == "__main__":
    run(sys.argv[2]) if sys.argv[1:2] == ["--one"] else main(sys.argv[1:])
