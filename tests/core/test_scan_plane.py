"""Photographs straightened and stretch taken out: against cameras and papers that are known."""

from __future__ import annotations

import math

import numpy as np
import pytest
from cameras import CAMERAS, PICTURE, Array, Camera, pairs
from making import box, curved_outline, design_of, trainer
from msgspec.structs import replace

from core.design import Alternative, Design, Mark, Matrix, Scan, Station, Weight, Wing
from core.design_check import problems
from core.geometry.plane import mapped
from core.geometry.ring import flatten, ring_of
from core.redesign import scan_plane as planes
from core.redesign.outline_edits import EditError
from core.redesign.scan_edits import matrix_of, set_scale, similarity
from core.redesign.scan_plane import Distance, KnownRectangle

UPRIGHT: Matrix = ((0.254, 0.0, 0.0), (0.0, -0.254, 762.0), (0.0, 0.0, 1.0))
SIZES = {"photo": PICTURE}
SHEET = np.array(((0.0, 0.0), (841.0, 0.0), (841.0, 594.0), (0.0, 594.0)))


def photo(to_mm: Matrix = UPRIGHT, **more: object) -> Design:
    return design_of(scans=(Scan("photo", "photo.jpg", to_mm=to_mm, scale_from="none"),), **more)


def sheet(camera: Camera, **more: object) -> KnownRectangle:
    return KnownRectangle(pairs(camera.pixels(SHEET)), 841.0, 594.0, **more)  # type: ignore[arg-type]


def area_and_centroid(ring: Array) -> tuple[float, Array]:
    """Shoelace, in full."""
    x, z = ring.T
    turns = x * np.roll(z, -1) - np.roll(x, -1) * z
    area = turns.sum() / 2
    middle = ((ring + np.roll(ring, -1, axis=0)) * turns[:, None]).sum(axis=0) / (6 * area)
    return abs(float(area)), middle


FIN = flatten(ring_of(curved_outline("fin", "fin", 640, 330, 180).nodes))


def recovered(design: Design, camera: Camera, points: Array) -> Array:
    """Points of the plan through the lens and the scan's matrix, rid of the shift of the datum."""
    to_mm = np.array(design.scan("photo").to_mm)
    origin = mapped(to_mm, camera.pixels(np.array((0.0, 0.0))))
    return np.asarray(mapped(to_mm, camera.pixels(points)) - origin)


@pytest.mark.parametrize("camera", CAMERAS)
@pytest.mark.parametrize("shuffle", [(0, 1, 2, 3), (2, 3, 0, 1), (1, 0, 3, 2)])
def test_a_photograph_is_laid_flat_to_rounding(camera: Camera, shuffle: tuple[int, ...]) -> None:
    known = sheet(camera)
    known = KnownRectangle(tuple(known.corners[i] for i in shuffle), 841.0, 594.0)
    after, fit = planes.straighten(photo(), "photo", known, SIZES)
    assert recovered(after, camera, FIN) == pytest.approx(FIN, abs=1e-9)
    area, middle = area_and_centroid(recovered(after, camera, FIN))
    true, true_middle = area_and_centroid(FIN)
    assert area == pytest.approx(true, rel=1e-9) and middle == pytest.approx(true_middle, abs=1e-9)
    assert after.scan("photo").scale_from == "points" and fit.rms < 1e-9
    assert problems(after) == []
    # The datum of a fresh photograph, its lower left corner, is that corner still.
    assert mapped(np.array(after.scan("photo").to_mm), np.array((0.0, 3000.0)))[0] == pytest.approx(
        (0, 0), abs=1e-9
    )


def test_one_pixel_of_noise_keeps_areas_and_centroids_within_what_was_promised() -> None:
    """0.5 % of the area and 0.5 mm of the centroid, over forty seeded photographs of an A1 sheet.

    Normal noise of one pixel in all on each corner, and four distances and places more.
    """
    rng = np.random.default_rng(11)
    extra = np.array(((420.0, 300.0), (420.0, 0.0), (0.0, 297.0), (841.0, 297.0)))
    worst_area = worst_centroid = 0.0
    true, true_middle = area_and_centroid(FIN)
    for i in range(40):
        camera = CAMERAS[i % len(CAMERAS)]

        def seen(points: Array, camera: Camera = camera) -> Array:
            return camera.pixels(points) + rng.normal(0, 1 / math.sqrt(2), (len(points), 2))

        places = tuple(zip(pairs(seen(extra)), pairs(extra), strict=True))
        known = KnownRectangle(pairs(seen(SHEET)), 841.0, 594.0, places=places)
        after, _ = planes.straighten(photo(), "photo", known, SIZES)
        to_mm = np.array(after.scan("photo").to_mm)
        # Seen from the fitted rectangle's own corner, not from a clicked one.
        origin = mapped(to_mm, camera.pixels(SHEET)).mean(axis=0) - SHEET.mean(axis=0)
        area, middle = area_and_centroid(mapped(to_mm, camera.pixels(FIN)) - origin)
        worst_area = max(worst_area, abs(area / true - 1))
        worst_centroid = max(worst_centroid, float(np.hypot(*(middle - true_middle))))
    assert worst_area < 0.005, worst_area
    assert worst_centroid < 0.5, worst_centroid


