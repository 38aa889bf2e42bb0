"""What somebody wrote is shown letter by letter: no word of a design opens a file or becomes a picture."""

from __future__ import annotations

import ast
import ctypes
import os
import sys
from collections.abc import Callable, Iterator
from html import unescape
from pathlib import Path
from typing import Any

import msgspec
import pytest
from driving import ROOT, Driver, sample
from PySide6.QtCore import QAbstractListModel, QModelIndex, QPoint, Qt
from PySide6.QtGui import Qt as Gui
from PySide6.QtWidgets import QAbstractItemView, QApplication, QLabel, QToolTip, QWidget

from app.kit.fault_box import fault_box
from app.kit.plain import Box, Label, OwnHtml, asked, plain, warn
from app.side.side_window import SideWindow
from core.design import Design
from core.design_check import problems
from core.redesign.alternatives import keep
from core.redesign.design_edits import set_cg

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support")
WORDS = {"title", "notes", "label", "name"}
SIDE = sorted(
    path.name.removesuffix("_window.py").replace("_", "-")
    for path in (ROOT / "app/side").glob("*_window.py")
    if path.name not in ("side_window.py", "sheet_window.py", "settle_window.py")
)
TIP = Qt.ItemDataRole.ToolTipRole


class Opened:
    """Tells whether anybody opens a file (inotify, Linux; the C library's own functions)."""

    def __init__(self, path: Path) -> None:
        libc = ctypes.CDLL(None, use_errno=True)
        self._stream = libc.inotify_init1(os.O_NONBLOCK)
        # IN_ACCESS and IN_OPEN of <sys/inotify.h>.
        assert libc.inotify_add_watch(self._stream, os.fsencode(path), 0x01 | 0x20) >= 0

    def times(self) -> int:
        """How often since it was asked last."""
        try:
            return len(os.read(self._stream, 65536)) // 16
        except BlockingIOError:
            return 0

    def close(self) -> None:
        """Watch no more."""
        os.close(self._stream)


@pytest.fixture
def bait(tmp_path: Path) -> Iterator[tuple[str, Opened]]:
    """Words that name a picture as HTML does, and what tells whether it was opened."""
    if not sys.platform.startswith("linux"):
        pytest.skip("inotify is Linux")
    path = tmp_path / "bait.png"
    path.write_bytes(b"no picture")
    watch = Opened(path)
    yield f'<img src="{path.as_uri()}"><b>x</b>', watch
    watch.close()


def baited(part: Any, words: str) -> Any:
    """``part`` of a design with ``words`` wherever a builder may write what he likes."""
    if isinstance(part, msgspec.Struct):
        fields = {
            name: words if name in WORDS and isinstance(value, str) else baited(value, words)
            for name, value in ((n, getattr(part, n)) for n in part.__struct_fields__)
        }
        return msgspec.structs.replace(part, **fields)
    return tuple(baited(one, words) for one in part) if isinstance(part, tuple) else part


def hostile(words: str) -> Design:
    """A sample with a kept state, all of whose words are bait."""
    design = baited(keep(sample().design, "as drawn"), words)
    assert problems(design) == [] and words in design.title and words in design.alternatives[0].label
    return design


def tips_of(view: QAbstractItemView) -> Iterator[str]:
    """The tool tips of all cells and heads."""
    model = view.model()
    if model is None:
        return
    top = QModelIndex()
    rows = min(model.rowCount(top), 60)
    columns = 1 if isinstance(model, QAbstractListModel) else min(model.columnCount(top), 60)
    found = [model.index(r, c).data(TIP) for r in range(rows) for c in range(columns)]
    found += [model.headerData(c, Qt.Orientation.Horizontal, TIP) for c in range(columns)]
    found += [model.headerData(r, Qt.Orientation.Vertical, TIP) for r in range(rows)]
    yield from (text for text in found if isinstance(text, str))


def look(root: QWidget, words: str) -> list[str]:
    """Every text under ``root`` that Qt would take for HTML though it holds ``words``."""
    parts = [root, *root.findChildren(QWidget)]
    wrong = []
    for part in parts:
        where = f"{type(part).__name__} {part.accessibleName()}"
        if isinstance(part, QLabel) and part.textFormat() != Qt.TextFormat.PlainText:
            rich = part.textFormat() == Qt.TextFormat.RichText or Gui.mightBeRichText(part.text())
            ours = isinstance(part, OwnHtml) or part.metaObject().className() == "QTipLabel"
            if rich and (words in part.text() or not ours):
                wrong.append(f"{where}: {part.text()[:80]}")
        for text in (part.toolTip(), *(tips_of(part) if isinstance(part, QAbstractItemView) else ())):
            if Gui.mightBeRichText(text) and words in text:
                wrong.append(f"tip of {where}: {text[:80]}")
            if "bait" in unescape(text):
                # Really shown, as the mouse would.
                QToolTip.showText(root.mapToGlobal(QPoint(20, 20)), text, root)
    root.grab()
    QToolTip.hideText()
    QApplication.processEvents()
    return wrong


def test_the_watch_sees_what_a_label_of_qt_opens(qapp: QApplication, bait: tuple[str, Opened]) -> None:
    words, opened = bait
    label = QLabel(words)
    label.grab()
    assert opened.times() > 0, "or the tests below would show nothing"
    ours = Label(words)
    ours.grab()
    assert opened.times() == 0 and ours.text() == words


