"""The shapes of gauges: card to cut, arcs and their graduation. Exact geometry in mm, x right, y up.

Angles of an arc are in degrees from straight down, positive to the right (+x), about the arc's centre.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.design import DisplayUnits
from core.geometry.overlay import union, without
from core.geometry.ring import Array
from core.units import MM_PER_IN, format_fine, format_number

_ARC_STEP = 0.25
_TICKS_APART, _LABELS_APART = 0.8, 6.0
"""mm on paper between two marks, and between the middles of two figures."""
_DEGREE_STEPS = (0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 20.0, 30.0)
_MM_STEPS = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
_IN_STEPS = (1 / 40, 1 / 20, 1 / 10, 1 / 5, 1 / 2, 1.0, 2.0, 5.0)
_IN64_STEPS = (1 / 32, 1 / 16, 1 / 8, 1 / 4, 1 / 2, 1.0, 2.0, 4.0)
CLEARANCE = 1.0
"""mm between the path of the trailing edge and the card's arc."""
SLOT = 3.0
"""mm: the slot of a throw gauge where nobody knows how thick the fixed surface is."""
_JAW, _BAR = 24.0, 12.0
_PLATE = (78.0, 13.0)
"""mm: what carries a gauge's name."""
_LIP, _FOOT, _BEAM = 8.0, 8.0, 14.0
_LONG_CHORD, _SHORT_ARC, _LONG_ARC = 212.0, 90.0, 120.0
"""mm: up to this chord an incidence gauge goes on one page, with the smaller arc."""
_TOP = 70.0
"""mm: the edge that a small level is laid on."""

Point = tuple[float, float]
Kind = Literal["incidence", "throw"]


@dataclass(frozen=True)
class Tick:
    """A mark of a graduation at ``degrees``; ``rank`` 0 short, 1 longer, 2 with its figure ``words``."""

    degrees: float
    value: float
    rank: int
    words: str


@dataclass(frozen=True)
class Scale:
    """Marks along an arc about ``centre``, from ``radius`` outwards; ``unit`` is that of the figures."""

    centre: Point
    radius: float
    low: float
    high: float
    ticks: tuple[Tick, ...]
    unit: str


@dataclass(frozen=True)
class Words:
    """A line on the card, its baseline's middle at (x, y), at most ``room`` mm wide."""

    x: float
    y: float
    text: str
    size: float
    room: float
    bold: bool = False


@dataclass(frozen=True, eq=False)
class Gauge:
    """A gauge ready to be drawn. ``card``: what is cut out. ``centre``: pivot or hinge.

    ``set_at``: degrees of the design's own, on every scale. ``path``: radius of an arc that is drawn and
    not cut, from −``reach`` to ``reach`` degrees; 0 for none. ``lines``: thin broken lines. ``told``: what
    holds for this one alone.
    """

    kind: Kind
    name: str
    chord: float
    card: BaseGeometry
    centre: Point
    scales: tuple[Scale, ...]
    set_at: tuple[float, ...]
    path: float
    reach: float
    lines: tuple[tuple[Point, Point], ...]
    words: tuple[Words, ...]
    told: str

    @property
    def strokes(self) -> list[Array]:
        """All that is drawn as lines (N, 2), for laying it over sheets."""
        rings = [shapely.get_coordinates(ring) for ring in shapely.get_parts(shapely.boundary(self.card))]
        arcs = [on_arc(s.centre, s.radius, np.array((s.low, 0.0, s.high))) for s in self.scales]
        return [*rings, *arcs, *(np.array(line) for line in self.lines)]


def on_arc(centre: Point, radius: float, degrees: Array) -> Array:
    """Points (N, 2) of an arc at these degrees from straight down, positive to +x."""
    turn = np.radians(degrees)
    return np.column_stack((centre[0] + radius * np.sin(turn), centre[1] - radius * np.cos(turn)))


def arc_points(centre: Point, radius: float, low: float, high: float) -> Array:
    """The arc as a polyline that leaves it by less than a micrometre per 400 mm of radius."""
    count = max(2, math.ceil((high - low) / _ARC_STEP) + 1)
    return on_arc(centre, radius, np.linspace(low, high, count))


