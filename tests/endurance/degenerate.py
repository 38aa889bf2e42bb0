"""Valid designs whose geometry is at the edge of what one can be, through the readings.

    python tests/endurance/degenerate.py [CASES] [SEED]

CASES (300) in turn of every way, each in a process of its own. Prints the slowest of each; ends with
1 where one took over two seconds of the processor or half a gigabyte, raised, gave neither a figure nor
a reason, or where the second count of its areas says otherwise.
"""

from __future__ import annotations

import json
import math
import os
import random
import resource
import sys
import warnings
from itertools import pairwise
from pathlib import Path
from time import process_time
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from core.design import EMPTY, Aim, Design, Mark, Node, Outline
from core.design_check import problems
from core.geometry.ring import ring_of, split_edge
from core.stability.readings import ReadingsEngine, recounted

WAYS = (
    "spike", "no length", "coincident", "far handles", "within", "near a line", "edge of reach", "copies",
    "tiny", "star", "back and forth", "touching",
    "curve and back", "petals", "fins", "comb",
)
_KINDS = ("fuselage", "fin", "rudder", "pylon", "wheel", "float")
LIMIT = 1e6
MOST_SECONDS, GIVEN_UP = 2.0, 20
MOST_MEMORY, MOST_ADDRESSES = 512, 6 << 30


def _loop(rng: random.Random, number: int, x: float, z: float, across: float) -> list[Node]:
    return [
        Node(x + across * math.cos(a) * rng.uniform(0.7, 1), z + across * math.sin(a) * rng.uniform(0.7, 1))
        for a in (math.tau * k / number for k in range(number))
    ]


def _nodes(way: str, rng: random.Random) -> list[Node]:
    x, z, across = rng.uniform(-500, 500), rng.uniform(-200, 200), rng.uniform(1, 400)
    nodes = _loop(rng, rng.choice((3, 4, 8, 60)), x, z, across)
    at = rng.randrange(len(nodes))
    here = nodes[at]
    if way == "spike":
        nodes[at:at] = [here, Node(x + across * 10 ** rng.uniform(0, 3), z), here]
    elif way == "no length":
        nodes[at:at] = [here] * rng.randint(1, 9)
    elif way == "coincident":
        nodes[at:at] = [here] * rng.choice((1000, 5000, 20_000))
    elif way == "far handles":
        far = 10 ** rng.uniform(2, 5.9)
        nodes = [
            Node(n.x, n.z, (rng.uniform(-far, far), rng.uniform(-far, far)), (rng.uniform(-far, far), 0.0))
            for n in nodes
        ]
    elif way == "near a line":
        nodes = [Node(x + k * across, z + rng.choice((0.0, 1e-12, -1e-12, 1e-9))) for k in range(len(nodes))]
    elif way == "edge of reach":
        nodes = [Node(rng.choice((-LIMIT, LIMIT)), rng.choice((-LIMIT, LIMIT))) for _ in nodes]
    elif way == "tiny":
        nodes = _loop(rng, 6, x, z, 10 ** rng.uniform(-300, -3))
    elif way == "star":
        number = rng.choice((5, 31, 101, 801, 3001))
        step = number // 2
        nodes = [
            Node(across * math.cos(turn), across * math.sin(turn))
            for turn in (math.tau * k * step / number for k in range(number))
        ]
    elif way == "back and forth":
        nodes = nodes + nodes[::-1] * rng.randint(1, 40)
    elif way == "curve and back":
        nodes = _back_along(_wave(rng, rng.choice((3, 40, 400)), across), rng.choice((None, 0.5, 0.37)))
    elif way == "petals":
        nodes = [node for leaf in _loop(rng, rng.choice((5, 300, 6000)), x, z, across) for node in (
            Node(x, z), leaf, Node(leaf.x + rng.uniform(-1, 1), leaf.z + rng.uniform(-1, 1))
        )]
    elif way == "comb":
        number = rng.choice((10, 1000, 20_000))
        nodes = [Node(x + across * k / number, z + across * (k % 2)) for k in range(number)]
        nodes += [Node(x + 2 * across, z + rng.choice((-1.0, 0.5)) * across), Node(x, z - across)]
    return nodes


def _wave(rng: random.Random, number: int, across: float) -> list[Node]:
    found = []
    for k in range(number):
        bend = rng.uniform(0.1, 0.4) * across, rng.uniform(-1, 1) * across
        found.append(Node(k * across, rng.uniform(-0.5, 0.5) * across, (-bend[0], -bend[1]), bend))
    return found


def _back_along(there: list[Node], cut: float | None) -> list[Node]:
    """The curve and the same curve backwards; with every edge cut in two there, where ``cut`` says so."""
    ring, back = ring_of(there), [there[-1]]
    for edge in reversed(range(len(there) - 1)):
        if cut is None:
            back.append(_turned(there[edge]))
            continue
        one, other = split_edge(ring, edge, cut)
        from_end, to_cut = other[2] - other[3], other[1] - other[0]
        from_cut, to_end = one[2] - one[3], one[1] - one[0]
        last, end = back[-1], there[edge]
        back[-1] = Node(last.x, last.z, last.handle_in, (float(from_end[0]), float(from_end[1])))
        back.append(Node(
            float(one[3, 0]), float(one[3, 1]), (float(to_cut[0]), float(to_cut[1])),
            (float(from_cut[0]), float(from_cut[1])),
        ))
        back.append(Node(end.x, end.z, (float(to_end[0]), float(to_end[1]))))
    if cut is None:
        back[0] = Node(there[-1].x, there[-1].z, there[-1].handle_in, there[-1].handle_in)
    first = Node(there[0].x, there[0].z, back[-1].handle_in, there[0].handle_out)
    return [first, *there[1:-1], *back[:-1]]


