"""Panels of a surface side by side with their dimensions: laid out in mm of paper, u right and v up."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from app.kit.paths import shape_path
from app.paper.dimension_lines import SIZE, THIN, level, upright
from app.paper.ink import INK, SOFT, Ink
from core.bench.dimensions import Chord, Measures
from core.design import DisplayUnits
from core.geometry.ring import Array
from core.units import format_angle, format_fine

EDGE_PEN = 0.3
SIDE, BESIDE_HINGE, ABOVE, BELOW = 24.0, 24.0, 12.0, 17.0
"""mm of paper about a panel: for its height, its hinges, the tip's chord, the root's and its name."""
_OFF = 15.0
_CLOSE, _FIGURE = 4.0, 24.0
_DASHED = (9.0, 5.0)


class Side(NamedTuple):
    """One panel to be drawn: its region and measures now, and as kept (laid upon it), where there is one."""

    name: str
    region: BaseGeometry
    now: Measures
    kept_region: BaseGeometry | None
    before: Measures | None


@dataclass(frozen=True, eq=False)
class Placed:
    """A panel at (``left``, ``foot``) mm of paper, the place of c = 0, s = 0."""

    side: Side
    left: float
    foot: float
    hinge_aft: bool
    within: bool
    """True if the hinges' figures stand inside the panel."""

    @property
    def margins(self) -> tuple[float, float]:
        """mm of paper at its left and right."""
        beside = _CLOSE if self.within else BESIDE_HINGE
        return (SIDE, beside) if self.hinge_aft else (beside, SIDE)


@dataclass(frozen=True, eq=False)
class Drawing:
    """All panels; ``per_mm`` mm of paper for a mm; ``wide`` × ``tall`` mm of paper, its corner at (0, 0)."""

    placed: tuple[Placed, ...]
    per_mm: float
    wide: float
    tall: float
    units: DisplayUnits

    @property
    def strokes(self) -> list[Array]:
        """What a page is needed for: the edges, and the frame of their dimensions."""
        found = []
        for one in self.placed:
            for region in (one.side.region, one.side.kept_region):
                if region is not None:
                    found += [self.paper(one, ring) for ring in _rings(region)]
            low_u, low_v, high_u, high_v = _box(one.side)
            left, right = one.margins
            corners = self.paper(one, np.array(((low_u, low_v), (high_u, high_v))))
            (a, b), (c, d) = corners
            found.append(np.array((
                (a - left, b - BELOW + 1.0), (c + right, b - BELOW + 1.0), (c + right, d + ABOVE - 1.0),
                (a - left, d + ABOVE - 1.0), (a - left, b - BELOW + 1.0),
            )))
        return found

    def paper(self, one: Placed, points: Array) -> Array:
        """Points (N, 2) of a panel's (c, s) on the paper, v up."""
        return np.asarray(points * self.per_mm + np.array((one.left, one.foot)))


def _rings(region: BaseGeometry) -> list[Array]:
    return [
        shapely.get_coordinates(ring) for part in shapely.get_parts(region) if part.geom_type == "Polygon"
        for ring in (part.exterior, *part.interiors)
    ]


def _box(side: Side) -> tuple[float, float, float, float]:
    boxes = [side.region.bounds] + ([side.kept_region.bounds] if side.kept_region is not None else [])
    low, high = np.array(boxes)[:, :2].min(axis=0), np.array(boxes)[:, 2:].max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def room_needed(sides: tuple[Side, ...]) -> tuple[float, float, float, float]:
    """(width, height) of all panels side by side in mm, and (width, height) of paper beside them."""
    boxes = [_box(side) for side in sides]
    return (
        sum(b[2] - b[0] for b in boxes), max(b[3] for b in boxes) - min(b[1] for b in boxes),
        len(sides) * (SIDE + BESIDE_HINGE), ABOVE + BELOW,
    )


def _held_within(side: Side, aft: bool, per_mm: float) -> bool:
    """True if the hinges' figures find room inside the panel, clear of its edge and of the kept one."""
    hinge = side.now.hinge
    if hinge is None:
        return True
    way, long, half = -1.0 if aft else 1.0, _FIGURE / per_mm, 2.2 / per_mm
    for c, s in (hinge.start, *hinge.places):
        near, far = sorted((c + way * 1.5 / per_mm, c + way * long))
        box = shapely.box(near, max(s - half, side.now.low + half), far, s + half)
        if not side.region.contains(box):
            return False
        if side.kept_region is not None and side.kept_region.boundary.intersects(box):
            return False
    return True


def lay_sides(
    sides: tuple[Side, ...], per_mm: float, units: DisplayUnits, *, hinges_within: bool = False
) -> Drawing:
    """The panels from left to right on one level; ``hinges_within``: their figures inside where that fits."""
    boxes = [_box(side) for side in sides]
    foot = BELOW - min(box[1] for box in boxes) * per_mm
    at, placed = 0.0, []
    for side, box in zip(sides, boxes, strict=True):
        hinge = side.now.hinge
        aft = hinge is None or hinge.start[0] + hinge.end[0] > box[0] + box[2]
        one = Placed(side, 0.0, foot, aft, hinges_within and _held_within(side, aft, per_mm))
        left, right = one.margins
        placed.append(replace(one, left=at + left - box[0] * per_mm))
        at += left + right + (box[2] - box[0]) * per_mm
    tall = ABOVE + BELOW + (max(b[3] for b in boxes) - min(b[1] for b in boxes)) * per_mm
    return Drawing(tuple(placed), per_mm, at, tall, units)