def throw_gauge(
    name: str, chord: float, degrees: float, *, units: DisplayUnits, figures: tuple[str, str],
    slot: float = SLOT, told: str = "",
) -> Gauge:
    """A card that slides on from behind: the fixed surface in its slot, the hinge at the slot's end.

    The trailing edge moves along the arc, graduated in degrees from neutral and in distance square to
    the neutral line: chord × sin. ``slot``: as wide as the fixed surface is thick, mm.
    """
    reach = min(75.0, 5.0 * math.ceil((degrees + 5.0) / 5.0))
    centre = (0.0, 0.0)
    inner = chord + CLEARANCE
    outer_scale = inner + 12.0
    rim = outer_scale + 12.0
    end = reach + 3.0
    beyond = end + min(25.0, math.degrees(_BAR / inner))
    half = 0.5 * slot
    ring = shapely.Polygon(np.vstack((
        arc_points(centre, rim, -beyond, beyond), arc_points(centre, inner, -beyond, beyond)[::-1]
    )))
    window = shapely.Polygon([
        (half, 0.0), *arc_points(centre, inner, -end, end)[::-1].tolist(), (-half, 0.0)
    ])
    gap = shapely.box(-half, -0.5, half, _JAW + 1.0)
    bars = [_bar((side * half, 0.0), side * end, inner + 6.0, side) for side in (-1.0, 1.0)]
    jaw = shapely.box(-half - _BAR, -0.5 * _BAR, half + _BAR, _JAW)
    wide, tall = _PLATE
    chord_of_rim = math.sqrt(max(0.0, rim**2 - (0.5 * wide) ** 2))
    plate = shapely.box(-0.5 * wide, -rim - tall, 0.5 * wide, -chord_of_rim)
    # Straight cuts outside: quicker than an edge that follows the arc.
    card = without(shapely.convex_hull(union((ring, jaw, plate, *bars))), union((window, gap)))
    step = _first(_DEGREE_STEPS, lambda s: inner * math.radians(s) >= _TICKS_APART)
    every = _labels(_DEGREE_STEPS, step, lambda s: (inner + 8.0) * math.radians(s) >= _LABELS_APART)
    degree = Scale(centre, inner, -reach, reach, _ticks(reach, step, every, lambda v: v, _number), "°")
    unit, steps = {
        "mm": (1.0, _MM_STEPS), "in": (MM_PER_IN, _IN_STEPS), "in64": (MM_PER_IN, _IN64_STEPS)
    }[units]
    # Marks stand closest at neutral: chord × the angle there.
    mm = unit * outer_scale / chord
    step = _first(steps, lambda s: s * mm >= _TICKS_APART)
    room = unit * (outer_scale + 8.0) / chord
    every = _labels(steps, step, lambda s: s * room >= _LABELS_APART + 1.0 * (units != "mm"))
    most = chord * math.sin(math.radians(reach)) / unit

    def turned(value: float) -> float:
        return math.degrees(math.asin(min(1.0, max(-1.0, value * unit / chord))))

    def words(value: float) -> str:
        if units == "in64":
            return format_fine(abs(value) * unit, units, with_unit=False)
        return _number(value)

    distance = Scale(
        centre, outer_scale, -reach, reach, _ticks(most, step, every, turned, words),
        "mm" if units == "mm" else "in",
    )
    foot = -rim - tall
    lines: tuple[tuple[Point, Point], ...] = (
        ((0.0, _JAW), (0.0, -inner)), ((-half - _BAR + 2.0, 0.0), (half + _BAR - 2.0, 0.0)),
    )
    texts = (
        Words(0.0, foot + 8.6, f"{name}: throw", 7.5, wide - 4.0, bold=True),
        Words(0.0, foot + 5.2, figures[0], 6.5, wide - 4.0),
        Words(0.0, foot + 2.0, figures[1], 6.5, wide - 4.0),
    )
    return Gauge(
        "throw", name, chord, card, centre, (degree, distance), (-degrees, degrees), chord, reach, lines,
        texts, told,
    )


def _bar(start: Point, degrees: float, length: float, side: float) -> BaseGeometry:
    """The arm of a throw gauge: ``_BAR`` wide, outside the line from ``start`` at ``degrees``."""
    turn = math.radians(degrees)
    along = np.array((math.sin(turn), -math.cos(turn)))
    out = side * np.array((math.cos(turn), math.sin(turn)))
    first = np.array(start)
    corners = (first, first + length * along, first + length * along + _BAR * out, first + _BAR * out)
    return shapely.Polygon([tuple(corner) for corner in corners])


