"""Valid designs whose geometry is at the edge of what one can be, through the readings.

    python tests/endurance/degenerate.py [CASES] [SEED]

CASES (300) in turn of every way. Prints the slowest of each; ends with 1 where one took over two
seconds of the processor, or raised.
"""

from __future__ import annotations

import math
import random
import signal
import sys
import warnings
from pathlib import Path
from time import process_time
from types import FrameType

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from core.design import EMPTY, Design, Mark, Node, Outline
from core.design_check import problems
from core.stability.readings import ReadingsEngine

WAYS = (
    "spike", "no length", "coincident", "far handles", "within", "near a line", "edge of reach", "copies",
    "tiny", "star", "back and forth", "touching",
)
_KINDS = ("fuselage", "fin", "rudder", "pylon", "wheel", "float")
LIMIT = 1e6
MOST_SECONDS, GIVEN_UP = 2.0, 20.0


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
    return nodes


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
    design = Design(
        format=EMPTY.format, title=way, outlines=tuple(outlines), cg_mark=Mark(rng.uniform(-500, 500), 0.0),
    )
    assert problems(design) == []
    return design


class TooLongError(Exception):
    """A case that is given up."""


def _give_up(number: int, frame: FrameType | None) -> None:
    raise TooLongError


def main() -> int:
    """Run the cases."""
    cases = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    warnings.simplefilter("ignore")
    signal.signal(signal.SIGPROF, _give_up)
    slowest: dict[str, tuple[float, int]] = {}
    bad = 0
    ReadingsEngine().read(degenerate("touching", 0))
    for case in range(cases):
        way, seed = WAYS[case % len(WAYS)], first + case // len(WAYS)
        design = degenerate(way, seed)
        begun, fault = process_time(), ""
        signal.setitimer(signal.ITIMER_PROF, GIVEN_UP)
        try:
            ReadingsEngine().read(design)
        except Exception as error:
            fault = repr(error)[:300]
        finally:
            signal.setitimer(signal.ITIMER_PROF, 0)
        took = process_time() - begun
        slowest[way] = max(slowest.get(way, (0.0, 0)), (took, seed))
        if fault or took > MOST_SECONDS:
            bad += 1
            nodes = sum(len(outline.nodes) for outline in design.outlines)
            of = f"{len(design.outlines)} outlines, {nodes} nodes"
            print(f"{way} {seed}: {took:.1f} s, {of} {fault}", flush=True)
    for way, (took, seed) in sorted(slowest.items(), key=lambda row: -row[1][0]):
        print(f"{way}: the slowest {took:.2f} s (seed {seed})")
    print(f"{cases} cases, {bad} over {MOST_SECONDS:g} s or at fault")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
