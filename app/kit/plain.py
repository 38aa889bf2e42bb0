"""The one door for words in the window: what somebody wrote is shown letter by letter.

Qt takes text that looks like HTML for HTML, and then opens the files that it names: a title such as
``<img src="file:///…">`` would reach outside the design, and hang the window on a pipe. So no other
module makes a ``QLabel`` or a ``QMessageBox``, or hands Qt a tool tip of other words than its own;
``tests/app/test_plain_words.py`` reads the source for that. Menus, buttons, fields, item views and
painters take nothing for HTML.
"""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import Qt as Gui
from PySide6.QtWidgets import QLabel, QMessageBox, QWidget

_PLAIN = Qt.TextFormat.PlainText


class Label(QLabel):
    """A label that shows its text as it is written."""

    def __init__(self, text: str = "") -> None:
        super().__init__()
        self.setTextFormat(_PLAIN)
        if text:
            self.setText(text)


class OwnHtml(QLabel):
    """A label of HTML that stands in the program itself; nothing that comes from a design goes into it."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.setTextFormat(Qt.TextFormat.RichText)
        self.setText(html)


def plain(text: str) -> str:
    """``text`` for tool tips and ready-made dialogues: what Qt would take for HTML is escaped."""
    if not Gui.mightBeRichText(text):
        return text
    return Gui.convertFromPlainText(text, Gui.WhiteSpaceMode.WhiteSpaceNormal)


class Box(QMessageBox):
    """A box that says or asks something; its texts are shown as they are written."""

    def __init__(
        self, parent: QWidget | None, icon: QMessageBox.Icon, text: str, more: str = "", *,
        title: str = "Sternpost",
    ) -> None:
        super().__init__(icon, title, "", parent=parent)
        self.setTextFormat(_PLAIN)
        self.setText(text)
        if more:
            # Its label is made with the first text, and takes any format of its own.
            self.setInformativeText("…")
            for label in self.findChildren(QLabel):
                label.setTextFormat(_PLAIN)
            self.setInformativeText(more)


def warn(parent: QWidget, title: str, text: str) -> None:
    """Say ``text`` in a box; waits until it is read."""
    box = Box(parent, Box.Icon.Warning, text, title=title)
    box.exec()
    box.deleteLater()


def asked(parent: QWidget, title: str, question: str) -> bool:
    """True if ``question`` is answered with yes."""
    box = Box(parent, Box.Icon.Question, question, title=title)
    box.setStandardButtons(Box.StandardButton.Yes | Box.StandardButton.No)
    answer = box.exec()
    box.deleteLater()
    return answer == Box.StandardButton.Yes
