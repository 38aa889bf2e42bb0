"""How long the seconds after a gust take after one outline changed, beside the other readings of yaw.

Run as a script; prints medians and 95th percentiles in milliseconds, and the median of the
processor's own time; fails on nothing. Counting the side area is not in it. The aim is 30 ms for
the figures and both curves together; "yaw" is what stands below them, and is done already when
they are asked for:

    python tests/bench/bench_gust.py [rounds]
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(Path(__file__).resolve().parent))

from bench_core import nudged
from bench_readings import SAMPLES, complete, row, times

from core.design import Design
from core.design_file import read
from core.stability.aeroplane import Aeroplane
from core.stability.balance import cg_of
from core.stability.lateral.gust import after_a_gust, gust_figures
from core.stability.lateral.rudder import rudder_values
from core.stability.lateral.yaw import yaw_values
from core.stability.side_area import SideAreaCounter

AIM_MS = 30.0


def measure(name: str, base: Design, rounds: int) -> None:
    """The rows of one design, its fin dragged by a node."""
    counter = SideAreaCounter()
    fin = next(i for i, o in enumerate(base.outlines) if o.kind == "fin")
    moved: dict[int, Aeroplane] = {}

    def changed(i: int) -> Design:
        design = nudged(base, fin, len(base.outlines[fin].nodes) // 8, 0.1 * (i + 1))
        side = counter.count(design)
        cg, why = cg_of(design)
        moved[id(design)] = Aeroplane(design, side, cg, why, side.tail_moments.centroid())
        return design

    def ready(i: int) -> Design:
        design = changed(i)
        yaw_values(moved[id(design)])
        rudder_values(moved[id(design)])
        return design

    def figures(design: Design) -> None:
        gust_figures(moved[id(design)])

    def curve(design: Design) -> None:
        figures(design)
        after_a_gust(moved[id(design)])

    def both(design: Design) -> None:
        curve(design)
        after_a_gust(moved[id(design)], "rudder")

    print(name)
    row("  yaw and rudder, for comparison", times(rounds, changed, lambda d: (
        yaw_values(moved[id(d)]), rudder_values(moved[id(d)]))), aim=float("inf"))
    row("  after a gust: figures", times(rounds, ready, figures), AIM_MS)
    row("  figures and a gust's curves", times(rounds, ready, curve), AIM_MS)
    row("  figures, a gust's and a kick's curves", times(rounds, ready, both), AIM_MS)


def main(rounds: int) -> None:
    """Print the table."""
    print(f"{f'{rounds} rounds; ms':50}{'median':>9}{'p95':>9}{'processor':>11}")
    for path in sorted(SAMPLES.glob("*.sternpost")):
        measure(path.stem, read(path).design, rounds)
    measure("12 outlines of 60 curved nodes", complete(12), rounds)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 60)
