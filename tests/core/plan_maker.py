"""Whole side views of made-up aeroplanes in three drawing styles, their true outlines, and loose pens.

Another hand than that of the samples and of ``drawn_ink``: long bodies with a canopy and a sternpost, fin
and rudder with a hinge gap, all that a draughtsman adds, and the paper's age. mm with x aft and z up.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import Image, ImageDraw

Array = NDArray[np.float64]
Grey = NDArray[np.uint8]
Character = Literal["sheeted", "pencil", "blueprint"]
CHARACTERS: tuple[Character, ...] = ("sheeted", "pencil", "blueprint")
PARTS = ("fuselage", "fin", "rudder")
FINE = 3
_MARGIN = 28.0


@dataclass(frozen=True)
class Line:
    """One stroke: points (N, 2) mm, pen width in mm, how much of full ink (0 to 1)."""

    points: Array
    wide: float
    ink: float = 1.0


@dataclass(frozen=True)
class Aeroplane:
    """True closed outlines (N, 2) mm by name, and what the draughtsman needs besides."""

    outlines: dict[str, Array]
    long: float
    top: Array
    bottom: Array


@dataclass(frozen=True)
class Plan:
    """A picture of a side view; ``mm_to_px`` is the true map (3, 3)."""

    grey: Grey
    mm_to_px: Array
    dpi: float
    outlines: dict[str, Array]
    long: float

    @property
    def mm_per_px(self) -> float:
        return 25.4 / self.dpi

    def px(self, mm: Array) -> Array:
        return np.asarray(mm @ self.mm_to_px[:2, :2].T + self.mm_to_px[:2, 2])

    def mm(self, px: Array) -> Array:
        back = np.linalg.inv(self.mm_to_px)
        return np.asarray(px @ back[:2, :2].T + back[:2, 2])


def spline(knots: Array, per: int = 60) -> Array:
    """A natural cubic spline through the knots (N, 2), by chord length (textbook tridiagonal system)."""
    s = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(knots, axis=0).T))))
    n, h = len(knots), np.diff(s)
    matrix, right = np.eye(n), np.zeros((n, 2))
    for i in range(1, n - 1):
        matrix[i, i - 1 : i + 2] = h[i - 1], 2 * (h[i - 1] + h[i]), h[i]
        right[i] = 6 * ((knots[i + 1] - knots[i]) / h[i] - (knots[i] - knots[i - 1]) / h[i - 1])
    bend = np.linalg.solve(matrix, right)
    out = []
    for i in range(n - 1):
        t = np.linspace(0.0, h[i], per, endpoint=i == n - 2)[:, None]
        slope = (knots[i + 1] - knots[i]) / h[i] - h[i] * (2 * bend[i] + bend[i + 1]) / 6
        out.append(knots[i] + slope * t + bend[i] * t**2 / 2 + (bend[i + 1] - bend[i]) * t**3 / (6 * h[i]))
    return np.vstack(out)


def straight(*places: tuple[float, float]) -> Array:
    return np.vstack([
        np.linspace(a, b, max(2, int(np.hypot(b[0] - a[0], b[1] - a[1]) / 0.5)), endpoint=False)
        for a, b in pairwise(places)
    ] + [np.array(places[-1:], dtype=np.float64)])


def aeroplane(seed: int, scale: float = 1.0) -> Aeroplane:
    """Fuselage 360 to 480 mm long, fin and rudder behind its sternpost, gap 1.2 to 2 mm; × scale."""
    rng = np.random.default_rng([seed, 11])
    long = rng.uniform(360, 480)
    deep = long * rng.uniform(0.075, 0.1)
    cowl, screen = rng.uniform(0.18, 0.24) * long, rng.uniform(0.05, 0.08) * long
    post = rng.uniform(9.0, 14.0)
    tail = deep * rng.uniform(0.05, 0.25)
    front = (0.0, deep * rng.uniform(0.45, 0.6)), (rng.uniform(-3, 3), -deep * rng.uniform(0.5, 0.7))
    deck = deep * rng.uniform(0.75, 0.9)
    hood = (cowl + screen, deck + deep * rng.uniform(0.35, 0.5))
    nose = spline(np.array([front[0], (0.55 * cowl, 0.5 * (front[0][1] + deck) + 1.5), (cowl, deck)]))
    back = spline(np.array([
        hood, (0.42 * long, hood[1] + 2.0), (0.58 * long, 0.75 * hood[1]),
        (0.8 * long, tail + post + 0.25 * deep), (long, tail + post),
    ]))
    top = np.vstack((nose, straight((cowl, deck), hood)[1:-1], back))
    bottom = spline(np.array([
        front[1], (0.2 * long, -deep * rng.uniform(0.85, 1.0)), (0.5 * long, -deep * rng.uniform(0.8, 1.0)),
        (0.8 * long, 0.4 * (tail - deep)), (long, tail),
    ]))
    fuselage = np.vstack((
        top, straight((long, tail + post), (long, tail))[1:-1], bottom[::-1],
        straight(front[1], front[0])[1:-1],
    ))
    outlines = {"fuselage": fuselage, **_tail(rng, long, top, tail)}
    outlines = {name: scale * points for name, points in outlines.items()}
    return Aeroplane(outlines, scale * long, scale * top, scale * bottom)


def _tail(rng: np.random.Generator, long: float, top: Array, tail: float) -> dict[str, Array]:
    high, gap = rng.uniform(62, 88), rng.uniform(1.2, 2.0)
    root = long - rng.uniform(62, 85)
    foot = top[top[:, 0] >= root]
    z0, peak = foot[-1, 1], foot[-1, 1] + high
    sweep = rng.uniform(0.35, 0.6) * (long - root)
    tip = (root + sweep, peak - rng.uniform(5, 9))
    leading = spline(np.array([
        foot[0], (root + 0.45 * sweep, foot[0, 1] + 0.5 * (tip[1] - foot[0, 1]) - rng.uniform(0, 3)), tip,
    ]))
    crown = spline(np.array([tip, (0.5 * (tip[0] + long), peak - 0.5), (long, peak)]))
    fin = np.vstack((leading, crown[1:], straight((long, peak), (long, z0))[1:-1], foot[::-1]))
    chord, x0 = rng.uniform(26, 40), long + gap
    low = tail - rng.uniform(0.0, 6.0)
    trailing = spline(np.array([
        (x0, peak), (x0 + 0.55 * chord, peak - 3.0), (x0 + 0.8 * chord, peak - 0.3 * high),
        (x0 + chord, peak - 0.75 * high), (x0 + 0.75 * chord, low + 5.0), (x0, low),
    ]))
    rudder = np.vstack((trailing, straight((x0, low), (x0, peak))[1:-1]))
    return {"fin": fin, "rudder": rudder}


def _inside(shape: Array, by: float) -> list[Array]:
    """The rings that lie ``by`` mm inside."""
    inner = shapely.Polygon(shape).buffer(-by, join_style="mitre")
    return [shapely.get_coordinates(part.exterior) for part in shapely.get_parts(inner)]


def _cut(line: Array, low: float, high: float) -> list[Array]:
    """The parts of a run between two stations."""
    inside = (line[:, 0] > low) & (line[:, 0] < high)
    change = np.flatnonzero(np.diff(np.concatenate(([False], inside, [False])).astype(int)))
    return [line[a:b] for a, b in zip(change[::2], change[1::2], strict=True) if b - a > 3]


def _formers(plane: Aeroplane, rng: np.random.Generator, *, double: bool) -> list[Line]:
    lines = []
    for x in np.arange(0.07, 0.97, rng.uniform(0.1, 0.14)) * plane.long:
        for at in (x, x + 3.0) if double else (x,):
            high = float(np.interp(at, *plane.top.T))
            low = float(np.interp(at, *plane.bottom.T))
            lines.append(Line(straight((at, low), (at, high)), 0.25, 0.9))
    return lines


def _dimensions(plane: Aeroplane, rng: np.random.Generator, ink: float) -> list[Line]:
    """Dimension lines with their witness lines, a centre line of dashes and dots, and lettering."""
    low = float(plane.bottom[:, 1].min())
    lines = []
    for n, (a, b) in enumerate(((0.0, 1.0), (0.0, 0.33), (0.33, 0.7))):
        z = low - 7.0 - 5.0 * n - rng.uniform(0, 2)
        x0, x1 = a * plane.long, b * plane.long
        lines.append(Line(straight((x0, z), (x1, z)), 0.18, ink))
        for x in (x0, x1):
            start = float(np.interp(x, *plane.bottom.T)) - 1.0
            lines.append(Line(straight((x, start), (x, z - 2.0)), 0.18, ink))
        lines += [Line(straight((x0, z), (x0 + 3, z + s)), 0.2, ink) for s in (0.7, -0.7)]
    x = -10.0
    while x < plane.long + 10:
        lines.append(Line(straight((x, 0.5), (x + 9, 0.5)), 0.18, ink))
        lines.append(Line(straight((x + 11, 0.5), (x + 12, 0.5)), 0.18, ink))
        x += 14.0
    for _ in range(30):
        at = np.array([rng.uniform(0.05, 0.8) * plane.long, plane.top[:, 1].max() + rng.uniform(8, 22)])
        lines.append(Line(at + rng.uniform(-1.5, 1.5, (4, 2)), 0.3, ink))
    return lines


def _wing(plane: Aeroplane, rng: np.random.Generator, ink: float) -> list[Line]:
    """A wing section seated in the body, a saddle that runs under it."""
    x0, chord = 0.27 * plane.long, 0.27 * plane.long
    t = np.linspace(0.0, 1.0, 80)
    thick = 0.6 * chord * (0.2969 * np.sqrt(t) - 0.126 * t - 0.3516 * t**2 + 0.2843 * t**3 - 0.1015 * t**4)
    z = float(np.interp(x0, *plane.bottom.T)) + 9.0
    upper = np.stack((x0 + t * chord, z + thick), axis=1)
    lower = np.stack((x0 + t * chord, z - 0.5 * thick), axis=1)
    saddle = lower + np.array([0.0, -rng.uniform(1.5, 2.5)])
    return [Line(upper, 0.3, ink), Line(lower, 0.3, ink), Line(saddle[8:-8], 0.3, ink)]


def _ribs(shape: Array, rng: np.random.Generator, ink: float) -> list[Line]:
    """Ribs across a surface, and an edge strip inside its outline."""
    polygon = shapely.Polygon(shape)
    low_x, low_z, high_x, high_z = polygon.bounds
    lines = []
    for z in np.arange(low_z + 12, high_z - 6, rng.uniform(14, 20)):
        for at in (z, z + 2.4):
            cut = polygon.intersection(shapely.LineString([(low_x - 1, at), (high_x + 1, at + 1.0)]))
            lines += [Line(shapely.get_coordinates(c), 0.25, ink) for c in shapely.get_parts(cut)]
    lines += [Line(ring, 0.25, ink) for ring in _inside(shape, rng.uniform(4.0, 6.0))]
    return lines


def _broken(points: Array, wide: float, ink: float, rng: np.random.Generator) -> list[Line]:
    """A stroke put down in bits, with breaks of 0.5 to 4 mm, some bits fainter."""
    away = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))))
    lines, at = [], 0.0
    while at < away[-1]:
        to = at + rng.uniform(15, 60)
        bit = points[(away >= at) & (away <= to)]
        if len(bit) > 1:
            lines.append(Line(bit, wide, ink * rng.uniform(0.65, 1.0)))
        at = to + rng.uniform(0.5, 4.0)
    return lines


def _overshot(points: Array, rng: np.random.Generator) -> Array:
    """A guide line: straight along a stretch of the outline's chord and past its ends."""
    a, b = points[0], points[-1]
    way = (b - a) / np.hypot(*(b - a))
    return straight(tuple(a - way * rng.uniform(4, 12)), tuple(b + way * rng.uniform(4, 12)))


