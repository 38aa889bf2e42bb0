"""Scans of plans, drawn from a seed: sheets with what scanners, age, programs and copiers do to them.

Nothing here shares code with what tells photographs from scans.
"""

from __future__ import annotations

import io

import numpy as np
from drawn_photographs import wood
from drawn_sheets import SHEET, Draw, Floats, blotches, blue_sheet, folded, image_of, some_sheet, torn
from PIL import Image, ImageDraw


def _grain(held: Floats, rng: np.random.Generator, most: float = 3) -> Floats:
    return held + rng.normal(0, rng.uniform(0.5, most), held.shape[:2])[..., None]


def scanned(held: Floats, rng: np.random.Generator) -> bytes:
    """As PNG or JPEG, in grey or in colour."""
    image = image_of(_grain(held, rng))
    if rng.random() < 0.5:
        image = image.convert("L")
    out = io.BytesIO()
    if rng.random() < 0.5:
        image.save(out, "PNG", compress_level=1)
    else:
        image.save(out, "JPEG", quality=int(rng.integers(60, 95)))
    return out.getvalue()


def _aged(image: Image.Image, rng: np.random.Generator, strength: float = 1.0) -> Floats:
    held = np.asarray(folded(image, rng), np.float64)
    stain = blotches(rng, image.size, 6)[..., None]
    return held * (1 - strength * 0.04 * np.abs(stain) * np.array((0.6, 1.0, 1.8)))


def clean(rng: np.random.Generator) -> bytes:
    """A sheet that fills the glass."""
    return scanned(np.asarray(some_sheet(rng), np.float64), rng)


def old(rng: np.random.Generator) -> bytes:
    """Yellowed, stained, folded."""
    return scanned(_aged(some_sheet(rng), rng, rng.uniform(0.5, 2)), rng)


def on_bed(
    rng: np.random.Generator, paper: Image.Image, room: tuple[float, float], skew: float,
    bed: tuple[float, float],
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
    bed = ((0, 40), (110, 180), (245, 255))[int(rng.integers(3))]
    return scanned(on_bed(rng, some_sheet(rng), (0.05, 0.4), 2.5, bed), rng)


def book(rng: np.random.Generator) -> bytes:
    """The shadow of a fold at one side or in the middle, and the edges of the pages below."""
    held = np.asarray(some_sheet(rng), np.float64)
    w = held.shape[1]
    off = np.abs(np.arange(w) - (0, w, w / 2)[int(rng.integers(3))]) / w
    held = held * (1 - 0.75 * np.exp(-off / rng.uniform(0.01, 0.06)))[None, :, None]
    for k in range(5):
        held[:, w - 4 * k - 3 : w - 4 * k] *= 0.85
    return scanned(held, rng)


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
    bed = ((0, 40), (235, 255))[int(rng.integers(2))]
    return scanned(on_bed(rng, torn(some_sheet(rng), rng, 10), (0.01, 0.08), 1.5, bed), rng)


def with_pictures(rng: np.random.Generator) -> bytes:
    """Solid wings, a halftone picture, shaded panels printed on the sheet."""
    paper = some_sheet(rng)
    pen, (w, h) = ImageDraw.Draw(paper), paper.size
    grey = int(rng.uniform(30, 150))
    wing = ((0.05, 0.2), (0.9, 0.1), (0.95, 0.3), (0.05, 0.4))
    pen.polygon([(x * w, y * h) for x, y in wing], fill=(grey,) * 3)
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
    worn = 1 + 0.08 * blotches(rng, (w, h), 9)[..., None] + 0.2 * (np.arange(w) / w - 0.5)[None, :, None]
    return scanned(np.where(ground, held * worn, held), rng)


def photocopy(rng: np.random.Generator) -> bytes:
    """Black smears of toner along two edges, grey streaks, everything a little askew."""
    held = np.asarray(some_sheet(rng).convert("L").rotate(rng.uniform(-1, 1), fillcolor=70), np.float64)
    for turn in range(2):
        across = held.shape[1]
        deep = np.interp(np.arange(across), np.linspace(0, across, 40), rng.uniform(0, 28, 40))
        smear = np.arange(held.shape[0])[:, None] < deep[None, :]
        toner = rng.uniform(20, 70) + 10 * rng.normal(0, 1, held.shape)
        held = np.rot90(np.where(smear, toner, held), 1 + turn)
    streaks = np.repeat(rng.normal(0, 1.5, (held.shape[1] + 6) // 7), 7)[: held.shape[1]]
    return scanned(np.repeat((held + streaks)[..., None], 3, 2), rng)


SCANS: dict[str, Draw] = {
    "clean": clean, "yellowed, stained, folded": old, "narrow dark lid border": lid,
    "smaller than the glass": small_on_glass, "book fold": book, "blueprint": blueprint,
    "black and white": bilevel, "screenshot": screenshot, "torn": torn_scan,
    "pictures on the plan": with_pictures, "copies taped together": patched, "photocopy": photocopy,
}
HARD_SCANS: dict[str, Draw] = {
    "worn grey lid, wide": uneven_lid,
}
