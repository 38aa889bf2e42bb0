"""Places where a trail is led astray: drawn here, with the line that is meant and where one clicks.

Lines beside lines (sheeting, hinges), ribs that end in a tip, bars across a bend, broken pencil, shadow. In
mm, z up; drawn and spoilt as ``drawn_ink`` does it, shadows on top.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from drawn_ink import Array, Grey, Picture, Spoiling, drawn, spoilt

Line = tuple[Array, float]


@dataclass(frozen=True)
class Trap:
    """``true`` (N, 2): the line that is meant, in mm, from the first click to the last."""

    name: str
    picture: Picture
    true: Array
    clicks: Array

    def off(self, points_mm: Array) -> Array:
        """How far each point lies from the line that is meant, in mm."""
        a, d = self.true[:-1], np.diff(self.true, axis=0)
        gap = points_mm[:, None] - a[None]
        t = np.clip((gap * d).sum(axis=2) / np.maximum((d * d).sum(axis=1), 1e-12), 0.0, 1.0)
        return np.asarray(np.hypot(*np.moveaxis(gap - t[..., None] * d[None], 2, 0)).min(axis=1))


def spread(line: Array, step: float = 0.25) -> Array:
    away = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))))
    at = np.linspace(0.0, away[-1], max(2, round(away[-1] / step)))
    return np.stack((np.interp(at, away, line[:, 0]), np.interp(at, away, line[:, 1])), axis=1)


def beside(line: Array, by: float) -> Array:
    """The line moved to its left by so many mm."""
    along = np.gradient(line, axis=0)
    along /= np.hypot(*along.T)[:, None]
    return np.asarray(line + by * np.stack((-along[:, 1], along[:, 0]), axis=1))


def broken(line: Array, rng: np.random.Generator, on: float, off: float) -> list[Array]:
    """The line in pieces of about ``on`` mm with gaps of about ``off``; its ends are drawn."""
    line = spread(line)
    away = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))))
    pieces, at = [], 0.0
    while at < away[-1]:
        until = at + on * rng.uniform(0.5, 1.5)
        if away[-1] - until < 0.5 * on:
            until = away[-1] + 1.0
        piece = line[(away >= at) & (away <= until)]
        if len(piece) > 1:
            pieces.append(piece)
        at = until + off * rng.uniform(0.6, 1.4)
    return pieces


def shaded(grey: Grey, rng: np.random.Generator, deepest: float) -> Grey:
    """A shadow with a soft edge over part of the picture: there all is ``deepest`` times as bright."""
    height, width = grey.shape
    v, u = np.mgrid[0:height, 0:width]
    angle = rng.uniform(0.0, 2.0 * np.pi)
    away = (u - width * rng.uniform(0.4, 0.6)) * np.cos(angle) + (v - height / 2) * np.sin(angle)
    light = deepest + (1.0 - deepest) / (1.0 + np.exp(-away / 12.0))
    return np.asarray(np.clip(np.round(grey * light), 0, 255), dtype=np.uint8)


def _trap(
    name: str, lines: list[Line], true: Array, rng: np.random.Generator, how: Spoiling, dpi: float, *,
    off: float = 0.4, clicks: Array | None = None, shadow: float = 1.0,
) -> Trap:
    """Moved so that nothing has negative places, drawn, spoilt; clicks up to about ``off`` mm beside."""
    everything = np.vstack([points for points, _ in lines])
    low = everything.min(axis=0)
    size = np.ptp(everything, axis=0)
    ink, matrix = drawn([(points - low, pen) for points, pen in lines], dpi, (float(size[0]), float(size[1])))
    matrix[:2, 2] -= matrix[:2, :2] @ low
    grey = spoilt(ink, how, int(rng.integers(1 << 30)))
    if shadow < 1.0:
        grey = shaded(grey, rng, shadow)
    places = np.stack((true[0], true[-1])) if clicks is None else clicks
    places = places + rng.uniform(-off, off, places.shape)
    return Trap(name, Picture(grey, matrix), spread(true), places)


def _wavy(rng: np.random.Generator, long: float) -> Array:
    x = np.linspace(0.0, long, 400)
    bow, swing = rng.uniform(8, 20), rng.uniform(-3, 3)
    return np.stack((x, bow * np.sin(np.pi * x / long) + swing * np.sin(2 * np.pi * x / long)), axis=1)


def double(seed: int, how: Spoiling = "noisy", dpi: float = 150.0) -> Trap:
    """Sheeting: a second line 1.5 to 4 mm beside, formers across both; on pencil the first is broken."""
    rng = np.random.default_rng(seed)
    line = _wavy(rng, rng.uniform(90, 140))
    apart = rng.uniform(1.5, 4.0) * rng.choice((-1.0, 1.0))
    lines: list[Line] = [(beside(line, apart), 0.4)]
    if how == "pencil":
        lines += [(piece, 0.4) for piece in broken(line, rng, 9.0, 1.5)]
    else:
        lines.append((line, 0.4))
    for x in np.arange(rng.uniform(10, 20), line[-1, 0], rng.uniform(18, 30)):
        z = float(np.interp(x, *line.T))
        low, high = sorted((z, z + np.sign(apart) * 25.0))
        lines.append((np.array([[x, low], [x, high]]), 0.3))
    return _trap(f"double {abs(apart):.1f}", lines, line, rng, how, dpi)


def ribs(seed: int, how: Spoiling = "noisy", dpi: float = 150.0) -> Trap:
    """A fin from the middle of its leading edge round the tip and down behind: ribs and hinge inside."""
    rng = np.random.default_rng(seed)
    high, chord, sweep = rng.uniform(60, 90), rng.uniform(45, 70), rng.uniform(10, 25)
    a = np.linspace(np.pi, 0.0, 60)
    tip = np.stack((sweep + 0.5 * chord * (1 + np.cos(a)), high + rng.uniform(8, 20) * np.sin(a)), axis=1)
    lead = np.array([[0.0, 0.0], [sweep, high]])
    trail = np.array([tip[-1], [sweep + chord, 0.0]])
    lines: list[Line] = [(np.vstack((lead, tip[1:], trail[1:])), 0.5)]
    hinge = sweep + chord * rng.uniform(0.55, 0.7)
    gap = rng.uniform(1.5, 3.0)
    for x in (hinge, hinge + gap):
        lines.append((np.array([[x, 0.0], [x, float(np.interp(x, *tip.T))]]), 0.4))
    for z in np.linspace(0.25, 1.0, 4) * high - rng.uniform(0, 4):
        slope = rng.uniform(-4, 4)
        lines.append((np.array([[sweep * z / high, z], [sweep + chord, z + slope]]), 0.4))
    start = np.array([[sweep * 0.6, high * 0.6]])
    end = np.array([[sweep + chord, high * rng.uniform(0.45, 0.7)]])
    return _trap("ribs", lines, np.vstack((start, lead[1:], tip[1:], end)), rng, how, dpi)


def bars(seed: int, how: Spoiling = "noisy", dpi: float = 150.0) -> Trap:
    """A bend with straight lines across it that are shorter than the way round."""
    rng = np.random.default_rng(seed)
    r, half = rng.uniform(30, 55), np.radians(rng.uniform(55, 85))
    a = np.linspace(np.pi / 2 + half, np.pi / 2 - half, 300)
    bend = r * np.stack((np.cos(a), np.sin(a)), axis=1)
    lines: list[Line] = []
    pieces = broken(bend, rng, 12.0, 1.2) if how == "pencil" else [bend]
    lines += [(piece, 0.4) for piece in pieces]
    for part in rng.uniform(0.35, 0.8, 2):
        b = half * part
        lean = rng.uniform(-0.12, 0.12)
        ends = np.array([[-np.sin(b), np.cos(b) + lean], [np.sin(b), np.cos(b) - lean]]) * r
        lines.append((ends[0] + (ends[1] - ends[0]) * np.array([[-0.15], [1.15]]), 0.4))
    lines.append((np.array([[rng.uniform(-5, 5), 0.2 * r], [rng.uniform(-5, 5), 1.2 * r]]), 0.25))
    return _trap("bars", lines, bend, rng, how, dpi)


def hinge_pair(seed: int, how: Spoiling = "noisy", dpi: float = 150.0) -> Trap:
    """The fin's side of a hinge, the rudder's a little behind it, hinges drawn across both."""
    rng = np.random.default_rng(seed)
    high, lean, gap = rng.uniform(80, 140), rng.uniform(-12, 12), rng.uniform(1.5, 3.5)
    line = np.array([[0.0, 0.0], [lean, high]])
    other = line + np.array([gap, 0.0])
    lines: list[Line] = [(other, 0.4)]
    lines += [(p, 0.4) for p in (broken(line, rng, 8.0, 1.5) if how == "pencil" else [line])]
    for part in (0.2, 0.5, 0.8):
        at = line[0] + part * (line[1] - line[0])
        lines.append((at + np.array([[-6.0, 0.0], [gap + 6.0, 0.0]]), 0.4))
    for at, z in ((line[1], 0.0), (line[0], 0.0)):
        lines.append((at + np.array([[-30.0, z], [gap + 25.0, z]]), 0.5))
    return _trap(f"hinge {gap:.1f}", lines, line, rng, how, dpi)


def shadowed(seed: int, how: Spoiling = "noisy", dpi: float = 200.0) -> Trap:
    """A single line, half of it in the shadow, faint here, broken there; ink across it."""
    rng = np.random.default_rng(seed)
    line = _wavy(rng, rng.uniform(100, 150))
    first, last = rng.integers(150, 200), rng.integers(240, 260)
    lines: list[Line] = [(line[:first], 0.5), (line[last:], 0.5)]
    for piece in broken(line[first:last], rng, 6.0, 1.5 + 2.0 * (seed % 2)):
        lines.append((piece, 0.3))
    for x in rng.uniform(0.1, 0.9, 2) * line[-1, 0]:
        lines.append((np.array([[x - 4, -15.0], [x + 4, 35.0]]), 0.25))
    return _trap("shadow", lines, line, rng, how, dpi, shadow=rng.uniform(0.3, 0.65))


TRAPS = {"double": double, "ribs": ribs, "bars": bars, "hinge pair": hinge_pair}
