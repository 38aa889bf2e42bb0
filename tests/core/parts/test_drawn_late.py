"""Parts are weighed before they are drawn: what is drawn has the size, volume and place that were weighed.

Areas and centroids of what is drawn are the geometry library's, of what is weighed sums over arrays.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from core.design import Build, Design
from core.design_build import BUILD_WAYS, BuildWay, Ribs, Skin, Spar, Strip, Thickness
from core.design_file import read
from core.parts.built import built, weighed
from core.parts.frame import frame
from core.parts.part import Built, Part
from core.parts.ribbed import ribbed
from core.parts.sheet import sheet
from core.stability.side_area import form_of
from tests.core.parts.drawn import STATE, elliptical, plan_by_hand, slanted_hinge, swept_fin, tiny

SAMPLES = sorted((Path(__file__).resolve().parents[3] / "sample_designs").glob("*.sternpost"))
NEAR = 1e-6


def _agrees(made: Built) -> int:
    """Checks each part against its drawing; how many were checked."""
    plan = made.plan
    for part in made.parts:
        box = shapely.bounds(part.outline)
        assert box[2] - box[0] == pytest.approx(part.length, rel=NEAR) or _laminated(part), part.name
        if part.role != "stick":
            assert box[3] - box[1] == pytest.approx(part.width, rel=NEAR), part.name
        if part.role in ("rib", "web", "skin", "tab"):
            assert part.outline.area * part.thick == pytest.approx(part.volume, rel=NEAR), part.name
        if part.role == "rib":
            # A rib begins where its place does.
            foot = float(part.places[0][:, 0].min())
            assert foot + part.outline.centroid.x == pytest.approx(part.x, rel=NEAR), part.name
        if made.build.way != "ribbed" and plan is not None and not _cut_away(made, part):
            assert part.outline.area * part.thick == pytest.approx(part.volume, rel=NEAR), part.name
            if plan.upright:
                lies = _region(part)
                assert (lies.centroid.x, lies.centroid.y) == pytest.approx((part.x, part.z), rel=NEAR)
    assert sum(part.grams for part in made.parts) == pytest.approx(made.wood_grams, rel=NEAR)
    return len(made.parts)


def _laminated(part: Part) -> bool:
    """True if its stock is longer than it is seen: bent round the edge."""
    return part.name.endswith(", laminated")


def _cut_away(made: Built, part: Part) -> bool:
    """True if the part may lose wood to its panel's throw."""
    assert made.plan is not None
    return any(panel.moves and f"{made.build.id}-{panel.id}" in part.id for panel in made.plan.panels)


def _region(part: Part) -> shapely.Polygon:
    rings = [shapely.Polygon(line) for line in part.places]
    whole = max(rings, key=lambda ring: ring.area)
    return shapely.Polygon(whole.exterior, [ring.exterior for ring in rings if ring is not whole])


def _with(design: Design, way: BuildWay, of: tuple[str, ...]) -> Build:
    return Build(
        id="tail", of=of, way=way, covering_g_m2=60.0,
        thickness=Thickness(14.0, 9.0) if way == "ribbed" else Thickness(5.0, 5.0, "flat"), ribs=Ribs(),
        leading_edge=Strip(6.0), trailing_edge=Strip(8.0), spars=(Spar(0.35, (6.0, 3.0), 1.5),),
        skin=Skin(1.0),
    )


@pytest.mark.parametrize("way", BUILD_WAYS)
@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_on_every_sample_the_drawn_parts_are_those_that_were_weighed(path: Path, way: BuildWay) -> None:
    design = read(path).design
    fin = next(o for o in design.outlines if o.kind == "fin")
    upright = tuple(o.id for o in design.outlines if o.kind in ("fin", "rudder") and o.count == fin.count)
    surfaces = [upright, *((tailplane.id,) for tailplane in design.tailplanes)]
    for of in surfaces:
        build = _with(design, way, of)
        assert _agrees(built(replace(design, builds=(build,)), build)) > 0
    for build in design.builds:
        assert _agrees(built(design, build)) > 0


