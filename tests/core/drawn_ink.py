"""Pictures of known curves for the ink tests: drawn with Pillow, four times finer, and spoilt in known ways.

Nothing here comes from the tracer. Shapes are in mm with z up; a picture has its origin at the lower left.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

Array = NDArray[np.float64]
Grey = NDArray[np.uint8]
Spoiling = Literal["clean", "noisy", "jpeg 30", "one bit", "pencil"]
MARGIN = 15.0
FINE = 4


@dataclass(frozen=True)
class Shape:
    """A closed outline of cubics: ``control`` (N, 4, 2) in mm; ``corners`` (K, 2): where it turns sharply."""

    control: Array
    corners: Array
    clicks: Array = field(default_factory=lambda: np.zeros((0, 2)))

    def points(self, per_edge: int = 200) -> Array:
        t = np.linspace(0.0, 1.0, per_edge, endpoint=False)[:, None]
        s = 1 - t
        return np.vstack(
            [s**3 * c[0] + 3 * s * s * t * c[1] + 3 * s * t * t * c[2] + t**3 * c[3] for c in self.control]
        )


@dataclass(frozen=True)
class Picture:
    """``grey`` and the true 3×3 from mm to pixels."""

    grey: Grey
    mm_to_px: Array

    def px(self, mm: Array) -> Array:
        return np.asarray(mm @ self.mm_to_px[:2, :2].T + self.mm_to_px[:2, 2])

    def mm(self, px: Array) -> Array:
        back = np.linalg.inv(self.mm_to_px)
        return np.asarray(px @ back[:2, :2].T + back[:2, 2])


def _edge(a: Array, b: Array, out: float, into: float) -> Array:
    """A cubic from a to b that leaves and arrives at angles (degrees) off the chord."""
    chord = b - a

    def turned(angle: float) -> Array:
        c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        return np.array([c * chord[0] - s * chord[1], s * chord[0] + c * chord[1]]) / 3.0

    return np.array([a, a + turned(out), b - turned(into), b])


def fin(seed: int) -> Shape:
    """Four to six corners, straight and curved edges between them; 60 to 120 mm high."""
    rng = np.random.default_rng(seed)
    high, chord = rng.uniform(60, 120), rng.uniform(60, 110)
    tip, sweep = chord * rng.uniform(0.4, 0.7), rng.uniform(0.2, 0.6) * chord
    places = [(0, 0), (sweep, high), (sweep + tip, high * rng.uniform(0.9, 1.0)), (chord * 1.05, 0)]
    if seed % 3 == 0:
        places.insert(1, (0.3 * sweep, 0.25 * high))
    if seed % 2:
        places.insert(-1, (chord * 1.15, 0.45 * high))
    corners = np.array(places, dtype=np.float64)
    bends = np.where(rng.random((len(corners), 2)) < 0.35, 0.0, rng.normal(0.0, 9.0, (len(corners), 2)))
    edges = [
        _edge(corners[i], corners[(i + 1) % len(corners)], bends[i, 0], bends[i, 1])
        for i in range(len(corners))
    ]
    return Shape(np.array(edges), corners, corners)


def fuselage(seed: int) -> Shape:
    """A long body: smooth but for one or two corners; 240 to 320 mm long."""
    rng = np.random.default_rng(seed)
    long = rng.uniform(240, 320)
    at = np.array([0.0, 0.12, 0.4, 0.75, 1.0]) * long
    top = np.array([0.0, 22.0, 38.0, 24.0, 12.0]) * rng.uniform(0.85, 1.2, 5)
    below = np.array([0.0, -16.0, -24.0, -14.0, -2.0]) * rng.uniform(0.85, 1.2, 5)
    nodes = [(at[i], top[i]) for i in range(5)] + [(at[i], below[i]) for i in range(4, 0, -1)]
    points = np.array(nodes)
    total = len(points)
    around = np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0)
    around /= np.hypot(around[:, 0], around[:, 1])[:, None]
    sharp = [4, 5]
    edges = []
    for i in range(total):
        a, b = points[i], points[(i + 1) % total]
        reach = np.hypot(*(b - a)) / 3
        out = (b - a) / 3 if i in sharp else around[i] * reach
        into = (b - a) / 3 if (i + 1) % total in sharp else around[(i + 1) % total] * reach
        edges.append(np.array([a, a + out, b - into, b]))
    return Shape(np.array(edges), points[sharp], points)


def drawn(
    lines: Sequence[tuple[Array, float]], dpi: float, size_mm: tuple[float, float], *,
    filled: Sequence[Array] = (), turn_deg: float = 0.0, shear: float = 0.0,
) -> tuple[Array, Array]:
    """(ink, mm_to_px): how much of each pixel is inked, 0 to 1, of polylines with a round pen of mm width."""
    k, a = dpi / 25.4, math.radians(turn_deg)
    turn = np.array([[math.cos(a), -math.sin(a)], [math.sin(a), math.cos(a)]])
    linear = k * turn @ np.array([[1.0, shear], [0.0, -1.0]])
    box = np.array([[0, 0], [size_mm[0], 0], [0, size_mm[1]], size_mm]) @ linear.T
    low = box.min(axis=0) - MARGIN * k
    width, height = np.ceil(box.max(axis=0) + MARGIN * k - low).astype(int)
    matrix = np.eye(3)
    matrix[:2, :2], matrix[:2, 2] = linear, -low
    canvas = Image.new("L", (int(width) * FINE, int(height) * FINE), 0)
    pen = ImageDraw.Draw(canvas)

    def fine(points: Array) -> list[tuple[float, float]]:
        placed = (points @ linear.T - low) * FINE - 0.5
        return [(float(u), float(v)) for u, v in placed]

    for shape in filled:
        pen.polygon(fine(shape), fill=255)
    for points, wide in lines:
        radius = wide * k * FINE / 2
        away = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))))
        at = np.arange(0.0, away[-1], 0.25 * wide)
        dense = np.stack((np.interp(at, away, points[:, 0]), np.interp(at, away, points[:, 1])), axis=1)
        pen.line(fine(points), fill=255, width=max(1, round(2 * radius)))
        for u, v in fine(dense):
            pen.ellipse((u - radius, v - radius, u + radius, v + radius), fill=255)
    return np.asarray(canvas.reduce(FINE), dtype=np.float64) / 255.0, matrix


def spoilt(ink: Array, how: Spoiling, seed: int) -> Grey:
    """A grey picture: shaded paper with grain, and what the name says done to it."""
    rng = np.random.default_rng(seed)
    height, width = ink.shape
    v, u = np.mgrid[0:height, 0:width]
    shade = 225.0 - 30.0 * u / width - 15.0 * np.square(v / height - 0.5)
    if how == "clean":
        return np.asarray(np.round(235.0 - 205.0 * ink), dtype=np.uint8)
    if how == "pencil":
        # Graphite takes on the tooth of the paper: patchy, some 40 of 225 dark, under a grain of 5.
        coarse = rng.random((height // 2 + 1, width // 2 + 1)).astype(np.float32)
        tooth = np.asarray(Image.fromarray(coarse).resize((width, height)))
        grey = shade - 60.0 * ink * (0.4 + 0.6 * tooth) + rng.normal(0.0, 5.0, ink.shape)
        return np.clip(np.round(grey), 0, 255).astype(np.uint8)
    grain = {"noisy": 14.0, "jpeg 30": 4.0, "one bit": 12.0}[how]
    grey = shade * (1.0 - 0.85 * ink) + rng.normal(0.0, grain, ink.shape)
    if how == "one bit":
        return np.where(grey < 130.0, 0, 255).astype(np.uint8)
    picture = np.clip(np.round(grey), 0, 255).astype(np.uint8)
    if how == "jpeg 30":
        held = io.BytesIO()
        Image.fromarray(picture).save(held, "JPEG", quality=30)
        with Image.open(io.BytesIO(held.getvalue())) as opened:
            return np.asarray(opened.convert("L"))
    return picture


def picture_of(
    shape: Shape, dpi: float, how: Spoiling, seed: int, *, pen_mm: float = 0.6, clutter: bool = False,
    filled: bool = False, turn_deg: float = 0.0, shear: float = 0.0, gaps_mm: float = 0.0,
) -> Picture:
    """The shape on paper; with ``clutter`` thin lines cross it, bits of ``gaps_mm`` are missing."""
    points = shape.points()
    low = points.min(axis=0)
    run = np.vstack((points, points[:1])) - low
    size = np.ptp(points, axis=0)
    lines: list[tuple[Array, float]] = []
    if gaps_mm:
        away = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(run, axis=0).T))))
        starts = (np.array([0.11, 0.43, 0.77]) + 0.05 * np.random.default_rng(seed).random(3)) * away[-1]
        stops = [0.0, *starts + gaps_mm]
        for begin, end in zip(stops, [*starts, away[-1]], strict=True):
            lines.append((run[(away >= begin) & (away <= end)], pen_mm))
    elif not filled:
        lines.append((run, pen_mm))
    if clutter:
        rng = np.random.default_rng(seed + 1000)
        for part in rng.uniform(0.15, 0.85, 3):
            at, lean = part * size[0], rng.normal(0.0, 12.0)
            lines.append((np.array([[at - lean, -10.0], [at + lean, size[1] + 10.0]]), 0.2))
        for part in rng.uniform(0.2, 0.8, 2):
            lines.append((np.array([[-10.0, part * size[1]], [size[0] + 10.0, part * size[1]]]), 0.2))
    ink, matrix = drawn(
        lines, dpi, (float(size[0]), float(size[1])), filled=[run] if filled else (), turn_deg=turn_deg,
        shear=shear,
    )
    matrix[:2, 2] -= matrix[:2, :2] @ low
    return Picture(spoilt(ink, how, seed), matrix)


def curve_points(joints: Sequence[object], *, closed: bool, per_edge: int = 60) -> Array:
    """The fitted curve as points, evaluated here from the joints' own numbers."""
    count = len(joints)
    t = np.linspace(0.0, 1.0, per_edge)[:, None]
    s = 1 - t
    out = []
    for i in range(count if closed else count - 1):
        a, b = joints[i], joints[(i + 1) % count]
        p0, p3 = np.array([a.x, a.z]), np.array([b.x, b.z])  # type: ignore[attr-defined]
        p1 = p0 + np.array(a.handle_out or (0.0, 0.0))  # type: ignore[attr-defined]
        p2 = p3 + np.array(b.handle_in or (0.0, 0.0))  # type: ignore[attr-defined]
        if a.handle_out is None and b.handle_in is None:  # type: ignore[attr-defined]
            p1, p2 = p0 + (p3 - p0) / 3, p3 - (p3 - p0) / 3
        out.append(s**3 * p0 + 3 * s * s * t * p1 + 3 * s * t * t * p2 + t**3 * p3)
    return np.vstack(out)
