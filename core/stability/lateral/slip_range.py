"""The moment in yaw through the whole range of sideslip, from straight ahead to broadside on.

A forward slip or a knife edge is no small angle. There the air comes from the side, and what it
does is drag across the flow, spread over the side area: this is the bridge between the card on the
wall and the aeroplane in the air. A rough estimate without propeller, and none of the rolling and
pitching that go with a slip: try slips high up first.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import msgspec
import numpy as np

from core.design import Design
from core.geometry.memo import IdentityMemo
from core.geometry.regions import Moments
from core.geometry.ring import Array
from core.kinds import HULL, OWN_BODIES
from core.stability.aeroplane import Aeroplane, Values
from core.stability.body import NO_BODY, bodies
from core.stability.lateral.yaw import body_cn_beta, yaw_values
from core.stability.ranges import CN_BETA
from core.stability.side_area import SideAreaCounter
from core.stability.surfaces import wing_form
from core.stability.volumes import OUT_OF_REACH, vertical_tail

ROUND_BODY, FLAT_SIDES = 0.84, 1.2
"""Cross-flow drag coefficient of a long round body (1.2 × 0.7), and of flat sides and plates (Allen and
Perkins, NACA Report 1048, 1951; Jorgensen, NASA TR R-474; memory)."""
FIN_STALLS_AT = 1.1
"""Normal-force coefficient up to which the fin's flow holds (this project's; no source)."""
BLEND_DEG = 5.0
NO_REVERSAL = "none up to 90°"
_STEP_DEG = 0.5


@dataclass(frozen=True)
class CrossFlow:
    """Drag coefficients of what stands across the flow, each on its counted side area.

    ``body``: fuselage, canopy, nacelles and floats. A model's are neither round nor sharp-edged, so
    the default stands half way between ``ROUND_BODY`` and ``FLAT_SIDES``. ``plate``: everything else but
    the fin. ``fin``: the vertical tail broadside on (Hoerner, Fluid-Dynamic Drag; memory).
    """

    body: float = 0.5 * (ROUND_BODY + FLAT_SIDES)
    plate: float = FLAT_SIDES
    fin: float = 1.17


USUAL = CrossFlow()


@dataclass(frozen=True, eq=False)
class SlipCurve:
    """The moment about the CG over sideslip: N/q in mm³, restoring positive; arrays of one shape (K,)."""

    beta_deg: Array
    """0 to 90° in even steps."""
    total: Array
    body_attached: Array
    cross_flow: Array
    """Everything that is not the fin, across the flow."""
    fin: Array
    slope: float
    """dN/dβ /q at no sideslip, mm³ per radian."""
    cross_flow_share: Array
    """0 to 1: what acts by side area (cross-flow, and the fin once stalled) of the sum of all magnitudes."""
    stall_deg: float
    """Where the fin begins to stall."""
    broadside_x: float | None
    """Station in mm where the load of air from 90° acts: the CLA, but for the differing coefficients."""
    reversal_deg: float | None
    """The first sideslip at which the moment turns negative; None where it never does."""
    settles_deg: float | None
    """Where it turns restoring again after that, so that the aeroplane would hang there."""
    sentence: str


def separated_force(beta: Array, at_broadside: float = 1.17) -> Array:
    """Normal-force coefficient of a stalled plate at ``beta`` (K,) radians: 1.17 sin β/(0.56 + 0.44 sin β).

    Range: flat plates of any usual aspect ratio, 0 to 90°. Source: Hoerner, Fluid-Dynamic Drag (memory).
    """
    sine = np.sin(beta)
    return np.asarray(at_broadside * sine / (0.56 + 0.44 * sine))


def stall_angle(slope: float) -> float:
    """β in radians at which slope·sin β cos β reaches 1.1; 45°, where it is greatest, if it never does."""
    if slope < 2.0 * FIN_STALLS_AT:
        return 0.25 * math.pi
    return 0.5 * math.asin(2.0 * FIN_STALLS_AT / slope)


def slip_curve(a: Aeroplane, coefficients: CrossFlow = USUAL, attached: bool = True) -> SlipCurve | str:
    """The moment about the CG from 0 to 90° of sideslip, or the reason why there is none.

    Body in attached flow: ½ sin 2β times Cnβ_body S b (Munk's couple by the −1.3 rule). Across the
    flow: sin²β Σ C ∫ (x − x_CG) dA over all counted side area that is not exposed fin or rudder,
    each kind with its coefficient. Fin: normal force k_s a_v sin β cos β on S_v at the quarter chord up
    to 1.1, then over 5° (smoothly) to the stalled plate's at the centroid; a fin that never reaches
    1.1 goes over at 45°. Without ``attached`` only what stands across the flow is left, the fin by the
    stalled plate throughout: with one coefficient C for all, N(90°)/q = C A (x_CLA − x_CG) (exact).

    Wings and tailplanes stand across the flow with what the counting rule gives them. For a wing with
    dihedral, along which such air runs, that is far too much, but it lies close to the CG.
    Range: an estimate for comparing. Sources: Allen and Perkins, NACA Report 1048, 1951, who put
    this load at the centroid of the plan-form area; Jorgensen, NASA TR R-474; Hoerner (all memory).
    """
    if a.cg is None:
        return a.no_cg
    tail = vertical_tail(a)
    if isinstance(tail, str):
        return tail
    hulls = bodies(a.design)
    centre = a.side.tail_moments.centroid()
    slope = 0.0
    couple = 0.0
    if attached:
        if not hulls:
            return NO_BODY
        sidewash = yaw_values(a)["sidewash_factor"]
        if isinstance(sidewash, str):
            return sidewash
        slope = sidewash * tail.lift_slope
        couple = sum(h.count * body_cn_beta(h.form.square_integral, 1.0, 1.0) for h in hulls)
    if centre is None or not math.isfinite(slope):
        return OUT_OF_REACH
    cg_x = a.cg.x
    degrees = np.linspace(0.0, 90.0, round(90.0 / _STEP_DEG) + 1)
    beta = np.radians(degrees)
    sine, cosine = np.sin(beta), np.cos(beta)
    force, moment = _across(a, coefficients, cg_x)
    across = sine * sine * moment
    body = couple * sine * cosine
    begin = stall_angle(slope)
    stalled = _smooth((degrees - math.degrees(begin)) / BLEND_DEG) if attached else np.ones_like(beta)
    held = np.minimum(slope * sine * cosine, FIN_STALLS_AT) * tail.area * (tail.quarter_chord_x - cg_x)
    plate = separated_force(beta, coefficients.fin) * tail.area * (centre[0] - cg_x)
    fin_held, fin_stalled = (1.0 - stalled) * held, stalled * plate
    total = body + across + fin_held + fin_stalled
    if not np.isfinite(total).all():
        return OUT_OF_REACH
    by_area = np.abs(across) + np.abs(fin_stalled)
    whole = by_area + np.abs(body) + np.abs(fin_held)
    share = np.divide(by_area, whole, out=np.zeros_like(whole), where=whole > 0.0)
    start = couple + slope * tail.area * (tail.quarter_chord_x - cg_x)
    reversal, settles = _turns(degrees, total)
    wing = wing_form(a.design.wings)
    weak = not isinstance(wing, str) and start < CN_BETA[0] * wing.area * wing.span
    all_force = force + coefficients.fin * tail.area
    return SlipCurve(
        beta_deg=degrees, total=total, body_attached=body, cross_flow=across, fin=fin_held + fin_stalled,
        slope=start, cross_flow_share=share, stall_deg=math.degrees(begin),
        broadside_x=cg_x + float(total[-1]) / all_force if all_force > 0.0 else None,
        reversal_deg=reversal, settles_deg=settles,
        sentence=_sentence(degrees, total, reversal, settles, math.degrees(begin), weak),
    )


def slip_values(a: Aeroplane) -> Values:
    """The reading yaw_reversal_deg in degrees; "none up to 90°" where the moment never turns."""
    curve = slip_curve(a)
    if isinstance(curve, str):
        return {"yaw_reversal_deg": curve}
    return {"yaw_reversal_deg": NO_REVERSAL if curve.reversal_deg is None else curve.reversal_deg}


_body_moments: IdentityMemo[Moments] = IdentityMemo(24)


def _across(a: Aeroplane, c: CrossFlow, cg_x: float) -> tuple[float, float]:
    """Σ C A in mm² and Σ C ∫ (x − x_CG) dA in mm³ of all that is counted and not exposed tail."""
    rest = a.side.moments.plus(a.side.tail_moments, -1.0)
    hulls = _counted_bodies(a.design)
    others = rest.plus(hulls, -1.0)
    force = c.body * hulls.area + c.plate * others.area
    moment = c.body * (hulls.x - hulls.area * cg_x) + c.plate * (others.x - others.area * cg_x)
    return force, moment


def _counted_bodies(design: Design) -> Moments:
    """The counted side area of the bodies alone: what they share with other parts is theirs."""
    outlines = tuple(o for o in design.outlines if o.kind in HULL | OWN_BODIES)
    hulls = bodies(design)
    if len(hulls) == 1 and all(o.count == 1 and o.standing == "joined" for o in outlines):
        return hulls[0].patch.moments

    def compute() -> Moments:
        alone = msgspec.structs.replace(design, outlines=outlines, wings=(), tailplanes=())
        return SideAreaCounter().count(alone).moments

    return _body_moments.get(outlines, compute)


def _smooth(t: Array) -> Array:
    """0 below 0, 1 above 1, and level at both ends in between."""
    held = np.clip(t, 0.0, 1.0)
    return np.asarray(held * held * (3.0 - 2.0 * held))


def _turns(degrees: Array, total: Array) -> tuple[float | None, float | None]:
    """(where the moment first turns negative, where it then turns restoring again), in degrees."""
    small = 1e-9 * float(np.abs(total).max())
    below = np.nonzero(total < -small)[0]
    if len(below) == 0:
        return None, None
    first = int(below[0])
    again = np.nonzero(total[first:] > small)[0]
    return (
        _crossing(degrees, total, first),
        _crossing(degrees, total, first + int(again[0])) if len(again) else None,
    )


def _crossing(degrees: Array, total: Array, index: int) -> float:
    """Where the moment passes through zero just before ``index``, between two steps straight."""
    before, after = float(total[index - 1]), float(total[index])
    part = before / (before - after) if before * after < 0.0 else 0.0
    return float(degrees[index - 1]) + _STEP_DEG * part


def _sentence(
    degrees: Array, total: Array, reversal: float | None, settles: float | None, stall: float,
    weak: bool,
) -> str:
    if reversal is None:
        peak = float(total[degrees <= stall + 1e-9].max())
        after = degrees > stall
        weakest = int(np.argmin(np.where(after, total, np.inf)))
        if float(total[weakest]) < 0.5 * peak:
            return (
                "Left to itself in a slip or a knife edge it straightens from any angle up to 90°, but "
                f"beyond {stall:.0f}°, where the fin stalls, only gently: "
                f"weakest near {degrees[weakest]:.0f}°."
            )
        end = ", but near straight ahead only weakly: it will wander in yaw." if weak else "."
        return f"Left to itself in a slip or a knife edge it straightens from any angle up to 90°{end}"
    if reversal < 1.0:
        where = "" if settles is None else f", out to about {settles:.0f}°"
        return (
            f"Even a small slip grows by itself{where}: it needs more fin, or the CG further forward, "
            "before it flies."
        )
    then = (
        "swings on round instead of straightening" if settles is None
        else f"swings out to about {settles:.0f}° and hangs there instead of straightening"
    )
    return f"Slipped further than {reversal:.0f}° it {then}: keep slips and knife edges well short of that."
