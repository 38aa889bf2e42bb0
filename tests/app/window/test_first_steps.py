"""The notes that lead through a sample: each done by what the builder does, left at any time, remembered."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from driving import LEFT, SAMPLES, Driver, bare_sample
from PySide6.QtCore import QRect, Qt
from PySide6.QtTest import QTest

from app.kit.theme import NIGHT
from app.panels.step_note import StepNote
from app.window.first_steps import STEPS, FirstSteps
from core.geometry.ring import point_on
from core.stability.side_area import form_of

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise|grabbing)")
SAMPLE = SAMPLES / "marsh-harrow-52.sternpost"


@pytest.fixture
def new(driver: Driver) -> Iterator[Driver]:
    """A builder who has opened a first sample."""
    driver.window.filing.open_sample(SAMPLE)
    driver.until_decoded()
    yield driver
    driver.window.guidance.first_steps.leave()
    driver.window.side.close()
    driver.settle()


def steps_of(driver: Driver) -> FirstSteps:
    return driver.window.guidance.first_steps


def note_of(driver: Driver) -> StepNote:
    note = steps_of(driver).note
    assert note is not None and note.isVisible()
    return note


def drag_rudder(driver: Driver, by: float) -> None:
    """Its aftmost edge, by the mouse."""
    outline = next(o for o in driver.design.outlines if o.kind == "rudder")
    ring = form_of(outline).ring
    middles = [point_on(ring, i, 0.5) for i in range(len(ring))]
    x, z = (float(v) for v in middles[int(np.argmax([m[0] for m in middles]))])
    driver.drag((x, z), (x + by, z))


def test_a_builder_is_led_from_the_rudder_to_the_bench_sheet(new: Driver) -> None:
    steps = steps_of(new)
    assert steps.at == 0 and new.canvas.hasFocus()
    before = new.design
    drag_rudder(new, 12.0)
    assert new.design != before and steps.at == 1
    drag_rudder(new, 10.0)
    assert steps.at == 2
    QTest.mouseClick(new.window.answer, LEFT, pos=new.window.answer.rect().topLeft())
    assert steps.at == 3
    new.do("sheet")
    assert steps.at == 3
    new.do("refit")
    assert steps.at == 4
    new.do("sheet")
    assert steps.at == -1 and steps.note is None


def test_only_what_a_note_asks_for_takes_it_away(new: Driver) -> None:
    steps = steps_of(new)
    fuselage = next(o for o in new.design.outlines if o.kind == "fuselage")
    top = max(fuselage.nodes, key=lambda n: n.z)
    new.drag((top.x, top.z), (top.x, top.z + 4.0))
    QTest.mouseClick(new.window.answer, LEFT, pos=new.window.answer.rect().topLeft())
    assert steps.at == 0
    new.do("refit")
    assert steps.at == 0


def test_next_and_leave(new: Driver) -> None:
    steps, before = steps_of(new), new.design
    for at in range(len(STEPS)):
        note = note_of(new)
        assert steps.at == at and note.accessibleName() == f"First steps, {at + 1} of {len(STEPS)}"
        assert STEPS[at].words == note.accessibleDescription()
        QTest.mouseClick(note.next_button, LEFT)
    assert steps.at == -1 and steps.note is None
    steps.begin()
    QTest.mouseClick(note_of(new).leave_button, LEFT)
    assert steps.note is None
    assert new.design == before and new.window.document.undo_name is None


def test_they_come_once_by_themselves(new: Driver) -> None:
    steps_of(new).leave()
    new.window.filing.open_sample(SAMPLES / "tallow-twin.sternpost")
    new.until_decoded()
    assert steps_of(new).note is None
    new.do("first-steps")
    new.until_decoded()
    assert steps_of(new).at == 0 and note_of(new)


def test_asked_for_over_unsaved_work_they_ask_first(new: Driver) -> None:
    steps_of(new).leave()
    drag_rudder(new, 8.0)
    changed = new.design
    new.boxes.answer("Cancel")
    new.do("first-steps")
    assert new.design is changed and steps_of(new).note is None


def test_a_design_of_ones_own_begins_none(driver: Driver) -> None:
    driver.open(SAMPLE)
    assert steps_of(driver).note is None and not steps_of(driver).seen


def test_a_program_started_with_a_sample_begins_them(driver: Driver, tmp_path: Path) -> None:
    own = tmp_path / SAMPLE.name
    own.write_bytes(SAMPLE.read_bytes())
    for path, begun in ((own, False), (SAMPLE, True)):
        driver.open(path)
        driver.window.guidance.file_opened(path)
        assert (steps_of(driver).note is not None) == begun
    steps_of(driver).leave()
    driver.open(SAMPLE)
    driver.window.guidance.file_opened(SAMPLE)
    assert steps_of(driver).note is None


def test_another_design_ends_them(new: Driver) -> None:
    new.open_outlines(bare_sample())
    assert steps_of(new).at == -1 and steps_of(new).note is None


@pytest.mark.parametrize("wide", [1, 1360])
def test_every_note_is_seen_whole_and_keeps_clear_of_what_it_speaks_of(new: Driver, wide: int) -> None:
    window = new.window
    window.resize(wide, 820 if wide > 1 else 1)
    new.settle()
    for step in STEPS:
        note, whole = note_of(new), window.centralWidget()
        assert whole.rect().contains(note.geometry()), step.where
        assert note._words.height() >= note._words.heightForWidth(note._words.width())
        if step.where in ("arm_rule", "answer"):
            part = window.arm_rule if step.where == "arm_rule" else window.answer
            own = QRect(part.mapTo(whole, part.rect().topLeft()), part.size())
            assert not own.adjusted(4, 4, -4, -4).intersects(note.geometry()), step.where
        note.next_button.click()
    window.resize(1360, 820)


def test_the_rudder_of_the_sample_is_not_under_the_first_note(new: Driver) -> None:
    rudder = next(o for o in new.design.outlines if o.kind == "rudder")
    note = note_of(new)
    for node in rudder.nodes:
        place = new.canvas.mapTo(new.window.centralWidget(), new.px((node.x, node.z)))
        assert not note.geometry().contains(place)


def test_they_are_reached_by_keys_and_follow_the_colours(new: Driver) -> None:
    note = note_of(new)
    assert note.next_button.focusPolicy() == Qt.FocusPolicy.TabFocus
    before = note.grab().toImage()
    new.do("theme-night")
    assert note._theme is NIGHT and note.grab().toImage() != before
    new.do("theme-system")
    note.next_button.setFocus()
    QTest.keyClick(note.next_button, Qt.Key.Key_Space)
    assert steps_of(new).at == 1
