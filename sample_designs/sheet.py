"""A draughtsman's sheet: strokes, solid patches and lettering, all in mm of the full-size plan."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring
from shaping import Points, Tracing, area_of, runs

from core.design import Vector

HEAVY, MEDIUM, THIN = 0.7, 0.36, 0.2
DASH, CENTRE = (5.0, 2.2), (14.0, 2.0, 2.0, 2.0)


@dataclass(frozen=True)
class Stroke:
    points: Points
    width: float
    dash: tuple[float, ...] | None = None


@dataclass(frozen=True)
class Lettering:
    """Text of a capital height of about 0.7 × ``size`` (mm); ``anchor`` as Pillow has it (lm, mm, rm)."""

    text: str
    x: float
    z: float
    size: float
    degrees: float = 0.0
    anchor: str = "mm"
    spacing: float = 0.06


@dataclass
class Sheet:
    """What is drawn; filled in by the aeroplane modules, read by ``paper``."""

    strokes: list[Stroke] = field(default_factory=list)
    patches: list[Points] = field(default_factory=list)
    letters: list[Lettering] = field(default_factory=list)

    def line(
        self, points: Sequence[Vector] | Points, width: float = MEDIUM, dash: tuple[float, ...] | None = None
    ) -> None:
        self.strokes.append(Stroke(np.asarray(points, dtype=np.float64), width, dash))

    def loop(
        self, points: Sequence[Vector] | Points, width: float = MEDIUM, dash: tuple[float, ...] | None = None
    ) -> None:
        closed = np.asarray(points, dtype=np.float64)
        self.line(np.vstack([closed, closed[:1]]), width, dash)

    def text(
        self,
        text: str,
        x: float,
        z: float,
        size: float = 4.2,
        degrees: float = 0.0,
        anchor: str = "mm",
        spacing: float = 0.06,
    ) -> None:
        self.letters.append(Lettering(text, x, z, size, degrees, anchor, spacing))

    def within(
        self,
        room: BaseGeometry,
        points: Sequence[Vector] | Points,
        width: float = MEDIUM,
        dash: tuple[float, ...] | None = None,
    ) -> None:
        """The part of a polyline that lies in a region."""
        cut = LineString(points).intersection(room)
        for part in getattr(cut, "geoms", [cut]):
            if isinstance(part, LineString) and part.length > 0.5:
                self.line(np.asarray(part.coords), width, dash)

    def tracing(self, tracing: Tracing) -> None:
        """An outline: its inked edges heavy, the hidden ones dashed."""
        for run in runs(tracing):
            self.line(run, tracing.stroke)
        if tracing.hidden_dashed:
            for run in runs(tracing, inked=False):
                self.line(run, THIN, DASH)

    def inset(
        self,
        tracing: Tracing,
        depth: float,
        room: BaseGeometry | None = None,
        width: float = MEDIUM,
        dash: tuple[float, ...] | None = None,
    ) -> BaseGeometry:
        """The inner edge of a frame round an outline, trimmed to a room; returns what is inside it."""
        inner = area_of(tracing).buffer(-depth, join_style="mitre")
        for part in getattr(inner, "geoms", [inner]):
            ring = np.asarray(part.exterior.coords)
            if room is None:
                self.line(ring, width, dash)
            else:
                self.within(room, ring, width, dash)
        return inner if room is None else inner.intersection(room)

    def upright(
        self, room: BaseGeometry, x: float, thick: float = 3.0, label: str = "", label_z: float = 0.0
    ) -> None:
        """A former or upright seen edge on, with its label."""
        for at in (x, x + thick):
            self.within(room, [(at, -900.0), (at, 900.0)])
        if label:
            self.text(label, x + thick + 5.5, label_z, 4.0)

    def strip(self, room: BaseGeometry, start: Vector, end: Vector, width: float) -> None:
        """A strip of wood between two points, trimmed to the room."""
        dx, dz = end[0] - start[0], end[1] - start[1]
        length = math.hypot(dx, dz)
        nx, nz = -dz / length * width / 2, dx / length * width / 2
        for side in (1.0, -1.0):
            self.within(
                room, [(start[0] + side * nx, start[1] + side * nz), (end[0] + side * nx, end[1] + side * nz)]
            )

    def grain(self, x: float, z: float, length: float = 26.0, degrees: float = 0.0) -> None:
        """The double arrow that shows the run of the grain."""
        c, s = math.cos(math.radians(degrees)) * length / 2, math.sin(math.radians(degrees)) * length / 2
        self.line([(x - c, z - s), (x + c, z + s)], THIN)
        self._head((x - c, z - s), (-c, -s), 3.0)
        self._head((x + c, z + s), (c, s), 3.0)

    def _head(self, tip: Vector, along: Vector, length: float = 4.0) -> None:
        size = math.hypot(*along)
        ux, uz = along[0] / size, along[1] / size
        back = (tip[0] - ux * length, tip[1] - uz * length)
        wide = length * 0.17
        self.patches.append(
            np.array(
                [tip, (back[0] - uz * wide, back[1] + ux * wide), (back[0] + uz * wide, back[1] - ux * wide)]
            )
        )

    def dimension(
        self, start: Vector, end: Vector, at: float, text: str, *, upright: bool = False, size: float = 4.2
    ) -> None:
        """Extension lines from two points to a dimension line at z (x where upright), arrows, figure."""
        if upright:
            a, b = (at, start[1]), (at, end[1])
        else:
            a, b = (start[0], at), (end[0], at)
        for point, foot in ((start, a), (end, b)):
            dx, dz = foot[0] - point[0], foot[1] - point[1]
            reach = math.hypot(dx, dz)
            if reach > 4.0:
                k0, k1 = 2.0 / reach, 1.0 + 2.0 / reach
                self.line(
                    [(point[0] + dx * k0, point[1] + dz * k0), (point[0] + dx * k1, point[1] + dz * k1)], THIN
                )
        dx, dz = b[0] - a[0], b[1] - a[1]
        length = math.hypot(dx, dz)
        gap = (len(text) * size * 0.62 + 4.0) / 2 / length
        for k0, k1 in ((0.0, 0.5 - gap), (0.5 + gap, 1.0)):
            self.line([(a[0] + dx * k0, a[1] + dz * k0), (a[0] + dx * k1, a[1] + dz * k1)], THIN)
        self._head(a, (-dx, -dz))
        self._head(b, (dx, dz))
        self.text(text, a[0] + dx / 2, a[1] + dz / 2, size, 90.0 if upright else 0.0)

    def leader(self, text: str, x: float, z: float, to: Vector, size: float = 4.0) -> None:
        """A note with a line and an arrow to what it is about; it stands on the far side of (x, z)."""
        right = to[0] <= x
        self.line([(x, z), (x + (-6.0 if right else 6.0), z), to], THIN)
        knee = (x + (-6.0 if right else 6.0), z)
        self._head(to, (to[0] - knee[0], to[1] - knee[1]), 3.4)
        self.text(text, x + (1.5 if right else -1.5), z, size, anchor="lm" if right else "rm")

    def cg_sign(self, x: float, z: float, radius: float = 8.0) -> None:
        """The quartered circle."""
        angle = np.linspace(0.0, 2 * math.pi, 49)
        self.line(np.column_stack([x + radius * np.cos(angle), z + radius * np.sin(angle)]), MEDIUM)
        for start in (0.0, math.pi):
            quarter = np.linspace(start, start + math.pi / 2, 13)
            arc = np.column_stack([x + radius * np.cos(quarter), z + radius * np.sin(quarter)])
            self.patches.append(np.vstack([[(x, z)], arc]))
        self.line([(x - 1.7 * radius, z), (x + 1.7 * radius, z)], THIN)
        self.line([(x, z - 1.7 * radius), (x, z + 1.7 * radius)], THIN)

    def circle(
        self, x: float, z: float, radius: float, width: float = MEDIUM, dash: tuple[float, ...] | None = None
    ) -> None:
        angle = np.linspace(0.0, 2 * math.pi, 65)
        self.line(np.column_stack([x + radius * np.cos(angle), z + radius * np.sin(angle)]), width, dash)

    def scale_bar(self, x: float, z: float, step: float, steps: int, names: Sequence[str], unit: str) -> None:
        """A bar of alternating fields with the figures over it."""
        height = 4.0
        self.loop([(x, z), (x + step * steps, z), (x + step * steps, z + height), (x, z + height)], MEDIUM)
        for i in range(steps):
            if i % 2 == 0:
                left = x + i * step
                self.patches.append(
                    np.array(
                        [
                            (left, z + height / 2),
                            (left + step, z + height / 2),
                            (left + step, z + height),
                            (left, z + height),
                        ]
                    )
                )
            else:
                left = x + i * step
                self.patches.append(
                    np.array(
                        [(left, z), (left + step, z), (left + step, z + height / 2), (left, z + height / 2)]
                    )
                )
        for i, name in enumerate(names):
            self.text(name, x + i * step, z + height + 4.0, 4.0)
        self.text(unit, x + step * steps + 8.0, z + height + 4.0, 4.0, anchor="lm")

    def title_block(
        self,
        x: float,
        z: float,
        width: float,
        title: str,
        rows: Sequence[tuple[str, str]],
        title_size: float = 13.0,
    ) -> None:
        """A framed block, its lower left corner at (x, z)."""
        row, head = 8.0, title_size * 1.7
        height = row * ((len(rows) + 1) // 2) + head + 2.0
        frame = [(x, z), (x + width, z), (x + width, z + height), (x, z + height)]
        self.loop(frame, HEAVY)
        self.loop(
            [(px + (1.6 if px == x else -1.6), pz + (1.6 if pz == z else -1.6)) for px, pz in frame], THIN
        )
        self.text(title, x + width / 2, z + height - head / 2, title_size, spacing=0.12)
        for i, (name, value) in enumerate(rows):
            left = x + (i % 2) * width / 2
            top = z + height - head - (i // 2) * row
            if i % 2 == 0:
                self.line([(x + 1.6, top), (x + width - 1.6, top)], THIN)
            self.text(name, left + 4.0, top - row / 2, 3.2, anchor="lm")
            self.text(value, left + width * 0.19, top - row / 2, 4.4, anchor="lm")
        self.line([(x + width / 2, z + 1.6), (x + width / 2, z + height - head)], THIN)

    def window(
        self,
        corners: Sequence[Vector],
        rounding: float = 7.0,
        width: float = MEDIUM,
        dash: tuple[float, ...] | None = None,
    ) -> None:
        """A rounded pane."""
        pane: BaseGeometry = Polygon(corners).buffer(-rounding).buffer(rounding)
        if isinstance(pane, Polygon) and not pane.is_empty:
            self.line(np.asarray(pane.exterior.coords), width, dash)


def dashes(points: Points, pattern: tuple[float, ...] | None) -> list[LineString]:
    """A polyline cut into the dashes of a pattern (on, off, on, off, ... in mm)."""
    whole = LineString(points)
    if pattern is None:
        return [whole]
    pieces: list[BaseGeometry] = []
    at, i = 0.0, 0
    while at < whole.length:
        step = pattern[i % len(pattern)]
        if i % 2 == 0:
            pieces.append(substring(whole, at, min(at + step, whole.length)))
        at, i = at + step, i + 1
    return [piece for piece in pieces if isinstance(piece, LineString)]
