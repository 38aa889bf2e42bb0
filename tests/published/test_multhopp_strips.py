"""The body's moment in pitch by strips.

Source: H. Multhopp, Aerodynamics of the Fuselage, NACA TM 1036, 1942 (memory):
∂M/∂α = q (π/2) ∫ w² (dβ/dα) dx, the handbooks' (q/36.5) ∫ w² (dβ/dα) dx per degree. The integrals
below are elementary for a body of one width (exact).
"""

from __future__ import annotations

from math import degrees, log, pi

import numpy as np
import pytest

from core.geometry.patch import Patch
from core.geometry.regions import region_of
from core.stability.downwash import body_couple, flow_slope
from core.stability.surfaces import SurfaceForm, lift_slope

ROOT, LEADING, SPAN, CHORD = 200.0, 300.0, 1200.0, 200.0
TRAILING = LEADING + ROOT
WING = SurfaceForm(
    area=SPAN * CHORD, span=SPAN, mac=CHORD, mac_le_x=LEADING, quarter_chord_x=LEADING + CHORD / 4,
    quarter_chord_z=0, aspect_ratio=6.0, dihedral_deg=0, sweep_quarter_deg=0, sweep_half_deg=0,
    root_chord=ROOT, tip_chord=CHORD, root_le_x=LEADING, root_z=0,
)
WIDTH, TAIL, DOWNWASH = 80.0, 900.0, 0.4
# The 400 slices do not end at the wing's edges: one slice of a body is off by half at most.
SLICED = 5e-3


def body(low: float, high: float) -> Patch:
    return Patch(region_of(np.array(((low, 0.0), (high, 0.0), (high, 50.0), (low, 50.0)))))


def couple(low: float, high: float) -> float:
    return body_couple(body(low, high), WIDTH, WING, TAIL, DOWNWASH)


def test_the_constant() -> None:
    """(π/2) per radian is 1/36.5 per degree, as the handbooks print it."""
    assert degrees(2 / pi) == pytest.approx(36.5, abs=0.05)


def test_ahead_of_the_wing() -> None:
    """∫ 1 + (a/2π) c/(2ξ) dξ from c/4 to c/4 + 300."""
    near, far = ROOT / 4, ROOT / 4 + 300
    expected = pi / 2 * WIDTH**2 * (300 + lift_slope(6) * ROOT / (4 * pi) * log(far / near))
    assert couple(0, LEADING) == pytest.approx(expected, rel=1e-4)


def test_along_the_root_chord_nothing() -> None:
    assert couple(LEADING, TRAILING) == 0.0


def test_behind_the_wing() -> None:
    """It rises straight from 0 to 1 − dε/dα at the tailplane, and stays there."""
    to_tail = pi / 2 * WIDTH**2 * 0.5 * (1 - DOWNWASH) * (TAIL - TRAILING)
    beyond = pi / 2 * WIDTH**2 * (1 - DOWNWASH) * 100
    assert couple(TRAILING, TAIL) == pytest.approx(to_tail, rel=1e-9)
    assert couple(TAIL, TAIL + 100) == pytest.approx(beyond, rel=1e-9)
    assert couple(0, TAIL + 100) == pytest.approx(couple(0, LEADING) + to_tail + beyond, rel=SLICED)


def test_the_flow_at_the_leading_edge() -> None:
    """There ξ = c/4, and the slope 1 + a/π: the strips end before the formula's pole."""
    found = flow_slope(np.array((LEADING - 1e-6, LEADING + 1e-6)), WING, TAIL, DOWNWASH)
    assert found[0] == pytest.approx(1 + lift_slope(6) / pi)
    assert found[1] == 0.0


def test_the_width_follows_the_depth() -> None:
    """A body that tapers to a point has a third of ∫w² of one that does not."""
    wedge = Patch(region_of(np.array(((TAIL, 0.0), (TAIL + 100, 0.0), (TAIL, 50.0)))))
    whole = couple(TAIL, TAIL + 100)
    # The first of 400 slices is the widest, by half a slice less than the body.
    assert body_couple(wedge, WIDTH, WING, TAIL, DOWNWASH) == pytest.approx(whole / 3, rel=SLICED)