def _closed(points: Array) -> Array:
    return np.vstack((points, points[:1]))


def _sheeted(plane: Aeroplane, rng: np.random.Generator) -> list[Line]:
    pen, o = rng.uniform(0.45, 0.6), plane.outlines
    lines = [Line(_closed(o[name]), pen) for name in PARTS]
    for ring in _inside(o["fuselage"], rng.uniform(1.6, 2.6)):
        lines += [Line(part, 0.3, 0.95) for part in _cut(ring, 0.08 * plane.long, 0.93 * plane.long)]
    lines += _formers(plane, rng, double=True) + _dimensions(plane, rng, 0.9) + _wing(plane, rng, 0.9)
    for name in ("fin", "rudder"):
        lines += _ribs(o[name], rng, 0.9)
    for z in (-4.0, 1.0):
        lines.append(Line(straight((0.1 * plane.long, z), (0.85 * plane.long, z + 6)), 0.25, 0.9))
    return lines


def _pencil(plane: Aeroplane, rng: np.random.Generator) -> list[Line]:
    lines: list[Line] = []
    for name in PARTS:
        lines += _broken(_closed(plane.outlines[name]), rng.uniform(0.4, 0.55), 1.0, rng)
    fin = plane.outlines["fin"]
    lines += [Line(_overshot(fin[:60], rng), 0.2, 0.5), Line(_overshot(plane.bottom[60:110], rng), 0.2, 0.5)]
    lines += [Line(line.points, 0.25, 0.7) for line in _formers(plane, rng, double=False)]
    lines += _dimensions(plane, rng, 0.6) + _wing(plane, rng, 0.7)
    lines += [Line(line.points, 0.25, 0.6) for line in _ribs(plane.outlines["rudder"], rng, 0.6)]
    return lines


