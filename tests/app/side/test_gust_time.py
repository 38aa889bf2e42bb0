"""After a gust: it plays when it is seen and was asked to, and every place shows the same moment."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from driving import FREE, LEFT, SHIFT, Driver, drag_to
from gust_desk import Clock, away, flown_by, opened
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest

from app.side.gust_window import GustWindow
from core.redesign.curves import design_at
from core.stability.lateral.gust import SECONDS

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise)")
Key = Qt.Key


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def gust(driver: Driver, clock: Clock) -> Iterator[GustWindow]:
    window = opened(driver, clock)
    yield window
    away(window)


# Time


def test_it_plays_once_when_it_opens_and_rests_at_the_end(
    gust: GustWindow, driver: Driver, clock: Clock
) -> None:
    assert gust.playing and gust.second == 0.0 and gust.play_button.text() == "Pause"
    seen = [gust.second]
    while gust.playing:
        clock.now += 0.75
        driver.until(lambda: gust.second != seen[-1])
        seen.append(gust.second)
    assert seen == pytest.approx([min(0.75 * n, SECONDS) for n in range(len(seen))])
    assert seen[-1] == SECONDS and not gust._frames.isActive() and gust.play_button.text() == "Play again"
    assert gust.slider.value() == 1000 * SECONDS == gust.slider.maximum()
    gust.hide()
    gust.show()
    assert not gust.playing, "once"
    QTest.mouseClick(gust.play_button, LEFT)
    assert gust.playing and gust.second == 0.0


def test_space_stops_it_and_arrows_move_the_time(gust: GustWindow, driver: Driver, clock: Clock) -> None:
    slider = gust.slider
    slider.setFocus()
    clock.now += 1.0
    driver.until(lambda: gust.second == pytest.approx(1.0))
    QTest.keyClick(slider, Key.Key_Space)
    assert not gust.playing and gust.second == pytest.approx(1.0) and not gust._frames.isActive()
    QTest.keyClick(slider, Key.Key_Right)
    assert gust.second == pytest.approx(1.05)
    QTest.keyClick(slider, Key.Key_PageUp)
    assert gust.second == pytest.approx(1.55)
    QTest.keyClick(slider, Key.Key_Home)
    assert gust.second == 0.0
    QTest.keyClick(gust, Key.Key_Right, SHIFT)
    assert gust.second == 0.5
    QTest.keyClick(slider, Key.Key_Space)
    clock.now += 1.25
    driver.until(lambda: gust.second == pytest.approx(1.75))
    for plot in gust.plots.values():
        assert plot._cursor.value() == pytest.approx(1.75)
    assert gust.clock_words.text() == "1.75 s"


def test_pulling_in_a_plot_takes_the_time_along(gust: GustWindow) -> None:
    plot = gust.plots["sideslip"]
    port = plot.field.viewport()
    at, end = (QPoint(plot.field.px_of(s), 20) for s in (1.0, 2.5))
    px = 1.0 / (plot.field.px_of(1.0) - plot.field.px_of(0.0))
    QTest.mousePress(port, LEFT, FREE, at)
    assert gust.second == pytest.approx(1.0, abs=px) and not gust.playing
    drag_to(port, end, LEFT, FREE)
    QTest.mouseRelease(port, LEFT, FREE, end)
    assert gust.second == pytest.approx(2.5, abs=px)
    drag_to(port, at, Qt.MouseButton.NoButton, FREE)
    assert gust.second == pytest.approx(2.5, abs=px), "no button, no hand"
    assert gust.plots["bank"]._cursor.value() == gust.second


def test_what_is_read_at_the_cursor(gust: GustWindow, driver: Driver) -> None:
    flown = flown_by(driver.design)
    gust.go_to(0.0)
    assert gust.plots["sideslip"].figures.text() == "5.0°  (5.0 to 5.0°)"
    gust.go_to(0.5)
    at = int(np.argmin(np.abs(flown.seconds - 0.5)))
    assert flown.seconds[at] == pytest.approx(0.5)
    wanted = "{:.1f}°  ({:.1f} to {:.1f}°)".format(*(
        getattr(flown.bank, part)[at] for part in ("middle", "low", "high")
    )).replace("-", "−")
    assert gust.plots["bank"].figures.text() == wanted


def test_nothing_swings_unseen(gust: GustWindow, clock: Clock, driver: Driver) -> None:
    assert gust.playing and gust._frames.isActive()
    clock.now += 1.0
    gust.hide()
    assert not gust.playing and not gust._frames.isActive()
    gust.play()
    assert not gust.playing
    gust.show()
    gust.play()
    gust.leave()
    assert not gust._frames.isActive() and not gust._soon.isActive() and not gust.playing


def test_under_a_moving_hand_the_aeroplane_stands(gust: GustWindow, driver: Driver, clock: Clock) -> None:
    clock.now += 0.8
    driver.until(lambda: gust.second == pytest.approx(0.8))
    document = driver.window.document
    document.begin("scale")
    document.preview(design_at(document.committed, "fin", 1.2))
    assert not gust.playing
    clock.now += 1.0
    driver.settle()
    assert gust.second == pytest.approx(0.8)
    document.abort()
