"""Windows beside the window whose figures cannot be told: blank with the reason in the same turn."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from driving import LEFT, Driver, sample
from PySide6.QtGui import QGuiApplication

from app.side.compare_window import CompareWindow
from app.side.curves_window import CurvesWindow
from app.side.gust_window import GustWindow
from app.side.plug_window import PlugWindow
from app.side.refit_window import RefitWindow
from app.side.slip_window import SlipWindow
from app.work.readout import UNREAD
from core.redesign.alternatives import keep
from core.redesign.design_edits import set_cg
from core.stability import readings as engine
from core.stability.wording import percent
from core.units import MISSING

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support")
TWICE = "the areas cannot be told: counted in two ways the side area comes to two figures"


class BrokenError(RuntimeError):
    """What the engine is made to raise in the midst of its work."""


def fails(driver: Driver, patch: pytest.MonkeyPatch) -> str:
    """A real drag of the CG, in the midst of which working out the readings begins to fail."""

    def fail(*_: object) -> object:
        raise BrokenError("no fin")

    mark = driver.design.cg_mark
    assert mark is not None
    driver.take("g")
    with driver.qtbot.capture_exceptions() as caught:
        driver.drag((mark.x, mark.z), (mark.x + 10, mark.z), steps=1, drop=False)
        patch.setattr(engine, "pitch_values", fail)
        driver.move((mark.x + 20, mark.z), button=LEFT)
    assert [kind for kind, _, _ in caught] == [BrokenError]
    return UNREAD


def withheld(driver: Driver, _: pytest.MonkeyPatch) -> str:
    """The second count of the committed design does not agree."""
    driver.window.readout.withhold(TWICE)
    return TWICE


@pytest.fixture(params=[fails, withheld])
def happens(
    request: pytest.FixtureRequest, driver: Driver, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Callable[[], str]]:
    """A sample with a kept state, and what takes its figures away; says the reason."""
    mark = sample().design.cg_mark
    assert mark is not None
    kept = keep(set_cg(sample().design, mark.x - 30.0, mark.z), "lead in the nose")
    driver.open_outlines(set_cg(kept, mark.x, mark.z))
    driver.until(lambda: not driver.window.recounter.busy)
    with monkeypatch.context() as patch:
        yield lambda: request.param(driver, patch)
        driver.window.side.close()
    driver.window.document.abort()


def open_window(driver: Driver, name: str) -> Any:
    window = driver.window.side.show(name)
    if getattr(window, "worker", None) is not None:
        driver.until(lambda: not window.worker.busy)
    driver.settle()
    return window


def test_curves_are_gone_at_once(driver: Driver, happens: Callable[[], str]) -> None:
    window: CurvesWindow = open_window(driver, "curves")
    assert window.data is not None and window.plots["cla_fraction"].isVisible()
    why = happens()
    # Not a turn of the event loop later.
    assert window.data is None and not any(plot.isVisible() for plot in window.plots.values())
    assert window._empty.text() == f"Not yet: {why}." and window._empty.isVisible()
    assert window.words.text() == ""
    driver.settle()
    assert not window.worker.busy, "nor is anything drawn of areas that cannot be told"
    window.choose("nose")
    assert not window.worker.busy and window._empty.text() == f"Not yet: {why}."


def test_a_curve_comes_back_with_the_figures(driver: Driver, happens: Callable[[], str]) -> None:
    window: CurvesWindow = open_window(driver, "curves")
    happens()
    if driver.window.document.busy:
        return
    mark = driver.design.cg_mark
    assert mark is not None
    driver.window.document.apply("CG", lambda design: set_cg(design, mark.x + 1.0, mark.z))
    driver.until(lambda: window.data is not None)
    assert window.plots["cla_fraction"].isVisible() and not window._empty.isVisible()


def test_nothing_flies_on_after_a_gust(driver: Driver, happens: Callable[[], str]) -> None:
    window: GustWindow = open_window(driver, "gust")
    assert window.plots["heading"].now is not None and window.playing
    why = happens()
    assert window.sentence.text() == f"Not yet: {why}." and window.more.text() == ""
    assert all(plot.now is None for plot in window.plots.values())
    assert window.now is not None and window.now.values == {} and not window.playing


def test_the_range_of_sideslip_is_empty_at_once(driver: Driver, happens: Callable[[], str]) -> None:
    window: SlipWindow = open_window(driver, "slip")
    assert len(window._curves["total"].getData()[0])
    why = happens()
    assert window.words.text() == f"Not yet: {why}."
    found = [line.getData()[0] for line in (*window._curves.values(), *window._edges)]
    assert all(x is None or len(x) == 0 for x in found)
    assert not window._band.isVisible() and not window._reversal.isVisible()


def test_the_comparison_has_no_old_figure_on_view_or_copied(
    driver: Driver, happens: Callable[[], str]
) -> None:
    window: CompareWindow = open_window(driver, "compare")
    value = driver.window.readout.readings.value("cla_fraction")
    assert value is not None
    old = percent(value)
    assert old in window.model.as_text()
    happens()
    assert old not in window.model.as_text()
    with driver.qtbot.capture_exceptions():
        window.copy()
    if not driver.window.document.busy:
        assert old not in QGuiApplication.clipboard().text()


def test_no_refit_is_worked_out_from_areas_that_cannot_be_told(
    driver: Driver, happens: Callable[[], str]
) -> None:
    window: RefitWindow = open_window(driver, "refit")
    assert window.table.rowCount() > 1
    why = happens()
    if driver.window.document.busy:
        mark = driver.design.cg_mark
        assert mark is not None
        with driver.qtbot.capture_exceptions():
            driver.release((mark.x, mark.z))
            driver.settle()
    assert window.table.rowCount() == 0 and not window.worker.busy
    assert window.state.text() == f"Not yet: {why}."


def test_a_plug_tells_no_figure_of_before_that_is_withheld(driver: Driver) -> None:
    driver.open_outlines(sample().design)
    driver.until(lambda: not driver.window.recounter.busy)
    driver.window.readout.withhold(TWICE)
    window: PlugWindow = open_window(driver, "plug")
    window.length.line.setFocus()
    driver.key("20", on=window.length.line)
    driver.settle()
    assert window.stage.shown
    assert window.words.text() and f"it was {MISSING}." in window.effect.text()
    driver.window.side.close()
