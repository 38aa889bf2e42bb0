"""Kept states beside the present design: figures, differences, verdicts, columns, text."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from driving import Driver, bare_sample, fresh_readings
from msgspec.structs import replace
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.kit.theme import NIGHT
from app.side.compare_window import NOTHING_KEPT, VERDICT, CompareWindow
from core.design import Design
from core.redesign.alternatives import compare, keep, rename, state_of
from core.redesign.curves import design_at
from core.stability.catalogue import GROUPS, TERMS
from core.stability.wording import instead, shown

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise)")
LEFT = Qt.MouseButton.LeftButton


def _laden() -> Design:
    """Kept as drawn, then with a longer nose; the fin is larger now."""
    longer = keep(design_at(keep(bare_sample(), "as drawn"), "nose", 40.0), "40 mm nose")
    return design_at(longer, "fin", 1.1)


@pytest.fixture
def comparing(driver: Driver) -> Iterator[CompareWindow]:
    driver.open_outlines(_laden())
    window = CompareWindow(driver.window.beside)
    window.show()
    driver.settle()
    yield window
    window.close()
    QApplication.sendPostedEvents(window, QEvent.Type.DeferredDelete)


def _row(window: CompareWindow, key: str) -> int:
    return window.model.rows.index(key)


def _cell(window: CompareWindow, key: str, column: int) -> str:
    return str(window.model.index(_row(window, key), column).data())


def test_every_reading_of_every_state_and_its_difference(comparing: CompareWindow, driver: Driver) -> None:
    design = driver.design
    units = design.display_units
    for number, kept in enumerate(design.alternatives):
        state = state_of(design, kept.id)
        there = fresh_readings(state)
        apart = {d.spec.key: d.difference for d in compare(design, state)}
        for key in (k for group in GROUPS for k in group.readings):
            value, spec = there.value(key), TERMS[key]
            text = _cell(comparing, key, 1 + 2 * number)
            if value is None:
                assert text == (instead(there[key]) or "–")
                continue
            assert text == shown(spec, value, units), key
            difference = _cell(comparing, key, 2 + 2 * number)
            if difference not in ("=", "≈ 0"):
                gap = apart[key]
                assert gap is not None and difference == shown(spec, gap, units, signed=True), key


def test_signs_stand_where_the_readings_have_a_verdict(comparing: CompareWindow, driver: Driver) -> None:
    now = driver.window.readout.readings
    for key in ("cla_fraction", "fin_volume", "static_margin", "side_area"):
        assert comparing.model.index(_row(comparing, key), 0).data(VERDICT) == now[key].verdict
    index = comparing.model.index(_row(comparing, "cla_fraction"), 0)
    assert index.data(Qt.ItemDataRole.AccessibleTextRole).endswith(f"{now['cla_fraction'].verdict} the range")


def test_what_is_the_same_is_said_by_one_sign(comparing: CompareWindow) -> None:
    assert _cell(comparing, "wing_area", 2) == "=" == _cell(comparing, "wing_span", 4)
    assert _cell(comparing, "cla_fraction", 2) != "="


def test_columns_are_chosen(comparing: CompareWindow, driver: Driver) -> None:
    assert comparing.model.columnCount() == 5
    first = comparing.menu.actions()[0]
    assert first.text() == "as drawn" and first.isChecked()
    first.trigger()
    assert comparing.model.columnCount() == 3
    heads = [comparing.model.headerData(i, Qt.Orientation.Horizontal) for i in range(3)]
    assert heads == ["Now", "40 mm nose", "40 mm nose less Now"]
    comparing.menu.actions()[0].trigger()
    assert comparing.model.columnCount() == 5


def test_it_copies_what_is_shown_as_text(comparing: CompareWindow, driver: Driver) -> None:
    QTest.mouseClick(comparing.copy_button, LEFT)
    lines = QGuiApplication.clipboard().text().splitlines()
    assert lines[0] == "Reading\tNow\tas drawn\tas drawn less Now\t40 mm nose\t40 mm nose less Now"
    cells = next(line for line in lines if line.startswith("CLA fraction")).split("\t")
    reading = driver.window.readout.readings["cla_fraction"]
    assert reading.value is not None and len(cells) == 6
    assert cells[1] == f"{100 * reading.value:.1f} % ({reading.verdict})"
    assert "Copied" in comparing.words.text()


def test_it_follows_the_design_when_the_hand_pauses(comparing: CompareWindow, driver: Driver) -> None:
    document = driver.window.document
    before = _cell(comparing, "fin_area", 0)
    document.begin("scale")
    document.preview(design_at(document.committed, "fin", 1.3))
    assert _cell(comparing, "fin_area", 0) == before
    driver.until(lambda: _cell(comparing, "fin_area", 0) != before)
    document.abort()
    driver.until(lambda: _cell(comparing, "fin_area", 0) == before)
    kept = document.design.alternatives[0].id
    document.apply("rename", lambda d: rename(d, kept, "the plan"))
    driver.until(lambda: comparing.model.headerData(1, Qt.Orientation.Horizontal) == "the plan")


def test_nothing_kept_says_what_to_do(comparing: CompareWindow, driver: Driver) -> None:
    driver.window.document.start(bare_sample())
    driver.until(lambda: comparing.words.text() == NOTHING_KEPT)
    assert comparing.model.columnCount() == 1 and not comparing.columns_button.isEnabled()


def test_many_states_begin_with_the_last_three(driver: Driver) -> None:
    design = bare_sample()
    for number in range(5):
        design = keep(design, f"state number {number} with a name too long for any heading")
    driver.open_outlines(design)
    window = CompareWindow(driver.window.beside)
    assert [kept.label[:14] for kept in window.shown] == [f"state number {n}" for n in (2, 3, 4)]
    heading = window.model.headerData(1, Qt.Orientation.Horizontal)
    assert isinstance(heading, str) and heading.endswith("…") and len(heading) <= 22
    window.close()
    QApplication.sendPostedEvents(window, QEvent.Type.DeferredDelete)


def test_closed_it_is_gone_and_hears_nothing_more(driver: Driver) -> None:
    driver.open_outlines(_laden())
    window = CompareWindow(driver.window.beside)
    window.show()
    window.set_theme(NIGHT)
    assert not window.isModal()
    gone = []
    window.destroyed.connect(lambda: gone.append(True))
    window.close()
    QApplication.sendPostedEvents(window, QEvent.Type.DeferredDelete)
    assert gone
    driver.window.document.apply("scale", lambda d: design_at(d, "fin", 1.2))
    driver.settle()


def test_the_heading_of_the_answer_says_what_is_said_of_each_state(driver: Driver) -> None:
    from core.redesign.alternatives import keep
    from core.redesign.refit import refit

    design = bare_sample("tallow-twin")
    unflyable = refit(design, "cg", "cla_fraction", 0.25).design
    driver.open_outlines(replace(keep(unflyable, "CG aft"), cg_mark=design.cg_mark, weights=design.weights))
    dialog = CompareWindow(driver.window.beside)
    dialog.show()
    driver.settle()
    model = dialog.model
    assert [model.text(model.index(0, column)) for column in (0, 1, 2)] == [
        "above the aim", "do not fly it so", "",
    ]
    assert "do not fly it so" in model.as_text().splitlines()[1]
    dialog.close()
    driver.settle()
