"""An error in what Qt calls reaches the hook for errors, from wherever it was called.

A process that died here would be one in which PySide passed the error on through Qt.
"""

from __future__ import annotations

import ast
import importlib
import inspect
import pkgutil
from collections.abc import Callable, Iterator

import pytest
from driving import Driver
from PySide6.QtCore import QAbstractListModel, QCoreApplication, QEvent, QObject, QPointF, QSize, Qt
from PySide6.QtGui import QCloseEvent, QMouseEvent, QPaintEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QApplication, QDialog, QListView, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot
from shiboken6 import Shiboken

import app
from app.kit.overrides import errors_told, overridden

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support")
FREE = Qt.MouseButton.NoButton


def nothing() -> float:
    """Raises what the interpreter raises by itself."""
    return 1 / len("")


@errors_told
class Faulty(QWidget):
    """Fails at the one call that it is told."""

    def __init__(self, at: str = "") -> None:
        super().__init__()
        self.at = at

    def _fail(self, at: str) -> None:
        if at == self.at:
            nothing()

    def showEvent(self, event: QShowEvent) -> None:
        self._fail("show")

    def resizeEvent(self, event: QResizeEvent) -> None:
        self._fail("resize")

    def closeEvent(self, event: QCloseEvent) -> None:
        self._fail("close")

    def paintEvent(self, event: QPaintEvent) -> None:
        self._fail("grab")

    def sizeHint(self) -> QSize:
        self._fail("lay out")
        return QSize(9, 9)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        self._fail("filter")
        return False


def laid_out(widget: QWidget) -> None:
    """Ask a parent for its size, which asks the widget."""
    parent = QWidget()
    QVBoxLayout(parent).addWidget(widget)
    parent.sizeHint()
    widget.setParent(None)


def filtered(widget: QWidget) -> None:
    """Change what the widget watches."""
    other = QWidget()
    other.installEventFilter(widget)
    other.setEnabled(False)
    other.removeEventFilter(widget)


CALLS: dict[str, Callable[[QWidget], object]] = {
    "show": QWidget.show, "resize": lambda widget: (widget.show(), widget.resize(70, 70)),
    "close": lambda widget: (widget.show(), widget.close()), "grab": QWidget.grab, "lay out": laid_out,
    "filter": filtered,
}


@pytest.mark.parametrize("at", CALLS)
def test_an_error_in_what_qt_calls_is_told(qtbot: QtBot, at: str) -> None:
    widget = Faulty(at)
    with qtbot.capture_exceptions() as caught:
        CALLS[at](widget)
    assert {kind for kind, *_ in caught} == {ZeroDivisionError}
    widget.at = ""
    CALLS[at](widget)
    widget.close()


@errors_told
class FaultyModel(QAbstractListModel):
    """Has two rows, or fails at counting them, and fails at what stands in them."""

    counts = True

    def rowCount(self, *_: object) -> int:
        return 2 if self.counts else round(nothing())

    def data(self, *_: object) -> object:
        return nothing()


def test_so_is_one_in_a_model_and_the_view_has_an_empty_cell(qtbot: QtBot) -> None:
    view, model = QListView(), FaultyModel()
    qtbot.addWidget(view)
    view.setModel(model)
    with qtbot.capture_exceptions() as caught:
        assert view.sizeHintForIndex(model.index(0)).isValid()
    assert {kind for kind, *_ in caught} == {ZeroDivisionError}
    model.counts = False
    with qtbot.capture_exceptions() as caught:
        view.reset()
        view.grab()
        assert model.rowCount() == 0
    assert {kind for kind, *_ in caught} == {ZeroDivisionError}
    view.setModel(None)


@errors_told
class FaultyBox(QDialog):
    """Cannot be left, nor say its size."""

    def done(self, result: int) -> None:
        nothing()

    def sizeHint(self) -> QSize:
        nothing()
        return QSize(9, 9)


def test_qt_does_what_could_not_be_done(qtbot: QtBot) -> None:
    with qtbot.capture_exceptions() as caught:
        box = FaultyBox()
        assert box.sizeHint() == QDialog().sizeHint()
        box.show()
        box.reject()
        assert not box.isVisible()
        box.deleteLater()
        QCoreApplication.sendPostedEvents(box, QEvent.Type.DeferredDelete)
    assert {kind for kind, *_ in caught} == {ZeroDivisionError}


@pytest.mark.parametrize("sent", [True, False])
def test_an_error_in_a_hand_is_told(
    driver: Driver, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, sent: bool
) -> None:
    canvas, at = driver.canvas, QPointF(30, 30)
    monkeypatch.setattr(canvas.hand, "move", lambda *_: [][3])
    event = QMouseEvent(
        QEvent.Type.MouseMove, at, canvas.mapToGlobal(at), FREE, FREE, Qt.KeyboardModifier.NoModifier
    )
    with qtbot.capture_exceptions() as caught:
        if sent:
            QApplication.sendEvent(canvas, event)
        else:
            QCoreApplication.postEvent(canvas, event)
            QCoreApplication.processEvents()
    assert [kind for kind, *_ in caught] == [IndexError]


def test_functions_of_our_own_are_left_as_they_are() -> None:
    assert sorted(overridden(Faulty)) == [
        "closeEvent", "eventFilter", "paintEvent", "resizeEvent", "showEvent", "sizeHint"
    ]


def ours() -> Iterator[type]:
    """Every class of the program that Qt may call."""
    for found in pkgutil.walk_packages(app.__path__, "app."):
        module = importlib.import_module(found.name)
        for kind in vars(module).values():
            if inspect.isclass(kind) and issubclass(kind, Shiboken.Object) and kind.__module__ == found.name:
                yield kind


def test_every_class_that_overrides_is_decorated() -> None:
    plain, several = [], 0
    for kind in ours():
        if overridden(kind):
            (tree,) = ast.parse(inspect.getsource(kind)).body
            assert isinstance(tree, ast.ClassDef)
            several += 1
            if "errors_told" not in [ast.unparse(decorator) for decorator in tree.decorator_list]:
                plain.append(f"{kind.__module__}.{kind.__name__}")
    assert several > 40
    assert not plain
