"""Edits of builds and materials, and what carries a build along when the aeroplane is moved or cut."""

from __future__ import annotations

import pytest
from making import box, design_of, traced, trainer
from msgspec.structs import replace

from core.design import EMPTY, Bench, Design, Mark, Outline, Station, Tailplane
from core.design_build import BUILD_WAYS, BuildWay, Strip
from core.design_check import problems
from core.parts.built import built
from core.redesign.alternatives import keep, take_back
from core.redesign.build_edits import (
    add_material,
    build_of,
    buildable,
    change_build,
    change_material,
    delete_build,
    delete_material,
    name_of,
    new_build,
    set_way,
    starting_build,
)
from core.redesign.outline_edits import EditError
from core.redesign.plug import plug
from core.redesign.scan_edits import set_datum


def tail() -> Design:
    """A body, a fin with its rudder, a pair of tip plates and a tailplane."""
    made = design_of(
        box("body", "fuselage", 0, -40, 900, 40), box("fin", "fin", 700, 30, 780, 200, label="Fin"),
        box("rudder", "rudder", 780, 30, 840, 200, label="Rudder"),
        box("plate", "tip plate", 300, 0, 400, 90, label="Plate", count=2),
    )
    surface = Tailplane("tailplane", (Station(0, 700, 160), Station(240, 740, 100)), "Tailplane")
    return replace(made, tailplanes=(surface,))


def test_a_fin_goes_with_its_rudder_and_all_else_by_itself() -> None:
    assert [one.ids for one in buildable(tail())] == [("fin", "rudder"), ("plate",), ("tailplane",)]
    assert buildable(tail())[0].name == "Fin and Rudder"
    made, _ = new_build(tail(), ("fin", "rudder"), "ribbed")
    assert [one.ids for one in buildable(made)] == [("plate",), ("tailplane",)]
    assert buildable(EMPTY) == ()


@pytest.mark.parametrize("way", BUILD_WAYS)
@pytest.mark.parametrize("ids", [("fin", "rudder"), ("plate",), ("tailplane",)])
def test_a_new_build_has_what_its_way_needs_and_can_be_kept_in_a_file(way: BuildWay, ids: tuple[str]) -> None:
    made, build_id = new_build(tail(), ids, way)
    build = build_of(made, build_id)
    assert build.of == ids and build.way == way and not problems(made)
    assert (build.thickness.form == "symmetric") == (way == "ribbed")
    assert (build.skin is not None) == (way in ("sheet", "ribbed"))
    assert (build.ribs is not None) == (way in ("frame", "ribbed")) == (build.leading_edge is not None)
    assert bool(build.spars) == (way == "ribbed")
    named = {"fin": "Fin and Rudder", "plate": "Plate", "tailplane": "Tailplane"}
    assert name_of(made, build) == named[ids[0]]


def test_what_cannot_be_made_is_said() -> None:
    made, build_id = new_build(tail(), ("fin", "rudder"), "sheet")
    for ids, why in (
        ((), "choose the surface"), (("rudder",), "has parts already"), (("body",), "is none"),
        (("tailplane", "plate"), "made by itself"), (("gone",), "no surface"),
    ):
        with pytest.raises(EditError, match=why):
            new_build(made, ids, "sheet")
    with pytest.raises(EditError, match="different counts"):
        new_build(tail(), ("fin", "plate"), "sheet")
    with pytest.raises(EditError, match=r"builds\[0\].hinge_gap: found -1 mm"):
        change_build(made, build_id, hinge_gap=-1.0)
    with pytest.raises(EditError, match="no known material"):
        change_build(made, build_id, leading_edge=Strip(5.0, None, "oak"))


def test_another_way_keeps_what_it_knows() -> None:
    made, build_id = new_build(tail(), ("fin", "rudder"), "ribbed")
    edge = Strip(7.25, None, "basswood")
    made = change_build(made, build_id, leading_edge=edge, glue=0.2)
    framed = set_way(made, build_id, "frame")
    assert build_of(framed, build_id).leading_edge == edge and build_of(framed, build_id).glue == 0.2
    assert build_of(framed, build_id).thickness.form == "flat"
    again = build_of(set_way(framed, build_id, "ribbed"), build_id)
    assert again.thickness.form == "symmetric" and again.spars == build_of(made, build_id).spars
    assert set_way(made, build_id, "ribbed") is made
    # Solid sheet is no skin, and ribs are not as wide as sticks; where they stand stays.
    plain, plain_id = new_build(tail(), ("fin", "rudder"), "sheet")
    begun = build_of(new_build(tail(), ("fin", "rudder"), "ribbed")[0], plain_id)
    for way in ("frame", "ribbed"):
        plain = set_way(plain, plain_id, way)
    found = build_of(plain, plain_id)
    assert found.skin == begun.skin and found.thickness == begun.thickness
    assert found.ribs is not None and begun.ribs is not None and found.ribs.thick == begun.ribs.thick
    assert build_of(set_way(plain, plain_id, "frame"), plain_id).skin is None
    solid = build_of(set_way(plain, plain_id, "sheet"), plain_id)
    assert solid.skin is not None and solid.skin.thick == solid.thickness.root
    assert delete_build(made, build_id) == tail()


