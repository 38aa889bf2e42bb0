"""Every window beside the window: whole at its smallest, heard by a screen reader, Tab as the eye goes."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from driving import SAMPLES, Driver, bare_sample
from PySide6.QtCore import QPoint, QRect, QSettings, Qt
from PySide6.QtGui import QAccessible
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QComboBox,
    QLabel,
    QLineEdit,
    QScrollArea,
    QScrollBar,
    QSpinBox,
    QWidget,
)

from app.kit.flow import Flow
from app.kit.help_places import SIDE_WINDOWS
from app.kit.plain import Label
from app.kit.worker import Worker
from app.side.placing import least_of, on_screen
from app.side.refit_window import RefitWindow
from app.side.side_window import SideWindow
from app.work.selection import Selection
from core.kinds import UPRIGHT

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise|grabbing)")
WINDOWS = sorted(SIDE_WINDOWS)


@pytest.fixture
def marsh(driver: Driver) -> Iterator[Driver]:
    driver.open_outlines(bare_sample())
    driver.window.picked.set(Selection(("fin",)))
    driver.canvas.fit()
    driver.settle()
    yield driver
    driver.window.side.close()
    driver.settle()
    QSettings().remove("beside")


def opened(driver: Driver, name: str) -> SideWindow:
    """That window, once what it works out when it opens is there."""
    window = driver.window.side.show(name)
    driver.settle()
    driver.until(lambda: not any(worker.busy for worker in window.findChildren(Worker)))
    driver.settle()
    return window


def shown(window: QWidget) -> Iterator[QWidget]:
    """What is seen of it, without the insides of fields and lists."""
    for widget in window.findChildren(QWidget):
        within = widget.parentWidget()
        inside = isinstance(within, QComboBox | QSpinBox | QAbstractItemView)
        if widget.isVisibleTo(window) and not inside and not isinstance(widget, QScrollBar):
            yield widget


def cut(window: QWidget) -> list[str]:
    """What has less room than its words take."""
    found = []
    for widget in shown(window):
        least, words = widget.sizeHint(), ""
        if isinstance(widget, QLabel) and widget.wordWrap():
            words = widget.text()
            short = bool(words) and widget.height() < widget.heightForWidth(widget.width()) - 1
        elif isinstance(widget, QLabel | QAbstractButton):
            words = widget.text()
            short = bool(words) and widget.width() < least.width() - 1
        elif isinstance(widget, QLineEdit):
            words = widget.text() or widget.placeholderText()
            short = widget.fontMetrics().horizontalAdvance(words) > widget.width() - 8
        else:
            continue
        if short:
            found.append(f"{type(widget).__name__} {words!r}")
    return found


@pytest.mark.parametrize("name", WINDOWS)
def test_at_its_smallest_nothing_is_cut_and_it_fits_a_small_screen(marsh: Driver, name: str) -> None:
    window = opened(marsh, name)
    window.resize(1, 1)
    marsh.settle()
    window.resize(1, 1)
    marsh.settle()
    assert window.width() <= 1000 and window.height() <= 570, window.size()
    assert cut(window) == []


@pytest.mark.parametrize("name", WINDOWS)
def test_every_control_tells_its_name_and_its_value(marsh: Driver, name: str) -> None:
    window = opened(marsh, name)
    nameless = []
    for widget in window.findChildren(QWidget):
        if not widget.isVisibleTo(window) or not widget.focusPolicy() & Qt.FocusPolicy.TabFocus:
            continue
        if widget.focusProxy() is not None or type(widget) is QScrollArea:
            continue
        told = QAccessible.queryAccessibleInterface(widget)
        assert told is not None
        said, value = (told.text(what) for what in (QAccessible.Text.Name, QAccessible.Text.Value))
        if not said:
            nameless.append(f"{type(widget).__name__} in {type(widget.parentWidget()).__name__}")
        if isinstance(widget, QLineEdit) and widget.text():
            assert value == widget.text(), said
        if isinstance(widget, QComboBox):
            assert value == widget.currentText(), said
        if isinstance(widget, QSpinBox):
            assert value.strip(" ×") == str(widget.value()), said
    assert nameless == []


@pytest.mark.parametrize("name", WINDOWS)
def test_tab_goes_as_the_eye_does_and_comes_round(marsh: Driver, name: str) -> None:
    window = opened(marsh, name)
    here: QWidget = window
    chain: list[QWidget] = []
    for _ in range(1000):
        following = here.nextInFocusChain()
        if following is None or following is window:
            break
        here = following
        takes = here.focusPolicy() & Qt.FocusPolicy.TabFocus and here.focusProxy() is None
        if takes and here.isVisibleTo(window):
            chain.append(here)
    assert len(chain) == len(set(chain)) > 0
    # Of two that share what they stand in, none is reached before another that is wholly above it.
    boxes = [(w, w.parentWidget(), QRect(w.mapTo(window, QPoint()), w.size())) for w in chain]
    wrong = [
        (one.accessibleName(), other.accessibleName())
        for at, (one, within, box) in enumerate(boxes) for other, around, above in boxes[at + 1:]
        if within is around and above.bottom() < box.top() and above.left() < box.right()
    ]
    assert wrong == []


@pytest.mark.parametrize("sample", ["marsh-harrow-52", "long-meadow-2000", "tallow-twin"])
@pytest.mark.parametrize("wide", [1366, 1024])
def test_refit_leaves_the_tail_free_at_the_sizes_of_laptops(marsh: Driver, sample: str, wide: int) -> None:
    window = marsh.window
    before = window.size()
    marsh.open(SAMPLES / f"{sample}.sternpost")
    window.resize(wide, 700 if wide == 1366 else 540)
    marsh.settle()
    marsh.canvas.fit()
    marsh.settle()
    tail = on_screen(marsh.canvas, tuple(o for o in marsh.design.outlines if o.kind in UPRIGHT))
    assert tail is not None
    refit = window.side.show("refit")
    assert isinstance(refit, RefitWindow)
    # The screen of this test may be narrower than the window: what counts is the room ahead of the tail.
    ahead = marsh.canvas.mapFromGlobal(tail.topLeft()).x() + marsh.canvas.mapTo(window, QPoint()).x()
    assert least_of(refit).width() < ahead
    assert refit.sizeHint().width() < 900 or least_of(refit).width() < 600
    if window.screen().availableGeometry().contains(tail):
        assert not refit.frameGeometry().intersects(tail)
    window.resize(before)


def test_what_a_narrow_refit_has_no_column_for_stands_in_its_words(marsh: Driver) -> None:
    refit = opened(marsh, "refit")
    assert isinstance(refit, RefitWindow)
    table = refit.table
    refit.resize(1100, 600)
    marsh.settle()
    table.selectRow(1)
    marsh.settle()
    assert not any(table.isColumnHidden(at) for at in range(table.columnCount()))
    wide = refit.words.text()
    refit.resize(1, 600)
    marsh.settle()
    hidden = [at for at in range(1, table.columnCount()) if table.isColumnHidden(at)]
    assert hidden and not table.isColumnHidden(1)
    told = refit.words.text()
    assert told.startswith(wide)
    for at in hidden:
        item = table.item(1, at)
        assert item is not None and item.text() in told[len(wide):]
    refit.resize(1100, 600)
    marsh.settle()
    assert refit.words.text() == wide


def test_a_row_breaks_where_it_is_too_long_and_nothing_of_it_is_cut(marsh: Driver) -> None:
    page = QWidget()
    row = Flow(across=10, down=4)
    page.setLayout(row)
    words = [Label(f"label {n} of a long row") for n in range(6)]
    for one in words:
        row.add(one)
    words[4].hide()
    for width in (2000, 400, 170):
        page.resize(width, row.heightForWidth(width))
        row.setGeometry(page.rect())
        seen = [one.geometry() for at, one in enumerate(words) if at != 4]
        assert all(page.rect().contains(box) for box in seen)
        assert not any(a.intersects(b) for at, a in enumerate(seen) for b in seen[at + 1:])
        assert all(box.width() >= one.sizeHint().width() for box, one in zip(seen, words, strict=False))
    assert row.heightForWidth(2000) < row.heightForWidth(400) < row.heightForWidth(170)
    page.deleteLater()
