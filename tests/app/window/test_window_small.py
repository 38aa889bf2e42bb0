"""The smallest window: nothing is cut off, and no words lie over each other."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations

import pytest
from driving import LEFT, SAMPLES, Driver
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtGui import QImage, QPainter
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QWidget

from app.canvas.marks import draw_labels
from app.kit.cautions import IN_SHORT
from app.kit.theme import DAY
from app.panels.hands import GROUPS
from app.window.room import first_size, on_the_screen
from app.work.selection import Selection
from core.redesign.design_edits import change_outlines

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")


@pytest.fixture
def small(driver: Driver) -> Iterator[Driver]:
    window = driver.window
    driver.open(SAMPLES / "long-meadow-2000.sternpost")
    before = window.size()
    window.resize(1, 1)
    driver.settle()
    yield driver
    window.resize(before)
    driver.settle()


def right_edge(widget: QWidget) -> int:
    """Where a widget ends, in pixels from the left of its window."""
    return widget.mapTo(widget.window(), QPoint(widget.width(), 0)).x()


def test_both_columns_are_seen_whole(small: Driver) -> None:
    window = small.window
    assert window.width() <= 1024 and window.height() <= 540
    assert right_edge(window.answer) <= window.width()
    field = window.readings
    assert field.width() >= field.minimumSizeHint().width()
    # Both have no room here: the one that is asked for opens, and the other folds.
    lists, readings, _ = window.folds
    assert lists.folded and not readings.folded
    QTest.mouseClick(lists.edge, LEFT)
    small.settle()
    assert readings.folded and not lists.folded
    assert window.tabs.width() >= max(272, window.tabs.minimumSizeHint().width())
    QTest.mouseClick(readings.edge, LEFT)
    small.settle()
    assert lists.folded and not readings.folded


SIZES = [(1024, 600), (960, 540), (1366, 700), (1920, 1040)]


@pytest.mark.parametrize("size", SIZES, ids=lambda s: f"{s[0]}x{s[1]}")
def test_at_every_size_nothing_lies_outside_and_the_profile_leads(
    small: Driver, size: tuple[int, int]
) -> None:
    window = small.window
    window.resize(*size)
    small.settle()
    assert (window.width(), window.height()) == size
    shown = [window.hands, window.canvas, window.arm_rule, window.status, *window.folds]
    for part in shown:
        box = QRect(part.mapTo(window, QPoint()), part.size())
        assert window.rect().contains(box), type(part).__name__
    assert window.canvas.width() * window.canvas.height() >= 0.3 * size[0] * size[1]
    for button in window.hands.buttons.values():
        assert button.height() >= button.sizeHint().height()
    for fold in window.folds:
        assert fold.folded or fold.width() >= fold.least or fold is window.folds[2]
    assert window.hands.worded == (size[0] == 1920)
    assert window.folds[0].folded == (size[0] <= 1024) and window.folds[2].folded == (size[1] < 740)


def test_what_was_folded_stays_folded_the_next_time(small: Driver, new_window: Callable[[], Driver]) -> None:
    window = small.window
    window.resize(1360, 820)
    small.settle()
    for name, key in (("lists", "F7"), ("band", "F8"), ("readings", "F9")):
        assert window.room.is_open(name) and window.menus.actions[f"room-{name}"].isChecked()
        small.key(getattr(Qt.Key, f"Key_{key}"), on=window.canvas)
        small.settle()
        assert not window.room.is_open(name) and not window.menus.actions[f"room-{name}"].isChecked()
    wide = window.canvas.width()
    assert wide > 1100 and window.arm_rule.isVisible() and not window.answer.isVisible()
    # An edge is a control: Tab reaches it, a press on Space opens what it folds.
    edge = window.folds[1].edge
    edge.setFocus()
    assert edge.hasFocus() and edge.accessibleName() == "The answer and the readings: open"
    QTest.keyClick(edge, Qt.Key.Key_Space)
    small.settle()
    assert window.answer.isVisible() and window.canvas.width() < wide
    assert edge.accessibleName() == "The answer and the readings: fold"
    other = new_window().window
    assert [other.room.is_open(name) for name in ("lists", "band", "readings")] == [False, False, True]


def test_the_keys_stay_at_hand_when_what_had_them_is_folded(small: Driver) -> None:
    window = small.window
    window.resize(1360, 820)
    small.settle()
    window.readings._inputs["cg_x"].setFocus()
    window.room.choose("readings", False)
    small.settle()
    assert window.focusWidget() is window.folds[1].edge


def test_kept_states_are_shown_where_the_lists_are_folded(small: Driver) -> None:
    window = small.window
    assert window.folds[0].folded
    small.do("kept")
    small.settle()
    assert window.kept.isVisible()


@pytest.mark.parametrize("screen", [
    QRect(0, 0, 1366, 728), QRect(0, 0, 1024, 600), QRect(60, 27, 900, 513), QRect(-1920, 0, 1920, 1040),
])
def test_a_window_is_never_larger_than_its_screen(screen: QRect) -> None:
    first = first_size(screen)
    assert first.width() < screen.width() and first.height() < screen.height()
    assert first.width() <= 1400 and first.height() <= 860
    for frame in (
        QRect(2000, 900, 1700, 1000), QRect(-3000, -200, 800, 500), QRect(screen.left() - 5, 40, 880, 480)
    ):
        found = on_the_screen(frame, screen)
        assert screen.contains(found)
        assert found.width() == min(frame.width(), screen.width())
        assert found.height() == min(frame.height(), screen.height())


def test_every_hand_with_a_letter_stands_in_one_group(driver: Driver) -> None:
    hands = driver.canvas.hands
    grouped = [name for _, names in GROUPS for name in names]
    assert len(grouped) == len(set(grouped))
    assert {n for n, hand in hands.items() if hand.letter} == set(grouped) - {"open", "sheet"}
    buttons = driver.window.hands.buttons
    tops = [buttons[name].mapTo(driver.window, QPoint()).y() for name in grouped]
    assert tops == sorted(tops) and len({b.x() for b in buttons.values()}) == 1
    # Level needs a scan, which there is none of: it is dim, and says why.
    assert buttons["level"].dim and not buttons["edit"].dim
    assert "Not yet" in buttons["level"].accessibleDescription()


def test_what_each_hand_asks_for_fits_over_the_canvas(small: Driver) -> None:
    window = small.window
    size = window.size()
    for name in window.canvas.hands:
        window.canvas.take_hand(name)
        small.settle()
        assert window.strip.minimumSizeHint().width() <= window.middle.width(), name
        assert right_edge(window.answer) <= window.width(), f"{name} pushes the answer over the edge"
        assert window.size() == size


def test_what_is_said_is_read_whole(small: Driver) -> None:
    strip = small.window.strip
    strip.say("that went wrong once more; your work is kept, and the log has the report")
    small.settle()
    said = strip._said
    needs = said.heightForWidth(said.width())
    assert needs <= strip.height() and right_edge(said) <= right_edge(strip)
    strip.say("")
    assert strip._title.isVisible()


def test_the_question_for_a_count_and_its_answers_are_seen_whole(small: Driver) -> None:
    design = small.design
    leg = next(o for o in design.outlines if o.kind not in ("fuselage", "fin", "rudder"))
    small.window.document.apply("kind", lambda d: change_outlines(d, [leg.id], kind="gear leg", count=1))
    small.window.room.reveal("lists")
    small.window.tabs.setCurrentWidget(small.window.outlines)
    small.window.picked.set(Selection((leg.id,)))
    small.settle()
    question = small.window.outlines.form.question
    assert question.words == "Does this leg come twice?"
    assert question._words.height() >= question._words.heightForWidth(question._words.width())
    for button in question.answers.values():
        assert button.height() >= button.fontMetrics().height() + 4
        assert right_edge(button) <= right_edge(small.window.tabs)


def test_the_band_says_less_rather_than_half(small: Driver) -> None:
    small.window.room.choose("band", True)
    band = small.window.area_band
    assert band is not None
    words = band._words
    # It is drawn again a moment after the window has changed.
    small.until(lambda: words.boundingRect().width() + 6 <= band.width())
    assert "greatest " in words.textItem.toPlainText()


def test_names_of_marks_keep_clear_of_each_other(qapp: QApplication) -> None:
    image = QImage(320, 280, QImage.Format.Format_ARGB32_Premultiplied)
    painter = QPainter(image)
    places = {
        "fin centre": (267.0, 139.0), "CLA 23.6 %": (159.0, 147.0),
        "neutral point, margin 13 %": (131.0, 148.0), "CG": (126.0, 151.0),
    }
    taken = draw_labels(painter, [(n, at, DAY.ink) for n, at in places.items()], DAY, 320, 280)
    painter.end()
    written = taken[len(places):]
    assert len(written) == len(places)
    assert not [1 for one, other in combinations(written, 2) if one.intersects(other)]
    assert all(image.rect().contains(box.toAlignedRect()) for box in written)


def test_the_caution_stands_under_the_answer_whatever_room_there_is(small: Driver) -> None:
    window = small.window
    place = window.answer.parentWidget().parentWidget()
    caution = next(w for w in place.findChildren(QLabel) if w.text() == IN_SHORT)
    for size in ((1, 1), (1360, 820)):
        window.resize(*size)
        small.settle()
        assert caution.isVisible() and right_edge(caution) <= window.width()
        assert caution.height() >= caution.heightForWidth(caution.width())
        assert caution.geometry().bottom() <= place.height()
        assert caution.geometry().top() >= place.viewport().geometry().bottom()
    window.resize(1, 1)
