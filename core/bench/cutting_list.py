"""What to buy and to cut for parts: sticks and sheets of a metre, and grams old against new.

Sticks are shared out first fit, longest first: simple, and at times one stick more than the least.
Sheets are what a nesting of the parts takes, the grain along the sheet; a part wider than its sheet
is put together of strips, edge to edge, and one longer than a metre likewise, end to end. That wood
is sold by the metre, 75 and 100 mm wide, is common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.bench.nesting import lay_out
from core.design import State
from core.design_build import Build
from core.geometry.overlay import common
from core.parts.part import Built, Part
from core.stability.side_area import form_of
from core.units import MM2_PER_DM2, MM_PER_IN

METRE = 1000.0
WIDTHS = (75.0, 100.0)
"""mm: the sheets that are sold; all of them a metre long."""
SAW = 1.0
"""mm: what a cut takes away."""
ALIKE = 0.02
"""mm: sizes that differ by less are one."""
MOST_PIECES = 300
"""More in one material and thickness are not laid out."""
NOT_BY_THE_METRE = frozenset({"birch-ply", "foam-expanded", "foam-extruded"})
"""Materials sold in boards of other sizes: their area is told alone."""


@dataclass(frozen=True)
class Cut:
    """So many pieces of one length, mm."""

    name: str
    length: float
    count: int


@dataclass(frozen=True)
class Sticks:
    """Sticks of one section, ``wide`` × ``thick`` mm, and how they are cut from those of a metre."""

    material: str
    wide: float
    thick: float
    cuts: tuple[Cut, ...]
    bars: tuple[tuple[float, ...], ...]
    """What is cut from each stick of a metre, mm."""
    joined: tuple[str, ...]
    """Parts longer than a stick: joined of several, without what a scarf takes."""


@dataclass(frozen=True)
class Stock:
    """Sheets ``wide`` mm by a metre: how many; of the last ``used`` mm of its length."""

    wide: float
    count: int
    used: float
    joined: tuple[str, ...]
    """Parts that no such sheet holds whole: put together of strips."""


@dataclass(frozen=True)
class Sheets:
    """Sheet of one material and thickness; ``area`` of all parts, mm²; ``stocks``: by width, one suffices.

    ``stocks`` is empty for what is not sold so, and for more pieces than are laid out.
    """

    material: str
    thick: float
    cuts: tuple[tuple[str, int], ...]
    area: float
    stocks: tuple[Stock, ...]


@dataclass(frozen=True)
class Grams:
    """What a build weighs, and what the kept state's surface did.

    ``before`` None with an empty ``why``: no state is kept; else ``why`` it is not known.
    """

    build: Build
    name: str
    wood: float
    covering: float
    glue: float
    grams: float
    before: float | None
    why: str


@dataclass(frozen=True)
class CuttingList:
    """All of it; ``faults``: what cannot be made, sentences that name it; ``notes``: what to mind."""

    sticks: tuple[Sticks, ...]
    sheets: tuple[Sheets, ...]
    grams: tuple[Grams, ...]
    faults: tuple[str, ...]
    notes: tuple[str, ...]

    @cached_property
    def total(self) -> float:
        """Grams of all builds."""
        return math.fsum(row.grams for row in self.grams)


def cutting_list(
    state: State, builts: Sequence[Built], kept: State | None = None, kept_builts: Sequence[Built] = ()
) -> CuttingList:
    """The list for ``builts``, which are of ``state``; ``kept_builts`` all those of the state ``kept``."""
    parts = [part for built in builts for part in built.parts]
    return CuttingList(
        _all_sticks([p for p in parts if p.role == "stick"]),
        _all_sheets([p for p in parts if p.role != "stick"]),
        tuple(_grams(state, built, kept, kept_builts) for built in builts),
        tuple(fault for built in builts for fault in built.faults),
        tuple(note for built in builts for note in built.notes),
    )


def build_name(state: State, build: Build) -> str:
    """What a build is called: its label, or the names of its surfaces."""
    if build.label:
        return build.label
    names = {outline.id: outline.name for outline in state.outlines}
    names |= {tailplane.id: tailplane.name for tailplane in state.tailplanes}
    return ", ".join(names.get(part_id, part_id) for part_id in build.of) or build.id


def _groups(parts: Sequence[Part], *sizes: str) -> Iterator[tuple[str, tuple[float, ...], list[Part]]]:
    """Parts by material and sizes, to a hundredth of a mm; the thickest last."""
    found: dict[tuple[str, tuple[float, ...]], list[Part]] = {}
    for part in parts:
        size = tuple(round(float(getattr(part, name)), 2) for name in sizes)
        found.setdefault((part.material, size), []).append(part)
    for material, size in sorted(found):
        yield material, size, found[material, size]


def _all_sticks(parts: Sequence[Part]) -> tuple[Sticks, ...]:
    """Pieces of one edge are cut from one section, the largest of them."""
    edges: dict[tuple[str, str], list[Part]] = {}
    for part in parts:
        edges.setdefault((part.material, _edge_name(part)), []).append(part)
    sections: dict[tuple[str, float, float], list[Part]] = {}
    for (material, _), group in edges.items():
        wide, thick = (_section([float(getattr(p, size)) for p in group]) for size in ("width", "thick"))
        sections.setdefault((material, wide, thick), []).extend(group)
    return tuple(
        Sticks(material, wide, thick, _cuts(group), *_from_sticks(group))
        for (material, wide, thick), group in sorted(sections.items(), key=lambda item: item[0])
    )


def _edge_name(part: Part) -> str:
    """ "Fin leading edge" of "Fin leading edge, piece 3"."""
    return f"{part.build} {part.name.split(', piece')[0].rstrip('0123456789 ')}"


def _section(sizes: Sequence[float]) -> float:
    """What all are cut from: their own size where it is one that is sold, else up to the next half mm.

    Sold are tenths of a mm and 64ths of an inch (common practice, no source).
    """
    most = max(sizes)
    if most - min(sizes) < ALIKE and any(
        abs(most / step - round(most / step)) * step < 0.004 for step in (0.1, MM_PER_IN / 64)
    ):
        return round(most, 2)
    return math.ceil(most * 2 - ALIKE) / 2


def _cuts(parts: Sequence[Part]) -> tuple[Cut, ...]:
    return tuple(Cut(p.name, p.length, p.count) for p in sorted(parts, key=lambda p: -p.length))


def _from_sticks(parts: Sequence[Part]) -> tuple[tuple[tuple[float, ...], ...], tuple[str, ...]]:
    """First fit, longest first, a saw cut between; what is longer than a stick takes whole ones first."""
    lengths: list[float] = []
    joined: dict[str, None] = {}
    for part in parts:
        whole, rest = divmod(part.length, METRE)
        if part.length <= METRE + 1e-9:
            whole, rest = 0.0, part.length
        else:
            joined[part.name] = None
        # A design may be a million mm long: what no builder needs is not laid out piece by piece.
        pieces = [METRE] * int(min(whole, MOST_PIECES)) + ([rest] if rest > 0.0 else [])
        lengths += pieces * min(part.count, MOST_PIECES)
    bars: list[list[float]] = []
    left: list[float] = []
    for length in sorted(lengths, reverse=True):
        for i, room in enumerate(left):
            if length <= room + 1e-9:
                bars[i].append(length)
                left[i] = room - length - SAW
                break
        else:
            bars.append([length])
            left.append(METRE - length - SAW)
    return tuple(map(tuple, bars)), tuple(joined)


def _all_sheets(parts: Sequence[Part]) -> tuple[Sheets, ...]:
    return tuple(
        Sheets(
            material, thick, tuple((p.name, p.count) for p in group),
            math.fsum(p.area * p.count for p in group), _stocks(material, group),
        )
        for material, (thick,), group in _groups(parts, "thick")
    )


def _stocks(material: str, parts: Sequence[Part]) -> tuple[Stock, ...]:
    if material in NOT_BY_THE_METRE or sum(part.count for part in parts) > MOST_PIECES:
        return ()
    found = (_stock(parts, wide) for wide in WIDTHS)
    return tuple(stock for stock in found if stock is not None)


def _stock(parts: Sequence[Part], wide: float) -> Stock | None:
    held: list[tuple[BaseGeometry, int]] = []
    free: list[tuple[BaseGeometry, int]] = []
    joined: dict[str, None] = {}
    for part in parts:
        shape = _grain_up(part)
        strips = _strips(shape, wide)
        if not strips:
            return None
        if len(strips) > 1:
            joined[part.name] = None
        # Strips of one piece keep their grain, as does everything that has one.
        where = free if math.isnan(part.grain) and len(strips) == 1 else held
        where += [(strip, part.count) for strip in strips]
    pieces = sum(count for _, count in (*held, *free))
    if not 0 < pieces <= 2 * MOST_PIECES:
        return None
    best: tuple[int, float] | None = None
    for turned in _TURNED:
        upright, rest = _laid_in_order(held, turned), _laid_in_order(free, turned)
        laid = lay_out(
            [*upright, *rest], lambda _: (wide, METRE), SAW, most_sheets=pieces, upright=len(upright)
        )
        if laid is None:
            continue
        count = 1 + max(one.sheet for one in laid)
        used = max(
            METRE - one.move(shape).bounds[1]
            for one, shape in zip(laid, (*upright, *rest), strict=True) if one.sheet == count - 1
        )
        best = min(best, (count, used)) if best is not None else (count, used)
        if count == 1:
            break
    return None if best is None else Stock(wide, *best, tuple(joined))


_TURNED = ((False, False), (False, True), (True, False))
"""Which of each two copies lie end for end, so that tapers nest: of these ways the best is taken."""


def _laid_in_order(
    shapes: Sequence[tuple[BaseGeometry, int]], turned: tuple[bool, bool]
) -> list[BaseGeometry]:
    """Every piece, the longest first."""
    found: list[BaseGeometry] = []
    for shape, count in sorted(shapes, key=lambda item: item[0].bounds[1] - item[0].bounds[3]):
        other = shapely.transform(shape, np.negative)
        found += [other if turned[i % 2] else shape for i in range(count)]
    return found


def _grain_up(part: Part) -> BaseGeometry:
    """The part's edge, its holes filled, the grain up; without a grain its longest way."""
    filled = filled_edge(part.outline)
    grain = part.grain
    if math.isnan(grain):
        box = shapely.get_coordinates(shapely.minimum_rotated_rectangle(filled))
        sides = box[1:3] - box[:2]
        longest = sides[int(np.hypot(sides[:, 0], sides[:, 1]).argmax())]
        grain = math.degrees(math.atan2(longest[1], longest[0]))
    return turned_by(filled, 90.0 - grain)


