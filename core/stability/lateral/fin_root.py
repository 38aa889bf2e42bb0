"""Where the single fin stands on the body: what both ways of reckoning its part in yaw begin from."""

from __future__ import annotations

from dataclasses import dataclass

from core.geometry.memo import kept
from core.geometry.patch import Patch
from core.kinds import CARRIERS
from core.stability.aeroplane import Aeroplane
from core.stability.body import NO_BODY, bodies, span_at
from core.stability.fin import fin_form, fin_groups, no_tail
from core.stability.side_area import form_of

NO_SINGLE_FIN = "no fin stands on the centreline"
NO_SINGLE_BODY = "no fuselage stands on the centreline"
_END = 0.005
"""How far ahead of its very end a body is looked at, as a part of its length: there it may be a point."""


@dataclass(frozen=True)
class FinRoot:
    """The body below the quarter chord of the fin's MAC; mm."""

    x: float
    top: float
    middle: float

    @property
    def half_depth(self) -> float:
        """From the middle of the body to its top."""
        return self.top - self.middle


def single_fin(a: Aeroplane) -> tuple[Patch, ...]:
    """The exposed pieces of fin and rudder that the aeroplane has once; empty where it has none."""
    return next((pieces for count, pieces in a.side.tail_pieces if count == 1), ())


@kept
def fin_root(a: Aeroplane) -> FinRoot | str:
    """Station of the quarter chord of the exposed single fin's MAC, the body's top and mid-depth there.

    Where the fuselage ends before that station, what else carries the fin there (a boom) is taken, and
    without one the fuselage's end. A reason where there is no single fin or no fuselage.
    """
    form = fin_form(single_fin(a))
    if form is None:
        return NO_SINGLE_FIN if fin_groups(a.design, a.side) else no_tail(a.design)
    hulls = bodies(a.design)
    hull = next((body.patch for body in hulls if body.main and body.count == 1), None)
    if hull is None:
        return NO_SINGLE_BODY if hulls else NO_BODY
    x = form.quarter_chord_x
    span = span_at(hull, x)
    if span is None:
        span = _carried_by(a, x)
    if span is None:
        low, _, high, _ = hull.box
        margin = _END * (high - low)
        x = min(max(x, low + margin), high - margin)
        span = span_at(hull, x)
    if span is None:
        return NO_BODY
    return FinRoot(x, span[1], 0.5 * (span[0] + span[1]))


def _carried_by(a: Aeroplane, x: float) -> tuple[float, float] | None:
    spans = [
        span_at(form_of(o).patch, x)
        for o in a.design.outlines if o.kind in CARRIERS and o.count == 1 and o.standing == "joined"
    ]
    reached = [span for span in spans if span is not None]
    return max(reached, key=lambda span: span[1]) if reached else None