def _turned(node: Node) -> Node:
    return Node(node.x, node.z, node.handle_out, node.handle_in)


def degenerate(way: str, seed: int) -> Design:
    """A design of that way; the same for equal ``seed``."""
    rng = random.Random(f"{way} {seed}")
    outlines: list[Outline] = []
    for k in range(rng.randint(1, 6)):
        nodes = _nodes(way, rng)
        outlines.append(Outline(f"o{k}", rng.choice(_KINDS), tuple(nodes), count=rng.randint(1, 3)))
    first = outlines[0]
    if way == "within":
        outlines += [
            Outline(f"in{k}", rng.choice(_KINDS), tuple(
                Node(n.x * 0.98 ** k, n.z * 0.98 ** k) for n in first.nodes
            )) for k in range(1, rng.choice((5, 60, 200)))
        ]
    elif way == "copies":
        outlines += [
            Outline(f"c{k}", rng.choice(_KINDS), first.nodes) for k in range(rng.choice((2, 60, 300)))
        ]
    elif way == "touching":
        side = first.nodes[:2]
        outlines.append(Outline("beside", "rudder", (*side, Node(side[0].x + 1e-9, side[1].z + 300))))
    elif way == "fins":
        outlines = [
            Outline(f"f{k}", rng.choice(_KINDS), tuple(_loop(
                rng, rng.choice((4, 60)), rng.uniform(-500, 500), rng.uniform(-200, 200), rng.uniform(1, 200)
            )), count=rng.randint(1, 8)) for k in range(rng.choice((20, 100, 300)))
        ]
    cg = Mark(-9000.0 if way == "fins" else rng.uniform(-500, 500), 0.0)
    aim = Aim(fin_centre="quarter_chord") if way == "fins" else Aim()
    design = Design(format=EMPTY.format, title=way, outlines=tuple(outlines), cg_mark=cg, aim=aim)
    assert problems(design) == []
    return design


class Found(NamedTuple):
    """What came of one case: seconds of the processor, MB at most, and what was wrong, if anything."""

    reading: float
    areas: float
    second_count: float
    memory: float
    fault: str


def tried(design: Design) -> Found:
    """The design read, its areas by outline and its second count, in this process."""
    engine, times = ReadingsEngine(), [process_time()]
    readings = engine.read(design)
    times.append(process_time())
    if readings.untold is None:
        # As every window, sheet and command does.
        engine.counted_areas(design)
    times.append(process_time())
    fault = recounted(readings, design) if readings.untold is None else None
    times.append(process_time())
    wrong = [
        key for key, reading in readings.table.items()
        if (reading.value is None and not reading.missing)
        or (reading.value is not None and not math.isfinite(reading.value))
    ]
    if wrong:
        fault = f"neither a figure nor a reason: {', '.join(wrong)}"
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    took = [after - before for before, after in pairwise(times)]
    return Found(took[0], took[1], took[2], memory, fault or "")


def _apart(design: Design) -> Found:
    """The same in a process of its own, which ends however long the library works on one thing."""
    here, there = os.pipe()
    child = os.fork()
    if child == 0:
        resource.setrlimit(resource.RLIMIT_CPU, (GIVEN_UP, GIVEN_UP + 1))
        resource.setrlimit(resource.RLIMIT_AS, (MOST_ADDRESSES, MOST_ADDRESSES))
        try:
            found = tried(design)
        except BaseException as error:
            found = Found(0.0, 0.0, 0.0, 0.0, repr(error)[:300])
        with os.fdopen(there, "w") as pipe:
            json.dump(found, pipe)
        os._exit(0)
    os.close(there)
    with os.fdopen(here) as pipe:
        said = pipe.read()
    os.waitpid(child, 0)
    return Found(*json.loads(said)) if said else Found(GIVEN_UP, 0.0, 0.0, 0.0, "given up")


def main() -> int:
    """Run the cases."""
    cases = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    warnings.simplefilter("ignore")
    slowest: dict[str, list[tuple[float, int]]] = {}
    bad = 0
    ReadingsEngine().read(degenerate("touching", 0))
    for case in range(cases):
        way, seed = WAYS[case % len(WAYS)], first + case // len(WAYS)
        design = degenerate(way, seed)
        found = _apart(design)
        before = slowest.get(way, [(0.0, 0)] * 4)
        slowest[way] = [max(old, (new, seed)) for old, new in zip(before, found[:4], strict=True)]
        if found.fault or max(found.reading, found.areas) > MOST_SECONDS or found.memory > MOST_MEMORY:
            bad += 1
            nodes = sum(len(outline.nodes) for outline in design.outlines)
            of = f"{len(design.outlines)} outlines, {nodes} nodes"
            took = f"read {found.reading:.1f}, areas {found.areas:.1f} s, {found.memory:.0f} MB"
            print(f"{way} {seed}: {took}, {of} {found.fault}", flush=True)
    print("the slowest of each way (seed): reading, areas by outline, second count in s; most memory in MB")
    for way, rows in sorted(slowest.items(), key=lambda row: -row[1][0][0]):
        print(f"{way:16}" + "".join(f"{most:9.2f} ({seed})" for most, seed in rows))
    print(f"{cases} cases, {bad} over {MOST_SECONDS:g} s, over {MOST_MEMORY} MB or at fault")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
