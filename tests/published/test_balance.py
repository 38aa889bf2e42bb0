"""Balance: ballast, marked and weighed CG, wing loading, the CG from scales.

Source: moments about a point, as in any text on statics (exact); the expectations are worked out here
by numpy from masses at points, without the code under test.
"""

from __future__ import annotations

import math

import msgspec
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.bench.weighing import Support, WeighedCG, cg_from_scales
from core.design import LIMIT, Design, Mark, Weight
from core.stability.balance import cg_of
from core.stability.ballast import (
    Balance,
    Ballast,
    CGDifference,
    ballast,
    ballast_for,
    cg_difference,
    weighed,
    wing_loading,
)
from tests.core.making import MANY, SOME, box, design_of, sound_designs

STATIONS = st.floats(-2000.0, 2000.0)
GRAMS = st.floats(1.0, 5000.0)
ANY = st.floats(allow_nan=True, allow_infinity=True) | st.sampled_from((0.0, -1.0, 1e-320, 1e308))


def carrying(*weights: tuple[float, float, float]) -> Design:
    """A design whose CG is that of (grams, x, z)."""
    listed = tuple(Weight(f"w{i}", m, x, z=z) for i, (m, x, z) in enumerate(weights))
    return design_of(weights=listed, cg_from="weights")


@MANY
@given(st.lists(st.tuples(GRAMS, STATIONS, STATIONS), min_size=1, max_size=5), STATIONS, STATIONS)
def test_ballast_put_in_moves_the_cg_to_the_aim(
    weights: list[tuple[float, float, float]], wanted: float, at: float
) -> None:
    design = carrying(*weights)
    found = ballast(design, wanted, at)
    masses, xs, _ = np.array(weights).T
    cg = float(masses @ xs / masses.sum())
    if isinstance(found, str):
        # Refused only at the wanted CG, on the wrong side of it, or where it would weigh over 1 t.
        move, lever = cg - wanted, wanted - at
        assert abs(lever) <= 1e-6 or move * lever < 0 or masses.sum() * move / lever > LIMIT * (1 - 1e-9)
        return
    assert found.grams >= 0
    assert found.total_grams == pytest.approx(masses.sum() + found.grams)
    lead = Weight("lead", found.grams, at)
    after, missing = cg_of(msgspec.structs.replace(design, weights=(*design.weights, lead)))
    assert after is not None, missing
    # Micrometres on stations of metres: the sums cancel to 1e-12 of at most 1e6 g over 2 m.
    assert after.x == pytest.approx(wanted, abs=1e-5)


def test_ballast_by_hand() -> None:
    """1000 g at 330 mm, wanted at 300: 100 g at 0 has 100 × 300 = 1000 × 30."""
    assert ballast_for(1000, 330, 300, 0) == Ballast(100.0, 0, 1100.0)
    assert ballast_for(1000, 270, 300, 900) == Ballast(50.0, 900, 1050.0)


def test_no_ballast_is_needed_at_the_aim() -> None:
    assert ballast_for(1000, 300, 300, 0) == Ballast(0.0, 0, 1000.0)
    assert ballast_for(1000, 300, 300, 300) == Ballast(0.0, 300, 1000.0)


@pytest.mark.parametrize(
    ("cg", "wanted", "at", "why"),
    [
        (330, 300, 400, "ahead of the wanted CG"),
        (330, 300, 310, "ahead of the wanted CG"),
        (270, 300, 200, "behind the wanted CG"),
        (330, 300, 300, "cannot move it"),
        (330, 300, 299.99, "too near"),
        (math.nan, 300, 0, "not finite"),
        (330, math.inf, 0, "not finite"),
    ],
)
def test_ballast_is_refused_with_the_reason(cg: float, wanted: float, at: float, why: str) -> None:
    found = ballast_for(1000, cg, wanted, at)
    assert isinstance(found, str)
    assert why in found


def test_a_design_without_weights_has_no_ballast() -> None:
    assert ballast(design_of(cg_mark=Mark(300)), 280, 0) == "enter what the aeroplane carries"
    assert ballast(carrying((0, 1, 1)), 280, 0) == "enter what the aeroplane carries"


def test_weighed_cg_does_not_depend_on_what_the_design_goes_by() -> None:
    design = msgspec.structs.replace(
        carrying((100, 0, 0), (300, 400, 40)), cg_from="mark", cg_mark=Mark(280, 35)
    )
    assert weighed(design) == Balance(400, 300, 30)
    found = cg_difference(design.cg_mark, weighed(design))
    assert found == CGDifference(20, -5)
    assert found.distance == pytest.approx(math.hypot(20, 5))


def test_outlines_that_weigh_are_in_the_weighed_cg() -> None:
    """A pair of 2 dm² at 30 g/dm² weighs 120 g at its centroid."""
    fin = box("fin", "fin", 800, 0, 1000, 100, count=2, grams_per_dm2=30.0)
    design = design_of(fin, weights=(Weight("engine", 360, 100),), cg_from="weights")
    assert weighed(design) == Balance(480, (360 * 100 + 120 * 900) / 480, 120 * 50 / 480)


