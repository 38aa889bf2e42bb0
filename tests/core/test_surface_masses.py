"""What surfaces weigh goes into balance, readings, refit and lead: by parts where there are any."""

from __future__ import annotations

import pytest
from making import box, design_of
from msgspec.structs import replace

from core.design import Design, Mark, Station, Tailplane, Weight
from core.design_build import Skin, Thickness
from core.parts.built import built
from core.redesign.build_edits import build_of, change_build, new_build
from core.redesign.refit import refit
from core.redesign.refit_ways import WayKey
from core.redesign.weight_edits import set_area_weight
from core.stability.balance import cg_of, masses, surface_masses
from core.stability.readings import ReadingsEngine

GRAMS = 0.04 * 0.17 * 0.004 * 150e3 * 1.5
"""A fin of 80 × 170 mm over a half as large rudder, from sheet of 4 mm and 150 kg/m³; no glue."""


def plain() -> Design:
    """A fin that stands on nothing, so that all of it is exposed; a battery far ahead."""
    made = design_of(box("fin", "fin", 700, 0, 780, 170), box("rudder", "rudder", 780, 0, 820, 170))
    return replace(made, cg_from="weights", weights=(Weight("battery", 200.0, 100.0, 0.0, -5.0),))


def solid(design: Design, ids: tuple[str, ...] = ("fin", "rudder")) -> tuple[Design, str]:
    """Made from sheet of 4 mm, square at the hinge, without gap, glue or covering."""
    made, build_id = new_build(design, ids, "sheet")
    return change_build(
        made, build_id, thickness=Thickness(4.0, 4.0, "flat"), skin=Skin(4.0, "balsa-medium"), glue=0.0,
        covering_g_m2=None, hinge_gap=0.0, tab=False,
    ), build_id


def test_a_build_weighs_in_place_of_the_area() -> None:
    design, build_id = solid(set_area_weight(plain(), ("fin", "rudder"), 9.0))
    by_area = surface_masses(plain()), surface_masses(set_area_weight(plain(), ("fin",), 9.0))
    assert by_area[0] == [] and [m.grams for m in by_area[1]] == [pytest.approx(9.0 * 1.36)]
    (mass,) = surface_masses(design)
    made = built(design, build_of(design, build_id))
    assert (mass.ids, mass.grams, mass.x, mass.z) == (("fin", "rudder"), made.grams, made.x, made.z)
    # The rudder's leading edge is bevelled for 25°: 2 × ½ (4/2)² tan 25° off its section of 40 × 4.
    bevel = 2.0 * 2.0 * 0.4663 * 170.0 * 150e-6
    assert mass.grams == pytest.approx((80 + 40) * 170 * 4 * 150e-6 - bevel, rel=0.01)


def test_the_cg_and_the_mass_are_those_of_all_that_weighs() -> None:
    design, build_id = solid(plain())
    made = built(design, build_of(design, build_id))
    cg, _ = cg_of(design)
    assert cg is not None
    assert cg.x == pytest.approx((200.0 * 100.0 + made.grams * made.x) / (200.0 + made.grams), rel=1e-12)
    assert cg.z == pytest.approx((200.0 * -5.0 + made.grams * made.z) / (200.0 + made.grams), rel=1e-12)
    assert ReadingsEngine().read(design).value("mass") == pytest.approx(200.0 + made.grams)
    assert sum(m for m, _, _ in masses(design)) == pytest.approx(200.0 + made.grams)


def test_of_two_builds_of_one_surface_the_first_weighs() -> None:
    design, build_id = solid(plain())
    twice = replace(design, builds=(*design.builds, replace(build_of(design, build_id), id="again")))
    assert [m.grams for m in surface_masses(twice)] == [m.grams for m in surface_masses(design)]


def test_what_cannot_be_made_weighs_by_its_area() -> None:
    design, build_id = solid(set_area_weight(plain(), ("fin", "rudder"), 9.0))
    gone = replace(design, builds=(replace(build_of(design, build_id), of=("nothing",)),))
    assert [m.build for m in surface_masses(gone)] == [None, None]


def test_a_tailplane_weighs_by_its_parts() -> None:
    surface = Tailplane("tailplane", (Station(0, 700, 100, 30), Station(200, 700, 100, 30)))
    design, _ = solid(replace(plain(), tailplanes=(surface,)), ("tailplane",))
    (mass,) = surface_masses(design)
    assert mass.grams == pytest.approx(400 * 100 * 4 * 150e-6, rel=0.02)
    assert mass.z == pytest.approx(30.0)


def aeroplane() -> Design:
    """A body, wing of none, fin and rudder that stand on the body; too small a fin."""
    made = design_of(
        box("body", "fuselage", 0, -40, 900, 40), box("fin", "fin", 740, 20, 800, 120),
        box("rudder", "rudder", 800, 20, 840, 120),
    )
    return replace(made, cg_mark=Mark(300.0), weights=(Weight("all", 900.0, 300.0),))


@pytest.mark.parametrize("key", ["scale", "height", "chord", "dorsal", "ventral"])
def test_a_bigger_tail_costs_its_parts_in_mass_and_lead(key: WayKey) -> None:
    plain_design = aeroplane()
    design, _ = solid(plain_design)
    found, bare = (refit(one, key, "cla_fraction", 0.41) for one in (design, plain_design))
    assert found.solved and bare.solved and found.parameter == pytest.approx(bare.parameter, abs=1e-3)
    grown = found.readings["mass"], ReadingsEngine().read(design).value("mass")
    assert grown[0] is not None and grown[1] is not None and grown[0] > grown[1] + 1.0
    assert bare.readings["mass"] == pytest.approx(900.0)
    assert any("weighs nothing here" in word for word in bare.cautions)
    assert not any("weighs nothing here" in word for word in found.cautions)


def test_parts_that_cannot_be_made_are_a_warning() -> None:
    design, build_id = solid(plain())
    gone = replace(design, builds=(replace(build_of(design, build_id), of=("nothing",)),))
    assert not [w for w in ReadingsEngine().read(design).warnings if w.startswith("builds")]
    (warning,) = [w for w in ReadingsEngine().read(gone).warnings if w.startswith("builds")]
    assert "until that is mended" in warning
