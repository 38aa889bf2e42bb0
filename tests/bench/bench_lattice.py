"""How long the tail's lattice takes after its fin changed, beside the handbook's fin.

Run as a script; prints medians and 95th percentiles in milliseconds, and the median of the
processor's own time; fails on nothing. Counting the side area is not in it. The aim is 40 ms whole,
and 8 ms half as fine, as a moving hand asks for it; "kept" is what any other change costs:

    python tests/bench/bench_lattice.py [rounds]
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
from core.stability.lateral.handbook_fin import handbook_fin
from core.stability.lateral.tail_lattice import tail_load
from core.stability.side_area import SideAreaCounter

AIM_MS, COARSE_MS = 40.0, 8.0


def measure(name: str, base: Design, rounds: int) -> None:
    """All rows of one design, its fin dragged by a node."""
    print(name)
    counter = SideAreaCounter()
    fin = next(i for i, o in enumerate(base.outlines) if o.kind == "fin")
    designs = [nudged(base, fin, len(base.outlines[fin].nodes) // 2, 0.1 * (i + 1)) for i in range(rounds)]
    whole = [Aeroplane(d, counter.count(d), None, "", None) for d in designs]
    coarse = [Aeroplane(a.design, a.side, None, "", None, coarse=True) for a in whole]
    # The same fins, made anew: nothing of them is kept yet.
    fresh = [Aeroplane(d, counter.count(d), None, "", None)
             for d in (nudged(base, fin, 0, 0.1 * (i + 1)) for i in range(rounds))]

    def lay(planes: list[Aeroplane], what: str, aim: float, work: object = tail_load) -> None:
        by_design = {id(a.design): a for a in planes}
        given = [a.design for a in planes]
        row(what, times(rounds, lambda i: given[i], lambda d: work(by_design[id(d)])), aim)  # type: ignore[operator]

    lay(fresh, "  handbook", COARSE_MS, handbook_fin)
    lay(whole, "  whole", AIM_MS)
    lay(coarse, "  half as fine", COARSE_MS)
    row("  kept", times(rounds, lambda _: whole[-1].design, lambda _: tail_load(whole[-1])), COARSE_MS)


def main(rounds: int) -> None:
    """Print the table."""
    print(f"{f'{rounds} rounds; ms':50}{'median':>9}{'p95':>9}{'processor':>11}")
    for path in sorted(SAMPLES.glob("*.sternpost")):
        measure(path.stem, read(path).design, rounds)
    measure("12 outlines of 60 curved nodes", complete(12), rounds)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 30)
