"""The kept states of the design: kept under a name, shown as a ghost, taken back."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.canvas.canvas import Canvas
from app.kit.overrides import errors_told
from app.kit.plain import Box, Label
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from app.panels.kept_list import KeptList, KeptModel, KeptRow
from app.work.document import Change, Document
from app.work.readout import Readout
from core.design import Alternative, Design
from core.redesign.alternatives import alternative_of, delete, keep, rename, same_state, take_back
from core.redesign.outline_edits import EditError

INVITATION = (
    "Nothing is kept yet. Keep the design as it is now under a name, before you change it: to see it as a "
    "ghost under the outlines, to compare the figures, and to take it back."
)


def next_label(design: Design) -> str:
    """The name to offer for the present state: "as drawn", then "state 2" and on."""
    taken = {kept.label for kept in design.alternatives}
    number = len(taken) + 1
    if number == 1:
        return "as drawn"
    while f"state {number}" in taken:
        number += 1
    return f"state {number}"


@errors_told
class AlternativesPanel(QWidget):
    """One line and a button while nothing is kept; then the list, and what is done with it.

    ``compare_button`` does nothing by itself: whoever owns the panel connects it.
    """

    def __init__(
        self, document: Document, readout: Readout, canvas: Canvas, theme: Theme, say: Callable[[str], None]
    ) -> None:
        super().__init__()
        self._document, self._canvas, self._say = document, canvas, say
        self._theme = theme
        self.model = KeptModel(self._rename)
        self._row = KeptRow(self.model, theme)
        self.list = KeptList(self.toggle_ghost, self.delete)
        self.list.setModel(self.model)
        self.list.setItemDelegate(self._row)
        self.list.selectionModel().currentRowChanged.connect(lambda *_: self._refresh_buttons())
        self.invitation = Label(INVITATION)
        self.invitation.setWordWrap(True)
        self.keep_button = QPushButton("Keep this state…")
        self.keep_button.setToolTip("Keep the design as it is now under a name")
        self.keep_button.clicked.connect(self.ask_name)
        self.take_button = QPushButton("Take back")
        self.take_button.setToolTip("Make the design what it was when that was kept; undo brings this back")
        self.take_button.clicked.connect(self.take_back)
        self.delete_button = QPushButton("Delete")
        self.delete_button.setToolTip("Delete the selected state; the design stays as it is")
        self.delete_button.clicked.connect(self.delete)
        self.compare_button = QPushButton("Compare…")
        self.compare_button.setToolTip("The readings of the kept states beside those of the present one")
        self._naming = self._name_row()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 8)
        layout.setSpacing(8)
        top = QVBoxLayout()
        top.setContentsMargins(12, 12, 12, 0)
        top.setSpacing(8)
        top.addWidget(self.invitation)
        keeping = QHBoxLayout()
        keeping.setSpacing(6)
        keeping.addWidget(self.keep_button)
        keeping.addWidget(self.compare_button)
        keeping.addStretch(1)
        top.addLayout(keeping)
        top.addWidget(self._naming)
        layout.addLayout(top)
        layout.addWidget(self.list, 1)
        self._below = QWidget()
        row = QHBoxLayout(self._below)
        row.setContentsMargins(12, 0, 12, 0)
        row.setSpacing(6)
        for button in (self.take_button, self.delete_button):
            row.addWidget(button)
        row.addStretch(1)
        layout.addWidget(self._below)
        self._rest = QWidget()
        layout.addWidget(self._rest, 1)
        self.set_theme(theme)
        readout.listen(self._changed)
        self.refresh()

    def _name_row(self) -> QWidget:
        place = QWidget()
        row = QHBoxLayout(place)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(6)
        self.name = _NameField(self.put_name_away)
        self.name.setAccessibleName("Name of the state to keep")
        self.name.returnPressed.connect(self.keep)
        self.name_button = QPushButton("Keep")
        self.name_button.clicked.connect(self.keep)
        row.addWidget(self.name, 1)
        row.addWidget(self.name_button)
        place.hide()
        return place

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = self._row.theme = theme
        self.list.viewport().update()

    def sizeHint(self) -> QSize:  # noqa: D102
        return QSize(272, 420)

    # What it shows

    def _changed(self, change: Change) -> None:
        if change.what in ("preview", "proposal"):
            return
        if change.what == "file" and change.name in ("opened", "recovered"):
            self.model.ghost = None
            self.put_name_away()
        self.refresh()

    def refresh(self) -> None:
        """Show what is kept now."""
        current = self.current
        design = self._document.committed
        self.model.take(design)
        some = bool(design.alternatives)
        self.invitation.setVisible(not some)
        self._rest.setVisible(not some)
        self.list.setVisible(some)
        self._below.setVisible(some)
        self.compare_button.setVisible(some)
        if some:
            ids = [kept.id for kept in design.alternatives]
            row = ids.index(current.id) if current and current.id in ids else len(ids) - 1
            self.list.setCurrentIndex(self.model.index(row))
        self._show_ghost()
        self._refresh_buttons()

    def _refresh_buttons(self) -> None:
        current = self.current
        self.take_button.setEnabled(current is not None and not self.model.is_now(current))
        self.delete_button.setEnabled(current is not None)

    @property
    def current(self) -> Alternative | None:
        """The row that is selected."""
        row = self.list.currentIndex().row()
        return self.model.kept[row] if 0 <= row < len(self.model.kept) else None

    def toggle_ghost(self, alternative_id: str) -> None:
        """Show that state as a ghost under the outlines, or no longer; one at a time."""
        self.model.ghost = None if self.model.ghost == alternative_id else alternative_id
        self._show_ghost()
        self.model.refresh()

    def _show_ghost(self) -> None:
        shown = next((kept for kept in self.model.kept if kept.id == self.model.ghost), None)
        ghost = self.model.look(shown)[1] if shown is not None else None
        if ghost is not self._canvas.ghost:
            self._canvas.ghost = ghost

    # What is done with it

    def ask_name(self) -> None:
        """Open the line for the name; Return keeps, Escape gives up."""
        self.keep_button.hide()
        self._naming.show()
        self.name.setText(next_label(self._document.committed))
        self.name.selectAll()
        self.name.setFocus()

    def put_name_away(self) -> None:
        """Close the line for the name."""
        self._naming.hide()
        self.keep_button.show()

    def keep(self) -> None:
        """Keep the present state under the name that is typed."""
        name = self.name.text()
        if self._do(f"keep “{name.strip()}”", lambda d: keep(d, name)):
            self.put_name_away()
            self.list.setCurrentIndex(self.model.index(len(self.model.kept) - 1))
            self.list.setFocus()

    def take_back(self) -> None:
        """Take the selected state back; what is kept nowhere may be kept first, in the same step."""
        current = self.current
        if current is None:
            return
        design = self._document.committed
        also: str | None = None
        if not any(same_state(design, kept) for kept in design.alternatives):
            name = next_label(design)
            box = Box(
                self, Box.Icon.Question, f"Take back “{current.label}”?",
                "The design as it is now is kept under no name. It can be undone, but only until the file "
                "is closed.",
                title="Take back",
            )
            keeping = box.addButton(f"Keep as “{name}” first", Box.ButtonRole.AcceptRole)
            plain = box.addButton("Do not keep", Box.ButtonRole.DestructiveRole)
            box.addButton(Box.StandardButton.Cancel)
            box.setDefaultButton(keeping)
            box.exec()
            box.deleteLater()
            if box.clickedButton() not in (keeping, plain):
                return
            also = name if box.clickedButton() is keeping else None
        wanted = current.id

        def edit(now: Design) -> Design:
            return take_back(keep(now, also) if also else now, wanted)

        self._do(f"take back “{current.label}”", edit)

    def delete(self) -> None:
        """Delete the selected state; the design stays."""
        current = self.current
        if current is not None:
            self._do(f"delete “{current.label}”", lambda d: delete(d, current.id))

    def _rename(self, alternative_id: str, name: str) -> None:
        design = self._document.committed
        try:
            if alternative_of(design, alternative_id).label == name:
                return
        except EditError as error:
            self._say(as_sentence(str(error)))
            return
        self._do("rename kept state", lambda d: rename(d, alternative_id, name))

    def _do(self, name: str, edit: Callable[[Design], Design]) -> bool:
        try:
            self._document.apply(name, edit, "alternatives")
        except EditError as error:
            self._say(as_sentence(str(error)))
            return False
        return True


@errors_told
class _NameField(QLineEdit):
    """A line that Escape puts away."""

    def __init__(self, gave_up: Callable[[], None]) -> None:
        super().__init__()
        self._gave_up = gave_up

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self._gave_up()
        else:
            super().keyPressEvent(event)