def incidence_gauge(
    name: str, chord: float, degrees: float, *, thickness: float, camber: float = 0.0,
    figures: tuple[str, str], told: str = "",
) -> Gauge:
    """A card that stands on a chord, nose to the left: its notch takes the leading edge, its foot rests on
    the trailing edge, the line between both is the chord. A thread hung from the pivot reads the angle.

    Nose up is positive: the thread then swings aft, to the right. ``thickness`` and ``camber``: of the
    section, as parts of the chord; they give the room below the beam and how far the nose stands back
    in its notch. The top edge is level when the chord stands at ``degrees``.
    """
    reach = max(10.0, 5.0 * math.ceil((abs(degrees) + 5.0) / 5.0))
    radius = _SHORT_ARC if chord <= _LONG_CHORD else _LONG_ARC
    # Radius of the nose of the NACA four-digit form (Abbott and von Doenhoff; from memory). A nose like a
    # parabola touches a right-angled notch that high above its chord, and stands back half as far; the
    # form bends away sooner, by a tenth of that.
    nose = 1.1019 * thickness**2 * chord
    back = 0.45 * nose
    notch = nose + 4.0
    lip = notch + 4.0
    under = max(chord * (0.5 * thickness + abs(camber)) + 6.0, notch)
    top = under + _BEAM
    # The arc's figures and the name stand on the beam's upper part.
    pivot = (0.5 * chord, top + 22.0 + radius)
    front = shapely.Polygon([
        (0.0, 0.0), (notch, notch), (notch, top), (-_LIP, top), (-_LIP, -lip), (notch, -lip), (notch, -notch),
    ])
    # A little before the tail, which is not thick there yet.
    start, end = chord + back - 0.05 - 0.002 * chord, chord + back + _FOOT
    slant = min(under, 10.0)
    foot = shapely.Polygon([
        (start, 0.0), (end, 0.0), (end, top), (start - slant, top), (start - slant, slant),
    ])
    beam = shapely.box(-_LIP, under, end, top)
    # The top edge rises aft by the incidence: level once the nose is up by as much.
    rise = math.tan(math.radians(degrees))
    low = 0.5 * max(_TOP, 2.0 * (radius + 16.0) * math.sin(math.radians(min(reach + 4.0, 60.0))))
    plate = shapely.Polygon([
        (pivot[0] - low, under), (pivot[0] + low, under), (pivot[0] + low, pivot[1] - 0.8 * radius),
        (pivot[0] + 0.5 * _TOP, pivot[1] + 10.0 + 0.5 * _TOP * rise),
        (pivot[0] - 0.5 * _TOP, pivot[1] + 10.0 - 0.5 * _TOP * rise),
        (pivot[0] - low, pivot[1] - 0.8 * radius),
    ])
    card = union((front, foot, beam, plate))
    step = _first(_DEGREE_STEPS, lambda s: radius * math.radians(s) >= _TICKS_APART)
    every = _labels(_DEGREE_STEPS, step, lambda s: (radius + 8.0) * math.radians(s) >= _LABELS_APART)
    ticks = _ticks(
        reach, step, every, lambda v: v, lambda v: format_number(v, 0 if v % 1 == 0 else 1, signed=True)
    )
    scale = Scale(pivot, radius, -reach, reach, ticks, "°")
    room = 2.0 * low - 6.0
    texts = (
        Words(pivot[0], under + 13.0, f"{name}: incidence", 7.5, room, bold=True),
        Words(pivot[0], under + 9.0, ", ".join(figures), 6.5, room),
        Words(pivot[0], under + 4.6, "nose this way, to the left; + is nose up", 6.5, room),
    )
    return Gauge(
        "incidence", name, chord, card, pivot, (scale,), (degrees,), 0.0, reach,
        (((back, 0.0), (back + chord, 0.0)), (pivot, (pivot[0], pivot[1] - radius))), texts, told,
    )


def _first(steps: Sequence[float], holds: Callable[[float], bool]) -> float:
    return next((step for step in steps if holds(step)), steps[-1])


def _labels(steps: Sequence[float], step: float, holds: Callable[[float], bool]) -> float:
    """The smallest step that figures have room at and that is a whole number of ``step``."""
    whole = [s for s in steps if s >= step and abs(s / step - round(s / step)) < 1e-9]
    return _first(whole, holds)


def _ticks(
    most: float, step: float, every: float, degrees: Callable[[float], float], words: Callable[[float], str]
) -> tuple[Tick, ...]:
    """Marks at every ``step`` up to ``most`` both ways; the middle rank half way between two figures."""
    count = math.floor(most / step + 1e-9)
    per = round(every / step)
    found = []
    for at in range(-count, count + 1):
        value = at * step
        named = at % per == 0
        rank = 2 if named else 1 if per % 2 == 0 and at % (per // 2) == 0 else 0
        found.append(Tick(degrees(value), value, rank, words(value) if named else ""))
    return tuple(found)


def _number(value: float) -> str:
    """Without a sign: throws go both ways alike."""
    return f"{round(abs(value), 3):g}"
