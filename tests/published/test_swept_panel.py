"""Mean aerodynamic chord of a straight-tapered panel.

Source: closed form in any handbook of aerodynamics, e.g. Abbott and von Doenhoff, Theory of Wing
Sections, 1959, section 1.4 (from memory; exact, it follows from ∫c² dz / ∫c dz with c linear):
with taper λ = tip/root, MAC = ⅔ root (1 + λ + λ²)/(1 + λ), and it stands at the share
(1 + 2λ)/(3 (1 + λ)) of the height.
"""

from __future__ import annotations

import pytest

from core.design import Aim, Design, Mark, Node, Outline
from core.stability.fin import fin_form
from core.stability.readings import ReadingsEngine

ROOT, TIP, HEIGHT, OFFSET = 120.0, 60.0, 90.0, 50.0
TAPER = TIP / ROOT
AREA = (ROOT + TIP) / 2 * HEIGHT
MAC = 2 / 3 * ROOT * (1 + TAPER + TAPER**2) / (1 + TAPER)
SHARE = (1 + 2 * TAPER) / (3 * (1 + TAPER))
MAC_LE = OFFSET * SHARE

FIN = Outline("fin", "fin", (Node(0, 0), Node(ROOT, 0), Node(OFFSET + TIP, HEIGHT), Node(OFFSET, HEIGHT)))
# 400 slices by the midpoint rule: the error of ∫c² is (1/400)²/12 of its curvature, under 1e-6.
SLICED = 1e-6


def readings(fin_centre: str) -> dict[str, float | None]:
    aim = Aim(fin_centre="quarter_chord" if fin_centre == "quarter_chord" else "centroid")
    design = Design(1, "t", outlines=(FIN,), cg_mark=Mark(-300), aim=aim)
    return {key: r.value for key, r in ReadingsEngine().read(design).table.items()}


def test_the_closed_form_itself_in_decimals() -> None:
    """As printed in the project's collection of formulas."""
    assert AREA == 8100
    assert pytest.approx(93.333333, abs=5e-7) == MAC
    assert pytest.approx(22.222222, abs=5e-7) == MAC_LE
    assert pytest.approx(45.555556, abs=5e-7) == MAC_LE + MAC / 4


def test_area_and_centroid() -> None:
    """The centroid of a straight-tapered panel lies at half its MAC: 68.888889."""
    found = readings("centroid")
    assert found["fin_area"] == pytest.approx(AREA)
    assert found["fin_centre_x"] == pytest.approx(MAC_LE + MAC / 2)
    assert found["fin_centre_x"] == pytest.approx(68.888889, abs=5e-7)
    assert found["fin_centre_z"] == pytest.approx(SHARE * HEIGHT)
    assert found["tail_arm"] == pytest.approx(300 + MAC_LE + MAC / 2)


def test_mean_chord_and_quarter_chord() -> None:
    side = ReadingsEngine().read(Design(1, "t", outlines=(FIN,))).side
    form = fin_form(side.tail_pieces[0][1])
    assert form is not None
    assert form.height == pytest.approx(HEIGHT)
    assert form.area == pytest.approx(AREA)
    assert form.mac == pytest.approx(MAC, rel=SLICED)
    assert form.quarter_chord_x == pytest.approx(MAC_LE + MAC / 4, rel=SLICED)


def test_the_quarter_chord_as_the_tail_arm_s_end() -> None:
    found = readings("quarter_chord")
    assert found["tail_arm"] == pytest.approx(300 + MAC_LE + MAC / 4, rel=SLICED)
