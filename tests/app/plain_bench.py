"""A bench without a screen, and a person at it: real document, real selection, plain mouse events."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from msgspec.structs import replace

from app.canvas.tools.edit import EditHand
from app.canvas.tools.grip import grip_offset, scale_grip
from app.canvas.tools.hand import Hand, Pointer
from app.canvas.tools.inking import (
    Fit,
    Fitted,
    Found,
    InkService,
    NoWay,
    Round,
    Rounded,
    Stretch,
    Trail,
    Way,
    WholeFound,
)
from app.canvas.view import View
from app.scans.lying_sheet import FoundSheet
from app.work.document import Change, Document
from app.work.selection import Picked, Selection
from core.design import EMPTY, Design, Mark, Node, Outline, Scan, Station, Tailplane, Wing
from core.ink.pulling import Pull
from core.kinds import Kind
from core.redesign.scan_edits import Size

Point = tuple[float, float]


class PlainBench:
    """What the hands may reach; ``said``, ``closed`` and ``taken`` keep what they told."""

    def __init__(self, design: Design = EMPTY, view: View | None = None) -> None:
        self.document = Document(design)
        self.picked = Picked()
        self.view = view or View(1.0, -100.0, 400.0)
        self.scan_sizes: dict[str, Size] = {}
        self.sheets: dict[str, FoundSheet] = {}
        self.tracing_kind: Kind = "fin"
        self.ink: InkService | None = None
        self.said: list[str] = []
        self.closed: list[str] = []
        self.taken: list[str] = []
        self.changes: list[Change] = []
        self.document.listen(self._changed)

    def _changed(self, change: Change) -> None:
        self.changes.append(change)
        if change.what != "preview":
            self.picked.set(self.picked.now.within(self.document.design))

    @property
    def design(self) -> Design:
        return self.document.design

    @property
    def busy(self) -> bool:
        return self.document.busy

    def sheet_of(self, scan_id: str) -> FoundSheet | None:
        return self.sheets.get(scan_id)

    @property
    def selection(self) -> Selection:
        return self.picked.now

    def select(self, selection: Selection) -> None:
        self.picked.set(selection)

    def begin(self, name: str, *, lasting: bool = False) -> None:
        self.document.begin(name, lasting=lasting)

    def preview(self, design: Design) -> None:
        self.document.preview(design, "canvas")

    def commit(self) -> None:
        self.document.commit("canvas")

    def abort(self) -> None:
        self.document.abort("canvas")

    def apply(self, name: str, edit: Callable[[Design], Design]) -> None:
        self.document.apply(name, edit, "canvas")

    def say(self, sentence: str) -> None:
        self.said.append(sentence)

    def tell(self, sentence: str) -> None:
        self.said.append(sentence)

    def shift_view(self, dx: float, dz: float) -> None:
        self.view = View(self.view.scale, self.view.x - dx, self.view.z - dz)

    def traced(self, outline_id: str) -> None:
        self.closed.append(outline_id)

    def take_hand(self, name: str) -> None:
        self.taken.append(name)


class Person:
    """Uses one hand at a bench as a canvas would pass it on; points are in mm."""

    def __init__(self, hand: Hand) -> None:
        self.hand = hand

    def at(self, point: Point, **keys: bool) -> Pointer:
        """The pointer over a point in mm."""
        px, py = self.hand.bench.view.to_px(*point)
        return Pointer(*point, px, py, **keys)

    def hover(self, point: Point, **keys: bool) -> None:
        self.hand.move(self.at(point, **keys), False)

    def press(self, point: Point, **keys: bool) -> None:
        self.hand.press(self.at(point, **keys))

    def pull(self, point: Point, **keys: bool) -> None:
        """Move with the button down."""
        self.hand.move(self.at(point, **keys), True)

    def release(self, point: Point, **keys: bool) -> None:
        self.hand.release(self.at(point, **keys))

    def click(self, point: Point, **keys: bool) -> None:
        self.hover(point, **keys)
        self.press(point, **keys)
        self.release(point, **keys)

    def clicks(self, points: Sequence[Point]) -> None:
        for point in points:
            self.click(point)

    def double_click(self, point: Point) -> None:
        """As toolkits send it: the second press comes as the double click."""
        self.click(point)
        self.hand.double(self.at(point))
        self.release(point)

    def drag(self, start: Point, end: Point, **keys: bool) -> None:
        """Press, three moves, release."""
        self.press(start, **keys)
        for k in (1, 2, 3):
            dx, dz = (end[0] - start[0]) * k / 3, (end[1] - start[1]) * k / 3
            self.pull(end if k == 3 else (start[0] + dx, start[1] + dz), **keys)
        self.release(end, **keys)


def traced(part_id: str, kind: Any, corners: Sequence[Point], **more: Any) -> Outline:
    """A straight-edged outline through ``corners`` (x, z) in mm."""
    return Outline(part_id, kind, tuple(Node(float(x), float(z)) for x, z in corners), **more)


def box(part_id: str, kind: Any, x0: float, z0: float, x1: float, z1: float, **more: Any) -> Outline:
    """A rectangle between two opposite corners, in mm."""
    return traced(part_id, kind, ((x0, z0), (x1, z0), (x1, z1), (x0, z1)), **more)


def curved_outline(part_id: str, kind: Any, x: float, z: float, across: float, **more: Any) -> Outline:
    """Four nodes and four curves round (x, z), nearly an ellipse ``across`` mm long and half as high."""
    a, b, k = across / 2, across / 4, 0.55
    nodes = (
        Node(x + a, z, (0.0, -k * b), (0.0, k * b)),
        Node(x, z + b, (k * a, 0.0), (-k * a, 0.0)),
        Node(x - a, z, (0.0, k * b), (0.0, -k * b)),
        Node(x, z - b, (-k * a, 0.0), (k * a, 0.0)),
    )
    return Outline(part_id, kind, nodes, **more)


def small_aeroplane() -> Design:
    """Fuselage, fin, rudder, wing, tailplane, CG mark and one scan, in round millimetres."""
    return Design(
        format=1, title="A test",
        scans=(Scan("plan", "plan.png", to_mm=((0.5, 0, -50.0), (0, -0.5, 350.0), (0, 0, 1))),),
        outlines=(
            curved_outline("fuselage", "fuselage", 400, 0, 800),
            box("fin", "fin", 650, 60, 720, 160),
            box("rudder", "rudder", 730, 60, 770, 160),
        ),
        wings=(Wing("wing", (Station(0, 250, 200, 70), Station(600, 260, 170, 90))),),
        tailplanes=(Tailplane("tailplane", (Station(0, 690, 90, 40), Station(200, 700, 70, 40))),),
        cg_mark=Mark(300, 10),
    )


def editing(design: Design | None = None, **more: object) -> tuple[PlainBench, Person]:
    bench = PlainBench(replace(design or small_aeroplane(), **more))
    return bench, Person(EditHand(bench))


def changed(bench: PlainBench, part_id: str, **fields: bool) -> None:
    """Set fields of one outline, as the list of outlines does."""
    bench.apply("set", lambda d: replace(
        d, outlines=tuple(replace(o, **fields) if o.id == part_id else o for o in d.outlines)
    ))


def places(bench: PlainBench, part_id: str = "fin") -> list[Point]:
    return [(n.x, n.z) for n in bench.design.outline(part_id).nodes]


def grip(bench: PlainBench) -> Point:
    corner = scale_grip(bench.design, bench.selection)
    assert corner is not None
    return bench.view.to_mm(*grip_offset(*bench.view.to_px(*corner)))


class PlainInk:
    """Ink that lies along a parabola over x; its fits have their nodes where the clicks were.

    ``slow`` trails answer None first, ``refusal`` refuses everything, ``doubt`` is told of every trail, and
    with ``late`` fits wait in ``fitting`` for whoever calls ``answer``.
    """

    def __init__(self, height: float = 100.0, half: float = 100.0) -> None:
        self.height, self.half = height, half
        self.slow, self.refusal, self.doubt, self.late = 0, "", "", False
        self.asked: list[tuple[str, Point, Point]] = []
        self.waiting: list[Found] = []
        self.loops: list[tuple[Point, ...]] = []
        self.answers: list[WholeFound] = []
        self.fitting: list[tuple[Sequence[Stretch], Fitted]] = []
        self.cancelled = 0
        self.rounds: list[tuple[Sequence[Point] | Pull, Round]] = []
        self.here = True

    def on(self, x: float) -> Point:
        """The middle of the ink at ``x``."""
        return x, self.height * (1 - (x / self.half) ** 2)

    def trail(self, start: Point, goal: Point) -> Trail | str | None:
        self.asked.append(("trail", start, goal))
        if self.slow:
            self.slow -= 1
            return None
        steps = [start[0] + (goal[0] - start[0]) * k / 8 for k in range(9)]
        return self.refusal or Trail((start, *(self.on(x) for x in steps[1:-1]), goal), self.doubt)

    def fit(self, stretches: Sequence[Stretch], fitted: Fitted) -> None:
        for stretch in stretches:
            self.asked.append(("fit", stretch.ways[0].points[0], stretch.ways[-1].points[-1]))
        self.fitting.append((stretches, fitted))
        if not self.late:
            self.answer()

    def fit_now(self, stretches: Sequence[Stretch]) -> Sequence[Fit] | str:
        self.asked.append(("fit now", stretches[0].ways[0].points[0], stretches[-1].ways[-1].points[-1]))
        return [self._fit(stretch) for stretch in stretches]

    def answer(self, at: int = -1) -> None:
        """Tell the fit that was asked for last, or another."""
        stretches, fitted = self.fitting[at]
        fitted([self._fit(stretch) for stretch in stretches])

    def _fit(self, stretch: Stretch) -> Fit:
        """A cubic is a parabola exactly where its handles lie on the tangents, a third of the way along x."""
        nodes: list[Node] = []
        for way in stretch.ways:
            if self.refusal:
                return NoWay(way, self.refusal)
            run = self._run(way)
            nodes[-1:] = [replace(run[0], handle_in=nodes[-1].handle_in) if nodes else run[0], run[1]]
        if stretch.closed:
            nodes[0] = replace(nodes[0], handle_in=nodes.pop().handle_in)
        return tuple(nodes)

    def _run(self, way: Way) -> tuple[Node, Node]:
        start, goal = way.points[0], way.points[-1]
        third = (goal[0] - start[0]) / 3
        out, back = (self._slope(x) * third for x in (start[0], goal[0]))
        return Node(*start, handle_out=(third, out)), Node(*goal, handle_in=(-third, -back))

    def _slope(self, x: float) -> float:
        return -2 * self.height * x / self.half**2

    def nearest(self, x: float, z: float, reach: float) -> Point | None:
        return self.on(x) if abs(self.on(x)[1] - z) <= reach else None

    def region(self, x: float, z: float, gap: float, found: Found) -> None:
        self.asked.append(("region", (x, z), (gap, gap)))
        self.waiting.append(found)

    def lies_under(self, x: float, z: float) -> bool:
        return self.here

    def once_round(self, line: Sequence[Point], found: Round) -> None:
        self.rounds.append((line, found))

    def fit_round(self, pull: Pull, found: Round) -> None:
        self.rounds.append((pull, found))

    def round_now(self, line: Sequence[Point] | Pull) -> Rounded | str:
        self.asked.append(("round now", (0, 0), (0, 0)))
        return rounded(line if isinstance(line, Pull) else Pull(np.array(line), (), ()))

    def whole(self, loop: Sequence[Point], gap: float, found: WholeFound) -> None:
        self.loops.append(tuple(loop))
        self.answers.append(found)

    def cancel(self) -> None:
        self.cancelled += 1


def rounded(pull: Pull) -> Rounded:
    """A pull with a node at each of its points."""
    return Rounded(pull, tuple(Node(float(x), float(z)) for x, z in pull.points))
