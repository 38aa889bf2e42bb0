"""Parts laid out for a laser or a knife: every copy apart from all others, edges and names as lines.

By material and thickness, for each is cut from sheets of its own: a *block* is one such sheet. The
grain of all pieces runs along x. mm, x to the right, y up; the blocks stand one below the other.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.bench.nesting import Laid, lay_out
from core.design import State
from core.exchange.faults import ExchangeError
from core.exchange.strokes import spelt, strokes, width
from core.geometry.offset import grown
from core.geometry.overlay import lines_in
from core.geometry.prepared import prepared
from core.geometry.ring import Array
from core.parts.materials import material_of
from core.parts.part import Built, Part
from core.parts.said import told
from core.units import format_number

GAP = 3.0
"""mm between two pieces, and twice what they keep from the sheet's edge."""
SHEET = (500.0, 100.0)
"""mm along and across the grain: half a sheet of the wood that is sold; larger where a piece is."""
MOST_KERF = 5.0
MOST_PIECES = 2000
_BETWEEN, _HEAD, _PITCH = 25.0, 4.0, 6.5
_LETTERS = (5.0, 4.0, 3.0, 2.5, 2.0)
_NUMBERS = (*_LETTERS, 1.5)
"""mm: heights of engraved capitals and numbers, tried in this order."""
_CLEAR = 0.16
"""Of their height, and no less than a third of a millimetre: from an engraved name to an edge."""
_BESIDE = 1.8
"""mm: height of a number in the gap beside a piece that has no room for one."""
_SHORT = 0.05
_STICKS = ("stick",)


@dataclass(frozen=True, eq=False)
class LaidPiece:
    """One copy of a part where it is cut. ``rings``: closed edges (N, 2), the first place not repeated,
    holes before the edge round them; ``marks``: engraved lines (N, 2)."""

    part: Part
    number: int
    copy: int
    rings: tuple[Array, ...]
    marks: tuple[Array, ...]


@dataclass(frozen=True, eq=False)
class Block:
    """One sheet of one material; ``box`` is the sheet (x low, y low, x high, y high).

    ``layer`` tells the material and its thickness, as a layer's name may be written; ``notes`` are
    lines for the eye, neither cut nor engraved: the sheet's edge and what it is.
    """

    layer: str
    title: str
    box: tuple[float, float, float, float]
    pieces: tuple[LaidPiece, ...]
    notes: tuple[Array, ...]


@dataclass(frozen=True, eq=False)
class PartsLaid:
    """All blocks, and sentences about what is not in them or not as drawn."""

    blocks: tuple[Block, ...]
    box: tuple[float, float, float, float]
    notes: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class _Shape:
    """A part ready to be laid, its grain along x: what is cut, what is engraved."""

    part: Part
    number: int
    region: BaseGeometry
    marks: tuple[Array, ...]
    coded: bool
    beside: bool
    """Not even its number is engraved: it stands beside the piece, in the notes."""


