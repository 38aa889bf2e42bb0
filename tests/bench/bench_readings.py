"""How long all readings of a complete aeroplane take after one outline changed, beside a fresh engine.

Run as a script; prints medians and 95th percentiles in milliseconds, and the median of the
processor's own time, which other work on the machine disturbs less; fails on nothing. "Quick" is
what a preview under a moving hand asks for, "whole" what follows it; "fresh" reads the same design
with nothing kept. The aim is 5 ms for both of the first two:

    python tests/bench/bench_readings.py [rounds]
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from statistics import median
from time import perf_counter, process_time

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(Path(__file__).resolve().parent))

import msgspec
from bench_core import aeroplane, nudged, oval

from core.design import Design, Weight
from core.design_file import decode, encode, read
from core.stability.readings import ReadingsEngine

SAMPLES = Path(__file__).resolve().parents[2] / "sample_designs"
AIM_MS = 5.0


def complete(outlines: int) -> Design:
    """The benchmark's aeroplane of ``outlines`` × 60 curved nodes, with all that every reading needs."""
    base = aeroplane(outlines)
    # There the fins stand anywhere along the body; here they are a tail.
    tail = {
        "fin": oval("fin", "fin", 1, 1110, 130, 70, 130),
        "rudder": oval("rudder", "rudder", 1, 1190, 120, 40, 130),
    }
    parts = tuple(tail.pop(o.kind, o) for o in base.outlines)
    weights = (Weight("motor", 250, 40), Weight("battery", 400, 330), Weight("rest", 1400, 470))
    return msgspec.structs.replace(
        base, outlines=parts, weights=weights, cg_from="weights", fuselage_width=90.0
    )


Times = tuple[list[float], list[float]]


def times(rounds: int, changed: Callable[[int], Design], work: Callable[[Design], object]) -> Times:
    """Milliseconds of ``work``, by the clock and of the processor; making the design is not counted."""
    clock, processor = [], []
    for i in range(rounds):
        design = changed(i)
        start, begun = perf_counter(), process_time()
        work(design)
        clock.append(1e3 * (perf_counter() - start))
        processor.append(1e3 * (process_time() - begun))
    return clock, processor


def row(what: str, found: Times, aim: float = AIM_MS) -> None:
    """One line of the table."""
    clock, processor = sorted(found[0]), found[1]
    middle, late = median(clock), clock[min(len(clock) - 1, int(0.95 * len(clock)))]
    over = "" if middle <= aim else "   over the aim"
    print(f"{what:50}{middle:9.2f}{late:9.2f}{median(processor):11.2f}{over}", flush=True)


def measure(name: str, base: Design, rounds: int) -> None:
    """All rows of one design: its largest outline, its fin and its last one dragged by a node."""
    engine = ReadingsEngine()
    readings = engine.read(base)
    missing = [key for key, r in readings.table.items() if r.value is None and key != "yaw_reversal_deg"]
    print(f"{name}: {len(base.outlines)} outlines, {sum(len(o.nodes) for o in base.outlines)} nodes"
          + (f"; missing: {', '.join(missing)}" if missing else ""))
    fin = next(i for i, o in enumerate(base.outlines) if o.kind == "fin")
    for part in dict.fromkeys((0, fin, len(base.outlines) - 1)):
        what = base.outlines[part].name

        def moved(i: int, part: int = part) -> Design:
            return nudged(base, part, len(base.outlines[part].nodes) // 8, 0.1 * (i + 1))

        # Other amounts than the whole readings', which would be found kept.
        row(f"  {what}, quick",
            times(rounds, lambda i, moved=moved: moved(i + rounds),  # type: ignore[misc]
                  lambda d: engine.read(d, quick=True)))
        row(f"  {what}, whole", times(rounds, moved, engine.read))
    fewer = max(5, rounds // 4)
    row("  everything new (fresh engine, fresh design)",
        times(fewer, lambda _: decode(encode(base)), lambda d: ReadingsEngine().read(d)), aim=float("inf"))


def main(rounds: int) -> None:
    """Print the table."""
    print(f"{f'{rounds} rounds; ms':50}{'median':>9}{'p95':>9}{'processor':>11}")
    for path in sorted(SAMPLES.glob("*.sternpost")):
        measure(path.stem, read(path).design, rounds)
    measure("12 outlines of 60 curved nodes", complete(12), rounds)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 60)
