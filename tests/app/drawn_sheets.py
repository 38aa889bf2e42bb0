"""Sheets of plans drawn from a seed, for pictures of them: paper, ink, folds, torn edges, blueprints."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

Floats = NDArray[np.float64]
Tone = tuple[int, int, int]
Draw = Callable[[np.random.Generator], bytes]
"""A kind of picture: the content of its file."""
SHEET = (1400, 700)
"""Of a sheet before it is photographed or scanned, in pixels."""


def sheet(rng: np.random.Generator, paper: Tone, size: tuple[int, int] = SHEET) -> Image.Image:
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
    fin = ((0.80, 0.02), (0.86, 0.26), (0.93, 0.27), (0.94, 0.0))
    pen.polygon([(x * w, mid - z * h) for x, z in fin], outline=dark, width=3)
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


def folded(image: Image.Image, rng: np.random.Generator) -> Image.Image:
    held = np.asarray(image, np.float64)
    for x in rng.uniform(0.2, 0.8, 2) * held.shape[1]:
        off = np.abs(np.arange(held.shape[1]) - x)
        held = held * (1 - 0.18 * np.exp(-((off / 4) ** 2)))[None, :, None]
        held = held * np.where(np.arange(held.shape[1]) > x, rng.uniform(0.96, 1.0), 1.0)[None, :, None]
    return image_of(held)


def image_of(held: Floats) -> Image.Image:
    return Image.fromarray(np.clip(held, 0, 255).astype(np.uint8))


def blotches(rng: np.random.Generator, size: tuple[int, int], coarse: int) -> Floats:
    """Smooth noise from about −1 to 1, shape (height, width), of so many spots along the longer side."""
    w, h = size
    few = (max(2, coarse * w // max(size)), max(2, coarse * h // max(size)))
    seeds = (rng.normal(0, 1, (few[1], few[0])) * 60 + 128).clip(0, 255).astype(np.uint8)
    return (np.asarray(Image.fromarray(seeds).resize(size, Image.Resampling.BICUBIC), np.float64) - 128) / 90


def blue_sheet(rng: np.random.Generator) -> Image.Image:
    """White lines on uneven blue."""
    inverted = 255 - np.asarray(sheet(rng, (250, 250, 250)), np.float64)
    ground = np.array((38, 72, 140)) * (1 + 0.10 * blotches(rng, SHEET, 8))[..., None]
    return image_of(ground + inverted / 250 * 0.8 * (235 - ground))


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
