"""The second count of the committed design, beside the drawing thread."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from driving import Driver
from msgspec.structs import replace

from app.window import recounting
from core.design import Design, Mark, Node, Outline


def body(length: float) -> Design:
    corners = (Node(0, 0), Node(length, 0), Node(length, 60), Node(0, 60))
    return Design(
        format=1, title="Counted", outlines=(Outline("body", "fuselage", corners),), cg_mark=Mark(100.0)
    )


def test_a_sound_design_is_counted_twice_and_stays_as_it_is(driver: Driver) -> None:
    window = driver.window
    window.document.start(body(500))
    assert window.recounter.busy
    driver.until(lambda: not window.recounter.busy)
    assert window.readout.readings.untold is None
    assert window.readout.readings.value("side_area") == pytest.approx(30_000)


def test_where_the_counts_differ_the_answer_is_missing_until_the_design_changes(
    driver: Driver, monkeypatch: pytest.MonkeyPatch
) -> None:
    window = driver.window
    asked: list[Design] = []

    def differs(readings: object, design: Design, stop: Callable[[], None]) -> str | None:
        asked.append(design)
        stop()
        return "the areas cannot be told: a test" if design.outlines[0].nodes[1].x < 600 else None

    monkeypatch.setattr(recounting, "recounted", differs)
    window.document.start(body(500))
    driver.until(lambda: not window.recounter.busy)
    readings = window.readout.readings
    assert readings.untold == "the areas cannot be told: a test" and readings.value("side_area") is None
    assert readings.value("cg_x") == 100.0
    window.document.begin("stretch")
    window.document.preview(replace(window.document.design, outlines=body(700).outlines))
    assert not window.recounter.busy
    window.document.commit()
    driver.until(lambda: not window.recounter.busy)
    assert window.readout.readings.value("side_area") == pytest.approx(42_000)
    assert [d.outlines[0].nodes[1].x for d in asked] == [500, 700]


def test_no_thread_is_left(new_window: Callable[[], Driver]) -> None:
    driver = new_window()
    driver.window.document.start(body(500))
    driver.window.recounter.stop()
    assert not driver.window.recounter.busy
