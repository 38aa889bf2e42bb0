"""Pictures of plans as people have them, drawn from a seed: photographs without camera tags, and scans.

Nothing here shares code with what tells them apart. A photograph is a sheet thrown through four corners
on to a surface with a texture, lit unevenly, then blur, noise and JPEG; a scan is the sheet itself,
with what scanners, age, programs and copying machines do to it.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter

Floats = NDArray[np.float64]
Draw = Callable[[np.random.Generator], bytes]
SIZE = (1280, 960)
"""Of a photograph, in pixels."""
SHEET = (1400, 700)
"""Of a sheet before it is photographed or scanned, in pixels."""


# The sheet


def sheet(rng: np.random.Generator, paper: tuple[int, int, int], size: tuple[int, int] = SHEET) -> Image.Image:
    """A side view with a frame, a title block, formers, hatching and lettering, in ink on ``paper``."""
    w, h = size
    image = Image.new("RGB", size, paper)
    pen = ImageDraw.Draw(image)
    dark = tuple(int(c * rng.uniform(0.1, 0.3)) for c in paper)
    if rng.random() < 0.6:
        gap = int(rng.uniform(0.02, 0.05) * h)
        pen.rectangle((gap, gap, w - gap, h - gap), outline=dark, width=int(rng.integers(2, 6)))
    x0, x1, mid = 0.08 * w, 0.92 * w, h * rng.uniform(0.35, 0.65)
    xs = np.linspace(x0, x1, 80)
    part = (xs - x0) / (x1 - x0)
    deep = h * rng.uniform(0.08, 0.16) * np.sqrt(np.clip(part * 4, 0, 1)) * (1.15 - part)
    pen.line([(float(x), float(mid - d)) for x, d in zip(xs, deep, strict=True)], fill=dark, width=3)
    pen.line([(float(x), float(mid + 0.8 * d)) for x, d in zip(xs, deep, strict=True)], fill=dark, width=3)
    fin = [(0.80 * w, mid - 0.02 * h), (0.86 * w, mid - 0.26 * h), (0.93 * w, mid - 0.27 * h), (0.94 * w, mid)]
    pen.polygon(fin, outline=dark, width=3)
    for x in np.linspace(0.12 * w, 0.75 * w, int(rng.integers(5, 14))):
        pen.line((x, mid - 0.1 * h, x, mid + 0.08 * h), fill=dark, width=2)
    for k in range(int(rng.integers(3, 9))):
        at = (rng.uniform(0.08, 0.6) * w, (0.80 if k % 2 else 0.10) * h)
        pen.text(at, "BALSA 3/32  SPRUCE 1/8 SQ  CUT 2 OFF", fill=dark, font_size=int(rng.integers(12, 26)))
    if rng.random() < 0.5:
        left, top = 0.70 * w, 0.82 * h
        pen.rectangle((left, top, 0.95 * w, 0.94 * h), outline=dark, width=2)
        pen.text((left + 10, top + 10), "SHEET 1 OF 2  FULL SIZE", fill=dark, font_size=22)
    if rng.random() < 0.4:
        for x in np.arange(0.2 * w, 0.35 * w, 9):
            pen.line((x, 0.70 * h, x + 40, 0.78 * h), fill=dark, width=1)
    return image


PAPERS = ((250, 250, 248), (244, 240, 226), (236, 226, 198), (228, 228, 226))


def some_sheet(rng: np.random.Generator, size: tuple[int, int] = SHEET) -> Image.Image:
    """A sheet of white, cream, yellowed or grey paper."""
    return sheet(rng, PAPERS[int(rng.integers(len(PAPERS)))], size)


def _folds(image: Image.Image, rng: np.random.Generator) -> Image.Image:
    held = np.asarray(image, np.float64)
    for x in rng.uniform(0.2, 0.8, 2) * held.shape[1]:
        off = np.abs(np.arange(held.shape[1]) - x)
        held = held * (1 - 0.18 * np.exp(-((off / 4) ** 2)))[None, :, None]
        held = held * np.where(np.arange(held.shape[1]) > x, rng.uniform(0.96, 1.0), 1.0)[None, :, None]
    return _image(held)


def _image(held: Floats) -> Image.Image:
    return Image.fromarray(np.clip(held, 0, 255).astype(np.uint8))


def _blotches(rng: np.random.Generator, size: tuple[int, int], coarse: int) -> Floats:
    """Smooth noise from about −1 to 1, shape (height, width), of so many spots along the longer side."""
    w, h = size
    few = (max(2, coarse * w // max(size)), max(2, coarse * h // max(size)))
    seeds = (rng.normal(0, 1, (few[1], few[0])) * 60 + 128).clip(0, 255).astype(np.uint8)
    return (np.asarray(Image.fromarray(seeds).resize(size, Image.Resampling.BICUBIC), np.float64) - 128) / 90


# What lies under a photographed sheet


def wood(rng: np.random.Generator, tone: tuple[int, int, int] = (120, 84, 52)) -> Floats:
    """Boards with grain along them, shape (height, width, 3)."""
    w, h = SIZE
    grain = _blotches(rng, (w, h * 12), 30)[::12][:h] + 0.6 * np.repeat(rng.normal(0, 1, (h, 1)), w, 1) * 0.5
    board = np.repeat(rng.normal(0, 0.5, 8), math.ceil(h / 8))[:h]
    return np.array(tone) * (1 + 0.12 * grain + 0.1 * board[:, None])[..., None]


def plain(rng: np.random.Generator, tone: tuple[int, int, int]) -> Floats:
    """A painted table: one tone with hardly a spot."""
    return np.array(tone) * (1 + 0.01 * _blotches(rng, SIZE, 20))[..., None]


def cloth(rng: np.random.Generator, tone: tuple[int, int, int]) -> Floats:
    """Woven or tufted: fine noise over soft creases."""
    w, h = SIZE
    return np.array(tone) * (1 + 0.25 * rng.normal(0, 1, (h, w)) + 0.12 * _blotches(rng, SIZE, 7))[..., None]


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
    return np.where(grid[..., None], (150, 190, 150), (28, 92, 66)) * (1 + 0.02 * _blotches(rng, SIZE, 9))[..., None]


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


def thrown(paper: Image.Image, quad: Floats, under: Floats, rng: np.random.Generator, soft: float = 6) -> Floats:
    """The sheet on what lies under it, with the shadow that its edge throws."""
    alpha = Image.new("L", paper.size, 255) if paper.mode == "RGB" else paper.getchannel("A")
    numbers = _through(quad, paper.size)
    seen = paper.convert("RGB").transform(SIZE, Image.Transform.PERSPECTIVE, numbers, Image.Resampling.BICUBIC)
    mask = alpha.transform(SIZE, Image.Transform.PERSPECTIVE, numbers, Image.Resampling.BILINEAR)
    away = (int(rng.integers(-5, 6)), int(rng.integers(-5, 6)))
    shade = Image.new("L", SIZE, 0)
    shade.paste(mask, away)
    dark = np.asarray(shade.filter(ImageFilter.GaussianBlur(soft)), np.float64)[..., None] / 255
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
    return held * ((1 - fall / 2 + fall / 2 * along) * (1 - 0.2 * far))[..., None] * warm * rng.uniform(0.75, 1.0)


def shot(held: Floats, rng: np.random.Generator) -> bytes:
    """Through lens, sensor and JPEG; no tags, as a messenger sends it on."""
    image = _image(held).filter(ImageFilter.GaussianBlur(rng.uniform(0.4, 1.4)))
    noisy = np.asarray(image, np.float64) + rng.normal(0, rng.uniform(1, 6), (*SIZE[::-1], 3))
    out = io.BytesIO()
    _image(noisy).save(out, "JPEG", quality=int(rng.integers(45, 92)))
    return out.getvalue()


def photo(
    under: Callable[[np.random.Generator], Floats], fill: tuple[float, float] = (0.7, 0.95), turn: float = 20,
    tilt: float = 25, most: float = 0.35,
) -> Draw:
    """A kind of photograph."""

    def draw(rng: np.random.Generator) -> bytes:
        paper = _folds(some_sheet(rng), rng) if rng.random() < 0.5 else some_sheet(rng)
        quad = corners(rng, fill, rng.uniform(-turn, turn), tilt)
        return shot(lit(thrown(paper, quad, under(rng), rng), rng, most), rng)

    return draw


def cluttered(rng: np.random.Generator) -> bytes:
    """A cutting mat; a ruler, a mug and a hand of skin colour over the sheet's edges."""
    quad = corners(rng, (0.75, 0.95), rng.uniform(-12, 12), 20)
    image = _image(thrown(some_sheet(rng), quad, mat(rng), rng))
    pen = ImageDraw.Draw(image)
    for corner in quad[rng.permutation(4)[:2]]:
        r = rng.uniform(40, 80)
        fill = ((200, 60, 50), (222, 180, 150), (40, 44, 60))[int(rng.integers(3))]
        pen.ellipse((corner[0] - r, corner[1] - r, corner[0] + r, corner[1] + r), fill=fill)
    one, other = quad[0], quad[1]
    pen.line([tuple(one + 0.3 * (other - one)), tuple(one + 0.7 * (other - one))], fill=(196, 186, 150), width=26)
    return shot(lit(np.asarray(image, np.float64), rng), rng)


