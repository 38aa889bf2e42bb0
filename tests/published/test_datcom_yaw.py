"""Stability in yaw by the handbook, on a four-seat high-wing aeroplane.

Source: USAF Stability and Control Datcom, section 5.4 (memory), and Raymer, Aircraft Design, for the
fin's effective aspect ratio (memory). Geometry as in the Purdue A&AE 421 course notes (read), in
feet: S 174, b 36, S_v 25, l_v 13, z_w/d 2/4.5 as printed there, unswept wing. The results were
recomputed for this project's collection of formulas and are not printed in the notes: this checks
the arithmetic. A longer chart method gives 0.096 on the same fin, which is the size of the band.
"""

from __future__ import annotations

from math import cos, degrees, pi, radians, sqrt, tan

import pytest

from core.stability.fin import ON_A_BODY
from core.stability.lateral.yaw_formulas import fin_cn_beta, sidewash_factor
from core.stability.surfaces import lift_slope
from core.stability.volumes import tail_volume

AREA, SPAN, FIN_AREA, ARM = 174.0, 36.0, 25.0, 13.0
ASPECT = 7.448
PRINTED_LIFT_SLOPE = 2.12048
HALF_CHORD_SWEEP = 0.35


def test_sidewash() -> None:
    found = sidewash_factor(FIN_AREA / AREA, 0.0, 2 / 4.5, ASPECT)
    assert found.value == pytest.approx(0.724 + 3.06 * 25 / 174 / 2 + 0.4 * 2 / 4.5 + 0.009 * 7.448)
    assert found.value == pytest.approx(1.18864, abs=5e-6)
    assert not found.clamped


def test_sweep_of_the_wing_in_the_sidewash() -> None:
    """1 + cos Λ stands under the area term alone."""
    swept, straight = (sidewash_factor(0.15, sweep, 0.0, 6.0).raw for sweep in (35.0, 0.0))
    assert swept - straight == pytest.approx(3.06 * 0.15 * (1 / (1 + cos(radians(35))) - 1 / 2))


def test_fin_volume() -> None:
    assert tail_volume(FIN_AREA, ARM, AREA, SPAN) == pytest.approx(25 * 13 / (174 * 36))
    assert tail_volume(FIN_AREA, ARM, AREA, SPAN) == pytest.approx(0.051884, abs=5e-7)


def test_fin_lift_slope() -> None:
    """Effective aspect ratio 1.55, for a geometric one of 1, and 0.35 rad of sweep at half chord."""
    found = lift_slope(ON_A_BODY * 1.0, degrees(HALF_CHORD_SWEEP))
    assert found == pytest.approx(2 * pi * 1.55 / (2 + sqrt(4 + 1.55**2 * (1 + tan(0.35) ** 2))))
    assert found == pytest.approx(PRINTED_LIFT_SLOPE, abs=5e-6)


def test_the_fin_s_part() -> None:
    found = fin_cn_beta(1.18864, PRINTED_LIFT_SLOPE, 0.051884)
    # Three rounded factors: five parts in a million each.
    assert found == pytest.approx(0.130772, rel=1e-5)
    # "Two published methods differ by a third on one fin."
    assert found / 0.096 == pytest.approx(4 / 3, abs=0.05)


@pytest.mark.parametrize(("ratio", "value"), ((-3.0, 0.6), (3.0, 1.4)))
def test_the_limits_of_belief(ratio: float, value: float) -> None:
    found = sidewash_factor(0.1, 0.0, ratio, 7.0)
    assert found.value == value
    assert found.clamped
