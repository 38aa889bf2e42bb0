"""Where a window beside the window opens: never over the tail that it changes, and where it was moved to."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from driving import Driver, bare_sample
from PySide6.QtCore import QPoint, QRect, QSettings, QSize

from app.side.placing import keep_place, on_screen, place_of
from core.kinds import UPRIGHT

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise)")

SCREENS = [QRect(0, 0, 1024, 600), QRect(0, 0, 1366, 728), QRect(0, 0, 1920, 1040), QRect(60, 30, 900, 510)]


@pytest.mark.parametrize("room", SCREENS, ids=lambda r: f"{r.width()}x{r.height()}")
@pytest.mark.parametrize("size", [QSize(560, 440), QSize(440, 252), QSize(520, 412)], ids=str)
def test_it_hides_nothing_of_the_tail(room: QRect, size: QSize) -> None:
    # A window that fills the screen, its tail where the profile's last fifth is.
    tail = QRect(room.x() + room.width() - 410, room.y() + 140, 90, 110)
    whole = QRect(room.x() + 80, room.y() + 140, room.width() - 400, 150)
    place = place_of(size, room, room, tail, whole)
    assert room.contains(QRect(place, size))
    clear = not QRect(place, size).intersects(tail)
    # Where it is as wide as all that lies ahead of the tail it stands under it, if it can.
    assert clear or size.width() > tail.left() - room.left()


def test_beside_the_window_it_covers_nothing_of_it() -> None:
    room, there = QRect(0, 0, 2560, 1400), QRect(100, 60, 1400, 860)
    place = place_of(QSize(800, 600), there, room, QRect(1200, 300, 90, 110))
    assert not QRect(place, QSize(800, 600)).intersects(there) and place.y() == there.y()


@pytest.fixture
def marsh(driver: Driver) -> Iterator[Driver]:
    driver.open_outlines(bare_sample())
    driver.canvas.fit()
    driver.settle()
    yield driver
    QSettings().remove("beside")


def test_the_tail_on_the_screen_is_where_the_canvas_draws_it(marsh: Driver) -> None:
    upright = tuple(o for o in marsh.design.outlines if o.kind in UPRIGHT)
    box = on_screen(marsh.canvas, upright)
    assert box is not None and on_screen(marsh.canvas, ()) is None
    for outline in upright:
        for node in outline.nodes:
            at = marsh.canvas.mapToGlobal(marsh.px((node.x, node.z)))
            assert box.adjusted(-2, -2, 2, 2).contains(at)


def test_one_that_was_moved_opens_there_again_and_one_that_was_not_does_not(marsh: Driver) -> None:
    show = marsh.window.side.show
    first = show("plug")
    place = first.pos()
    first.close()
    marsh.settle()
    assert QSettings().value("beside/plug") is None
    second = show("plug")
    assert second.pos() == place
    second.move(place + QPoint(140, -60))
    moved = second.pos()
    second.close()
    marsh.settle()
    third = show("plug")
    assert third.pos() == moved
    third.close()
    marsh.settle()


def test_a_remembered_place_off_the_screen_is_brought_back(marsh: Driver) -> None:
    QSettings().setValue("beside/plug", QRect(5000, -900, 520, 380))
    side = marsh.window.side.show("plug")
    room = marsh.window.screen().availableGeometry()
    # But for the frame, whose thickness nobody knows before it is there.
    assert room.adjusted(-4, 0, 4, 4).contains(side.geometry())
    keep_place(side, "plug", side.pos())
    assert QSettings().value("beside/plug") == QRect(5000, -900, 520, 380)
    side.close()
    marsh.settle()
