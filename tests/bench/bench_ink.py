"""How near traced ink comes to the curves that were drawn, and how long it takes.

Run as a script; prints and fails on nothing (the whole takes some minutes):

    python tests/bench/bench_ink.py [times|shapes|samples|regions|sides]
"""

from __future__ import annotations

import io
import sys
import zipfile
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path
from statistics import median
from time import perf_counter, thread_time

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "core"))
sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "sample_designs"))

import numpy as np
import shapely
from drawn_ink import Picture, Shape, curve_points, fin, fuselage, picture_of
from drawn_side import plan_of, side_view
from make_samples import cla_fraction
from msgspec.structs import replace
from PIL import Image
from plan_parts import Plan
from plans import TRUE_PLANS
from shaping import Tracing, edge_points

from core.design import Node, Outline
from core.geometry.ring import flatten, ring_of
from core.ink.centring import centred, nearest_ink
from core.ink.enclosed import Enclosed, enclosed
from core.ink.fitting import Joint, closed_joints, nodes_along
from core.ink.following import Follower, follow
from core.ink.region import Region, region

SAMPLES = Path(__file__).resolve().parents[2] / "sample_designs"
CLICK_OFF_PX = 2.0
LONG = 200.0
KEEP_OFF_MM = 2.0
"""Beside the ends of an inked run: there the ink ends in other lines."""


def followed(grey: np.ndarray, clicks: np.ndarray, reach: float, *, closed: bool) -> np.ndarray | None:
    at = [nearest_ink(grey, (float(u), float(v)), reach) or (float(u), float(v)) for u, v in clicks]
    goals = [*at[1:], at[0]] if closed else at[1:]
    runs = [follow(grey, a, b) for a, b in zip(at, goals, strict=False)]
    found = [run for run in runs if run is not None]
    if len(found) < len(runs):
        return None
    path = np.vstack([run[:-1] for run in found] + ([] if closed else [found[-1][-1:]]))
    return centred(grey, path, closed=closed)


def apart(curve: np.ndarray, true: np.ndarray, ends: np.ndarray) -> np.ndarray:
    """Distances in mm both ways, without what lies near the ``ends``."""
    out = []
    for points, line in ((curve, true), (true, curve)):
        if len(ends):
            near = np.min([np.hypot(*(points - end).T) for end in ends], axis=0)
            points = points[near > KEEP_OFF_MM]
        out.append(shapely.distance(shapely.points(points), shapely.LineString(line)))
    return np.concatenate(out)


def shapes(spoilings: Sequence[str] = ("clean", "noisy", "jpeg 30", "one bit", "pencil")) -> None:
    """25 fins and 25 fuselages at 200 dpi, clicks at the nodes, half of them with lines across."""
    for how in spoilings:
        for kind in (fin, fuselage):
            every, worst, nodes, clicks = [], [], [], []
            for seed in range(25):
                shape: Shape = kind(seed)
                picture = picture_of(shape, 200.0, how, seed, clutter=seed % 2 == 1)  # type: ignore[arg-type]
                rng = np.random.default_rng(seed)
                at = picture.px(shape.clicks) + rng.normal(0.0, CLICK_OFF_PX, shape.clicks.shape)
                line = followed(picture.grey, at, 10.0, closed=True)
                if line is None:
                    print(f"  {how} {kind.__name__} {seed}: no way found")
                    continue
                joints = closed_joints(picture.mm(line))
                true = shape.points()
                curve = curve_points(joints, closed=True)
                error = apart(
                    np.vstack((curve, curve[:1])), np.vstack((true, true[:1])), np.zeros((0, 2))
                )
                every.append(error)
                worst.append(float(error.max()))
                nodes.append(len(joints))
                clicks.append(len(at))
            whole = np.concatenate(every)
            print(
                f"{how:8} {kind.__name__:9} median {np.median(whole):.3f} mm, "
                f"99 % {np.quantile(whole, 0.99):.3f}, worst {whole.max():.3f} "
                f"(median shape's worst {median(worst):.3f}, over 0.25 mm: "
                f"{sum(w > 0.25 for w in worst)} of {len(worst)}); "
                f"nodes {median(nodes)} from {median(clicks)} clicks"
            )


def inked_runs(tracing: Tracing) -> list[list[int]]:
    """The nodes of each inked run, in order; all round comes as one run that ends where it began."""
    inked = tracing.inked
    total = len(inked)
    if all(inked):
        return [[*range(total), 0]]
    out = []
    for start in (i for i in range(total) if inked[i] and not inked[i - 1]):
        run = [start]
        while inked[run[-1]]:
            run.append((run[-1] + 1) % total)
        out.append(run)
    return out


