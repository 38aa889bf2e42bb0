"""The panel of wings and tailplanes, driven by keys and clicks as a builder does."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from driving import CTRL, FREE, LEFT, bare_sample
from msgspec.structs import replace
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QToolButton
from pytestqt.qtbot import QtBot
from surfaces_bench import BOTH, WING, Bench

from app.kit.theme import NIGHT
from app.panels.surface_form import ROWS
from core.design import EMPTY, Mark, Station, Wing
from core.redesign.surface_edits import Measure, measure
from core.redesign.surface_lists import Which
from core.stability.surfaces import SurfaceForm, surface_form

Make = Callable[..., Bench]


@pytest.fixture
def bench(qtbot: QtBot) -> Make:
    return lambda design=BOTH, width=260: Bench(qtbot, design, width)


# Nothing there yet


def test_without_a_wing_one_line_and_the_buttons(bench: Make) -> None:
    b = bench(EMPTY)
    assert b.panel.empty.isVisible()
    assert not b.panel.form.isVisible()
    assert not b.panel.list.isVisible()
    assert b.panel.buttons["wing"].isEnabled()
    assert not b.panel.buttons["remove"].isEnabled()


def test_a_wing_is_added_with_numbers_that_say_they_are_not_measured(bench: Make) -> None:
    b = bench(replace(EMPTY, cg_mark=Mark(300, 20)))
    b.press(b.panel.buttons["wing"])
    assert b.document.undo_name == "add wing"
    assert (b.wing.label, b.panel.chosen) == ("Wing", Which("wings", "wing"))
    assert b.wing.stations[0].le_x < 300 < b.wing.stations[0].le_x + b.wing.stations[0].chord
    # Ready to type over.
    assert b.field("span").hasFocus()
    assert b.field("span").selectedText() == b.field("span").text()
    assert "not measured yet: span, root chord" in b.panel.form.first.text()
    QTest.keyClicks(b.field("span"), "1320")
    QTest.keyClick(b.field("span"), Qt.Key.Key_Return)
    assert "not measured yet: root chord" in b.panel.form.first.text()
    for key in (
        "root_chord", "tip_chord", "tip_offset", "dihedral_deg", "root_x", "root_z", "incidence_deg",
        "thickness",
    ):
        b.type(b.field(key), "10 %" if key == "thickness" else "3")
    # Typing what stands there already is measuring it, too.
    assert b.panel.form.first.isVisible()
    b.type(b.field("camber"), "0")
    assert not b.panel.form.first.isVisible()
    while b.document.undo_name is not None:
        b.document.undo()
    assert b.panel.empty.isVisible()
    assert b.panel.chosen is None


def test_a_tailplane_and_a_biplane(bench: Make) -> None:
    b = bench(EMPTY)
    for name in ("wing", "tailplane"):
        b.press(b.panel.buttons[name])
    assert b.panel.chosen == Which("tailplanes", "tailplane")
    assert b.field("elevator").isVisible()
    b.panel.list.setFocus()
    QTest.keyClick(b.panel.list, Qt.Key.Key_Up)
    assert b.panel.chosen == Which("wings", "wing")
    assert not b.field("elevator").isVisible()
    assert not b.panel.form.together.isVisible()
    b.press(b.panel.buttons["duplicate"])
    assert b.document.undo_name == "duplicate wing"
    assert [w.label for w in b.document.design.wings] == ["Wing", "Wing 2"]
    assert b.panel.form.together.text().startswith("Both wings together: ")
    # A copy of what nobody has measured is not measured either.
    assert b.panel.form.first.isVisible()
    b.press(b.panel.buttons["remove"])
    assert b.document.undo_name == "delete wing"
    assert b.panel.chosen == Which("wings", "wing")
    b.document.undo()
    assert len(b.document.design.wings) == 2


# Typing


@pytest.mark.parametrize(
    ("key", "text", "wanted", "undo"),
    [
        ("span", "52 in", 52 * 25.4, "set wing span"),
        ("root_chord", "8 1/2 in", 8.5 * 25.4, "set wing root chord"),
        ("tip_chord", "17 cm", 170.0, "set wing tip chord"),
        ("tip_offset", "-20", -20.0, "set wing sweep"),
        ("sweep_deg", "5", 5.0, "set wing sweep"),
        ("tip_rise", "1 m", 1000.0, "set wing dihedral"),
        ("dihedral_deg", "3 deg", 3.0, "set wing dihedral"),
        ("root_x", "300", 300.0, "set wing place"),
        ("root_z", "-10", -10.0, "set wing height"),
        ("incidence_deg", "1 deg 30'", 1.5, "set wing incidence"),
        ("thickness", "9 %", 0.09, "set wing section thickness"),
        ("camber", "2.5", 0.025, "set wing section camber"),
        ("camber_at", "0.3", 0.3, "set wing place of camber"),
    ],
)
def test_a_measure_typed_is_one_entry_of_undo(
    bench: Make, key: Measure, text: str, wanted: float, undo: str
) -> None:
    b = bench()
    b.type(b.field(key), text)
    assert measure(b.wing, key) == pytest.approx(wanted, abs=1e-9)
    assert b.document.undo_name == undo
    assert b.document.design.tailplanes == BOTH.tailplanes
    b.document.undo()
    assert b.document.design == BOTH
    assert b.document.undo_name is None
    assert not b.said


def test_fields_show_the_builders_units_and_follow(bench: Make) -> None:
    b = bench()
    assert b.field("span").text() == "1320.0 mm"
    b.document.apply("change units", lambda d: replace(d, display_units="in64"))
    assert b.field("root_chord").text() == "8 21/32 in"  # 220 mm = 8.661 in = 8 42.3/64 in
    b.type(b.field("root_chord"), "8 1/2")
    assert b.wing.stations[0].chord == pytest.approx(8.5 * 25.4)
    assert b.field("root_chord").text() == "8 1/2 in"
    # The other way to give the same measure follows.
    before = b.field("sweep_deg").text()
    b.type(b.field("tip_offset"), "3 in")
    assert b.field("sweep_deg").text() != before


def test_leaving_a_field_enters_it_and_looking_does_not(bench: Make) -> None:
    odd = replace(WING, stations=(Station(0, 250.04, 220), Station(660, 262, 190)))
    b = bench(replace(BOTH, wings=(odd,)))
    b.field("root_x").setFocus()
    QTest.keyClick(b.field("root_x"), Qt.Key.Key_Tab)
    assert b.field("root_z").hasFocus()
    assert b.document.undo_name is None
    b.type(b.field("root_x"), "255", Qt.Key.Key_Tab)
    assert b.wing.stations[0].le_x == 255


def test_bad_input_says_a_sentence_and_loses_nothing(bench: Make) -> None:
    b = bench()
    for key, text, words in (
        ("span", "12 furlongs", "unknown unit"), ("span", "0", "more than nothing"),
        ("root_chord", "-5", "root chord of the wing"), ("dihedral_deg", "85", "too steep"),
        ("camber", "100", "camber"), ("thickness", "", "No fraction stands here"),
    ):
        b.said.clear()
        field = b.field(key)  # type: ignore[arg-type]
        before = field.text()
        field.setFocus()
        field.clear()
        QTest.keyClicks(field, text)
        field.setModified(True)
        QTest.keyClick(field, Qt.Key.Key_Return)
        assert words in b.said[-1]
        # Still there to be mended; put back when it is left.
        assert field.text() == text
        assert b.document.design == BOTH
        QTest.keyClick(field, Qt.Key.Key_Tab)
        assert field.text() == before
    assert b.document.undo_name is None
    b.type(b.field("span"), "1400")
    assert measure(b.wing, "span") == 1400


def test_a_field_in_use_is_not_overwritten(bench: Make) -> None:
    b = bench()
    field = b.field("span")
    field.setFocus()
    QTest.keyClick(field, Qt.Key.Key_A, CTRL)
    QTest.keyClicks(field, "14")
    b.document.apply("elsewhere", lambda d: replace(d, wings=(replace(WING, incidence_deg=4.0),)))
    assert field.text() == "14"
    assert b.field("incidence_deg").text() == "4.0°"
    QTest.keyClicks(field, "00")
    QTest.keyClick(field, Qt.Key.Key_Return)
    assert measure(b.wing, "span") == 1400
    assert b.wing.incidence_deg == 4.0


def test_what_is_being_typed_goes_to_the_surface_it_was_meant_for(bench: Make) -> None:
    b = bench()
    field = b.field("span")
    field.setFocus()
    QTest.keyClick(field, Qt.Key.Key_A, CTRL)
    QTest.keyClicks(field, "1400")
    row = b.panel.list.visualItemRect(b.panel.list.item(1))
    QTest.mouseClick(b.panel.list.viewport(), LEFT, FREE, row.center())
    assert b.panel.chosen == Which("tailplanes", "tailplane")
    assert measure(b.wing, "span") == 1400
    assert b.document.design.tailplanes == BOTH.tailplanes
    assert field.text() == "460.0 mm"


def test_label_tick_and_elevator(bench: Make) -> None:
    b = bench()
    b.type(b.panel.form.label, "Upper wing")
    assert (b.wing.label, b.document.undo_name) == ("Upper wing", "rename wing")
    b.panel.form.counts.setFocus()
    QTest.keyClick(b.panel.form.counts, Qt.Key.Key_Space)
    assert (b.wing.in_side_area, b.document.undo_name) == (False, "leave out wing")
    b.document.undo()
    assert b.panel.form.counts.isChecked()
    b.panel.choose(Which("tailplanes", "tailplane"))
    b.type(b.field("elevator"), "40")
    assert b.document.design.tailplanes[0].elevator_chord_fraction == 0.4
    assert b.document.undo_name == "set tailplane elevator"


def test_the_side_area_follows(bench: Make) -> None:
    b = bench()
    before = b.readout.readings.value("side_area")
    b.type(b.field("thickness"), "24 %")
    after = b.readout.readings.value("side_area")
    assert before is not None and after is not None
    assert after > before


# What follows


def test_the_figures_are_those_of_the_core(bench: Make) -> None:
    b = bench()
    form = surface_form(WING)
    assert isinstance(form, SurfaceForm)
    figures = b.panel.form.figures
    # Area of a trapezium: 1320 × (220 + 190)/2 mm² = 27.06 dm².
    assert figures["area"].text() == "27.06 dm²"
    assert figures["aspect_ratio"].text() == f"{1320**2 / 270600:.2f}"
    assert figures["mac"].text() == f"{form.mac:.1f} mm"
    assert figures["quarter_chord_x"].text() == f"{form.quarter_chord_x:.1f} mm"
    assert figures["dihedral_deg"].text() == f"{math.degrees(math.atan(35 / 660)):.1f}°"
    b.type(b.field("span"), "1000")
    assert figures["area"].text() == "20.50 dm²"


def test_a_surface_that_has_no_figures_says_why(bench: Make) -> None:
    b = bench(replace(EMPTY, wings=(Wing("wing", (Station(0, 100, 200),)),)))
    assert b.panel.form.figures["area"].text() == "–"
    assert "two stations" in b.panel.form.trouble.text()
    assert not b.field("span").isEnabled()
    b.press(b.panel.form.table.buttons["add"])
    assert b.field("span").isEnabled()
    assert b.panel.form.figures["area"].text() != "–"
    assert not b.panel.form.trouble.isVisible()


# Reach and looks


def test_everything_has_a_name_and_a_line_of_explanation(bench: Make) -> None:
    b = bench()
    for key, field in b.panel.form.fields.items():
        assert field.accessibleName()
        assert field.toolTip() == ROWS[key].tip
    for button in b.panel.findChildren(QToolButton):
        assert button.accessibleName()
        assert button.focusPolicy() & Qt.FocusPolicy.TabFocus
    assert b.panel.list.accessibleName()
    assert "Panels" in b.panel.form.table.view.accessibleName()
    model = b.panel.form.table.model
    spoken = model.data(model.index(0, 1), Qt.ItemDataRole.AccessibleTextRole)
    assert spoken == "panel 1, tip chord 190.0"


def test_tab_goes_through_the_form_and_past_the_table(bench: Make) -> None:
    b = bench()
    b.field("span").setFocus()
    reached = []
    for _ in range(24):
        focus = QApplication.focusWidget()
        assert focus is not None
        reached.append(focus.accessibleName())
        QTest.keyClick(focus, Qt.Key.Key_Tab)
    measures = [f.accessibleName() for k, f in b.panel.form.fields.items() if k != "elevator"]
    assert reached[: len(measures)] == measures
    assert b.panel.form.table.view.accessibleName() in reached
    assert b.panel.form.table.buttons["delete"].accessibleName() in reached


@pytest.mark.parametrize("slug", ["marsh-harrow-52", "long-meadow-2000", "tallow-twin"])
@pytest.mark.parametrize("units", ["mm", "in", "in64"])
def test_nothing_is_cut_off_at_240_pixels(bench: Make, slug: str, units: str) -> None:
    b = bench(replace(bare_sample(slug), display_units=units), 240)
    b.panel.resize(240, 500)
    QApplication.processEvents()
    inside = b.panel.widget()
    assert b.panel.verticalScrollBar().isVisible()
    assert inside.width() <= b.panel.viewport().width()
    for field in b.panel.form.fields.values():
        if field.isVisible():
            room = field.width() - 14
            assert field.fontMetrics().horizontalAdvance(field.text()) <= room, field.accessibleName()
            right = field.mapTo(inside, QPoint(field.width(), 0)).x()
            assert right <= b.panel.viewport().width()


def test_by_night(bench: Make) -> None:
    b = bench()
    b.panel.set_theme(NIGHT)
    assert NIGHT.paper in b.panel.form.table.view.styleSheet()
    assert b.panel._row.theme is NIGHT


def test_another_design_takes_the_place_of_the_first(bench: Make) -> None:
    b = bench(EMPTY)
    b.press(b.panel.buttons["wing"])
    assert b.panel.form.first.isVisible()
    b.document.start(BOTH)
    assert b.panel.chosen == Which("wings", "wing")
    assert not b.panel.form.first.isVisible()
    assert b.field("span").text() == "1320.0 mm"
