"""An engine that keeps what it computed gives the readings of one that never saw the design before."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import msgspec
import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from making import FEW, box, curved_designs, curved_outline, design_of, nodes, trainer

from core.design import Design, Mark, Outline
from core.design_file import decode, encode
from core.kinds import KINDS
from core.stability.readings import Readings, ReadingsEngine
from core.stability.side_area import SideAreaCounter

# What is cut lies on a grid of 1e-6 mm, and another order of cutting rounds other corners.
SAME = 1e-6
STATIONS = np.linspace(-400.0, 400.0, 161)


def strangers(design: Design) -> Design:
    """An equal design of which no part is the same object, so nothing kept can be used."""
    return decode(encode(design))


def gross(readings: Readings) -> float:
    """What errors are proportional to, in mm²: area with nothing taken away, and the edges."""
    pieces = [piece for tally in (readings.side.single, readings.side.doubled) for piece in tally]
    return 1.0 + sum(abs(w) * (p.moments.area + float(shapely.length(p.region))) for p, w in pieces)


def assert_same(kept: Readings, fresh: Readings) -> None:
    area = gross(fresh)
    for key in ("side_area", "fin_area"):
        assert (kept.value(key) or 0.0) == pytest.approx(fresh.value(key) or 0.0, abs=SAME * area), key
    assert tuple(kept.side.moments) == pytest.approx(tuple(fresh.side.moments), abs=SAME * 400 * area)
    assert tuple(kept.side.tail_moments) == pytest.approx(
        tuple(fresh.side.tail_moments), abs=SAME * 400 * area
    )
    # A centroid of next to nothing is next to undetermined; everything else to 1e-9 of the whole.
    if fresh.side.moments.area < 1e-3 * area or fresh.side.tail_moments.area < 1e-3 * area:
        return
    for key, reading in fresh.table.items():
        if reading.value is None:
            assert kept[key].missing == reading.missing, key
            continue
        arm = abs(fresh.value("tail_arm") or 0.0) if key == "cla_fraction" else 1.0
        scale = 1000 * max(1.0, 500 / max(arm, 1e-3) ** 2) if key == "cla_fraction" else 1e6
        assert kept.value(key) == pytest.approx(reading.value, rel=SAME, abs=SAME * scale), key


@dataclass
class Walk:
    """A design, the way it came, and the next step by a name and numbers."""

    design: Design
    past: list[Design] = field(default_factory=list)
    made: int = 0

    def _swap(self, at: int, **changes: Any) -> Design:
        outlines = list(self.design.outlines)
        outlines[at] = msgspec.structs.replace(outlines[at], **changes)
        return msgspec.structs.replace(self.design, outlines=tuple(outlines))

    def step(self, what: str, draw: st.DataObject) -> Design:
        self.past.append(self.design)
        outlines = self.design.outlines
        at = draw.draw(st.integers(0, len(outlines) - 1)) if outlines else 0
        if what == "undo":
            self.design = self.past[draw.draw(st.integers(0, len(self.past) - 1))]
        elif what == "add" or not outlines:
            self.made += 1
            new = Outline(
                f"new{self.made}",
                draw.draw(st.sampled_from(KINDS)),
                tuple(draw.draw(st.lists(nodes(), min_size=3, max_size=4))),
                count=draw.draw(st.integers(1, 3)),
            )
            self.design = msgspec.structs.replace(self.design, outlines=(*outlines, new))
        elif what == "move node":
            old = list(outlines[at].nodes)
            old[draw.draw(st.integers(0, len(old) - 1))] = draw.draw(nodes())
            self.design = self._swap(at, nodes=tuple(old))
        elif what == "delete":
            self.design = msgspec.structs.replace(
                self.design, outlines=tuple(o for i, o in enumerate(outlines) if i != at)
            )
        elif what == "reorder":
            order = draw.draw(st.permutations(outlines))
            self.design = msgspec.structs.replace(self.design, outlines=tuple(order))
        elif what == "count":
            self.design = self._swap(at, count=draw.draw(st.integers(1, 3)))
        elif what == "stance":
            self.design = self._swap(at, stance=draw.draw(st.sampled_from(("joined", "clear"))))
        elif what == "kind":
            self.design = self._swap(at, kind=draw.draw(st.sampled_from(KINDS)))
        elif what == "CG":
            self.design = msgspec.structs.replace(
                self.design, cg_mark=draw.draw(st.none() | st.builds(Mark, st.integers(-300, 300)))
            )
        elif what == "wings":
            wings = tuple(
                msgspec.structs.replace(w, in_side_area=not w.in_side_area) for w in self.design.wings
            )
            self.design = msgspec.structs.replace(self.design, wings=wings)
        return self.design


STEPS = st.lists(
    st.sampled_from(
        (
            "move node",
            "move node",
            "move node",
            "add",
            "delete",
            "reorder",
            "count",
            "stance",
            "kind",
            "CG",
            "wings",
            "undo",
        )
    ),
    min_size=3,
    max_size=10,
)


@FEW
@given(curved_designs(4), STEPS, st.data())
def test_a_walk_of_edits_reads_as_if_each_design_were_the_first(
    start: Design, steps: list[str], draw: st.DataObject
) -> None:
    engine = ReadingsEngine()
    walk = Walk(start)
    engine.read(start)
    for what in steps:
        design = walk.step(what, draw)
        kept, fresh = engine.read(design), ReadingsEngine().read(strangers(design))
        assert_same(kept, fresh)
        area = gross(fresh)
        for one, other in zip(kept.side.depths(STATIONS), fresh.side.depths(STATIONS), strict=True):
            assert one == pytest.approx(other, abs=SAME * area)
        counted = engine.counted_areas(design)
        assert counted == pytest.approx(ReadingsEngine().counted_areas(strangers(design)), abs=SAME * area)


def test_a_fin_dragged_out_of_the_body_and_back() -> None:
    """The ordinary drag, through every state: inside, half out, clear of it, and home again."""
    base = trainer()
    engine = ReadingsEngine()
    first = engine.read(base)
    for lift in (*range(0, 260, 20), *range(240, -1, -20)):
        fin = base.outline("fin")
        moved = msgspec.structs.replace(
            fin, nodes=tuple(msgspec.structs.replace(n, z=n.z + lift - 120) for n in fin.nodes)
        )
        design = msgspec.structs.replace(
            base, outlines=tuple(moved if o.id == "fin" else o for o in base.outlines)
        )
        assert_same(engine.read(design), ReadingsEngine().read(strangers(design)))
    again = engine.read(base)
    assert again.value("cla_fraction") == pytest.approx(first.value("cla_fraction"), rel=SAME)


def test_asking_for_counted_areas_does_not_disturb_the_readings() -> None:
    design = trainer()
    engine = ReadingsEngine()
    before = {k: r.value for k, r in engine.read(design).table.items()}
    engine.counted_areas(design)
    assert {k: r.value for k, r in engine.read(design).table.items()} == before


def test_one_outline_object_in_two_designs_with_other_surroundings() -> None:
    """What is kept for an outline must not carry over what surrounded it."""
    nacelle = box("n", "nacelle", 10, 5, 30, 15, count=2)
    body = box("b", "fuselage", 0, 0, 100, 20)
    half = box("b", "fuselage", 0, 0, 20, 20)
    counter = SideAreaCounter()
    areas = [
        counter.count(design_of(*outlines)).moments.area
        for outlines in (
            (body, nacelle),
            (nacelle,),
            (half, nacelle),
            (body, nacelle),
            (nacelle, half),
        )
    ]
    assert areas == pytest.approx([2000, 400, 400 + 200, 2000, 400 + 200])


def test_the_order_in_which_the_silhouette_is_taken_away_does_not_matter() -> None:
    joined = [curved_outline(f"b{i}", "fuselage", 60 * i, 10 * i, 120) for i in range(4)]
    pair = curved_outline("pair", "nacelle", 80, 30, 220, count=2)
    areas = []
    for turn in range(4):
        order = [*joined[turn:], *joined[:turn]]
        areas.append(SideAreaCounter().count(design_of(*order, pair)).doubled)
    expected = sum(p.moments.area * w for p, w in areas[0])
    assert expected > 1000
    for tally in areas[1:]:
        assert sum(p.moments.area * w for p, w in tally) == pytest.approx(expected, rel=1e-9)
