"""Designs of very many outlines are counted beside the drawing thread, and say so meanwhile."""

from __future__ import annotations

import gc
import traceback
from collections.abc import Callable, Iterator
from threading import Event, current_thread, main_thread
from typing import Any

import pytest
from driving import LEFT, Driver, sample
from msgspec.structs import replace
from PySide6.QtCore import Qt

from app.kit.worker import Job
from app.window.window import Window
from app.work import readout
from app.work.readout import COUNTING, UNREAD
from core import outline_form
from core.design import EMPTY, Design, Mark, Node, Outline, Weight
from core.geometry import overlay
from core.stability import readings as readings_module
from core.stability.readings import ReadingsEngine


def squares(number: int, apart: float = 20.0) -> Design:
    return replace(EMPTY, title="Squares", cg_mark=Mark(10.0), outlines=tuple(
        Outline(f"o-{i}", "fuselage", tuple(
            Node(apart * i + x, z) for x, z in ((0.0, 0.0), (30.0, 0.0), (30.0, 30.0), (0.0, 30.0))
        )) for i in range(number)
    ))


@pytest.fixture
def held(driver: Driver, monkeypatch: pytest.MonkeyPatch) -> Event:
    """Set, it lets the count beside go on; more than five outlines take long."""
    monkeypatch.setattr(readout, "MANY_OUTLINES", 5)
    go = Event()
    count = ReadingsEngine.read

    def read(self: ReadingsEngine, design: Design, *, quick: bool = False) -> object:
        if self is driver.window.counting._engine:
            assert go.wait(30)
        return count(self, design, quick=quick)

    monkeypatch.setattr(ReadingsEngine, "read", read)
    return go


def side_area(window: Window) -> float | None:
    return window.readout.readings.value("side_area")


def test_until_it_is_counted_no_figure_stands_and_nothing_waits(driver: Driver, held: Event) -> None:
    window = driver.window
    window.document.start(squares(3))
    assert side_area(window) == pytest.approx(2100.0) and not window.counting.busy
    window.document.apply("paste", lambda d: replace(d, outlines=squares(9).outlines))
    # Not the figures of before, neither on view nor for paper.
    for readings in (window.readout.readings, window.readout.committed_readings):
        assert readings.untold == COUNTING and readings.value("side_area") is None
        assert readings["cla_x"].missing == COUNTING and readings.value("cg_x") == 10.0
    assert window.readout.counted_areas() == {} == window.readout.committed_areas()
    assert not window.recounter.busy
    held.set()
    driver.until(lambda: not window.counting.busy)
    assert side_area(window) == pytest.approx(9 * 600.0 + 300.0)
    assert window.readout.committed_readings.value("side_area") == side_area(window)
    assert window.readout.counted_areas()["o-0"] == pytest.approx(600.0)
    driver.until(lambda: not window.recounter.busy)
    assert window.readout.readings.untold is None


def test_the_last_figure_is_called_old_while_it_is_counted_and_not_kept_for_another_design(
    driver: Driver, held: Event
) -> None:
    window, answer = driver.window, driver.window.answer
    held.set()
    window.document.start(sample().design)
    driver.until(lambda: bool(answer.shown.figure))
    held.clear()
    figure = answer.shown.figure
    more = squares(12).outlines
    window.document.apply("paste", lambda d: replace(d, outlines=(*d.outlines, *more)))
    window.document.apply("aim", lambda d: replace(d, notes="again"))
    old = f"Old, until it is counted anew: {figure.replace(' ', chr(160))}."
    assert answer.shown.figure == "" and old in answer.accessibleDescription()
    held.set()
    driver.until(lambda: not window.counting.busy)
    assert answer.shown.figure not in ("", figure) and "Old" not in answer.accessibleDescription()
    held.clear()
    window.document.apply("paste", lambda d: replace(d, outlines=d.outlines[1:]))
    assert "Old, until it is counted anew: " in answer.accessibleDescription()
    window.document.start(squares(9))
    assert "Old" not in answer.accessibleDescription()
    held.set()
    driver.until(lambda: not window.counting.busy)


