"""Wings and tailplanes: the list, and the form of the one that is selected."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, QSize, Qt
from PySide6.QtGui import QColor, QFont, QPainter
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QScrollArea,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.kit.icon_button import icon_button
from app.kit.overrides import errors_told
from app.kit.plain import Label
from app.kit.rows import draw_ground, two_lines
from app.kit.theme import Theme, icon
from app.panels.surface_form import ORIGIN, SurfaceFields, summary
from app.work.document import Change, Document
from app.work.readout import Readout
from core.design import Design
from core.redesign.outline_edits import EditError
from core.redesign.surface_edits import noun
from core.redesign.surface_lists import (
    Which,
    add_tailplane,
    add_wing,
    all_surfaces,
    delete_surface,
    duplicate_surface,
    surface_of,
)

Index = QModelIndex | QPersistentModelIndex
_MOST_ROWS = 6
_WORDS = Qt.ItemDataRole.UserRole
NO_WINGS = "No wing or tailplane yet. Enter them: the readings then tell tail volumes, yaw, pitch and trim."


@errors_told
class _SurfaceRow(QStyledItemDelegate):
    """Two lines a row: name and area; what it is and its span beneath."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self.theme = theme

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        return QSize(200, two_lines(option.fontMetrics))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        name, line, area = index.data(_WORDS)
        theme = self.theme
        painter.save()
        box = draw_ground(painter, option, theme)
        bold = QFont(option.font)
        bold.setBold(True)
        painter.setFont(option.font)
        high = painter.fontMetrics().height()
        inside = box.adjusted(12, (box.height() - 2 * high) // 2, -12, 0)
        wide = painter.fontMetrics().horizontalAdvance(area)
        top = QRect(inside.left(), inside.top(), inside.width(), high)
        painter.setPen(QColor(theme.ink))
        painter.drawText(top, Qt.AlignmentFlag.AlignRight, area)
        painter.setFont(bold)
        name = painter.fontMetrics().elidedText(name, Qt.TextElideMode.ElideRight, inside.width() - wide - 8)
        painter.drawText(top, Qt.AlignmentFlag.AlignLeft, name)
        painter.setFont(option.font)
        painter.setPen(QColor(theme.ink_soft))
        line = painter.fontMetrics().elidedText(line, Qt.TextElideMode.ElideRight, inside.width())
        painter.drawText(top.translated(0, high), Qt.AlignmentFlag.AlignLeft, line)
        painter.restore()


class SurfacesPanel(QScrollArea):
    """The list of wings and tailplanes, the buttons over it, and the form of what is selected."""

    def __init__(
        self, document: Document, readout: Readout, theme: Theme, say: Callable[[str], None]
    ) -> None:
        super().__init__()
        self._document, self._say = document, say
        self._chosen: Which | None = None
        self._shown: tuple[object, ...] = ()
        self._filling = False
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setMinimumWidth(200)
        self.buttons: dict[str, QToolButton] = {}
        bar = QHBoxLayout()
        bar.setContentsMargins(6, 4, 6, 4)
        bar.setSpacing(0)
        for name, words, tip, action in (
            ("wing", "+ Wing", "Add a wing, with first numbers to type over", self.add_wing),
            ("tailplane", "+ Tailplane", "Add a tailplane, with first numbers to type over",
             self.add_tailplane),
            ("duplicate", "", "Duplicate, one chord above: the other wing of a biplane", self.duplicate),
            ("remove", "", "Delete the selected wing or tailplane", self.delete),
        ):
            button = icon_button(tip, action)
            button.setText(words)
            # A click takes the focus, so that what is being typed is entered first.
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            button.setFixedWidth(button.fontMetrics().horizontalAdvance(words) + 16 if words else 31)
            self.buttons[name] = button
            if name == "duplicate":
                bar.addStretch(1)
            bar.addWidget(button)
        self.empty = Label(NO_WINGS)
        self.empty.setWordWrap(True)
        self.empty.setContentsMargins(12, 8, 12, 4)
        self.list = QListWidget()
        self._row = _SurfaceRow(theme)
        self.list.setItemDelegate(self._row)
        self.list.setAccessibleName("Wings and tailplanes")
        self.list.setVerticalScrollMode(QListWidget.ScrollMode.ScrollPerPixel)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.currentRowChanged.connect(self._selected)
        self.form = SurfaceFields(document, theme, say)
        inside = QWidget()
        layout = QVBoxLayout(inside)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.empty)
        layout.addLayout(bar)
        layout.addWidget(self.list)
        layout.addWidget(self.form)
        layout.addStretch(1)
        self.setWidget(inside)
        self.set_theme(theme)
        readout.listen(self._changed)
        self.refresh()

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._row.theme = theme
        for name in ("duplicate", "remove"):
            self.buttons[name].setIcon(icon(name, theme.ink))
        self.empty.setStyleSheet(f"color: {theme.ink_soft};")
        self.form.set_theme(theme)
        self.list.viewport().update()

    @property
    def chosen(self) -> Which | None:
        """The surface that the form shows."""
        return self._chosen

    def choose(self, which: Which) -> None:
        """Show that surface's form."""
        self._chosen = which
        self.refresh()

    def _changed(self, change: Change) -> None:
        if change.what == "file" and change.name != "saved":
            self.form.forget()
            self._chosen, self._shown = None, ()
        design = self._document.edited
        # While an outline is dragged nothing changes here.
        if self._shown != (design.wings, design.tailplanes, design.display_units):
            self.refresh()

    def refresh(self) -> None:
        """Show the surfaces as they are now."""
        design = self._document.edited
        self._shown = (design.wings, design.tailplanes, design.display_units)
        surfaces = all_surfaces(design)
        if self._chosen not in surfaces:
            self._chosen = _nearest(self._chosen, surfaces)
        self._filling = True
        while self.list.count() > len(surfaces):
            self.list.takeItem(self.list.count() - 1)
        for row, which in enumerate(surfaces):
            item = self.list.item(row) if row < self.list.count() else None
            if item is None:
                item = QListWidgetItem()
                self.list.addItem(item)
            words = summary(design, which)
            if item.data(_WORDS) != words:
                item.setData(_WORDS, words)
                item.setData(Qt.ItemDataRole.AccessibleTextRole, ", ".join(words))
        self.list.setCurrentRow(surfaces.index(self._chosen) if self._chosen in surfaces else -1)
        self._filling = False
        rows = min(len(surfaces), _MOST_ROWS)
        self.list.setFixedHeight(rows * two_lines(self.list.fontMetrics()) + 2 * self.list.frameWidth())
        self.list.setVisible(bool(surfaces))
        self.empty.setVisible(not surfaces)
        for name in ("duplicate", "remove"):
            self.buttons[name].setEnabled(self._chosen is not None)
        self.form.show_surface(self._chosen)

    def _selected(self, row: int) -> None:
        surfaces = all_surfaces(self._document.edited)
        if not self._filling and 0 <= row < len(surfaces):
            self.choose(surfaces[row])

    # What the buttons do

    def add_wing(self) -> None:
        """One more wing, with first numbers."""
        self._add("add wing", add_wing)

    def add_tailplane(self) -> None:
        """One more tailplane, with first numbers."""
        self._add("add tailplane", add_tailplane)

    def duplicate(self) -> None:
        """A copy of the selected surface, one chord above it."""
        which = self._chosen
        surface = surface_of(self._document.edited, which) if which else None
        if which is not None and surface is not None:
            self._add(f"duplicate {noun(surface)}", lambda d: duplicate_surface(d, which))

    def _add(self, name: str, add: Callable[[Design], tuple[Design, Which]]) -> None:
        try:
            design, which = add(self._document.committed)
        except EditError as error:
            self._say(str(error))
            return
        self._chosen = which
        self._document.apply(name, lambda _: design, ORIGIN)
        field = self.form.fields["span"]
        field.setFocus()
        field.selectAll()

    def delete(self) -> None:
        """The selected surface deleted."""
        which = self._chosen
        surface = surface_of(self._document.edited, which) if which else None
        if which is not None and surface is not None:
            self._document.apply(f"delete {noun(surface)}", lambda d: delete_surface(d, which), ORIGIN)


def _nearest(lost: Which | None, surfaces: tuple[Which, ...]) -> Which | None:
    """What to select when the selected surface is gone: one of its own group if there is one."""
    if not surfaces:
        return None
    return next((s for s in surfaces if lost is not None and s.group == lost.group), surfaces[0])
