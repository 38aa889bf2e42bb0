"""What builds weigh and where: sums, moves, mirrors, scales, and keeping by identity."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.design import Build, Design, Flight, Material, Node, Outline, Station, Tailplane
from core.design_build import BUILD_WAYS, Ribs, Skin, Spar, Strip, Thickness
from core.materials import WOODS
from core.parts.built import all_built, build_masses, built, built_ids, weighed
from core.parts.part import Built
from core.parts.planform import plan_of
from core.parts.ribbed import ribbed
from core.parts.sheet import sheet
from core.redesign.build_edits import build_of, new_build
from tests.core.making import FEW, box, design_of, traced
from tests.core.parts.drawn import full_build

FIN = traced("fin", "fin", ((800, 50), (930, 50), (955, 240), (890, 240)), label="Fin")
RUDDER = traced("rudder", "rudder", ((930, 50), (990, 50), (1000, 240), (955, 240)), label="Rudder")
BODY = box("body", "fuselage", 0, -50, 930, 50)
PLANE = Tailplane("plane", (Station(0, 820, 140), Station(40, 830, 130, 4.0), Station(260, 870, 80, 30.0)))
RIBBED = full_build(id="upright", of=("fin", "rudder"), tab=False)
FLAT = full_build(id="level", of=("plane",), thickness=Thickness(10.0, 6.0), hinge="round")


def _both(**more: Any) -> Design:
    return design_of(FIN, RUDDER, BODY, builds=(RIBBED, FLAT), **{"tailplanes": (PLANE,), **more})


def _fresh(design: Design, build: Build) -> Built:
    plan = plan_of(design, build)
    assert not isinstance(plan, str)
    return weighed(plan, *{"ribbed": ribbed, "sheet": sheet}[build.way](design, plan))


def test_a_build_weighs_wood_covering_and_glue() -> None:
    design = _both()
    assert all_built(design)[0].faults == ()
    for found in all_built(design):
        assert len(found.parts) > 12
        wood = sum(p.volume * p.count * WOODS[p.material].kg_m3 * 1e-6 for p in found.parts)
        assert found.wood_grams == pytest.approx(wood)
        assert found.glue_grams == pytest.approx(0.08 * wood)
        assert found.covering_grams == pytest.approx(60e-6 * found.covering_area)
        assert found.grams == pytest.approx(found.wood_grams + found.glue_grams + found.covering_grams)
        assert found.plan is not None
        area = 2.0 * found.plan.count * sum(panel.region.area for panel in found.plan.panels)
        # The section is a little longer round than its chord.
        assert 1.0 < found.covering_area / area < 1.03
    masses = build_masses(design)
    assert [m[0] for m in masses] == [found.grams for found in all_built(design)]
    assert built_ids(design) == {"fin", "rudder", "plane"}


def test_without_covering_and_glue_the_centroid_is_the_woods() -> None:
    bare = msgspec.structs.replace(RIBBED, covering_g_m2=None, glue=0.0)
    found = built(_both(), bare)
    assert found.grams == found.wood_grams == pytest.approx(sum(p.grams for p in found.parts))
    assert found.x == pytest.approx(sum(p.grams * p.x for p in found.parts) / found.grams)
    assert found.z == pytest.approx(sum(p.grams * p.z for p in found.parts) / found.grams)


def test_a_flat_sheet_fin_weighs_its_area_times_its_thickness() -> None:
    build = Build(
        id="flat", of=("fin",), way="sheet", thickness=Thickness(5.0, 5.0, "flat"),
        skin=Skin(1.0, "balsa-hard"), covering_g_m2=25.0, glue=0.0, tab=False,
    )
    found = built(design_of(FIN, BODY, builds=(build,)), build)
    area = 0.5 * (130.0 + 65.0) * 190.0
    assert found.wood_grams == pytest.approx(area * 5.0 * 220e-6)
    assert found.covering_grams == pytest.approx(2.0 * area * 25e-6)
    assert found.covering_area == pytest.approx(2.0 * area)


def _mapped(outline: Outline, size: float, x: float, z: float) -> Outline:
    return msgspec.structs.replace(
        outline, nodes=tuple(Node(size * n.x + x, size * n.z + z) for n in outline.nodes)
    )


def test_moved_it_weighs_the_same_elsewhere() -> None:
    here = built(_both(), RIBBED)
    moved = design_of(*(_mapped(o, 1.0, -333.0, 21.0) for o in (FIN, RUDDER, BODY)), builds=(RIBBED,))
    there = built(moved, RIBBED)
    assert there.grams == pytest.approx(here.grams, rel=1e-9)
    assert (there.x, there.z) == pytest.approx((here.x - 333.0, here.z + 21.0))


def test_hung_it_weighs_the_same_below() -> None:
    build = full_build(of=("fin",), tab=False)
    stands = built(design_of(FIN, builds=(build,)), build)
    below = traced("fin", "ventral fin", [(n.x, -n.z) for n in FIN.nodes])
    hangs = built(design_of(below, builds=(build,)), build)
    assert stands.grams > 10.0
    assert hangs.grams == pytest.approx(stands.grams, rel=1e-9)
    assert (hangs.x, hangs.z) == pytest.approx((stands.x, -stands.z))


def test_twice_as_large_in_all_three_sizes_is_eight_times_the_wood() -> None:
    def sized(n: float) -> Built:
        # Thick and without holes: no size meets the saw cut, which does not grow.
        build = Build(
            id="b", of=("fin", "rudder"), way="ribbed", thickness=Thickness(30.0 * n, 24.0 * n),
            ribs=Ribs(40.0 * n, None, 3.0 * n, "balsa-medium", False, True),
            leading_edge=Strip(8.0 * n), trailing_edge=Strip(20.0 * n),
            spars=(Spar(0.3, (6.0 * n, 3.0 * n), 2.0 * n),), skin=Skin(2.0 * n), covering_g_m2=60.0,
            hinge_gap=0.5 * n, tab=False,
        )
        return built(design_of(*(_mapped(o, n, 0, 0) for o in (FIN, RUDDER, BODY)), builds=(build,)), build)

    one, two = sized(2.0), sized(4.0)
    assert [(p.id, p.count) for p in one.parts] == [(p.id, p.count) for p in two.parts]
    assert two.wood_grams == pytest.approx(8.0 * one.wood_grams, rel=1e-6)
    assert two.glue_grams == pytest.approx(8.0 * one.glue_grams, rel=1e-6)
    assert two.covering_grams == pytest.approx(4.0 * one.covering_grams, rel=1e-6)
    assert (two.x, two.z) != (one.x, one.z)
    for small, large in zip(one.parts, two.parts, strict=True):
        assert (large.x, large.z) == pytest.approx((2.0 * small.x, 2.0 * small.z), rel=1e-6)


def test_a_slot_keeps_ribs_beside_it_and_says_what_it_goes_through() -> None:
    crossing = Tailplane("plane", (Station(0, 860, 60, 130.0), Station(200, 840, 80, 130.0)))
    build = msgspec.structs.replace(RIBBED, ribs=Ribs(40.0))
    design = design_of(FIN, RUDDER, BODY, builds=(build,), tailplanes=(crossing,))
    found, whole = built(design, build), built(msgspec.structs.replace(design, tailplanes=()), build)
    assert found.plan is not None
    (slot,) = found.plan.slots
    low, high = slot.bounds[1] + 50.0, slot.bounds[3] + 50.0
    assert low < 130.0 < high
    ribs = [part.z for part in found.parts if part.id.startswith("upright-fin-rib")]
    assert all(z + 1.2 <= low + 1e-9 or z - 1.2 >= high - 1e-9 for z in ribs)
    assert 130.0 in [pytest.approx(part.z) for part in whole.parts if part.role == "rib"]
    skins = [next(p for p in b.parts if p.id == "upright-fin-skin") for b in (found, whole)]
    assert skins[1].area - skins[0].area == pytest.approx(slot.area, rel=0.01)
    assert whole.covering_area - found.covering_area == pytest.approx(2.0 * slot.area)
    assert found.faults == ()
    assert len(found.notes) == 2
    assert "closed slot" in found.notes[0]
    assert "The slot in Fin goes through Fin spar at 35 %, cap" in found.notes[1]


def test_a_pair_weighs_twice() -> None:
    build = full_build(of=("fin",), tab=False)
    one = built(design_of(FIN, builds=(build,)), build)
    two = built(design_of(msgspec.structs.replace(FIN, count=2), builds=(build,)), build)
    assert two.grams == pytest.approx(2.0 * one.grams)
    assert (two.x, two.z) == pytest.approx((one.x, one.z))


def test_of_two_builds_of_one_surface_the_first_counts() -> None:
    other = msgspec.structs.replace(RIBBED, id="again", of=("rudder",))
    design = msgspec.structs.replace(_both(), builds=(RIBBED, other))
    assert len(all_built(design)) == 2
    assert len(build_masses(design)) == 1
    assert built_ids(design) == {"fin", "rudder"}


def test_what_cannot_be_built_weighs_nothing_and_covers_nothing() -> None:
    lost = msgspec.structs.replace(RIBBED, of=("gone",))
    design = msgspec.structs.replace(_both(), builds=(lost,))
    found = built(design, lost)
    assert (found.grams, found.parts, found.plan) == (0.0, (), None)
    assert len(found.faults) == 1
    assert build_masses(design) == ()
    assert built_ids(design) == frozenset()
    assert build_masses(Design(format=1, title="Empty")) == ()


def test_it_is_kept_as_long_as_nothing_it_is_made_from_changes() -> None:
    design = _both()
    first = built(design, RIBBED)
    elsewhere = msgspec.structs.replace(design, title="Another", weights=(), notes="changed")
    assert built(elsewhere, RIBBED) is first
    assert built(msgspec.structs.replace(design, materials=(Material("x", "", 1.0),)), RIBBED) is first
    heavy = msgspec.structs.replace(design, materials=(Material("spruce", "", 800.0),))
    assert built(heavy, RIBBED).wood_grams > first.wood_grams + 1.0


_EDITS = st.sampled_from(("node", "body", "throw", "density", "thickness", "plane", "count", "ribs", "gap"))


def _edited(design: Design, what: str, by: float) -> Design:
    replace = msgspec.structs.replace
    fin, rudder, body = design.outlines
    build = design.builds[0]
    if what in ("node", "body", "count"):
        if what == "node":
            nodes = list(fin.nodes)
            nodes[3] = Node(890.0 + by, 240.0)
            fin = replace(fin, nodes=tuple(nodes))
        elif what == "body":
            body = box("body", "fuselage", 0, -50, 930, 50.0 + abs(by))
        else:
            fin, rudder = (replace(o, count=3 - o.count) for o in (fin, rudder))
        return replace(design, outlines=(fin, rudder, body))
    if what == "throw":
        return replace(design, flight=Flight(rudder_throw_deg=20.0 + abs(by)))
    if what == "density":
        return replace(design, materials=(Material("balsa-hard", "", 200.0 + by),))
    if what == "plane":
        wider = replace(PLANE, stations=(*PLANE.stations[:2], Station(260.0 + by, 870, 80, 30.0)))
        return replace(design, tailplanes=(wider,))
    if what == "thickness":
        build = replace(build, thickness=Thickness(14.0 + 0.2 * by, 9.0))
    elif what == "ribs":
        build = replace(build, ribs=Ribs(40.0 + by))
    else:
        build = replace(build, hinge_gap=0.5 + 0.01 * abs(by))
    return replace(design, builds=(build, *design.builds[1:]))


@given(st.lists(st.tuples(_EDITS, st.floats(-10, 10)), min_size=1, max_size=6))
@FEW
def test_kept_is_what_would_be_computed_anew(edits: list[tuple[str, float]]) -> None:
    design = _both()
    for what, by in edits:
        design = _edited(design, what, by)
        copied = msgspec.convert(msgspec.to_builtins(design), Design)
        for build, copy in zip(design.builds, copied.builds, strict=True):
            kept, fresh = built(design, build), _fresh(copied, copy)
            assert (kept.grams, kept.x, kept.z) == (fresh.grams, fresh.x, fresh.z)
            assert [p.name for p in kept.parts] == [p.name for p in fresh.parts]
            assert kept.faults == fresh.faults


def test_a_pair_of_tip_plates_is_made_in_every_way() -> None:
    plate = box("plate", "tip plate", 800, 0, 900, 120, count=2, apart=500.0)
    for way in BUILD_WAYS:
        design, made = new_build(design_of(BODY, plate), ("plate",), way)
        found = built(design, build_of(design, made))
        assert found.parts, found.faults
        assert found.faults == ()
        assert {part.count % 2 for part in found.parts} == {0}
        if way == "sheet":
            assert found.wood_grams == pytest.approx(2 * 100 * 120 * found.build.thickness.root * 150e-6)


def test_a_tab_of_ply_under_a_thick_root_is_no_block() -> None:
    build = full_build(id="upright", of=("fin",), thickness=Thickness(100.0, 60.0))
    design = design_of(traced("fin", "fin", ((800, 0), (930, 0), (955, 240), (890, 240))), BODY)
    tab = next(part for part in built(design, build).parts if part.role == "tab")
    assert tab.thick == 6.0
    thin = built(design, msgspec.structs.replace(build, thickness=Thickness(15.0, 9.0)))
    assert next(part for part in thin.parts if part.role == "tab").thick == pytest.approx(3.0)
