"""The lens of a photograph: there and back, in the file, and solved from straight lines, by known cameras."""

from __future__ import annotations

import json
from dataclasses import replace as altered

import numpy as np
import pytest
from cameras import CAMERAS, PICTURE, Array, Camera, pairs
from making import design_of, traced
from msgspec.structs import replace

from core.design import EMPTY, Design, Lens, Mark, Matrix, Scan, range_of
from core.design_file import DesignFileError, decode, encode
from core.geometry.plane import mapped
from core.geometry.plumb import MOST_K
from core.redesign.outline_edits import EditError
from core.redesign.scan_edits import carry, covers, similarity
from core.redesign.scan_plane import KnownRectangle, LaidFlat, plane_words, set_stretch, straighten
from core.scan_map import curved, edge_of, lens_about_the_middle, mm_of, pixels_of, straight

UPRIGHT: Matrix = ((0.254, 0.0, 0.0), (0.0, -0.254, 762.0), (0.0, 0.0, 1.0))
TILTED: Matrix = ((0.25, 0.01, -3.0), (0.012, -0.25, 700.0), (1e-5, 2e-5, 1.0))
SIZES = {"photo": PICTURE}
SHEET = np.array(((0.0, 0.0), (841.0, 0.0), (841.0, 594.0), (0.0, 594.0)))


def everywhere(step: float = 125.0) -> Array:
    """Places all over the picture, its corners among them."""
    u, v = np.meshgrid(np.arange(0, PICTURE[0] + 1, step), np.arange(0, PICTURE[1] + 1, step))
    return np.column_stack((u.ravel(), v.ravel()))


# There and back


@pytest.mark.parametrize("k", [-0.25, -0.1, -0.015, 0.0, 1e-9, 0.015, 0.1, 0.25])
def test_there_and_back_is_nowhere_off_by_a_millionth_of_a_pixel(k: float) -> None:
    scan = Scan("photo", "photo.jpg", to_mm=TILTED, lens=lens_about_the_middle(k, PICTURE))
    places = everywhere()
    assert pixels_of(scan, mm_of(scan, places)) == pytest.approx(places, abs=1e-7)
    mm = mm_of(scan, places)
    assert mm_of(scan, pixels_of(scan, mm)) == pytest.approx(mm, abs=1e-7)
    beyond = np.array(((-900.0, -2000.0), (9000.0, 1500.0)))
    assert curved(scan.lens, straight(scan.lens, beyond)) == pytest.approx(beyond, abs=1e-7)


def test_the_bend_is_what_the_file_says_it_is() -> None:
    """By hand: k = 0.02, R = 1000 px; 600 px off the middle is 0.36 of R², so 0.72 % further out."""
    lens = Lens(0.02, 1500.0, 1000.0, 1000.0)
    assert straight(lens, np.array((2100.0, 1000.0)))[0] == pytest.approx((1500 + 600 * 1.0072, 1000))
    # Along 3, 4, 5: half of R each, a quarter of R², 0.5 %.
    assert straight(lens, np.array((1800.0, 1400.0)))[0] == pytest.approx((1500 + 301.5, 1000 + 402.0))
    assert straight(lens, np.array((1500.0, 1000.0)))[0] == pytest.approx((1500, 1000), abs=0)
    # Beyond R on with the slope at R, 1 + 3 k.
    assert straight(lens, np.array((1500.0, 2500.0)))[0] == pytest.approx((1500, 1000 + 1020 + 500 * 1.06))


@pytest.mark.parametrize("k", [-0.25, 0.25])
def test_it_nowhere_folds(k: float) -> None:
    lens = lens_about_the_middle(k, PICTURE)
    out = straight(lens, np.column_stack((np.linspace(2000, 9000, 5000), np.full(5000, 1500.0))))
    assert (np.diff(out[:, 0]) > 0).all()


def test_without_a_lens_the_maps_are_the_matrix_alone_and_the_horizon_is_no_place() -> None:
    scan = Scan("photo", "photo.jpg", to_mm=TILTED)
    at = np.array(((100.0, 200.0, 1.0),)) @ np.array(TILTED).T
    assert mm_of(scan, np.array((100.0, 200.0)))[0] == pytest.approx(at[0, :2] / at[0, 2], rel=1e-12)
    # From the picture's middle through the horizon (1 + u / 100 000 + v / 50 000 = 0) and on beyond it.
    beyond = mapped(np.array(TILTED), np.array((2000.0 - 2e5, 1500.0 - 2e5)))[0]
    (here, there) = pixels_of(scan, np.array(((30.0, 650.0), beyond)))
    assert np.isfinite(here).all() and np.isnan(there).all()


