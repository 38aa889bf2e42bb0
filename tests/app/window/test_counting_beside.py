"""Designs of very many outlines are counted beside the drawing thread, and say so meanwhile."""

from __future__ import annotations

from threading import Event

import pytest
from driving import Driver
from msgspec.structs import replace

from app.window.window import Window
from app.work import readout
from app.work.readout import COUNTING
from core.design import EMPTY, Design, Mark, Node, Outline
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