def test_places_and_distances_settle_it_together_and_say_how_well() -> None:
    camera = CAMERAS[1]
    ends = camera.pixels(np.array(((100.0, 50.0), (700.0, 450.0))))
    spans = ((pairs(ends)[0], pairs(ends)[1], math.hypot(600, 400)),)
    middle = pairs(camera.pixels(np.array((420.5, 297.0))))[0]
    _, fit = planes.straighten(
        photo(), "photo", sheet(camera, places=((middle, (420.5, 297.0)),), spans=spans), SIZES
    )
    assert fit.rms < 1e-8 and len(fit.at_points) == 5 and len(fit.at_spans) == 1
    wrong = ((spans[0][0], spans[0][1], spans[0][2] + 5.0),)
    _, fit = planes.straighten(photo(), "photo", sheet(camera, spans=wrong), SIZES)
    # One figure too many is shared among all that it contradicts.
    assert -5.0 < fit.at_spans[0] < -1.0 and fit.at_points.max() > 0.5 and fit.rms > 0.5


@pytest.mark.parametrize("quarter", [0, 90, 180, 270])
@pytest.mark.parametrize("mirror", [1.0, -1.0])
def test_the_width_is_the_pair_of_sides_that_lies_the_more_level(quarter: float, mirror: float) -> None:
    """However a picture was turned or mirrored before: what looked upright stays upright."""
    camera = CAMERAS[0]
    by = similarity(1.0, quarter, (500, 380)) @ np.diag((mirror, 1.0, 1.0))
    design = photo(matrix_of(by @ np.array(UPRIGHT)))
    width, height = (841.0, 594.0) if quarter in (0, 180) else (594.0, 841.0)
    known = KnownRectangle(sheet(camera).corners, width, height)
    order = planes.order_of(design.scan("photo"), known.corners)
    after, _ = planes.straighten(design, "photo", known, SIZES)
    quad = mapped(np.array(after.scan("photo").to_mm), camera.pixels(SHEET))[list(order)]
    assert quad - quad[0] == pytest.approx(
        np.array(((0, 0), (width, 0), (width, height), (0, height))), abs=1e-7
    )


def on_the_photo(camera: Camera) -> tuple[Design, Design]:
    """A design traced on the crooked photograph, and the same as the plan has it."""
    true = design_of(
        curved_outline("fin", "fin", 640, 330, 120), box("body", "fuselage", 100, 200, 700, 300),
        cg_mark=Mark(300, 250), weights=(Weight("battery", 180, 150, 0, 240),),
        wings=(Wing("wing", (Station(0, 250, 160, 260), Station(500, 262, 130, 290))),),
    )

    def seen(x: float, z: float) -> tuple[float, float]:
        at = mapped(np.array(UPRIGHT), camera.pixels(np.array((x, z))))[0]
        return float(at[0]), float(at[1])

    def crooked(part_id: str) -> object:
        outline = true.outline(part_id)
        nodes = []
        for n in outline.nodes:
            x, z = seen(n.x, n.z)
            ends = [seen(n.x + h[0], n.z + h[1]) if h else None for h in (n.handle_in, n.handle_out)]
            hands = [(e[0] - x, e[1] - z) if e else None for e in ends]
            nodes.append(replace(n, x=x, z=z, handle_in=hands[0], handle_out=hands[1]))
        return replace(outline, nodes=tuple(nodes))

    x, z = seen(300, 250)
    wx, wz = seen(150, 240)
    sx, sz = seen(250, 260)
    outlines = (crooked("fin"), crooked("body"))
    traced = photo(
        weights=(Weight("battery", 180, wx, 0, wz),), cg_mark=Mark(x, z),
        wings=(Wing("wing", (Station(0, sx, 160, sz), Station(500, sx + 12, 130, sz + 30))),),
    )
    traced = replace(traced, outlines=outlines)
    kept = Alternative(id="before", outlines=outlines, cg_mark=Mark(x, z))
    return replace(traced, alternatives=(kept,)), true


