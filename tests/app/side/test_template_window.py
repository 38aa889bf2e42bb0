"""The window that makes templates: the preview before anything is written, writing, stopping, faults."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from driving import Driver, bare_sample
from msgspec.structs import replace as changed
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog

from app.kit.theme import DAY, NIGHT
from app.side.template_window import TemplateWindow
from app.work.selection import Selection
from core.design import Scan
from core.redesign.alternatives import keep

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise|grabbing)")
PATIENCE_S = 20.0
LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def opened(driver: Driver) -> Iterator[tuple[Driver, TemplateWindow]]:
    driver.open_outlines(changed(bare_sample(), display_units="mm"))
    dialog = driver.window.side.show("template")
    assert isinstance(dialog, TemplateWindow)
    driver.until(lambda: dialog._plan is not None)
    yield driver, dialog
    if "template" in driver.window.side._open:
        dialog.close()
    driver.settle()


def asked(driver: Driver, dialog: TemplateWindow) -> None:
    """Wait until the pages for what is asked now are there."""
    driver.until(lambda: not dialog._soon.isActive() and not dialog.planner.busy)


def saves_to(monkeypatch: pytest.MonkeyPatch, path: Path | str) -> None:
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(path), ""))


def test_it_begins_with_fin_and_rudder_and_shows_the_page(opened: tuple[Driver, TemplateWindow]) -> None:
    _, dialog = opened
    assert dialog.form.ticked() == ("fin", "rudder")
    plan = dialog.view.plan
    assert plan is not None and [p.id for p in plan.drawing.pieces] == ["fin", "rudder"]
    assert dialog.count.text() == "1 page." and dialog.foot.write_button.isEnabled()
    assert "All of it measures 169.3 mm by" in dialog.notes.text()
    assert not dialog.isModal()
    assert dialog.view.accessibleDescription() == "Pages A1; 0 left out"


def test_it_begins_with_what_is_selected(driver: Driver) -> None:
    driver.open_outlines(bare_sample())
    driver.window.picked.set(Selection(("wheels",)))
    dialog = driver.window.side.show("template")
    assert isinstance(dialog, TemplateWindow)
    assert dialog.form.ticked() == ("wheels",)
    driver.until(lambda: dialog._plan is not None)
    dialog.close()
    driver.settle()


def test_fields_change_the_preview(opened: tuple[Driver, TemplateWindow]) -> None:
    driver, dialog = opened
    form = dialog.form
    driver.window.document.apply("keep", lambda d: keep(d, "as drawn"))
    QTest.mouseClick(form.all_button, LEFT)
    assert not dialog.foot.write_button.isEnabled()
    asked(driver, dialog)
    assert dialog._plan is not None and dialog._plan.choice.outlines == ()
    assert "would be blank" in dialog.count.text() and dialog._plan.pages > 3
    for combo, words in (
        (form.paper, "Tabloid"), (form.way, "landscape"), (form.line, "inner: the line goes"),
        (form.beside, "as drawn"), (form.turn, "a quarter"), (form.blank, "all within the pieces"),
    ):
        combo.setCurrentIndex(combo.findText(words))
        assert combo.currentText() == words
        combo.activated.emit(combo.currentIndex())
    for field, text in ((form.scale, "1:2"), (form.overlap, "1/2 in"), (form.margin, "12")):
        driver.type_into(field, text)
    form.mirror.click()
    asked(driver, dialog)
    choice = dialog._plan.choice
    assert (choice.paper.name, choice.landscape, choice.line, choice.beside) == (
        "Tabloid", True, "inner", "as-drawn")
    assert (choice.turn, choice.blank, dialog._plan.turn) == (90.0, "all", 90.0)
    assert dialog.notes.text().startswith("Turned 90° anticlockwise; grain, datum and level lines")
    assert (choice.scale, choice.overlap, choice.margin, choice.mirror) == (0.5, 12.7, 12.0, True)
    assert form.roll.isHidden()
    form.paper.setCurrentIndex(form.paper.findText("Roll"))
    form.paper.activated.emit(form.paper.currentIndex())
    assert not form.roll.isHidden() and not form.way.isEnabled()
    driver.type_into(form.roll, "24 in")
    asked(driver, dialog)
    assert dialog._plan.height == pytest.approx(609.6) and "1 page, " in dialog.count.text()
    assert dialog.count.text().endswith(" mm long.")


def test_what_cannot_be_taken_is_said_where_the_pages_would_be(opened: tuple[Driver, TemplateWindow]) -> None:
    driver, dialog = opened
    for field, text, words in (
        (dialog.form.scale, "1:99", "Scale: give one between"),
        (dialog.form.scale, "big", "Scale: “big” is not a number"),
        (dialog.form.overlap, "10 miles", "Overlap: “10 miles” has the unknown unit"),
        (dialog.form.overlap, "90", "The overlap must lie between"),
    ):
        before = field.text()
        driver.type_into(field, text)
        asked(driver, dialog)
        assert words in dialog.view._words and not dialog.foot.write_button.isEnabled()
        assert not dialog.foot.print_button.isEnabled() and field.text() == text
        driver.type_into(field, before)
    QTest.mouseClick(dialog.form.none_button, LEFT)
    asked(driver, dialog)
    assert dialog.view._words == "No outline is ticked: tick at least one."


def test_it_follows_the_design(opened: tuple[Driver, TemplateWindow]) -> None:
    driver, dialog = opened
    document = driver.window.document

    def longer(design):  # type: ignore[no-untyped-def]
        fin = design.outline("fin")
        taller = changed(fin, nodes=tuple(changed(n, z=n.z + (60 if n.z > 100 else 0)) for n in fin.nodes))
        return changed(design, outlines=tuple(taller if o.id == "fin" else o for o in design.outlines))

    before = dialog._plan
    assert before is not None
    document.apply("taller", longer)
    asked(driver, dialog)
    driver.until(lambda: dialog._plan is not None)
    assert dialog._plan.drawing.box[3] > before.drawing.box[3] + 30
    driver.window.edits.set_units("in")
    asked(driver, dialog)
    assert dialog.form.overlap.text() == "0.39 in" and " in by " in dialog.notes.text()
    document.apply("no scale", lambda d: changed(d, scans=(Scan("p", "p.png", scale_from="none"),)))
    asked(driver, dialog)
    driver.until(lambda: "Set the scale of the scan" in dialog.view._words)
    assert not dialog.foot.write_button.isEnabled()


def test_it_is_dressed_by_day_and_by_night_and_fits_a_small_screen(
    opened: tuple[Driver, TemplateWindow]
) -> None:
    driver, dialog = opened
    dialog.resize(900, 560)
    driver.settle()
    assert dialog.size().toTuple() == (900, 560)
    corners = {}
    for theme in (NIGHT, DAY):
        dialog.set_theme(theme)
        corners[theme] = dialog.view.grab().toImage().pixelColor(2, 2).name()
        assert corners[theme] == theme.desk
    assert corners[NIGHT] != corners[DAY]