def test_what_was_counted_of_a_design_that_has_changed_is_never_shown(driver: Driver, held: Event) -> None:
    window = driver.window
    window.document.start(squares(9))
    window.document.apply("more", lambda d: replace(d, outlines=squares(12).outlines))
    assert window.readout.readings.untold == COUNTING
    window.document.apply("few", lambda d: replace(d, outlines=squares(2).outlines))
    assert side_area(window) == pytest.approx(1500.0)
    held.set()
    driver.until(lambda: not window.counting.busy)
    assert side_area(window) == pytest.approx(1500.0)


def test_another_unit_or_weight_counts_nothing_anew(driver: Driver, held: Event) -> None:
    window = driver.window
    held.set()
    window.document.start(squares(9))
    driver.until(lambda: not window.counting.busy)
    held.clear()
    window.document.apply("units", lambda d: replace(d, display_units="in"))
    window.document.apply("mark CG", lambda d: replace(d, cg_mark=Mark(20.0)))
    assert not window.counting.busy and side_area(window) == pytest.approx(5700.0)
    assert window.readout.readings.value("cg_x") == 20.0
    held.set()


class Counts:
    """What the thread beside was made to count: for each count the overlays that were begun in it."""

    def __init__(self, window: Window, monkeypatch: pytest.MonkeyPatch) -> None:
        self.overlays: list[int] = []
        self.begun, self.go = Event(), Event()
        self.go.set()
        count, holds = ReadingsEngine.read, overlay.holds

        def read(engine: ReadingsEngine, design: Design, *, quick: bool = False) -> object:
            if engine is window.counting._engine:
                self.overlays.append(0)
            return count(engine, design, quick=quick)

        def wait(*given: object) -> bool:
            if current_thread().name.startswith("counting"):
                self.overlays[-1] += 1
                self.begun.set()
                assert self.go.wait(30)
            return holds(*given)  # type: ignore[arg-type]

        monkeypatch.setattr(ReadingsEngine, "read", read)
        monkeypatch.setattr(overlay, "holds", wait)

    def hold(self) -> None:
        """The next overlay waits in its midst."""
        self.overlays.clear()
        self.begun.clear()
        self.go.clear()


@pytest.fixture
def counts(driver: Driver, monkeypatch: pytest.MonkeyPatch) -> Iterator[Counts]:
    """Forty squares in a row, counted; the one in the middle is picked, to be dragged."""
    monkeypatch.setattr(readout, "MANY_OUTLINES", 5)
    counts = Counts(driver.window, monkeypatch)
    driver.open_outlines(squares(40))
    driver.until(lambda: not driver.window.counting.busy)
    assert side_area(driver.window) == pytest.approx(40 * 600.0 + 300.0)
    driver.take("e")
    driver.zoom_to((415.0, 15.0), 3.0)
    driver.click((415.0, 15.0))
    yield counts
    counts.go.set()


def fail_beside(fail: Callable[..., object]) -> Callable[..., object]:
    """``fail`` in the thread that counts beside; on the drawing thread what it stands in for."""
    whole = readings_module.pitch_values
    return lambda a: fail(a) if current_thread().name.startswith("counting") else whole(a)


def jobs_held() -> int:
    gc.collect()
    return sum(isinstance(thing, Job) for thing in gc.get_objects())


def test_a_hand_that_moves_on_gives_up_the_count_under_way_and_queues_none(
    driver: Driver, counts: Counts
) -> None:
    window = driver.window
    before = jobs_held()
    counts.hold()
    driver.drag((415.0, 15.0), (415.0, 25.0), steps=1, drop=False)
    driver.until(counts.begun.is_set)
    for step in range(30):
        driver.move((415.0, 26.0 + step), button=LEFT)
        assert window.readout.readings.untold == COUNTING
    assert jobs_held() <= before + 2, "one under way, and the newest that waits"
    driver.release((415.0, 55.0))
    counts.go.set()
    driver.until(lambda: not window.counting.busy)
    assert counts.overlays[0] == 1, "the overtaken one went no further"
    assert len(counts.overlays) == 2
    assert window.document.undo_name is not None
    # The square lies above the row now, which has a gap of 10 mm there.
    assert side_area(window) == pytest.approx(40 * 600.0 + 300.0 - 300.0 + 900.0)
    assert window.readout.readings.untold is None


