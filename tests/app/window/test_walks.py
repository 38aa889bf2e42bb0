"""Random walks: a person at the bench does anything in any order, and everything can be taken back."""

from __future__ import annotations

import contextlib
import math

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule
from msgspec.structs import replace
from plain_bench import Person, PlainBench, Point, small_aeroplane

from app.canvas.tools.edit import EditHand, grip_offset, scale_grip
from app.canvas.tools.hand import ARROWS, Hand
from app.canvas.tools.points import CgHand, DatumHand, LevelHand, ScaleHand
from app.canvas.tools.trace import TraceHand
from app.work.document import Document
from app.work.selection import NOTHING, Selection
from core.design import Design, Weight
from core.design_check import problems
from core.design_file import decode, encode
from core.kinds import KINDS
from core.redesign import design_edits, scan_edits
from core.redesign.outline_edits import EditError
from core.stability.readings import Readings, ReadingsEngine

SAME = 1e-8

steps = st.integers(-60, 60)
shares = st.integers(0, 7)
spots = st.tuples(st.integers(-100, 1000).map(float), st.integers(-250, 350).map(float))
keys_held = st.fixed_dictionaries({}, optional={k: st.just(True) for k in ("shift", "ctrl", "alt")})
endings = st.sampled_from((*["release"] * 3, "Escape", "undo", "Right", "another hand", "lost"))