def test_a_picture_through_a_lens_lies_within_its_curved_edge() -> None:
    scan = Scan("photo", "photo.jpg", to_mm=UPRIGHT, lens=lens_about_the_middle(0.04, PICTURE))
    edge = edge_of(scan, PICTURE)
    assert len(edge) == 96 and len(edge_of(replace(scan, lens=None), PICTURE)) == 4
    # The corners move out by 4 % of half the diagonal; the middle of a side by much less.
    assert edge[:, 0].min() == pytest.approx(-0.254 * 0.04 * 2000) and edge[0, 1] > edge[12, 1]
    middle_of_the_left_side = mm_of(scan, np.array((0.0, 1500.0)))[0]
    x, z = middle_of_the_left_side
    assert covers(scan, PICTURE, x + 0.1, z) and not covers(scan, PICTURE, x - 0.1, z)
    corner = mm_of(scan, np.zeros(2))[0]
    assert covers(scan, PICTURE, corner[0] + 0.5, corner[1] - 0.5)
    assert not covers(replace(scan, lens=None), PICTURE, corner[0] + 0.5, corner[1] - 0.5)


# In the file


def photo(lens: Lens | None = None, to_mm: Matrix = UPRIGHT, **more: object) -> Design:
    scan = Scan("photo", "photo.jpg", to_mm=to_mm, scale_from="none", lens=lens)
    return design_of(scans=(scan,), **more)


def test_a_lens_and_what_was_left_over_stand_in_the_file_and_need_format_4() -> None:
    design = photo(Lens(0.015, 2000.0, 1500.0, 2500.0))
    design = replace(design, scans=(replace(design.scans[0], residual_mm=0.62),))
    held = json.loads(encode(design))
    assert held["format"] == 4 and held["scans"][0]["residual_mm"] == 0.62
    assert held["scans"][0]["lens"] == {"k": 0.015, "u": 2000.0, "v": 1500.0, "radius": 2500.0}
    assert decode(encode(design)) == design


def test_a_scan_without_a_lens_is_written_as_it_always_was() -> None:
    plain = replace(EMPTY, scans=(Scan("plan", "plan.png"),))
    held = json.loads(encode(plain))
    assert held["format"] == 1 and held["scans"] == [{"id": "plan", "file": "plan.png"}]


@pytest.mark.parametrize(("lens", "wanted"), [
    ({"k": 0.3, "u": 1, "v": 1, "radius": 9}, "scans[0].lens.k: found 0.3; keep between -0.25 and 0.25"),
    ({"k": 0.1, "u": 1, "v": 1, "radius": 0}, "scans[0].lens.radius: found 0 pixels; keep between 1 and"),
    ({"k": 0.1, "u": 1, "v": 1}, "radius"),
    ({"k": 0.1, "u": 1, "v": 1, "radius": 9, "k2": 0.1}, "k2"),
    ({"k": 0.1, "u": 2e6, "v": 1, "radius": 9}, "scans[0].lens.u: 2e+06 is out of reach"),
])
def test_a_lens_out_of_range_is_told_with_its_place(lens: dict[str, float], wanted: str) -> None:
    scan = {"id": "a", "file": "a.png", "lens": lens}
    with pytest.raises(DesignFileError) as caught:
        decode(json.dumps({"format": 4, "title": "t", "scans": [scan]}).encode())
    assert wanted in str(caught.value)


def test_an_older_format_has_no_lens() -> None:
    scan = {"id": "a", "file": "a.png", "lens": {"k": 0.1, "u": 1, "v": 1, "radius": 9}}
    with pytest.raises(DesignFileError, match="lens"):
        decode(json.dumps({"format": 3, "title": "t", "scans": [scan]}).encode())


def test_every_lens_that_may_be_solved_may_be_kept() -> None:
    allowed = range_of(Lens, "k")
    # One third is where the map would fold at the radius.
    assert -1 / 3 < allowed.low < -MOST_K and allowed.high > MOST_K


# Kept with what is traced


def test_what_was_traced_stays_on_its_pixels_when_the_lens_becomes_another() -> None:
    fin = traced("fin", "fin", ((600, 400), (700, 400), (680, 520)))
    before = replace(photo(), outlines=(fin,), cg_mark=Mark(300.0, 420.0))
    camera = altered(CAMERAS[0], barrel=0.02)
    after, fit = straighten(before, "photo", known(camera), SIZES)
    assert fit.lens is not None and after.scan("photo").lens == fit.lens
    for old, new in zip(before.outlines[0].nodes, after.outlines[0].nodes, strict=True):
        pixel = pixels_of(before.scan("photo"), np.array((old.x, old.z)))
        assert mm_of(after.scan("photo"), pixel)[0] == pytest.approx((new.x, new.z), abs=1e-6)
    # The datum stays on the paper.
    datum = pixels_of(before.scan("photo"), np.zeros(2))
    assert mm_of(after.scan("photo"), datum)[0] == pytest.approx((0, 0), abs=1e-6)


