"""The smallest window: nothing is cut off, and no words lie over each other."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import pytest
from driving import SAMPLES, Driver
from PySide6.QtCore import QPoint
from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import QApplication, QWidget

from app.canvas.marks import draw_labels
from app.kit.theme import DAY
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
    assert right_edge(window.answer) <= window.width()
    field = window.readings
    assert field.width() >= field.minimumSizeHint().width()
    assert window.tabs.width() >= 272


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
