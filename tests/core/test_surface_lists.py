"""Wings and tailplanes put in, taken out and copied."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from test_surface_edits import POLY, SIMPLE, TAIL, form, read

from core.design import EMPTY, Mark, Node, Outline, Wing
from core.design_check import problems
from core.redesign.outline_edits import EditError
from core.redesign.surface_edits import set_measure, stations_of
from core.redesign.surface_lists import (
    Which,
    add_tailplane,
    add_wing,
    all_surfaces,
    change_surface,
    delete_surface,
    duplicate_surface,
    surface_of,
)


def _body(x: float, z: float, long: float, high: float, kind: str = "fuselage") -> Outline:
    corners = ((x, z), (x + long, z), (x + long, z + high), (x, z + high))
    nodes = tuple(Node(x=a, z=b) for a, b in corners)
    return Outline(kind, kind, nodes)  # type: ignore[arg-type]


def test_a_first_wing_stands_where_it_is_seen() -> None:
    design, which = add_wing(EMPTY)
    (wing,) = design.wings
    assert (which, wing.label) == (Which("wings", "wing"), "Wing")
    assert (wing.stations[0].le_x, wing.stations[0].z) == (0, 0)
    marked, _ = add_wing(replace(EMPTY, cg_mark=Mark(300.0, 20.0)))
    root = marked.wings[0].stations[0]
    assert root.le_x < 300 < root.le_x + root.chord
    assert root.z == 20
    drawn, _ = add_wing(replace(EMPTY, outlines=(_body(100, -40, 800, 90),)))
    root = drawn.wings[0].stations[0]
    assert 100 < root.le_x < root.le_x + root.chord < 900
    assert -40 <= root.z <= 50
    assert read(drawn.wings[0], "span") == pytest.approx(1.4 * 800, abs=5)
    for made in (design, marked, drawn):
        assert not problems(made)
        assert form(made.wings[0]).area > 0


def test_a_first_tailplane_stands_at_the_tail() -> None:
    body, fin = _body(0, -40, 900, 90), _body(800, 40, 100, 120, "fin")
    at_fin, _ = add_tailplane(replace(EMPTY, outlines=(body, fin)))
    root = at_fin.tailplanes[0].stations[0]
    assert (root.le_x, root.z) == (800, 40)
    at_body, which = add_tailplane(replace(EMPTY, outlines=(body,)))
    root = at_body.tailplanes[0].stations[0]
    assert root.le_x + root.chord == pytest.approx(900, abs=5)
    assert which == Which("tailplanes", "tailplane")
    alone, _ = add_tailplane(EMPTY)
    assert not alone.wings
    winged, _ = add_tailplane(add_wing(EMPTY)[0])
    tail, wing = winged.tailplanes[0], winged.wings[0]
    assert tail.stations[0].le_x > wing.stations[0].le_x + wing.stations[0].chord
    assert form(tail).area < 0.3 * form(wing).area
    for made in (at_fin, at_body, alone, winged):
        assert not problems(made)


def test_first_numbers_are_round_in_the_builders_units() -> None:
    wing = add_wing(replace(EMPTY, display_units="in"))[0].wings[0]
    for value in (read(wing, "span"), read(wing, "root_chord")):
        assert value / 25.4 * 4 == pytest.approx(round(value / 25.4 * 4), abs=1e-9)


def test_a_biplane_by_duplicating() -> None:
    design = replace(EMPTY, wings=(SIMPLE,), tailplanes=(TAIL,))
    design, upper = duplicate_surface(design, Which("wings", "wing"))
    assert [w.label for w in design.wings] == ["Wing", "Wing 2"]
    copy = surface_of(design, upper)
    assert isinstance(copy, Wing)
    assert [s.z for s in copy.stations] == [s.z + 220 for s in SIMPLE.stations]
    assert form(copy).area == form(SIMPLE).area
    assert all_surfaces(design) == (Which("wings", "wing"), upper, Which("tailplanes", "tail"))
    assert not problems(design)
    assert delete_surface(design, upper).wings == (SIMPLE,)
    with pytest.raises(EditError, match="nothing to duplicate"):
        duplicate_surface(design, Which("wings", "gone"))


def test_only_the_named_surface_changes() -> None:
    # One id for a wing and a tailplane: a file may hold that.
    design = replace(EMPTY, wings=(SIMPLE, POLY), tailplanes=(replace(TAIL, id="wing"),))
    made = change_surface(design, Which("wings", "wing"), lambda s: set_measure(s, "span", 1000.0))
    assert read(made.wings[0], "span") == 1000
    assert made.wings[1] is POLY
    assert made.tailplanes == design.tailplanes
    assert delete_surface(design, Which("tailplanes", "wing")).wings == design.wings
    assert stations_of(made.wings[1]) == POLY.stations
