"""When working out the readings fails: no figure stands that is older than the design, shown or printed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pypdfium2
import pytest
from driving import LEFT, Driver, sample
from PySide6.QtCore import QAbstractListModel, QModelIndex, Qt
from PySide6.QtWidgets import QAbstractItemView, QApplication, QFileDialog, QLabel, QWidget

from app.work.readout import UNREAD
from core.redesign.alternatives import keep
from core.redesign.design_edits import set_cg
from core.stability import readings as engine
from core.stability.wording import percent

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support")
SENTENCE = UNREAD[:1].upper() + UNREAD[1:]


class BrokenError(RuntimeError):
    """What the engine is made to raise in the middle of its work."""


def breaks(patch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> object:
        raise BrokenError("no fin")

    patch.setattr(engine, "pitch_values", fail)


def cells(view: QAbstractItemView) -> Iterator[str]:
    model = view.model()
    if model is None:
        return
    top = QModelIndex()
    columns = 1 if isinstance(model, QAbstractListModel) else model.columnCount(top)
    for row in range(model.rowCount(top)):
        for column in range(columns):
            yield str(model.index(row, column).data(Qt.ItemDataRole.DisplayRole))


def shown() -> str:
    """All that the program's windows say, a line each with who says it."""
    found: list[str] = []
    for top in QApplication.topLevelWidgets():
        for part in (top, *top.findChildren(QWidget)):
            if part.isVisible():
                says = [part.accessibleDescription(), part.toolTip()]
                says += [part.text()] if isinstance(part, QLabel) else []
                says += cells(part) if isinstance(part, QAbstractItemView) else []
                where = f"{type(top).__name__}, {type(part).__name__} {part.accessibleName()}"
                found += [f"{where}: {' '.join(words.split())}" for words in says if words]
    return "\n".join(found)


def lines_with(words: str) -> list[str]:
    return [line for line in shown().splitlines() if words in line]


@pytest.fixture
def traced(driver: Driver) -> Driver:
    """A sample whose answer is known and shown."""
    driver.open_outlines(sample().design)
    assert old_figure(driver) in shown()
    return driver


def old_figure(driver: Driver) -> str:
    value = driver.window.readout.readings.value("cla_fraction")
    assert value is not None
    return percent(value)


def assert_blank(driver: Driver, old: str) -> None:
    window = driver.window
    said = window.answer.shown
    assert (said.figure, said.state, said.cla_fraction) == ("", "missing", None)
    assert said.sentence == f"{SENTENCE}."
    assert all(r.value is None and r.missing == UNREAD for r in window.readout.readings.table.values())
    assert window.arm_rule._arm() is None and window.readout.readings.cla is None
    assert window.readout.counted_areas() == {}
    driver.settle()
    assert lines_with(old) == [] and lines_with(SENTENCE)
    window.grab()


def test_a_drag_whose_readings_fail_shows_none(traced: Driver, monkeypatch: pytest.MonkeyPatch) -> None:
    driver, old = traced, old_figure(traced)
    mark = driver.design.cg_mark
    assert mark is not None
    driver.take("g")
    before = driver.window.document.committed
    with driver.qtbot.capture_exceptions() as caught, monkeypatch.context() as patch:
        driver.drag((mark.x, mark.z), (mark.x + 10, mark.z), steps=1, drop=False)
        driver.settle()
        breaks(patch)
        for further in (20, 30, 40):
            driver.move((mark.x + further, mark.z), button=LEFT)
        assert driver.window.document.busy and driver.design is not before
        assert_blank(driver, old)
        driver.release((mark.x + 40, mark.z))
        assert driver.window.document.committed is not before, "the work itself is there"
        assert_blank(driver, old)
    assert caught and all(kind is BrokenError for kind, _, _ in caught)
    driver.window.undoing.undo()
    assert driver.window.readout.readings.value("cla_fraction") is not None and old in shown()


def test_a_commit_whose_readings_fail_shows_none_anywhere(
    traced: Driver, monkeypatch: pytest.MonkeyPatch
) -> None:
    driver = traced
    window, document = driver.window, driver.window.document
    # The state that is kept has figures of its own, which stay.
    mark = sample().design.cg_mark
    assert mark is not None
    kept = keep(set_cg(sample().design, mark.x - 30.0, mark.z), "lead in the nose")
    document.start(set_cg(kept, mark.x, mark.z))
    sides = [window.side.show(name) for name in ("compare", "slip", "gust", "curves", "bench-sheet")]
    driver.until(lambda: not any(getattr(getattr(s, "worker", None), "busy", False) for s in sides))
    driver.settle()
    old = old_figure(driver)
    with monkeypatch.context() as patch:
        breaks(patch)
        with pytest.raises(BrokenError):
            document.apply("CG", lambda design: set_cg(design, 250.0, 0.0))
        # The window at once; those beside it as soon as their threads have come to grief too.
        assert driver.window.answer.shown.figure == ""
        driver.until(lambda: lines_with(old) == [])
        assert document.undo_name == "CG" and window.isWindowModified()
        assert_blank(driver, old)
    window.side.close()


def test_nothing_is_printed_from_readings_older_than_the_design(
    traced: Driver, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    driver, old = traced, old_figure(traced)
    window = driver.window
    out = tmp_path / "sheet.pdf"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_, **__: (str(out), ""))
    side = window.side.show("bench-sheet")
    with monkeypatch.context() as patch:
        breaks(patch)
        with pytest.raises(BrokenError):
            window.document.apply("CG", lambda design: set_cg(design, 250.0, 0.0))
        side.foot.write()
        driver.until(lambda: not side.foot.worker.busy)
        text = " ".join(pypdfium2.PdfDocument(out)[0].get_textpage().get_text_bounded().split())
        assert old not in text and SENTENCE in text
    window.side.close()


def test_every_listener_hears_of_a_change_though_one_fails(traced: Driver) -> None:
    heard: list[str] = []

    def fails(_: object) -> None:
        raise BrokenError("a panel")

    window = traced.window
    deaf = [
        window.readout.listen(fails), window.readout.listen(lambda _: heard.append("readout")),
        window.document.listen(lambda _: heard.append("document")),
    ]
    with pytest.raises(BrokenError, match="a panel"):
        window.document.apply("CG", lambda design: set_cg(design, 250.0, 0.0))
    for stop in deaf:
        stop()
    assert heard == ["readout", "document"]
