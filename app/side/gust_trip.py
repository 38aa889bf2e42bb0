"""One aeroplane flown: the design on view, or a kept state of it."""

from __future__ import annotations

from dataclasses import dataclass

from app.side.gust_plots import Line
from app.side.plan_form import PlanForm, plan_form
from core.stability.aeroplane import Values
from core.stability.catalogue import GROUPS, NeedKey
from core.stability.lacking import lacking
from core.stability.lateral.gust import Flown, Kick, after_a_gust, gust_values
from core.stability.readings import NO_SCALE, Readings

_NEEDS = next(group.needs for group in GROUPS if group.key == "gust")
NEEDS: dict[Kick, tuple[NeedKey, ...]] = {"gust": _NEEDS, "rudder": (*_NEEDS, "rudder", "throw")}
_LONGEST = 22


@dataclass(frozen=True, eq=False)
class Trip:
    """Its motion or why there is none, what it looks like from above, its figures."""

    name: str
    flown: Flown | str
    form: PlanForm | None
    """None where there is no CG to turn it about."""
    values: Values


def fly(name: str, readings: Readings, kick: Kick) -> Trip:
    """What the design of ``readings`` does after ``kick``."""
    a = readings.aeroplane
    form = None if a.cg is None else plan_form(a.design, a.cg)
    why = readings.untold if readings.scale_known else NO_SCALE
    if why is not None:
        return Trip(name, why, form, {})
    flown, values = after_a_gust(a, kick), gust_values(a)
    if isinstance(flown, str):
        # It is said once.
        values = {key: value for key, value in values.items() if not isinstance(value, str)}
    return Trip(name, flown, form, values)


def line_of(trip: Trip | None, key: str) -> Line | None:
    """What a plot shows of a trip: its "heading", "sideslip" or "bank"; None where there is nothing."""
    if trip is None or isinstance(trip.flown, str):
        return None
    return Line(trip.flown.seconds, getattr(trip.flown, key), trip.name)


def needs_words(kick: Kick, readings: Readings) -> str:
    """All that is still to be entered, where it is more than the one reason says."""
    lacks = lacking(NEEDS[kick], readings.aeroplane.design, readings)
    return f"In all it needs {', '.join(lacks[:-1])} and {lacks[-1]}." if len(lacks) > 1 else ""


def short(name: str) -> str:
    """A name that fits beside a line."""
    return name if len(name) <= _LONGEST else f"{name[:_LONGEST - 1].rstrip()}…"
