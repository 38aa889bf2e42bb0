"""How near a path drawn loosely round a shape comes to the drawn outline, and how long it takes.

Run as a script; prints and fails on nothing (all 30 plans take some minutes; LAST is one past the
last seed):

    python tests/bench/bench_pulling.py [sheeted|pencil|blueprint|baseline|large ...] [FIRST LAST]
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from time import perf_counter, thread_time

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "core"))
sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "sample_designs"))

import numpy as np
import shapely
from drawn_ink import curve_points
from make_samples import cla_fraction
from making import design_of, traced
from plan_maker import CHARACTERS, PARTS, Character, Plan, loose_pen, plan

from core.design import Mark, Node, Outline
from core.ink import pulling
from core.ink.centring import centred, nearest_ink
from core.ink.fitting import Joint, closed_joints
from core.ink.following import follow
from core.ink.pulling import Pull, flipped, pull
from core.ink.region import region

MOST_FLIPS = 3
"""With the path itself four gestures."""
WORTH = 0.001
"""A flip that brings less than this part of the area is not made."""


@dataclass(frozen=True)
class Made:
    """One outline: its joints, and what it took."""

    joints: tuple[Joint, ...]
    points: np.ndarray
    gestures: int
    choices: int
    seconds: float
    first_area: float


def polygon(points: np.ndarray) -> shapely.Polygon:
    made = shapely.Polygon(points)
    return made if made.is_valid else shapely.make_valid(made)


def watched(found: Pull, whole: Plan, name: str) -> tuple[Pull, int]:
    """The pull after a user has flipped what brings it nearer to the drawn outline, and how many times."""
    true = polygon(whole.outlines[name])

    def wrong(one: Pull) -> float:
        return float(polygon(whole.mm(one.points)).symmetric_difference(true).area / true.area)

    flips, now = 0, wrong(found)
    while flips < MOST_FLIPS and found.choices:
        trials = [flipped(found, k) for k in range(len(found.choices))]
        off = [wrong(trial) for trial in trials]
        best = int(np.argmin(off))
        if off[best] > now - WORTH:
            break
        found, now, flips = trials[best], off[best], flips + 1
    return found, flips


def once_round(whole: Plan, name: str, seed: int) -> Made | str:
    """One outline by a loose path and flips."""
    path = whole.px(loose_pen(whole.outlines[name], seed))
    begin = thread_time()
    found = pull(whole.grey, path, closed=True, mm_per_px=whole.mm_per_px)
    spent = thread_time() - begin
    if isinstance(found, str):
        return found
    first = polygon(whole.mm(found.points)).area / polygon(whole.outlines[name]).area - 1
    count = len(found.choices)
    found, flips = watched(found, whole, name)
    points = whole.mm(found.points)
    return Made(closed_joints(points), points, 1 + flips, count, spent, float(first))


def outline_of(name: str, made: Made) -> Outline:
    nodes = tuple(Node(j.x, j.z, j.handle_in, j.handle_out) for j in made.joints)
    return Outline(name, name, nodes)  # type: ignore[arg-type]


def fraction(outlines: list[Outline], long: float) -> float:
    return cla_fraction(design_of(*outlines, cg_mark=Mark(0.36 * long)))


def true_fraction(whole: Plan) -> float:
    return fraction([traced(name, name, whole.outlines[name][::3]) for name in PARTS], whole.long)


@dataclass(frozen=True)
class Outcome:
    """One plan: parts that were refused, area errors by part, the error of the CLA fraction in points."""

    made: dict[str, Made]
    refused: dict[str, str]
    areas: dict[str, float]
    worst_mm: dict[str, float]
    off_points: float


def judged(whole: Plan, seed: int) -> Outcome:
    made: dict[str, Made] = {}
    refused: dict[str, str] = {}
    for n, name in enumerate(PARTS):
        one = once_round(whole, name, 10 * seed + n)
        if isinstance(one, str):
            refused[name] = one
        else:
            made[name] = one
    areas, worst = {}, {}
    for name, one in made.items():
        true = shapely.Polygon(whole.outlines[name])
        curve = curve_points(one.joints, closed=True)
        areas[name] = float(polygon(curve).area / true.area - 1)
        worst[name] = float(shapely.distance(shapely.points(curve), true.exterior).max())
    off = np.inf
    if not refused:
        ours = fraction([outline_of(name, one) for name, one in made.items()], whole.long)
        off = 100 * abs(ours - true_fraction(whole))
    return Outcome(made, refused, areas, worst, float(off))


def aims(character: Character, seeds: range) -> None:
    """Area, CLA, gestures and time over these plans."""
    outcomes = []
    for seed in seeds:
        whole = plan(character, seed)
        one = judged(whole, seed)
        outcomes.append(one)
        parts = "; ".join(
            f"{name} {100 * one.areas[name]:+.2f} % (unflipped {100 * m.first_area:+.2f}), "
            f"worst {one.worst_mm[name]:.2f} mm, {m.gestures} gestures of {m.choices} choices, "
            f"{len(m.joints)} nodes, {m.seconds:.2f} s"
            for name, m in one.made.items()
        )
        print(f"  {character} {seed} {whole.dpi:.0f} dpi: CLA off {one.off_points:.2f}; {parts}", flush=True)
        for name, reason in one.refused.items():
            print(f"    {name}: {reason}")
    off = [one.off_points for one in outcomes]
    areas = [abs(a) for one in outcomes for a in one.areas.values()]
    every = [m for one in outcomes for m in one.made.values()]
    print(
        f"{character}: area within 0.5 % for {sum(a <= 0.005 for a in areas)} of {3 * len(outcomes)}, worst "
        f"{100 * max(areas):.2f} %; CLA within 0.2 for {sum(o <= 0.2 for o in off)} of {len(off)}, within "
        f"0.5 for {sum(o <= 0.5 for o in off)}, worst {max(off):.2f}; gestures "
        f"{max(m.gestures for m in every)} at most, {sum(m.gestures for m in every) / len(every):.1f} mean; "
        f"{median(m.seconds for m in every):.2f} s median, {max(m.seconds for m in every):.2f} most"
    )


STEPS = ("tidied", "straightened", "strength", "way", "middle", "lines_beside")


class Timed:
    """The steps of a pull, with the processor's seconds that each takes; put back at the end."""

    def __init__(self) -> None:
        self.spent = dict.fromkeys(STEPS, 0.0)

    def __enter__(self) -> Timed:
        self._own = {name: getattr(pulling, name) for name in STEPS}
        for name, step in self._own.items():
            setattr(pulling, name, self._timing(name, step))
        return self

    def _timing(self, name: str, step: Callable[..., object]) -> Callable[..., object]:
        def timed(*given: object, **named: object) -> object:
            begin = thread_time()
            made = step(*given, **named)
            self.spent[name] += thread_time() - begin
            return made

        return timed

    def __exit__(self, *_: object) -> None:
        for name, step in self._own.items():
            setattr(pulling, name, step)


