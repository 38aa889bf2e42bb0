"""The plan of a tailplane's half: fixed part and elevator, from its stations."""

from __future__ import annotations

import numpy as np
import shapely

from core.design import Build, Tailplane
from core.geometry.overlay import NOTHING
from core.geometry.regions import region_of
from core.parts.hinge import SHARED, Hinge, bend_fault, straight
from core.parts.plan import ELEVATOR_DEG, Array, Panel, Plan
from core.parts.said import Remark, length

LEAST = 1.0
"""mm²: a surface with less than this has no area."""


def tailplane_plan(build: Build, tailplane: Tailplane) -> Plan | str:
    """Half of ``tailplane``, s along its slope from the innermost station; a sentence where there is none."""
    stations = sorted(tailplane.stations, key=lambda s: abs(s.y))
    name = tailplane.name
    if len(stations) < 2:
        return f"{name} has fewer than two stations: enter its chords at root and tip."
    table = np.array([(abs(t.y), t.z, t.le_x, t.chord) for t in stations])
    y, z, front, chord = table.T
    # A tailplane of no dihedral is as long as its y says, to the last bit.
    s = np.concatenate(([0.0], np.cumsum(np.hypot(np.diff(y), np.diff(z)))))
    origin = float(front[0])
    lead = np.column_stack((front - origin, s))
    trail = np.column_stack((front - origin + chord, s))
    whole = region_of(np.vstack((trail, lead[::-1])))
    if not float(shapely.area(whole)) > LEAST:
        return f"{name} has no area: enter its stations."
    part = tailplane.elevator_chord_fraction
    hinges: tuple[Array, ...] = ()
    faults: tuple[str, ...] = ()
    panels: tuple[Panel, ...] = (Panel(tailplane.id, name, whole, part >= 1.0),)
    if 0.0 < part < 1.0:
        line, faults = _hinge(lead, trail, part, build.hinge_gap, name)
        axis, off = straight(line)
        hinge = Hinge(axis if off <= 1e-9 else line, (line,), build.hinge_gap, off <= 1e-9)
        fixed = hinge.cleared(region_of(np.vstack((line, lead[::-1]))))
        moving = hinge.cleared(region_of(np.vstack((trail, line[::-1]))))
        for what, region in (("in front of its hinge", fixed), ("behind its hinge", moving)):
            if not float(shapely.area(region)) > LEAST:
                return f"{name} has no area {what}: enter another part of the chord for its elevator."
        hinges = (hinge.line,)
        panels = (
            Panel(tailplane.id, name, fixed, False),
            Panel(f"{tailplane.id}-elevator", f"{name}: elevator", moving, True),
        )

    def place(points: Array) -> Array:
        return np.column_stack((points[:, 0] + origin, np.interp(points[:, 1], s, y)))

    def at(points: Array) -> Array:
        return np.column_stack((points[:, 0] + origin, np.interp(points[:, 1], s, z)))

    return Plan(
        build, False, 2, panels, float(s[-1]), hinges, NOTHING, (),
        ELEVATOR_DEG if any(p.moves for p in panels) else 0.0, place, at,
        (*faults, *_bends(name, y, z)),
    )


def _bends(name: str, y: Array, z: Array) -> list[str]:
    """A sentence for each station at which the slope along the span changes."""
    angle = np.arctan2(np.diff(z), np.diff(y))
    return [
        Remark(
            f"{name}: its dihedral changes {length(y[k + 1])} from the middle: its parts are drawn flat; cut"
            " them there and join them at the angle."
        )
        for k in np.nonzero(np.abs(np.diff(angle)) > 1e-3)[0]
    ]


def _hinge(lead: Array, trail: Array, part: float, gap: float, name: str) -> tuple[Array, tuple[str, ...]]:
    """The hinge at each station, (N, 2), ``part`` of the chord ahead of the trailing edge; and what to say.

    A hinge is straight: outside the longest panel it goes on as it runs there, where the planform lets it.
    """
    given = trail + part * (lead - trail)
    s = given[:, 1]
    longest = int(np.diff(s).argmax())
    (c0, s0), (c1, s1) = given[longest], given[longest + 1]
    line = np.column_stack((c0 + (s - s0) * ((c1 - c0) / (s1 - s0)), s))
    off = np.abs(line[:, 0] - given[:, 0])
    if float(off.max()) <= 1e-9:
        return line, ()
    if not ((line[:, 0] > lead[:, 0] + gap) & (line[:, 0] < trail[:, 0] - gap)).all():
        return given, tuple(bend_fault(given, gap, f"{name} and its elevator"))
    if float(off.max()) <= max(0.5 * gap, SHARED):
        return line, ()
    return line, (Remark(
        f"{name}: the hinge line is drawn straight, up to {length(float(off.max()))} off the part of the"
        " chord that is entered for the elevator."
    ),)
