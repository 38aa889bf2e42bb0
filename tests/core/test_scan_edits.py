"""Scaling, levelling and placing scans: what lies on the paper must stay on its pixel.

The check from outside is the inverse of the scan's own matrix: a traced point and the pixel that
it was traced on are one, before and after.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from making import SOME, box, design_of, trainer
from msgspec.structs import replace

from core.design import Alternative, Design, Mark, Scan, Weight
from core.design_check import problems
from core.redesign import scan_edits as edits
from core.redesign.outline_edits import EditError
from core.stability.readings import ReadingsEngine

SIZES = {"plan": (2000.0, 1000.0)}
# Half a millimetre to the pixel, a little askew, nose left.
ASKEW = ((0.5, 0.01, -40.0), (0.012, -0.5, 260.0), (0.0, 0.0, 1.0))
points = st.tuples(st.integers(-400, 1200), st.integers(-300, 300)).map(lambda p: (float(p[0]), float(p[1])))


def on_one_scan() -> Design:
    kept = trainer()
    return trainer(
        scans=(Scan("plan", "plan.png", to_mm=ASKEW, scale_from="none"),),
        weights=(Weight("battery", 185, 95, 12, 5),),
        alternatives=(
            Alternative(id="before", outlines=kept.outlines, wings=kept.wings, cg_mark=kept.cg_mark),
        ),
    )


def pixel(design: Design, scan_id: str, x: float, z: float) -> tuple[float, float]:
    u, v, w = np.linalg.solve(np.array(design.scan(scan_id).to_mm), np.array((x, z, 1.0)))
    return float(u / w), float(v / w)


def pixels(design: Design, scan_id: str = "plan") -> list[tuple[float, float]]:
    """The pixels under all that is carried with every point, handles' ends included."""
    found = []
    for state in (design, *design.alternatives):
        for outline in state.outlines:
            for node in outline.nodes:
                found.append(pixel(design, scan_id, node.x, node.z))
                for handle in (node.handle_in, node.handle_out):
                    if handle:
                        found.append(pixel(design, scan_id, node.x + handle[0], node.z + handle[1]))
        if state.cg_mark:
            found.append(pixel(design, scan_id, state.cg_mark.x, state.cg_mark.z))
        found += [pixel(design, scan_id, w.x, w.z) for w in state.weights]
        for surface in (*state.wings, *state.tailplanes):
            found.append(pixel(design, scan_id, surface.stations[0].le_x, surface.stations[0].z))
    return found


def assert_on_the_same_pixels(before: Design, after: Design) -> None:
    assert np.array(pixels(after)) == pytest.approx(np.array(pixels(before)), abs=1e-6)


def assert_typed_sizes_kept(before: Design, after: Design) -> None:
    for old, new in zip(
        (*before.wings, *before.tailplanes), (*after.wings, *after.tailplanes), strict=True
    ):
        assert [(s.y, s.chord) for s in new.stations] == [(s.y, s.chord) for s in old.stations]
        for get in (lambda s: s.le_x, lambda s: s.z):
            assert np.diff([get(s) for s in new.stations]) == pytest.approx(
                np.diff([get(s) for s in old.stations])
            )
    assert [(w.grams, w.y) for w in after.weights] == [(w.grams, w.y) for w in before.weights]


def same_place(one: Design, other: Design) -> None:
    """Equal but for rounding: every number of the side view within 1e-8 mm."""

    def flat(design: Design) -> list[float]:
        values = [v for s in design.scans for row in s.to_mm for v in row]
        values += [v for o in design.outlines for n in o.nodes
                   for v in (n.x, n.z, *(n.handle_in or ()), *(n.handle_out or ()))]
        values += [v for s in (*design.wings, *design.tailplanes) for p in s.stations for v in (p.le_x, p.z)]
        return values + ([design.cg_mark.x, design.cg_mark.z] if design.cg_mark else [])

    assert flat(one) == pytest.approx(flat(other), abs=1e-8)


# Scale


@SOME
@given(points, points, st.integers(20, 4000))
def test_the_two_points_then_lie_the_true_distance_apart_and_all_stays_on_its_pixel(
    one: tuple[float, float], other: tuple[float, float], true_mm: int
) -> None:
    apart = math.dist(one, other)
    if apart < 1:
        return
    before = on_one_scan()
    after = edits.set_scale(before, "plan", one, other, true_mm, SIZES)
    mapped = []
    for point in (one, other):
        u, v = pixel(before, "plan", *point)
        x, z, w = np.array(after.scan("plan").to_mm) @ np.array((u, v, 1.0))
        mapped.append((x / w, z / w))
    assert math.dist(*mapped) == pytest.approx(true_mm, rel=1e-9)
    assert_on_the_same_pixels(before, after)
    assert_typed_sizes_kept(before, after)
    assert after.scan("plan").scale_from == "points"
    # The datum is a place on the paper.
    assert pixel(after, "plan", 0, 0) == pytest.approx(pixel(before, "plan", 0, 0), abs=1e-6)