def test_what_was_traced_before_goes_along_and_what_was_typed_keeps_its_size() -> None:
    camera = CAMERAS[0]
    traced, true = on_the_photo(camera)
    after, _ = planes.straighten(traced, "photo", sheet(camera), SIZES)
    origin = mapped(np.array(after.scan("photo").to_mm), camera.pixels(np.array((0.0, 0.0))))[0]
    for state in (after, *after.alternatives):
        for outline in state.outlines:
            for node, wanted in zip(outline.nodes, true.outline(outline.id).nodes, strict=True):
                assert (node.x, node.z) == pytest.approx(origin + np.array((wanted.x, wanted.z)), abs=1e-6)
                for got, was in ((node.handle_in, wanted.handle_in), (node.handle_out, wanted.handle_out)):
                    assert got == (None if was is None else pytest.approx(was, abs=1e-6))
        assert state.cg_mark == Mark(pytest.approx(300 + origin[0]), pytest.approx(250 + origin[1]))
    (battery,) = after.weights
    assert (battery.grams, battery.x, battery.z) == pytest.approx((180, 150 + origin[0], 240 + origin[1]))
    first, second = after.wings[0].stations
    assert (first.le_x, first.z) == pytest.approx((250 + origin[0], 260 + origin[1]))
    assert (first.chord, second.chord) == (160, 130)
    assert (second.le_x - first.le_x, second.z - first.z) == pytest.approx((12, 30))
    got, wanted_fin = (area_and_centroid(flatten(ring_of(d.outline("fin").nodes)))[0] for d in (after, true))
    assert got == pytest.approx(wanted_fin, rel=1e-6)


def test_straightening_twice_changes_nothing_more_and_once_more_after_a_turn() -> None:
    camera = CAMERAS[2]
    traced, _ = on_the_photo(camera)
    once, _ = planes.straighten(traced, "photo", sheet(camera), SIZES)
    again, _ = planes.straighten(once, "photo", sheet(camera), SIZES)
    assert np.array(again.scan("photo").to_mm) == pytest.approx(np.array(once.scan("photo").to_mm), abs=1e-8)
    ends = [np.array([(n.x, n.z) for n in d.outline("body").nodes]) for d in (once, again)]
    assert ends[0] == pytest.approx(ends[1], abs=1e-6)


QUAD = ((800.0, 2400.0), (3200.0, 2500.0), (3000.0, 700.0), (900.0, 600.0))


@pytest.mark.parametrize(
    ("corners", "width", "why"),
    [
        (QUAD[:3], 841.0, "click the four corners"),
        ((QUAD[0], QUAD[2], QUAD[1], QUAD[3]), 841.0, "sides cross"),
        ((QUAD[0], QUAD[1], (1500.0, 2000.0), QUAD[3]), 841.0, "lies inside the others"),
        ((QUAD[0], QUAD[1], (2040.0, 1530.0), QUAD[3]), 841.0, "nearly in a line"),
        ((QUAD[0], QUAD[1], QUAD[1], QUAD[3]), 841.0, "fall together"),
        (QUAD, 0.0, "the width must be more than nothing"),
        (QUAD, math.nan, "the width must be more than nothing"),
        (((200.0, 2900.0), (3800.0, 2900.0), (2300.0, 1500.0), (1700.0, 1500.0)), 841.0, "horizon"),
        (QUAD, 9e5, "check their units"),
    ],
)
def test_what_cannot_be_straightened_is_refused_in_one_sentence(
    corners: tuple[tuple[float, float], ...], width: float, why: str
) -> None:
    design = replace(photo(), outlines=trainer().outlines) if width > 1e5 else photo()
    with pytest.raises(EditError, match=why):
        planes.straighten(design, "photo", KnownRectangle(corners, width, 594.0), SIZES)


def test_a_picture_that_is_not_open_and_distances_of_nothing_are_refused() -> None:
    with pytest.raises(EditError, match="not open"):
        planes.straighten(photo(), "photo", KnownRectangle(QUAD, 841, 594), {})
    with pytest.raises(EditError, match="known distance"):
        planes.straighten(
            photo(), "photo", KnownRectangle(QUAD, 841, 594, spans=((QUAD[0], QUAD[2], 0.0),)), SIZES
        )


def test_something_traced_beyond_the_horizon_is_told_and_not_thrown_through_it() -> None:
    camera = Camera(tilt=40, pan=0, roll=0, away=1400)
    far = photo(cg_mark=Mark(500.0, 30000.0))
    with pytest.raises(EditError, match="beyond the horizon"):
        planes.straighten(far, "photo", sheet(camera), SIZES)


# Stretch


def shrunk(along: float, across: float, turn: float) -> tuple[Design, Array]:
    """A sheet scanned at 200 dpi after its paper came to ``along`` and ``across`` of its size, then turned
    under the scale of the scanner; and the map from true mm to mm as they are read off.
    """
    dpi = 25.4 / 200
    paper = np.array(((along, 0.0, 0.0), (0.0, across, 0.0), (0.0, 0.0, 1.0)))
    by = similarity(1.0, turn, (0.0, 0.0))
    to_mm = by @ np.array(((dpi, 0.0, 0.0), (0.0, -dpi, 300.0), (0.0, 0.0, 1.0)))
    scan = Scan("plan", "plan.png", to_mm=matrix_of(to_mm), scale_from="dpi")
    return design_of(scans=(scan,)), by @ paper


