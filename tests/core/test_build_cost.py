"""What parts do to CG and lead, against moments taken by hand."""

from __future__ import annotations

import pytest
from making import box, design_of
from msgspec.structs import replace

from core.design import Design, Mark, Weight
from core.design_build import Skin, Thickness
from core.parts.built import built
from core.redesign.build_cost import build_cost
from core.redesign.build_edits import change_build, new_build


def built_fin() -> Design:
    """A body of 900 mm with 1 kg at 300 mm, the CG wanted there, and a sheet fin far aft."""
    made = design_of(
        box("body", "fuselage", 0, -40, 900, 40), box("fin", "fin", 700, 40, 800, 240, label="Fin"),
    )
    made = replace(made, weights=(Weight("all", 1000.0, 300.0),), cg_mark=Mark(300.0), cg_from="mark")
    made, build = new_build(made, ("fin",), "sheet")
    return change_build(made, build, thickness=Thickness(5.0, 5.0, "flat"), skin=Skin(5.0, "balsa-medium"),
                        covering_g_m2=None, glue=0.0, tab=False)


def test_the_lead_is_what_moments_about_the_wanted_cg_ask_for() -> None:
    design = built_fin()
    fin = built(design, design.builds[0])
    # 100 × 200 × 5 mm of 150 kg/m3.
    assert fin.grams == pytest.approx(15.0) and fin.x == pytest.approx(750.0)
    found = build_cost(design, design.builds[0].id)
    assert found.before == 0.0 and found.cg is not None and found.lead is not None
    assert found.cg == pytest.approx((300.0, (1000 * 300 + 15 * 750) / 1015))
    # 15 g, 450 mm behind the wanted CG; lead in the nose is 300 mm ahead of it.
    assert found.lead == pytest.approx((0.0, 15 * 450 / 300))


def test_what_weighed_by_its_area_is_set_against_the_parts() -> None:
    design = built_fin()
    design = replace(design, outlines=tuple(
        replace(o, grams_per_dm2=10.0 if o.id == "fin" else None) for o in design.outlines
    ))
    found = build_cost(design, design.builds[0].id)
    # 2 dm2 at 10 g/dm2, at the same place.
    assert found.before == pytest.approx(20.0)
    assert found.lead == pytest.approx((20 * 450 / 300, 15 * 450 / 300))


def test_without_weights_or_mark_there_is_no_figure() -> None:
    design = built_fin()
    build = design.builds[0].id
    assert build_cost(replace(design, weights=()), build).cg is None
    unmarked = build_cost(replace(design, cg_mark=None), build)
    assert unmarked.lead is None and unmarked.cg is not None
    with pytest.raises(KeyError):
        build_cost(design, "none")


def test_no_lead_helps_in_the_nose_where_the_cg_lies_ahead() -> None:
    design = replace(built_fin(), cg_mark=Mark(400.0))
    found = build_cost(design, design.builds[0].id)
    assert found.lead == (0.0, 0.0)
