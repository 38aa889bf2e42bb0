"""Words and axes of the curves, in the builder's units."""

from __future__ import annotations

from app.kit.sentences import as_sentence
from app.side.curve_plot import Shown
from core.design import DisplayUnits
from core.geometry.ring import Array
from core.redesign.curves import CurveData
from core.stability.catalogue import TERMS
from core.units import GRAMS_PER_OZ, format_length, format_mass

PLOTS: tuple[tuple[str, str], ...] = (
    ("cla_fraction", "CLA fraction"), ("cn_beta", "Cnβ (firmness in yaw)"), ("fin_volume", "Fin volume V_v"),
    ("lead", "Lead in the nose"),
)


def per_gram(units: DisplayUnits) -> float:
    """Grams to one of what the axis of the lead shows."""
    return 1.0 if units == "mm" else GRAMS_PER_OZ


def curve_of(data: CurveData, key: str, per_x: float, units: DisplayUnits) -> Shown:
    """One of the curves in the units of its axes; ``per_x`` is what one of the x axis is."""
    x: Array = data.x / per_x
    y: Array = getattr(data, key)
    if key == "cla_fraction":
        return Shown(x, 100.0 * y, None, None, 100.0 * data.aim.low, 100.0 * data.aim.high, 4.0)
    if key == "lead":
        return Shown(x, y / per_gram(units), least=20.0 / per_gram(units))
    spec = TERMS[key]
    banded = key == "cn_beta"
    return Shown(
        x, y, data.cn_beta_low if banded else None, data.cn_beta_high if banded else None,
        spec.low, spec.high, 0.02,
    )


def axis_words(data: CurveData, units: DisplayUnits) -> str:
    """What stands under the x axis."""
    unit = "mm" if units == "mm" else "in"
    return {
        "fin": "size of fin and rudder, 1 = as it was", "nose": f"let into the nose, {unit}",
        "cg": f"station of the CG, {unit}",
    }[data.over]


def place_words(data: CurveData, x: float, units: DisplayUnits) -> str:
    """Where on the curve the design is."""
    if data.over == "fin":
        return f"fin and rudder × {x:.3f} across and up, area × {x * x:.3f}"
    if data.over == "nose":
        return f"{format_length(abs(x), units)} {'let into' if x >= 0 else 'taken out of'} the nose"
    moved = x - data.present
    way = "aft" if moved >= 0 else "forward"
    return f"CG at {format_length(x, units)}, moved {format_length(abs(moved), units)} {way}"


def lead_words(grams: float, units: DisplayUnits) -> str:
    """Lead that has to go in, or may come out."""
    if grams < 0:
        return f"{format_mass(-grams, units)} may come out"
    return f"{format_mass(grams, units)} to put in"


def missing_words(data: CurveData) -> str:
    """Why a curve is not there, or has a gap, one sentence a reason."""
    named = dict(PLOTS)
    reasons: dict[str, list[str]] = {}
    for key, why in data.missing.items():
        if key in named:
            reasons.setdefault(why, []).append(named[key])
    return " ".join(f"{', '.join(names)}: {as_sentence(why)}" for why, names in reasons.items())