def draw_sides(ink: Ink, drawing: Drawing, left: float, bottom: float) -> None:
    """Draw it with its lower left corner at (``left``, ``bottom``) mm of the page."""
    for one in drawing.placed:
        _Pen(ink, drawing, one, left, bottom).draw()


class _Pen:
    """One panel on the page, y down."""

    def __init__(self, ink: Ink, drawing: Drawing, one: Placed, left: float, bottom: float) -> None:
        self._ink, self._drawing, self._one = ink, drawing, one
        self._left, self._bottom = left, bottom
        self._box = _box(one.side)

    def _points(self, points: Array) -> Array:
        up = self._drawing.paper(self._one, points)
        return np.column_stack((self._left + up[:, 0], self._bottom - up[:, 1]))

    def _at(self, c: float, s: float) -> tuple[float, float]:
        x, y = self._points(np.array(((c, s),)))[0]
        return float(x), float(y)

    def draw(self) -> None:
        side, ink = self._one.side, self._ink
        if side.kept_region is not None:
            ink.pen(0.18, SOFT, _DASHED)
            ink.stroke(shape_path(shapely.transform(side.kept_region, self._points)))
        ink.pen(EDGE_PEN)
        ink.stroke(shape_path(shapely.transform(side.region, self._points)))
        self._height()
        before = side.before
        self._chord(side.now.tip, before.tip if before is not None else None, above=True)
        self._chord(side.now.root, before.root if before is not None else None, above=False)
        self._hinges()
        self._sweep()
        x0, y = self._at(self._box[0], self._box[1])
        x1, _ = self._at(self._box[2], self._box[1])
        ink.text((x0 + x1) / 2, y + BELOW - 3.4, side.name, 10.0, bold=True, align="centre")

    def _figure(self, value: float, before: float | None) -> str:
        units = self._drawing.units
        said = format_fine(value, units)
        if before is not None and format_fine(before, units) != said:
            said += f" ({format_fine(value - before, units, signed=True, with_unit=False)})"
        return said

    def _height(self) -> None:
        now, before = self._one.side.now, self._one.side.before
        aft = self._one.hinge_aft
        edge = self._at(self._box[0] if aft else self._box[2], 0.0)[0]
        x = edge - _OFF if aft else edge + _OFF
        # From where the panel itself ends at that height.
        ends = [chord.front if aft else chord.aft for chord in (now.root, now.tip)]
        tops = (self._at(0.0, now.low)[1], self._at(0.0, now.high)[1])
        upright(self._ink, *tops, x, self._figure(now.height, before.height if before is not None else None),
                lines_from=(self._at(ends[0], 0.0)[0], self._at(ends[1], 0.0)[0]))

    def _chord(self, chord: Chord, before: Chord | None, *, above: bool) -> None:
        x0, y0 = self._at(chord.front, chord.s)
        x1 = self._at(chord.aft, chord.s)[0]
        edge = self._at(0.0, self._box[3] if above else self._box[1])[1]
        y = edge - 6.0 if above else edge + 7.0
        said = self._figure(chord.length, before.length if before is not None else None)
        level(self._ink, x0, x1, y, said, lines_from=(y0, y0))

    def _hinges(self) -> None:
        hinge = self._one.side.now.hinge
        if hinge is None:
            return
        ink, within = self._ink, self._one.within
        # Figures stand behind a hinge line at the trailing edge, or, within, ahead of it; and so mirrored.
        aft = self._one.hinge_aft is not within
        sides = (hinge.start[0], hinge.end[0]) if within else (self._box[0], self._box[2])
        x = self._at(max(sides) if aft else min(sides), 0.0)[0]
        x += 5.0 if aft else -5.0
        last: float | None = None
        rows = [(hinge.start, "0"), *(
            (place, f"H{i} {format_fine(along, self._drawing.units, with_unit=False)}")
            for i, (place, along) in enumerate(zip(hinge.places, hinge.along, strict=True), 1)
        )]
        for place, words in rows:
            px, py = self._at(*place)
            y = py if last is None else min(py, last - 3.4)
            y -= 2.0 if within and last is None else 0.0
            last = y
            ink.pen(THIN, SOFT)
            ink.line(px + (1.0 if aft else -1.0), py, x, y)
            ink.text(x + (0.8 if aft else -0.8), y + 1.0, words, 7.0, align="left" if aft else "right")
            if words != "0":
                ink.pen(0.25, INK)
                ink.line(px - 1.8, py, px + 1.8, py)

    def _sweep(self) -> None:
        """The angle of a leading edge that is no hinge line, between a plumb line and the edge."""
        side = self._one.side
        if (side.now.hinge is not None and not self._one.hinge_aft) or abs(side.now.sweep_deg) < 0.05:
            return
        (c0, s0), (c1, s1) = side.now.leading
        x0, y0 = self._at(c0, s0)
        x1, y1 = self._at(c1, s1)
        ink = self._ink
        ink.pen(THIN, SOFT, (6.0, 4.0))
        ink.line(x0, y0, x0, y1)
        ink.line(x0, y0, x1, y1)
        words = format_angle(side.now.sweep_deg)
        before = side.before
        if before is not None and format_angle(before.sweep_deg) != words:
            words += f" ({format_angle(side.now.sweep_deg - before.sweep_deg, signed=True)})"
        ink.text(x0 - 1.2, y1 + 3.2, words, SIZE, align="right")


