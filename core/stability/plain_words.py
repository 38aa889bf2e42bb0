"""What the grouped readings mean, in a sentence each that a builder could read aloud."""

from __future__ import annotations

from core.design import Design, DisplayUnits
from core.geometry.memo import kept
from core.loading import format_loading
from core.stability.aeroplane import Aeroplane
from core.stability.ballast import weighed, wing_loading
from core.stability.catalogue import GROUPS
from core.stability.firmness import firmness
from core.stability.lateral.gust import SWAPS, after_a_gust
from core.stability.lateral.rudder import authority_words, loose_words
from core.stability.lateral.slip_range import slip_curve
from core.stability.lateral.yaw import yaw_parts
from core.stability.ranges import EASILY_HELD, LOOSE_DEG, STABLE
from core.stability.readings import Readings
from core.stability.wording import figure, instead
from core.units import format_angle, format_length, format_mass, format_number, format_speed

SELDOM = 0.05
"""A share of draws below which hardly any is meant, and over one less which nearly all are."""


def group_words(group: str, design: Design, readings: Readings) -> str:
    """The sentences of a group of ``catalogue.GROUPS``; empty where there is nothing to say yet."""
    # By the keys of the groups, one row each as the catalogue has them.
    told = (_side, _tail, _wing, _yaw, _rudder, _gust, _spiral, _pitch, _weight)
    say = dict(zip((each.key for each in GROUPS), told, strict=True)).get(group)
    return say(design, readings) if say else ""


def _side(design: Design, readings: Readings) -> str:
    if readings.value("side_area") is None:
        return ""
    units = design.display_units
    words = f"{figure('side_area', readings, units)} of side area"
    aft, above = readings.value("cla_aft_of_cg"), readings.value("cla_above_cg")
    if aft is None or above is None:
        return f"{words}. Where it balances beside the CG is told once the CG is there."
    high = format_length(abs(above), units)
    return f"{words} balances {_behind(aft, units)} and {high} {'above' if above >= 0.0 else 'below'} it."


def _tail(design: Design, readings: Readings) -> str:
    if readings.value("fin_area") is None:
        return ""
    units = design.display_units
    words = f"{figure('fin_area', readings, units)} of fin and rudder"
    if (arm := readings.value("tail_arm")) is not None:
        words += f", their centre {_behind(arm, units)}"
    volume = readings["fin_volume"]
    if volume.value is not None:
        # Whether that is enough is the answer's to say: one size of tail volume does not suit all.
        words += f" (tail volume V_v {format_number(volume.value, 3)})"
    return f"{words}."


def _wing(design: Design, readings: Readings) -> str:
    if readings.value("wing_area") is None:
        return ""
    area, span, chord = (
        figure(key, readings, design.display_units) for key in ("wing_area", "wing_span", "mac")
    )
    words = f"{area} over a span of {span}, its mean chord {chord}"
    dihedral = readings.value("dihedral_deg")
    return f"{words}; its dihedral acts as {format_angle(dihedral)}." if dihedral is not None else f"{words}."


def _yaw(design: Design, readings: Readings) -> str:
    found = firmness(readings)
    if found is None:
        return ""
    if found.best <= 0.0:
        head = "It is more likely than not unstable in yaw"
    elif found.low < 0.0:
        head = "It may hold its heading, and may as well not"
    elif not isinstance(parts := yaw_parts(readings.aeroplane), str) and parts.low_without_wing < 0.0:
        head = "It holds its heading only with the wing's part, which goes with its lift"
    else:
        head = {
            "below": "It holds its heading weakly",
            "within": "It holds its heading well enough",
            "above": "It holds its heading very firmly",
        }[readings["cn_beta"].verdict or "within"]
    best, low, high = (format_number(value, 3) for value in (found.best, found.low, found.high))
    return f"{head}: Cnβ {best}, between {low} and {high} by methods that differ that much."


def further_words(group: str, design: Design, readings: Readings) -> tuple[str, str]:
    """What stands under the scale that a group leads with, and at the foot of its figures; may be empty."""
    return (_swing(readings), _neutral(design, readings)) if group == "yaw" else ("", "")


def _swing(readings: Readings) -> str:
    """What it does when slipped further and further; empty while that is not known."""
    curve = slip_curve(readings.aeroplane)
    return "" if isinstance(curve, str) or not readings.scale_known else curve.sentence