def test_no_word_of_a_design_is_taken_for_html_in_the_window(
    driver: Driver, bait: tuple[str, Opened]
) -> None:
    words, opened = bait
    window = driver.window
    window.document.start(hostile(words), dict(sample().pictures))
    driver.until_decoded(1)
    wrong = look(window, words)
    for number in range(window.tabs.count()):
        window.tabs.setCurrentIndex(number)
        for view in window.tabs.currentWidget().findChildren(QAbstractItemView):
            view.setCurrentIndex(view.model().index(0, 0))
        driver.settle()
        wrong += look(window, words)
    window.strip.say(f"{words} was said")
    window.status.say_instead(words)
    window.status.show_busy(f"Opening {words}", 0.5)
    for action in window.menus.actions.values():
        assert words not in action.toolTip() or not Gui.mightBeRichText(action.toolTip())
    driver.canvas.setFocus()
    driver.key(Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
    driver.settle()
    wrong += look(window, words)
    window.status.show_busy("", 1.0)
    assert wrong == [] and opened.times() == 0


@pytest.mark.parametrize("name", SIDE)
def test_no_word_of_a_design_is_taken_for_html_beside_the_window(
    driver: Driver, bait: tuple[str, Opened], name: str
) -> None:
    words, opened = bait
    window = driver.window
    window.document.start(hostile(words), dict(sample().pictures))
    driver.until_decoded(1)
    side = window.side.show(name)
    assert isinstance(side, SideWindow)
    driver.settle()
    wrong = look(side, words)
    driver.settle()
    wrong += look(side, words)
    window.side.close()
    driver.settle()
    assert wrong == [] and opened.times() == 0


def test_no_box_takes_what_it_says_for_html(driver: Driver, bait: tuple[str, Opened]) -> None:
    words, opened = bait
    window, seen = driver.window, []

    def ask(show: Callable[[], object], button: str) -> None:
        driver.boxes.answer(button)
        show()
        seen.append(driver.boxes.seen[-1])

    ask(lambda: fault_box(window, words, [words, words]), "OK")
    ask(lambda: warn(window, words, words), "OK")
    ask(lambda: asked(window, words, words), "No")
    window.document.start(hostile(words))
    window.document.apply("CG", lambda design: set_cg(design, 301.0, 0.0))
    ask(window.filing.may_leave, "Discard")
    window.kept.list.setCurrentIndex(window.kept.list.model().index(0, 0))
    ask(window.kept.take_back, "Cancel")
    assert all(words in text for text in seen) and opened.times() == 0
    box = Box(window, Box.Icon.Warning, words, words)
    wrong = look(box, words)
    box.deleteLater()
    assert wrong == []


def test_only_what_qt_would_take_for_html_is_changed() -> None:
    for text in ("12 < 13 mm", "Fin & rudder\nTwo lines", "<", "", "a <- b"):
        assert plain(text) == text
    assert "&lt;img" in plain('<img src="x">\nFin')


# The source


def calls(tree: ast.AST) -> Iterator[tuple[str, ast.Call]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            by_dot = isinstance(node.func, ast.Attribute)
            yield getattr(node.func, "attr" if by_dot else "id", ""), node


def is_safe(argument: ast.expr) -> bool:
    """True if it stands in the program as it is, or came through the door."""
    if isinstance(argument, ast.Constant):
        return True
    return isinstance(argument, ast.Call) and getattr(argument.func, "id", "") == "plain"


# Of what Qt takes for HTML: which argument.
TEXTS = {
    "setToolTip": 0, "QProgressDialog": 0, "setLabelText": 0, "setWhatsThis": 0, "getText": 2, "addRow": 0,
    "showText": 1,
}
# Pages of help: the program's own words, laid out without HTML (``app/side/help_view.py``).
OWN_PAGES = {"help_view.py": {"QTextDocument", "QTextBrowser", "QTextEdit"}, "help_window.py": {"QTextEdit"},
             # Asks alone whether the field in hand is one.
             "field_keys.py": {"QTextEdit"}}
BY_THE_DOOR = {
    "QLabel", "QMessageBox", "QErrorMessage", "QWhatsThis", "QTextDocument", "QTextEdit", "QTextBrowser",
    "QStaticText", "QGraphicsTextItem",
}


@pytest.mark.parametrize(
    "path", sorted((ROOT / "app").rglob("*.py")), ids=lambda p: p.relative_to(ROOT).as_posix()
)
def test_no_module_goes_round_the_door(path: Path) -> None:
    tree, wrong = ast.parse(path.read_text("utf-8")), []
    own = OWN_PAGES.get(path.name, set())
    if path.name == "plain.py" and path.parent.name == "kit":
        return
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("PySide6"):
            wrong += [f"line {node.lineno}: {a.name}" for a in node.names if a.name in BY_THE_DOOR - own]
        if isinstance(node, ast.If) and "ToolTipRole" in ast.dump(node.test):
            for inner in ast.walk(node):
                if isinstance(inner, ast.Return) and inner.value is not None and not is_safe(inner.value):
                    wrong.append(f"line {inner.lineno}: a tool tip")
    for name, call in calls(tree):
        if name == "addRow" and len(call.args) < 2:
            continue
        if name in TEXTS and len(call.args) > TEXTS[name] and not is_safe(call.args[TEXTS[name]]):
            wrong.append(f"line {call.lineno}: {name}")
        if name in ("setHtml", "toHtml"):
            wrong.append(f"line {call.lineno}: {name}")
    assert wrong == [], "use app.kit.plain"