@pytest.mark.parametrize("true_mm", [50.0, 123.4, 3000.0])
def test_a_scale_alone_leaves_the_fraction_of_what_is_traced_as_it_was(true_mm: float) -> None:
    # Physics section 9. Typed surfaces keep their size and would rightly change it: they are left out.
    before = replace(on_one_scan(), wings=(), tailplanes=())
    after = edits.set_scale(before, "plan", (0, 0), (400, 30), true_mm, SIZES)
    fraction, area = (
        [ReadingsEngine().read(d).value("cla_fraction") for d in (before, after)],
        [ReadingsEngine().read(d).side.moments.area for d in (before, after)],
    )
    assert fraction[0] is not None
    assert fraction[1] == pytest.approx(fraction[0], abs=1e-5)
    factor = true_mm / math.dist((0, 0), (400, 30))
    assert area[1] == pytest.approx(area[0] * factor**2, rel=1e-5)


TOO_FAR = "that distance would carry the design past what a file can hold: check its unit"


@pytest.mark.parametrize(
    ("other", "true_mm", "why"),
    [
        ((10.0, 10.0), 100.0, "the two points fall together: click two that lie far apart"),
        ((90.0, 10.0), 0.0, "the true distance must be more than nothing: type it as the plan gives it"),
        ((90.0, 10.0), -5.0, "the true distance must be more than nothing: type it as the plan gives it"),
        ((90.0, 10.0), math.nan, "the true distance must be more than nothing: type it as the plan gives it"),
        ((90.0, 10.0), math.inf, "the true distance must be more than nothing: type it as the plan gives it"),
        ((90.0, 10.0), 80e4, "that distance would change the scale ten thousandfold: check its unit"),
        ((90.0, 10.0), 80e-5, "that distance would change the scale ten thousandfold: check its unit"),
        ((90.0, 10.0), 76e4, TOO_FAR),
    ],
)
def test_a_scale_that_cannot_be_is_refused_in_one_sentence(
    other: tuple[float, float], true_mm: float, why: str
) -> None:
    with pytest.raises(EditError) as refused:
        edits.set_scale(on_one_scan(), "plan", (10.0, 10.0), other, true_mm, SIZES)
    assert str(refused.value) == why


def test_scaling_a_sound_design_never_makes_one_that_cannot_be_saved() -> None:
    for true_mm in (0.01, 1.0, 1e3, 5e4):
        assert problems(edits.set_scale(on_one_scan(), "plan", (0, 0), (80, 0), true_mm, SIZES)) == []


# Level, turns, mirror, datum


@SOME
@given(points, points)
def test_a_levelled_line_lies_level_in_either_order_of_clicks(
    one: tuple[float, float], other: tuple[float, float]
) -> None:
    if math.dist(one, other) < 1:
        return
    before = on_one_scan()
    for first, second in ((one, other), (other, one)):
        after = edits.level(before, "plan", first, second, SIZES)
        mapped = [
            np.array(after.scan("plan").to_mm) @ np.array((*pixel(before, "plan", *p), 1.0))
            for p in (first, second)
        ]
        assert mapped[0][1] == pytest.approx(mapped[1][1], abs=1e-7)
        assert tuple(mapped[0][:2]) == pytest.approx(first, abs=1e-7)  # turned about the first click
        assert math.dist(mapped[0], mapped[1]) == pytest.approx(math.dist(one, other))
        if abs(other[0] - one[0]) > 1e-9:
            # The shorter way round: what was to the right is to the right still, nose left stays nose left.
            assert (mapped[1][0] - mapped[0][0]) * (second[0] - first[0]) > 0
        assert_on_the_same_pixels(before, after)
        assert_typed_sizes_kept(before, after)
        assert after.scan("plan").scale_from == "none"


def test_levelling_by_one_point_twice_is_refused() -> None:
    with pytest.raises(EditError, match="fall together"):
        edits.level(on_one_scan(), "plan", (5, 5), (5, 5), SIZES)


def test_four_quarter_turns_come_back_and_one_turns_anticlockwise() -> None:
    before = on_one_scan()
    once = edits.turn_quarter(before, "plan", 1, SIZES)
    assert_on_the_same_pixels(before, once)
    corners = edits.corners_of(before.scan("plan"), SIZES["plan"])
    middle = corners.mean(axis=0)
    turned = edits.corners_of(once.scan("plan"), SIZES["plan"])
    assert turned == pytest.approx((corners - middle) @ np.array(((0, 1), (-1, 0))) + middle)
    design = before
    for _ in range(4):
        design = edits.turn_quarter(design, "plan", 1, SIZES)
    same_place(design, before)
    same_place(edits.turn_quarter(once, "plan", -1, SIZES), before)
    same_place(edits.turn_quarter(before, "plan", 4, SIZES), before)


