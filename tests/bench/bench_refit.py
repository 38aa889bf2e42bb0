"""How long plugs, refits and curves take, and what they come to on the samples.

Run as a script; prints and fails on nothing:

    python tests/bench/bench_refit.py [rounds]
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from statistics import median
from time import perf_counter, thread_time

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from msgspec.structs import replace

from core.design import Design
from core.design_file import read
from core.redesign.curves import curve
from core.redesign.plug import plug_preview
from core.redesign.refit import WayCost, present_cost, refit, ways_table
from core.redesign.refit_ways import WAYS

SAMPLES = Path(__file__).resolve().parents[2] / "sample_designs"
COLUMNS = (
    ("area mm²", "fin_area", 0), ("high mm", "fin_height", 0), ("chord mm", "fin_chord", 0),
    ("mass g", "mass", 0), ("lead g", "lead", 1), ("V_v", "fin_volume", 4), ("Cnβ", "cn_beta", 4),
    ("CLA %", "cla_fraction", 4), ("slip °", "sideslip_full_rudder_deg", 0),
    ("spiral", "spiral_parameter", 1), ("margin", "static_margin", 3),
)


def afresh(design: Design, turn: int) -> Design:
    """The same aeroplane as new objects, so that nothing kept by identity serves."""
    return replace(design, outlines=tuple(replace(o, label=f"{o.name} {turn}") for o in design.outlines))


def timed(design: Design, work: Callable[[Design], object], rounds: int) -> str:
    walls, cpus = [], []
    for turn in range(rounds):
        new = afresh(design, turn)
        wall, cpu = perf_counter(), thread_time()
        work(new)
        walls.append(1e3 * (perf_counter() - wall))
        cpus.append(1e3 * (thread_time() - cpu))
    return f"{median(walls):7.1f} ms median, {min(walls):7.1f} least, {median(cpus):7.1f} of the processor"


def line(name: str, figures: dict[str, float | None], more: str = "") -> str:
    cells = []
    for _, field, places in COLUMNS:
        value = figures[field]
        cells.append(f"{'–' if value is None else format(value, f'.{places}f'):>9}")
    return f"  {name:22}" + "".join(cells) + more


def table(design: Design) -> None:
    print("  " + " " * 22 + "".join(f"{head:>9}" for head, _, _ in COLUMNS))
    print(line("as it is", dict(present_cost(design))))
    for row in ways_table(design, "cla_fraction", design.aim.cla_fraction):
        figures = {field: getattr(row, field) for _, field, _ in COLUMNS}
        print(line(row.label, figures, "" if row.why is None else "  no") if row.refit else f"  {row.label}")
        print("      " + said(row))


def said(row: WayCost) -> str:
    if row.refit is None:
        return row.why or ""
    return " ".join((*row.refit.words, *(f"! {c}" for c in row.refit.cautions)))


def main(rounds: int) -> None:
    """Print everything for every sample."""
    for path in sorted(SAMPLES.glob("*.sternpost")):
        design = read(path).design
        print(path.stem)
        table(design)
        print("  plug preview, nose   ", timed(design, lambda d: plug_preview(d, 180.0, 40.0), rounds))
        for way in WAYS:
            work = timed(design, lambda d, w=way: refit(d, w, "cla_fraction", 0.25), rounds)  # type: ignore[misc]
            print(f"  refit {way:15}", work)
        print("  table of ways        ", timed(design, lambda d: ways_table(d, "cla_fraction", 0.25), 3))
        for over in ("fin", "nose", "cg"):
            work = timed(design, lambda d, o=over: curve(d, o), rounds)  # type: ignore[misc]
            print(f"  curve of 60, {over:8}", work)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 7)