def lay_parts(state: State, builts: Sequence[Built], kerf: float = 0.0) -> PartsLaid:
    """Every part that is cut from sheet, as often as it is needed. ``kerf``: mm that the cut takes away.

    Outer edges are moved out by half the kerf and holes made so much smaller, so that what is left is
    of the true size. ExchangeError where nothing is cut from sheet, or for a kerf that is none.
    """
    if not 0.0 <= kerf <= MOST_KERF:
        raise ExchangeError(f"kerf: found {kerf:g} mm; give one between 0 and {MOST_KERF:g} mm")
    parts = [part for built in builts for part in built.parts]
    plates = [part for part in parts if part.role not in _STICKS and not part.outline.is_empty]
    notes = [
        told(said, "mm").rstrip(".") for built in builts for said in (*built.faults, *built.notes)
    ]
    if not plates:
        why = "; ".join(notes) or "give a surface a build with ribs, webs, skin or sheet first"
        raise ExchangeError(f"builds: found no part that is cut from sheet; {why}")
    total = sum(part.count for part in plates)
    if total > MOST_PIECES:
        raise ExchangeError(f"builds: found {total} pieces, more than {MOST_PIECES}; export fewer surfaces")
    sticks = [part for part in parts if part.role in _STICKS]
    if sticks:
        notes.insert(0, f"left out, cut from stick: {_named(sticks)}")
    shapes = []
    for number, part in enumerate(plates, 1):
        shape, trouble = _shape(part, number, kerf)
        shapes.append(shape)
        notes += trouble
    groups: dict[tuple[str, float], list[_Shape]] = {}
    for shape in shapes:
        groups.setdefault((shape.part.material, round(shape.part.thick, 3)), []).append(shape)
    blocks: list[Block] = []
    taken: set[str] = set()
    top = 0.0
    for (material, thick), members in groups.items():
        layer = _layer(material, thick, taken)
        label = material_of(state, material).label
        for block in _blocks(members, layer, f"{label}, {format_number(thick, 1, unit='mm')}", top):
            blocks.append(block)
            top = block.box[1] - _BETWEEN
    return PartsLaid(tuple(blocks), _box_of(blocks), tuple(dict.fromkeys(notes)))


def _named(parts: Iterable[Part]) -> str:
    """Their names with how many there are; pieces of one edge are one name."""
    counts: dict[str, int] = {}
    for part in parts:
        name = part.name.partition(", piece ")[0]
        counts[name] = counts.get(name, 0) + part.count
    return ", ".join(f"{count} × {name}" for name, count in counts.items())


def _layer(material: str, thick: float, taken: set[str]) -> str:
    """A name that layers of both kinds of file may bear, and none bears yet."""
    plain = unicodedata.normalize("NFKD", material).encode("ascii", "ignore").decode()
    base = re.sub(r"[^A-Za-z0-9]+", "-", plain)[:60].strip("-") or "material"
    name, more = f"{base}-{thick:g}mm", 1
    while name.lower() in taken:
        more += 1
        name = f"{base}-{more}-{thick:g}mm"
    taken.add(name.lower())
    return name


def _turned(points: Array, degrees: float) -> Array:
    turn = math.radians(degrees)
    cos, sin = math.cos(turn), math.sin(turn)
    return np.asarray(points @ np.array(((cos, sin), (-sin, cos))))


def _shape(part: Part, number: int, kerf: float) -> tuple[_Shape, list[str]]:
    turn = 0.0 if math.isnan(part.grain) else -part.grain
    outline, lines = part.outline, list(part.engraved)
    if turn % 360.0:
        outline = shapely.transform(outline, lambda points: _turned(points, turn))
        lines = [_turned(line, turn) for line in lines]
    region, trouble = _with_kerf(part, outline, kerf)
    inner = shapely.buffer(outline, -_SHORT)
    marks = _once(lines, inner)
    words = spelt(part.name)
    name = None if words is None else _place(words, outline, marks, _LETTERS)
    coded = name is None
    if name is None:
        name = _place(str(number), outline, marks, _NUMBERS)
    return _Shape(part, number, region, (*marks, *(name or ())), coded, name is None), trouble


def _with_kerf(part: Part, outline: BaseGeometry, kerf: float) -> tuple[BaseGeometry, list[str]]:
    """What is cut, and a sentence for each thing that is narrower than the cut."""
    if kerf == 0.0:
        return outline, []
    trouble = []
    said = f"narrower than the kerf of {format_number(kerf, 2, unit='mm')}"
    pieces = [piece for piece in shapely.get_parts(outline) if isinstance(piece, shapely.Polygon)]
    for ring in (ring for piece in pieces for ring in piece.interiors):
        hole = shapely.Polygon(ring)
        left = grown(grown(hole, -0.5 * kerf), 0.5 * kerf)
        if left.area < hole.area - 0.5 * kerf * kerf:
            x, y = hole.centroid.coords[0]
            lost = "a hole is" if left.is_empty else "a part of a hole is"
            trouble.append(f"{part.name}: {lost} {said} and not cut, {x:.1f} mm along and {y:.1f} mm across")
    # Grown and shrunk back, an edge is where it was unless something closed in between.
    whole = shapely.MultiPolygon([shapely.Polygon(piece.exterior) for piece in pieces])
    if grown(grown(whole, 0.5 * kerf), -0.5 * kerf).area > whole.area + 0.5 * kerf * kerf:
        trouble.append(f"{part.name}: a notch or gap is {said} and not cut")
    return grown(outline, 0.5 * kerf), trouble


