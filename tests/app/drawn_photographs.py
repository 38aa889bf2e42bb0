"""Photographs of plans, drawn from a seed, as they come without camera tags.

A sheet is thrown through four corners on to something with a texture, lit unevenly, then blurred, with
noise, as JPEG. Nothing here shares code with what tells photographs from scans.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable

import numpy as np
from drawn_sheets import SHEET, Draw, Floats, Tone, blotches, blue_sheet, folded, image_of, some_sheet, torn
from PIL import Image, ImageDraw, ImageFilter

SIZE = (1280, 960)
"""Of a photograph, in pixels."""


# What lies under a photographed sheet


def wood(rng: np.random.Generator, tone: Tone = (120, 84, 52)) -> Floats:
    """Boards with grain along them, shape (height, width, 3)."""
    w, h = SIZE
    grain = blotches(rng, (w, h * 12), 30)[::12][:h] + 0.6 * np.repeat(rng.normal(0, 1, (h, 1)), w, 1) * 0.5
    board = np.repeat(rng.normal(0, 0.5, 8), math.ceil(h / 8))[:h]
    return np.array(tone) * (1 + 0.12 * grain + 0.1 * board[:, None])[..., None]


def plain(rng: np.random.Generator, tone: Tone) -> Floats:
    """A painted table: one tone with hardly a spot."""
    return np.array(tone) * (1 + 0.01 * blotches(rng, SIZE, 20))[..., None]


def cloth(rng: np.random.Generator, tone: Tone) -> Floats:
    """Woven or tufted: fine noise over soft creases."""
    w, h = SIZE
    return np.array(tone) * (1 + 0.25 * rng.normal(0, 1, (h, w)) + 0.12 * blotches(rng, SIZE, 7))[..., None]


def tiles(rng: np.random.Generator) -> Floats:
    """A floor of tiles with dark joints, turned a little."""
    w, h = SIZE
    v, u = np.mgrid[:h, :w]
    a = rng.uniform(-0.4, 0.4)
    p, q = u * math.cos(a) + v * math.sin(a), v * math.cos(a) - u * math.sin(a)
    joint = (p % 210 < 7) | (q % 210 < 7)
    each = 1 + 0.08 * np.sin(12.9 * (p // 210) + 78.2 * (q // 210))
    return np.array((150, 140, 128)) * np.where(joint, 0.5, each)[..., None]


def mat(rng: np.random.Generator) -> Floats:
    """A green cutting mat with its light grid."""
    w, h = SIZE
    v, u = np.mgrid[:h, :w]
    grid = (u % 60 < 2) | (v % 60 < 2)
    tones = np.where(grid[..., None], (150, 190, 150), (28, 92, 66))
    return np.asarray(tones * (1 + 0.02 * blotches(rng, SIZE, 9))[..., None])


# The photograph


def corners(rng: np.random.Generator, fill: tuple[float, float], turn: float, tilt: float) -> Floats:
    """Where the sheet's corners come in the picture, shape (4, 2): through a pinhole, turned and tilted.

    ``fill``: from how much to how much of the picture's width or height it takes. Degrees otherwise.
    """
    aspect = SHEET[0] / SHEET[1]
    quad = np.array(((-aspect, -1), (aspect, -1), (aspect, 1), (-aspect, 1)), np.float64)
    a = math.radians(turn)
    quad = quad @ np.array(((math.cos(a), math.sin(a)), (-math.sin(a), math.cos(a))))
    t, p = math.radians(tilt * rng.uniform(-1, 1)), math.radians(tilt * rng.uniform(-1, 1))
    depth = 6 + quad[:, 0] * math.sin(p) + quad[:, 1] * math.sin(t)
    seen = np.column_stack((quad[:, 0] * math.cos(p), quad[:, 1] * math.cos(t))) / depth[:, None]
    seen -= (seen.max(0) + seen.min(0)) / 2
    reach = np.ptp(seen, axis=0)
    scale = rng.uniform(*fill) * min(SIZE[0] / reach[0], SIZE[1] / reach[1])
    slack = np.maximum(np.array(SIZE) - scale * reach, 0) / 2
    return np.asarray(seen * scale + np.array(SIZE) / 2 + slack * rng.uniform(-0.7, 0.7, 2))


def _through(quad: Floats, size: tuple[int, int]) -> tuple[float, ...]:
    """Pillow's eight numbers that send the picture's pixels back to those of the sheet."""
    w, h = size
    rows, right = [], []
    for (u, v), (x, y) in zip(quad, ((0, 0), (w, 0), (w, h), (0, h)), strict=True):
        rows += [(u, v, 1, 0, 0, 0, -x * u, -x * v), (0, 0, 0, u, v, 1, -y * u, -y * v)]
        right += [x, y]
    return tuple(np.linalg.solve(np.array(rows, np.float64), np.array(right, np.float64)))


def thrown(paper: Image.Image, quad: Floats, under: Floats, rng: np.random.Generator) -> Floats:
    """The sheet on what lies under it, with the shadow that its edge throws."""
    alpha = Image.new("L", paper.size, 255) if paper.mode == "RGB" else paper.getchannel("A")
    numbers = _through(quad, paper.size)
    how = Image.Transform.PERSPECTIVE
    seen = paper.convert("RGB").transform(SIZE, how, numbers, Image.Resampling.BICUBIC)
    mask = alpha.transform(SIZE, how, numbers, Image.Resampling.BILINEAR)
    away = (int(rng.integers(-5, 6)), int(rng.integers(-5, 6)))
    shade = Image.new("L", SIZE, 0)
    shade.paste(mask, away)
    dark = np.asarray(shade.filter(ImageFilter.GaussianBlur(6)), np.float64)[..., None] / 255
    part = np.asarray(mask, np.float64)[..., None] / 255
    return np.asarray(under * (1 - 0.35 * dark) * (1 - part) + np.asarray(seen, np.float64) * part)


def lit(held: Floats, rng: np.random.Generator, most: float = 0.35) -> Floats:
    """Light from one side and the lens's dark corners."""
    h, w = held.shape[:2]
    v, u = np.mgrid[:h, :w]
    a, fall = rng.uniform(0, 2 * math.pi), rng.uniform(0.1, most)
    along = ((u / w - 0.5) * math.cos(a) + (v / h - 0.5) * math.sin(a)) * 2
    far = ((u / w - 0.5) ** 2 + (v / h - 0.5) ** 2) * 2
    warm = np.array((1.0, rng.uniform(0.93, 1.0), rng.uniform(0.82, 1.0)))
    light = (1 - fall / 2 + fall / 2 * along) * (1 - 0.2 * far) * rng.uniform(0.75, 1.0)
    return held * light[..., None] * warm


