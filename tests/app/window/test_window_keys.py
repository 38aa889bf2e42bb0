"""The window without a mouse: letters, arrows, Tab, and names for screen readers."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from driving import CTRL, FREE, LEFT, SHIFT, Driver, bare_sample, close_menu
from msgspec.structs import replace
from PIL import Image
from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QAccessible, QAction, QKeySequence, QShortcut
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QComboBox,
    QDialog,
    QLabel,
    QLineEdit,
    QMenu,
    QScrollArea,
    QSpinBox,
    QWidget,
)

from app.kit.figure_label import FigureLabel
from app.panels.hands import GROUPS
from app.panels.outlines import OUTLINE
from app.work.selection import Selection
from core.design import EMPTY
from core.design_file import encode, read

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")

STEP = 25.4 / 16  # a sixteenth of an inch, where inches are shown
LETTERS = {"e": "edit", "t": "trace", "g": "cg"}


@pytest.fixture
def marsh(driver: Driver) -> Driver:
    driver.open_outlines(bare_sample())
    return driver


# Letters


@pytest.mark.parametrize(("letter", "hand"), sorted(LETTERS.items()))
def test_a_letter_takes_its_hand(marsh: Driver, letter: str, hand: str) -> None:
    marsh.take("t" if hand != "trace" else "g")
    marsh.take(letter)
    assert marsh.canvas.hand.name == hand
    buttons = marsh.window.hands.buttons
    assert [n for n, b in buttons.items() if b.isChecked()] == [hand]
    assert f"({letter.upper()})" in buttons[hand].toolTip()
    assert marsh.window.status._hint.text() == marsh.canvas.hand.hint() != ""


@pytest.mark.parametrize(("letter", "label"), [("s", "Scale"), ("l", "Level")])
def test_a_hand_that_cannot_be_used_says_why(marsh: Driver, letter: str, label: str) -> None:
    marsh.take(letter)
    assert marsh.canvas.hand.name == "edit"
    assert marsh.said == f"{label}: open a scan of the plan first."
    button = marsh.window.hands.buttons[label.lower()]
    assert "Not yet: open a scan of the plan first." in button.toolTip()
    marsh.window.strip.say("")
    QTest.mouseClick(button, LEFT)
    assert marsh.said == f"{label}: open a scan of the plan first." and not button.isChecked()


def test_letters_typed_into_a_field_are_text(marsh: Driver) -> None:
    marsh.window.picked.set(Selection(("fin",)))
    for field in (marsh.window.outlines.form._label, marsh.window.readings._inputs["cg_x"]):
        field.setFocus()
        QTest.keyClick(field, Qt.Key.Key_A, CTRL)
        QTest.keyClicks(field, "tsldgeu")
        assert field.text() == "tsldgeu"
        assert marsh.canvas.hand.name == "edit" and marsh.design.display_units == "in"
        field.setModified(False)
    marsh.canvas.setFocus()


def test_two_windows_take_their_letters_apart(marsh: Driver, new_window: Callable[[], Driver]) -> None:
    other = new_window()
    other.open_outlines(bare_sample())
    other.take("g")
    assert (other.canvas.hand.name, marsh.canvas.hand.name) == ("cg", "edit")
    marsh.window.activateWindow()
    marsh.until(marsh.window.isActiveWindow)
    marsh.take("t")
    assert (other.canvas.hand.name, marsh.canvas.hand.name) == ("cg", "trace")


def test_u_goes_round_the_units_and_everything_follows(marsh: Driver) -> None:
    seen = []
    for units in ("in64", "mm", "in"):
        marsh.take("u")
        assert marsh.design.display_units == units
        assert marsh.window.menus.actions[units].isChecked()
        seen.append(marsh.reading("tail_arm"))
        assert marsh.window.area_band._words.toPlainText().endswith(" mm" if units == "mm" else " in")
    assert "/" in seen[0] and seen[1].endswith(" mm") and seen[2].endswith(" in")
    assert float(seen[1].split()[0]) / 25.4 == pytest.approx(float(seen[2].split()[0]), abs=0.006)
    assert replace(marsh.design, display_units="in") == bare_sample()


# Arrows and Delete


@pytest.mark.parametrize(
    ("key", "held", "by"),
    [
        (Qt.Key.Key_Right, FREE, (STEP, 0)), (Qt.Key.Key_Left, FREE, (-STEP, 0)),
        (Qt.Key.Key_Up, FREE, (0, STEP)), (Qt.Key.Key_Down, SHIFT, (0, -10 * STEP)),
    ],
)
def test_arrows_nudge_what_is_selected(
    marsh: Driver, key: Qt.Key, held: Qt.KeyboardModifier, by: tuple[float, float]
) -> None:
    before = marsh.outline("fin").nodes
    marsh.window.picked.set(Selection(("fin",)))
    marsh.key(key, held, on=marsh.canvas)
    for old, new in zip(before, marsh.outline("fin").nodes, strict=True):
        assert (new.x - old.x, new.z - old.z) == pytest.approx(by)
    marsh.window.picked.set(Selection(("fin",), frozenset({("fin", 2)})))
    marsh.key(key, held, on=marsh.canvas)
    for i, (old, new) in enumerate(zip(before, marsh.outline("fin").nodes, strict=True)):
        times = 2 if i == 2 else 1
        assert (new.x - old.x, new.z - old.z) == pytest.approx((times * by[0], times * by[1]))
    marsh.canvas.hand.settle()
    assert marsh.window.document.undo_name == "nudge nodes"


def test_arrows_pan_where_nothing_is_selected(marsh: Driver) -> None:
    view = marsh.canvas.view
    marsh.key(Qt.Key.Key_Right, on=marsh.canvas)
    assert marsh.canvas.view.x == pytest.approx(view.x + 40 / view.scale)
    assert not marsh.window.document.dirty


def test_delete_takes_out_nodes_and_then_the_outline(marsh: Driver) -> None:
    count = len(marsh.outline("fuselage").nodes)
    marsh.window.picked.set(Selection(("fuselage",), frozenset({("fuselage", 4), ("fuselage", 5)})))
    marsh.key(Qt.Key.Key_Delete, on=marsh.canvas)
    assert len(marsh.outline("fuselage").nodes) == count - 2
    assert marsh.window.document.undo_name == "delete nodes"
    assert marsh.window.picked.now == Selection(("fuselage",))
    marsh.key(Qt.Key.Key_Delete, on=marsh.canvas)
    assert "fuselage" not in [o.id for o in marsh.design.outlines]
    marsh.do("undo")
    marsh.do("undo")
    assert encode(marsh.design) == encode(bare_sample())


def test_delete_in_a_field_deletes_letters(marsh: Driver) -> None:
    marsh.window.picked.set(Selection(("fin",)))
    field = marsh.window.outlines.form._label
    field.setFocus()
    QTest.keyClick(field, Qt.Key.Key_Home)
    QTest.keyClick(field, Qt.Key.Key_Delete)
    assert field.text() == "in" and len(marsh.design.outlines) == len(bare_sample().outlines)
    QTest.keyClick(field, Qt.Key.Key_Return)
    assert marsh.outline("fin").label == "in"


# Tab, and what screen readers are told


def focusable(window: QWidget) -> Iterator[QWidget]:
    for widget in window.findChildren(QWidget):
        own = widget.focusProxy() is None and widget.isVisibleTo(window)
        if own and widget.focusPolicy() & Qt.FocusPolicy.TabFocus and widget.isEnabled():
            yield widget


def name_of(widget: QWidget) -> str:
    """What a screen reader is told: the widget's own name, its text, or that of the label it belongs to."""
    buddies = [b.text() for b in widget.window().findChildren(QLabel) if b.buddy() is widget]
    text = widget.text() if isinstance(widget, QAbstractButton) else ""
    return widget.accessibleName() or text or "".join(buddies)


