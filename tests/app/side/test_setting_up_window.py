"""The side window for setting up: typed by keys, each edit one entry of undo, results beside."""

from __future__ import annotations

from typing import Any

import pytest
from driving import Driver, sample
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit

from app.kit.theme import DAY, NIGHT
from app.side.bench_table import BenchTable
from app.side.linkages import wanted_throw
from app.side.setting_up_window import SettingUpWindow
from core.bench.linkage import Throw, throw_of
from core.bench.pin import pin_of, place_of
from core.bench.taut import body_of
from core.design import Bench, Design, Mark
from core.design_bench import Linkage, ScaleReading, Weighing
from core.redesign.outline_edits import EditError
from core.units import format_angle, format_length

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise)")
Key = Qt.Key
ROD = Linkage("rod", 12.0, 16.0, 60.0, "Rudder rod")
PAIR = Linkage("pair", 15.0, 18.0, 80.0, "Rudder wires", horn_set_back=4.0, pull_pull=True)
READY = Weighing("ready", (ScaleReading(750.0, 250.0), ScaleReading(250.0, 650.0)), "Ready to fly")
LADEN = Bench((ROD, PAIR), (READY,))


class Desk:
    """The side window with a design of linkages and weighings, and a person who types into it."""

    def __init__(self, driver: Driver, design: Design) -> None:
        driver.window.document.start(design)
        driver.settle()
        self.driver, self.document = driver, driver.window.document
        found = driver.window.side.show("setting-up")
        assert isinstance(found, SettingUpWindow)
        self.side = found
        found.activateWindow()
        driver.settle()

    @property
    def bench(self) -> Bench:
        return self.document.design.bench

    @property
    def table(self) -> BenchTable:
        panel = self.side.tabs.currentWidget()
        return panel.table  # type: ignore[attr-defined, no-any-return]

    def column(self, key: str) -> int:
        return [column.key for column in self.table._rows.columns].index(key)

    def cell(self, row: int, key: str) -> str:
        return str(self.table._rows.index(row, self.column(key)).data())

    def field(self, row: int, key: str) -> Any:
        index = self.table._rows.index(row, self.column(key))
        self.table.setCurrentIndex(index)
        self.table.edit(index)
        return self.fields()[0]

    def fields(self) -> list[Any]:
        QApplication.processEvents()
        view = self.table.viewport()
        return [f for kind in (QLineEdit, QComboBox) for f in view.findChildren(kind) if f.isVisible()]

    def type(self, row: int, key: str, text: str) -> None:
        field = self.field(row, key)
        field.selectAll()
        QTest.keyClick(field, Key.Key_Delete)
        QTest.keyClicks(field, text)
        QTest.keyClick(field, Key.Key_Return)
        QApplication.processEvents()


@pytest.fixture
def at_bench(driver: Driver) -> Any:
    opened: list[Desk] = []

    def open_(bench: Bench = LADEN, **more: Any) -> Desk:
        design = replace(sample("long-meadow-2000").design, scans=(), bench=bench, **more)
        opened.append(Desk(driver, design))
        return opened[-1]

    yield open_
    for one in opened:
        one.side.close()
    driver.settle()


