"""The moment in yaw from straight ahead to broadside on: its band, its marks, and what is said of it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from driving import Driver, bare_sample
from msgspec.structs import replace
from PySide6.QtCore import QEvent
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QApplication

from app.kit.theme import DAY, NIGHT, Theme
from app.side.slip_window import SlipWindow
from core.design import Design, Mark
from core.redesign.refit import refit
from core.stability.lateral.slip_range import SlipCurve, slip_curve

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise)")


@pytest.fixture
def slips(driver: Driver) -> Iterator[SlipWindow]:
    driver.open_outlines(firm())
    window = SlipWindow(driver.window.beside)
    window.show()
    driver.settle()
    yield window
    window.close()
    QApplication.sendPostedEvents(window, QEvent.Type.DeferredDelete)


def firm() -> Design:
    return refit(bare_sample(), "scale", "cn_beta", 0.08).design


def shown(driver: Driver, slips: SlipWindow, design: Design) -> SlipCurve:
    """What the window shows after this design was opened."""
    driver.open_outlines(design)
    slips.redraw()
    curve = slip_curve(driver.window.readout.readings.aeroplane)
    assert isinstance(curve, SlipCurve)
    return curve


def test_the_curve_stands_within_its_band(driver: Driver, slips: SlipWindow) -> None:
    curve = shown(driver, slips, firm())
    total = slips._curves["total"].getData()
    assert np.allclose(total[0], curve.beta_deg) and np.allclose(total[1], curve.total / 25.4**3)
    low, high = (edge.getData()[1] for edge in slips._edges)
    assert np.allclose(low, curve.low / 25.4**3) and np.allclose(high, curve.high / 25.4**3)
    assert slips._band.isVisible() and np.all(low <= total[1] + 1e-12) and np.all(total[1] <= high + 1e-12)
    parts = sum(slips._curves[name].getData()[1]
                for name in ("fin", "body_attached", "others_attached", "cross_flow"))
    assert np.allclose(parts, total[1]), "the parts that are drawn make up the whole"


def test_where_it_may_swing_round_is_marked_by_the_band(driver: Driver, slips: SlipWindow) -> None:
    """A weak fin turns by the less firm reckoning: as far as the band lies under nought."""
    weak = refit(bare_sample(), "scale", "cn_beta", 0.015).design
    curve = shown(driver, slips, weak)
    assert curve.reversal_low_deg is not None
    start, end = slips._swings.getRegion()
    assert slips._swings.isVisible() and start == pytest.approx(curve.reversal_low_deg)
    below = curve.beta_deg[curve.low < 0.0]
    assert end == pytest.approx(below.max()) and len(below) > 3
    assert slips.words.text().startswith(curve.sentence)
    firmly = shown(driver, slips, refit(bare_sample(), "scale", "cn_beta", 0.14).design)
    assert firmly.reversal_low_deg is None and not slips._swings.isVisible()


def test_full_rudder_is_marked_where_it_balances_and_said(driver: Driver, slips: SlipWindow) -> None:
    shown(driver, slips, firm())
    held = driver.window.readout.readings.value("sideslip_full_rudder_deg")
    assert held is not None and slips._held.isVisible()
    assert slips._held.value() == pytest.approx(held)
    assert f"should hold a sideslip of about {held:.0f}°" in slips.words.text()
    shown(driver, slips, refit(bare_sample(), "scale", "cn_beta", 0.01).design)
    assert driver.window.readout.readings["sideslip_full_rudder_deg"].missing == "over 30°"
    assert not slips._held.isVisible() and "over 30°" in slips.words.text()


def test_it_follows_the_design_when_the_hand_pauses(driver: Driver, slips: SlipWindow) -> None:
    before = slips._curves["total"].getData()[1].copy()
    driver.window.document.apply("mark", lambda d: replace(d, cg_from="mark", cg_mark=Mark(300, 0)), "x")
    driver.until(lambda: not np.array_equal(slips._curves["total"].getData()[1], before))


def test_while_there_is_no_curve_nothing_is_drawn(driver: Driver, slips: SlipWindow) -> None:
    driver.open_outlines(replace(firm(), wings=()))
    slips.redraw()
    assert slips.words.text() == "Not yet: enter the wing."
    assert not any(mark.isVisible() for mark in (slips._band, slips._swings, slips._held, slips._reversal))
    assert all(len(edge.getData()[0]) == 0 for edge in slips._edges)
    shown(driver, slips, firm())
    assert slips._band.isVisible()


@pytest.mark.parametrize("theme", [DAY, NIGHT], ids=["day", "night"])
def test_its_words_are_in_ink(slips: SlipWindow, theme: Theme) -> None:
    slips.set_theme(theme)
    colours = [QColor(label.opts["color"]).name() for _, label in slips._legend.items]
    assert colours == [theme.ink] * len(slips._curves)


def test_names_of_the_curves_cover_none_of_them(slips: SlipWindow) -> None:
    legend = slips._legend.sceneBoundingRect()
    field = slips.plot.getPlotItem().vb.sceneBoundingRect()
    assert len(slips._legend.items) == len(slips._curves) and not legend.intersects(field)