def round_by_tab(driver: Driver) -> list[QWidget]:
    driver.canvas.setFocus()
    seen: list[QWidget] = []
    for _ in range(200):
        now = QApplication.focusWidget()
        assert now is not None
        if now in seen:
            break
        seen.append(now)
        QTest.keyClick(now, Qt.Key.Key_Tab)
    return seen


def with_everything(driver: Driver, tmp_path: Path) -> None:
    Image.new("L", (300, 200), 220).save(tmp_path / "plan.png", dpi=(150, 150))
    driver.open_outlines(bare_sample())
    driver.window.filing.open_scan_path(tmp_path / "plan.png")
    driver.until_decoded()
    driver.window.picked.set(Selection(("fin",), frozenset({("fin", 2)})))


@pytest.mark.parametrize("tab", [0, 1])
def test_tab_reaches_every_control_and_comes_round(driver: Driver, tmp_path: Path, tab: int) -> None:
    with_everything(driver, tmp_path)
    driver.window.tabs.setCurrentIndex(tab)
    driver.settle()
    reached = round_by_tab(driver)
    missed = [w for w in focusable(driver.window) if w not in reached]
    assert missed == []
    assert driver.canvas in reached and driver.window.arm_rule in reached
    assert len(reached) > 20


@pytest.mark.parametrize("page", ["empty", "outlines", "scans", "trace", "scale"])
def test_everything_that_takes_the_focus_has_a_name(driver: Driver, tmp_path: Path, page: str) -> None:
    if page != "empty":
        with_everything(driver, tmp_path)
        driver.window.tabs.setCurrentIndex(1 if page == "scans" else 0)
        if page in ("trace", "scale"):
            driver.canvas.take_hand(page)
    driver.settle()
    found = list(focusable(driver.window))
    assert len(found) > 10
    # A scroll area is no control; what is in it has names of its own.
    nameless = [w for w in found if not name_of(w) and type(w) is not QScrollArea]
    assert nameless == []