def _blueprint(plane: Aeroplane, rng: np.random.Generator) -> list[Line]:
    lines = [Line(_closed(plane.outlines[name]), rng.uniform(0.4, 0.5), 1.0) for name in PARTS]
    for part in _cut(plane.top - np.array([0.0, 2.2]), 0.35 * plane.long, 0.9 * plane.long):
        lines.append(Line(part, 0.25, 0.85))
    lines += _formers(plane, rng, double=True) + _dimensions(plane, rng, 0.8) + _wing(plane, rng, 0.9)
    return lines + _ribs(plane.outlines["fin"], rng, 0.8)


_LINES: dict[Character, Callable[[Aeroplane, np.random.Generator], list[Line]]] = {
    "sheeted": _sheeted, "pencil": _pencil, "blueprint": _blueprint,
}


def _paper(ink: Array, character: Character, rng: np.random.Generator) -> Grey:
    """The ink on its paper, with shade, blotches, folds and grain."""
    height, width = ink.shape
    v, u = np.mgrid[0:height, 0:width].astype(np.float32)
    u, v = u / width, v / height

    def spots(rows: int, columns: int) -> Array:
        coarse = Image.fromarray(rng.random((rows, columns)).astype(np.float32))
        return np.asarray(coarse.resize((width, height), Image.Resampling.BICUBIC))

    blotch, tooth = spots(9, 17), spots(height // 2 + 1, width // 2 + 1)
    grain = rng.standard_normal(ink.shape, dtype=np.float32)
    if character == "sheeted":
        grey = (236 - 12 * u - 10 * blotch) * (1 - 0.8 * ink) + 6.0 * grain
    elif character == "pencil":
        grey = 214 - 14 * u - 16 * blotch - 75.0 * ink * (0.45 + 0.55 * tooth) + 5.0 * grain
    else:
        ground = 118 + 26 * u + 22 * blotch
        for fold in (0.34, 0.67):
            ground = ground + 30 * np.exp(-np.square((u - fold) * width / 5.0))
        grey = ground + (62 - 14 * v) * ink * (0.7 + 0.3 * tooth) + 6.0 * grain
    return np.clip(np.round(grey), 0, 255).astype(np.uint8)


def plan(character: Character, seed: int, dpi: float | None = None, scale: float = 1.0) -> Plan:
    """A plan in this style; 150 to 300 dpi and up to 2° askew by the seed."""
    rng = np.random.default_rng([seed, CHARACTERS.index(character), 29])
    plane = aeroplane(seed + 100 * CHARACTERS.index(character), scale)
    dpi = dpi or float(rng.choice([150.0, 200.0, 300.0]))
    lines = sorted(_LINES[character](plane, rng), key=lambda line: line.ink)
    k, a = dpi / 25.4, np.radians(rng.uniform(-2, 2))
    linear = k * np.array([[np.cos(a), np.sin(a)], [np.sin(a), -np.cos(a)]])
    placed = np.vstack([line.points for line in lines]) @ linear.T
    low = placed.min(axis=0) - _MARGIN * k
    width, height = np.ceil(placed.max(axis=0) + _MARGIN * k - low).astype(int)
    canvas = Image.new("L", (int(width) * FINE, int(height) * FINE), 0)
    pen = ImageDraw.Draw(canvas)
    for line in lines:
        shade = round(255 * line.ink)
        run = [(float(u), float(v)) for u, v in (line.points @ linear.T - low) * FINE - 0.5]
        thick = line.wide * k * FINE
        pen.line(run, fill=shade, width=max(1, round(thick)), joint="curve")
        for u, v in (run[0], run[-1]):
            pen.ellipse((u - thick / 2, v - thick / 2, u + thick / 2, v + thick / 2), fill=shade)
    ink = np.asarray(canvas.reduce(FINE), dtype=np.float32) / 255
    matrix = np.eye(3)
    matrix[:2, :2], matrix[:2, 2] = linear, -low
    return Plan(_paper(ink, character, rng), matrix, dpi, plane.outlines, plane.long)


def loose_pen(outline: Array, seed: int) -> Array:
    """(N, 2) mm: a hand that goes once round, up to 3 to 5 mm beside the line, corners cut.

    It begins anywhere, and its end misses the beginning by up to a centimetre, before or beyond it.
    """
    rng = np.random.default_rng([seed, 41])
    away = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(_closed(outline), axis=0).T))))
    start, span = rng.random() * away[-1], away[-1] + rng.uniform(-10, 10)
    at = np.arange(0.0, span, 0.5) + start
    run = np.stack([np.interp(at % away[-1], away, column) for column in _closed(outline).T], axis=1)
    run = _soft(run, 8.0)
    wobble = _soft(rng.standard_normal((len(run) + 400, 2)), 36.0)[200:-200]
    wobble *= rng.uniform(3, 5) / np.hypot(*wobble.T).max()
    return run + wobble


def _soft(values: Array, sigma: float) -> Array:
    reach = round(3 * sigma)
    weights = np.exp(-0.5 * np.square(np.arange(-reach, reach + 1) / sigma))
    wide = np.pad(values, ((reach, reach), (0, 0)), mode="edge")
    return np.stack([np.convolve(wide[:, i], weights / weights.sum(), "valid") for i in (0, 1)], axis=1)


__all__ = ["CHARACTERS", "PARTS", "Plan", "loose_pen", "plan"]
