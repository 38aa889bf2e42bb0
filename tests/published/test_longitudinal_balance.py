"""Longitudinal balance and static stability of a wing and a tail.

Source: J. D. Anderson, Introduction to Flight, Examples 7.4 to 7.7 (read): a 0.08 and a_t 0.1 per
degree, CG at 0.35 and aerodynamic centre of wing and body at 0.24 of the chord, V_H 0.34,
dε/dα 0.35, tail-setting angle 2.7° (leading edge down), Cm_ac −0.032, ε₀ 0. The book prints a slope
of −0.0133 per degree, Cm₀ 0.06 (0.0598 unrounded), trim at 4.5°, neutral point 0.516 and a static
margin of 0.166. It takes the tail's efficiency as 1 and the lift of the whole aeroplane as the wing's.
"""

from __future__ import annotations

from math import degrees, radians

import pytest

from core.stability.pitch import Balance, Camber, Lifting, level_trim, neutral_point, pitching_slope

WING_AREA, CHORD, TAIL_AREA, TAIL_ARM = 0.1, 0.1, 0.02, 0.17
A, A_T = 0.08, 0.1
H, H_AC, VOLUME, DOWNWASH = 0.35, 0.24, TAIL_AREA * TAIL_ARM / (WING_AREA * CHORD), 0.35
SETTING_DEG, CM_AC = 2.7, -0.032

CG, TAIL_X = H * CHORD, H * CHORD + TAIL_ARM
WING = Lifting(A * WING_AREA, H_AC * CHORD)
FELT = Lifting(A_T * TAIL_AREA * (1 - DOWNWASH), TAIL_X)


def test_slope() -> None:
    """Example 7.5: a [h − h_ac − V_H (a_t/a)(1 − dε/dα)] = −0.0133 per degree."""
    found = pitching_slope((WING, FELT), 0.0, CG) / (WING_AREA * CHORD)
    assert pytest.approx(0.34) == VOLUME
    assert found == pytest.approx(A * (H - H_AC - VOLUME * A_T / A * (1 - DOWNWASH)))
    assert found == pytest.approx(-0.0133, abs=5e-5)


def test_neutral_point_with_the_tail_volume_held() -> None:
    """Example 7.7: h_n = h_ac + V_H (a_t/a)(1 − dε/dα) = 0.516, static margin 0.166.

    The book holds V_H while the CG moves, which makes the tail a pure couple.
    """
    couple = -FELT.strength * TAIL_ARM
    found = neutral_point((WING,), couple)
    assert isinstance(found, float)
    assert found / CHORD == pytest.approx(0.516, abs=5e-4)
    assert (found - CG) / CHORD == pytest.approx(0.166, abs=5e-4)


def test_neutral_point_with_the_tail_where_it_is() -> None:
    """The same aeroplane with the arm taken from the neutral point itself, as this project does it:
    the moment slope above over the whole lift, tail included, which lies further forward.
    """
    found = neutral_point((WING, FELT), 0.0)
    assert isinstance(found, float)
    whole = A + A_T * TAIL_AREA / WING_AREA * (1 - DOWNWASH)
    assert (found - CG) / CHORD == pytest.approx(0.0133 / whole, rel=5e-3)
    assert pitching_slope((WING, FELT), 0.0, found) == pytest.approx(0.0, abs=1e-15)


def test_trim() -> None:
    """Example 7.6: Cm₀ = Cm_ac + V_H a_t i_t = 0.0598, and trim at α_e = 0.0598/0.0133 = 4.5°.

    The other way round: asked for trim at the lift of that angle, the tail comes out at −2.7°.
    """
    zero = CM_AC + VOLUME * A_T * SETTING_DEG
    assert zero == pytest.approx(0.0598)
    slope = pitching_slope((WING, FELT), 0.0, CG) / (WING_AREA * CHORD)
    trim_deg = -zero / slope
    assert trim_deg == pytest.approx(4.5, abs=0.05)
    per_rad = degrees(1.0)
    wing = Lifting(WING.strength * per_rad, WING.x)
    tail = Lifting(A_T * TAIL_AREA * per_rad, TAIL_X)
    at_tail = trim_deg * (1 - DOWNWASH) - SETTING_DEG
    weight = WING.strength * trim_deg + A_T * TAIL_AREA * at_tail
    free = Camber(0.0, CM_AC * WING_AREA * CHORD)
    found = level_trim(weight, CG, wing, free, tail, Camber(0.0, 0.0), DOWNWASH, 0.0)
    assert isinstance(found, Balance)
    assert degrees(found.incidence_rad) == pytest.approx(-SETTING_DEG)
    assert found.wing_angle_rad == pytest.approx(radians(trim_deg))
    assert found.load == pytest.approx(A_T * TAIL_AREA * at_tail)