def test_a_mirrored_scan_carries_its_outlines_and_twice_is_where_it_was() -> None:
    before = on_one_scan()
    once = edits.mirror_scan(before, "plan", SIZES)
    assert_on_the_same_pixels(before, once)
    assert_typed_sizes_kept(before, once)
    middle = float(edits.corners_of(before.scan("plan"), SIZES["plan"]).mean(axis=0)[0])
    assert once.cg_mark == Mark(pytest.approx(2 * middle - 320), pytest.approx(10))
    same_place(edits.mirror_scan(once, "plan", SIZES), before)


def test_the_datum_becomes_nought_and_nothing_moves_on_the_paper() -> None:
    before = on_one_scan()
    after = edits.set_datum(before, 120.5, -8.25)
    assert pixel(after, "plan", 0, 0) == pytest.approx(pixel(before, "plan", 120.5, -8.25), abs=1e-6)
    assert_on_the_same_pixels(before, after)
    assert_typed_sizes_kept(before, after)
    engine = ReadingsEngine()
    for key in ("cla_fraction", "tail_arm", "side_area"):
        old = engine.read(replace(before, scans=())).value(key)
        assert engine.read(replace(after, scans=())).value(key) == pytest.approx(old, rel=1e-6)
    same_place(edits.set_datum(after, -120.5, 8.25), before)
    assert edits.set_datum(before, 0, 0) == before


def test_a_moved_scan_leaves_what_is_drawn_where_it_is() -> None:
    before = on_one_scan()
    after = edits.move_scan(before, "plan", 10, -4)
    assert replace(after, scans=before.scans) == before
    assert pixel(after, "plan", 10, -4) == pytest.approx(pixel(before, "plan", 0, 0))


# Several scans


def two_scans() -> Design:
    """Side by side, "left" over x 0 to 500 and "right" over x 600 to 1100, z 0 to 300; an outline on each."""

    def scan(part_id: str, x: float) -> Scan:
        return Scan(part_id, f"{part_id}.png", to_mm=((0.5, 0, x), (0, -0.5, 300.0), (0, 0, 1)))

    return design_of(
        box("nose", "fuselage", 100, 100, 400, 200), box("tail", "fin", 700, 100, 900, 200),
        scans=(scan("left", 0), scan("right", 600)), cg_mark=Mark(250, 150),
        weights=(Weight("battery", 100, 150, 0, 150), Weight("servo", 40, 800, 0, 150)),
        wings=trainer().wings,
    )


BOTH = {"left": (1000.0, 600.0), "right": (1000.0, 600.0)}


def test_with_two_scans_only_what_lies_on_the_scan_goes_with_it() -> None:
    before = two_scans()
    after = edits.set_scale(before, "right", (600, 0), (700, 0), 200, BOTH)
    assert after.outline("nose") is before.outline("nose")
    assert after.cg_mark == before.cg_mark and after.wings == before.wings
    assert after.weights[0] == before.weights[0]
    assert after.scan("left") == before.scan("left")
    assert [(n.x, n.z) for n in after.outline("tail").nodes] == [
        (1400, 200), (1800, 200), (1800, 400), (1400, 400)
    ]
    assert (after.weights[1].x, after.weights[1].z) == (1600, 300)


def test_a_point_beside_all_scans_belongs_to_the_nearest_and_on_two_to_the_topmost() -> None:
    design = two_scans()
    assert edits.scan_under(design, 250, 150, BOTH) == "left"
    assert edits.scan_under(design, 850, 150, BOTH) == "right"
    assert edits.scan_under(design, -900, 150, BOTH) == "left"
    assert edits.scan_under(design, 9000, 150, BOTH) == "right"
    over = replace(design, scans=(*design.scans, replace(design.scans[0], id="over")))
    assert edits.scan_under(over, 250, 150, BOTH | {"over": (1000.0, 600.0)}) == "over"


def test_a_scan_whose_picture_cannot_be_read_is_passed_over_while_others_can() -> None:
    design = two_scans()
    assert edits.scan_under(design, 250, 150, {"right": BOTH["right"]}) == "right"
    assert edits.scan_under(design, 250, 150, {}) == "right"
    assert edits.scan_under(design_of(), 0, 0, {}) is None


@pytest.mark.parametrize("degrees", [0, 30, 90, 180])
def test_a_scan_is_found_under_a_point_however_it_is_turned_or_mirrored(degrees: float) -> None:
    design = two_scans()
    by = edits.similarity(1.0, degrees, (250, 150))
    for flip in (np.eye(3), edits.mirrored(250)):
        turned = replace(design, scans=tuple(
            replace(s, to_mm=edits.matrix_of(by @ flip @ np.array(s.to_mm))) for s in design.scans
        ))
        assert edits.scan_under(turned, 250, 150, BOTH) == "left"


def test_an_unknown_scan_is_an_error() -> None:
    with pytest.raises(KeyError):
        edits.mirror_scan(on_one_scan(), "nobody", SIZES)
