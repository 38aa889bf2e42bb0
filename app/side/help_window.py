"""The help, in a window beside the window: pages, searched, opened at what was asked about."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLineEdit,
    QMainWindow,
    QMenu,
    QPushButton,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
)

from app.kit.help_places import FIRST_PLACE
from app.kit.overrides import errors_told
from app.kit.plain import Label
from app.kit.theme import Theme
from app.side.beside import Beside
from app.side.help_pages import bare, found_in, pages
from app.side.help_view import HelpView
from app.side.side_window import SideWindow

_CONTENTS_PX, _LETTERS = 236, 40
"""Across the contents, at least: no heading is cut."""
_WIDE, _HIGH = 860, 640
_PLACE = Qt.ItemDataRole.UserRole


@errors_told
class HelpWindow(SideWindow):
    """Contents on the left, which the search narrows; the page on the right."""

    def __init__(self, beside: Beside) -> None:
        super().__init__(beside, "Help")
        self.pages = {page.key: page for page in pages(_menus(beside), beside.canvas.hands)}
        self._been: list[str] = []
        self._has_led = False
        """True if the page shown was asked for, and is to be gone back to."""
        self._items: dict[str, QTreeWidgetItem] = {}
        self.place = ""
        self.search, self.contents, self.view = QLineEdit(), QTreeWidget(), HelpView(beside.theme)
        self._found = Label()
        self._found.setWordWrap(True)
        self.search.setPlaceholderText("Search the help")
        self.search.setAccessibleName("Search the help")
        self.search.setClearButtonEnabled(True)
        self.contents.setHeaderHidden(True)
        self.contents.setAccessibleName("Contents")
        self.contents.setIndentation(14)
        self.contents.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.contents.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.back_button = QPushButton("Back")
        self.back_button.setToolTip("Where you read before (Alt+Left)")
        self.back_button.setAutoDefault(False)
        for keys, call in (("Alt+Left", self.back), (QKeySequence.StandardKey.Find, self._ask)):
            QShortcut(QKeySequence(keys), self).activated.connect(call)
        left = QVBoxLayout()
        left.setSpacing(6)
        for widget in (self.search, self._found, self.contents, self.back_button):
            left.addWidget(widget)
            widget.setFixedWidth(max(_CONTENTS_PX, self._across(_LETTERS)))
        row = QHBoxLayout(self)
        row.setContentsMargins(10, 10, 0, 10)
        row.setSpacing(10)
        row.addLayout(left)
        row.addWidget(self.view, 1)
        room = self.screen().availableSize()
        self.resize(min(_WIDE, room.width() - 40), min(_HIGH, room.height() - 60))
        self.view.setMinimumSize(self._across(38), 300)
        self.search.textChanged.connect(self._search)
        self.search.returnPressed.connect(self._first_found)
        self.contents.currentItemChanged.connect(self._chosen)
        self.view.led_to.connect(self.go_to)
        self.back_button.clicked.connect(self.back)
        self.set_theme(beside.theme)
        self._fill()
        self._show(FIRST_PLACE)
        self.contents.setFocus()

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        super().set_theme(theme)
        self._found.setStyleSheet(f"color: {theme.ink_soft};")
        self.view.set_theme(theme)

    # Going about

    def go_to(self, place: str) -> None:
        """Show a place, "page/section"; the first page where there is no such place."""
        key, _, section = place.partition("/")
        page = self.pages.get(key)
        if page is None or all(section != each.key for each in page.sections):
            page = self.pages.get(key, self.pages["method"])
            section = page.sections[0].key
        place = f"{page.key}/{section}"
        if self._has_led and self.place != place:
            self._been.append(self.place)
        self._has_led = True
        self._show(place)

    def back(self) -> None:
        """Where one read before."""
        if self._been:
            self._show(self._been.pop())

    def _show(self, place: str) -> None:
        self.place = place
        key, _, section = place.partition("/")
        self.back_button.setEnabled(bool(self._been))
        self.view.show_section(self.pages[key], section)
        item = self._item_of(place)
        blocked = self.contents.blockSignals(True)
        if item is None:
            self.contents.setCurrentIndex(QModelIndex())
        else:
            if not self.search.text().strip():
                self._open_only(item.parent())
            self.contents.setCurrentItem(item)
            self.contents.scrollToItem(item)
        self.contents.blockSignals(blocked)

    def _open_only(self, opened: QTreeWidgetItem | None) -> None:
        for at in range(self.contents.topLevelItemCount()):
            item = self.contents.topLevelItem(at)
            if item is not None:
                item.setExpanded(item is opened)

    def _item_of(self, place: str) -> QTreeWidgetItem | None:
        return self._items.get(place)

    def _chosen(self, item: QTreeWidgetItem | None) -> None:
        if item is not None:
            self.go_to(str(item.data(0, _PLACE)))

    # Searching

    def _ask(self) -> None:
        self.search.setFocus()
        self.search.selectAll()

    def _search(self) -> None:
        self._fill()
        self.view.mark(self.search.text())

    def _first_found(self) -> None:
        for item in tuple(self._items.values())[:1]:
            self.contents.setCurrentItem(item)

    def _fill(self) -> None:
        """The contents: all of them, or what the search finds."""
        asked = self.search.text().strip()
        blocked = self.contents.blockSignals(True)
        self._items = {}
        self.contents.clear()
        found = found_in(self.pages.values(), asked)
        items: dict[str, QTreeWidgetItem] = {}
        for page, section in found:
            if page.key not in items:
                items[page.key] = QTreeWidgetItem(self.contents, [page.title])
                items[page.key].setData(0, _PLACE, f"{page.key}/{page.sections[0].key}")
            item = QTreeWidgetItem(items[page.key], [section.heading])
            item.setData(0, _PLACE, f"{page.key}/{section.key}")
            item.setToolTip(0, section.heading)
            self._items[f"{page.key}/{section.key}"] = item
        if asked:
            self.contents.expandAll()
        self.contents.blockSignals(blocked)
        places = "1 place" if len(found) == 1 else f"{len(found)} places" if found else "Nothing"
        self._found.setText(f"{places} found." if asked else "")
        self._found.setVisible(bool(asked))
        if not asked and self.place:
            self._show(self.place)


def _menus(beside: Beside) -> list[tuple[str, QMenu]]:
    """The menus of the window, by their titles."""
    window = beside.window
    if not isinstance(window, QMainWindow):
        return []
    found = []
    for action in window.menuBar().actions():
        menu = action.menu()
        if isinstance(menu, QMenu):
            found.append((bare(action.text()), menu))
    return found