def places_of(tracing: Tracing, run: list[int]) -> np.ndarray:
    """The nodes of a run, and places between on edges over LONG mm, as one clicks where the way strays."""
    nodes = tracing.outline.nodes
    out = []
    for i, j in pairwise(run):
        parts = max(1, round(np.hypot(nodes[j].x - nodes[i].x, nodes[j].z - nodes[i].z) / LONG))
        out.append(edge_points(nodes, i, np.arange(parts) / parts))
    last = nodes[run[-1]]
    return np.vstack([*out, [[last.x, last.z]]])


def node_of(joint: Joint) -> Node:
    return Node(joint.x, joint.z, joint.handle_in, joint.handle_out)


def traced_outline(
    tracing: Tracing, picture: Picture, dpi: float, rng: np.random.Generator
) -> tuple[Outline, np.ndarray, int, int]:
    """(outline, errors in mm on the ink, clicks, nodes). What is not inked is taken over by its nodes."""
    nodes = tracing.outline.nodes
    made: list[Node] = []
    errors, clicks, count = [], 0, 0
    reach = 0.8 / 25.4 * dpi + 4.0
    closed = all(tracing.inked)
    runs = inked_runs(tracing)
    for run in runs:
        at = places_of(tracing, run)
        at = at[:-1] if closed else at
        px = picture.px(at) + rng.normal(0.0, CLICK_OFF_PX, at.shape)
        line = followed(picture.grey, px, reach, closed=closed)
        if line is None:
            return tracing.outline, np.array([np.inf]), len(at), 0
        joints = closed_joints(picture.mm(line)) if closed else nodes_along(picture.mm(line))
        t = np.linspace(0.0, 1.0, 120)
        true = np.vstack([edge_points(nodes, i, t) for i in run[:-1]])
        curve = curve_points(joints, closed=closed)
        if closed:
            curve, true = np.vstack((curve, curve[:1])), np.vstack((true, true[:1]))
        errors.append(apart(curve, true, np.zeros((0, 2)) if closed else true[[0, -1]]))
        clicks, count = clicks + len(at), count + len(joints)
        made += [node_of(joint) for joint in joints]
        if not closed:
            after = run[-1]
            while not tracing.inked[after]:
                after = (after + 1) % len(nodes)
                if after in [other[0] for other in runs]:
                    break
                made.append(nodes[after])
    outline = replace(tracing.outline, nodes=tuple(made))
    return outline, np.concatenate(errors), clicks, count


def sample_picture(slug: str, plan: Plan) -> Picture:
    with zipfile.ZipFile(SAMPLES / f"{slug}.sternpost") as container:
        data = container.read(plan.scan.file)
    with Image.open(io.BytesIO(data)) as opened:
        return Picture(np.asarray(opened.convert("L")), plan.mm_to_px)


def samples() -> None:
    """Every outline of the samples by ink, clicks at its nodes; then the CLA fraction and the true one."""
    for slug, plan in TRUE_PLANS.items():
        picture = sample_picture(slug, plan)
        rng = np.random.default_rng(plan.scan.seed)
        outlines, whole = [], []
        for tracing in plan.tracings:
            outline, error, clicks, count = traced_outline(tracing, picture, plan.scan.dpi, rng)
            outlines.append(outline)
            whole.append(error)
            print(
                f"  {tracing.outline.id:14} {clicks:2} clicks, {count:3} nodes: "
                f"median {np.median(error):.3f} mm, 95 % {np.quantile(error, 0.95):.3f}, "
                f"worst {error.max():.3f}"
            )
        every = np.concatenate(whole)
        true = replace(plan.bare, outlines=tuple(plan.outlines))
        ours = replace(plan.bare, outlines=tuple(outlines))
        print(
            f"{slug}: median {np.median(every):.3f} mm, worst {every.max():.3f}; CLA fraction "
            f"{100 * cla_fraction(ours):.3f} %, true {100 * cla_fraction(true):.3f} %"
        )


def regions() -> None:
    """Areas and centroids of clicked shapes, turned and sheared."""
    for how, dpi in (("noisy", 200.0), ("jpeg 30", 200.0), ("one bit", 100.0), ("pencil", 200.0)):
        for filled in (False, True):
            if filled and how == "pencil":
                continue
            areas, middles, spent, refused = [], [], [], 0
            for seed in range(12):
                shape = (fin if seed % 2 else fuselage)(seed)
                picture = picture_of(
                    shape, dpi, how, seed, filled=filled,  # type: ignore[arg-type]
                    turn_deg=3.0 * seed - 16, shear=0.02 * seed - 0.1,
                )
                true = shapely.Polygon(shape.points())
                spot = np.array(true.representative_point().coords)
                begin = thread_time()
                found = region(picture.grey, tuple(picture.px(spot)[0]))
                spent.append(1e3 * (thread_time() - begin))
                if not isinstance(found, Region):
                    refused += 1
                    continue
                ours = shapely.Polygon(curve_points(closed_joints(picture.mm(found.boundary)), closed=True))
                areas.append(abs(ours.area / true.area - 1))
                middles.append(ours.centroid.distance(true.centroid))
            print(
                f"{how:8} {dpi:.0f} dpi {'filled' if filled else 'lined '}: "
                f"area off {100 * median(areas):.3f} % median, {100 * max(areas):.3f} % worst; "
                f"centroid {median(middles):.3f} mm, {max(middles):.3f} worst; "
                f"{median(spent):.0f} ms of the processor; refused {refused}"
            )


