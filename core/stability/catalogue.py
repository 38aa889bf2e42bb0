"""The list of readings: what each is called, in which unit, from which formula, from what source.

``shown`` says how a person sees it; ``low`` and ``high`` the range it should lie in, where the trade
or a handbook has one (None: open on that side). Ranges from ``common practice`` or from memory of
the source named in ``range_source``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from core.stability import ranges
from core.stability.ranges import span_words

Source = Literal[
    "exact geometry", "exact, from the typed figures", "common practice, no source", "handbook, read",
    "handbook, from memory", "own estimate",
]
Shown = Literal["length", "area", "percent", "number", "angle", "mass", "time"]

EXACT: Source = "exact geometry"
TYPED: Source = "exact, from the typed figures"
OWN: Source = "own estimate"
TRADE: Source = "common practice, no source"
READ: Source = "handbook, read"
MEMORY: Source = "handbook, from memory"

_less, _more = f"{1.0 - ranges.FIN_BAND:g}", f"{1.0 + ranges.FIN_BAND:g}"


@dataclass(frozen=True)
class Spec:
    """One reading, apart from any design."""

    key: str
    label: str
    unit: str
    shown: Shown
    source: Source
    formula: str
    places: int = 2
    low: float | None = None
    high: float | None = None
    range_source: str = ""


NeedKey = Literal[
    "scale", "outline", "body", "fuselage", "fin", "rudder", "wing", "tailplane", "cg", "width", "weights",
    "propeller", "speed", "density", "throw",
]
"""What readings are computed from, see ``lacking``; a "body" may be a nacelle or a float as well."""


@dataclass(frozen=True)
class Group:
    """Readings shown together: what they tell, in one line, and what they need.

    ``needs`` is for the first of them, which the group is there for; ``rows_need`` for others besides.
    """

    key: str
    title: str
    tells: str
    needs: tuple[NeedKey, ...]
    readings: tuple[str, ...]
    rows_need: tuple[NeedKey, ...] = ()


_TERMS: tuple[Spec, ...] = (
    Spec("cla_fraction", "CLA fraction", "1", "percent", TRADE,
         "(x of the CLA − x of the CG) / (x of the fin centre − x of the CG)", 1),
    Spec("cla_fraction_error", "± of the CLA fraction", "1", "percent", OWN,
         "√(CG² + tracing² + surfaces² + photograph²), one standard deviation", 1),
    Spec("cla_fraction_error_cg", "± from the CG", "1", "percent", OWN,
         "(1 − CLA fraction) / tail arm × how well the CG is known", 1),
    Spec("cla_fraction_error_tracing", "± from tracing", "1", "percent", OWN,
         "each outline as a whole drawn too far out or in: ∮ s dl through areas and moments", 1),
    Spec("cla_fraction_error_surfaces", "± from wing and tailplane", "1", "percent", OWN,
         f"height and thickness as typed ± {ranges.TYPED_MM:g} mm, while guessed "
         f"± {ranges.GUESSED_MM:g} mm", 1),
    Spec("cla_fraction_error_photograph", "± from the photograph", "1", "percent", OWN,
         "each outline too far out or in by what was left when the photograph was straightened", 1),
    Spec("side_area", "Side area", "mm2", "area", EXACT,
         "silhouette + Σ count × region + 2 × each wing and tailplane in view"),
    Spec("cla_x", "CLA station", "mm", "length", EXACT, "Σ count × ∫x dA / side area"),
    Spec("cla_z", "CLA height", "mm", "length", EXACT, "Σ count × ∫z dA / side area"),
    Spec("cg_x", "CG station", "mm", "length", EXACT, "the mark, or Σ m x / Σ m"),
    Spec("cg_z", "CG height", "mm", "length", EXACT, "the mark, or Σ m z / Σ m"),
    Spec("fin_centre_x", "Fin centre station", "mm", "length", EXACT,
         "centroid of the exposed fin and rudder, or the quarter chord of its MAC"),
    Spec("fin_centre_z", "Fin centre height", "mm", "length", EXACT,
         "centroid of the exposed fin and rudder"),
    Spec("tail_arm", "Tail arm", "mm", "length", EXACT, "x of the fin centre − x of the CG"),
    Spec("cla_aft_of_cg", "CLA aft of the CG", "mm", "length", EXACT, "x of the CLA − x of the CG"),
    Spec("cla_above_cg", "CLA above the CG", "mm", "length", EXACT, "z of the CLA − z of the CG"),
    Spec("fin_area", "Fin area", "mm2", "area", EXACT, "exposed fin and rudder, × count"),
    Spec("wing_area", "Wing area", "mm2", "area", TYPED, "2 ∫ c dy, all wings"),
    Spec("wing_span", "Span", "mm", "length", TYPED, "the largest of 2 × tip station"),
    Spec("aspect_ratio", "Aspect ratio", "1", "number", TYPED, "span² / wing area", 1),
    Spec("mac", "Mean chord (MAC)", "mm", "length", TYPED, "2 ∫ c² dy / wing area"),
    Spec("mac_le_x", "Leading edge of MAC", "mm", "length", TYPED, "x of its quarter chord − MAC / 4"),
    Spec("dihedral_deg", "Effective dihedral", "deg", "angle", TYPED,
         "∫ γ c y dy / ∫ c y dy, γ = atan(dz/dy)", 1),
    Spec("fin_exposed_height", "Fin height, exposed", "mm", "length", EXACT, "of one fin"),
    Spec("fin_aspect_ratio", "Fin aspect ratio", "1", "number", EXACT, "height² / exposed area of one fin"),
    Spec("fin_mac", "Fin mean chord", "mm", "length", EXACT, "∫ c² dz / ∫ c dz by horizontal slices"),
    Spec("fin_quarter_chord_x", "Fin quarter chord", "mm", "length", EXACT, "∫ (x_le + c/4) c dz / ∫ c dz"),
    Spec("fin_arm", "Fin arm", "mm", "length", EXACT, "x of the fin's quarter chord − x of the CG"),
    Spec("fin_volume", "Fin volume V_v", "1", "number", MEMORY, "fin area × fin arm / (wing area × span)", 3,
         *ranges.FIN_VOLUME, "Drela, MIT Unified Engineering notes, 2006; from memory"),
    Spec("fin_lift_slope", "Fin lift slope", "1/rad", "number", MEMORY,
         "2πA / (2 + √(4 + A²(1 + tan² Λ))), A = 1.55 b'²/S' of a single fin run down to "
         "the body's centre line, else its own aspect ratio"),
    Spec("sidewash_factor", "Sidewash factor", "1", "number", MEMORY,
         "0.724 + 3.06 (S_v/S)/(1 + cos Λ) + 0.4 z_w/d + 0.009 A, kept within "
         f"{span_words(ranges.SIDEWASH, 1)} (Datcom 5.4)"),
    Spec("rudder_fraction", "Rudder share", "1", "percent", EXACT,
         "rudder area / fin and rudder", 0),
    Spec("cn_beta", "Firmness in yaw Cnβ", "1/rad", "number", MEMORY,
         "fin (mean of both witnesses) + body + propeller + C_L² / (4πA)", 4, *ranges.CN_BETA,
         "light aeroplanes 0.06–0.12 from memory; worked here for four invented models: no source"),
    Spec("cn_beta_low", "Firmness, at least", "1/rad", "number", MEMORY,
         f"{_less} × the weaker witness + body by Munk's factors + twice the propeller where it takes away, "
         "half where it gives; the band is the distance between methods, not a promise", 4),
    Spec("cn_beta_high", "Firmness, at most", "1/rad", "number", MEMORY,
         f"{_more} × the stronger witness + body by the −1.3 rule + half the propeller where it takes away, "
         "twice where it gives; the band is the distance between methods, not a promise", 4),
    Spec("cn_beta_fin", "Fin, mean of both", "1/rad", "number", MEMORY,
         "(fin by charts + fin by lattice) / 2: two ways to reckon the same", 4),
    Spec("cn_beta_fin_handbook", "Fin, by charts", "1/rad", "number", MEMORY,
         "sidewash factor × lift slope × S' l_v / (S b): the handbook's charts, with the fin run down to the "
         "body's centre line; what hangs behind the body is left out", 4),
    Spec("cn_beta_fin_lattice", "Fin, by lattice", "1/rad", "number", OWN,
         "k η Σ (F + F_body)(x − x of the CG) / (S b), k = 1 + 0.4 z_w/d: a lattice of vortices over fin, "
         "ventral fins and tailplanes, with the body's images and the tailplane as an end plate", 4),
    Spec("cn_beta_body", "Body's part", "1/rad", "number", MEMORY,
         "−1.3 ∫ (π/4) h² dx / (S b), h the depth (Raymer 16.50)", 4),
    Spec("cn_beta_propeller", "Propeller's part", "1/rad", "number", MEMORY,
         "0.09 (disc area / S)(x of the propeller − x of the CG) / b (Perkins and Hage), good to half and "
         "twice: ahead of the CG it takes firmness away", 4),
    Spec("cy_beta", "Side force CYβ", "1/rad", "number", MEMORY,
         "of the fin, mean of both witnesses − 2 (π/4) h²/S", 3),
    Spec("yaw_neutral_x", "Yaw neutral point", "mm", "length", MEMORY, "x of the CG + b Cnβ / (−CYβ)"),
    Spec("yaw_reversal_deg", "Swings round beyond", "deg", "angle", MEMORY,
         "the first sideslip at which the moment turns: Munk's couple, cross-flow drag, fin with stall", 0),
    Spec("yaw_reversal_low_deg", "Swings round, earliest", "deg", "angle", MEMORY,
         "the same on the weaker edge of the curve's band", 0),
    Spec("yaw_reversal_high_deg", "Swings round, latest", "deg", "angle", MEMORY,
         "the same on the firmer edge of the curve's band", 0),
    Spec("rudder_effectiveness", "Rudder effect τ", "1", "number", READ,
         "(π − φ + sin φ)/π, cos φ = 2F − 1 (Aerodynamics for Engineering Students, 4.52)"),
    Spec("cn_rudder", "Cn of the rudder", "1/rad", "number", MEMORY,
         "−0.9 × 0.8 τ × the fin's mean without sidewash", 4),
    Spec("sideslip_full_rudder_deg", "Sideslip on full rudder", "deg", "angle", TRADE,
         "where the moment of full rudder meets the yaw curve; "
         f"over {ranges.LOOSE_DEG:g}° no figure is worth giving", 0, ranges.LITTLE_DEG, ranges.LOOSE_DEG,
         "common practice, no source"),
    Spec("spiral_parameter", "Spiral parameter B", "1", "number", MEMORY,
         "(fin arm / span) × dihedral in degrees / C_L", 1, ranges.EASILY_HELD, None,
         f"Drela, as above: over {ranges.STABLE:g} stable, {ranges.EASILY_HELD:g}–{ranges.STABLE:g} easily "
         "held, less diverges; from memory"),
    Spec("roll_coupling", "Roll coupling V_v B", "1", "number", MEMORY,
         "V_v × B, for flying on the rudder alone", 3, *ranges.ROLL_COUPLING,
         "Drela, as above; from memory"),
    Spec("spiral_upright_share", "Upright, share of draws", "1", "percent", OWN,
         "share of 300 draws over the bands of fin, body, inertia and dihedral in which a bank dies away", 0),
    Spec("wag_period_s", "Time of one wag", "s", "time", OWN,
         "2π / the frequency of the wagging pair of roots; the middle of 300 draws", 1),
    Spec("wag_half_time_s", "Wag halved in", "s", "time", OWN,
         "ln 2 / how fast the wagging pair of roots dies away; the middle of 300 draws", 1),
    Spec("wag_damping", "Damping of the wag ζ", "1", "number", OWN,
         "ζ of the wagging pair of roots, 1 = no wag at all; the middle of 300 draws", 2),
    Spec("roll_time_s", "Roll settles in", "s", "time", OWN,
         "1 / the root of rolling: how soon it stops rolling on; the middle of 300 draws", 2),
    Spec("tailplane_area", "Tailplane area", "mm2", "area", TYPED, "2 ∫ c dy"),
    Spec("tailplane_arm", "Tailplane arm", "mm", "length", TYPED, "quarter chord of its MAC − x of the CG"),
    Spec("tailplane_volume", "Tail volume V_h", "1", "number", MEMORY, "area × arm / (wing area × MAC)", 2,
         *ranges.TAILPLANE_VOLUME, "Drela, as above; from memory"),
    Spec("downwash_slope", "Downwash slope", "1", "number", READ,
         "4.44 [K_A K_λ K_H √cos Λ]^1.19 (Datcom)"),
    Spec("neutral_point_x", "Neutral point", "mm", "length", MEMORY,
         "moments of wing, tailplane (η 0.9) and body (Multhopp's strips)"),
    Spec("static_margin", "Static margin", "1", "percent", TRADE, "(neutral point − CG) / MAC", 1,
         *ranges.STATIC_MARGIN, "common practice for sport models, no source"),
    Spec("trim_incidence_deg", "Incidence to trim", "deg", "angle", MEMORY,
         "zero moment at the flight speed; section by thin aerofoil theory", 1),
    Spec("tail_load_g", "Tail load in trim", "g", "mass", MEMORY, "down negative, at the flight speed"),
    Spec("mass", "Mass", "g", "mass", TYPED, "Σ m: weights, and outlines that weigh by area"),
    Spec("lift_coefficient", "Lift coefficient", "1", "number", TYPED, "weight / (½ ρ V² × wing area)"),
)
TERMS: Mapping[str, Spec] = {spec.key: spec for spec in _TERMS}

GROUPS: tuple[Group, ...] = (
    Group("side", "Side area", "where the side area balances", ("scale", "outline"),
          ("side_area", "cla_x", "cla_z", "cla_aft_of_cg", "cla_above_cg"), ("cg",)),
    Group("tail", "Vertical tail", "where the tail arm ends", ("scale", "fin"),
          ("fin_area", "fin_centre_x", "fin_centre_z", "tail_arm", "rudder_fraction", "fin_exposed_height",
           "fin_mac", "fin_arm", "fin_volume"), ("wing", "cg")),
    Group("wing", "Wing", "area, mean chord and dihedral as they act", ("scale", "wing"),
          ("wing_area", "wing_span", "aspect_ratio", "mac", "mac_le_x", "dihedral_deg")),
    Group("yaw", "Yaw", "how firmly it holds its heading, by handbook aerodynamics",
          ("scale", "body", "fin", "wing", "cg"),
          ("cn_beta", "cn_beta_low", "cn_beta_high", "cn_beta_fin", "cn_beta_fin_handbook",
           "cn_beta_fin_lattice", "cn_beta_body", "cn_beta_propeller", "yaw_neutral_x", "yaw_reversal_deg",
           "yaw_reversal_low_deg", "yaw_reversal_high_deg"), ("propeller",)),
    Group("rudder", "Rudder", "how far full rudder slips it",
          ("scale", "body", "rudder", "wing", "cg", "throw"),
          ("sideslip_full_rudder_deg", "rudder_effectiveness", "cn_rudder")),
    Group("gust", "After a gust", "what it does in the seconds after a gust",
          ("scale", "body", "fin", "wing", "cg", "weights", "speed", "density"),
          ("wag_period_s", "wag_half_time_s", "wag_damping", "roll_time_s")),
    Group("spiral", "Spiral", "whether it stays upright by itself",
          ("scale", "fin", "wing", "cg", "weights", "speed", "density"),
          ("spiral_parameter", "roll_coupling", "spiral_upright_share"), ("body",)),
    Group("pitch", "Pitch", "whether the CG is safe, and the tailplane's incidence",
          ("scale", "fuselage", "wing", "tailplane", "cg", "width"),
          ("static_margin", "neutral_point_x", "tailplane_volume", "tailplane_area", "tailplane_arm",
           "downwash_slope", "trim_incidence_deg", "tail_load_g"), ("weights", "speed", "density")),
    Group("weight", "Weight", "what it weighs and how hard the wing works", ("scale", "weights"),
          ("mass", "lift_coefficient"), ("wing", "speed", "density")),
)
"""As the window shows them; readings in no group stand in the table and on the command line alone."""
