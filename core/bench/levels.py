"""Heights of tips, the difference of incidences, and where the datum lies on the aeroplane. Exact."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from core.bench.from_wing import foremost_wing
from core.bench.pin import nose_of
from core.design import LIMIT, Design, Tailplane, Wing
from core.kinds import NOSE_TO_TAIL
from core.stability.ballast import CLOSE, OUT_OF_REACH

_BEND_DEG = 0.5
"""Degrees of dihedral by which two panels have to differ for a joint between them (our own choice)."""


@dataclass(frozen=True)
class Rise:
    """How far the leading edge at ``y`` stands above that of the root, ``run`` mm further in."""

    y: float
    rise: float
    run: float
    at_tip: bool


def rises_of(surface: Wing | Tailplane) -> list[Rise] | str:
    """At every joint where the dihedral changes, and at the tip; or why there is none, a short clause."""
    word = "wing" if isinstance(surface, Wing) else "tailplane"
    stations = sorted(surface.stations, key=lambda s: s.y)
    stations = [s for s in stations if s.y >= 0.0]
    if len(stations) < 2 or not stations[-1].y - stations[0].y > CLOSE:
        return f"give the {word} a station at its tip, with y greater than 0"
    if not all(abs(v) <= LIMIT for s in stations for v in (s.y, s.z)):
        return OUT_OF_REACH
    root, found = stations[0], []
    slopes = [
        math.degrees(math.atan2(b.z - a.z, b.y - a.y)) for a, b in pairwise(stations)
    ]
    for station, before, after in zip(stations[1:-1], slopes, slopes[1:], strict=False):
        if abs(after - before) >= _BEND_DEG:
            found.append(Rise(station.y, station.z - root.z, station.y - root.y, False))
    tip = stations[-1]
    return [*found, Rise(tip.y, tip.z - root.z, tip.y - root.y, True)]


def incidence_difference(design: Design, tailplane: Tailplane) -> float | str:
    """Degrees by which the foremost wing's root stands more nose up than the tailplane's."""
    wing = foremost_wing(design)
    if wing is None:
        return "enter the wing"
    if root_of_tail(tailplane) is None:
        return "enter the tailplane"
    return wing.incidence_deg - tailplane.incidence_deg


def root_of_tail(tailplane: Tailplane) -> float | None:
    """The chord at the root, mm; None without stations."""
    root = min(tailplane.stations, key=lambda s: abs(s.y), default=None)
    return None if root is None else root.chord


@dataclass(frozen=True)
class DatumPlace:
    """``ahead``: how far ahead of the nose's foremost point the datum lies, mm, negative behind it.

    ``above``: how far its level line, z = 0, passes above that point, negative below.
    """

    ahead: float
    above: float


def datum_place(design: Design) -> DatumPlace | str:
    """Where the datum lies, from the outlines; or why that cannot be told."""
    if not any(outline.kind in NOSE_TO_TAIL for outline in design.outlines):
        return "trace the fuselage"
    nose = nose_of(design)
    return DatumPlace(nose.x, -nose.z)

