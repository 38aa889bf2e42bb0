"""The panel of outlines, its form, and the clipboard."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from driving import CTRL, FREE, LEFT, SHIFT, Driver, bare_sample, fresh_readings
from msgspec.structs import replace
from PySide6.QtCore import QByteArray, QMimeData, QPoint, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox, QLineEdit

from app.panels.outlines import OUTLINE
from app.window.edit_commands import MIME
from core.design_file import encode
from core.stability.wording import percent
from core.units import format_area

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")

EYE_X, LOCK_X, NAME_X = 21, 45, 120


@pytest.fixture
def marsh(driver: Driver) -> Driver:
    driver.open_outlines(bare_sample())
    return driver


def row_of(driver: Driver, outline_id: str) -> int:
    model = driver.window.outlines._list.model()
    ids = [model.index(row, 0).data(OUTLINE).id for row in range(model.rowCount())]
    return ids.index(outline_id)


def click_row(
    driver: Driver, outline_id: str, x: int = NAME_X, held: Qt.KeyboardModifier = FREE
) -> None:
    rows = driver.window.outlines._list
    box = rows.visualRect(rows.model().index(row_of(driver, outline_id), 0))
    QTest.mouseClick(rows.viewport(), LEFT, held, QPoint(box.left() + x, box.center().y()))


def choose(box: QComboBox, text: str) -> None:
    """Choose an entry by the keyboard, as a list that has been opened is left with Return."""
    assert box.isEnabled() and box.findText(text) >= 0
    box.setFocus()
    step = Qt.Key.Key_Down if box.findText(text) > box.currentIndex() else Qt.Key.Key_Up
    for _ in range(abs(box.findText(text) - box.currentIndex())):
        QTest.keyClick(box, step)


def listed(driver: Driver) -> list[str]:
    model = driver.window.outlines._list.model()
    return [model.index(row, 0).data(OUTLINE).id for row in range(model.rowCount())]


def marked(driver: Driver) -> set[str]:
    selected = driver.window.outlines._list.selectionModel().selectedIndexes()
    return {index.data(OUTLINE).id for index in selected}


# Selecting


def test_the_list_shows_the_outlines_topmost_first_with_what_they_add(marsh: Driver) -> None:
    assert listed(marsh) == [o.id for o in reversed(marsh.design.outlines)]
    model = marsh.window.outlines._list.model()
    whole = fresh_readings(marsh.design).value("side_area")
    without = replace(
        marsh.design, outlines=tuple(o for o in marsh.design.outlines if o.id != "rudder")
    )
    less = fresh_readings(without).value("side_area")
    assert whole is not None and less is not None
    words = model.index(row_of(marsh, "rudder"), 0).data()
    assert words == f"Rudder, rudder, {percent((whole - less) / whole)} {format_area(whole - less, 'in')}"


def test_selecting_goes_both_ways(marsh: Driver) -> None:
    click_row(marsh, "cabin")
    assert marsh.window.picked.now.outlines == ("cabin",)
    click_row(marsh, "fin", held=CTRL)
    assert set(marsh.window.picked.now.outlines) == {"cabin", "fin"}
    marsh.zoom_to((960, 90), 2.0)
    marsh.click((965, 90))
    assert marked(marsh) == {"rudder"}
    marsh.click((905, 80), SHIFT)
    assert marked(marsh) == {"rudder", "fin"}
    assert marsh.window.outlines.form._label.text() == "2 outlines"
    marsh.key(Qt.Key.Key_Escape)
    assert marked(marsh) == set() and not marsh.window.outlines.form._kind.isEnabled()
    marsh.do("all")
    assert marked(marsh) == {o.id for o in marsh.design.outlines}
    assert not marsh.window.document.dirty


# The form


def test_count_kind_and_stance_are_set_by_the_form_one_entry_each(marsh: Driver) -> None:
    form = marsh.window.outlines.form
    before = encode(marsh.design)
    click_row(marsh, "fin")
    form._count.setFocus()
    QTest.keyClick(form._count, Qt.Key.Key_Up)
    fin = marsh.outline("fin")
    assert fin.count == 2 and fin.standing == "clear" and fin.stance is None
    assert form._stance.currentText() == "clear", "the stance that follows from the count"
    assert marsh.window.document.undo_name == "set count"
    choose(form._stance, "joined")
    assert marsh.outline("fin").stance == "joined"
    choose(form._kind, "ventral fin")
    assert marsh.outline("fin").kind == "ventral fin"
    assert fresh_readings(marsh.design).fin_centre is not None, "the rudder is still there"
    choose(form._kind, "fin")
    choose(form._stance, "clear")
    assert marsh.outline("fin").stance is None, "what the rule says anyway is left out"
    while marsh.window.document.undo_name:
        marsh.do("undo")
    assert encode(marsh.design) == before
    assert form._count.value() == 1 and form._stance.currentText() == "joined"


def test_fields_say_where_what_is_selected_differs_and_one_choice_sets_them_all(marsh: Driver) -> None:
    form = marsh.window.outlines.form
    click_row(marsh, "fin")
    marsh.type_into(form._weighs, "8")
    before = encode(marsh.design)
    marsh.do("all")
    assert form._kind.currentIndex() == form._stance.currentIndex() == -1
    assert form._count.text().endswith("several") and form._weighs.text() == ""
    assert form._weighs.placeholderText() == "several"
    assert encode(marsh.design) == before, "showing it sets nothing"
    choose(form._stance, "clear")
    assert {o.standing for o in marsh.design.outlines} == {"clear"} == {form._stance.currentText()}
    form._count.setFocus()
    QTest.keyClick(form._count, Qt.Key.Key_Up)
    assert {o.count for o in marsh.design.outlines} == {1} and form._count.text() == "× 1"
    click_row(marsh, "fin")
    assert form._kind.currentText() == "fin" and form._weighs.text() != ""


def test_a_label_is_typed_for_the_outline_it_was_typed_for(marsh: Driver) -> None:
    form = marsh.window.outlines.form
    click_row(marsh, "fin")
    marsh.type_into(form._label, "Fin, balsa 5 mm")
    assert marsh.outline("fin").label == "Fin, balsa 5 mm"
    form._label.setFocus()
    QTest.keyClicks(form._label, " half typed")
    # Leaving the field for another row takes what was typed for the outline it was typed for.
    click_row(marsh, "rudder")
    assert marsh.outline("rudder").label == "Rudder"
    assert marsh.outline("fin").label == "Fin, balsa 5 mm half typed"
    assert form._label.text() == "Rudder"


def select_node(driver: Driver, outline_id: str, index: int) -> None:
    node = driver.outline(outline_id).nodes[index]
    driver.zoom_to((node.x, node.z), 3.0)
    click_row(driver, outline_id)
    driver.click((node.x, node.z))
    assert driver.window.picked.now.nodes == frozenset({(outline_id, index)})


def test_a_node_is_placed_by_typed_coordinates(marsh: Driver) -> None:
    select_node(marsh, "rudder", 2)
    form = marsh.window.outlines.form
    z = marsh.outline("rudder").nodes[2].z
    marsh.type_into(form._x, "39 1/2 in")
    node = marsh.outline("rudder").nodes[2]
    assert (node.x, node.z) == (pytest.approx(39.5 * 25.4), z)
    marsh.type_into(form._z, "80 mm")
    node = marsh.outline("rudder").nodes[2]
    assert (node.x, node.z) == (pytest.approx(39.5 * 25.4), 80.0)
    assert marsh.window.document.undo_name == "place node"


def test_a_coordinate_that_cannot_be_taken_is_said(marsh: Driver) -> None:
    select_node(marsh, "rudder", 2)
    form = marsh.window.outlines.form
    shown, before = form._x.text(), encode(marsh.design)
    marsh.type_into(form._x, "here")
    assert marsh.said.startswith("“here” is not a length")
    assert encode(marsh.design) == before
    assert form._x.text() == shown


# Eye, lock, and the buttons


def test_the_eye_hides_and_what_is_hidden_still_counts(marsh: Driver) -> None:
    area = fresh_readings(marsh.design).value("side_area")
    click_row(marsh, "cabin")
    click_row(marsh, "fin", EYE_X)
    assert marsh.outline("fin").hidden and marsh.window.document.undo_name == "hide outline"
    assert marsh.window.picked.now.outlines == ("cabin",), "the eye does not disturb the selection"
    assert fresh_readings(marsh.design).value("side_area") == area
    marsh.click((905, 90))
    assert "fin" not in marsh.window.picked.now.outlines, "what cannot be seen cannot be clicked"
    click_row(marsh, "fin", EYE_X)
    assert not marsh.outline("fin").hidden and marsh.window.document.undo_name == "show outline"


def test_the_lock_keeps_hand_and_keys_off(marsh: Driver) -> None:
    click_row(marsh, "rudder", LOCK_X)
    assert marsh.outline("rudder").locked
    before = encode(marsh.design)
    marsh.drag((995, 84), (1030, 84))
    assert encode(marsh.design) == before
    click_row(marsh, "rudder")
    marsh.canvas.setFocus()
    marsh.key(Qt.Key.Key_Delete)
    assert encode(marsh.design) == before and "locked" in marsh.said
    click_row(marsh, "rudder", LOCK_X)
    assert not marsh.outline("rudder").locked


def test_duplicate_mirror_reorder_and_delete_by_the_buttons(marsh: Driver) -> None:
    buttons = marsh.window.outlines._buttons
    order = [o.id for o in marsh.design.outlines]
    click_row(marsh, "fin")
    QTest.mouseClick(buttons["duplicate"], LEFT)
    copy = marsh.outline("fin-2")
    assert marked(marsh) == {"fin-2"} and listed(marsh)[0] == "fin-2"
    steps = {(round(b.x - a.x, 6), round(b.z - a.z, 6))
             for a, b in zip(marsh.outline("fin").nodes, copy.nodes, strict=True)}
    assert len(steps) == 1, "a copy is the same shape elsewhere"
    QTest.mouseClick(buttons["mirror"], LEFT)
    turned = marsh.outline("fin-2")
    assert sorted(n.z for n in turned.nodes) == sorted(n.z for n in copy.nodes)
    ends = min(n.x for n in copy.nodes) + max(n.x for n in copy.nodes)
    assert sorted(n.x for n in turned.nodes) == pytest.approx(sorted(ends - n.x for n in copy.nodes), abs=2.0)
    QTest.mouseClick(buttons["down"], LEFT)
    assert listed(marsh)[1] == "fin-2" and marked(marsh) == {"fin-2"}
    QTest.mouseClick(buttons["up"], LEFT)
    assert listed(marsh)[0] == "fin-2"
    QTest.mouseClick(buttons["remove"], LEFT)
    assert [o.id for o in marsh.design.outlines] == order
    assert marsh.window.picked.now.outlines == () and not buttons["remove"].isEnabled()
    names = []
    while marsh.window.document.undo_name:
        names.append(marsh.window.document.undo_name)
        marsh.do("undo")
    assert names == ["delete outline", "reorder outlines", "reorder outlines", "mirror", "duplicate"]


# The clipboard


def test_copy_and_paste_within_a_window(marsh: Driver) -> None:
    click_row(marsh, "wheels")
    marsh.canvas.setFocus()
    marsh.key(Qt.Key.Key_C, CTRL)
    assert QGuiApplication.clipboard().text() == "Main wheels"
    marsh.key(Qt.Key.Key_V, CTRL)
    assert marked(marsh) == {"wheels-2"}
    made, original = marsh.outline("wheels-2"), marsh.outline("wheels")
    assert (made.kind, made.count) == (original.kind, original.count)
    assert (made.nodes[0].x, made.nodes[0].z) == pytest.approx(
        (original.nodes[0].x + 8, original.nodes[0].z - 8)
    ), "beside its original, so that it is seen"
    marsh.key(Qt.Key.Key_X, CTRL)
    assert "wheels-2" not in listed(marsh)
    marsh.key(Qt.Key.Key_V, CTRL)
    assert "wheels-2" in listed(marsh)


def test_copy_in_one_window_and_paste_in_another(marsh: Driver, new_window: Callable[[], Driver]) -> None:
    other = new_window()
    click_row(marsh, "rudder")
    marsh.do("copy")
    other.window.activateWindow()
    other.do("paste")
    (made,) = other.design.outlines
    assert made == marsh.outline("rudder"), "in another design it lies where it lay"
    assert other.window.middle.currentIndex() == 1, "the page of the empty sheet gives way"
    assert marsh.design == bare_sample()


HOSTILE = {
    "no JSON": b"\xff\x00 outlines please",
    "wrong type": b'{"id": 1}',
    "infinite": b'[{"id":"a","kind":"fin","nodes":[{"x":1e999,"z":0},{"x":1,"z":0},{"x":1,"z":1}]}]',
    "not a number": b'[{"id":"a","kind":"fin","nodes":[{"x":NaN,"z":0},{"x":1,"z":0},{"x":1,"z":1}]}]',
    "far away": b'[{"id":"a","kind":"fin","nodes":[{"x":1e7,"z":0},{"x":1,"z":0},{"x":1,"z":1}]}]',
    "no nodes": b'[{"id":"a","kind":"fin","nodes":[]}]',
    "unknown kind": b'[{"id":"a","kind":"warp drive","nodes":[{"x":0,"z":0},{"x":1,"z":0},{"x":1,"z":1}]}]',
    "bad id": b'[{"id":"../a","kind":"fin","nodes":[{"x":0,"z":0},{"x":1,"z":0},{"x":1,"z":1}]}]',
    "count": b'[{"id":"a","kind":"fin","count":99,"nodes":[{"x":0,"z":0},{"x":1,"z":0},{"x":1,"z":1}]}]',
    "deep": b"[" * 100_000,
    "long": b" " * (16 * 1024 * 1024 + 1) + b"[]",
}


@pytest.mark.parametrize("what", sorted(HOSTILE))
def test_a_hostile_clipboard_is_refused_in_words(marsh: Driver, what: str) -> None:
    mime = QMimeData()
    mime.setData(MIME, QByteArray(HOSTILE[what]))
    QGuiApplication.clipboard().setMimeData(mime)
    before = encode(marsh.design)
    marsh.do("paste")
    assert marsh.said == "The clipboard holds outlines that cannot be read: copy them again."
    assert encode(marsh.design) == before and not marsh.window.document.dirty


def test_text_on_the_clipboard_is_said_to_be_of_no_use(marsh: Driver) -> None:
    QGuiApplication.clipboard().setText("318 mm")
    marsh.do("paste")
    assert marsh.said == "The clipboard holds neither outlines nor a picture."


def test_in_a_field_copy_and_paste_are_those_of_the_text(marsh: Driver) -> None:
    click_row(marsh, "fin")
    field = marsh.window.outlines.form._label
    assert isinstance(field, QLineEdit)
    field.setFocus()
    QTest.keyClick(field, Qt.Key.Key_A, CTRL)
    QTest.keyClick(field, Qt.Key.Key_C, CTRL)
    assert QGuiApplication.clipboard().text() == "Fin"
    QTest.keyClick(field, Qt.Key.Key_End)
    QTest.keyClick(field, Qt.Key.Key_V, CTRL)
    QTest.keyClick(field, Qt.Key.Key_Return)
    assert marsh.outline("fin").label == "FinFin"
    assert len(marsh.design.outlines) == len(bare_sample().outlines)