def test_rows_and_answer_are_told_to_a_screen_reader(marsh: Driver) -> None:
    shown = marsh.window.answer
    assert shown.accessibleName() == "The answer"
    assert marsh.window.answer.shown.sentence in shown.accessibleDescription()
    rows = marsh.window.outlines._list.model()
    for i in range(rows.rowCount()):
        index = rows.index(i, 0)
        assert index.data(OUTLINE).name in index.data(Qt.ItemDataRole.AccessibleTextRole)


def test_no_two_entries_share_a_key(driver: Driver) -> None:
    window = driver.window
    claimed = [
        (shortcut.toString(QKeySequence.SequenceFormat.PortableText), action.text())
        for action in window.findChildren(QAction) for shortcut in action.shortcuts()
    ]
    claimed += [
        (own.key().toString(QKeySequence.SequenceFormat.PortableText), "a shortcut of its own")
        for own in window.findChildren(QShortcut)
    ]
    keys = [key for key, _ in claimed]
    assert [one for one in claimed if keys.count(one[0]) > 1] == []
    letters = {hand.letter for hand in driver.canvas.hands.values() if hand.letter}
    assert len(letters) == 10 and letters <= set(keys)
    # Held with nothing on the canvas, where they mean something to a hand.
    assert not {"F", "Space", "Tab", "Return", "Esc", "Backspace"} & set(keys)
    assert {"Ctrl+W", "Ctrl+Y", "Ctrl+Shift+Z", "Ctrl+Z", "F7", "F8", "F9"} <= set(keys)


@pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise)")
@pytest.mark.parametrize("name", ["plug", "refit", "settle", "gust", "slip", "parts", "setting-up"])
def test_no_two_entries_share_a_key_in_a_window_beside_it(marsh: Driver, name: str) -> None:
    side = marsh.window.side.show(name)
    side.leave()
    keys = [one.toString() for action in side.actions() for one in action.shortcuts()]
    keys += [
        own.key().toString() for own in side.findChildren(QShortcut)
        if own.context() != Qt.ShortcutContext.WidgetShortcut
    ]
    side.close()
    marsh.settle()
    assert {"Ctrl+Z", "Ctrl+Y", "Ctrl+S", "Ctrl+W"} <= set(keys)
    assert len(keys) == len(set(keys)), sorted(keys)


# Menus and dialogues


@pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise|grabbing)")
def test_the_context_menu_offers_what_lies_there(marsh: Driver) -> None:
    seen: list[list[str]] = []

    def look(menu: QMenu) -> None:
        seen.append([a.text().replace("&", "") for a in menu.actions() if a.text()])

    for at in ((995, 84), (905, 100), (300, -260)):
        QTimer.singleShot(0, lambda: close_menu(look))
        pixel = marsh.px(at)
        if at[1] < -200:
            pixel.setY(marsh.canvas.height() - 40)
        QTest.mousePress(marsh.canvas, Qt.MouseButton.RightButton, FREE, pixel)
        QTest.mouseRelease(marsh.canvas, Qt.MouseButton.RightButton, FREE, pixel)
    node, body, nothing = seen
    assert "Make node smooth" in node and "Delete" in node
    assert "Duplicate" in body and "Make node smooth" not in body
    assert "Paste" in nothing and "Delete" not in nothing


def answer_dialog(text: str | None) -> None:
    """Type into the dialogue that is about to open and accept it; None sends it away."""

    def look(left: int = 400) -> None:
        dialog = QApplication.activeModalWidget()
        if isinstance(dialog, QDialog):
            field = dialog.findChild(QLineEdit)
            if text is None:
                QTest.keyClick(dialog, Qt.Key.Key_Escape)
            elif field is not None:
                field.selectAll()
                QTest.keyClicks(field, text)
                QTest.keyClick(field, Qt.Key.Key_Return)
        elif left:
            QTimer.singleShot(5, lambda: look(left - 1))

    QTimer.singleShot(0, look)


def test_scale_from_the_root_by_typed_per_cent(marsh: Driver) -> None:
    marsh.window.picked.set(Selection(("fin", "rudder")))
    high = max(n.z for n in marsh.outline("fin").nodes)
    ends = marsh.outline("rudder").nodes[4:]
    low = (ends[0].z + ends[1].z) / 2
    answer_dialog("100 × 120")
    marsh.do("scale-root")
    after = marsh.outline("fin").nodes
    assert max(n.z for n in after) - low == pytest.approx(1.2 * (high - low))
    assert [n.x for n in after] == pytest.approx([n.x for n in bare_sample().outline("fin").nodes])
    answer_dialog(None)
    marsh.do("scale-root")
    assert marsh.window.document.undo_name == "scale from the root"
    marsh.do("undo")
    answer_dialog("a bit more")
    marsh.boxes.answer("OK")
    marsh.do("scale-root")
    assert "is not a number" in marsh.boxes.seen[0]
    assert encode(marsh.design) == encode(bare_sample())


def test_title_and_notes_are_one_edit(marsh: Driver) -> None:
    answer_dialog("Marsh Harrow, long nose")
    marsh.do("notes")
    assert marsh.design.title == "Marsh Harrow, long nose"
    assert marsh.window.windowTitle().startswith("Marsh Harrow, long nose")
    assert marsh.window.strip._title.text() == "Marsh Harrow, long nose"
    assert marsh.window.document.undo_name == "change title and notes"


def test_what_is_said_about_the_program_opens_and_closes(marsh: Driver) -> None:
    marsh.do("about")
    (dialog,) = (w for w in QApplication.topLevelWidgets() if isinstance(w, QDialog) and w.isVisible())
    words = dialog.findChild(QLabel).text()
    assert len(words) > 60 and "{" not in words
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert not dialog.isVisible()