def test_difference_says_what_is_missing() -> None:
    assert cg_difference(None, Balance(1, 0, 0)) == "mark the CG"
    assert cg_difference(Mark(0), "enter what the aeroplane carries") == "enter what the aeroplane carries"


def test_wing_loading_in_grams_per_square_decimetre() -> None:
    """1200 g on 1200 × 200 mm = 24 dm²."""
    assert wing_loading(1200, 1200 * 200) == pytest.approx(1200 / (12.0 * 2.0))
    assert wing_loading(1200, 0) == "enter the wing"
    assert wing_loading(0, 1e5) == "enter what the aeroplane carries"


@MANY
@given(st.lists(st.tuples(GRAMS, STATIONS, STATIONS), min_size=1, max_size=6), st.integers(0, 2**32 - 1))
def test_three_scales_find_the_cg(loads: list[tuple[float, float, float]], seed: int) -> None:
    """The reactions of three supports from statics: Σ R = Σ m, Σ R x = Σ m x, Σ R y = Σ m y."""
    masses, xs, ys = np.array(loads).T
    cg = np.array((masses @ xs, masses @ ys)) / masses.sum()
    # Legs round the CG, so that every scale carries something.
    turn = np.random.default_rng(seed).uniform(0, 2 * np.pi) + np.array((0.0, 2.0, 4.0))
    legs = cg + 300.0 * np.stack((np.cos(turn), np.sin(turn)), axis=1)
    equations = np.vstack((np.ones(3), legs.T))
    reactions = np.linalg.solve(equations, masses.sum() * np.array((1.0, *cg)))
    found = cg_from_scales([Support(r, x, y) for r, (x, y) in zip(reactions, legs, strict=True)])
    assert isinstance(found, WeighedCG)
    assert found.grams == pytest.approx(masses.sum())
    assert found.y is not None
    assert (found.x, found.y) == pytest.approx(tuple(cg), abs=1e-6)


def test_two_scales() -> None:
    """Main wheels at 250 carry 900 g, the tail wheel at 950 carries 100 g."""
    found = cg_from_scales((Support(900, 250), Support(100, 950)))
    assert found == WeighedCG(1000, (900 * 250 + 100 * 950) / 1000, None, (950 - 320) / 1000)


def test_one_gram_at_the_worst_scale() -> None:
    """``per_gram`` against the difference of two weighings, a gram apart at the tail wheel."""
    before = cg_from_scales((Support(900, 250), Support(100, 950)))
    after = cg_from_scales((Support(900, 250), Support(101, 950)))
    assert isinstance(before, WeighedCG)
    assert isinstance(after, WeighedCG)
    # The derivative against a step of one part in a thousand of the mass.
    assert after.x - before.x == pytest.approx(before.per_gram, rel=2e-3)


@pytest.mark.parametrize(
    ("supports", "why"),
    [
        ((), "two or three"),
        ((Support(100, 0),), "two or three"),
        ((Support(100, 0), Support(-1, 10)), "less than nothing"),
        ((Support(0, 0), Support(0, 10)), "read nothing"),
        ((Support(50, 20, -100), Support(50, 20, 100)), "one station"),
        ((Support(math.nan, 20), Support(50, 40)), "not finite"),
        ((Support(50, 20), Support(50, math.inf)), "not finite"),
    ],
)
def test_weighing_is_refused_with_the_reason(supports: tuple[Support, ...], why: str) -> None:
    found = cg_from_scales(supports)
    assert isinstance(found, str)
    assert why in found


def test_an_aeroplane_out_of_level() -> None:
    """Nose up by φ about the supports' line, a CG at height h swings aft by h sin φ; read along the
    tilted aeroplane that is h sin φ / cos φ."""
    phi = math.radians(3.0)
    along, up = np.array((np.cos(phi), -np.sin(phi))), np.array((np.sin(phi), np.cos(phi)))
    cg = 120.0 * along + 80.0 * up
    feet = 0.0 * along, 500.0 * along
    tail = 1000 * (cg[0] - feet[0][0]) / (feet[1][0] - feet[0][0])
    found = cg_from_scales((Support(1000 - tail, 0), Support(tail, 500)))
    assert isinstance(found, WeighedCG)
    assert found.x - 120.0 == pytest.approx(80.0 * math.tan(phi))


@MANY
@given(ANY, ANY, ANY, ANY, ANY, ANY)
def test_nothing_raises_or_leaves_the_numbers(
    a: float, b: float, c: float, d: float, e: float, f: float
) -> None:
    found: list[object] = [
        wing_loading(a, b), ballast_for(a, b, c, d),
        cg_difference(Mark(a, b), Balance(c, d, e)),
        cg_from_scales((Support(a, b, c), Support(d, e, f))),
    ]
    for answer in found:
        values = [answer] if isinstance(answer, float) else vars(answer).values() if not isinstance(
            answer, str
        ) else ()
        assert all(v is None or math.isfinite(v) for v in values)


@SOME
@given(sound_designs, STATIONS, STATIONS)
def test_any_sound_design_gets_an_answer_or_a_reason(design: Design, wanted: float, at: float) -> None:
    for found in (weighed(design), ballast(design, wanted, at), cg_difference(Mark(0), weighed(design))):
        assert isinstance(found, str) or all(math.isfinite(v) for v in vars(found).values())
