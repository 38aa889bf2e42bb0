"""What is wrong with a design's values: one sentence each, naming place, value and remedy."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator
from pathlib import PurePosixPath

from core.design import (
    FORMAT,
    LIMIT,
    MOST_COUNT,
    Alternative,
    Bench,
    Design,
    Outline,
    Scan,
    Section,
    Station,
)

_ID = re.compile(r"[a-z0-9-]+")
MOST_NODES = 200_000
MOST_PARTS = 2_000
MOST_PAGES = 100_000
MOST_TEXT = 100_000
MOST_THICKENED = 4


def problems(design: Design) -> list[str]:
    """Everything that breaks the format's rules, in file order; empty for a sound design."""
    return list(_problems(design))


def _problems(design: Design) -> Iterator[str]:
    if design.format != FORMAT:
        yield f"format: expected {FORMAT}, found {design.format}; open it with the version that wrote it"
    for name, text in (("title", design.title), ("notes", design.notes)):
        if len(text) > MOST_TEXT:
            yield f"{name}: {len(text)} characters are too many; shorten it to {MOST_TEXT}"
    for name in ("scans", "outlines", "wings", "tailplanes", "weights", "alternatives"):
        parts = getattr(design, name)
        if len(parts) > MOST_PARTS:
            yield f"{name}: {len(parts)} entries are too many; keep to {MOST_PARTS}"
            return
        yield from _ids(name, (part.id for part in parts))
    for i, scan in enumerate(design.scans):
        yield from _scan(f"scans[{i}]", scan)
    yield from _state("", design)
    yield from _bench(design.bench)
    for i, alternative in enumerate(design.alternatives):
        where = f"alternatives[{i}]."
        for name in ("outlines", "wings", "tailplanes", "weights"):
            yield from _ids(where + name, (part.id for part in getattr(alternative, name)))
        yield from _state(where, alternative)


def _state(where: str, design: Design | Alternative) -> Iterator[str]:
    if sum(len(outline.nodes) for outline in design.outlines) > MOST_NODES:
        yield f"{where}outlines: more than {MOST_NODES} nodes in all; trace with fewer"
        return
    for i, outline in enumerate(design.outlines):
        yield from _outline(f"{where}outlines[{i}]", outline)
    for name in ("wings", "tailplanes"):
        for i, surface in enumerate(getattr(design, name)):
            at = f"{where}{name}[{i}]"
            yield from _within(f"{at}.incidence_deg", surface.incidence_deg, -90, 90, "°")
            yield from _section(f"{at}.section", surface.section)
            for j, station in enumerate(surface.stations):
                yield from _station(f"{at}.stations[{j}]", station)
    for i, tailplane in enumerate(design.tailplanes):
        at = f"{where}tailplanes[{i}].elevator_chord_fraction"
        yield from _within(at, tailplane.elevator_chord_fraction, 0, 1)
    if design.cg_mark is not None:
        yield from _number(f"{where}cg_mark.x", design.cg_mark.x)
        yield from _number(f"{where}cg_mark.z", design.cg_mark.z)
    for i, weight in enumerate(design.weights):
        at = f"{where}weights[{i}]"
        yield from _within(f"{at}.grams", weight.grams, 0, LIMIT, " g")
        for axis in ("x", "y", "z"):
            yield from _number(f"{at}.{axis}", getattr(weight, axis))
    if design.fuselage_width is not None:
        yield from _within(f"{where}fuselage_width", design.fuselage_width, 0, LIMIT, " mm")
    aim = design.aim
    for name in ("cla_fraction", "low", "high"):
        yield from _within(f"{where}aim.{name}", getattr(aim, name), -2, 2)
    if not aim.low <= aim.cla_fraction <= aim.high:
        yield (
            f"{where}aim: {aim.cla_fraction:g} does not lie between low {aim.low:g} and high {aim.high:g}; "
            "put the three in rising order"
        )
    flight = design.flight
    yield from _within(f"{where}flight.speed_m_s", flight.speed_m_s, 0, 400, " m/s")
    yield from _within(f"{where}flight.air_density_kg_m3", flight.air_density_kg_m3, 0, 10, " kg/m3")
    yield from _within(f"{where}flight.rudder_throw_deg", flight.rudder_throw_deg, 0, 90, "°")


def _bench(bench: Bench) -> Iterator[str]:
    for name in ("linkages", "weighings"):
        parts = getattr(bench, name)
        if len(parts) > MOST_PARTS:
            yield f"bench.{name}: {len(parts)} entries are too many; keep to {MOST_PARTS}"
            return
        yield from _ids(f"bench.{name}", (part.id for part in parts))
    for i, linkage in enumerate(bench.linkages):
        at = f"bench.linkages[{i}]"
        for name in ("servo_arm", "horn", "surface_chord", "crank_in", "crank_out"):
            length = getattr(linkage, name)
            if length is not None:
                yield from _within(f"{at}.{name}", length, 0, LIMIT, " mm")
        yield from _number(f"{at}.horn_set_back", linkage.horn_set_back)
        yield from _within(f"{at}.servo_travel_deg", linkage.servo_travel_deg, 0, 90, "°")
    for i, weighing in enumerate(bench.weighings):
        at = f"bench.weighings[{i}].supports"
        if len(weighing.supports) > MOST_PARTS:
            yield f"{at}: {len(weighing.supports)} entries are too many; keep to {MOST_PARTS}"
            return
        for j, support in enumerate(weighing.supports):
            yield from _within(f"{at}[{j}].grams", support.grams, 0, LIMIT, " g")
            yield from _number(f"{at}[{j}].x", support.x)
    if bench.crossing is not None:
        yield from _number("bench.crossing.x", bench.crossing.x)
        yield from _number("bench.crossing.z", bench.crossing.z)