@pytest.mark.parametrize("choice", ["night", "day", "system"])
def test_the_theme_can_be_changed_in_the_middle_of_a_trace(driver: Driver, choice: str) -> None:
    driver.window.begin_blank()
    driver.settle()
    for at in ((100, 50), (300, 60)):
        driver.click(at)
    before = driver.canvas.grab().toImage()
    driver.do(f"theme-{choice}")
    assert len(driver.canvas.hand.overlay().draft_nodes) == 2
    assert (driver.canvas.grab().toImage() != before) == (choice == "night")
    driver.do("theme-system")
    assert driver.canvas.grab().toImage() == before and driver.design == EMPTY


# Undo and redo, and keys while a field has them


def test_undo_and_redo_are_grey_where_there_is_nothing(marsh: Driver) -> None:
    undo, redo = (marsh.window.menus.actions[name] for name in ("undo", "redo"))
    assert not undo.isEnabled() and not redo.isEnabled() and undo.text() == "&Undo"
    marsh.window.picked.set(Selection(("fin",)))
    marsh.key(Qt.Key.Key_Right, on=marsh.canvas)
    # A run of nudges lasts, and has no name before it ends.
    assert undo.isEnabled() and not redo.isEnabled()
    marsh.key(Qt.Key.Key_Escape, on=marsh.canvas)
    assert undo.isEnabled() and undo.text() == "&Undo nudge outline" and not redo.isEnabled()
    marsh.do("undo")
    assert not undo.isEnabled() and redo.isEnabled() and redo.text() == "&Redo nudge outline"
    marsh.key(Qt.Key.Key_Y, CTRL, on=marsh.canvas)
    assert undo.isEnabled() and not redo.isEnabled()
    marsh.key(Qt.Key.Key_Z, CTRL, on=marsh.canvas)
    assert encode(marsh.design) == encode(bare_sample())


def test_the_steps_of_a_trace_can_be_taken_back_where_the_design_has_none(driver: Driver) -> None:
    undo, redo = (driver.window.menus.actions[name] for name in ("undo", "redo"))
    driver.window.begin_blank()
    driver.settle()
    assert not undo.isEnabled() and not redo.isEnabled()
    driver.click((100, 50))
    assert undo.isEnabled() and not redo.isEnabled()
    driver.key(Qt.Key.Key_Z, CTRL, on=driver.canvas)
    assert not undo.isEnabled() and redo.isEnabled() and not driver.canvas.hand.busy
    driver.key(Qt.Key.Key_Y, CTRL, on=driver.canvas)
    assert undo.isEnabled() and not redo.isEnabled() and driver.canvas.hand.busy


def test_undo_in_a_field_is_the_designs_where_the_field_has_nothing_of_its_own(marsh: Driver) -> None:
    field = marsh.window.readings._inputs["cg_x"]
    marsh.type_into(field, "12 in")
    assert marsh.window.document.undo_name == "move CG mark"
    field.setFocus()
    QTest.keyClicks(field, "7")
    QTest.keyClick(field, Qt.Key.Key_Z, CTRL)
    # What was typed and not entered is taken back first.
    assert marsh.window.document.undo_name == "move CG mark" and "7" not in field.text()
    QTest.keyClick(field, Qt.Key.Key_Z, CTRL)
    assert encode(marsh.design) == encode(bare_sample())
    QTest.keyClick(field, Qt.Key.Key_Y, CTRL)
    assert marsh.window.document.undo_name == "move CG mark"


def test_undo_in_the_count_is_the_designs(marsh: Driver) -> None:
    marsh.window.picked.set(Selection(("fin",)))
    marsh.settle()
    count = marsh.window.outlines.form._count
    count.setFocus()
    QTest.keyClick(count, Qt.Key.Key_Up)
    assert marsh.outline("fin").count == 2
    QTest.keyClick(count, Qt.Key.Key_Z, CTRL)
    assert marsh.outline("fin").count == 1 and count.value() == 1


