"""The hand that lays a photograph flat, at a bench without a screen, over a known camera."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace
from plain_bench import Person, PlainBench, Point

sys.path.append(str(Path(__file__).resolve().parents[2] / "core"))

from cameras import CAMERAS, PICTURE

from app.canvas.tools.straighten import StraightenHand
from app.canvas.view import View
from core.design import EMPTY, Mark, Scan
from core.geometry.plane import mapped
from core.redesign.outline_edits import EditError

CAMERA = CAMERAS[0]
SHEET = ((0.0, 0.0), (841.0, 0.0), (841.0, 594.0), (0.0, 594.0))
PHOTO = Scan(
    "photo", "photo.jpg", to_mm=((0.254, 0.0, 0.0), (0.0, -0.254, 762.0), (0.0, 0.0, 1.0)), scale_from="none"
)
CROOKED = replace(EMPTY, scans=(PHOTO,), cg_mark=Mark(400, 300))


def at_bench() -> tuple[PlainBench, Person, StraightenHand]:
    bench = PlainBench(CROOKED, View(0.8, -40.0, 800.0))
    bench.scan_sizes = {"photo": PICTURE}
    hand = StraightenHand(bench)
    return bench, Person(hand), hand


def seen(bench: PlainBench, *plan: Point) -> list[Point]:
    """Where points of the plan show now, in mm of the canvas."""
    found = mapped(np.array(bench.design.scan("photo").to_mm), CAMERA.pixels(np.array(plan)))
    return [(float(x), float(z)) for x, z in found]


def flat(bench: PlainBench) -> np.ndarray:
    """The sheet's corners as they show now, from the first."""
    quad = np.array(seen(bench, *SHEET))
    return quad - quad[0]


def laid() -> tuple[PlainBench, Person, StraightenHand]:
    bench, person, hand = at_bench()
    person.clicks(seen(bench, *SHEET))
    hand.set_lengths(841.0, 594.0)
    return bench, person, hand


def texts(hand: StraightenHand) -> list[str]:
    return [label.text for label in hand.overlay().labels]


def test_four_corners_and_two_lengths_show_it_flat_and_return_keeps_it_in_one_entry() -> None:
    bench, person, hand = at_bench()
    assert "first corner" in hand.hint() and hand.unusable() == "" and hand.overlay().points == ()
    person.clicks(seen(bench, *SHEET))
    assert "two lengths" in hand.hint() and bench.changes == [] and len(hand.overlay().guides) == 4
    assert texts(hand) == ["1", "2", "3", "4", "width", "height"]
    hand.set_lengths(841.0, None)
    assert not bench.document.busy
    hand.set_lengths(841.0, 594.0)
    assert hand.previewing and bench.document.busy and bench.document.committed == CROOKED
    assert flat(bench) == pytest.approx(np.array(SHEET), abs=1e-6)
    assert texts(hand)[-2:] == ["width 841.0 mm", "height 594.0 mm"]
    assert "always fit" in hand.hint() and "Return: done" in hand.hint()
    assert hand.key("Return") and bench.taken == ["edit"]
    assert bench.document.undo_name == "straighten scan" and not hand.busy
    assert flat(bench) == pytest.approx(np.array(SHEET), abs=1e-6)
    mark = bench.design.cg_mark
    assert mark is not None and mark != CROOKED.cg_mark, "what was marked goes along"
    bench.document.undo()
    assert bench.design == CROOKED and bench.document.undo_name is None


@pytest.mark.parametrize("how", ["Escape", "leave"])
def test_what_is_only_shown_is_dropped(how: str) -> None:
    bench, _, hand = laid()
    if how == "Escape":
        assert hand.key("Escape") and bench.taken == []
        assert hand.key("Escape") and bench.taken == ["edit"]
    else:
        hand.leave()
    assert bench.design == CROOKED and not bench.document.busy and not hand.busy
    assert hand.width is None and not hand.redo() and not hand.undo()


def test_the_picture_stands_still_under_a_drag_and_is_laid_anew_when_it_ends() -> None:
    bench, person, hand = laid()
    start = hand.places()[2]
    before = bench.design
    person.press(start)
    person.pull((start[0] + 30, start[1] - 20))
    assert bench.design is before
    assert hand.places()[2] == pytest.approx((start[0] + 30, start[1] - 20))
    person.release((start[0] + 30, start[1] - 20))
    assert bench.design is not before and hand.previewing
    # The corner that was dragged is the rectangle's corner now, and the sheet's own lies off it.
    quad = np.array(hand.places())
    assert quad - quad[0] == pytest.approx(np.array(SHEET), abs=1e-6)
    assert np.hypot(*(flat(bench)[2] - SHEET[2])) > 10
    hand.key("Return")
    bench.document.undo()
    assert bench.design == CROOKED


