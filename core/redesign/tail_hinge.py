"""The lines about which a refit changes the chords of fin and rudder: their hinge, which stays."""

from __future__ import annotations

import numpy as np

from core.design import Design, Outline
from core.kinds import RUDDERS
from core.parts.hinge import axis_of, hinge_between
from core.redesign.belonging import belong
from core.redesign.stretching import HINGE_GAP, far_side
from core.redesign.tail import Line, Tail
from core.stability.side_area import form_of

_OWN = 2.0
"""mm: nodes of an outline that lie on its side of the hinge's gap."""


def chord_lines(design: Design, tail: Tail) -> dict[str, Line]:
    """By outline of the tail the line about which its chord is changed; empty without fin and rudder.

    Where the two meet it is their hinge, slanting or not, on each one's own side of the gap; where they
    do not, the rear edge of the fin and the front edge of the rudder. A fin that meets no rudder goes
    with the first that does.
    """
    outlines = [o for o in design.outlines if o.id in tail.ids]
    rudders = [o for o in outlines if o.kind in RUDDERS]
    if not rudders or len(rudders) == len(outlines):
        return {}
    met: dict[str, Line] = {}
    for rudder in rudders:
        for fin in outlines:
            if not belong(fin, rudder):
                continue
            regions = [form_of(o).patch.region for o in (fin, rudder)]
            hinge = hinge_between(regions[0], regions[1], HINGE_GAP)
            if hinge is not None:
                low, high = axis_of(hinge.line)
                axis = _through(low[0], low[1], high[0], high[1])
                for outline in (fin, rudder):
                    met.setdefault(outline.id, _own_side(outline, axis))
    usual = next((met[o.id] for o in outlines if o.id in met and o not in rudders), None)
    for outline in outlines:
        if outline.id not in met:
            alone = outline in rudders or usual is None
            met[outline.id] = _edge(outline, outline in rudders) if alone or usual is None else usual
    return met


def _through(x0: float, z0: float, x1: float, z1: float) -> Line:
    slope = float((x1 - x0) / (z1 - z0)) if abs(z1 - z0) > 1e-6 else 0.0
    return float(x0) - slope * float(z0), slope


def _own_side(outline: Outline, axis: Line) -> Line:
    off = [n.x - axis[0] - axis[1] * n.z for n in outline.nodes]
    near = [by for by in off if abs(by) <= _OWN]
    return (axis[0] + sum(near) / len(near), axis[1]) if near else axis


def _edge(outline: Outline, front: bool) -> Line:
    """The line of the outline's front or rear edge."""
    side = far_side(np.array([(n.x, n.z) for n in outline.nodes]), (1.0 if front else -1.0, 0.0))
    (x, z), (nx, nz) = side.at, side.normal
    return _through(x, z, x - nz, z + nx)