def _neutral(design: Design, readings: Readings) -> str:
    """What the yaw neutral point is beside the CLA; empty where one of them is missing."""
    neutral, cla, cg = readings.value("yaw_neutral_x"), readings.value("cla_x"), readings.value("cg_x")
    if neutral is None or cla is None or cg is None:
        return ""
    units = design.display_units
    return (
        f"The air at small slips acts {_behind(neutral - cg, units)} (yaw neutral point), the side area "
        f"balances {_behind(cla - cg, units)} (CLA): the one is aerodynamics, where the nose pulls "
        "forward and the fin counts for more than its area; the other is a centroid."
    )


def _behind(mm: float, units: DisplayUnits) -> str:
    length = format_length(abs(mm), units)
    return f"{length} {'behind' if mm >= 0 else 'ahead of'} the CG"


def _rudder(design: Design, readings: Readings) -> str:
    reading = readings["sideslip_full_rudder_deg"]
    throw, firm = format_angle(design.flight.rudder_throw_deg, places=0), readings.value("cn_beta") or 0.0
    far = f"over {LOOSE_DEG:g}°"
    if instead(reading).startswith("over") or (reading.value is not None and reading.value > LOOSE_DEG):
        words = f"Full rudder ({throw}) slips it {far}, further than this reckoning is good for"
        more = loose_words(firm)
        return f"{words}: {more}." if more else f"{words}."
    if reading.value is None:
        return ""
    words = f"Full rudder ({throw}) should hold a sideslip of about {format_angle(reading.value, places=0)}"
    more = authority_words(reading.value, firm)
    return f"{words}: {more}." if more else f"{words}."


def _gust(design: Design, readings: Readings) -> str:
    if readings.value("wag_period_s") is None and not instead(readings["wag_period_s"]):
        return ""
    return _flown(readings.aeroplane)


@kept
def _flown(a: Aeroplane) -> str:
    flown = after_a_gust(a)
    return "" if isinstance(flown, str) else flown.sentence


def _spiral(design: Design, readings: Readings) -> str:
    share, b = readings.value("spiral_upright_share"), readings.value("spiral_parameter")
    # Less fin would slow a spiral too, which is never said: it may be what the answer asks more of.
    if share is not None:
        words = f"Left alone in a bank it stays upright by itself in {_draws(share)}"
        more = "" if share >= 0.5 else " More dihedral would help."
        return f"{words}, each with what is not known for sure drawn within its bounds.{more}"
    if b is None or readings["spiral_upright_share"].missing == SWAPS:
        # Of what swings off the rule of thumb, which knows of no yaw, would say that it is easily held.
        return ""
    if b > STABLE:
        return "Left alone in a bank it comes upright by itself, by the rule of thumb."
    if b >= EASILY_HELD:
        return "Left alone in a bank it tightens slowly, by the rule of thumb, and is easily held."
    return "Left alone in a bank it winds into a spiral, by the rule of thumb: more dihedral would help."


def _draws(share: float) -> str:
    """A share of the draws in tens, as after a gust: "8 draws of 10"."""
    if share >= 1.0 - SELDOM:
        return "nearly all draws"
    if share <= SELDOM:
        return "hardly any draw"
    tenths = min(max(round(10.0 * share), 1), 9)
    return f"{tenths} draw{'' if tenths == 1 else 's'} of 10"


def _pitch(design: Design, readings: Readings) -> str:
    margin = readings.value("static_margin")
    if margin is None:
        return ""
    if margin <= 0:
        words = "The CG lies behind the neutral point: it cannot be flown by hand. Move it forward."
    else:
        state = {
            "below": "twitchy in pitch", "within": "as sport models like it",
            "above": "very steady in pitch, and slow to answer",
        }[readings["static_margin"].verdict or "within"]
        words = f"The CG lies {100 * margin:.0f} % of the mean chord ahead of the neutral point: {state}."
    trim, load = readings.value("trim_incidence_deg"), readings.value("tail_load_g")
    if trim is not None and load is not None:
        way = "down" if load < 0 else "up"
        words += (
            f" In level flight at {_speed(design)} the tailplane trims at "
            f"{format_angle(trim)} and carries {format_mass(abs(load), design.display_units)} {way}."
        )
    return words


def _speed(design: Design) -> str:
    return format_speed(design.flight.speed_m_s, design.display_units)


def _weight(design: Design, readings: Readings) -> str:
    mass, area = readings.value("mass"), readings.value("wing_area")
    if mass is None or area is None:
        return ""
    loading = wing_loading(mass, area)
    if isinstance(loading, str):
        return ""
    words = f"Wing loading {format_loading(loading, design.display_units)}"
    balance = weighed(design)
    if not isinstance(balance, str) and design.cg_mark is not None:
        apart = balance.x - design.cg_mark.x
        side = "behind" if apart > 0 else "ahead of"
        length = format_length(abs(apart), design.display_units)
        words += f". The weights balance {length} {side} the mark"
    return words + "."
