"""The hand that joins sheets, at a bench without a screen: a plan that was torn in two."""

from __future__ import annotations

import math

import numpy as np
import pytest
from msgspec.structs import replace
from plain_bench import Person, PlainBench, Point

from app.canvas.tools.join import JoinHand
from app.canvas.view import View
from core.design import EMPTY, Scan
from core.geometry.plane import mapped
from core.redesign.scan_edits import matrix_of, similarity

TRUE = ((0.1, 0.0, 180.0), (0.0, -0.1, 150.0), (0.0, 0.0, 1.0))
SHARED: tuple[Point, Point] = ((195.0, 20.0), (205.0, 130.0))


def torn(scale_from: str = "dpi", factor: float = 1.0) -> tuple[PlainBench, Person, JoinHand, list[Point]]:
    """Bench, person, hand, and where the shared points lie on the sheet that moves."""
    by = similarity(factor, 4.0, (300.0, 100.0))
    by[1, 2] -= 300.0
    left = Scan("left", "left.png", to_mm=((0.1, 0, 0.0), (0, -0.1, 150.0), (0, 0, 1)), scale_from="dpi")
    right = Scan(
        "right", "right.png", to_mm=matrix_of(by @ np.array(TRUE)), locked=False,
        scale_from=scale_from,  # type: ignore[arg-type]
    )
    bench = PlainBench(replace(EMPTY, scans=(left, right)), View(1.0, -50.0, 200.0))
    bench.scan_sizes = {"left": (2200.0, 1500.0), "right": (2200.0, 1500.0)}
    hand = JoinHand(bench)
    return bench, Person(hand), hand, [(float(x), float(z)) for x, z in mapped(by, np.array(SHARED))]


def placed(bench: PlainBench) -> np.ndarray:
    return np.array(bench.design.scan("right").to_mm)


@pytest.mark.parametrize(("scale_from", "factor"), [("dpi", 1.0), ("none", 2.5)])
@pytest.mark.parametrize("how", ["clicks", "drags"])
def test_two_shared_points_lay_the_sheet_where_it_was_torn_off(
    scale_from: str, factor: float, how: str
) -> None:
    bench, person, hand, moving = torn(scale_from, factor)
    before = bench.design
    if how == "clicks":
        for number, at in enumerate((moving[0], SHARED[0], moving[1], SHARED[1]), 1):
            assert hand.hint().startswith(f"{number} of 4")
            person.click(at)
    else:
        person.drag(moving[0], SHARED[0])
        person.drag(moving[1], SHARED[1])
    assert placed(bench) == pytest.approx(np.array(TRUE), abs=1e-9)
    assert bench.design.scan("right").locked and bench.document.undo_name == "join sheets"
    assert not hand.busy and hand.joined == "right" and "Arrow keys" in hand.hint()
    wanted = "lie 0.0 mm" if scale_from == "dpi" else "with the scale of the sheet in place"
    assert wanted in hand.told
    bench.document.undo()
    assert bench.design == before


def test_the_sheet_that_moves_and_where_it_would_lie_are_seen_beforehand() -> None:
    bench, person, hand, moving = torn()
    person.hover(SHARED[0])
    assert hand.overlay().edge == (), "what is locked does not move"
    person.hover(moving[0])
    edge = hand.overlay().edge
    assert len(edge) == 4 and hand.overlay().ghost_edge == ()
    person.click(moving[0])
    person.hover(SHARED[0])
    shift = np.array(SHARED[0]) - moving[0]
    assert np.array(hand.overlay().ghost_edge) == pytest.approx(np.array(edge) + shift)
    person.click(SHARED[0])
    person.click(moving[1])
    person.hover(SHARED[1])
    true = mapped(np.array(TRUE), np.array(((0, 0), (2200, 0), (2200, 1500), (0, 1500))))
    assert np.array(hand.overlay().ghost_edge) == pytest.approx(true, abs=1e-6)
    assert len(hand.overlay().guides) == 2 and [x.text for x in hand.overlay().labels] == ["1", "1", "2"]
    assert not bench.document.busy, "the picture itself waits for the last click"


