"""The moment in yaw with the air from the side.

Sources: H. J. Allen and E. W. Perkins, NACA Report 1048, 1951, and L. H. Jorgensen, NASA TR R-474
(memory): the load across the flow stands on the plan-form area and acts at its centroid. From that
alone N(90°)/q = C A (x_CLA − x_CG) for one coefficient C (exact). The stalled plate is Hoerner's,
Fluid-Dynamic Drag (memory): 1.17 broadside on. The couple in attached flow is Munk's, ∝ sin 2β.
"""

from __future__ import annotations

from math import pi, radians, sin

import numpy as np
import pytest

from core.design import Design
from core.stability.aeroplane import Aeroplane
from core.stability.lateral.slip_range import (
    CrossFlow,
    SlipCurve,
    separated_force,
    slip_curve,
    stall_angle_deg,
)
from core.stability.lateral.yaw import yaw_values
from core.stability.readings import ReadingsEngine
from core.stability.surfaces import wing_form
from tests.core.making import box, curved_outline, trainer


def aeroplane(design: Design) -> Aeroplane:
    readings = ReadingsEngine().read(design)
    return Aeroplane(design, readings.side, readings.cg, "", readings.fin_centre)


def curve(a: Aeroplane, *args: CrossFlow, attached: bool = True) -> SlipCurve:
    found = slip_curve(a, *args, attached=attached)
    assert isinstance(found, SlipCurve), found
    return found


TRAINER = aeroplane(trainer())


@pytest.mark.parametrize("c", (0.84, 1.0, 1.2))
def test_broadside_on_it_is_the_card_on_the_wall(c: float) -> None:
    """With pairs, clear wheels over legs, a joined pair half hidden, wing and tailplane."""
    cla = TRAINER.side.cla
    assert cla is not None and TRAINER.cg is not None
    found = curve(TRAINER, CrossFlow(c, c, c, c), attached=False)
    assert found.beta_deg[-1] == 90
    assert found.total[-1] == pytest.approx(c * TRAINER.side.moments.area * (cla[0] - TRAINER.cg.x))
    assert found.broadside_x == pytest.approx(cla[0])


def test_each_kind_has_its_own_coefficient() -> None:
    """A bare body, a strut apart from it, a fin apart from both: every load at its own centroid."""
    design = Design(
        1, "t", outlines=(
            box("f", "fuselage", 0, 0, 500, 60), box("t", "fin", 520, 0, 600, 100),
            box("s", "strut", 200, -90, 220, -10, count=2, stance="clear"),
        ),
    )
    a = aeroplane(design)
    a = Aeroplane(design, a.side, trainer().cg_mark, "", a.fin_centre)
    assert a.cg is not None
    arm = a.cg.x
    found = curve(a, CrossFlow(body=0.84, plate=1.2, fin=1.17), attached=False)
    body, struts, fin = 500 * 60 * (250 - arm), 2 * 20 * 80 * (210 - arm), 80 * 100 * (560 - arm)
    assert found.cross_flow[-1] == pytest.approx(0.84 * body + 1.2 * struts)
    assert found.fin[-1] == pytest.approx(1.17 * fin)
    at_thirty = int(np.nonzero(found.beta_deg == 30)[0][0])
    assert found.cross_flow[at_thirty] == pytest.approx((0.84 * body + 1.2 * struts) * sin(pi / 6) ** 2)


def test_the_stalled_plate() -> None:
    """1.17 sin β/(0.56 + 0.44 sin β): broadside 1.17, at 30° 1.17 × 0.5/0.78 = 0.75."""
    assert separated_force(np.array((0.0, radians(30), pi / 2))) == pytest.approx((0.0, 0.75, 1.17))


def test_where_the_fin_stalls() -> None:
    """15° + 25°/A, at most 40° (own choice; nothing outside to hold it against)."""
    assert stall_angle_deg(2.5) == pytest.approx(25)
    assert stall_angle_deg(1.0) == stall_angle_deg(0.2) == stall_angle_deg(0.0) == 40


def test_small_angles_agree_with_the_derivative() -> None:
    """The slope is Cnβ S b; the first steps of the curve follow it."""
    wing, whole = wing_form(TRAINER.design.wings), yaw_values(TRAINER)["cn_beta"]
    assert not isinstance(wing, str) and isinstance(whole, float)
    found = curve(TRAINER)
    assert found.slope == pytest.approx(whole * wing.area * wing.span)
    # Half a degree: the cross-flow's sin² and the sine's cube are within 2 % of the slope.
    assert found.total[1] == pytest.approx(found.slope * radians(0.5), rel=0.02)


def test_munk_s_couple_is_greatest_at_45_degrees() -> None:
    found = curve(TRAINER)
    at = int(np.argmin(found.body_attached))
    assert found.beta_deg[at] == 45
    assert found.body_attached[0] == 0 and found.body_attached[-1] == pytest.approx(0, abs=1e-6)


def test_the_parts_add_up() -> None:
    floats = curved_outline("float", "float", 400, -300, 500, count=2)
    for a in (TRAINER, aeroplane(trainer(outlines=(*trainer().outlines, floats)))):
        found = curve(a)
        assert found.total == pytest.approx(
            found.body_attached + found.others_attached + found.cross_flow + found.fin
        )
