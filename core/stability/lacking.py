"""What a group of readings still lacks, in the order of work: read off the design, not off its reasons.

A reading names one reason, the first that its computation meets; a builder wants to know all that is
still to be entered before the figure comes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from core.design import Design
from core.kinds import RUDDERS
from core.stability.body import bodies
from core.stability.catalogue import Group, NeedKey
from core.stability.fin import NO_TAIL, no_tail
from core.stability.readings import Readings
from core.stability.side_area import form_of
from core.stability.volumes import mass_of
from core.stability.wording import instead


@dataclass(frozen=True)
class Need:
    """Something to enter: what it is called, and whether it is there."""

    words: str
    is_there: Callable[[Design, Readings], bool]


NEEDS: Mapping[NeedKey, Need] = {
    "scale": Need("the scale of the scan", lambda d, r: r.scale_known),
    "outline": Need("an outline", lambda d, r: r.cla is not None or r.untold is not None),
    "body": Need("the fuselage", lambda d, r: bool(bodies(d))),
    "fuselage": Need("the fuselage", lambda d, r: any(b.main for b in bodies(d))),
    "fin": Need("a fin or rudder", lambda d, r: no_tail(d) != NO_TAIL),
    "rudder": Need("a rudder", lambda d, r: _has_rudder(d)),
    "wing": Need("a wing", lambda d, r: bool(d.wings)),
    "tailplane": Need("a tailplane", lambda d, r: bool(d.tailplanes)),
    "cg": Need("the CG", lambda d, r: r.cg is not None),
    "width": Need("the fuselage width", lambda d, r: d.fuselage_width is not None),
    "weights": Need("the weights", lambda d, r: not isinstance(mass_of(d), str)),
    "propeller": Need(
        "the propeller", lambda d, r: d.flight.propeller is not None or "propeller" in d.left_out
    ),
    "speed": Need("a flight speed above zero", lambda d, r: d.flight.speed_m_s > 0.0),
    "density": Need("an air density above zero", lambda d, r: d.flight.air_density_kg_m3 > 0.0),
    "throw": Need("a rudder throw above zero", lambda d, r: d.flight.rudder_throw_deg > 0.0),
}
"""In the order of work: what is traced, what is typed in tables, what is typed in fields."""


def _has_rudder(design: Design) -> bool:
    return any(o.kind in RUDDERS and form_of(o).patch.moments.area > 0.0 for o in design.outlines)


def lacking(needs: Iterable[NeedKey], design: Design, readings: Readings) -> tuple[str, ...]:
    """Those of ``needs`` that are not there yet, in words, in the order of work."""
    # Where the weights make the CG, they are what is to be entered.
    asked = {"weights" if key == "cg" and design.cg_from == "weights" else key for key in needs}
    return tuple(
        need.words for key, need in NEEDS.items() if key in asked and not need.is_there(design, readings)
    )


def needs_words(group: Group, design: Design, readings: Readings) -> str:
    """What a group tells and lacks for it; of one that tells it already, what its empty rows lack."""
    first = readings[group.readings[0]]
    if first.value is not None or instead(first):
        more = lacking(group.rows_need, design, readings)
        return f"The empty rows need {_listed(more)}." if more else ""
    # Where the areas cannot be told, no outline is looked at for what it is good for.
    missing = lacking(group.needs, design, readings) if readings.untold is None else ()
    # Where all is entered, something about it is wrong: the reading says what.
    then = f"Needs {_listed(missing)}." if missing else f"Not given: {first.missing}."
    return f"Tells {group.tells}. {then}"


def _listed(words: tuple[str, ...]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
