"""Side views as plans show them: formers, ribs, sheeting, dimension lines, lettering, spoilt in known ways.

Shapes are united by shapely and drawn with Pillow; nothing here comes from the tracer. In mm with z up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
import shapely.ops
from drawn_ink import Array, Grey, Picture, drawn, spoilt
from PIL import Image, ImageDraw, ImageFont

Character = Literal["box", "round", "boom"]
Paper = Literal["clean", "noisy", "jpeg 30", "one bit", "pencil", "blueprint"]
Line = tuple[Array, float]
ROOM = 45.0
"""mm of paper around the side view."""


@dataclass(frozen=True)
class SideView:
    """``outline``: all that the aeroplane covers. ``own`` lines draw it, ``about`` what is around it."""

    outline: shapely.Polygon
    own: tuple[Line, ...]
    about: tuple[Line, ...]
    words: tuple[tuple[float, float, str], ...]

    def lasso(self, seed: int, off: float = 11.0) -> Array:
        """A loop drawn loosely round it by an unsteady hand, about ``off`` mm away; it closes past itself."""
        ring = shapely.buffer(self.outline.convex_hull, off).exterior
        rng = np.random.default_rng(seed)
        at = np.linspace(0.0, 1.03, 90)
        points = shapely.get_coordinates(shapely.line_interpolate_point(ring, at % 1.0, normalized=True))
        wobble = np.cumsum(rng.normal(0.0, 0.8, points.shape), axis=0)
        return np.asarray(points + wobble - wobble.mean(axis=0))


def _smooth(points: Array, per: int = 30) -> Array:
    """A closed curve through points: cubics with chord tangents (Catmull and Rom, 1974; from memory)."""
    before, after, last = np.roll(points, 1, 0), np.roll(points, -1, 0), np.roll(points, -2, 0)
    t = np.linspace(0.0, 1.0, per, endpoint=False)[:, None, None]
    run = 0.5 * (
        2 * points + (after - before) * t + (2 * before - 5 * points + 4 * after - last) * t**2
        + (3 * points - before - 3 * after + last) * t**3
    )
    return np.asarray(run.transpose(1, 0, 2).reshape(-1, 2))


def _loop(shape: shapely.Polygon) -> Array:
    return shapely.get_coordinates(shape.exterior)


def _cut(line: Array, shape: shapely.Geometry) -> list[Array]:
    """What of a line lies within a shape."""
    inside = shapely.intersection(shapely.LineString(line), shape)
    return [shapely.get_coordinates(part) for part in shapely.get_parts(inside) if part.length > 1.0]


def _upright(x: float, low: float, high: float) -> Array:
    return np.array([[x, low], [x, high]])


def side_view(
    character: Character, seed: int, *, pen: float = 0.6, thin: float = 0.25, overall: bool = True,
    touching: bool = False,
) -> SideView:
    """A side view 230 to 290 mm long, with its own lines in ``pen`` mm and what is about it in ``thin``.

    With ``overall`` extension lines go down to a dimension line below it; ``touching``: they begin on the
    outline itself and not beside it.
    """
    rng = np.random.default_rng(seed)
    long = rng.uniform(230, 290)
    body, fin = {"box": _box, "round": _round, "boom": _boom}[character](rng, long)
    outline = shapely.union(body, fin)
    assert isinstance(outline, shapely.Polygon)
    own: list[Line] = [(_loop(body), pen), (_loop(fin), pen)]
    for part in np.sort(rng.uniform(0.08, 0.92, 9)):
        x = part * long
        for beside in (0.0, 2.4):
            own += [(cut, 0.8 * pen) for cut in _cut(_upright(x + beside, -200, 200), body)]
    low_x, low, high_x, high = fin.bounds
    for part in (0.3, 0.6, 0.85):
        across = np.array([[low_x - 9, low + part * (high - low)], [high_x + 9, low + part * (high - low)]])
        own += [(cut, 0.8 * pen) for cut in _cut(across, fin)]
    hinge = np.array([[low_x + 0.62 * (high_x - low_x), low - 9], [low_x + 0.7 * (high_x - low_x), high + 9]])
    own += [(cut, pen) for cut in _cut(hinge, fin)]
    if character != "box":
        sheeting = shapely.buffer(body, -1.6)
        own += [(_loop(part), pen) for part in shapely.get_parts(sheeting) if part.area > 50.0]
    else:
        longeron = shapely.buffer(body, -5.0)
        own += [(_loop(part), 0.7 * pen) for part in shapely.get_parts(longeron) if part.area > 50.0]
    about = _about(rng, long, outline, thin, overall, touching)
    low, high = outline.bounds[1], outline.bounds[3]
    words = [(0.1 * long, low - 8.0, "F3 PLY 3 mm"), (0.45 * long, high - 9.0, "HINGE")]
    if overall:
        words.append((0.5 * long, low - 15.0, f"{long:.0f}"))
    return SideView(outline, tuple(own), tuple(about), tuple(words))


def _box(rng: np.random.Generator, long: float) -> tuple[shapely.Polygon, shapely.Polygon]:
    """Slab-sided with a cabin, and an upright fin."""
    deep = 0.13 * long * rng.uniform(0.9, 1.2)
    body = np.array(
        [[0, 0.1 * deep], [0.02 * long, deep * 0.8], [0.25 * long, deep * 0.85], [0.31 * long, deep * 1.4],
         [0.52 * long, deep * 1.35], [0.62 * long, deep * 0.95], [long, deep * 0.6], [long, 0.35 * deep],
         [0.55 * long, -0.1 * deep], [0.06 * long, -0.12 * deep]]
    )
    x, z = 0.82 * long, deep * 0.7
    fin = np.array(
        [[x, z], [x + 0.04 * long, z + 0.19 * long], [x + 0.16 * long, z + 0.2 * long],
         [x + 0.19 * long, 0.38 * deep], [x + 0.1 * long, 0.45 * deep]]
    )
    return shapely.Polygon(body), shapely.Polygon(fin)


def _round(rng: np.random.Generator, long: float) -> tuple[shapely.Polygon, shapely.Polygon]:
    """Round throughout, with a canopy and a swept fin."""
    deep = 0.15 * long * rng.uniform(0.9, 1.1)
    body = _smooth(
        np.array(
            [[0, 0], [0.06 * long, 0.4 * deep], [0.2 * long, 0.6 * deep], [0.3 * long, 1.05 * deep],
             [0.42 * long, 1.1 * deep], [0.52 * long, 0.7 * deep], [0.75 * long, 0.45 * deep],
             [long, 0.25 * deep], [0.97 * long, 0.02 * deep], [0.7 * long, -0.2 * deep],
             [0.35 * long, -0.4 * deep], [0.08 * long, -0.28 * deep]]
        )
    )
    x, z = 0.76 * long, 0.35 * deep
    fin = np.array(
        [[x, z], [x + 0.13 * long, z + 0.17 * long], [x + 0.17 * long, z + 0.19 * long],
         [x + 0.22 * long, z + 0.18 * long], [x + 0.235 * long, 0.16 * deep], [x + 0.1 * long, 0.2 * deep]]
    )
    return shapely.Polygon(body), shapely.Polygon(fin)


def _boom(rng: np.random.Generator, long: float) -> tuple[shapely.Polygon, shapely.Polygon]:
    """A pod on a thin boom, and a fin that tapers to a point above and below it."""
    deep = 0.14 * long * rng.uniform(0.9, 1.1)
    body = _smooth(
        np.array(
            [[0, 0], [0.05 * long, 0.35 * deep], [0.18 * long, 0.62 * deep], [0.3 * long, 0.6 * deep],
             [0.42 * long, 0.28 * deep], [0.6 * long, 0.17 * deep], [0.8 * long, 0.14 * deep],
             [long, 0.1 * deep], [long, -0.04 * deep], [0.8 * long, -0.06 * deep], [0.6 * long, -0.08 * deep],
             [0.42 * long, -0.2 * deep], [0.2 * long, -0.42 * deep], [0.05 * long, -0.25 * deep]]
        )
    )
    x = 0.85 * long
    fin = np.array(
        [[x, 0], [x + 0.1 * long, 0.16 * long], [x + 0.16 * long, 0.165 * long], [x + 0.17 * long, 0],
         [x + 0.12 * long, -0.05 * long]]
    )
    return shapely.Polygon(body), shapely.Polygon(fin)


def _about(
    rng: np.random.Generator, long: float, outline: shapely.Polygon, thin: float, overall: bool,
    touching: bool,
) -> list[Line]:
    low, high = outline.bounds[1], outline.bounds[3]
    out: list[Line] = []
    # The datum line, broken into long and short, runs out of both ends.
    at, z = -30.0, 2.0
    while at < long + 30.0:
        for begin, stop in ((0.0, 14.0), (16.5, 18.5)):
            out.append((np.array([[at + begin, z], [at + stop, z]]), thin))
        at += 21.0
    # Section marks through two formers, which run out above and below.
    for part in rng.uniform(0.15, 0.6, 2):
        out.append((_upright(part * long, low - 9.0, 0.5 * high + 12.0), thin))
    # A leader from some words to the bottom.
    spot = 0.15 * long
    foot = max(float(cut[:, 1].min()) for cut in _cut(_upright(spot, -200, 0.0), outline)[:1])
    out.append((np.array([[spot, foot + 3.0], [spot - 8.0, low - 6.0]]), thin))
    if overall:
        ends = shapely.get_coordinates(outline)
        nose, tail = ends[np.argmin(ends[:, 0])], ends[np.argmax(ends[:, 0])]
        off = 0.0 if touching else 1.8
        for x, z in (nose, tail):
            out.append((_upright(x, low - 19.0, z - off), thin))
        out.append((np.array([[nose[0], low - 16.0], [tail[0], low - 16.0]]), thin))
        for x, way in ((nose[0], 1.0), (tail[0], -1.0)):
            tips = np.array([[x + way * 3.0, low - 15.2], [x, low - 16.0], [x + way * 3.0, low - 16.8]])
            out.append((tips, thin))
    # A section drawn small, apart, and stray marks.
    out.append((_smooth(np.array([[0.5, 0], [0.62, 0.04], [0.62, 0.1], [0.5, 0.11], [0.45, 0.05]]) * long
                        + np.array([0.1 * long, high * 0.5 + 12.0])), thin))
    for _ in range(12):
        spot_at = np.array([rng.uniform(0, long), high + rng.uniform(2.0, 9.0)])
        out.append((spot_at + np.array([[0.0, 0.0], [0.3, 0.2]]), 0.3))
    return out


def broken(line: Array, gaps: int, wide: float, rng: np.random.Generator) -> list[Array]:
    """A line with so many gaps of ``wide`` mm, at random and apart."""
    way = shapely.LineString(line)
    starts = (np.arange(gaps) + rng.uniform(0.1, 0.8, gaps)) / gaps * way.length
    lines, at = [], 0.0
    for start in [*starts, way.length]:
        if start > at:
            lines.append(shapely.get_coordinates(shapely.ops.substring(way, at, float(start))))
        at = float(start) + wide
    return lines


def plan_of(
    view: SideView, dpi: float, paper: Paper, seed: int, *, gaps: int = 0, gap_mm: float = 0.0,
    turn_deg: float = 0.0,
) -> Picture:
    """The side view on paper; its two longest lines with ``gaps`` of ``gap_mm`` each."""
    rng = np.random.default_rng(seed + 77)
    low_x, low, high_x, high = view.outline.bounds
    shift = np.array([ROOM - low_x, ROOM - low])
    lines: list[Line] = []
    for i, (points, wide) in enumerate((*view.own, *view.about)):
        pieces = broken(points, gaps, gap_mm, rng) if gaps and i < 2 else [points]
        lines += [(piece + shift, wide) for piece in pieces]
    size = (high_x - low_x + 2 * ROOM, high - low + 2 * ROOM)
    ink, matrix = drawn(lines, dpi, size, turn_deg=turn_deg)
    matrix[:2, 2] += matrix[:2, :2] @ shift
    ink = np.maximum(ink, _lettering(view, ink.shape, matrix, dpi))
    return Picture(_blue(ink, seed) if paper == "blueprint" else spoilt(ink, paper, seed), matrix)


def _lettering(view: SideView, shape: tuple[int, ...], matrix: Array, dpi: float) -> Array:
    page = Image.new("L", shape[::-1], 0)
    pen, font = ImageDraw.Draw(page), ImageFont.load_default(3.5 / 25.4 * dpi)
    for x, z, words in view.words:
        u, v = matrix[:2, :2] @ (x, z) + matrix[:2, 2]
        pen.text((float(u), float(v)), words, fill=255, font=font, anchor="ls")
    return np.asarray(page, np.float64) / 255.0


def _blue(ink: Array, seed: int) -> Grey:
    """A faded blueprint: pale lines on a middle grey that is lighter towards one side, with grain."""
    rng = np.random.default_rng(seed)
    height, width = ink.shape
    ground = 118.0 + 28.0 * np.linspace(0.0, 1.0, width)[None, :] * np.ones((height, 1))
    grey = ground + 62.0 * ink + rng.normal(0.0, 5.0, ink.shape)
    return np.clip(np.round(grey), 0, 255).astype(np.uint8)