def shot(held: Floats, rng: np.random.Generator) -> bytes:
    """Through lens, sensor and JPEG; no tags, as a messenger sends it on."""
    image = image_of(held).filter(ImageFilter.GaussianBlur(rng.uniform(0.4, 1.4)))
    noisy = np.asarray(image, np.float64) + rng.normal(0, rng.uniform(1, 6), (*SIZE[::-1], 3))
    out = io.BytesIO()
    image_of(noisy).save(out, "JPEG", quality=int(rng.integers(45, 92)))
    return out.getvalue()


def photo(
    under: Callable[[np.random.Generator], Floats], fill: tuple[float, float] = (0.7, 0.95), turn: float = 20,
    tilt: float = 25, most: float = 0.35,
) -> Draw:
    """A kind of photograph."""

    def draw(rng: np.random.Generator) -> bytes:
        paper = folded(some_sheet(rng), rng) if rng.random() < 0.5 else some_sheet(rng)
        quad = corners(rng, fill, rng.uniform(-turn, turn), tilt)
        return shot(lit(thrown(paper, quad, under(rng), rng), rng, most), rng)

    return draw


def cluttered(rng: np.random.Generator) -> bytes:
    """A cutting mat; a ruler, a mug and a hand of skin colour over the sheet's edges."""
    quad = corners(rng, (0.75, 0.95), rng.uniform(-12, 12), 20)
    image = image_of(thrown(some_sheet(rng), quad, mat(rng), rng))
    pen = ImageDraw.Draw(image)
    for corner in quad[rng.permutation(4)[:2]]:
        r = rng.uniform(40, 80)
        fill = ((200, 60, 50), (222, 180, 150), (40, 44, 60))[int(rng.integers(3))]
        pen.ellipse((corner[0] - r, corner[1] - r, corner[0] + r, corner[1] + r), fill=fill)
    one, other = quad[0], quad[1]
    ruler = [tuple(one + part * (other - one)) for part in (0.3, 0.7)]
    pen.line(ruler, fill=(196, 186, 150), width=26)
    return shot(lit(np.asarray(image, np.float64), rng), rng)


