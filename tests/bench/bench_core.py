"""How long the core takes: readings while a node is dragged, against everything computed anew.

Run as a script; prints medians and 95th percentiles in milliseconds and fails on nothing:

    python tests/bench/bench_core.py [rounds]
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from math import cos, pi, sin
from pathlib import Path
from statistics import median
from time import perf_counter

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import msgspec
import numpy as np

from core.design import Design, Mark, Node, Outline, Station, Tailplane, Wing
from core.design_file import decode, encode, pack, unpack
from core.geometry.ring import flatten, nearest_on, ring_of
from core.kinds import Kind
from core.stability.readings import ReadingsEngine

NODES = 60
STATIONS = np.linspace(-50.0, 1250.0, 1301)
KINDS: tuple[tuple[Kind, int], ...] = (
    ("fuselage", 1),
    ("canopy", 1),
    ("fin", 1),
    ("rudder", 1),
    ("gear leg", 2),
    ("wheel", 2),
    ("nacelle", 2),
    ("pylon", 2),
    ("float", 2),
    ("strut", 4),
    ("ventral fin", 1),
    ("other", 1),
)


def oval(part_id: str, kind: Kind, count: int, x: float, z: float, a: float, b: float) -> Outline:
    """``NODES`` curved edges round an ellipse of half axes ``a`` and ``b`` mm."""
    step = 2 * pi / NODES
    nodes = []
    for k in range(NODES):
        turn = k * step
        dx, dz = -a * sin(turn) * step / 3, b * cos(turn) * step / 3
        nodes.append(Node(x + a * cos(turn), z + b * sin(turn), (-dx, -dz), (dx, dz)))
    return Outline(part_id, kind, tuple(nodes), count=count)


def aeroplane(outlines: int) -> Design:
    """A design of that many ovals, the first a long fuselage, the rest along it, half over its edge."""
    parts = [oval("o0", "fuselage", 1, 600, 0, 600, 90)]
    for i in range(1, outlines):
        kind, count = KINDS[i % len(KINDS)]
        along = i / outlines
        side = 1 if i % 2 else -1
        parts.append(oval(f"o{i}", kind, count, 1150 * along + 40, side * 80 * sin(pi * along), 60, 45))
    wing = Wing("w", (Station(0, 350, 220, 40), Station(700, 370, 180, 80)))
    tail = Tailplane("t", (Station(0, 1050, 140, 20), Station(250, 1080, 90, 20)))
    return Design(1, "bench", outlines=tuple(parts), wings=(wing,), tailplanes=(tail,), cg_mark=Mark(420, 0))


def nudged(design: Design, part: int, node: int, by: float) -> Design:
    """One node moved: what a drag gives at each mouse event."""
    outlines = list(design.outlines)
    nodes = list(outlines[part].nodes)
    nodes[node] = msgspec.structs.replace(nodes[node], z=nodes[node].z + by)
    outlines[part] = msgspec.structs.replace(outlines[part], nodes=tuple(nodes))
    return msgspec.structs.replace(design, outlines=tuple(outlines))


def timed(rounds: int, setting_up: Callable[[int], object], work: Callable[[object], object]) -> str:
    """Median and p95 of ``work`` in ms; ``setting_up`` is not counted."""
    times = []
    for i in range(rounds):
        given = setting_up(i)
        start = perf_counter()
        work(given)
        times.append(1e3 * (perf_counter() - start))
    times.sort()
    return f"{median(times):8.2f} {times[min(rounds - 1, int(0.95 * rounds))]:8.2f}"


def main(rounds: int) -> None:
    """Print the table."""
    print(f"{rounds} rounds, {NODES} curved nodes an outline; ms{'':31}median      p95")
    for outlines in (12, 120):
        base = aeroplane(outlines)
        engine = ReadingsEngine()
        engine.read(base)
        for what, part in (("the fuselage", 0), ("the fin", 2), ("a wheel of a pair", 5)):

            def move(i: int, part: int = part, base: Design = base) -> Design:
                return nudged(base, part, 7, 0.1 * (i + 1))

            show(f"{outlines} outlines, a node of {what} dragged", timed(rounds, move, engine.read))  # type: ignore[arg-type]
        fewer = rounds if outlines < 50 else max(5, rounds // 10)
        show(
            f"{outlines} outlines, everything new (baseline)",
            timed(fewer, lambda i, base=base: decode(encode(base)), lambda d: ReadingsEngine().read(d)),  # type: ignore[misc, arg-type]
        )

        def moved_and_read(i: int, base: Design = base, engine: ReadingsEngine = engine) -> Design:
            design = nudged(base, 2, 7, 0.1 * (i + 1))
            engine.read(design)
            return design

        def depths(side: object) -> object:
            return side.depths(STATIONS)  # type: ignore[attr-defined]

        def sides(i: int, base: Design = base, engine: ReadingsEngine = engine) -> object:
            side = engine.read(nudged(base, 2, 7, 0.1 * (i + 1))).side
            _ = side.moments
            return side

        show(
            f"{outlines} outlines, depths at {len(STATIONS)} stations, fin dragged",
            timed(rounds, sides, depths),
        )
        show(
            f"{outlines} outlines, counted_areas, fin dragged",
            timed(fewer, moved_and_read, engine.counted_areas),  # type: ignore[arg-type]
        )
        show(f"{outlines} outlines, encode", timed(fewer, lambda i, base=base: base, encode))  # type: ignore[misc, arg-type]
        show(
            f"{outlines} outlines, pack and unpack",
            timed(fewer, lambda i, base=base: base, lambda d: unpack(pack(d, {}))),  # type: ignore[misc, arg-type]
        )
    rings = [ring_of(o.nodes) for o in aeroplane(12).outlines]
    show("flatten, one outline", timed(rounds, lambda i: rings[i % 12], flatten))  # type: ignore[arg-type]
    show(
        "nearest_on, twelve outlines",
        timed(rounds, lambda i: i, lambda i: [nearest_on(r, 3.0 * i, 40.0) for r in rings]),  # type: ignore[operator]
    )


def show(what: str, times: str) -> None:
    """One line of the table."""
    print(f"{what:62}{times}", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
