"""The counting rule by pixels: a second, deliberately plain reading of the contract.

Shares nothing with the core but the design itself: outlines are filled even-odd into masks, one
pixel at a time is either in or out, and the rule is written with "and", "or" and "not".
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.design import Design, Outline, Tailplane, Wing

Mask = NDArray[np.bool_]
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Pixels:
    """Pixel centres: ``x`` (W,), ``z`` (H,), and the pixel's edge, in mm."""

    x: Floats
    z: Floats
    edge: float

    @staticmethod
    def over(low_x: float, low_z: float, high_x: float, high_z: float, edge: float) -> Pixels:
        """Pixels of that edge over a box."""
        wide, high = int(np.ceil((high_x - low_x) / edge)), int(np.ceil((high_z - low_z) / edge))
        centres = np.arange(max(wide, high), dtype=np.float64) + 0.5
        return Pixels(low_x + centres[:wide] * edge, low_z + centres[:high] * edge, edge)

    def fill(self, corners: Floats) -> Mask:
        """Even-odd: a pixel is in when a ray from its centre to the left meets an odd number of edges."""
        inside = np.zeros((len(self.z), len(self.x)), dtype=bool)
        for (x0, z0), (x1, z1) in zip(corners, np.roll(corners, -1, axis=0), strict=True):
            if z0 == z1:
                continue
            rows = np.nonzero((z0 <= self.z) != (z1 <= self.z))[0]
            meets = x0 + (self.z[rows] - z0) / (z1 - z0) * (x1 - x0)
            inside[rows] ^= self.x[None, :] > meets[:, None]
        return inside


@dataclass(frozen=True)
class PixelCount:
    """Areas in mm², first moments in mm³, as (area, ∫x dA, ∫z dA)."""

    side: tuple[float, float, float]
    tail: tuple[float, float, float]
    silhouette: float


def corners_of(outline: Outline, steps: int = 48) -> Floats:
    """The outline sampled evenly in t, ``steps`` points to a curve, by the Bernstein form."""
    found: list[tuple[float, float]] = []
    for i, here in enumerate(outline.nodes):
        there = outline.nodes[(i + 1) % len(outline.nodes)]
        if here.handle_out is None and there.handle_in is None:
            found.append((here.x, here.z))
            continue
        out, into = here.handle_out or (0, 0), there.handle_in or (0, 0)
        for t in np.arange(steps) / steps:
            a, b, c, d = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
            found.append(
                (
                    a * here.x + b * (here.x + out[0]) + c * (there.x + into[0]) + d * there.x,
                    a * here.z + b * (here.z + out[1]) + c * (there.z + into[1]) + d * there.z,
                )
            )
    return np.array(found)


def is_clear(outline: Outline) -> bool:
    """The stance in force, read anew from the contract."""
    if outline.stance is not None:
        return outline.stance == "clear"
    if outline.kind in ("wing", "tailplane", "wheel", "float", "tip plate"):
        return True
    return outline.kind in ("fin", "rudder") and outline.count >= 2


def hull(points: list[tuple[float, float]]) -> Floats:
    """Convex hull by Andrew's monotone chain."""

    def half(ordered: list[tuple[float, float]]) -> list[tuple[float, float]]:
        chain: list[tuple[float, float]] = []
        for p in ordered:
            while len(chain) > 1 and (
                (chain[-1][0] - chain[-2][0]) * (p[1] - chain[-2][1])
                - (chain[-1][1] - chain[-2][1]) * (p[0] - chain[-2][0])
                <= 0
            ):
                chain.pop()
            chain.append(p)
        return chain[:-1]

    ordered = sorted(set(points))
    if len(ordered) < 3:
        return np.array(ordered).reshape(-1, 2)
    return np.array(half(ordered) + half(ordered[::-1]))


def panel_mask(surface: Wing | Tailplane, pixels: Pixels) -> Mask:
    """The panels of one surface, united."""
    seen = np.zeros((len(pixels.z), len(pixels.x)), dtype=bool)
    for one, other in zip(surface.stations, surface.stations[1:], strict=False):
        points = []
        for s in (one, other):
            up = surface.section.thickness * s.chord / 2
            points += [(x, z) for x in (s.le_x, s.le_x + s.chord) for z in (s.z - up, s.z + up)]
        seen |= pixels.fill(hull(points))
    return seen


def count_by_pixels(design: Design, pixels: Pixels) -> PixelCount:
    """The contract's six steps, in its order."""
    masks = [(o, pixels.fill(corners_of(o))) for o in design.outlines]
    none = np.zeros((len(pixels.z), len(pixels.x)), dtype=bool)

    silhouette, others = none.copy(), none.copy()
    for o, m in masks:
        if o.count == 1 and not is_clear(o):
            silhouette |= m
            if o.kind not in ("fin", "rudder"):
                others |= m
    weight = silhouette.astype(int)
    tail_weight = np.zeros_like(weight)
    for n in range(1, 9):
        region, tail = none.copy(), none.copy()
        for o, m in masks:
            if o.count != n:
                continue
            if is_clear(o):
                region |= m
            elif n >= 2:
                region |= m & ~silhouette
            if o.kind in ("fin", "rudder"):
                tail |= m if is_clear(o) else m & ~others
        weight += n * region
        tail_weight += n * tail
    surfaces: tuple[Wing | Tailplane, ...] = (*design.wings, *design.tailplanes)
    for surface in surfaces:
        if surface.in_side_area:
            weight += 2 * panel_mask(surface, pixels).astype(int)

    def sums(w: NDArray[np.int_]) -> tuple[float, float, float]:
        cell = pixels.edge**2
        return (
            float(w.sum()) * cell,
            float((w * pixels.x[None, :]).sum()) * cell,
            float((w * pixels.z[:, None]).sum()) * cell,
        )

    return PixelCount(sums(weight), sums(tail_weight), float(silhouette.sum()) * pixels.edge**2)
