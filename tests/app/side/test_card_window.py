"""The card copy's window: what is asked for is laid out, what was measured is kept and read."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from driving import CTRL, Driver, bare_sample
from PySide6.QtCore import QEvent, Qt
from PySide6.QtWidgets import QApplication

from app.kit.theme import DAY, NIGHT
from app.paper.card_layout import nose_of
from app.side.card_window import CardWindow
from core.design import Mark
from core.design_file import read
from core.redesign.design_edits import set_cg

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise)")


@pytest.fixture
def card(driver: Driver) -> Iterator[CardWindow]:
    driver.open_outlines(bare_sample("long-meadow-2000"))
    driver.do("card")
    window = driver.window.side.show("card")
    assert isinstance(window, CardWindow)
    window.paper.setCurrentIndex(window.paper.findData("a4"))
    driver.until(lambda: window.sheets is not None and not window.worker.busy)
    yield window
    window.close()
    QApplication.sendPostedEvents(window, QEvent.Type.DeferredDelete)


def settled(driver: Driver, card: CardWindow) -> None:
    driver.until(lambda: not card.worker.busy and not card._soon.isActive())


def test_the_sheet_is_shown_and_its_scale_said(card: CardWindow, driver: Driver) -> None:
    assert card.note.text() == "1:3.97, 1 sheet of A4"
    assert len(card.preview.pages) == 1
    assert card.foot.write_button.isEnabled() and card.foot.print_button.isEnabled()


def test_paper_and_scale_are_followed(card: CardWindow, driver: Driver) -> None:
    card.paper.setCurrentIndex(card.paper.findData("tabloid"))
    settled(driver, card)
    assert card.note.text() == "1:2.67, 1 sheet of Tabloid"
    line = card.scale.lineEdit()
    assert line is not None
    driver.type_into(line, "1:3.7")
    settled(driver, card)
    assert card.sheets is not None and card.sheets.ratio == pytest.approx(3.7)
    assert card.note.text() == "1:3.7, 1 sheet of Tabloid"


def test_what_cannot_be_laid_out_is_said_and_nothing_is_written(card: CardWindow, driver: Driver) -> None:
    line = card.scale.lineEdit()
    assert line is not None
    driver.type_into(line, "1:1")
    settled(driver, card)
    assert "choose 1:4 or smaller" in card.preview.paper.words
    assert not card.foot.write_button.isEnabled() and not card.foot.print_button.isEnabled()
    driver.type_into(line, "a lot")
    settled(driver, card)
    assert "“a lot” is not a number" in card.preview.paper.words
    driver.type_into(line, "fit")
    settled(driver, card)
    assert card.foot.write_button.isEnabled() and card.preview.pages


def test_more_sheets_are_turned_by_key(card: CardWindow, driver: Driver) -> None:
    driver.open_outlines(bare_sample("tallow-twin"))
    card.scale.setCurrentText("4")
    card._asked()
    settled(driver, card)
    assert len(card.preview.pages) == 2
    assert card.preview._where.text() == "sheet 1 of 2" and not card.preview.back.isEnabled()
    driver.key(Qt.Key.Key_PageDown, on=card.preview.paper)
    assert card.preview._where.text() == "sheet 2 of 2" and not card.preview.on.isEnabled()


def test_over_several_sheets_at_full_size_or_at_the_scale(card: CardWindow, driver: Driver) -> None:
    card.tiled.click()
    settled(driver, card)
    assert card.sheets is not None and card.sheets.tiling is not None and card.sheets.ratio == 1.0
    assert card.note.text() == f"1:1, {1 + len(card.sheets.tiling.tiles)} sheets of A4"
    card.scale.setCurrentText("1:2")
    card._asked()
    settled(driver, card)
    assert card.sheets.ratio == 2.0 and card.foot.write_button.isEnabled()
    card.tiled.click()
    settled(driver, card)
    assert card.sheets is None and "choose 1:4 or smaller" in card.preview.paper.words


def test_it_follows_the_design(card: CardWindow, driver: Driver) -> None:
    before = card.sheets
    driver.window.document.apply("mark CG", lambda d: set_cg(d, 390.0, 30.0))
    driver.until(lambda: card.sheets is not before)
    assert card.sheets is not None and card.sheets.readings.cg == Mark(390.0, 30.0)


def enter(card: CardWindow, driver: Driver, aft: str, above: str) -> None:
    driver.type_into(card.crossing.aft.line, aft)
    driver.type_into(card.crossing.above.line, above)


def test_the_crossing_is_kept_in_mm_of_the_design_by_one_edit(card: CardWindow, driver: Driver) -> None:
    document, before = driver.window.document, driver.design
    enter(card, driver, "134.2", "16.3 mm")
    assert card.sheets is not None
    nose, ratio = nose_of(card.sheets.plan.card), card.sheets.ratio
    kept = driver.design.bench.crossing
    assert kept is not None
    assert (kept.x, kept.z) == pytest.approx((nose[0] + 134.2 * ratio, nose[1] + 16.3 * ratio))
    assert document.undo_name == "enter the crossing"
    assert "as hung" in card.crossing.words.text()
    document.undo()
    assert driver.design == before
    assert card.crossing.aft.line.text() == "" and "Hang the card" in card.crossing.words.text()


def test_inches_are_inches_of_the_card(card: CardWindow, driver: Driver) -> None:
    enter(card, driver, "5 1/4 in", "0.5 in")
    assert card.sheets is not None
    kept, nose = driver.design.bench.crossing, nose_of(card.sheets.plan.card)
    assert kept is not None
    assert kept.x == pytest.approx(nose[0] + 5.25 * 25.4 * card.sheets.ratio)
    assert kept.z == pytest.approx(nose[1] + 0.5 * 25.4 * card.sheets.ratio)


def test_another_origin_shows_the_same_place(card: CardWindow, driver: Driver) -> None:
    enter(card, driver, "140", "12")
    kept = driver.design.bench.crossing
    box = card.crossing
    assert card.sheets is not None and kept is not None
    ratio, cg, cla = card.sheets.ratio, card.sheets.readings.cg, card.sheets.readings.cla
    assert cg is not None and cla is not None
    box.origin.setCurrentIndex(box.origin.findData("cg"))
    box._other_origin()
    assert box.aft.value == pytest.approx((kept.x - cg.x) / ratio)
    box.origin.setCurrentIndex(box.origin.findData("cla"))
    box._other_origin()
    wanted = (kept.x - cla[0]) / ratio, (kept.z - cla[1]) / ratio
    assert (box.aft.value, box.above.value) == pytest.approx(wanted)
    assert not box.enter.isEnabled()
    assert driver.design.bench.crossing == kept


def test_the_same_crossing_on_another_scale_of_card(card: CardWindow, driver: Driver) -> None:
    enter(card, driver, "140", "12")
    kept = driver.design.bench.crossing
    assert card.sheets is not None
    fitted = card.sheets.ratio
    card.scale.setCurrentText("1:8")
    card._asked()
    settled(driver, card)
    assert card.crossing.aft.value == pytest.approx(140.0 * fitted / 8.0)
    assert driver.design.bench.crossing == kept


def test_a_crossing_at_the_cla_agrees_and_can_be_taken_out(card: CardWindow, driver: Driver) -> None:
    box = card.crossing
    box.origin.setCurrentIndex(box.origin.findData("cla"))
    box._other_origin()
    enter(card, driver, "0.3", "-0.2")
    assert "It agrees" in box.words.text()
    box.forget.click()
    assert driver.design.bench.crossing is None
    assert driver.window.document.undo_name == "take the crossing out"


def test_what_cannot_be_read_is_said_and_kept(card: CardWindow, driver: Driver) -> None:
    box = card.crossing
    box.aft.line.setFocus()
    driver.key(Qt.Key.Key_A, CTRL, on=box.aft.line)
    driver.key("12 furlongs", on=box.aft.line)
    assert "unknown unit" in box.words.text() and box.aft.line.text() == "12 furlongs"
    assert not box.enter.isEnabled()


def test_what_is_typed_outlives_a_change_of_the_design(card: CardWindow, driver: Driver) -> None:
    box, before = card.crossing, card.sheets
    box.aft.line.setFocus()
    driver.key("131.5", on=box.aft.line)
    driver.window.document.apply("mark CG", lambda d: set_cg(d, 390.0, 30.0))
    driver.until(lambda: card.sheets is not before)
    assert box.aft.value == 131.5 and box.aft.line.text() == "131.5"


def test_leaving_the_scale_alone_lays_nothing_out_anew(card: CardWindow, driver: Driver) -> None:
    before, line = card.sheets, card.scale.lineEdit()
    assert line is not None
    line.setFocus()
    driver.key(Qt.Key.Key_Return, on=line)
    assert not card.worker.busy and card.sheets is before


def test_the_crossing_survives_the_file(card: CardWindow, driver: Driver, tmp_path: Path) -> None:
    enter(card, driver, "140", "12")
    driver.window.document.save(tmp_path / "kept.sternpost")
    assert read(tmp_path / "kept.sternpost").design.bench.crossing == driver.design.bench.crossing


def test_without_a_silhouette_the_next_step_is_said(card: CardWindow, driver: Driver) -> None:
    from core.design import EMPTY

    driver.open_outlines(EMPTY)
    settled(driver, card)
    assert card.preview.paper.words == "Trace the fuselage: the card needs a silhouette to glue the rest on."
    assert not card.foot.write_button.isEnabled() and not card.crossing.aft.isEnabled()


def test_it_takes_the_colours_of_the_window(card: CardWindow, driver: Driver) -> None:
    for theme in (NIGHT, DAY):
        driver.window.side.set_theme(theme)
        assert theme.paper in card.crossing.styleSheet()
        assert card.preview.paper.desk.name() == theme.desk