def test_the_misfit_is_said_in_the_unit_of_the_design() -> None:
    bench, person, hand, moving = torn()
    off = (SHARED[1][0], SHARED[1][1] + 0.8)
    person.clicks([moving[0], SHARED[0], moving[1], off])
    misfit = math.dist(SHARED[0], off) - math.dist(*SHARED)
    assert f"The points lie {misfit:.1f} mm further apart on the sheet in place" in hand.told
    assert np.hypot(*placed(bench)[:2, 0]) == pytest.approx(0.1)


def test_clicks_on_the_wrong_sheet_are_answered_and_take_nothing() -> None:
    bench, person, hand, moving = torn()
    person.click(SHARED[0])
    assert "locked in its place" in bench.said[-1]
    person.click((-2000, 0))
    assert "Click on the sheet that is to move" in bench.said[-1]
    person.click(moving[0])
    person.click(moving[1])
    assert "a sheet that lies in its place" in bench.said[-1] and len(hand.taken) == 1
    person.click(SHARED[0])
    person.click(SHARED[1])
    assert "same two sheets" in bench.said[-1] and len(hand.taken) == 2
    person.click(moving[0])
    person.click(SHARED[0])  # the same pair again settles no turn
    assert "fall together" in bench.said[-1] and len(hand.taken) == 2
    person.clicks([moving[1], SHARED[1]])
    assert placed(bench) == pytest.approx(np.array(TRUE), abs=1e-9)


def test_backspace_escape_and_undo_take_clicks_back() -> None:
    bench, person, hand, moving = torn()
    person.clicks([moving[0], SHARED[0]])
    assert hand.redo() and hand.undo() and len(hand.taken) == 1
    assert hand.key("Backspace") and not hand.taken and not hand.undo()
    person.clicks([moving[0], SHARED[0]])
    assert hand.key("Escape") and not hand.taken and bench.taken == []
    assert hand.key("Escape") and bench.taken == ["edit"]
    assert bench.changes == [] and not hand.key("Right")


def joined() -> tuple[PlainBench, JoinHand]:
    bench, person, hand, moving = torn()
    person.clicks([moving[0], SHARED[0], moving[1], SHARED[1]])
    return bench, hand


@pytest.mark.parametrize("end", ["settle", "Return", "leave", "keep_draft"])
def test_a_run_of_nudges_is_one_entry_of_undo(end: str) -> None:
    bench, hand = joined()
    for key, shift in (("Right", False), ("Right", False), ("Up", True), ("Left", False)):
        assert hand.key(key, shift=shift)
    assert hand.nudging
    assert placed(bench)[:2, 2] == pytest.approx((180.1, 151.0))
    if end == "Return":
        hand.key("Return")
    else:
        getattr(hand, end)()
    assert bench.document.undo_name == "nudge sheet" and not hand.nudging and not bench.document.busy
    bench.document.undo()
    assert bench.document.undo_name == "join sheets" and placed(bench)[:2, 2] == pytest.approx((180, 150))


@pytest.mark.parametrize("how", ["Escape", "undo"])
def test_a_run_of_nudges_can_be_dropped(how: str) -> None:
    bench, hand = joined()
    hand.key("Down")
    assert hand.undo() if how == "undo" else hand.key("Escape")
    assert placed(bench)[:2, 2] == pytest.approx((180, 150)) and bench.document.undo_name == "join sheets"
    assert bench.taken == []


def test_saving_in_the_middle_of_a_run_loses_nothing() -> None:
    bench, hand = joined()
    hand.key("Right")
    bench.document.commit()
    hand.key("Right")
    hand.settle()
    assert placed(bench)[0, 2] == pytest.approx(180.2)
    bench.document.undo()
    assert placed(bench)[0, 2] == pytest.approx(180.1)


def test_a_sheet_taken_out_in_the_middle_is_forgotten() -> None:
    bench, person, hand, moving = torn()
    assert hand.unusable() == ""
    person.clicks([moving[0], SHARED[0]])
    bench.apply("take scan out", lambda d: replace(d, scans=d.scans[:1]))
    assert hand.overlay().points == () and not hand.busy
    assert hand.unusable() == "open a second sheet of the plan first"
    bench, hand = joined()
    bench.apply("take scan out", lambda d: replace(d, scans=d.scans[:1]))
    assert hand.key("Right") and hand.joined is None and hand.overlay().edge == ()
