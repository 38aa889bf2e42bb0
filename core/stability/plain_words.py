"""What the grouped readings mean, in a sentence each that a builder could read aloud."""

from __future__ import annotations

from core.design import Design, DisplayUnits
from core.stability.ballast import weighed, wing_loading
from core.stability.lateral.rudder import authority_words
from core.stability.ranges import EASILY_HELD, STABLE
from core.stability.readings import Readings
from core.units import format_angle, format_length, format_mass, format_number


def group_words(group: str, design: Design, readings: Readings) -> str:
    """The sentences of a group of ``catalogue.GROUPS``; empty where there is nothing to say yet."""
    say = {
        "yaw": _yaw, "rudder": _rudder, "spiral": _spiral, "pitch": _pitch, "weight": _weight,
    }.get(group)
    return say(design, readings) if say else ""


def _yaw(design: Design, readings: Readings) -> str:
    whole, low, high = (readings.value(key) for key in ("cn_beta", "cn_beta_low", "cn_beta_high"))
    if whole is None or low is None or high is None:
        return ""
    verdict = readings["cn_beta"].verdict
    if whole <= 0.0:
        head = "It is more likely than not unstable in yaw"
    elif low < 0.0:
        head = "It may hold its heading, and may as well not"
    else:
        head = {
            "below": "It holds its heading weakly",
            "within": "It holds its heading well enough",
            "above": "It holds its heading very firmly",
        }[verdict or "within"]
    words = (
        f"{head}: Cnβ {format_number(whole, 3)}, between {format_number(low, 3)} and "
        f"{format_number(high, 3)} by methods that differ that much."
    )
    neutral, cla, cg = readings.value("yaw_neutral_x"), readings.value("cla_x"), readings.value("cg_x")
    if neutral is not None and cla is not None and cg is not None:
        units = design.display_units
        words += (
            f" The air at small slips acts {_behind(neutral - cg, units)} (yaw neutral point), the side area "
            f"balances {_behind(cla - cg, units)} (CLA): the one is aerodynamics, where the nose pulls "
            "forward and the fin counts for more than its area; the other is a centroid."
        )
    return words


def _behind(mm: float, units: DisplayUnits) -> str:
    length = format_length(abs(mm), units)
    return f"{length} {'behind' if mm >= 0 else 'ahead of'} the CG"


def _rudder(design: Design, readings: Readings) -> str:
    slip = readings.value("sideslip_full_rudder_deg")
    if slip is None:
        return ""
    throw = format_angle(design.flight.rudder_throw_deg, places=0)
    words = f"Full rudder ({throw}) will hold a sideslip of {format_angle(slip, places=0)}"
    more = authority_words(slip, readings.value("cn_beta") or 0.0)
    return f"{words}: {more}." if more else f"{words}."


def _spiral(design: Design, readings: Readings) -> str:
    b = readings.value("spiral_parameter")
    if b is None:
        return ""
    if b > STABLE:
        return "Left alone in a bank it comes upright by itself."
    if b >= EASILY_HELD:
        return "Left alone in a bank it tightens slowly, and is easily held."
    # Less fin would slow it too, which is never said: it may be what the answer asks more of.
    return "Left alone in a bank it winds into a spiral: more dihedral would slow that."


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
            f" In level flight at {design.flight.speed_m_s:g} m/s the tailplane trims at "
            f"{format_angle(trim)} and carries {format_mass(abs(load), design.display_units)} {way}."
        )
    return words


def _weight(design: Design, readings: Readings) -> str:
    mass, area = readings.value("mass"), readings.value("wing_area")
    if mass is None or area is None:
        return ""
    loading = wing_loading(mass, area)
    if isinstance(loading, str):
        return ""
    words = f"Wing loading {format_number(loading, 1)} g/dm²"
    if design.display_units != "mm":
        # 1 g/dm² in ounces per square foot, both exact by definition of pound and foot.
        words = f"Wing loading {format_number(loading * 9.290304 / 28.349523125, 1)} oz/sq ft"
    balance = weighed(design)
    if not isinstance(balance, str) and design.cg_mark is not None:
        apart = balance.x - design.cg_mark.x
        side = "behind" if apart > 0 else "ahead of"
        length = format_length(abs(apart), design.display_units)
        words += f". The weights balance {length} {side} the mark"
    return words + "."