def torn(paper: Image.Image, rng: np.random.Generator, depth: float) -> Image.Image:
    """The sheet with ragged edges, transparent beyond them."""
    w, h = paper.size
    edges = []
    for length in (w, h, w, h):
        walk = np.interp(np.arange(length), np.linspace(0, length, 60), np.abs(rng.normal(0, depth, 60)))
        edges.append(walk + np.abs(rng.normal(0, 1.0, length)))
    v, u = np.mgrid[:h, :w]
    inside = (v > edges[0][u]) & (u > edges[1][v]) & (v < h - edges[2][u]) & (u < w - edges[3][v])
    held = paper.convert("RGBA")
    held.putalpha(Image.fromarray((inside * 255).astype(np.uint8)))
    return held


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


# Scans


def _grain(held: Floats, rng: np.random.Generator, most: float = 3) -> Floats:
    return held + rng.normal(0, rng.uniform(0.5, most), held.shape[:2])[..., None]


def scanned(held: Floats, rng: np.random.Generator) -> bytes:
    """As PNG or JPEG, in grey or in colour."""
    image = _image(_grain(held, rng))
    if rng.random() < 0.5:
        image = image.convert("L")
    out = io.BytesIO()
    if rng.random() < 0.5:
        image.save(out, "PNG", compress_level=1)
    else:
        image.save(out, "JPEG", quality=int(rng.integers(60, 95)))
    return out.getvalue()