def test_a_count_that_nobody_waits_for_is_given_up(driver: Driver, counts: Counts) -> None:
    window = driver.window
    counts.hold()
    driver.drag((415.0, 15.0), (415.0, 25.0), steps=1, drop=False)
    driver.until(counts.begun.is_set)
    driver.key(Qt.Key.Key_Escape)
    # What was counted before the gesture is still known.
    assert side_area(window) == pytest.approx(40 * 600.0 + 300.0) and not window.counting.busy
    driver.release((415.0, 25.0))
    counts.go.set()
    window.counting.stop()
    assert counts.overlays == [1]


def test_a_count_that_fails_says_so_and_is_not_waited_for(
    driver: Driver, counts: Counts, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    window = driver.window

    def fail(*_: object) -> object:
        raise RuntimeError("no fin")

    with monkeypatch.context() as patch:
        patch.setattr(readings_module, "pitch_values", fail_beside(fail))
        driver.drag((415.0, 15.0), (415.0, 35.0))
        driver.until(lambda: not window.counting.busy)
        assert window.readout.readings.untold == UNREAD and side_area(window) is None
        assert window.answer.shown.figure == "" and UNREAD[1:] in window.answer.shown.sentence
        assert "RuntimeError: no fin" in caplog.text
        # Nor is it tried on the drawing thread at the next step, which leaves the outlines as they are.
        window.document.apply("mark CG", lambda d: replace(d, cg_mark=Mark(20.0)))
        driver.until(lambda: not window.counting.busy)
        assert window.readout.readings.untold == UNREAD
    window.undoing.undo()
    window.undoing.undo()
    driver.until(lambda: not window.counting.busy)
    assert side_area(window) == pytest.approx(40 * 600.0 + 300.0)


def test_a_cg_that_outlines_weigh_in_is_not_told_before_they_are_counted(driver: Driver, held: Event) -> None:
    """Without them the weights alone would balance elsewhere."""
    window = driver.window
    heavy = tuple(replace(o, grams_per_dm2=10.0) for o in squares(9).outlines)
    battery = Weight("w-1", 50.0, 0.0, label="Battery")
    window.document.start(replace(squares(9), outlines=heavy, weights=(battery,), cg_from="weights"))
    readings = window.readout.readings
    assert readings.untold == COUNTING
    assert readings["cg_x"].missing == COUNTING and readings["mass"].missing == COUNTING
    assert readings.cg is None and readings.aeroplane.cg is None
    held.set()
    driver.until(lambda: not window.counting.busy)
    # Nine squares of 9 cm² at 10 g/dm², 20 mm apart, their middle at 95 mm; 50 g at nought.
    grams = 9 * 0.09 * 10.0
    assert window.readout.readings.value("cg_x") == pytest.approx(grams * 95.0 / (grams + 50.0))


def test_while_it_is_counted_no_outline_is_filled_on_the_drawing_thread(
    driver: Driver, held: Event, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of an outline of very many nodes that alone takes longer than a hand waits."""
    window, where = driver.window, set[str]()
    fill = outline_form.region_of

    def told(corners: Any) -> Any:
        if current_thread() is main_thread():
            calls = traceback.extract_stack(limit=10)
            where.add("\n".join(f"{call.filename}:{call.lineno} {call.name}" for call in calls))
        return fill(corners)

    monkeypatch.setattr(outline_form, "region_of", told)
    window.document.start(squares(40))
    driver.settle()
    window.grab()
    driver.take("e")
    driver.zoom_to((415.0, 15.0), 3.0)
    driver.click((415.0, 15.0))
    driver.drag((415.0, 15.0), (415.0, 35.0))
    driver.settle()
    window.grab()
    assert window.document.undo_name is not None and window.readout.readings.untold == COUNTING
    assert not where, "\n\n".join(where)
    held.set()
    driver.until(lambda: not window.counting.busy)
    driver.settle()
    window.grab()
    assert window.readout.readings.untold is None