@pytest.mark.parametrize(("key", "text", "field", "value", "name"), [
    ("horn", "3/4 in", "horn", 19.05, "set horn of Rudder rod"),
    ("servo_travel_deg", "40°", "servo_travel_deg", 40.0, "set servo travel of Rudder rod"),
    ("crank_in", "14", "crank_in", 14.0, "set bell crank, servo side of Rudder rod"),
    ("horn_set_back", "-2", "horn_set_back", -2.0, "set set-back of the horn of Rudder rod"),
    ("label", "Pushrod", "label", "Pushrod", "set label of Rudder rod"),
])
def test_a_typed_cell_is_one_entry_of_undo(
    at_bench: Any, key: str, text: str, field: str, value: object, name: str
) -> None:
    b = at_bench()
    b.type(0, key, text)
    assert getattr(b.bench.linkages[0], field) == (
        pytest.approx(value) if isinstance(value, float) else value
    )
    assert b.document.undo_name == name and b.bench.linkages[1] is PAIR
    QTest.keyClick(b.side, Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert b.bench.linkages == (ROD, PAIR) and b.document.undo_name is None


def test_results_stand_beside_and_follow(at_bench: Any) -> None:
    b = at_bench()
    for linkage in (ROD, replace(ROD, horn=20.0)):
        if linkage is not ROD:
            b.type(0, "horn", "20")
        found = throw_of(linkage)
        assert isinstance(found, Throw)
        edge = format_length(found.at_edge(found.least), "mm")
        assert b.cell(0, "throw") == f"{edge}, {format_angle(found.least)}"
    assert b.cell(0, "check") == "good" and b.cell(1, "check") == "1.3 mm slack"
    b.table.setCurrentIndex(b.table._rows.index(1, 0))
    assert "loose at full throw" in b.side.linkages.minds.text()
    assert "182.7 mm needed, 184.0 mm given" in b.side.linkages.lines.text()
    b.driver.window.edits.set_units("in64")
    assert b.cell(0, "horn") == "25/32" and b.cell(1, "check") == "3/64 in slack"


def test_choosing_pull_pull_and_what_it_moves(at_bench: Any) -> None:
    b = at_bench()
    for key, choice, field, value in (
        ("pull_pull", "pull-pull", "pull_pull", True), ("moves", "elevator", "moves", "elevator")
    ):
        box = b.field(0, key)
        assert isinstance(box, QComboBox)
        box.setCurrentText(choice)
        box.activated.emit(box.currentIndex())
        QApplication.processEvents()
        assert getattr(b.bench.linkages[0], field) == value


@pytest.mark.parametrize(("key", "text", "words"), [
    ("horn", "long", "is not a length"), ("horn", "0", "needs a length greater than 0"),
    ("servo_travel_deg", "120", "between 0° and 90°"),
])
def test_bad_input_says_a_sentence_and_loses_nothing(at_bench: Any, key: str, text: str, words: str) -> None:
    b = at_bench()
    b.type(0, key, text)
    said = b.side.foot.said.text()
    assert words in said and said.endswith(".") and said.count("\n") == 0
    assert b.bench.linkages == (ROD, PAIR) and b.document.undo_name is None
    (field,) = b.fields()
    assert field.text() == text
    QTest.keyClick(field, Key.Key_Escape)
    b.type(0, "horn", "17")
    assert b.side.foot.said.text() == ""


def test_add_duplicate_remove(at_bench: Any) -> None:
    b = at_bench(Bench())
    panel = b.side.linkages
    assert panel.empty.isVisible() and not panel.table.isVisible() and not panel.copy_button.isEnabled()
    QTest.mouseClick(panel.add_button, Qt.MouseButton.LeftButton)
    (field,) = b.fields()
    QTest.keyClicks(field, "Wires")
    QTest.keyClick(field, Key.Key_Return)
    QApplication.processEvents()
    assert [one.label for one in b.bench.linkages] == ["Wires"]
    # It begins with the chord of the rudder as drawn.
    assert b.bench.linkages[0].surface_chord == pytest.approx(81.1)
    QTest.mouseClick(panel.copy_button, Qt.MouseButton.LeftButton)
    assert len(b.bench.linkages) == 2 and b.document.undo_name == "duplicate linkage"
    b.table.setFocus()
    QTest.keyClick(b.table, Key.Key_Delete)
    assert len(b.bench.linkages) == 1
    QTest.mouseClick(panel.delete_button, Qt.MouseButton.LeftButton)
    assert not b.bench.linkages and panel.empty.isVisible()
    b.document.undo()
    assert len(b.bench.linkages) == 1 and panel.table.isVisible()


def test_the_horn_for_a_wanted_throw(at_bench: Any) -> None:
    b = at_bench()
    panel = b.side.linkages
    assert panel.wanted.text() == format_angle(b.document.design.flight.rudder_throw_deg)
    panel.wanted.setFocus()
    panel.wanted.selectAll()
    QTest.keyClicks(panel.wanted, "30 mm")
    QTest.keyClick(panel.wanted, Key.Key_Return)
    # 30 mm of a chord of 60 mm: 30°.
    assert panel.wanted.text() == "30.0°" and "a horn of" in panel.horn_words.text()
    QTest.mouseClick(panel.use_horn, Qt.MouseButton.LeftButton)
    found = throw_of(b.bench.linkages[0])
    assert isinstance(found, Throw) and found.least == pytest.approx(30.0, abs=1e-5)
    assert b.document.undo_name == "set horn"
    panel.wanted.selectAll()
    QTest.keyClicks(panel.wanted, "85")
    QTest.keyClick(panel.wanted, Key.Key_Return)
    assert "up to 80°" in panel.horn_words.text() and not panel.use_horn.isEnabled()


def test_a_distance_longer_than_the_chord_is_refused() -> None:
    assert wanted_throw('1"', replace(ROD, surface_chord=50.8), "mm") == pytest.approx(30.0)
    with pytest.raises(EditError, match="moves less than the chord"):
        wanted_throw("60 mm", ROD, "mm")


def test_weighing_scale_by_scale(at_bench: Any) -> None:
    b = at_bench(Bench((), (READY,)), cg_mark=Mark(320.0), cg_from="mark", weights=())
    b.side.tabs.setCurrentIndex(1)
    assert b.cell(0, "mass") == "1000 g" and b.cell(0, "cg") == "350.0 mm" and b.cell(0, "x3") == ""
    # 30 mm too far aft; lead at the nose.
    assert b.cell(0, "lead").startswith("93.") and b.cell(0, "off") == "–"
    b.type(0, "grams3", "500")
    b.type(0, "x3", "800")
    assert b.bench.weighings[0].supports[2] == ScaleReading(500.0, 800.0)
    assert b.cell(0, "cg") == "500.0 mm" and b.cell(0, "mass") == "1500 g"
    assert b.document.undo_name == "set station of scale 3 of weighing"
    b.type(0, "grams3", "")
    assert len(b.bench.weighings[0].supports) == 2
    b.type(0, "grams1", "heavy")
    assert "is not a mass" in b.side.foot.said.text()
    QTest.keyClick(b.fields()[0], Key.Key_Escape)
    QTest.mouseClick(b.side.weighing.add_button, Qt.MouseButton.LeftButton)
    # The scales stand where they stood before.
    assert [s.x for s in b.bench.weighings[1].supports] == [250.0, 650.0]
    QTest.keyClick(b.fields()[0], Key.Key_Escape)
    assert "scales read nothing" in b.side.weighing.lines.text()


def test_colours_follow_and_a_small_window_holds_it(at_bench: Any) -> None:
    b = at_bench()
    b.driver.window.side.set_theme(NIGHT)
    assert NIGHT.paper in b.table.styleSheet()
    b.driver.window.side.set_theme(DAY)
    b.side.resize(700, 400)
    b.driver.settle()
    assert (b.side.width(), b.side.height()) == (700, 400)
    assert b.side.foot.print_button.mapTo(b.side, b.side.foot.print_button.rect().bottomRight()).x() < 700


# The pin, and the sheet as it will be


def on_sheet(b: Desk) -> None:
    b.side.tabs.setCurrentWidget(b.side.sheet_tab)
    b.driver.until(lambda: bool(b.side.preview.pages) and not b.side.worker.busy)


def test_the_sheet_is_shown_and_follows(at_bench: Any) -> None:
    b = at_bench()
    assert not b.side.preview.pages
    on_sheet(b)
    before = b.side.preview.pages[0]
    b.document.apply("mark CG", lambda d: replace(d, cg_mark=Mark(333.0, 20.0)))
    b.driver.until(lambda: b.side.preview.pages[0] is not before)
    assert b.side.preview.pages[0] != before


def test_the_pin_is_typed_told_kept_and_taken_back(at_bench: Any) -> None:
    b = at_bench()
    on_sheet(b)
    box, design = b.side.pin, b.document.design
    root = design.wings[0].stations[0]
    assert not box.put.isEnabled() and not box.by_itself.isEnabled()
    box.along.line.selectAll()
    QTest.keyClicks(box.along.line, "300")
    box.above.line.selectAll()
    QTest.keyClicks(box.above.line, "5 mm")
    assert "300.0 mm behind" in box.words.text() and "5.0 mm above the body" in box.words.text()
    assert b.bench.pin is None and box.put.isEnabled()
    QTest.mouseClick(box.put, Qt.MouseButton.LeftButton)
    hull = body_of(design)
    assert hull is not None and b.bench.pin is not None
    top = hull.top_at(root.le_x + 300)
    assert top is not None
    assert (b.bench.pin.x, b.bench.pin.z) == pytest.approx((root.le_x + 300, top + 5))
    assert b.document.undo_name == "place the pin"
    b.document.undo()
    assert b.bench.pin is None
    b.document.redo()
    QTest.mouseClick(box.by_itself, Qt.MouseButton.LeftButton)
    assert b.bench.pin is None and b.document.undo_name == "let the pin stand by itself"
    place = place_of(b.document.design, pin_of(b.document.design))
    assert box.along.value == pytest.approx(place.behind_wing)


def test_a_pin_inside_the_body_is_told(at_bench: Any) -> None:
    b = at_bench()
    on_sheet(b)
    b.driver.type_into(b.side.pin.above.line, "-20")
    assert "the pin stands inside the body" in b.side.pin.words.text()
    b.driver.type_into(b.side.pin.along.line, "twelve")
    assert "not a length" in b.side.pin.words.text() or "“twelve”" in b.side.pin.words.text()
    assert not b.side.pin.put.isEnabled()
