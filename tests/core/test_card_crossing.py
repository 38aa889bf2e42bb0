"""What a measured crossing says, against sums made by hand over rectangles."""

from __future__ import annotations

import math

import pytest

from core.bench.card import Card, card_of
from core.bench.crossing import CrossingSays, fraction_as_hung, what_it_says
from core.design import Mark
from core.redesign.bench_edits import set_crossing
from core.redesign.outline_edits import EditError
from tests.core.making import box, design_of

# (n, area, x, z) of each rectangle.
BODY, FIN, WHEELS, PODS = (1, 48000, 300, 40), (1, 12000, 550, 140), (2, 3600, 180, -90), (2, 9000, 255, -20)
DESIGN = design_of(
    box("body", "fuselage", 0, 0, 600, 80), box("fin", "fin", 500, 80, 600, 200),
    box("wheels", "wheel", 150, -120, 210, -60, count=2, label="Wheels"),
    box("pods", "nacelle", 180, -50, 330, 10, count=2, stance="clear", label="Pods"),
)
NOSE = (0.0, 40.0)


def centre(*parts: tuple[float, float, float, float]) -> tuple[float, float]:
    """Centroid of rectangles (n, area, x, z): Σ n·A·x / Σ n·A."""
    whole = sum(n * a for n, a, _, _ in parts)
    return sum(n * a * x for n, a, x, _ in parts) / whole, sum(n * a * z for n, a, _, z in parts) / whole


def pieces() -> Card:
    found = card_of(DESIGN)
    assert isinstance(found, Card)
    return found


def says(crossed: tuple[float, float], error: float = 2.0, **more: tuple[float, float]) -> CrossingSays:
    found = what_it_says(pieces(), crossed, error, **more)
    assert isinstance(found, CrossingSays)
    return found


def test_within_the_error_it_agrees_and_nothing_is_explained() -> None:
    x, z = centre(BODY, FIN, WHEELS, PODS)
    found = says((x + 1.2, z - 1.5))
    assert found.agrees and found.explanations == ()
    assert (found.aft, found.above, found.off) == pytest.approx((1.2, -1.5, math.hypot(1.2, 1.5)))
    assert not says((x + 1.2, z - 1.7)).agrees


@pytest.mark.parametrize(
    ("name", "cause", "amount", "parts"),
    [
        ("Pods", "less", 1, (BODY, FIN, WHEELS, (1, *PODS[1:]))),
        ("Pods", "less", 2, (BODY, FIN, WHEELS)),
        ("Wheels", "less", 1, (BODY, FIN, (1, *WHEELS[1:]), PODS)),
        ("Wheels", "less", 2, (BODY, FIN, PODS)),
        ("Pods", "more", 1, (BODY, FIN, WHEELS, (3, *PODS[1:]))),
        ("Wheels", "more", 1, (BODY, FIN, (3, *WHEELS[1:]), PODS)),
    ],
)
def test_a_missed_or_doubled_piece_is_named(
    name: str, cause: str, amount: int, parts: tuple[tuple[float, float, float, float], ...]
) -> None:
    crossed = centre(*parts)
    found = says(crossed, 1.0)
    first = found.explanations[0]
    assert first.piece is not None
    assert (first.piece.name, first.cause, first.amount) == (name, cause, amount)
    assert first.place == pytest.approx(crossed)
    assert first.off == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("k", [0.9, 0.97, 1.06, 1.25])
def test_a_wrong_scale_is_seen_from_the_nose(k: float) -> None:
    x, z = centre(BODY, FIN, WHEELS, PODS)
    crossed = NOSE[0] + k * (x - NOSE[0]), NOSE[1] + k * (z - NOSE[1])
    fits = {e.cause: e for e in says(crossed, 1.0, origin=NOSE).explanations}
    assert fits["scale"].amount == pytest.approx(k)
    assert fits["scale"].off == pytest.approx(0.0, abs=1e-9)
    assert "scale" not in {e.cause for e in says(crossed, 1.0).explanations}


@pytest.mark.parametrize("t", [0.6, 1.5, 2.2])
def test_other_card_under_the_glued_pieces_is_seen(t: float) -> None:
    """Every glued layer t times as heavy by area as the silhouette."""
    crossed = centre(BODY, FIN, (2 * t, *WHEELS[1:]), (2 * t, *PODS[1:]))
    fits = {e.cause: e for e in says(crossed, 0.5).explanations}
    assert fits["card"].amount == pytest.approx(t)
    assert fits["card"].off == pytest.approx(0.0, abs=1e-9)


def test_what_nothing_explains_is_left_open() -> None:
    x, z = centre(BODY, FIN, WHEELS, PODS)
    found = says((x - 90, z + 60), 2.0, origin=NOSE)
    assert not found.agrees and found.explanations == ()


def test_the_nearest_explanation_comes_first_and_they_are_few() -> None:
    x, z = centre(BODY, FIN, WHEELS, PODS)
    found = says((x + 6, z + 6), 5.9, origin=NOSE)
    offs = [e.off for e in found.explanations]
    assert offs == sorted(offs) and 1 < len(offs) <= 4
    assert all(off <= 5.9 for off in offs)


def test_out_of_reach_has_a_reason() -> None:
    here = (0.0, 0.0)
    for crossed, error in (((math.nan, 0.0), 1.0), ((0.0, 2e6), 1.0), (here, 0.0), (here, math.inf)):
        assert "not finite" in str(what_it_says(pieces(), crossed, error))


def test_the_fraction_as_hung() -> None:
    """(x − x_CG)/tail arm, step 6 of the counting rule."""
    assert fraction_as_hung(320.0, 200.0, 480.0) == pytest.approx(0.25)
    assert fraction_as_hung(320.0, 200.0, 0.0) is None


def test_the_crossing_is_kept_by_one_edit_and_taken_out_by_another() -> None:
    kept = set_crossing(DESIGN, Mark(250.0, 12.0))
    assert kept.bench.crossing == Mark(250.0, 12.0)
    assert kept.outlines is DESIGN.outlines
    assert set_crossing(kept, None) == DESIGN
    with pytest.raises(EditError, match="out of reach"):
        set_crossing(DESIGN, Mark(math.nan, 0.0))