PLAN = {"plan": (4000.0, 2400.0)}


@pytest.mark.parametrize("turn", [0.0, 3.0, -90.0, 148.0])
@pytest.mark.parametrize(("along", "across"), [(0.998, 0.992), (0.99, 0.996), (1.01, 0.985)])
@pytest.mark.parametrize("slant", [0.0, 12.0])
def test_two_distances_take_the_stretch_out(turn: float, along: float, across: float, slant: float) -> None:
    design, read_off = shrunk(along, across, turn)
    c, s = math.cos(math.radians(slant)), math.sin(math.radians(slant))
    truths = (
        np.array(((20.0, 30.0), (20 + 400 * c, 30 + 400 * s))), np.array(((60.0, 10.0), (60 - 9 * s, 260.0)))
    )
    given = []
    for ends in truths:
        one, other = pairs(mapped(read_off, ends))
        given.append(Distance(one, other, math.dist(*ends)))
    after = planes.set_stretch(design, "plan", given[0], given[1], PLAN)
    # What was read off before, mapped by what the edit did, is the true plan but for its turn.
    by = np.array(after.scan("plan").to_mm) @ np.linalg.inv(np.array(design.scan("plan").to_mm))
    whole = by @ read_off
    assert whole[:2, :2].T @ whole[:2, :2] == pytest.approx(np.eye(2), abs=1e-9)
    assert whole[:2, 2] == pytest.approx((0, 0), abs=1e-9), "the datum stays on the paper"
    assert after.scan("plan").scale_from == "points"
    shorter = 100 * (1 - min(along, across) / max(along, across))
    level = abs(math.cos(math.radians(turn))) > 0.7
    way = "across than along" if (across < along) == level else "along than across"
    assert planes.plane_words(after.scan("plan")) == f"the paper is {shorter:.2g} % shorter {way}"


def test_a_stretch_of_six_in_a_thousand_is_said_as_the_builder_would() -> None:
    design, read_off = shrunk(1.0, 0.994, 0.0)
    ends = mapped(read_off, np.array(((0.0, 0.0), (300.0, 0.0), (0.0, 200.0))))
    first, second = Distance(*pairs(ends[:2]), 300.0), Distance(*pairs(ends[[0, 2]]), 200.0)
    after = planes.set_stretch(design, "plan", first, second, PLAN)
    assert planes.plane_words(after.scan("plan")) == "the paper is 0.6 % shorter across than along"
    assert planes.plane_words(design.scan("plan")) == ""
    # One distance alone scales both ways alike, and is what stretch comes to where there is none.
    alike = planes.set_stretch(
        design, "plan", replace_mm(first, 330.0), replace_mm(second, 0.994 * 220.0), PLAN
    )
    plain = set_scale(design, "plan", first.one, first.other, 330.0, PLAN)
    assert np.array(alike.scan("plan").to_mm) == pytest.approx(np.array(plain.scan("plan").to_mm))


def replace_mm(distance: Distance, mm: float) -> Distance:
    return Distance(distance.one, distance.other, mm)


@pytest.mark.parametrize(
    ("second", "why"),
    [
        (Distance((0, 0), (300, 40), 302.0), "too much alike"),
        (Distance((0, 0), (0, 200), 0.0), "more than nothing"),
        (Distance((5, 5), (5, 5), 10.0), "fall together"),
        (Distance((0, 0), (160, 200), 90.0), "contradict"),
        (Distance((0, 0), (0, 200), 9e6), "check its unit"),
    ],
)
def test_a_stretch_that_cannot_be_is_refused(second: Distance, why: str) -> None:
    design, _ = shrunk(1.0, 1.0, 0.0)
    with pytest.raises(EditError, match=why):
        planes.set_stretch(design, "plan", Distance((0, 0), (300, 0), 300.0), second, PLAN)


def test_two_diagonals_settle_no_stretch_and_a_photograph_has_its_own_way() -> None:
    design, _ = shrunk(1.0, 1.0, 0.0)
    with pytest.raises(EditError, match="too much alike"):
        planes.set_stretch(
            design, "plan", Distance((0, 0), (200, 200), 283), Distance((0, 200), (200, 0), 284), PLAN
        )
    flat, _ = planes.straighten(photo(), "photo", sheet(CAMERAS[0]), SIZES)
    with pytest.raises(EditError, match="straighten it anew"):
        planes.set_stretch(
            flat, "photo", Distance((0, 0), (300, 0), 300), Distance((0, 0), (0, 200), 200), SIZES
        )
    assert planes.plane_words(flat.scan("photo")) == "straightened"
