"""What counts to either side of an outline's edge: many outlines at once against one place after another."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from core.design import Outline
from core.kinds import VERTICAL_TAIL
from core.stability import counted_edges
from core.stability.counted_edges import Edges, jumps, sampled
from core.stability.side_area import MANY, OutlineForm, form_of
from tests.core.making import curved_outline, traced

OFFSET = 0.4


def drawn(number: int, seed: int) -> list[Outline]:
    """So many outlines on one another, of all kinds, counts and stances; some cross themselves."""
    draw = np.random.default_rng(seed)
    found: list[Outline] = []
    for i in range(number):
        x, z, across = draw.uniform(0, 300), draw.uniform(0, 200), draw.uniform(10, 200)
        of = {
            "count": int(draw.integers(1, 4)),
            "stance": [None, "joined", "clear"][int(draw.integers(3))],
        }
        kind = ["fuselage", "fin", "rudder", "canopy", "wheel"][int(draw.integers(5))]
        if i % 5 == 4:
            outline = traced(f"o{i}", kind, draw.uniform(0, 300, (6, 2)).tolist(), **of)
        elif i % 7 == 6:
            outline = Outline(f"o{i}", kind, found[-1].nodes, **of)  # type: ignore[arg-type]
        else:
            outline = curved_outline(f"o{i}", kind, x, z, across, **of)
        found.append(outline)
    return found


def one_by_one(outlines: list[Outline], forms: list[OutlineForm], edges: list[Edges]) -> np.ndarray:
    """(2, P) the same by the rule's own words, each place against each region by the library."""
    found = []
    for i, some in enumerate(edges):
        for place, unit in zip(some.points, some.unit, strict=True):
            gain = np.zeros(2)
            for moved in (place - OFFSET * unit, place + OFFSET * unit):
                point = shapely.Point(moved)
                inside = [bool(form.patch.region.contains(point)) for form in forms]
                gain += counts(outlines, [*inside[:i], True, *inside[i + 1:]])
                gain -= counts(outlines, [*inside[:i], False, *inside[i + 1:]])
            found.append(0.5 * gain)
    return np.array(found).T


def counts(outlines: list[Outline], inside: list[bool]) -> tuple[int, int]:
    here = [o for o, is_in in zip(outlines, inside, strict=True) if is_in]
    single = [o for o in here if o.count == 1 and o.standing == "joined"]
    side, tail = int(bool(single)), 0
    for count in {o.count for o in here}:
        same = [o for o in here if o.count == count]
        if any(o.standing == "clear" or (count > 1 and not single) for o in same):
            side += count
        bare = all(o.kind in VERTICAL_TAIL for o in single)
        if any(o.kind in VERTICAL_TAIL and (o.standing == "clear" or bare) for o in same):
            tail += count
    return side, tail


@pytest.mark.parametrize(("number", "seed"), ((3, 0), (MANY, 1), (MANY + 1, 2), (30, 3), (45, 4)))
def test_jumps_are_told_as_one_by_one(number: int, seed: int) -> None:
    outlines = drawn(number, seed)
    forms = [form_of(o) for o in outlines]
    edges = [sampled(form) for form in forms]
    found = np.array(jumps(outlines, [f.patch for f in forms], edges, OFFSET))
    assert np.array_equal(found, one_by_one(outlines, forms, edges))
    assert len(np.unique(found[0])) > 2 and found[1].any()


def test_by_pairs_and_all_at_once_is_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    outlines = drawn(40, 9)
    patches, edges = zip(*((form_of(o).patch, sampled(form_of(o))) for o in outlines), strict=True)
    at_once = jumps(outlines, patches, edges, OFFSET)
    monkeypatch.setattr(counted_edges, "MANY", 40)
    by_pairs = jumps(outlines, patches, edges, OFFSET)
    assert np.array_equal(at_once, by_pairs)


def test_of_many_each_is_asked_once(monkeypatch: pytest.MonkeyPatch) -> None:
    outlines = drawn(60, 5)
    patches, edges = zip(*((form_of(o).patch, sampled(form_of(o))) for o in outlines), strict=True)
    asked: list[int] = []
    contains = counted_edges._contains

    def counted(patch, points):  # type: ignore[no-untyped-def]
        asked.append(len(points))
        return contains(patch, points)

    monkeypatch.setattr(counted_edges, "_contains", counted)
    jumps(outlines, patches, edges, OFFSET)
    samples = sum(len(e.points) for e in edges)
    # One by one it would be 60 * 59 questions, and each place asked of every outline round it.
    assert len(asked) <= 60 and sum(asked) < 2 * samples * 20


def test_an_outline_of_ever_so_many_long_edges_is_sampled_in_bounds() -> None:
    number = 60_000
    teeth = [(float(k), 900.0 * (k % 2)) for k in range(number)]
    form = form_of(traced("o", "fuselage", [*teeth, (number, -50.0), (-1.0, -50.0)]))
    assert len(sampled(form).points) <= 5 * 110_000


@pytest.mark.parametrize("upright", [True, False])
def test_a_comb_is_asked_across_its_teeth(upright: bool) -> None:
    """The same as asking the region itself, place by place; along the teeth it took half a minute."""
    teeth = [(0.05 * k, 100.0 * (k % 2)) for k in range(4_000)]
    places = [*teeth, (250.0, 100.0), (250.0, -20.0), (0.0, -20.0)]
    patch = form_of(traced("comb", "fuselage", places if upright else [(z, x) for x, z in places])).patch
    points = np.random.default_rng(5).uniform(-30, 260, (400, 2))
    region, turned = counted_edges._asked(patch)
    assert turned is upright and shapely.area(region) == pytest.approx(patch.moments.area, rel=1e-12)
    inside = [bool(patch.region.contains(shapely.Point(*place))) for place in points]
    assert counted_edges._contains(patch, points).tolist() == inside
    assert 50 < sum(inside) < 350