def _any_build(rng: np.random.Generator, way: BuildWay) -> Build:
    def strip() -> Strip | None:
        deep = None if rng.random() < 0.5 else float(rng.uniform(1.0, 12.0))
        return None if rng.random() < 0.25 else Strip(float(rng.uniform(1.0, 14.0)), deep)

    at = None if rng.random() < 0.7 else tuple(rng.uniform(0.0, 180.0, 4).tolist())
    flat = way != "ribbed" or rng.random() < 0.3
    root = float(rng.uniform(4.0, 25.0))
    return Build(
        id="tail", of=("fin",), way=way,
        thickness=Thickness(root, root if way != "ribbed" else 0.6 * root, "flat" if flat else "symmetric"),
        ribs=Ribs(
            float(rng.uniform(8.0, 90.0)), at, float(rng.uniform(1.0, 5.0)), "balsa-medium",
            bool(rng.random() < 0.7), bool(rng.random() < 0.5),
        ),
        leading_edge=strip(), trailing_edge=strip(),
        spars=tuple(
            Spar(float(rng.uniform(0.1, 0.9)), (wide, 0.6 * wide), 1.5)
            for wide in rng.uniform(1.5, 8.0, int(rng.integers(0, 3))).tolist()
        ),
        skin=None if rng.random() < 0.3 else Skin(float(rng.uniform(0.3, 2.0))), covering_g_m2=60.0,
        hinge_gap=float(rng.uniform(0.0, 2.0)), hinge="bevel" if rng.random() < 0.5 else "round",
        holes=bool(rng.random() < 0.5), diagonals=bool(rng.random() < 0.7),
    )


@pytest.mark.parametrize("way", BUILD_WAYS)
def test_of_a_hundred_builds_the_drawn_parts_are_those_that_were_weighed(way: BuildWay) -> None:
    rng = np.random.default_rng(11)
    ways = {"sheet": sheet, "frame": frame, "ribbed": ribbed}
    count = 0
    for number in range(100):
        build = _any_build(rng, way)
        high, long = float(rng.uniform(60.0, 250.0)), float(rng.uniform(60.0, 220.0))
        blade = ((0.0, 0.0), (long, 0.0), (0.9 * long, high), (0.5 * long, high))
        plan = (
            swept_fin(build), slanted_hinge(build), elliptical(build), tiny(build),
            plan_by_hand(build, (blade, False)),
        )[number % 5]
        count += _agrees(weighed(plan, *ways[way](STATE, plan)))
    assert count > 100


def _nudged(design: Design, name: str, node: int, by: float) -> Design:
    outlines = list(design.outlines)
    place = next(i for i, o in enumerate(outlines) if o.id == name)
    nodes = list(outlines[place].nodes)
    nodes[node] = replace(nodes[node], z=nodes[node].z + by)
    outlines[place] = replace(outlines[place], nodes=tuple(nodes))
    return replace(design, outlines=tuple(outlines))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_node_far_from_the_fin_leaves_its_parts_as_they_are(path: Path) -> None:
    design = read(path).design
    fin = next(o for o in design.outlines if o.kind == "fin")
    body = next(o for o in design.outlines if o.kind == "fuselage")
    build = _with(design, "ribbed", (fin.id,))
    before = built(replace(design, builds=(build,)), build)
    nose = min(range(len(body.nodes)), key=lambda k: body.nodes[k].x)
    assert form_of(fin).patch.box[0] > body.nodes[nose].x + 100.0
    assert built(replace(_nudged(design, body.id, nose, 0.5), builds=(build,)), build) is before
    own = max(range(len(fin.nodes)), key=lambda k: fin.nodes[k].z)
    after = built(replace(_nudged(design, fin.id, own, 0.5), builds=(build,)), build)
    assert after.grams != before.grams