def filled_edge(outline: BaseGeometry) -> BaseGeometry:
    """The outline with its holes filled: nothing is nested in what is cut out of a part."""
    whole = [shapely.Polygon(p.exterior) for p in shapely.get_parts(outline) if p.geom_type == "Polygon"]
    return whole[0] if len(whole) == 1 else shapely.MultiPolygon(whole)


def turned_by(shape: BaseGeometry, degrees: float) -> BaseGeometry:
    """The shape turned to the left about the origin."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    way = np.array(((c, s), (-s, c)))

    def turn(points: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(points @ way)

    return shapely.transform(shape, turn)


def _strips(shape: BaseGeometry, wide: float) -> list[BaseGeometry]:
    """The shape in pieces that a sheet holds: full widths from the left, full lengths from below.

    None at all of what takes more than anybody joins.
    """
    low_x, low_y, high_x, high_y = shape.bounds
    across = max(1, math.ceil((high_x - low_x) / wide - 1e-9))
    along = max(1, math.ceil((high_y - low_y) / METRE - 1e-9))
    if across * along == 1:
        return [shape]
    if across * along > MOST_PIECES:
        return []
    found: list[BaseGeometry] = []
    for i in range(across):
        for j in range(along):
            x, y = low_x + i * wide, low_y + j * METRE
            part = common(shape, shapely.box(x, y, min(x + wide, high_x), min(y + METRE, high_y)))
            found += [p for p in shapely.get_parts(part) if p.geom_type == "Polygon" and p.area > 1e-6]
    return found


def _grams(state: State, built: Built, kept: State | None, kept_builts: Sequence[Built]) -> Grams:
    before, why = (None, "") if kept is None else _before(built.build, kept, kept_builts)
    return Grams(
        built.build, build_name(state, built.build), built.wood_grams, built.covering_grams,
        built.glue_grams, built.grams, before, why,
    )


def _before(build: Build, kept: State, kept_builts: Sequence[Built]) -> tuple[float | None, str]:
    """(grams, why they are not known) of the same surfaces in the kept state."""
    outlines = {o.id: o for o in kept.outlines}
    there = {*outlines, *(t.id for t in kept.tailplanes)} & set(build.of)
    if not there:
        return None, "the kept state has no such surface"
    total = 0.0
    for one in kept_builts:
        own = set(one.build.of)
        if not own & there:
            continue
        if not own <= set(build.of):
            return None, "the kept state builds it together with other surfaces"
        if not one.parts:
            return None, "the kept state's build cannot be made"
        total += one.grams
        there -= own
    for part_id in sorted(there):
        outline = outlines.get(part_id)
        if outline is None or outline.grams_per_dm2 is None:
            return None, "the kept state gives it no weight"
        area = form_of(outline).patch.moments.area
        total += outline.grams_per_dm2 * area / MM2_PER_DM2 * outline.count
    return total, ""