class AtTheBench(RuleBasedStateMachine):
    """Hands, lists and menus over one document; the readings follow step by step."""

    def __init__(self) -> None:
        super().__init__()
        start = replace(small_aeroplane(), weights=(Weight("battery", 185, 90, 0, 5),))
        self.bench = PlainBench(start)
        self.bench.scan_sizes = {"plan": (2000.0, 1200.0)}
        self.first = encode(start)
        self.engine = ReadingsEngine()
        # As the window does it: read at every change, previews too.
        self.bench.document.listen(lambda _: self.engine.read(self.bench.design))
        kinds = (EditHand, TraceHand, ScaleHand, LevelHand, DatumHand, CgHand)
        self.hands: dict[str, Hand] = {kind.name: kind(self.bench) for kind in kinds}

    def person(self, name: str) -> Person:
        return Person(self.hands[name])

    @property
    def document(self) -> Document:
        return self.bench.document

    def some_outline(self, share: int) -> str | None:
        outlines = self.bench.design.outlines
        return outlines[share % len(outlines)].id if outlines else None

    # The editing hand

    def target(self, what: str, which: int, corner: int) -> Point | None:
        """A point in mm where there is something of that sort to take hold of."""
        design = self.bench.design
        if what == "mark":
            return (design.cg_mark.x, design.cg_mark.z) if design.cg_mark else None
        if what == "grip":
            corner_mm = scale_grip(design, self.bench.selection)
            if corner_mm is None:
                return None
            return self.bench.view.to_mm(*grip_offset(*self.bench.view.to_px(*corner_mm)))
        if not design.outlines:
            return None
        outline = design.outlines[which % len(design.outlines)]
        count = len(outline.nodes)
        node, after = outline.nodes[corner % count], outline.nodes[(corner + 1) % count]
        if what == "node":
            return node.x, node.z
        if what == "handle":
            self.bench.select(Selection((outline.id,)))
            out = node.handle_out or (0.0, 0.0)
            return node.x + out[0], node.z + out[1]
        if what == "edge":
            # The middle of the cubic, which for a straight edge is its middle.
            out, into = node.handle_out or (0, 0), after.handle_in or (0, 0)
            return (
                (node.x + 3 * (node.x + out[0]) + 3 * (after.x + into[0]) + after.x) / 8,
                (node.z + 3 * (node.z + out[1]) + 3 * (after.z + into[1]) + after.z) / 8,
            )
        return sum(n.x for n in outline.nodes) / count, sum(n.z for n in outline.nodes) / count

    @rule(
        what=st.sampled_from(("node", "edge", "edge", "handle", "body", "grip", "mark")), which=shares,
        corner=shares, dx=steps, dz=steps, held=keys_held, ending=endings,
    )
    def drag(
        self, what: str, which: int, corner: int, dx: int, dz: int, held: dict[str, bool], ending: str
    ) -> None:
        start = self.target(what, which, corner)
        if start is None:
            return
        person, before = self.person("edit"), self.document.committed
        person.press(start, **held)
        for k in (1, 2, 3):
            person.pull((start[0] + dx * k / 3, start[1] + dz * k / 3), **held)
        if ending == "undo":
            person.hand.undo() or self.document.undo()
        elif ending == "another hand":
            person.hand.leave()
        elif ending in ("Escape", "Right"):
            person.hand.key(ending)
        if ending == "lost":
            # The button came up over another window; the next press must find the hand free.
            person.click((-5000.0, -5000.0))
        end = (start[0] + dx * 1.2, start[1] + dz * 1.2)
        person.pull(end, **held)
        person.release(end, **held)
        assert not person.hand.busy and not self.document.busy
        if ending in ("Escape", "undo", "another hand"):
            assert self.document.design is before

    @rule(start=spots, end=spots, held=keys_held)
    def drag_anywhere(self, start: Point, end: Point, held: dict[str, bool]) -> None:
        self.person("edit").drag(start, end, **held)

    @rule(what=st.sampled_from(("node", "edge", "body")), which=shares, corner=shares)
    def double_click(self, what: str, which: int, corner: int) -> None:
        point = self.target(what, which, corner)
        if point is not None:
            self.person("edit").double_click(point)

    @rule(
        keys=st.lists(st.sampled_from((*ARROWS, "Delete", "Backspace", "Escape")), min_size=1, max_size=4),
        shift=st.booleans(),
    )
    def key(self, keys: list[str], shift: bool) -> None:
        for key in keys:
            self.hands["edit"].key(key, shift=shift)
        # As the canvas does before anything else is done.
        self.hands["edit"].settle()

    @rule(picks=st.sets(shares, max_size=2), nodes=st.sets(st.tuples(shares, shares), max_size=3))
    def select_in_the_list(self, picks: set[int], nodes: set[tuple[int, int]]) -> None:
        outlines = self.bench.design.outlines
        if not outlines:
            return
        chosen = {
            (outlines[a % len(outlines)].id, b % len(outlines[a % len(outlines)].nodes)) for a, b in nodes
        }
        owners = {outlines[p % len(outlines)].id for p in picks} | {owner for owner, _ in chosen}
        self.bench.select(Selection(tuple(sorted(owners)), frozenset(chosen)) if owners else NOTHING)

    # The other hands

    @rule(
        points=st.lists(st.tuples(spots, st.none() | st.tuples(steps, steps)), min_size=1, max_size=6),
        kind=st.sampled_from(KINDS), undone=st.integers(0, 3), redone=st.integers(0, 3),
        ending=st.sampled_from(("Return", "Return", "first node", "double click", "Escape")),
    )
    def trace(self, points: list, kind: str, undone: int, redone: int, ending: str) -> None:
        self.bench.tracing_kind = kind  # type: ignore[assignment]
        person, before = self.person("trace"), len(self.bench.design.outlines)
        for place, pull in points:
            if pull is None:
                person.click(place)
            else:
                person.drag(place, (place[0] + pull[0], place[1] + pull[1]))
        for _ in range(undone):
            if person.hand.busy:
                person.hand.undo()
        for _ in range(redone):
            person.hand.redo()
        if ending == "first node" and person.hand.overlay().draft_nodes:
            person.click(person.hand.overlay().draft_nodes[0])
        elif ending == "double click":
            person.double_click((400.0, 300.0))
        elif person.hand.busy:
            person.hand.key(ending)
        person.hand.leave()
        assert len(self.bench.design.outlines) - before in ((0,) if ending == "Escape" else (0, 1))

    @rule(
        name=st.sampled_from(("scale", "level", "datum", "cg")), one=spots, other=spots,
        times=st.floats(0.7, 1.5),
    )
    def point(self, name: str, one: Point, other: Point, times: float) -> None:
        person = self.person(name)
        person.click(one)
        if name in ("scale", "level"):
            person.click(other)
        if isinstance(person.hand, ScaleHand):
            with contextlib.suppress(EditError):
                person.hand.finish(times * math.dist(one, other))
        person.hand.leave()

    # Lists and menus

    @rule(share=shares, fields=st.sampled_from((
        {"count": 2}, {"count": 1}, {"stance": "clear"}, {"stance": None}, {"kind": "rudder"},
        {"locked": True}, {"locked": False}, {"hidden": True}, {"hidden": False}, {"grams_per_dm2": 12.0},
    )))
    def change_in_the_list(self, share: int, fields: dict[str, object]) -> None:
        part_id = self.some_outline(share)
        self.document.apply(
            "change outline",
            lambda d: design_edits.change_outlines(d, [part_id] if part_id else [], **fields),
        )

    @precondition(lambda self: 0 < len(self.bench.design.outlines) < 12)
    @rule(share=shares, dx=steps, dz=steps, index=st.integers(-2, 12))
    def paste_and_reorder(self, share: int, dx: int, dz: int, index: int) -> None:
        def edit(design: Design) -> Design:
            copied = design.outlines[share % len(design.outlines)]
            pasted, ids = design_edits.paste_outlines(design, [copied], dx, dz)
            return design_edits.move_outline(pasted, ids[0], index)

        self.document.apply("paste", edit)

    @rule(
        which=st.sampled_from(
            ("mirror", "turn", "move", "aim", "inches", "weights", "delete", "surfaces")
        ),
        share=shares,
    )
    def menu(self, which: str, share: int) -> None:
        sizes = self.bench.scan_sizes
        edits = {
            "mirror": lambda d: scan_edits.mirror_scan(d, "plan", sizes),
            "turn": lambda d: scan_edits.turn_quarter(d, "plan", share, sizes),
            "move": lambda d: scan_edits.move_scan(d, "plan", share, -share),
            "aim": lambda d: design_edits.set_aim(d, 0.3, share / 20, 0.1),
            "inches": lambda d: replace(d, display_units=("mm", "in", "in64")[share % 3]),
            "weights": lambda d: replace(d, cg_from="weights" if share % 2 else "mark"),
            "delete": lambda d: design_edits.delete_outlines(d, [self.some_outline(share) or ""]),
            "surfaces": lambda d: replace(
                d, wings=tuple(replace(w, in_side_area=share > 3) for w in d.wings)
            ),
        }
        self.document.apply(which, edits[which])

    @rule(times=st.integers(1, 4), way=st.sampled_from(("undo", "redo", "undo, redo")))
    def go_back(self, times: int, way: str) -> None:
        for step in way.split(", "):
            for _ in range(times):
                getattr(self.document, step)("menu")

    @rule(factor=st.sampled_from((0.3, 0.8, 1.25, 3.0)), px=st.integers(0, 900), dpx=steps)
    def look_elsewhere(self, factor: float, px: int, dpx: int) -> None:
        view = self.bench.view.zoomed(factor, px, 300).panned(dpx, -dpx)
        if 0.1 < view.scale < 20:
            self.bench.view = view

    # What always holds

    @invariant()
    def the_design_can_be_saved(self) -> None:
        assert problems(self.document.design) == []
        assert self.document.design is self.document.committed

    @invariant()
    def the_readings_are_those_of_an_engine_that_never_saw_it_before(self) -> None:
        design = self.document.design
        assert_same(self.engine.read(design), ReadingsEngine().read(decode(encode(design))))

    @invariant()
    def what_is_selected_is_there(self) -> None:
        assert self.bench.selection == self.bench.selection.within(self.bench.design)

    def teardown(self) -> None:
        """All the way back gives the first bytes, all the way on the last ones."""
        document = self.document
        while document.redo_name is not None:
            document.redo()
        last = encode(document.design)
        names = 0
        while document.undo_name is not None:
            document.undo()
            names += 1
        assert encode(document.design) == self.first and not document.dirty
        while document.redo_name is not None:
            document.redo()
            names -= 1
        assert encode(document.design) == last and names == 0


