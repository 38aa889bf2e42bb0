"""The moment in yaw through the whole range of sideslip, from straight ahead to broadside on.

A forward slip or a knife edge is no small angle. There the air comes from the side, and what it
does is drag across the flow, spread over the side area: this is the bridge between the card on the
wall and the aeroplane in the air. A rough estimate, and none of the rolling and pitching that go with a
slip: try slips high up first.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import msgspec
import numpy as np

from core.design import Design
from core.geometry.memo import IdentityMemo, kept
from core.geometry.regions import Moments
from core.geometry.ring import Array
from core.kinds import HULL, OWN_BODIES, TAILPLANES, WINGS
from core.stability.aeroplane import Aeroplane, Values
from core.stability.body import bodies
from core.stability.lateral.handbook_fin import effective_aspect_ratio
from core.stability.lateral.yaw import YawParts, yaw_parts
from core.stability.ranges import CN_BETA
from core.stability.side_area import SideAreaCounter, form_of, surface_patch
from core.stability.volumes import OUT_OF_REACH, vertical_tail

REVERSALS = ("yaw_reversal_deg", "yaw_reversal_low_deg", "yaw_reversal_high_deg")
ROUND_BODY, FLAT_SIDES = 0.84, 1.2
"""Cross-flow drag coefficient of a long round body (1.2 × 0.7), and of flat sides and plates (Allen and
Perkins, NACA Report 1048, 1951; Jorgensen, NASA TR R-474; memory)."""
ALONG_PANELS = 0.15
"""Of wings and tailplanes, along which such air runs (own choice: at a dihedral Γ about C_Nα sin Γ)."""
FIRST_STALL_DEG, STALL_BY_ASPECT, LAST_STALL_DEG = 15.0, 25.0, 40.0
BLEND_DEG = 5.0
NO_REVERSAL = "none up to 90°"
_STEP_DEG = 0.5


@dataclass(frozen=True)
class CrossFlow:
    """Drag coefficients of what stands across the flow, each on its counted side area.

    ``body``: fuselage, canopy, nacelles and floats. A model's are neither round nor sharp-edged, so
    the default stands half way between ``ROUND_BODY`` and ``FLAT_SIDES``. ``panel``: wings and tailplanes.
    ``plate``: everything else but the fin. ``fin``: the vertical tail broadside on (Hoerner, Fluid-Dynamic
    Drag; memory).
    """

    body: float = 0.5 * (ROUND_BODY + FLAT_SIDES)
    panel: float = ALONG_PANELS
    plate: float = FLAT_SIDES
    fin: float = 1.17


USUAL = CrossFlow()


@dataclass(frozen=True, eq=False)
class SlipCurve:
    """The moment about the CG over sideslip: N/q in mm³, restoring positive; arrays of one shape (K,)."""

    beta_deg: Array
    """0 to 90° in even steps."""
    total: Array
    low: Array
    high: Array
    """The band of ``total``: tail, body and propeller at their least firm and at their firmest."""
    body_attached: Array
    others_attached: Array
    """Propeller and wing."""
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
    reversal_low_deg: float | None
    reversal_high_deg: float | None
    """The same by the edges of the band: by the least firm, and by the firmest."""
    settles_deg: float | None
    """Where it turns restoring again after that, so that the aeroplane would hang there."""
    sentence: str


def separated_force(beta: Array, at_broadside: float = 1.17) -> Array:
    """Normal-force coefficient of a stalled plate at ``beta`` (K,) radians: 1.17 sin β/(0.56 + 0.44 sin β).

    Range: flat plates of any usual aspect ratio, 0 to 90°. Source: Hoerner, Fluid-Dynamic Drag (memory).
    """
    sine = np.sin(beta)
    return np.asarray(at_broadside * sine / (0.56 + 0.44 * sine))


def stall_angle_deg(aspect_ratio: float) -> float:
    """The sideslip in degrees at which a fin leaves attached flow: 15° + 25°/A, at most 40°.

    ``aspect_ratio`` is the effective one. Range: low aspect ratios at a model's Reynolds numbers.
    Source: own choice after low-aspect-ratio wings, which stall late (memory).
    """
    if not aspect_ratio > 0.0:
        return LAST_STALL_DEG
    return min(FIRST_STALL_DEG + STALL_BY_ASPECT / aspect_ratio, LAST_STALL_DEG)


def slip_curve(a: Aeroplane, coefficients: CrossFlow = USUAL, attached: bool = True) -> SlipCurve | str:
    """The moment about the CG from 0 to 90° of sideslip with its band, or the reason why there is none.

    Attached flow: ½ sin 2β times Cnβ S b of body (Munk's couple by the −1.3 rule), propeller and wing.
    Across the flow: sin²β Σ C ∫ (x − x_CG) dA over all counted side area that is not exposed fin or
    rudder, each kind with its coefficient. Fin: Cnβ_fin S b sin β cos β up to ``stall_angle_deg``, then
    over 5° (smoothly) to the stalled plate's at the centroid. The band: tail, body and propeller as in
    ``YawParts``, bodies across the flow from round to flat-sided, whichever is the worse and the better.
    Without ``attached`` only what stands across the flow is left, the fin by the stalled plate throughout:
    with one coefficient C for all, N(90°)/q = C A (x_CLA − x_CG) (exact); the band is the curve itself.

    Range: an estimate for comparing. Sources: Allen and Perkins, NACA Report 1048, 1951, who put
    this load at the centroid of the plan-form area; Jorgensen, NASA TR R-474; Hoerner (all memory).
    """
    if coefficients is USUAL and attached:
        return _usual(a)
    return _curve(a, coefficients, attached)


@kept
def _usual(a: Aeroplane) -> SlipCurve | str:
    return _curve(a, USUAL, True)


def _curve(a: Aeroplane, coefficients: CrossFlow, attached: bool) -> SlipCurve | str:
    if a.cg is None:
        return a.no_cg
    tail = vertical_tail(a)
    if isinstance(tail, str):
        return tail
    parts: YawParts | None = None
    if attached:
        found = yaw_parts(a)
        if isinstance(found, str):
            return found
        parts = found
    centre = a.side.tail_moments.centroid()
    if centre is None:
        return OUT_OF_REACH
    degrees = np.linspace(0.0, 90.0, round(90.0 / _STEP_DEG) + 1)
    beta = np.radians(degrees)
    sine, cosine = np.sin(beta), np.cos(beta)
    stall = stall_angle_deg(effective_aspect_ratio(a) or 0.0)
    stalled = _smooth((degrees - stall) / BLEND_DEG) if parts else np.ones_like(beta)
    plate = separated_force(beta, coefficients.fin) * tail.area * (centre[0] - a.cg.x)
    stands = _across(a, coefficients, a.cg.x)
    scale = parts.wing_area * parts.span if parts else 0.0
    fin_slope = parts.fin if parts else 0.0

    def flown(fin: float, rest: float, hull_drag: float) -> Array:
        share = fin / fin_slope if fin_slope > 0.0 else 1.0
        held = fin * scale * (1.0 - stalled) * sine * cosine + share * stalled * plate
        across = sine * sine * (stands.moment + (hull_drag - coefficients.body) * stands.hull_moment)
        return np.asarray(held + rest * scale * sine * cosine + across)

    body = (parts.body if parts else 0.0) * scale * sine * cosine
    others = (parts.propeller + parts.wing if parts else 0.0) * scale * sine * cosine
    across = sine * sine * stands.moment
    fin_held, fin_stalled = fin_slope * scale * (1.0 - stalled) * sine * cosine, stalled * plate
    total = body + others + across + fin_held + fin_stalled
    low = high = total
    if parts:
        drags = sorted((ROUND_BODY, FLAT_SIDES), key=lambda c: c * stands.hull_moment)
        low = flown(parts.fin_low, parts.low - parts.fin_low, drags[0])
        high = flown(parts.fin_high, parts.high - parts.fin_high, drags[1])
    if not (np.isfinite(total).all() and np.isfinite(low).all() and np.isfinite(high).all()):
        return OUT_OF_REACH
    by_area = np.abs(across) + np.abs(fin_stalled)
    whole = by_area + np.abs(body) + np.abs(others) + np.abs(fin_held)
    share = np.divide(by_area, whole, out=np.zeros_like(whole), where=whole > 0.0)
    reversal, settles = _turns(degrees, total)
    force = stands.force + coefficients.fin * tail.area
    curve = SlipCurve(
        beta_deg=degrees, total=total, low=low, high=high, body_attached=body, others_attached=others,
        cross_flow=across, fin=fin_held + fin_stalled,
        slope=parts.best * scale if parts else 0.0, cross_flow_share=share, stall_deg=stall,
        broadside_x=a.cg.x + float(total[-1]) / force if force > 0.0 else None,
        reversal_deg=reversal, reversal_low_deg=_turns(degrees, low)[0],
        reversal_high_deg=_turns(degrees, high)[0], settles_deg=settles, sentence="",
    )
    return replace(curve, sentence=slip_words(curve, parts is not None and parts.best < CN_BETA[0]))


def slip_values(a: Aeroplane) -> Values:
    """The readings yaw_reversal_deg, _low_deg and _high_deg; "none up to 90°" where a curve never turns."""
    curve = slip_curve(a)
    if isinstance(curve, str):
        return dict.fromkeys(REVERSALS, curve)
    found = curve.reversal_deg, curve.reversal_low_deg, curve.reversal_high_deg
    return {
        key: NO_REVERSAL if value is None else value for key, value in zip(REVERSALS, found, strict=True)
    }


def balance_deg(curve: SlipCurve, moment: float) -> float | None:
    """The first sideslip in degrees at which the curve holds ``moment`` (N/q, mm³); None where none does."""
    reached = np.nonzero(curve.total >= moment)[0]
    if len(reached) == 0:
        return None
    at = int(reached[0])
    if at == 0:
        return 0.0
    before, after = float(curve.total[at - 1]), float(curve.total[at])
    return float(curve.beta_deg[at - 1]) + _STEP_DEG * (moment - before) / (after - before)


_body_moments: IdentityMemo[Moments] = IdentityMemo(24)


@dataclass(frozen=True)
class _Stands:
    """What stands across the flow and is not exposed tail: Σ C A in mm², Σ C ∫ (x − x_CG) dA in mm³."""

    force: float
    moment: float
    hull_moment: float
    """∫ (x − x_CG) dA of the bodies alone, without coefficient."""


def _across(a: Aeroplane, c: CrossFlow, cg_x: float) -> _Stands:
    rest = a.side.moments.plus(a.side.tail_moments, -1.0)
    hulls, panels = _counted_bodies(a.design), _counted_panels(a.design)
    others = rest.plus(hulls, -1.0).plus(panels, -1.0)

    def about_cg(m: Moments) -> float:
        return m.x - m.area * cg_x

    return _Stands(
        c.body * hulls.area + c.panel * panels.area + c.plate * others.area,
        c.body * about_cg(hulls) + c.panel * about_cg(panels) + c.plate * about_cg(others),
        about_cg(hulls),
    )


def _counted_panels(design: Design) -> Moments:
    """The counted side area of wings and tailplanes, typed or traced (those that stand clear)."""
    total = Moments(0.0, 0.0, 0.0)
    for surface in design.surfaces:
        if surface.in_side_area:
            total = total.plus(surface_patch(surface).moments, 2.0)
    for outline in design.outlines:
        if outline.kind in WINGS | TAILPLANES and outline.standing == "clear":
            total = total.plus(form_of(outline).patch.moments, float(outline.count))
    return total


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


def slip_words(curve: SlipCurve, weak: bool) -> str:
    """What the curve with its band means, in a sentence or two; ``weak``: Cnβ is under the usual range."""
    first, loose, firm = curve.reversal_deg, curve.reversal_low_deg, curve.reversal_high_deg
    settles = curve.settles_deg
    if first is not None and first < 1.0:
        where = "" if settles is None else f", out to about {settles:.0f}°"
        return (
            f"Even a small slip grows by itself{where}: it needs more fin, or the CG further forward, "
            "before it flies."
        )
    if loose is None:
        return _straightens(curve, weak)
    short = "keep slips and knife edges well short of that"
    if loose < 1.0:
        most = "" if first is None else f", and beyond {first:.0f}° more likely than not swings round"
        return f"By the less firm reckoning even a small slip grows by itself{most}: look for more firmness."
    if firm is None:
        may = "may swing round anywhere" if first is None else "more likely than not swings round somewhere"
        return f"It {may} beyond {loose:.0f}°; by the firmer reckoning not at all: {short}."
    where = f"Slipped further than {loose:.0f}°"
    if firm - loose >= 1.0:
        where = f"Slipped further than a limit that lies between {loose:.0f}° and {firm:.0f}°"
    then = (
        "swings on round instead of straightening" if settles is None
        else f"swings out to about {settles:.0f}° and hangs there instead of straightening"
    )
    return f"{where} it {then}: {short}."


def _straightens(curve: SlipCurve, weak: bool) -> str:
    peak = float(curve.total[curve.beta_deg <= curve.stall_deg + 1e-9].max())
    after = np.where(curve.beta_deg > curve.stall_deg, curve.total, np.inf)
    weakest = int(np.argmin(after))
    always = "Left to itself in a slip or a knife edge it straightens from any angle up to 90°"
    if float(after[weakest]) < 0.5 * peak:
        return (
            f"{always}, but beyond {curve.stall_deg:.0f}°, where the fin stalls, only gently: "
            f"weakest near {curve.beta_deg[weakest]:.0f}°."
        )
    return f"{always}, but near straight ahead only weakly: it will wander in yaw." if weak else f"{always}."
