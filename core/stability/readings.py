"""All readings of a design, in one table: what it computes, in which unit, from what, how good."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from core.design import VERTICAL_TAIL, Design, Mark
from core.stability.balance import cg_of
from core.stability.fin import quarter_chord_x
from core.stability.side_area import SideArea, SideAreaCounter, form_of

Verdict = Literal["below", "within", "above"]
Source = Literal["exact geometry", "common practice, no source"]

NO_SCALE = "set the scale of the scan: two points and the true distance between them"
NO_TAIL = "trace the fin or the rudder"
COVERED_TAIL = "the fin and rudder are wholly covered by other outlines: check their kind and place"
NO_OUTLINE = "trace an outline"


@dataclass(frozen=True)
class Reading:
    """One computed figure. ``value`` is None exactly when ``missing`` says why."""

    key: str
    label: str
    unit: str
    formula: str
    source: Source
    value: float | None = None
    verdict: Verdict | None = None
    missing: str | None = None


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

    def __getitem__(self, key: str) -> Reading:
        return self.table[key]

    def value(self, key: str) -> float | None:
        """The figure of that key, None where it is missing."""
        return self.table[key].value


_FRACTION = "(x of the CLA − x of the CG) / (x of the fin centre − x of the CG)"
_SPECS: tuple[tuple[str, str, str, str, Source], ...] = (
    ("cla_fraction", "CLA fraction", "1", _FRACTION, "common practice, no source"),
    ("side_area", "Side area", "mm2", "silhouette + Σ count × region + 2 × each wing and tailplane in view",
     "exact geometry"),
    ("cla_x", "CLA station", "mm", "Σ count × ∫x dA / side area", "exact geometry"),
    ("cla_z", "CLA height", "mm", "Σ count × ∫z dA / side area", "exact geometry"),
    ("cg_x", "CG station", "mm", "the mark, or Σ m x / Σ m", "exact geometry"),
    ("cg_z", "CG height", "mm", "the mark, or Σ m z / Σ m", "exact geometry"),
    ("fin_centre_x", "Fin centre station", "mm",
     "centroid of the exposed fin and rudder, or the quarter chord of its MAC", "exact geometry"),
    ("fin_centre_z", "Fin centre height", "mm", "centroid of the exposed fin and rudder", "exact geometry"),
    ("tail_arm", "Tail arm", "mm", "x of the fin centre − x of the CG", "exact geometry"),
    ("cla_aft_of_cg", "CLA aft of the CG", "mm", "x of the CLA − x of the CG", "exact geometry"),
    ("cla_above_cg", "CLA above the CG", "mm", "z of the CLA − z of the CG", "exact geometry"),
    ("fin_area", "Fin area", "mm2", "exposed fin and rudder, × count", "exact geometry"),
)
SPECS: Mapping[str, Reading] = {
    key: Reading(key, label, unit, formula, source) for key, label, unit, formula, source in _SPECS
}


class ReadingsEngine:
    """Computes readings of designs one after another, keeping what they share."""

    def __init__(self) -> None:
        self._counter = SideAreaCounter()

    def read(self, design: Design) -> Readings:
        """The readings of ``design``."""
        side = self._counter.count(design)
        cg, no_cg = cg_of(design)
        known = scale_known(design)
        cla = side.cla
        fin = _fin_centre(design, side)
        values: dict[str, float | str] = {}
        traced = any(o.kind in VERTICAL_TAIL and form_of(o).patch.moments.area > 0 for o in design.outlines)
        no_tail = COVERED_TAIL if traced else NO_TAIL
        _put(values, ("cla_x", "cla_z"), cla, NO_OUTLINE)
        _put(values, ("cg_x", "cg_z"), (cg.x, cg.z) if cg else None, no_cg)
        _put(values, ("fin_centre_x", "fin_centre_z"), fin, no_tail)
        values["side_area"] = side.moments.area if cla else NO_OUTLINE
        values["fin_area"] = side.tail_moments.area if fin else no_tail
        values["tail_arm"] = fin[0] - cg.x if fin and cg else (no_cg or no_tail)
        values["cla_aft_of_cg"] = cla[0] - cg.x if cla and cg else (no_cg or NO_OUTLINE)
        values["cla_above_cg"] = cla[1] - cg.z if cla and cg else (no_cg or NO_OUTLINE)
        values["cla_fraction"] = _fraction(cla, cg, fin, no_cg, no_tail)
        table = {key: _reading(key, values[key], design, known) for key in SPECS}
        return Readings(table, side, cg, cla, fin, known, tuple(_warnings(design, known)))

    def counted_areas(self, design: Design) -> dict[str, float]:
        """By outline id, the area in mm² that it adds to the side area."""
        return self._counter.counted_areas(design)


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
    no_cg: str, no_tail: str,
) -> float | str:
    if cla is None:
        return NO_OUTLINE
    if fin is None:
        return no_tail
    if cg is None:
        return no_cg
    arm = fin[0] - cg.x
    if arm <= 1e-9:
        return "the fin centre does not lie behind the CG: check the CG mark; the nose belongs on the left"
    fraction = (cla[0] - cg.x) / arm
    return fraction if math.isfinite(fraction) else "the tail arm is too short to measure by"


def _reading(key: str, value: float | str, design: Design, known: bool) -> Reading:
    spec = SPECS[key]
    if isinstance(value, str):
        found: float | None = None
        missing: str | None = value
    elif not known and spec.unit in ("mm", "mm2"):
        found, missing = None, NO_SCALE
    elif not math.isfinite(value):
        found, missing = None, "a number in the design is out of reach"
    else:
        found, missing = value, None
    verdict: Verdict | None = None
    if key == "cla_fraction" and found is not None:
        verdict = verdict_of(found, design.aim.low, design.aim.high)
    return Reading(key, spec.label, spec.unit, spec.formula, spec.source, found, verdict, missing)


def verdict_of(value: float, low: float, high: float) -> Verdict:
    """Where ``value`` lies against a range, its limits included."""
    if value < low:
        return "below"
    return "above" if value > high else "within"


def scale_known(design: Design) -> bool:
    """Whether lengths mean millimetres: false while a scan that is in use has no scale."""
    return not any(scan.scale_from == "none" for scan in design.scans)


def _warnings(design: Design, known: bool) -> list[str]:
    found = []
    for i, outline in enumerate(design.outlines):
        where = f'outlines[{i}] "{outline.name}"'
        form = form_of(outline)
        if not form.patch.moments.area > 1e-9:
            found.append(f"{where}: has no area and counts nothing; trace it again or delete it")
        elif form.crossings:
            x, z = form.crossings[0]
            found.append(
                f"{where}: crosses itself near x {x:.1f} mm, z {z:.1f} mm; it is counted as a filled "
                "drawing would show it: move a node to untangle it"
            )
    for i, scan in enumerate(design.scans):
        if scan.scale_from == "none":
            found.append(f'scans[{i}] "{scan.file}": has no scale yet; {NO_SCALE}')
        elif scan.scale_from == "dpi":
            found.append(
                f'scans[{i}] "{scan.file}": placed by its own dpi, taking the plan to be drawn full size; '
                "check it against a dimension on the plan"
            )
    return found