def assert_same(kept: Readings, fresh: Readings) -> None:
    """Equal to 1e-8 of the whole: of all area counted, before anything was taken away from it."""
    side = fresh.side
    area = 1.0 + sum(abs(w) * p.moments.area for tally in (side.single, side.doubled) for p, w in tally)
    reach = 1000.0
    for one, other in ((kept.side.moments, side.moments), (kept.side.tail_moments, side.tail_moments)):
        assert one.area == pytest.approx(other.area, rel=SAME, abs=SAME * area)
        assert tuple(one)[1:] == pytest.approx(tuple(other)[1:], rel=SAME, abs=SAME * area * reach)
    # A centroid of next to nothing is next to undetermined, and so is a part of next to no arm.
    if min(side.moments.area, side.tail_moments.area) < 1e-3 * area:
        return
    for key, reading in fresh.table.items():
        assert (kept[key].missing, kept[key].verdict) == (reading.missing, reading.verdict), key
        if reading.value is not None and (key != "cla_fraction" or (fresh.value("tail_arm") or 0) > 1):
            assert kept.value(key) == pytest.approx(reading.value, rel=SAME, abs=SAME * reach), key


TestAtTheBench = AtTheBench.TestCase
TestAtTheBench.settings = settings(max_examples=20, stateful_step_count=28)