def _once(lines: Sequence[Array], inner: BaseGeometry) -> list[Array]:
    """The lines inside a part, clear of its edge, each stretch drawn once."""
    seen: set[tuple[tuple[float, float], ...]] = set()
    found: list[Array] = []
    for line in lines:
        if len(line) < 2:
            continue
        inside = lines_in(shapely.LineString(line), inner)
        for run in shapely.get_parts(inside):
            if run.geom_type != "LineString":
                continue
            points = shapely.get_coordinates(run)
            fresh: list[Array] = []
            for a, b in pairwise(points):
                ends = tuple(sorted(((round(float(a[0]), 3), round(float(a[1]), 3)),
                                     (round(float(b[0]), 3), round(float(b[1]), 3)))))
                if ends[0] == ends[1] or ends in seen:
                    if fresh:
                        found.append(np.array(fresh))
                    fresh = []
                    continue
                seen.add(ends)
                fresh = fresh or [a]
                fresh.append(b)
            if fresh:
                found.append(np.array(fresh))
    return found


def _place(
    words: str, outline: BaseGeometry, marks: Sequence[Array], heights: Sequence[float]
) -> list[Array] | None:
    """``words`` as lines inside a part, clear of its edges and marks, as large and as near its middle as
    can be, level or upright; None where there is no room."""
    drawn = shapely.MultiLineString([shapely.LineString(line) for line in marks]) if marks else None
    middle = shapely.get_coordinates(outline.centroid)[0]
    for high in heights:
        free = shapely.buffer(outline, -max(_CLEAR * high, 0.33))
        if free.is_empty:
            continue
        low_x, low_y, high_x, high_y = shapely.bounds(free)
        free = prepared(free)
        long = width(words, high)
        for upright in (False, True):
            wide, tall = (high, long) if upright else (long, high)
            if wide > high_x - low_x or tall > high_y - low_y:
                continue
            xs, ys = (np.linspace(low + 0.5 * side, top - 0.5 * side, 41)
                      for low, top, side in ((low_x, high_x, wide), (low_y, high_y, tall)))
            at_x, at_y = (grid.ravel() for grid in np.meshgrid(xs, ys))
            boxes = shapely.box(at_x - 0.5 * wide, at_y - 0.5 * tall, at_x + 0.5 * wide, at_y + 0.5 * tall)
            fits = shapely.contains(free, boxes)
            if drawn is not None:
                fits &= shapely.distance(boxes, drawn) > 0.5
            if not fits.any():
                continue
            off = np.where(fits, np.hypot(at_x - middle[0], at_y - middle[1]), np.inf)
            best = int(np.argmin(off))
            lines = strokes(words, -0.5 * long, -0.5 * high, high)
            if upright:
                lines = [np.column_stack((-line[:, 1], line[:, 0])) for line in lines]
            return [line + np.array((at_x[best], at_y[best])) for line in lines]
    return None