def test_what_was_left_over_grows_with_the_scale_and_not_with_a_turn() -> None:
    design = photo()
    design = replace(design, scans=(replace(design.scans[0], residual_mm=0.5),))
    assert carry(design, "photo", similarity(1.2, 30.0, (5, 5)), SIZES).scan("photo").residual_mm == (
        pytest.approx(0.6)
    )


def test_a_photograph_with_a_lens_takes_no_stretch_and_says_it_is_straightened() -> None:
    design = photo(Lens(0.01, 2000, 1500, 2500))
    assert plane_words(design.scans[0]) == "straightened"
    with pytest.raises(EditError, match="straighten it anew"):
        set_stretch(design, "photo", None, None, SIZES)  # type: ignore[arg-type]


# Solved


def lines_of(camera: Camera, count: int = 7, height: float = 0.0, rng: np.random.Generator | None = None) -> (
    tuple[tuple[tuple[float, float], ...], ...]
):
    """Pixels along the four sides of the sheet, seen with a pixel of noise where there is ``rng``."""
    part = np.linspace(0.03, 0.97, count)[:, None]
    sides = [a + part * (b - a) for a, b in zip(SHEET, np.roll(SHEET, -1, axis=0), strict=True)]
    return tuple(pairs(seen(camera, side, height, rng)) for side in sides)


def seen(camera: Camera, points: Array, height: float = 0.0, rng: np.random.Generator | None = None) -> Array:
    pixels = camera.looks_at(folded(points, height))
    return pixels if rng is None else pixels + rng.normal(0, 1 / np.sqrt(2), pixels.shape)


def folded(points: Array, height: float) -> Array:
    """Paper that was folded in four along and in two across, its folds so many mm off the table."""
    x, z = np.asarray(points, np.float64).T
    along = np.abs((x / 210.25) % 2 - 1) - 0.5
    across = np.abs((z / 297.0) % 2 - 1) - 0.5
    return np.column_stack((x, z, height * (along + across)))


def known(camera: Camera, height: float = 0.0, rng: np.random.Generator | None = None) -> KnownRectangle:
    return KnownRectangle(
        pairs(seen(camera, SHEET, height, rng)), 841.0, 594.0, lines=lines_of(camera, 7, height, rng)
    )


def worst_off(design: Design, camera: Camera, height: float = 0.0, times: float = 1.0) -> float:
    """How far in mm the plan comes to lie off at worst, its own shift and no more taken out."""
    x, z = np.meshgrid(np.linspace(10, 831, 22), np.linspace(10, 584, 16))
    plan = times * np.column_stack((x.ravel(), z.ravel()))
    off = mm_of(design.scan("photo"), seen(camera, plan, height)) - plan
    return float(np.hypot(*(off - off.mean(axis=0)).T).max())


@pytest.mark.parametrize("camera", CAMERAS)
@pytest.mark.parametrize("barrel", [-0.02, 0.0, 0.015, 0.03])
def test_straight_lines_take_the_lens_out(camera: Camera, barrel: float) -> None:
    camera = altered(camera, barrel=barrel)
    plain, _ = straighten(photo(), "photo", replace_lines(known(camera)), SIZES)
    after, fit = straighten(photo(), "photo", known(camera), SIZES)
    # The camera's number runs the other way: what is left is the difference between the two kinds.
    assert worst_off(after, camera) < 0.03 and fit.paper_mm is not None and fit.paper_mm < 0.01
    assert worst_off(plain, camera) > 20 * worst_off(after, camera) or barrel == 0.0
    assert fit.lens is not None and fit.lens.k == pytest.approx(barrel, abs=0.0015)
    assert fit.lens_mm == pytest.approx(worst_off(plain, camera), abs=0.15)


def replace_lines(known: KnownRectangle, *lines: tuple[tuple[float, float], ...]) -> KnownRectangle:
    return altered(known, lines=lines)


A0 = Camera(tilt=12.0, pan=-9.0, away=1225.0, x=594.5, z=420.5, barrel=0.015)
"""An A0 sheet that fills the picture, through 1.5 % of barrel at its corners."""


