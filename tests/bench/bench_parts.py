"""How long the parts of a ribbed fin and rudder take, after a node of the fin moved.

Run as a script; prints medians and 95th percentiles in milliseconds, and the median of the
processor's own time; fails on nothing. The plan (what stands out of the body, the hinge) is a row of
its own, and is in the row of all. The aim is missed: on two busy cores the parts of the samples, whose
edges are curves, took 6 to 10 ms of the processor:

    python tests/bench/bench_parts.py [rounds]
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(Path(__file__).resolve().parent))

import msgspec
from bench_core import nudged
from bench_readings import SAMPLES, row, times

from core.design import Build, Design
from core.design_build import Ribs, Skin, Spar, Strip, Thickness
from core.design_file import read
from core.parts.built import build_masses
from core.parts.planform import plan_of

AIM_MS = 3.0


def measure(name: str, base: Design, rounds: int) -> None:
    """The rows of one design, its fin dragged by a node."""
    fin = next(i for i, o in enumerate(base.outlines) if o.kind == "fin")
    count = base.outlines[fin].count
    ids = tuple(o.id for o in base.outlines if o.kind in ("fin", "rudder") and o.count == count)
    build = Build(
        id="tail", of=ids, way="ribbed", thickness=Thickness(14.0, 9.0), ribs=Ribs(),
        leading_edge=Strip(6.0), trailing_edge=Strip(8.0), spars=(Spar(0.35, (6.0, 3.0), 1.5),),
        skin=Skin(1.0), covering_g_m2=60.0,
    )
    base = msgspec.structs.replace(base, builds=(build,))

    def changed(i: int) -> Design:
        return nudged(base, fin, len(base.outlines[fin].nodes) // 8, 0.1 * (i + 1))

    def planned(i: int) -> Design:
        design = changed(i)
        plan_of(design, build)
        return design

    print(name)
    row("  the plan", times(rounds, changed, lambda d: plan_of(d, build)), aim=float("inf"))
    row("  parts of a plan, weighed", times(rounds, planned, build_masses), AIM_MS)
    row("  all", times(rounds, changed, build_masses), aim=float("inf"))


def main(rounds: int) -> None:
    """Print the table."""
    print(f"{f'{rounds} rounds; ms':50}{'median':>9}{'p95':>9}{'processor':>11}")
    for path in sorted(SAMPLES.glob("*.sternpost")):
        measure(path.stem, read(path).design, rounds)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 60)
