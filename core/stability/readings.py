"""All readings of a design, in one table: what it computes, in which unit, from what, how good."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

import msgspec

from core.design import Design, Mark
from core.geometry.overlay import OverlayError
from core.geometry.stopping import may_stop
from core.parts.built import all_built
from core.parts.said import told
from core.stability.aeroplane import Aeroplane, Values
from core.stability.balance import cg_of, surfaces_weigh
from core.stability.catalogue import TERMS, Source, Spec
from core.stability.fin import no_tail, quarter_chord_x
from core.stability.in_place import in_place_of
from core.stability.lateral.gust import GUST_KEYS, gust_values
from core.stability.lateral.rudder import rudder_values
from core.stability.lateral.slip_range import REVERSALS, slip_values
from core.stability.lateral.spiral import spiral_values
from core.stability.lateral.yaw import carried, yaw_values, yaw_warnings
from core.stability.photographs import HOW_TO_STRAIGHTEN
from core.stability.pitch import pitch_values
from core.stability.ranges import LOOSE_CN_BETA
from core.stability.recount import recount
from core.stability.side_area import NO_SIDE_AREA, SideArea, SideAreaCounter, form_of
from core.stability.uncertainty import NO_FRACTION, Errors, cla_fraction_errors
from core.stability.volumes import volume_values

Verdict = Literal["below", "within", "above"]

NO_SCALE = "set the scale of the scan: two points and the true distance between them"
NO_OUTLINE = "trace an outline"
ERRORS = (
    "cla_fraction_error", "cla_fraction_error_cg", "cla_fraction_error_tracing",
    "cla_fraction_error_surfaces", "cla_fraction_error_photograph",
)
"""Of the CLA fraction, and like it known without a scale where the lengths they are made from are."""


@dataclass(frozen=True)
class Reading:
    """One computed figure. ``value`` is None exactly when ``missing`` says why."""

    spec: Spec
    value: float | None = None
    verdict: Verdict | None = None
    missing: str | None = None

    @property
    def key(self) -> str:
        """The name of the reading in files and on the command line."""
        return self.spec.key

    @property
    def label(self) -> str:
        """What a person calls it."""
        return self.spec.label

    @property
    def unit(self) -> str:
        """mm, mm2, g, deg, 1/rad, or 1 for a plain ratio."""
        return self.spec.unit

    @property
    def formula(self) -> str:
        """How it is computed, in words and symbols."""
        return self.spec.formula

    @property
    def source(self) -> Source:
        """What stands behind it."""
        return self.spec.source


@dataclass(frozen=True, eq=False)
class Readings:
    """The table of readings, the counted side area they came from, and the warnings."""

    table: Mapping[str, Reading]
    side: SideArea
    cg: Mark | None
    cla: tuple[float, float] | None
    fin_centre: tuple[float, float] | None
    scale_known: bool
    warnings: tuple[str, ...]
    aeroplane: Aeroplane
    """What further readings, curves and sheets are computed from."""
    untold: str | None = None
    """Why the areas cannot be told, as a clause; every reading that depends on them is missing then."""

    def withheld(self, why: str) -> Readings:
        """The same without what depends on areas, ``why`` saying so in its place."""
        design = self.aeroplane.design
        balanced = design.cg_from == "mark" or not surfaces_weigh(design)
        told = OF_SURFACES | (OF_BALANCE if balanced else frozenset())
        told |= frozenset() if surfaces_weigh(design) else OF_WEIGHTS
        table = {
            key: reading if key in told else Reading(reading.spec, missing=why)
            for key, reading in self.table.items()
        }
        cg, no_cg = (self.cg, self.aeroplane.no_cg) if balanced else (None, why)
        bare = replace(self.aeroplane, side=NO_SIDE_AREA, fin_centre=None, cg=cg, no_cg=no_cg)
        warnings = (*self.warnings, why[:1].upper() + why[1:])
        return replace(
            self, table=table, side=NO_SIDE_AREA, cg=cg, cla=None, fin_centre=None, aeroplane=bare,
            warnings=warnings, untold=why,
        )

    def __getitem__(self, key: str) -> Reading:
        return self.table[key]

    def value(self, key: str) -> float | None:
        """The figure of that key, None where it is missing."""
        return self.table[key].value


SPECS: Mapping[str, Spec] = TERMS
OF_SURFACES = frozenset({
    "wing_area", "wing_span", "aspect_ratio", "mac", "mac_le_x", "dihedral_deg", "tailplane_area",
    "tailplane_volume",
})
"""Keys of the readings that no outline goes into."""
OF_WEIGHTS = frozenset({"cg_x", "cg_z", "mass", "lift_coefficient"})
"""Those that outlines go into only where surfaces weigh."""
OF_BALANCE = frozenset({"cg_x", "cg_z"})
"""Those of them that a CG marked by hand gives by itself."""


def unread(design: Design, why: str) -> Readings:
    """Readings of ``design`` where nothing could be worked out: all missing, for the reason ``why``."""
    return Readings(
        {key: Reading(spec, missing=why) for key, spec in SPECS.items()}, NO_SIDE_AREA, None, None, None,
        scale_known(design), (why[:1].upper() + why[1:],), Aeroplane(design, NO_SIDE_AREA, None, why, None),
        why,
    )


def recounted(readings: Readings, design: Design, stop: Callable[[], None] = lambda: None) -> str | None:
    """Why the areas of ``readings`` cannot be told, by a second count of ``design``; None where they can.

    For use beside the window: it takes longer than all the rest. ``stop`` is called now and then and
    may raise.
    """
    return recount(design, stop).disagreement(readings.side, design.display_units)


def read_twice(design: Design) -> Readings:
    """The readings of ``design``, withheld where the second count of its areas does not agree."""
    readings = ReadingsEngine().read(design)
    if readings.untold is None:
        why = recounted(readings, design)
        if why is not None:
            return readings.withheld(why)
    return readings


class ReadingsEngine:
    """Computes readings of designs one after another, keeping what they share."""

    def __init__(self) -> None:
        self._counter = SideAreaCounter()
        self._slow: Values = {}
        self._whole: Aeroplane | None = None
        self._carry: float | None = None

    def read(self, design: Design, *, quick: bool = False) -> Readings:
        """The readings of ``design``.

        ``quick`` is for previews under a moving hand: the error band and what comes after a gust stand
        as they were at the last whole reading, the tail's lattice is laid half as fine and carried on
        from there.
        """
        try:
            return self._read(design, self._counter.count(design), quick)
        except OverlayError as error:
            found = self.without_areas(design, str(error))
            return replace(found, warnings=(*_warnings(design), *found.warnings[-1:]))

    def without_areas(self, design: Design, why: str) -> Readings:
        """The readings of ``design`` that no outline goes into, ``why`` standing in place of all others.

        No outline is looked at, and nothing is warned of one.
        """
        self._slow = {}
        bare = self._read(msgspec.structs.replace(design, outlines=(), builds=()), NO_SIDE_AREA, False)
        return replace(bare, aeroplane=replace(bare.aeroplane, design=design)).withheld(why)

    def _read(self, design: Design, side: SideArea, quick: bool) -> Readings:
        cg, no_cg = cg_of(design)
        known = scale_known(design)
        cla = side.cla
        fin = _fin_centre(design, side)
        values: Values = {}
        bare = no_tail(design)
        _put(values, ("cla_x", "cla_z"), cla, NO_OUTLINE)
        _put(values, ("cg_x", "cg_z"), (cg.x, cg.z) if cg else None, no_cg)
        _put(values, ("fin_centre_x", "fin_centre_z"), fin, bare)
        values["side_area"] = side.moments.area if cla else NO_OUTLINE
        values["fin_area"] = side.tail_moments.area if fin else bare
        values["tail_arm"] = fin[0] - cg.x if fin and cg else (no_cg or bare)
        values["cla_aft_of_cg"] = cla[0] - cg.x if cla and cg else (no_cg or NO_OUTLINE)
        values["cla_above_cg"] = cla[1] - cg.z if cla and cg else (no_cg or NO_OUTLINE)
        values["cla_fraction"] = _fraction(cla, cg, fin, no_cg, bare)
        aeroplane = Aeroplane(design, side, cg, no_cg, fin, quick, self._carried() if quick else 1.0)
        if not quick:
            self._whole, self._carry = aeroplane, None
        for part in (volume_values, yaw_values, rudder_values, spiral_values, pitch_values):
            values.update(part(aeroplane))
        self._add_slow(values, aeroplane, quick)
        firm = values["cn_beta"]
        loose = isinstance(firm, float) and firm < LOOSE_CN_BETA
        table = {key: _reading(key, values[key], design, known, loose) for key in SPECS}
        warnings = _warnings(design)
        if design.wings:
            warnings += yaw_warnings(aeroplane)
        return Readings(table, side, cg, cla, fin, known, tuple(warnings), aeroplane)

    def _add_slow(self, values: Values, aeroplane: Aeroplane, quick: bool) -> None:
        """The error band, the reversal and what comes after a gust: in a drag, those of the last whole
        reading stand.
        """
        if not quick or not self._slow:
            self._slow = {
                **slip_values(aeroplane), **gust_values(aeroplane),
                **_error_values(cla_fraction_errors(aeroplane)),
            }
        values.update(self._slow)
        firm = values["cn_beta"]
        if quick and isinstance(firm, str):
            # What stood at the last whole reading is of an aeroplane that is no longer there.
            values.update(dict.fromkeys((*REVERSALS, *GUST_KEYS), firm))
        if isinstance(values["cla_fraction"], str):
            values.update(_error_values(NO_FRACTION))

    def _carried(self) -> float:
        """What the coarse lattice is multiplied by while a hand drags; found once a drag."""
        if self._carry is None:
            self._carry = 1.0 if self._whole is None else carried(self._whole)
        return self._carry

    def counted_areas(self, design: Design) -> dict[str, float]:
        """By outline id, the area in mm² that it adds to the side area; empty where that cannot be told."""
        try:
            return self._counter.counted_areas(design)
        except OverlayError:
            return {}


def _error_values(errors: Errors | str) -> Values:
    if isinstance(errors, str):
        return dict.fromkeys(ERRORS, errors)
    parts = (errors.whole, errors.cg, errors.tracing, errors.surfaces, errors.photograph)
    return dict(zip(ERRORS, parts, strict=True))


def _put(
    values: dict[str, float | str], keys: tuple[str, str], pair: tuple[float, float] | None, why: str
) -> None:
    for i, key in enumerate(keys):
        values[key] = pair[i] if pair else why


def _fin_centre(design: Design, side: SideArea) -> tuple[float, float] | None:
    centre = side.tail_moments.centroid()
    if centre is not None and design.aim.fin_centre == "quarter_chord":
        quarter = quarter_chord_x(side)
        if quarter is not None:
            return quarter, centre[1]
    return centre


def _fraction(
    cla: tuple[float, float] | None, cg: Mark | None, fin: tuple[float, float] | None,
    no_cg: str, bare: str,
) -> float | str:
    if cla is None:
        return NO_OUTLINE
    if fin is None:
        return bare
    if cg is None:
        return no_cg
    arm = fin[0] - cg.x
    if arm <= 1e-9:
        return "the fin centre does not lie behind the CG: check the CG mark; the nose belongs on the left"
    fraction = (cla[0] - cg.x) / arm
    return fraction if math.isfinite(fraction) else "the tail arm is too short to measure by"


def _reading(key: str, value: float | str, design: Design, known: bool, loose: bool) -> Reading:
    spec = SPECS[key]
    if isinstance(value, str):
        # What is an answer rests on lengths as a figure does.
        answered = not known and in_place_of(value)
        found: float | None = None
        missing: str | None = NO_SCALE if answered else value
    elif not known and key != "cla_fraction":
        found, missing = None, NO_SCALE
    elif not math.isfinite(value):
        found, missing = None, "a number in the design is out of reach"
    else:
        found, missing = value, None
    verdict: Verdict | None = None
    if found is not None:
        verdict = _verdict(spec, found, design, loose)
    return Reading(spec, found, verdict, missing)


def _verdict(spec: Spec, value: float, design: Design, loose: bool) -> Verdict | None:
    if spec.key == "cla_fraction":
        return verdict_of(value, design.aim.low, design.aim.high)
    if spec.low is None and spec.high is None:
        return None
    if spec.key == "sideslip_full_rudder_deg" and not loose:
        # Much sideslip is a fault only where little holds the heading.
        return verdict_of(value, spec.low or 0.0, math.inf)
    low = spec.low if spec.low is not None else -math.inf
    return verdict_of(value, low, spec.high if spec.high is not None else math.inf)


def verdict_of(value: float, low: float, high: float) -> Verdict:
    """Where ``value`` lies against a range, its limits included."""
    if value < low:
        return "below"
    return "above" if value > high else "within"


def scale_known(design: Design) -> bool:
    """Whether lengths mean millimetres: false while a scan that is in use has no scale."""
    return not any(scan.scale_from == "none" for scan in design.scans)


def outline_faults(design: Design) -> list[str]:
    """Outlines that have no area to speak of or cross themselves, a sentence each: place, fault, remedy."""
    found = []
    for i, outline in enumerate(design.outlines):
        may_stop()
        where = f'outlines[{i}] "{outline.name}"'
        form = form_of(outline)
        if (fault := form.fault) is not None:
            found.append(f"{where}: {fault}")
        elif form.crossings:
            x, z = form.crossings[0]
            found.append(
                f"{where}: crosses itself near x {x:.1f} mm, z {z:.1f} mm; it is counted as a filled "
                "drawing would show it: move a node to untangle it"
            )
    return found


def _warnings(design: Design) -> list[str]:
    found = outline_faults(design)
    for i, scan in enumerate(design.scans):
        if scan.photograph:
            found.append(
                f'scans[{i}] "{scan.file}": looks like a photograph, and measured as it lies it is out of '
                f"true; {HOW_TO_STRAIGHTEN}"
            )
        if scan.scale_from == "none":
            found.append(f'scans[{i}] "{scan.file}": has no scale yet; {NO_SCALE}')
        elif scan.scale_from == "dpi":
            found.append(
                f'scans[{i}] "{scan.file}": placed by its own dpi, taking the plan to be drawn full size; '
                "check it against a dimension on the plan"
            )
    for i, made in enumerate(all_built(design)):
        if not made.grams:
            why = told(made.faults[0], design.display_units) if made.faults else "nothing can be made"
            name = made.build.label or ", ".join(made.build.of)
            found.append(
                f'builds[{i}] "{name}": {why.rstrip(".")}; until that is mended it weighs by its area, '
                "or nothing"
            )
    return found