def test_arrow_keys_nudge_the_point_last_touched_by_a_pixel_of_the_screen() -> None:
    bench, person, hand = at_bench()
    person.clicks(seen(bench, *SHEET))
    x, z = hand.places()[3]
    assert hand.key("Right") and hand.places()[3] == pytest.approx((x + 1 / 0.8, z))
    assert hand.key("Up", shift=True) and hand.places()[3] == pytest.approx((x + 1 / 0.8, z + 10 / 0.8))
    person.click(hand.places()[0])
    x, z = hand.places()[0]
    assert len(hand.points()) == 4 and hand.overlay().draft_nodes == ((x, z),)
    assert hand.key("Left") and hand.places()[0] == pytest.approx((x - 1 / 0.8, z))
    person.hover((420.0, 700.0))
    assert person.hand.cursor() == "cross"
    person.hover(hand.places()[1])
    assert person.hand.cursor() == "node"


def test_more_that_is_known_shows_how_far_off_each_is_and_marks_the_worst() -> None:
    bench, person, hand = laid()
    person.clicks(seen(bench, (200.0, 150.0), (700.0, 500.0)))
    assert hand.asked == 0 and len(hand.extras[0].points) == 2
    hand.set_extra(0, apart=float(np.hypot(500, 350)))
    assert hand.fit is not None and hand.fit.rms < 1e-6
    assert "5–6: 0.0 mm" in "".join(texts(hand)) and "1: 0.0 mm" in "".join(texts(hand))
    person.click(seen(bench, (420.0, 300.0))[0])
    assert hand.asked == 1
    hand.set_extra(1, place=(426.0, 300.0))
    assert hand.fit is not None and len(hand.fit.at_points) == 5 and hand.fit.worst == ("point", 4)
    worst = [label for label in hand.overlay().labels if label.marked]
    assert len(worst) == 1 and worst[0].text.startswith("7: ") and worst[0].text.endswith(" mm worst")
    assert "rms, worst" in hand.hint()
    person.click(hand.places()[4])
    assert hand.asked == 0, "the point that is picked is the one asked about"
    # Taken back from the last: the place, the distance's second point, its first, and then a corner.
    for extras, corners in ((1, 4), (1, 4), (0, 4), (0, 3)):
        assert hand.undo() and (len(hand.extras), len(hand.corners)) == (extras, corners)
    assert not hand.previewing and bench.design == CROOKED


def test_what_cannot_be_laid_flat_says_why_and_shows_nothing() -> None:
    bench, person, hand = at_bench()
    with pytest.raises(EditError, match="four corners"):
        hand.finish()
    a, b, c, d = seen(bench, *SHEET)
    person.clicks([a, c, b, d])
    with pytest.raises(EditError, match="type the width"):
        hand.finish()
    hand.set_lengths(841.0, 594.0)
    assert "sides cross" in hand.hint() and not bench.document.busy and texts(hand) == ["1", "2", "3", "4"]
    assert hand.key("Return") and "sides cross" in bench.said[-1] and bench.taken == []
    # Dragged right it is shown after all.
    person.drag(hand.places()[1], (430.0, 420.0))
    person.drag(hand.places()[2], c)
    person.drag(hand.places()[1], b)
    assert hand.previewing and hand.fault == ""
    hand.set_lengths(0.0, 594.0)
    assert "more than nothing" in hand.fault and bench.design == CROOKED


def test_a_click_beside_every_picture_is_answered() -> None:
    bench, person, hand = at_bench()
    person.click((-900.0, 100.0))
    assert not hand.busy and "click on the photograph" in bench.said[0]
    assert hand.hint() == "Click on the photograph that is to be straightened."
    person.click((100.0, 100.0))
    assert hand.busy and bench.said[-1] == "" and "second corner" in hand.hint()


def test_saving_in_the_middle_keeps_what_is_shown_and_work_goes_on() -> None:
    bench, _, hand = laid()
    bench.document.commit()
    assert bench.document.undo_name == "straighten scan"
    hand.set_lengths(1000.0, 594.0)
    assert bench.document.busy and flat(bench)[1] == pytest.approx((1000, 0), abs=1e-6)
    hand.finish()
    bench.document.undo()
    assert flat(bench)[1] == pytest.approx((841, 0), abs=1e-6)


def test_another_edit_in_the_middle_takes_the_preview_away_and_the_next_brings_it_back() -> None:
    bench, _, hand = laid()
    bench.apply("change units", lambda d: replace(d, display_units="in"))
    assert not hand.previewing and bench.design.scans == CROOKED.scans
    hand.key("Right")
    assert hand.previewing and bench.design.display_units == "in"
    hand.finish()
    bench.document.undo()
    assert bench.design == replace(CROOKED, display_units="in")


def test_a_photograph_taken_out_in_the_middle_is_forgotten() -> None:
    bench, _, hand = laid()
    bench.apply("take scan out", lambda d: replace(d, scans=()))
    assert hand.overlay().points == () and not hand.busy
    assert hand.unusable() == "open a photograph of the plan first"
    assert not hand.key("Return") and not hand.key("Right")
