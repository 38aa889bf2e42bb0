"""Heights, incidences and the datum's place: expectations by hand."""

from __future__ import annotations

import math

import pytest
from msgspec.structs import replace

from app.paper.setting_up_rows import datum_words, sections_of
from core.bench.levels import DatumPlace, Rise, datum_place, incidence_difference, rises_of
from core.bench.setting_up import StringCheck, string_check
from core.bench.tolerances import DIFFERENCE_DEG, TOLERANCE_DEG, level_tolerance
from core.design import EMPTY, Mark, Station, Tailplane, Wing
from tests.core.making import box, design_of

# Flat to 200, up by 30 to 500, up by 90 more to 800: a joint at 200 and one at 500.
POLY = Wing("w", (
    Station(0, 100, 180, 20), Station(500, 110, 170, 50), Station(200, 100, 180, 20),
    Station(800, 150, 90, 140),
), label="Wing", incidence_deg=2.5)
TAIL = Tailplane(
    "t", (Station(0, 800, 120, 30), Station(250, 830, 80, 30)), label="Tail", incidence_deg=-0.5
)
BODY = box("body", "fuselage", -12, -40, 900, 40)


def test_joints_and_tips_above_the_root() -> None:
    assert rises_of(POLY) == [
        Rise(200, 0, 200, False), Rise(500, 30, 500, False), Rise(800, 120, 800, True)
    ]
    straight = Wing("s", (Station(0, 0, 200, 10), Station(300, 0, 200, 40), Station(600, 9, 150, 70)))
    assert rises_of(straight) == [Rise(600, 60, 600, True)]
    assert rises_of(Tailplane("n", (Station(0, 0, 100),))) == (
        "give the tailplane a station at its tip, with y greater than 0"
    )


def test_the_difference_of_incidences_has_a_tolerance_of_its_own() -> None:
    design = replace(design_of(BODY), wings=(POLY,), tailplanes=(TAIL,))
    assert incidence_difference(design, TAIL) == pytest.approx(3.0)
    assert incidence_difference(EMPTY, TAIL) == "enter the wing"
    assert DIFFERENCE_DEG < TOLERANCE_DEG
    row = next(row for s in sections_of(design) for row in s.rows if "difference" in row.what)
    assert row.reads == "3.0°" and row.within == "± 0.25°"
    # A quarter of a degree at a chord of 120: 0.52 mm.
    assert f"{120 * math.sin(math.radians(0.25)):.1f} mm at the tailplane's root chord" in row.how


def test_half_a_degree_between_two_heights() -> None:
    assert level_tolerance(500.0) == pytest.approx(500 * math.sin(math.radians(0.5)))


@pytest.mark.parametrize(("moved", "told"), [
    (0.0, "12.0 mm behind the foremost point of the nose"), (24.0, "12.0 mm ahead of the foremost point"),
    (12.0, "at the foremost point of the nose"),
])
def test_the_datum_by_the_nose(moved: float, told: str) -> None:
    body = box("body", "fuselage", -12 + moved, -40, 900, 25)
    assert datum_place(design_of(body)) == DatumPlace(moved - 12, 40)
    words = datum_words(design_of(body))
    assert told in words and "a level line 40.0 mm above that point" in words
    assert "trace the fuselage" in datum_words(EMPTY)


def test_the_rows_that_square_and_level_wing_and_tail() -> None:
    design = replace(design_of(BODY), wings=(POLY,), tailplanes=(TAIL,), cg_mark=Mark(171, 5))
    rows = {row.what: row for section in sections_of(design) for row in section.rows}
    square = rows["Wing square: from each tip's leading edge to the tail end"]
    # From (150, ±800, 140) to (900, 0, 0).
    assert square.reads == f"{math.dist((150, 800, 140), (900, 0, 0)):.1f} mm"
    assert square.blanks == ("starboard", "port")
    assert rows["Wing, dihedral: leading edge at the tips above the root's"].reads == "120.0 mm"
    assert rows["Tail level: heights of both tips over the base"].within == (
        f"{500 * math.sin(math.radians(0.5)):.1f} mm apart"
    )
    assert rows["CG behind the leading edge of the wing's root"].reads == "71.0 mm"


def test_a_wing_turned_one_degree_on_its_seat() -> None:
    """Tip and root middle as vectors: (150, ±800) turned about (190, 0), seen from (900, 0, 0)."""
    check = string_check(POLY, Mark(900, 0))
    assert isinstance(check, StringCheck) and check.turned_about_x == 190.0
    s, c = math.sin(math.radians(1)), math.cos(math.radians(1))
    lengths = [
        math.dist((190 - 40 * c + y * s, y * c + 40 * s, 140), (900, 0, 0)) for y in (800, -800)
    ]
    assert check.per_degree == pytest.approx(lengths[0] - lengths[1])


def test_where_the_pin_stands_and_how_the_string_runs_is_said() -> None:
    """From a pin on a deck 40 high, tips at 30: the string lies on it; from one 60 mm up it is free."""
    design = replace(design_of(BODY), wings=(POLY,), tailplanes=(TAIL,), fuselage_width=50.0)
    rows = {row.what: row for section in sections_of(design) for row in section.rows}
    row = rows["Tail square: string from the pin to each tip's leading edge"]
    assert "on top of the body" in row.how and "the string lies on the body for" in row.how
    assert "190.0 mm behind the leading edge of the wing's root (x 290.0 mm, z 40.0 mm)" in row.how
    free = replace(design, bench=replace(design.bench, pin=Mark(300, 100)))
    rows = {row.what: row for section in sections_of(free) for row in section.rows}
    row = rows["Tail square: string from the pin to each tip's leading edge"]
    assert "60.0 mm above the body's top" in row.how and "runs free" in row.how
    assert row.reads == f"{math.dist((300, 0, 100), (830, 250, 30)):.1f} mm"
    inside = replace(design, bench=replace(design.bench, pin=Mark(300, 0)))
    missing = [row.missing for section in sections_of(inside) for row in section.rows if row.missing]
    assert "the pin stands inside the body: put it on top" in missing