def large() -> None:
    """A fuselage of over a metre on a scan of 140 megapixels, step by step, in seconds of the processor."""
    whole = plan("sheeted", 4, 300.0, 2.6)
    rows, columns = whole.grey.shape
    more = max(0, -(-140_000_000 // columns) - rows)
    grey = np.pad(whole.grey, ((0, more), (0, 0)), mode="edge")
    print(f"{grey.size / 1e6:.0f} megapixels, fuselage {whole.long:.0f} mm")
    for name in PARTS:
        outline = whole.outlines[name]
        path = whole.px(loose_pen(outline, 7))
        for _ in range(2):
            begin, processor = perf_counter(), thread_time()
            found = pull(grey, path, closed=True, mm_per_px=whole.mm_per_px)
            spent = perf_counter() - begin, thread_time() - processor
        assert not isinstance(found, str), found
        begin = thread_time()
        joints = closed_joints(whole.mm(found.points))
        fitted = thread_time() - begin
        round_mm = float(np.hypot(*np.diff(outline, axis=0).T).sum())
        print(
            f"  {name}: {round_mm:.0f} mm round, pull {spent[1]:.2f} s of the processor ({spent[0]:.2f} s by "
            f"the clock), fit {fitted:.2f} s, {len(joints)} nodes, {len(found.choices)} choices"
        )
        with Timed() as timed:
            pull(grey, path, closed=True, mm_per_px=whole.mm_per_px)
        print("    " + ", ".join(f"{step} {spent:.2f} s" for step, spent in timed.spent.items()))


def baseline(seeds: range) -> None:
    """What a click inside a shape, and clicks followed from one to the next, give on the same plans."""
    for character in CHARACTERS:
        for seed in seeds:
            whole = plan(character, seed)
            for name in PARTS:
                true = shapely.Polygon(whole.outlines[name])
                spot = whole.px(np.array(true.representative_point().coords))[0]
                begin = thread_time()
                shape = region(whole.grey, (float(spot[0]), float(spot[1])))
                inside = thread_time() - begin
                told = shape if isinstance(shape, str) else (
                    f"area {100 * (polygon(whole.mm(shape.boundary)).area / true.area - 1):+.1f} %"
                )
                clicks = whole.px(shapely.get_coordinates(true.exterior.simplify(2.0))[:-1])
                begin = thread_time()
                line = followed(whole.grey, clicks, 1.2 / whole.mm_per_px)
                way = thread_time() - begin
                by_clicks = "no way found" if line is None else (
                    f"area {100 * (polygon(whole.mm(line)).area / true.area - 1):+.2f} %"
                )
                print(
                    f"  {character} {seed} {name}: click inside {told}, {inside:.2f} s; {len(clicks)} clicks "
                    f"round it {by_clicks}, {way:.2f} s", flush=True,
                )


def followed(grey: np.ndarray, clicks: np.ndarray, reach: float) -> np.ndarray | None:
    """The way along the ink from one click to the next, all round, and its middle."""
    at = [nearest_ink(grey, (float(u), float(v)), reach) or (float(u), float(v)) for u, v in clicks]
    runs = [follow(grey, a, b) for a, b in zip(at, [*at[1:], at[0]], strict=True)]
    found = [run[:-1] for run in runs if run is not None]
    return centred(grey, np.vstack(found), closed=True) if len(found) == len(runs) else None


if __name__ == "__main__":
    words = sys.argv[1:]
    numbers = [int(word) for word in words if word.isdigit()]
    chosen = range(*numbers) if numbers else range(10)
    for word in [w for w in words if not w.isdigit()] or [*CHARACTERS, "large"]:
        if word == "large":
            large()
        elif word == "baseline":
            baseline(chosen)
        else:
            aims(word, chosen)  # type: ignore[arg-type]