def test_what_stands_half_typed_is_saved_by_the_key(marsh: Driver, tmp_path: Path) -> None:
    path = tmp_path / "typed.sternpost"
    assert marsh.window.filing._save_to(path)
    field = marsh.window.readings._inputs["cg_x"]
    field.setFocus()
    QTest.keyClick(field, Qt.Key.Key_A, CTRL)
    QTest.keyClicks(field, "12 in")
    QTest.keyClick(field, Qt.Key.Key_S, CTRL)
    mark = read(path).design.cg_mark
    assert mark is not None and mark.x == pytest.approx(12 * 25.4)
    assert not marsh.window.document.dirty


def test_keys_of_the_menus_work_from_a_field(marsh: Driver) -> None:
    field = marsh.window.readings._inputs["cg_x"]
    field.setFocus()
    assert marsh.window.room.is_open("lists")
    QTest.keyClick(field, Qt.Key.Key_F7)
    assert not marsh.window.room.is_open("lists")
    QTest.keyClick(field, Qt.Key.Key_F7)
    assert marsh.window.room.is_open("lists")


def test_the_hands_menu_ticks_the_hand_and_takes_another(marsh: Driver) -> None:
    actions = marsh.window.menus.actions
    assert actions["hand-edit"].isChecked()
    marsh.do("hand-trace")
    assert marsh.canvas.hand.name == "trace" and actions["hand-trace"].isChecked()
    assert not actions["hand-edit"].isChecked()
    assert marsh.window.hands.buttons["trace"].isChecked()
    marsh.do("hand-level")
    # It cannot be used: said, and the tick stays with the hand that is.
    assert marsh.said == "Level: open a scan of the plan first."
    assert actions["hand-trace"].isChecked() and marsh.canvas.hand.name == "trace"
    assert actions["hand-join"].shortcut().toString() == "J"


# Reading order, and what a screen reader hears


def heard(widget: QWidget) -> tuple[str, str]:
    """Name, and value or text, as a screen reader asks for them."""
    told = QAccessible.queryAccessibleInterface(widget)
    assert told is not None
    return told.text(QAccessible.Text.Name), told.text(QAccessible.Text.Value)


def test_every_control_tells_its_name_and_its_value(marsh: Driver) -> None:
    marsh.window.picked.set(Selection(("fin",), frozenset({("fin", 2)})))
    marsh.settle()
    nameless = []
    for widget in focusable(marsh.window):
        name, value = heard(widget)
        if not name and type(widget) is not QScrollArea:
            nameless.append(widget)
        if isinstance(widget, QLineEdit) and widget.text():
            assert value == widget.text(), name
        if isinstance(widget, QComboBox):
            assert value == widget.currentText(), name
        if isinstance(widget, QSpinBox):
            assert value.strip(" ×") == str(widget.value()), name
    assert nameless == []
    for figure in marsh.window.findChildren(FigureLabel):
        told = QAccessible.queryAccessibleInterface(figure)
        name, words = told.text(QAccessible.Text.Name), told.text(QAccessible.Text.Description)
        # A screen reader says both, one after the other.
        assert name and words == figure.text(), name


def test_tab_goes_as_the_eye_does(marsh: Driver) -> None:
    window = marsh.window
    window.picked.set(Selection(("fin",)))
    marsh.settle()
    reached = round_by_tab(marsh)
    order = [window.hands.buttons["open"], window.tabs.tabBar(), window.folds[0].edge, window.canvas,
             window.arm_rule, window.folds[2].edge, window.folds[1].edge, window.readings._inputs["cg_x"]]
    places = [reached.index(one) for one in order]
    first = places.index(min(places))
    assert places[first:] + places[:first] == sorted(places)
    hands = [reached.index(window.hands.buttons[n]) for _, names in GROUPS for n in names]
    assert sorted(hands) == hands
