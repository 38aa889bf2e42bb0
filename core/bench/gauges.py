"""Gauges to print on card and cut out: which a design has, what each is marked with, and how it is used.

Every gauge is of the design's own measures: an incidence gauge as long as a root chord, a throw gauge
with the radius of a control surface's chord. The card's shapes are in ``gauge_shapes``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from core.bench.gauge_shapes import SLOT, Gauge, incidence_gauge, throw_gauge
from core.bench.linkage import Throw, throw_of
from core.bench.setting_up import root_rise
from core.bench.throws import ELEVATOR_DEG, EdgeThrow, elevator_throws, rudder_throws
from core.design import Design, DisplayUnits, LeftOut, Tailplane, Wing
from core.design_bench import Linkage
from core.kinds import RUDDERS
from core.stability.readings import NO_SCALE, scale_known
from core.units import MM_PER_IN, format_angle, format_fine

LEAST_CHORD, MOST_CHORD = 8.0, 1500.0
"""mm: on a shorter chord a degree is not seen, a longer one takes more card than it is worth."""
_LONGEST = 80
"""Letters of a name."""
MOST_INCIDENCE, MOST_THROW = 40.0, 60.0


def gauges_of(design: Design) -> tuple[tuple[Gauge, ...], tuple[str, ...]]:
    """The gauges of ``design``, and a sentence for each that cannot be made: what, and what to do."""
    gauges: list[Gauge] = []
    missing: list[str] = []
    for found in (*_incidences(design), *_rudders(design), *_elevators(design), *_ailerons(design)):
        if isinstance(found, Gauge):
            gauges.append(found)
        else:
            missing.append(found)
    return tuple(gauges), tuple(missing)


def _incidences(design: Design) -> Iterator[Gauge | str]:
    surfaces: dict[LeftOut, tuple[Wing | Tailplane, ...]] = {
        "wing": design.wings, "tailplane": design.tailplanes,
    }
    for kind, known in surfaces.items():
        if not known and kind not in design.left_out:
            yield f"no incidence gauge for the {kind}: enter the {kind}"
        for surface in known:
            yield _incidence(surface, design.display_units)


def _incidence(surface: Wing | Tailplane, units: DisplayUnits) -> Gauge | str:
    name = surface.name[:_LONGEST]
    rise = root_rise(surface)
    if isinstance(rise, str):
        return f"no incidence gauge for {name}: {rise}"
    fault = _chord_fault(rise.chord, units)
    if fault:
        return f"no incidence gauge for {name}: {fault}"
    degrees = rise.incidence_deg
    if abs(degrees) > MOST_INCIDENCE:
        return f"no incidence gauge for {name}: it goes as far as {MOST_INCIDENCE:g}°, found {degrees:g}°"
    # The foot lies on the edge, half its thickness above the chord line.
    thick, words = (1.0, "millimetre") if units == "mm" else (MM_PER_IN / 32, "1/32 in")
    lower = format_angle(math.degrees(math.asin(0.5 * thick / rise.chord)), places=2)
    section = surface.section
    return incidence_gauge(
        name, rise.chord, degrees,
        thickness=section.thickness, camber=section.camber,
        figures=(f"root chord {format_fine(rise.chord, units)}",
                 f"the design: {format_angle(degrees, signed=True)}"),
        told=(
            f"{name}: each {words} of thickness at the trailing edge makes it read {lower} too little"
        ),
    )


def _rudders(design: Design) -> Iterator[Gauge | str]:
    if "rudder" in design.left_out:
        return
    if not scale_known(design):
        yield f"no throw gauge for the rudder: {NO_SCALE}"
        return
    ids = [outline.id for outline in design.outlines if outline.kind in RUDDERS] or [""]
    for outline_id, throw in zip(ids, rudder_throws(design), strict=True):
        if isinstance(throw, str):
            yield f"no throw gauge for the rudder: {throw}"
        else:
            yield _throw(throw, "the design", design, _thickness(design, outline_id, 0.5))


def _elevators(design: Design) -> Iterator[Gauge | str]:
    if not design.tailplanes and "tailplane" not in design.left_out:
        yield "no throw gauge for the elevator: enter the tailplane"
    linked = [_linked(linkage) for linkage in design.bench.linkages if linkage.moves == "elevator"]
    known = next((throw for throw in linked if throw is not None), None)
    degrees, whence = (known.least, "its linkage") if known else (ELEVATOR_DEG, "common practice")
    for tailplane in design.tailplanes:
        throws = elevator_throws(tailplane, degrees)
        if isinstance(throws, str):
            yield f"no throw gauge for the elevator of {tailplane.name[:_LONGEST]}: {throws}"
        else:
            ends = (0.0, 1.0) if len(throws) == 2 else (0.5,)
            for throw, along in zip(throws, ends, strict=True):
                yield _throw(throw, whence, design, _thickness(design, tailplane.id, along))


def _ailerons(design: Design) -> Iterator[Gauge | str]:
    """Of ailerons the design knows what was entered for their linkage alone."""
    for linkage in design.bench.linkages:
        throw = _linked(linkage) if linkage.moves == "aileron" else None
        if throw is not None:
            chord, degrees = throw.surface_chord, throw.least
            edge = EdgeThrow(linkage.name, "as entered", chord, degrees, throw.at_edge(degrees))
            yield _throw(edge, "its linkage", design, None)


def _linked(linkage: Linkage) -> Throw | None:
    found = throw_of(linkage)
    return found if isinstance(found, Throw) else None


def _thickness(design: Design, surface: str, along: float) -> float | None:
    """mm that a surface's build is thick, at that part of the way from root to tip; None: not known."""
    for build in design.builds:
        if surface in build.of:
            return build.thickness.root + along * (build.thickness.tip - build.thickness.root)
    return None


def _throw(throw: EdgeThrow, whence: str, design: Design, thick: float | None) -> Gauge | str:
    units, name = design.display_units, throw.name[:_LONGEST]
    fault = _chord_fault(throw.chord, units)
    if not fault and throw.degrees > MOST_THROW:
        fault = f"it goes as far as {MOST_THROW:g}°, found {throw.degrees:g}°"
    if fault:
        return f"no throw gauge for {name}, {throw.where}: {fault}"
    known = thick is not None and SLOT < thick <= throw.chord
    slot = thick if thick is not None and known else SLOT
    set_to = f"{format_angle(throw.degrees)}, {format_fine(throw.distance, units)}"
    return throw_gauge(
        name, throw.chord, throw.degrees, units=units,
        figures=(f"chord {format_fine(throw.chord, units)} {throw.where}", f"{whence}: {set_to}"),
        slot=slot,
    )


def _chord_fault(chord: float, units: DisplayUnits) -> str:
    if LEAST_CHORD <= chord <= MOST_CHORD:
        return ""
    low, high = format_fine(LEAST_CHORD, units), format_fine(MOST_CHORD, units)
    return f"gauges are for chords from {low} to {high}, found {format_fine(chord, units)}; use a rule"
