"""Plans photographed through a bent lens, over folds and in a shadow, laid flat and traced once round.

    python tests/bench/bench_photographed.py [SEEDS]

Drawn plans of three characters are seen by seeded cameras with up to 3 % of barrel; corners and sides are
clicked with a pixel of noise, each outline is drawn loosely and pulled on to the ink, flipped as a user
would who sees the plan. Prints area and CLA fraction against the drawn outlines.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "core"))

import numpy as np
from bench_pulling import MOST_FLIPS, WORTH, Made, fraction, outline_of, polygon, true_fraction
from cameras import PICTURE, Camera, pairs
from plan_maker import CHARACTERS, PARTS, Plan, loose_pen, plan

from core.design import EMPTY, Matrix, Outline, Scan
from core.geometry.ring import Array, flatten, ring_of
from core.ink.fitting import closed_joints
from core.ink.pulling import Pull, flipped, pull
from core.redesign.scan_plane import KnownRectangle, straighten
from core.scan_map import mm_of

SHADOW, NOISE, FOLDS_MM = 0.45, 4.0, 1.0
UPRIGHT: Matrix = ((0.254, 0.0, 0.0), (0.0, -0.254, 762.0), (0.0, 0.0, 1.0))
SCAN = Scan("photo", "photo.jpg", to_mm=UPRIGHT, scale_from="none")


def folded(points: Array, corners: Array) -> Array:
    """Points (N, 2) on the sheet, lifted (N, 3): two folds along it and one across."""
    low, high = corners.min(axis=0), corners.max(axis=0)
    u, v = ((points - low) / (high - low)).T
    rise = np.abs((4 * u) % 2 - 1) + np.abs((2 * v) % 2 - 1) - 1.0
    return np.column_stack((points, FOLDS_MM * rise))


def photographed(whole: Plan, camera: Camera, corners: Array, rng: np.random.Generator) -> Array:
    """The plan as the camera sees it: every pixel of the plan goes where it is seen, means of them."""
    height, width = whole.grey.shape
    total, count = np.zeros(int(PICTURE[0] * PICTURE[1])), np.zeros(int(PICTURE[0] * PICTURE[1]))
    columns = np.arange(width) + 0.5
    for row in range(height):
        at = np.column_stack((columns, np.full(width, row + 0.5)))
        seen = np.floor(camera.looks_at(folded(whole.mm(at), corners))).astype(int)
        held = ((seen >= 0) & (seen < PICTURE)).all(axis=1)
        index = seen[held, 1] * int(PICTURE[0]) + seen[held, 0]
        np.add.at(total, index, whole.grey[row][held])
        np.add.at(count, index, 1.0)
    grey = np.where(count > 0, total / np.maximum(count, 1.0), np.median(whole.grey))
    grey = grey.reshape(int(PICTURE[1]), int(PICTURE[0]))
    across = np.linspace(-1, 1, grey.shape[1])[None, :] + np.linspace(-0.4, 0.4, grey.shape[0])[:, None]
    light = 1.0 - SHADOW / (1.0 + np.exp(-8.0 * (across - rng.uniform(-0.4, 0.4))))
    return np.clip(grey * light + rng.normal(0, NOISE, grey.shape), 0, 255)


def laid(camera: Camera, corners: Array, rng: np.random.Generator) -> Scan:
    """The photograph straightened from its corners and clicks along its sides."""
    def seen(points: Array) -> Array:
        at = camera.looks_at(folded(points, corners))
        return at + rng.normal(0, 0.7, at.shape)

    part = np.linspace(0.05, 0.95, 7)[:, None]
    sides = zip(corners, np.roll(corners, -1, 0), strict=True)
    known = KnownRectangle(
        pairs(seen(corners)), float(np.hypot(*(corners[1] - corners[0]))),
        float(np.hypot(*(corners[3] - corners[0]))),
        lines=tuple(pairs(seen(a + part * (b - a))) for a, b in sides),
    )
    design = EMPTY.__class__(format=1, title="", scans=(SCAN,))
    return straighten(design, "photo", known, {"photo": PICTURE})[0].scan("photo")


def levelled(mm: Array, corners: Array) -> Array:
    """Points of the straightened sheet in the plan's own millimetres: as Level and Datum leave them."""
    along = (corners[1] - corners[0]) / np.hypot(*(corners[1] - corners[0]))
    return np.asarray(corners[0] + mm @ np.array((along, (-along[1], along[0]))))


def watched(found: Pull, true: Array) -> tuple[Pull, int]:
    """Flips that bring the pull nearer to the true outline, both in pixels."""
    shape, flips = polygon(true), 0

    def wrong(one: Pull) -> float:
        return float(polygon(one.points).symmetric_difference(shape).area / shape.area)

    now = wrong(found)
    while flips < MOST_FLIPS and found.choices:
        trials = [flipped(found, k) for k in range(len(found.choices))]
        off = [wrong(trial) for trial in trials]
        best = int(np.argmin(off))
        if off[best] > now - WORTH:
            break
        found, now, flips = trials[best], off[best], flips + 1
    return found, flips


def area(outline: Outline) -> float:
    return float(polygon(flatten(ring_of(outline.nodes))).area)


def main() -> None:
    seeds = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    for character in CHARACTERS:
        areas, points, gestures, refused = [], [], [], 0
        for seed in range(seeds):
            rng = np.random.default_rng((7, seed))
            whole = plan(character, seed)
            height, width = whole.grey.shape
            corners = whole.mm(np.array(((0, height), (width, height), (width, 0), (0, 0)), float))
            long = float(np.ptp(corners[:, 0]))
            tilt, pan, roll = rng.uniform((-12, -12, -6), (12, 12, 6))
            middle = corners.mean(axis=0)
            camera = Camera(
                3600, tilt, pan, roll, 3600 * long / 3100, float(middle[0]), float(middle[1]),
                barrel=rng.uniform(0.015, 0.03),
            )
            grey = photographed(whole, camera, corners, rng).astype(np.uint8)
            scan = laid(camera, corners, rng)
            origin = mm_of(scan, camera.looks_at(folded(corners[:1], corners)))
            outlines = []
            for n, name in enumerate(PARTS):
                true = camera.looks_at(folded(whole.outlines[name], corners))
                pen = camera.looks_at(folded(loose_pen(whole.outlines[name], 100 * seed + n), corners))
                found = pull(grey, pen, closed=True, mm_per_px=long / 3100)
                if isinstance(found, str):
                    refused += 1
                    continue
                found, flips = watched(found, true)
                mm = levelled(mm_of(scan, found.points) - origin, corners)
                made = Made(closed_joints(mm), mm, 1 + flips, len(found.choices), 0.0, 0.0)
                outlines.append(outline_of(name, made))
                areas.append(area(outlines[-1]) / float(polygon(whole.outlines[name]).area) - 1)
                gestures.append(1 + flips)
            if len(outlines) == len(PARTS):
                points.append(100 * abs(fraction(outlines, whole.long) - true_fraction(whole)))
        off = 100 * np.abs(areas)
        print(
            f"{character:10s} {len(areas)} outlines, {refused} refused; area {np.median(off):.2f} % median, "
            f"{off.max():.2f} worst, {int((off <= 1.5).sum())} within 1.5 %; CLA fraction "
            f"{np.median(points):.2f} points median, {max(points):.2f} worst, "
            f"{sum(p <= 0.4 for p in points)} of {len(points)} within 0.4; gestures at most {max(gestures)}"
        )


if __name__ == "__main__":
    main()
