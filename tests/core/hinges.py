"""Aeroplanes whose fin and rudder share a slanting, curved or swept hinge, drawn at random."""

from __future__ import annotations

import math

import numpy as np
import shapely

from core.design import Design, Mark, Node, Outline
from core.kinds import Kind

Point = tuple[float, float]


def outline(name: str, kind: Kind, *corners: Point) -> Outline:
    """An outline of straight edges."""
    return Outline(name, kind, tuple(Node(float(x), float(z)) for x, z in corners))


# The hinge of this one is lost by the plain overlay of the library, by whatever factor it is raised.
LOST = Design(
    format=1, title="Lost", cg_mark=Mark(300.0, 0.0), outlines=(
        outline("fuselage", "fuselage", (0, -40), (100, -60), (863.5, -20), (930, 2.7), (100, 60), (0, 30)),
        outline("fin", "fin", (751.1, 2.3), (813.3, 182.2), (880.9, 189.7), (836.9, 1.9)),
        outline("rudder", "rudder", (836.9, 1.9), (880.9, 189.7), (933.1, 176.1), (912.8, 5.8)),
    ),
)


def hinged(rng: np.random.Generator, bend: float = 0.0) -> Design:
    """A fuselage with a fin and a rudder; ``bend`` bows the hinge by so many mm."""
    tenths = 1 if rng.random() < 0.5 else 6

    def at(x: float, z: float) -> Point:
        return round(x, tenths), round(z, tenths)

    foot = at(820 + rng.uniform(-10, 20), rng.uniform(-25, 38))
    top = at(foot[0] + rng.uniform(-60, 80), rng.uniform(120, 240))
    rear = at(900 + rng.uniform(-90, 40), -20), at(900 + rng.uniform(-90, 40), rng.uniform(0, 40))
    fuselage = outline("fuselage", "fuselage", (0, -40), (100, -60), *rear, (100, 60), (0, 30))
    ahead = at(foot[0] - rng.uniform(60, 120), foot[1] + rng.uniform(-10, 10))
    tip = at(top[0] - rng.uniform(20, 70), top[1] + rng.uniform(-10, 0))
    aft = at(top[0] + rng.uniform(20, 60), top[1] - rng.uniform(0, 20))
    heel = at(foot[0] + rng.uniform(40, 90), foot[1] + rng.uniform(-15, 15))
    up = (top[0] - foot[0]) / 3 + bend, (top[1] - foot[1]) / 3
    down = -(top[0] - foot[0]) / 3 + bend, -(top[1] - foot[1]) / 3
    bowed = bend != 0.0
    low, high = Node(*foot), Node(*top)
    fin = Outline("fin", "fin", (
        Node(*ahead), Node(*tip),
        Node(*top, None, down if bowed else None), Node(*foot, up if bowed else None, None),
    ))
    rudder = Outline("rudder", "rudder", (
        Node(*foot, None, up) if bowed else low, Node(*top, down, None) if bowed else high,
        Node(*aft), Node(*heel),
    ))
    return Design(format=1, title="Hinged", outlines=(fuselage, fin, rudder), cg_mark=Mark(300.0, 0.0))


def nudged(value: float, ulps: int) -> float:
    """The double so many steps away."""
    for _ in range(abs(ulps)):
        value = math.nextafter(value, math.inf if ulps > 0 else -math.inf)
    return value


def split_pair(rng: np.random.Generator) -> tuple[shapely.Polygon, shapely.Polygon]:
    """A convex polygon cut in two along a chain of nodes that differ, on both sides, by up to 4 ulps.

    Whatever is drawn, the areas of the two add up and they share nothing: known without any overlay.
    """
    scale, off = 10.0 ** rng.uniform(-1, 3), rng.uniform(-1, 1, 2) * rng.choice((0.0, 1.0, 1e3, 9e5))
    foot = np.array((rng.uniform(0, 50), rng.uniform(-20, 40)))
    top = np.array((0.0, rng.uniform(130, 220)))
    top[0] = foot[0] + rng.uniform(-40, 60)
    shares = np.sort(rng.uniform(0.1, 0.9, rng.integers(1, 8)))
    chain = foot + np.concatenate(((0.0,), shares, (1.0,)))[:, None] * (top - foot)
    chain[1:-1, 0] += rng.choice((0.0, 1.0)) * rng.uniform(-3, 3) * np.sin(np.pi * shares)
    chain = chain * scale / 100 + off
    ends = rng.random() < 0.6
    other = chain.copy()
    for i in range(len(chain)):
        if ends and i in (0, len(chain) - 1):
            continue
        other[i] = [nudged(float(v), int(rng.integers(-4, 5))) for v in chain[i]]
    ahead = np.array(((-60, foot[1]), (top[0] - 70, top[1]))) * scale / 100 + off
    aft = np.array(((top[0] + 50, top[1] - 10), (foot[0] + 80, foot[1] - 5))) * scale / 100 + off
    one = np.concatenate((ahead, chain[::-1]))
    return shapely.Polygon(one), shapely.Polygon(np.concatenate((other, aft)))