def torn_on_wood(rng: np.random.Generator) -> bytes:
    """An old torn sheet on boards."""
    quad = corners(rng, (0.75, 0.95), rng.uniform(-15, 15), 20)
    return shot(lit(thrown(torn(some_sheet(rng), rng, 8), quad, wood(rng), rng), rng), rng)


def shadowed(rng: np.random.Generator) -> bytes:
    """The photographer's shadow over half of sheet and table."""
    quad = corners(rng, (0.75, 0.98), rng.uniform(-12, 12), 25)
    held = lit(thrown(some_sheet(rng), quad, wood(rng, (150, 112, 74)), rng), rng)
    v, u = np.mgrid[: SIZE[1], : SIZE[0]]
    a = rng.uniform(0, 2 * math.pi)
    past = (u - SIZE[0] / 2) * math.cos(a) + (v - SIZE[1] / 2) * math.sin(a)
    return shot(held * (1 - 0.45 / (1 + np.exp(-past / rng.uniform(15, 60))))[..., None], rng)


def blueprint_on_table(rng: np.random.Generator) -> bytes:
    """White lines on blue, on light boards."""
    quad = corners(rng, (0.7, 0.95), rng.uniform(-15, 15), 22)
    held = thrown(blue_sheet(rng), quad, wood(rng, (205, 178, 140)), rng)
    return shot(lit(held, rng), rng)


def filling(rng: np.random.Generator) -> bytes:
    """Nothing but plan in the picture, tags stripped."""
    quad = corners(rng, (1.0, 1.0), rng.uniform(-5, 5), 20)
    quad = (quad - np.array(SIZE) / 2) * 2.4 + np.array(SIZE) / 2
    return shot(lit(thrown(some_sheet(rng), quad, plain(rng, (90, 90, 90)), rng), rng, 0.5), rng)


PHOTOGRAPHS: dict[str, Draw] = {
    "on boards": photo(wood),
    "on a grey table": photo(lambda r: plain(r, (112, 114, 118))),
    "on dark cloth, close": photo(lambda r: cloth(r, (58, 56, 70)), (0.93, 1.02), 6, 18),
    "on tiles": photo(tiles),
    "on light pine": photo(lambda r: wood(r, (206, 176, 128)), most=0.25),
    "two or three edges seen": photo(wood, (1.1, 1.4), 12, 20),
    "on a mat, things over the edges": cluttered,
    "on the wall, nearly square on": photo(lambda r: plain(r, (150, 146, 138)), (0.75, 0.92), 6, 3),
    "torn, on boards": torn_on_wood,
    "half in shadow": shadowed,
}
HARD_PHOTOGRAPHS: dict[str, Draw] = {
    "a blueprint on light boards": blueprint_on_table,
    "on a white table": photo(lambda r: plain(r, (226, 226, 224))),
    "plan fills the picture": filling,
}