def _ids(where: str, ids: Iterable[str]) -> Iterator[str]:
    seen: set[str] = set()
    for i, part_id in enumerate(ids):
        if not _ID.fullmatch(part_id):
            yield f'{where}[{i}].id: found "{part_id[:40]}"; use small letters, digits and hyphens'
        elif part_id in seen:
            yield f'{where}[{i}].id: "{part_id}" is there twice; give each its own id'
        seen.add(part_id)


def _number(where: str, value: float) -> Iterator[str]:
    if not math.isfinite(value):
        yield f"{where}: expected a number, found {value}; give a finite number"
    elif abs(value) > LIMIT:
        yield f"{where}: {value:g} is out of reach; keep within ±1 000 000"


def _within(where: str, value: float, low: float, high: float, unit: str = "") -> Iterator[str]:
    if not math.isfinite(value):
        yield f"{where}: expected a number, found {value}; give a finite number"
    elif not low <= value <= high:
        yield f"{where}: found {value:g}{unit}; keep between {low:g} and {high:g}{unit}"


def _scan(where: str, scan: Scan) -> Iterator[str]:
    if not safe_name(scan.file):
        yield f'{where}.file: "{scan.file[:60]}" is not a plain file name; name a file inside the design'
    if scan.page < 0:
        yield f"{where}.page: found {scan.page}; pages count from 0"
    elif scan.page >= MOST_PAGES:
        yield f"{where}.page: found {scan.page}; keep below {MOST_PAGES}"
    yield from _within(f"{where}.opacity", scan.opacity, 0, 1)
    if not 0 <= scan.tone.thicken <= MOST_THICKENED:
        yield f"{where}.tone.thicken: found {scan.tone.thicken}; give whole pixels from 0 to {MOST_THICKENED}"
    flat = [value for row in scan.to_mm for value in row]
    if not all(math.isfinite(value) for value in flat):
        yield f"{where}.to_mm: expected nine finite numbers; place the scan anew"
        return
    (a, b, c), (d, e, f), (g, h, i) = scan.to_mm
    determinant = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g)
    if not math.isfinite(determinant) or abs(determinant) < 1e-18:
        yield f"{where}.to_mm: the matrix folds the picture to nothing; place the scan anew"


def safe_name(name: str) -> bool:
    """Whether ``name`` can only mean a file inside the design's own folder or container."""
    if not 0 < len(name) <= 200 or "\\" in name or ":" in name or not name.isprintable():
        return False
    # Where case does not count in file names, the scan would take the design's own place.
    if name.lower() == "design.json":
        return False
    path = PurePosixPath(name)
    return not path.is_absolute() and ".." not in path.parts and str(path) == name and name != "."


def _outline(where: str, outline: Outline) -> Iterator[str]:
    if not 1 <= outline.count <= MOST_COUNT:
        yield f"{where}.count: found {outline.count}; give a whole number from 1 to {MOST_COUNT}"
    if outline.grams_per_dm2 is not None:
        yield from _within(f"{where}.grams_per_dm2", outline.grams_per_dm2, 0, LIMIT, " g/dm2")
    handles = any(node.handle_in or node.handle_out for node in outline.nodes)
    if len(outline.nodes) < (2 if handles else 3):
        yield (
            f"{where}.nodes: found {len(outline.nodes)}; an outline needs at least three nodes, "
            "or two with handles"
        )
    for i, node in enumerate(outline.nodes):
        yield from _number(f"{where}.nodes[{i}].x", node.x)
        yield from _number(f"{where}.nodes[{i}].z", node.z)
        for name, handle in (("in", node.handle_in), ("out", node.handle_out)):
            for j, value in enumerate(handle or ()):
                yield from _number(f"{where}.nodes[{i}].{name}[{j}]", value)


def _station(where: str, station: Station) -> Iterator[str]:
    for name in ("y", "le_x", "z"):
        yield from _number(f"{where}.{name}", getattr(station, name))
    yield from _within(f"{where}.chord", station.chord, 0, LIMIT, " mm")


def _section(where: str, section: Section) -> Iterator[str]:
    yield from _within(f"{where}.thickness", section.thickness, 0, 1)
    yield from _within(f"{where}.camber", section.camber, -0.5, 0.5)
    yield from _within(f"{where}.camber_at", section.camber_at, 0, 1)