def test_materials_of_ones_own() -> None:
    made, own = add_material(tail(), "  Shop's  best ", 131.0)
    made, second = add_material(made, "Shop's best", 140.0)
    assert (own, second) == ("shop-s-best", "shop-s-best-2")
    assert [m.label for m in made.materials] == ["Shop's best"] * 2
    made, build_id = new_build(made, ("fin", "rudder"), "frame")
    made = change_build(made, build_id, trailing_edge=Strip(6.0, None, own))
    with pytest.raises(EditError, match="Fin and Rudder is made of it"):
        delete_material(made, own)
    assert [m.id for m in delete_material(made, second).materials] == [own]
    assert change_material(made, own, kg_m3=99.0).materials[0].kg_m3 == 99.0
    with pytest.raises(EditError, match="needs a name"):
        add_material(made, " ", 100.0)
    with pytest.raises(EditError, match="kg/m3"):
        add_material(made, "Nothing", 0.0)


def test_formers_and_pin_go_with_the_fuselage() -> None:
    made, build_id = new_build(tail(), ("fin", "rudder"), "sheet")
    made = change_build(made, build_id, formers=(720.0, 800.0))
    made = replace(made, bench=Bench(pin=Mark(450.0, 41.0), crossing=Mark(300.0, 2.0)))
    moved = set_datum(made, 100.0, -10.0)
    assert build_of(moved, build_id).formers == (620.0, 700.0)
    assert moved.bench == Bench(pin=Mark(350.0, 51.0), crossing=Mark(200.0, 12.0))
    longer = plug(made, 600.0, 25.0, keep="front")
    assert build_of(longer, build_id).formers == (745.0, 825.0)
    assert longer.bench == made.bench
    assert plug(made, 300.0, 25.0, keep="front").bench.pin == Mark(475.0, 41.0)


def test_a_kept_state_has_its_own_builds() -> None:
    made, build_id = new_build(tail(), ("fin", "rudder"), "sheet")
    kept = keep(made, "before")
    ribbed = set_way(kept, build_id, "ribbed")
    assert take_back(ribbed, kept.alternatives[0].id).builds == made.builds


def test_a_copy_of_an_outline_has_no_build() -> None:
    made, _ = new_build(tail(), ("fin", "rudder"), "sheet")
    more = replace(made, outlines=(*made.outlines, Outline("fin-2", "fin", made.outlines[1].nodes)))
    assert ("fin-2",) in [one.ids for one in buildable(more)]
    assert trainer().builds == ()


def test_a_build_begins_as_thick_as_its_chord_at_root_and_tip_wants_it() -> None:
    body = box("body", "fuselage", 0, -40, 1000, 20)
    # 200 mm of chord at a quarter of the height, 100 at the tip; the fillet before it has no part in it.
    fin = traced("fin", "fin", ((700, 0), (800, 240), (900, 240), (933, 0)))
    fillet = traced("fillet", "fin", ((400, 0), (710, 24), (700, 0)))
    for ids in (("fin",), ("fillet", "fin")):
        begun = starting_build(design_of(body, fin, fillet), ids, "ribbed")
        assert begun.thickness.root == pytest.approx(0.085 * 200, abs=0.6)
        assert begun.thickness.tip == pytest.approx(0.085 * 120, abs=0.6)
    assert starting_build(design_of(body, fin, fillet), ("fillet", "fin"), "sheet").thickness.root <= 6.4


@pytest.mark.parametrize(("long", "high"), [(46.0, 46.0), (90.0, 100.0), (150.0, 160.0), (800.0, 900.0)])
@pytest.mark.parametrize("way", BUILD_WAYS)
def test_a_plain_fin_of_any_size_begins_without_a_fault(long: float, high: float, way: BuildWay) -> None:
    low, top = -0.05 * high, high
    fin = traced("fin", "fin", ((0, low), (0.2 * long, top), (0.6 * long, top), (0.6 * long, low)))
    rudder = box("rudder", "rudder", 0.6 * long, 0.0, long, high)
    body = box("body", "fuselage", -2 * long, -0.2 * high, 0.6 * long, 0.0)
    design, made = new_build(design_of(body, fin, rudder), ("fin", "rudder"), way)
    found = built(design, build_of(design, made))
    assert found.faults == ()
    assert found.grams > 0.0