def _blocks(shapes: Sequence[_Shape], layer: str, title: str, top: float) -> list[Block]:
    """The sheets of one material, the first with its heading's upper edge at ``top``."""
    # Grain first: those pieces cannot be turned.
    ordered = sorted(shapes, key=lambda s: (math.isnan(s.part.grain), -s.region.area, s.number))
    copies = [(shape, copy) for shape in ordered for copy in range(1, shape.part.count + 1)]
    upright = sum(not math.isnan(shape.part.grain) for shape, _ in copies)
    sizes = [shapely.bounds(shape.region) for shape in ordered]
    room = tuple(
        max(SHEET[axis] - GAP, *(float(box[axis + 2] - box[axis]) + 1e-6 for box in sizes)) for axis in (0, 1)
    )
    laid = lay_out([shape.region for shape, _ in copies], lambda _: (room[0], room[1]), GAP,
                   most_sheets=len(copies), upright=upright)
    if laid is None:
        raise ExchangeError(f"builds: the parts of {title} find no room on sheets; export fewer surfaces")
    blocks = []
    count = 1 + max(place.sheet for place in laid)
    for sheet in range(count):
        mine = [(shape, copy, place) for (shape, copy), place in zip(copies, laid, strict=True)
                if place.sheet == sheet]
        heads = [title, f"SHEET {room[0] + GAP:.0f} × {room[1] + GAP:.0f} MM"]
        heads += [f"{len(mine)} PIECES" if len(mine) > 1 else "1 PIECE"]
        heads += [f"{sheet + 1} OF {count}"] if count > 1 else []
        heads += ["GRAIN ALONG THE SHEET"] if any(not math.isnan(s.part.grain) for s, _, _ in mine) else []
        coded = {shape.number: shape.part.name for shape, _, _ in mine if shape.coded}
        entries = [f"{number} = {name}" for number, name in sorted(coded.items())]
        lines = [" - ".join(heads), *_rows(entries, room[0])]
        written, y = [], top
        for line in lines:
            y -= _HEAD
            words = spelt(line) or spelt(line.encode("ascii", "ignore").decode()) or ""
            written += strokes(words, 0.0, y, _HEAD)
            y -= _PITCH - _HEAD
        low = y - 1.0 - room[1] - GAP
        corner = np.array((0.5 * GAP, low + 0.5 * GAP))
        box = 0.0, low, room[0] + GAP, y - 1.0
        edge = shapely.get_coordinates(shapely.box(*box))
        pieces = tuple(_laid(shape, copy, place, corner) for shape, copy, place in mine)
        for piece, (shape, _, _) in zip(pieces, mine, strict=True):
            if shape.beside:
                written += _under(piece)
        blocks.append(Block(layer, " · ".join(heads), box, pieces, (edge, *written)))
        top = low - _BETWEEN
    return blocks


def _rows(entries: Sequence[str], room: float) -> list[str]:
    """The entries in lines of ``room`` mm, one at least in each."""
    rows: list[str] = []
    for entry in entries:
        longer = f"{rows[-1]}; {entry}" if rows else ""
        if longer and width(longer, _HEAD) <= room:
            rows[-1] = longer
        else:
            rows.append(entry)
    return rows


def _under(piece: LaidPiece) -> list[Array]:
    """The piece's number in its own half of the gap, under the lowest place of its edge."""
    edge = piece.rings[-1]
    x, y = edge[int(np.argmin(edge[:, 1]))]
    words = str(piece.number)
    return strokes(words, float(x) - 0.5 * width(words, _BESIDE), float(y) - 0.5 - _BESIDE, _BESIDE)


def _laid(shape: _Shape, copy: int, place: Laid, corner: Array) -> LaidPiece:
    region = place.move(shape.region)
    rings = [
        np.asarray(shapely.get_coordinates(ring)[:-1] + corner)
        for piece in shapely.get_parts(region) for ring in (*piece.interiors, piece.exterior)
    ]
    marks = tuple(np.asarray(place.points(line) + corner) for line in shape.marks)
    return LaidPiece(shape.part, shape.number, copy, tuple(rings), marks)


def _box_of(blocks: Sequence[Block]) -> tuple[float, float, float, float]:
    """Everything drawn, the headings too."""
    points = np.concatenate([line for block in blocks for line in block.notes])
    (low_x, low_y), (high_x, high_y) = points.min(axis=0), points.max(axis=0)
    return float(low_x), float(low_y), float(high_x), float(high_y)