@pytest.mark.parametrize(("height", "most"), [(0.0, 0.45), (1.0, 1.0)])
def test_three_millimetres_of_barrel_after_four_exact_corners_come_down_to_less_than_one(
    height: float, most: float
) -> None:
    """Twenty seeds each: a pixel of noise along the edges, paper that stands 1 mm off where it was folded."""
    rng = np.random.default_rng(5)
    sheet = SHEET * np.sqrt(2)
    part = np.linspace(0.03, 0.97, 9)[:, None]
    for _ in range(20):
        corners = pairs(seen(A0, sheet, height))
        lines = tuple(
            pairs(seen(A0, a + part * (b - a), height, rng))
            for a, b in zip(sheet, np.roll(sheet, -1, axis=0), strict=True)
        )
        rectangle = KnownRectangle(corners, 841.0 * np.sqrt(2), 594.0 * np.sqrt(2))
        plain, _ = straighten(photo(), "photo", rectangle, SIZES)
        after, fit = straighten(photo(), "photo", replace_lines(rectangle, *lines), SIZES)
        assert worst_off(plain, A0, height, np.sqrt(2)) > 3.0
        assert worst_off(after, A0, height, np.sqrt(2)) < most
        # What the lens was, what the paper is: neither is taken for the other.
        assert 2.4 < fit.lens_mm < 3.9 and fit.paper_mm is not None and 0.15 < fit.paper_mm < 0.5
        assert fit.clicks_mm is None and after.scan("photo").residual_mm == fit.residual_mm == fit.paper_mm


def test_more_corners_and_lines_are_solved_together() -> None:
    rng = np.random.default_rng(8)
    camera = altered(CAMERAS[1], barrel=0.02)
    extra = np.array(((420.5, 297.0), (420.5, 0.0), (0.0, 297.0), (841.0, 297.0), (210.0, 150.0)))
    places = tuple(zip(pairs(seen(camera, extra, 0.0, rng)), pairs(extra), strict=True))
    after, fit = straighten(photo(), "photo", altered(known(camera, 0.0, rng), places=places), SIZES)
    assert fit.clicks_mm is not None and 0.05 < fit.clicks_mm < 0.6 and fit.paper_mm is not None
    assert fit.residual_mm == pytest.approx(np.hypot(fit.clicks_mm, fit.paper_mm))
    assert worst_off(after, camera) < 0.8 and len(fit.at_points) == 9 and len(fit.at_lines) == 4


def solved(camera: Camera, *lines: Array) -> LaidFlat:
    what = replace_lines(known(camera), *(pairs(camera.pixels(line)) for line in lines))
    return straighten(photo(), "photo", what, SIZES)[1]


def test_lines_that_say_nothing_of_the_lens_leave_it_out_and_say_so() -> None:
    camera = altered(CAMERAS[3], roll=0.0, tilt=0.0, pan=0.0, barrel=0.02)
    through = np.column_stack((np.linspace(50, 790, 6), np.full(6, 300.0)))
    fit = solved(camera, through)
    assert fit.lens is None and "near the edges" in fit.lens_told and fit.lens_mm == 0.0
    fit = solved(camera, through[[0, 2, 5]] + np.array((0, 280)))
    assert fit.lens is None and "three points" in fit.lens_told and fit.paper_mm is None
    high = through + np.array((0, 280))
    fit = solved(camera, high)
    assert fit.lens is not None and fit.lens_told == "" and fit.lens.k == pytest.approx(0.02, abs=0.001)
    # Two points are no line yet.
    assert solved(camera, through[:2]).at_lines == ()


def test_points_that_are_known_settle_what_a_line_through_the_middle_does_not() -> None:
    camera = altered(CAMERAS[3], roll=0.0, tilt=0.0, pan=0.0, barrel=0.02)
    through = np.column_stack((np.linspace(50, 790, 6), np.full(6, 300.0)))
    extra = np.array(((420.5, 297.0), (420.5, 0.0), (0.0, 297.0), (841.0, 297.0), (420.5, 594.0)))
    what = replace_lines(known(camera), pairs(camera.pixels(through)))
    places = tuple(zip(pairs(camera.pixels(extra)), pairs(extra), strict=True))
    fit = straighten(photo(), "photo", altered(what, places=places), SIZES)[1]
    assert fit.lens is not None and fit.lens.k == pytest.approx(0.02, abs=0.001) and fit.rms < 0.01


def test_a_lens_stays_where_a_later_rectangle_comes_without_lines() -> None:
    camera = altered(CAMERAS[0], barrel=0.03)
    after, first = straighten(photo(), "photo", known(camera), SIZES)
    again, fit = straighten(after, "photo", replace_lines(known(camera)), SIZES)
    assert fit.lens == first.lens and worst_off(again, camera) < 0.03


def test_lines_that_no_lens_bends_so_are_refused() -> None:
    bow = np.column_stack((np.linspace(0, 841, 9), 580 - 500 * np.linspace(-1, 1, 9) ** 2))
    with pytest.raises(EditError, match="more than any lens"):
        solved(CAMERAS[0], bow)