def sides() -> None:
    """Side views from a loop round them, beside one bay by a click; 200 dpi, three characters, four seeds."""
    for paper, gaps in (("noisy", 0), ("jpeg 30", 0), ("blueprint", 0), ("pencil", 0), ("pencil", 5)):
        off, spent, bays, refused, told = [], [], [], 0, 0
        for character in ("box", "round", "boom"):
            for seed in range(4):
                view = side_view(character, seed, touching=seed % 2 == 0)  # type: ignore[arg-type]
                picture = plan_of(view, 200.0, paper, seed, gaps=gaps, gap_mm=1.4)  # type: ignore[arg-type]
                loop = picture.px(view.lasso(seed, 26.0 if seed % 2 else 11.0))
                begin = thread_time()
                found = enclosed(picture.grey, loop, gap=200.0 / 25.4)
                spent.append(1e3 * (thread_time() - begin))
                begin = thread_time()
                spot = np.array(shapely.Polygon(view.own[0][0]).representative_point().coords) + 0.7
                region(picture.grey, tuple(picture.px(spot)[0]))
                bays.append(1e3 * (thread_time() - begin))
                if not isinstance(found, Enclosed):
                    refused += 1
                    continue
                curve = curve_points(closed_joints(picture.mm(found.boundary)), closed=True)
                off.append(abs(shapely.Polygon(curve).area / view.outline.area - 1))
                told += found.open_at is not None
        print(
            f"{paper:9} {gaps} gaps of 1.4 mm in each outline: area off {100 * median(off):.3f} % median, "
            f"{100 * max(off):.3f} % worst; {median(spent):.0f} ms of the processor ({max(spent):.0f} most), "
            f"one bay by a click {median(bays):.0f} ms; refused {refused}, an open part told {told}"
        )
    for slug, plan in TRUE_PLANS.items():
        picture = sample_picture(slug, plan)
        drawn = [shapely.Polygon(flatten(ring_of(outline.nodes))) for outline in plan.outlines]
        whole = shapely.union_all(drawn)
        ring = shapely.get_coordinates(shapely.buffer(whole.convex_hull, 14.0).exterior)
        begin = thread_time()
        found = enclosed(picture.grey, picture.px(ring), gap=plan.scan.dpi / 25.4)
        took = thread_time() - begin
        true = max(part.area for part in shapely.get_parts(whole))
        what = found.reason if not isinstance(found, Enclosed) else (
            f"area off {100 * (shapely.Polygon(picture.mm(found.boundary)).area / true - 1):+.3f} %"
        )
        print(f"{slug} ({picture.grey.size / 1e6:.0f} megapixels): {what}; {took:.2f} s of the processor")


def times() -> None:
    """Milliseconds of the processor for one span, by its length in pixels."""
    picture = picture_of(fin(4), 200.0, "noisy", 4, clutter=True)
    line = picture.px(fin(4).points())
    away = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))))

    def at(far: float) -> tuple[float, float]:
        return float(np.interp(far, away, line[:, 0])), float(np.interp(far, away, line[:, 1]))

    for span in (60, 120, 200, 400, 800):
        spent: dict[str, list[float]] = {"follow": [], "centre": [], "fit": []}
        for begin in np.linspace(0.0, away[-1] - span - 5, 12):
            marks = [thread_time()]
            path = follow(picture.grey, at(begin), at(begin + span))
            marks.append(thread_time())
            assert path is not None
            middle = centred(picture.grey, path)
            marks.append(thread_time())
            nodes_along(picture.mm(middle))
            marks.append(thread_time())
            for key, gone in zip(spent, np.diff(marks), strict=True):
                spent[key].append(1e3 * float(gone))
        shown = (f"{key} {median(v):.1f} ms (most {max(v):.1f})" for key, v in spent.items())
        print(f"{span} px: " + ", ".join(shown))
    follower = Follower(picture.grey)
    begin_at = perf_counter()
    follower.begin(at(0.0))
    print(f"begin on {picture.grey.shape}: {1e3 * (perf_counter() - begin_at):.1f} ms")
    moves = []
    for far in range(40, 400, 4):
        begin_at = thread_time()
        follower.to(at(float(far)))
        moves.append(1e3 * (thread_time() - begin_at))
    print(f"goal moved by 4 px: {median(moves):.2f} ms median, {max(moves):.1f} most")


if __name__ == "__main__":
    for name in sys.argv[1:] or ["times", "shapes", "samples", "regions", "sides"]:
        print(f"-- {name}")
        {"times": times, "shapes": shapes, "samples": samples, "regions": regions, "sides": sides}[name]()
