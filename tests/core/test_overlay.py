"""The one door for overlay: what shares edges but for the last bits, and what a wrong result does."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
import shapely
from hinges import split_pair
from hypothesis import given
from hypothesis import settings as run
from hypothesis import strategies as st
from shapely.geometry.base import BaseGeometry

from core.geometry import overlay
from core.geometry.overlay import (
    COARSER,
    NOTHING,
    OverlayError,
    common,
    holds,
    lines_in,
    union,
    without,
)

ROOT = Path(__file__).resolve().parents[2]
DOOR = ROOT / "core" / "geometry" / "overlay.py"
_CALL = re.compile(
    r"(\bshapely\.|\bops\.|\w\.)(union|union_all|unary_union|intersection|difference|symmetric_difference"
    r"|make_valid|polygonize|intersection_all|coverage_union_all|clip_by_rect|node)\("
)


def test_nothing_outside_the_door_overlays() -> None:
    """Sets of Python have such methods too: those take no geometry and are named here."""
    found = []
    for room in ("core", "app"):
        for path in (ROOT / room).rglob("*.py"):
            for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
                if path != DOOR and _CALL.search(line):
                    found.append(f"{path.relative_to(ROOT)}:{number}: {line.strip()}")
    assert found == []


@run(max_examples=1000)
@given(st.integers(0, 2**32 - 1))
def test_two_parts_that_share_a_chain_but_for_some_bits(seed: int) -> None:
    one, other = split_pair(np.random.default_rng(seed))
    if not (one.is_valid and other.is_valid):
        return
    slack = 4 * COARSER * (one.length + other.length)
    assert abs(union((one, other)).area - one.area - other.area) <= slack
    assert common(one, other).area <= slack
    assert abs(without(one, other).area - one.area) <= slack
    assert abs(without(other, one).area - other.area) <= slack


def test_coordinates_at_the_limit_of_the_format() -> None:
    one, other = shapely.box(999_000, 999_000, 999_600, 999_500), shapely.box(999_500, 999_100, 1e6, 1e6)
    assert common(one, other).area == pytest.approx(100 * 400, abs=1e-3)
    assert union((one, other)).area == pytest.approx(600 * 500 + 500 * 900 - 100 * 400, abs=1e-3)


def test_the_check_finds_lost_and_invented_parts() -> None:
    body, fin = shapely.box(0, 0, 900, 80), shapely.box(700, 80, 800, 200)
    rudder = shapely.box(800, 60, 860, 200)
    whole = shapely.union_all((body, fin, rudder))
    assert holds("union", (body, fin, rudder), whole)
    assert not holds("union", (body, fin, rudder), shapely.union(body, fin))
    assert not holds("union", (body, fin, rudder), shapely.union(body, rudder))
    assert not holds("union", (body, fin), NOTHING)
    assert holds("common", (body, rudder), shapely.box(800, 60, 860, 80))
    assert not holds("common", (body, rudder), rudder)
    assert not holds("common", (fin, rudder), rudder)
    assert not holds("common", (body, rudder), NOTHING)
    assert holds("without", (rudder, body), shapely.box(800, 80, 860, 200))
    assert not holds("without", (rudder, body), rudder)
    assert not holds("without", (rudder, body), NOTHING)


def test_slivers_thinner_than_the_grid_may_vanish() -> None:
    sliver = shapely.Polygon(((0, 0), (100, 1e-9), (50, 3e-9)))
    assert common(sliver, shapely.box(-1, -1, 200, 1)).is_empty
    assert union((sliver, sliver)).area < 1e-6


def test_a_wrong_result_is_overlaid_again(monkeypatch: pytest.MonkeyPatch) -> None:
    one, other = shapely.box(0, 0, 10, 10), shapely.box(5, 0, 20, 10)
    true = shapely.intersection

    def loses(a: BaseGeometry, b: BaseGeometry, grid_size: float) -> BaseGeometry:
        return a if grid_size < COARSER else true(a, b, grid_size=grid_size)

    monkeypatch.setattr(overlay.shapely, "intersection", loses)
    assert common(one, other).area == pytest.approx(50)


def test_faces_are_the_last_way(monkeypatch: pytest.MonkeyPatch) -> None:
    one, other = shapely.box(0, 0, 10, 10), shapely.box(5, 0, 20, 10)
    for name in ("intersection", "difference"):
        monkeypatch.setattr(overlay.shapely, name, lambda a, b, grid_size: a.buffer(50))
    assert common(one, other).area == pytest.approx(50)
    assert without(one, other).area == pytest.approx(50)


def test_what_no_way_can_do_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(overlay, "holds", lambda *_: False)
    for work in (
        lambda: union((shapely.box(0, 0, 1, 1), shapely.box(2, 0, 3, 1))),
        lambda: common(shapely.box(0, 0, 1, 1), shapely.box(0, 0, 2, 1)),
        lambda: without(shapely.box(0, 0, 1, 1), shapely.box(0, 0, 2, 1)),
    ):
        with pytest.raises(OverlayError, match="cannot be told"):
            work()


def test_lines_in_a_region() -> None:
    line = shapely.LineString(((-5, 1), (25, 1)))
    region = shapely.union(shapely.box(0, 0, 10, 10), shapely.box(15, 0, 20, 10))
    assert lines_in(line, region).length == pytest.approx(15)
    assert lines_in(line, NOTHING).is_empty