def _aged(image: Image.Image, rng: np.random.Generator, strength: float = 1.0) -> Floats:
    held = np.asarray(_folds(image, rng), np.float64)
    stain = _blotches(rng, image.size, 6)[..., None]
    return held * (1 - strength * 0.04 * np.abs(stain) * np.array((0.6, 1.0, 1.8)))


def clean(rng: np.random.Generator) -> bytes:
    """A sheet that fills the glass."""
    return scanned(np.asarray(some_sheet(rng), np.float64), rng)


def old(rng: np.random.Generator) -> bytes:
    """Yellowed, stained, folded."""
    return scanned(_aged(some_sheet(rng), rng, rng.uniform(0.5, 2)), rng)


def on_bed(
    rng: np.random.Generator, paper: Image.Image, room: tuple[float, float], skew: float, bed: tuple[float, float]
) -> Floats:
    """A sheet askew on a bed of one tone; ``room`` beside it on each side as a part of its height."""
    w, h = paper.size
    left, top, right, bottom = (int(rng.uniform(*room) * h) * int(rng.random() < 0.75) for _ in range(4))
    level = int(rng.uniform(*bed))
    out = Image.new("RGB", (w + left + right, h + top + bottom), (level, level, level))
    turned = paper.convert("RGBA").rotate(rng.uniform(-skew, skew), Image.Resampling.BICUBIC, expand=True)
    out.paste(turned, (left - (turned.width - w) // 2, top - (turned.height - h) // 2), turned)
    return np.asarray(out, np.float64)


def lid(rng: np.random.Generator) -> bytes:
    """A narrow dark border where the lid shows."""
    return scanned(on_bed(rng, some_sheet(rng), (0.005, 0.03), 0.8, (0, 60)), rng)


def small_on_glass(rng: np.random.Generator) -> bytes:
    """A sheet smaller than the glass, under a black, grey or white lid."""
    return scanned(on_bed(rng, some_sheet(rng), (0.05, 0.4), 2.5, ((0, 40), (110, 180), (245, 255))[int(rng.integers(3))]), rng)


def book(rng: np.random.Generator) -> bytes:
    """The shadow of a fold at one side or in the middle, and the edges of the pages below."""
    held = np.asarray(some_sheet(rng), np.float64)
    w = held.shape[1]
    off = np.abs(np.arange(w) - (0, w, w / 2)[int(rng.integers(3))]) / w
    held = held * (1 - 0.75 * np.exp(-off / rng.uniform(0.01, 0.06)))[None, :, None]
    for k in range(5):
        held[:, w - 4 * k - 3 : w - 4 * k] *= 0.85
    return scanned(held, rng)


def blue_sheet(rng: np.random.Generator) -> Image.Image:
    """White lines on uneven blue."""
    inverted = 255 - np.asarray(sheet(rng, (250, 250, 250)), np.float64)
    ground = np.array((38, 72, 140)) * (1 + 0.10 * _blotches(rng, SHEET, 8))[..., None]
    return _image(ground + inverted / 250 * 0.8 * (235 - ground))


def blueprint(rng: np.random.Generator) -> bytes:
    """White lines on blue, to the edge or with a light margin."""
    held = np.asarray(blue_sheet(rng), np.float64).copy()
    gap = int(rng.uniform(6, 40))
    if rng.random() < 0.5:
        held[:gap], held[-gap:], held[:, :gap], held[:, -gap:] = 225, 225, 225, 225
    return scanned(held, rng)


def bilevel(rng: np.random.Generator) -> bytes:
    """Black and white alone, black beyond the sheet, dirt."""
    held = on_bed(rng, some_sheet(rng), (0.0, 0.06), 1.5, (0, 30))[..., 1]
    held = held + rng.normal(0, 28, held.shape) - 40 * (rng.random(held.shape) < 0.002)
    out = io.BytesIO()
    Image.fromarray((held > 128).astype(np.uint8) * 255).convert("1").save(out, "TIFF", compression="group4")
    return out.getvalue()


def screenshot(rng: np.random.Generator) -> bytes:
    """A plan in a viewer: bars of the program, a dark or grey ground, the page in the middle."""
    w, h = SHEET
    ground = ((32, 32, 36), (90, 90, 92), (225, 226, 230))[int(rng.integers(3))]
    out = Image.new("RGB", (w + int(rng.integers(0, 500)), h + int(rng.integers(60, 500))), ground)
    out.paste(some_sheet(rng), ((out.width - w) // 2, (out.height - h) // 2 + 10))
    pen = ImageDraw.Draw(out)
    pen.rectangle((0, 0, out.width, 26), fill=(20, 20, 22) if rng.random() < 0.5 else (245, 245, 245))
    pen.text((10, 4), "12:40   plan.pdf   5G 82 %", fill=(128, 128, 128), font_size=16)
    return scanned(np.asarray(out, np.float64), rng)


def torn_scan(rng: np.random.Generator) -> bytes:
    """Ragged edges, on the lid's black or white."""
    return scanned(on_bed(rng, torn(some_sheet(rng), rng, 10), (0.01, 0.08), 1.5, ((0, 40), (235, 255))[int(rng.integers(2))]), rng)


def with_pictures(rng: np.random.Generator) -> bytes:
    """Solid wings, a halftone picture, shaded panels printed on the sheet."""
    paper = some_sheet(rng)
    pen, (w, h) = ImageDraw.Draw(paper), paper.size
    grey = int(rng.uniform(30, 150))
    pen.polygon([(0.05 * w, 0.2 * h), (0.9 * w, 0.1 * h), (0.95 * w, 0.3 * h), (0.05 * w, 0.4 * h)], fill=(grey,) * 3)
    box = Image.fromarray(((wood(rng)[:220, :380]).clip(0, 255)).astype(np.uint8))
    paper.paste(box, (int(rng.uniform(0, w - 380)), int(rng.uniform(0.4, 0.65) * h)))
    pen.rectangle((0, 0.9 * h, w, h), fill=(205, 205, 205))
    return scanned(np.asarray(paper, np.float64), rng)


def patched(rng: np.random.Generator) -> bytes:
    """Two copies taped together, one paler; dark ends as copying machines leave them."""
    held = _aged(some_sheet(rng), rng)
    seam = int(rng.uniform(0.35, 0.65) * held.shape[1])
    held[:, seam:] *= rng.uniform(0.8, 0.92)
    held[:, seam - 20 : seam + 20] = held[:, seam - 20 : seam + 20] * 0.9
    ends = np.minimum(np.arange(held.shape[0]), np.arange(held.shape[0])[::-1]) / held.shape[0]
    return scanned(held * (1 - 0.3 * np.exp(-ends / 0.03))[:, None, None], rng)


def uneven_lid(rng: np.random.Generator) -> bytes:
    """A worn grey lid: not one tone, dirty, the sheet a little askew."""
    held = on_bed(rng, some_sheet(rng), (0.01, 0.12), 1.2, (60, 150))
    h, w = held.shape[:2]
    ground = np.ptp(held, axis=2, keepdims=True) + np.abs(held - held[0, 0]).sum(2, keepdims=True) < 12
    worn = 1 + 0.08 * _blotches(rng, (w, h), 9)[..., None] + 0.2 * (np.arange(w) / w - 0.5)[None, :, None]
    return scanned(np.where(ground, held * worn, held), rng)


def photocopy(rng: np.random.Generator) -> bytes:
    """Black smears of toner along two edges, grey streaks, everything a little askew."""
    held = np.asarray(some_sheet(rng).convert("L").rotate(rng.uniform(-1, 1), fillcolor=70), np.float64)
    w, h = SHEET
    for turn in range(2):
        deep = np.interp(np.arange(held.shape[1]), np.linspace(0, held.shape[1], 40), rng.uniform(0, 28, 40))
        smear = np.arange(held.shape[0])[:, None] < deep[None, :]
        held = np.rot90(np.where(smear, rng.uniform(20, 70) + 10 * rng.normal(0, 1, held.shape), held), 1 + turn)
    streaks = np.repeat(np.repeat(rng.normal(0, 1.5, (held.shape[1] + 6) // 7), 7)[None, : held.shape[1]], held.shape[0], 0)
    return scanned(np.repeat((held + streaks)[..., None], 3, 2), rng)


SCANS: dict[str, Draw] = {
    "clean": clean, "yellowed, stained, folded": old, "narrow dark lid border": lid,
    "smaller than the glass": small_on_glass, "book fold": book, "blueprint": blueprint,
    "black and white": bilevel, "screenshot": screenshot, "torn": torn_scan, "pictures on the plan": with_pictures,
    "copies taped together": patched, "photocopy": photocopy,
}
HARD_SCANS: dict[str, Draw] = {
    "worn grey lid, wide": uneven_lid,
}
