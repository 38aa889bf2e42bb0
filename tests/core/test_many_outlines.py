"""Many outlines on one another, and one that crosses itself everywhere: counted, or refused, in bounds.

What is bounded is counted in overlays and in pairs of edges, not in seconds. The areas are held against
rasters of rectangles on whole millimetres, which are counted cell by cell and share nothing with overlay.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from core.design import EMPTY, Design, Node, Outline
from core.geometry import crossings, overlay, regions
from core.geometry.alone import alone
from core.geometry.crossings import MOST_CROSSINGS, crossings_of, tangle_of
from core.geometry.patch import Patch
from core.geometry.regions import TangledError, region_of
from core.outline_form import form_of
from core.stability.readings import ReadingsEngine, outline_faults, recounted
from core.stability.recount import recount
from core.stability.side_area import SideAreaCounter

Box = tuple[int, int, int, int]


@pytest.fixture
def overlays(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[int]]:
    """The number of regions that went into each checked overlay, in order."""
    seen: list[int] = []
    checked = overlay._checked

    def counted(what: overlay.Operation, parts: list[shapely.Geometry], tries: list[overlay.Try]):  # type: ignore[no-untyped-def]
        seen.append(len(parts))
        return checked(what, parts, tries)

    monkeypatch.setattr(overlay, "_checked", counted)
    yield seen


def outline(i: int, corners: list[tuple[float, float]], count: int = 1, kind: str = "fuselage") -> Outline:
    return Outline(f"o-{i}", kind, tuple(Node(float(x), float(z)) for x, z in corners), count=count)  # type: ignore[arg-type]


def corners(box: Box) -> list[tuple[float, float]]:
    x0, z0, x1, z1 = box
    return [(x0, z0), (x1, z0), (x1, z1), (x0, z1)]


def drawn_boxes(number: int, seed: int) -> list[Box]:
    draw = np.random.default_rng(seed)
    found = []
    for _ in range(number):
        x, z = draw.integers(0, 180, 2)
        w, h = draw.integers(1, 25, 2)
        found.append((int(x), int(z), int(x + w), int(z + h)))
    return found + found[: number // 8]


def raster(boxes: list[Box]) -> np.ndarray:
    cells = np.zeros((210, 210), dtype=int)
    for x0, z0, x1, z1 in boxes:
        cells[z0:z1, x0:x1] += 1
    return cells


def star(points: int) -> np.ndarray:
    angle = 2 * np.pi * (points // 2) / points * np.arange(points)
    return np.stack((400 * np.cos(angle), 400 * np.sin(angle)), axis=1)


@pytest.mark.parametrize("seed", range(3))
def test_the_union_of_many_is_what_a_raster_counts(seed: int) -> None:
    boxes = drawn_boxes(150, seed)
    found = overlay.union(shapely.box(*box) for box in boxes)
    assert found.is_valid
    assert found.area == pytest.approx(np.count_nonzero(raster(boxes)), abs=1e-3)


@pytest.mark.parametrize("seed", range(3))
def test_what_each_of_many_covers_alone_is_what_a_raster_counts(seed: int) -> None:
    boxes = drawn_boxes(120, seed)
    cells = raster(boxes)
    found = alone([Patch(shapely.box(*box)) for box in boxes])
    wanted = [np.count_nonzero(cells[z0:z1, x0:x1] == 1) for x0, z0, x1, z1 in boxes]
    assert [shown.area for shown in found] == pytest.approx(wanted, abs=1e-3)
    assert alone([]) == [] and alone([Patch(overlay.NOTHING)])[0].is_empty


@pytest.mark.parametrize("seed", range(2))
def test_many_joined_outlines_and_pairs_count_and_lose_what_a_raster_says(seed: int) -> None:
    boxes = drawn_boxes(60, seed)
    half = len(boxes) // 2
    body, pairs = boxes[:half], boxes[half:]
    design = replace(EMPTY, outlines=tuple(
        outline(i, corners(box), 1 if i < half else 2) for i, box in enumerate(boxes)
    ))
    counter = SideAreaCounter()

    def counts(body: list[Box], pairs: list[Box]) -> int:
        hull, twice = raster(body) > 0, raster(pairs) > 0
        return int(hull.sum() + 2 * (twice & ~hull).sum())

    whole = counts(body, pairs)
    assert counter.count(design).moments.area == pytest.approx(whole, abs=1e-3)
    wanted = [whole - counts(body[:i] + body[i + 1 :], pairs) for i in range(half)]
    wanted += [whole - counts(body, pairs[:i] + pairs[i + 1 :]) for i in range(len(pairs))]
    assert list(counter.counted_areas(design).values()) == pytest.approx(wanted, abs=1e-3)


def copies(number: int) -> Design:
    angle = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    ring = np.stack((500 * np.cos(angle), 90 * np.sin(angle)), axis=1)
    apart = np.array((1.3, 0.7))
    return replace(EMPTY, outlines=tuple(outline(i, list(ring + apart * i)) for i in range(number)))


def test_overlapping_copies_take_overlays_in_proportion_to_their_number(overlays: list[int]) -> None:
    counter = SideAreaCounter()
    counter.count(copies(200))
    assert len(overlays) < 200 and max(overlays) <= 4
    overlays.clear()
    counter.counted_areas(copies(200))
    assert len(overlays) < 8 * 200


def test_equal_copies_are_one_before_anything_is_overlaid(overlays: list[int]) -> None:
    ring = [(0.0, 0.0), (100.0, 0.0), (60.0, 40.0)]
    design = replace(EMPTY, outlines=tuple(outline(i, ring) for i in range(100)))
    counter = SideAreaCounter()
    assert counter.count(design).moments.area == pytest.approx(2000.0)
    assert set(counter.counted_areas(design).values()) == {0.0}
    assert overlays == []


def test_another_unit_counts_nothing_anew(overlays: list[int]) -> None:
    engine, design = ReadingsEngine(), copies(60)
    engine.read(design)
    engine.counted_areas(design)
    overlays.clear()
    for units in ("in", "in64", "mm"):
        shown = replace(design, display_units=units)
        engine.read(shown)
        engine.counted_areas(shown)
    assert overlays == []


def test_an_outline_that_crosses_itself_everywhere_is_refused_by_name_before_any_overlay(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(regions, "faces", lambda *_: pytest.fail("filled all the same"))
    tangle = outline(0, list(star(401)))
    design = replace(EMPTY, outlines=(
        replace(tangle, label="Star"), outline(1, [(900, 0), (1000, 0), (1000, 50)]),
    ))
    form = form_of(design.outlines[0])
    assert form.tangled and form.patch.moments.area == 0.0
    readings = ReadingsEngine().read(design)
    why = readings["side_area"].missing
    assert why is not None
    assert why.startswith('"Star" crosses itself at more than 1000 places, one of them near x ')
    assert why.endswith("cannot be counted; trace it again or delete it")
    assert readings.value("side_area") is None and readings.value("cla_x") is None
    assert sum('"Star": crosses itself at more than' in sentence for sentence in outline_faults(design)) == 1


def test_the_place_of_a_tangle_is_one_where_it_crosses_itself() -> None:
    ring = star(101)
    at = tangle_of(ring)
    assert at is not None
    edges = shapely.linestrings(np.stack((ring, np.roll(ring, -1, axis=0)), axis=1))
    assert np.count_nonzero(shapely.distance(edges, shapely.Point(at.x, at.z)) < 1e-6) >= 2


def test_as_many_crossings_as_are_allowed_are_counted() -> None:
    # A star of n points, n odd, crosses itself at n (n - 3) / 2 places.
    assert 45 * 42 // 2 <= MOST_CROSSINGS < 47 * 44 // 2
    assert tangle_of(star(45)) is None and region_of(star(45)).area > 0.0
    with pytest.raises(TangledError):
        region_of(star(47))


def test_crossings_are_looked_for_in_portions_and_no_further_than_wanted() -> None:
    ring = star(2001)
    found = crossings_of(ring, most=20)
    assert len(found) == 20
    for first, second in crossings._near(ring, np.roll(ring, -1, axis=0)):
        # Two million crossings in all.
        assert len(first) == len(second) <= 2 * crossings._PAIRS_AT_ONCE


def test_the_second_count_ends_within_its_bound_of_work_and_still_agrees(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    design = copies(40)
    readings = ReadingsEngine().read(design)
    whole = recount(design)
    monkeypatch.setattr("core.stability.recount._MOST_EDGES", 20_000)
    little = recount(design)
    # Less work tells less, and says so.
    assert little.side_bound > whole.side_bound
    assert abs(little.side.area - whole.side.area) <= little.side_bound + whole.side_bound
    assert recounted(readings, design) is None


@pytest.mark.parametrize("seed", range(4))
def test_edges_that_end_inside_a_strip_do_not_reach_into_the_next(
    seed: int, monkeypatch: pytest.MonkeyPatch,
) -> None:
    """More corners than strips: what the second count is off by stays within what it says of itself."""
    draw = np.random.default_rng(seed)
    angle = np.linspace(0, 2 * np.pi, 400, endpoint=False)
    ring = np.stack((500 * np.cos(angle), 200 * np.sin(2 * angle) + draw.uniform(-40, 40, 400)), axis=1)
    design = replace(EMPTY, outlines=(outline(0, [(float(x), float(z)) for x, z in ring]),))
    area = ReadingsEngine().read(design).value("side_area")
    for strips in (7, 60, 300):
        monkeypatch.setattr("core.stability.recount._MOST_STRIPS", strips)
        found = recount(design)
        assert abs(found.side.area - area) <= found.side_bound + 1e-6 * area
        assert found.side_bound < 0.05 * area
