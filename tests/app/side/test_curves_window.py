"""Curves beside the window: computed away from it, and a point that takes the design along."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator

import numpy as np
import pytest
from driving import FREE, LEFT, Driver, bare_sample, drag_to, fresh_readings
from msgspec.structs import replace
from PySide6.QtCore import QEvent, QPoint, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.kit.theme import NIGHT
from app.side import curves_window
from app.side.curves_window import CurvesWindow
from core.design import Design, Weight
from core.redesign.alternatives import keep
from core.redesign.curves import CurveData, Over, curve, design_at

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise)")
Key = Qt.Key
NAMES: dict[Over, str] = {"fin": "scale the fin", "nose": "lengthen the nose", "cg": "move the CG"}


@pytest.fixture
def curves(driver: Driver) -> Iterator[CurvesWindow]:
    # Whole millimetres, whatever the sample's own units are.
    driver.open_outlines(replace(bare_sample(), display_units="mm"))
    window = CurvesWindow(driver.window.beside)
    window.show()
    driver.until(lambda: window.data is not None)
    driver.settle()
    yield window
    _away(window)


def _away(window: CurvesWindow) -> None:
    window.close()
    QApplication.sendPostedEvents(window, QEvent.Type.DeferredDelete)


def _curve_threads() -> list[str]:
    return [t.name for t in threading.enumerate() if t.name.startswith("curves")]


class Grip:
    """The hand on the point of one plot."""

    def __init__(self, window: CurvesWindow, key: str = "cla_fraction") -> None:
        self.window, self.plot = window, window.plots[key]
        self.at = self.plot.point_px().toPoint()
        self.port = self.plot.field.viewport()

    def press(self) -> None:
        QTest.mousePress(self.port, LEFT, FREE, self.at)

    def pull(self, by: int, steps: int = 4) -> None:
        start = self.at
        for i in range(1, steps + 1):
            self.at = start + QPoint(round(by * i / steps), 0)
            drag_to(self.port, self.at, LEFT, FREE)

    def release(self) -> None:
        QTest.mouseRelease(self.port, LEFT, FREE, self.at)


def _choose(window: CurvesWindow, over: Over, driver: Driver) -> None:
    QTest.mouseClick(window.choices[over], LEFT)
    driver.until(lambda: window.data is not None and window.data.over == over)
    driver.settle()


@pytest.mark.parametrize("over", ["fin", "nose", "cg"])
def test_it_shows_the_curves_of_the_core(curves: CurvesWindow, driver: Driver, over: Over) -> None:
    _choose(curves, over, driver)
    wanted = curve(driver.design, over)
    assert wanted is not None
    for key, factor in (("cla_fraction", 100.0), ("cn_beta", 1.0), ("fin_volume", 1.0), ("lead", 1.0)):
        shown = curves.plots[key].shown
        assert shown is not None and curves.plots[key].isVisible()
        assert np.allclose(shown.x, wanted.x) and np.allclose(shown.y, factor * getattr(wanted, key))
    aim = curves.plots["cla_fraction"].shown
    assert aim is not None and (aim.range_low, aim.range_high) == pytest.approx((22.0, 28.0))
    band = curves.plots["cn_beta"].shown
    assert band is not None and band.low is not None and np.all(band.low <= band.y)
    assert (band.range_low, band.range_high) == (0.03, 0.15)


@pytest.mark.parametrize("over", ["fin", "nose", "cg"])
@pytest.mark.parametrize("key", ["cla_fraction", "lead"])
def test_the_point_takes_the_design_along(
    curves: CurvesWindow, driver: Driver, over: Over, key: str
) -> None:
    _choose(curves, over, driver)
    document, before = driver.window.document, driver.design
    told: list[str] = []
    driver.window.readout.listen(lambda change: told.append(change.what))
    grip = Grip(curves, key)
    grip.press()
    grip.pull(60)
    assert told == ["proposal"] * 4 and document.committed == before
    x = curves._x
    assert x is not None and curves.data is not None and x > curves.data.present
    # The canvas shows the preview, and the readings follow it.
    assert driver.design == design_at(before, over, x)
    fraction = fresh_readings(driver.design).value("cla_fraction")
    assert fraction is not None and f"{100 * fraction:.1f} %" in curves.plots["cla_fraction"].heading.text()
    grip.release()
    assert document.undo_name == NAMES[over] and document.committed == design_at(before, over, x)
    # The pixel under the mouse is the place on the axis.
    assert curves.plots[key].point_px().x() == pytest.approx(grip.at.x(), abs=1.5)
    driver.until(lambda: not curves._soon.isActive())
    assert curves._x == x, "what was dropped stays where it was dropped"
    document.undo()
    assert document.design == before and curves._x == curves.data.present
    document.redo()
    assert curves._x == x


def test_escape_gives_up_and_keeps_the_window(curves: CurvesWindow, driver: Driver) -> None:
    document, before = driver.window.document, driver.design
    name = document.undo_name
    grip = Grip(curves)
    grip.press()
    grip.pull(80)
    assert driver.design != before
    QTest.keyClick(curves.plots["cla_fraction"].field, Key.Key_Escape)
    assert driver.design is before and document.undo_name == name and document.proposal is None
    assert curves.isVisible() and curves.data is not None and curves._x == curves.data.present
    grip.pull(30)
    grip.release()
    assert driver.design is before and document.undo_name == name


def test_arrow_keys_step_and_return_takes_it(curves: CurvesWindow, driver: Driver) -> None:
    document, before = driver.window.document, driver.design
    field = curves.plots["cla_fraction"].field
    field.setFocus()
    QTest.keyClick(field, Key.Key_Right)
    QTest.keyClick(field, Key.Key_Right, Qt.KeyboardModifier.ShiftModifier)
    # A two-hundredth of 0.4 to 1.8 a step, ten of them with Shift.
    assert curves._x == pytest.approx(1.0 + 11 * 1.4 / 200) and document.proposal is not None
    QTest.keyClick(field, Key.Key_Return)
    assert document.proposal is None and document.undo_name == "scale the fin"
    document.undo()
    assert document.design == before


def test_away_from_the_point_nothing_is_taken_hold_of(curves: CurvesWindow, driver: Driver) -> None:
    before = driver.design
    grip = Grip(curves)
    grip.at += QPoint(60, 0)
    grip.press()
    grip.pull(40)
    grip.release()
    assert driver.design is before and driver.window.document.proposal is None


def test_the_end_of_the_curve_is_the_end(curves: CurvesWindow, driver: Driver) -> None:
    grip = Grip(curves)
    grip.press()
    grip.pull(4000, steps=2)
    assert curves.data is not None and curves._x == curves.data.x[-1] == 1.8
    grip.release()


def test_another_design_restarts_the_curves(curves: CurvesWindow, driver: Driver) -> None:
    document, first = driver.window.document, curves.data
    for size in (1.1, 1.2):
        document.apply("scale", lambda d, s=size: design_at(d, "fin", s))
    driver.until(lambda: curves.data is not first and not curves.worker.busy)
    wanted = curve(document.design, "fin")
    assert wanted is not None and curves.data is not None
    assert np.allclose(curves.data.cla_fraction, wanted.cla_fraction)


def test_while_a_gesture_lasts_none_is_computed(curves: CurvesWindow, driver: Driver) -> None:
    document, first = driver.window.document, curves.data
    document.begin("scale")
    document.preview(design_at(document.committed, "fin", 1.1))
    assert not curves.worker.busy
    driver.qtbot.waitUntil(lambda: curves._soon.isActive())
    curves.compute()
    assert not curves.worker.busy and curves.data is first
    document.commit()
    driver.until(lambda: curves.data is not first)


def test_keeping_a_state_leaves_the_curve_where_it_is(curves: CurvesWindow, driver: Driver) -> None:
    grip = Grip(curves)
    grip.press()
    grip.pull(50)
    grip.release()
    first, x = curves.data, curves._x
    driver.window.document.apply("keep", lambda d: keep(d, "larger fin"))
    assert curves.data is first and curves._x == x and not curves._soon.isActive()
    grip.press()
    grip.pull(20)
    grip.release()
    assert [kept.label for kept in driver.design.alternatives] == ["larger fin"]


def test_the_window_lives_while_it_computes(
    curves: CurvesWindow, driver: Driver, monkeypatch: pytest.MonkeyPatch
) -> None:
    lived = threading.Event()

    def slow(design: Design, over: Over, *, cancelled: Callable[[], bool]) -> CurveData | None:
        # A curve in the drawing thread would wait here for ever after.
        assert lived.wait(20)
        return curve(design, over, cancelled=cancelled)

    monkeypatch.setattr(curves_window, "curve", slow)
    curves.choose("nose")
    ticks: list[int] = []
    clock = QTimer()
    clock.timeout.connect(lambda: ticks.append(1))
    clock.start(0)
    driver.until(lambda: len(ticks) > 5)
    assert curves.data is None and curves.worker.busy
    clock.stop()
    lived.set()
    driver.until(lambda: curves.data is not None)


def test_a_dropped_start_is_never_heard_of(curves: CurvesWindow, driver: Driver) -> None:
    heard: list[str] = []
    curves.worker.done.connect(lambda found: heard.append(found[1].over))
    for over in ("nose", "cg", "nose", "cg"):
        curves.choose(over)  # type: ignore[arg-type]
    driver.until(lambda: curves.data is not None)
    driver.settle()
    assert heard == ["cg"]


@pytest.mark.parametrize("by", ["close", "reject"])
def test_no_thread_is_left_after_it_closes(driver: Driver, by: str) -> None:
    driver.open_outlines(bare_sample())
    window = CurvesWindow(driver.window.beside)
    window.show()
    assert window.worker.busy and _curve_threads()
    getattr(window, by)()
    assert not _curve_threads()
    QApplication.sendPostedEvents(window, QEvent.Type.DeferredDelete)
    driver.window.document.apply("scale", lambda d: design_at(d, "fin", 1.1))
    driver.settle()
    assert not _curve_threads()


def test_closing_in_the_middle_of_a_pull_gives_it_up(driver: Driver) -> None:
    driver.open_outlines(bare_sample())
    before = driver.design
    window = CurvesWindow(driver.window.beside)
    window.show()
    driver.until(lambda: window.data is not None)
    driver.settle()
    grip = Grip(window)
    grip.press()
    grip.pull(40)
    _away(window)
    assert driver.design is before and driver.window.document.proposal is None


def test_what_is_missing_is_said_and_its_plot_is_not_there(curves: CurvesWindow, driver: Driver) -> None:
    design = replace(bare_sample(), wings=(), weights=())
    driver.window.document.start(design)
    driver.until(lambda: curves.data is not None and not curves.plots["cn_beta"].isVisible())
    assert curves.plots["cla_fraction"].isVisible() and not curves.plots["lead"].isVisible()
    assert "Cnβ" in curves._missing.text() and "Lead in the nose" in curves._missing.text()
    driver.window.document.start(replace(design, outlines=()))
    driver.until(lambda: curves.data is None and curves._empty.text().startswith("Not yet: "))
    assert not any(plot.isVisible() for plot in curves.plots.values())


def test_inches_and_ounces(curves: CurvesWindow, driver: Driver) -> None:
    design = replace(bare_sample(), display_units="in", weights=(Weight("lead", 100, 300, 0, 0, "Lead"),))
    driver.window.document.start(design)
    driver.until(lambda: not curves.worker.busy and not curves._soon.isActive() and curves._base is design)
    _choose(curves, "cg", driver)
    wanted, shown, lead = curve(design, "cg"), curves.plots["cla_fraction"].shown, curves.plots["lead"].shown
    assert wanted is not None and shown is not None and lead is not None
    assert np.allclose(shown.x, wanted.x / 25.4)
    # 1 oz = 453.59237 g / 16 (international agreement of 1959).
    assert np.allclose(lead.y, wanted.lead / (453.59237 / 16))
    grip = Grip(curves)
    grip.press()
    grip.pull(30)
    x = curves._x
    assert x is not None and f"{x / 25.4:.2f} in" in curves.words.text()
    grip.release()
    mark = driver.design.cg_mark
    assert mark is not None and mark.x == x


def test_other_colours(curves: CurvesWindow) -> None:
    curves.set_theme(NIGHT)
    picture = curves.plots["cla_fraction"].field.grab().toImage()
    assert picture.pixelColor(70, 12).lightness() < 90
