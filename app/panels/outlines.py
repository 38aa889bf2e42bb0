"""The list of outlines, and the form of the one that is selected."""

from __future__ import annotations

from collections.abc import Callable
from time import perf_counter

from PySide6.QtCore import (
    QAbstractListModel,
    QItemSelection,
    QItemSelectionModel,
    QModelIndex,
    QPersistentModelIndex,
    QPoint,
    QRect,
    QSize,
    Qt,
    QTimer,
)
from PySide6.QtGui import QBrush, QColor, QFont, QMouseEvent, QPainter, QPen
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QListView,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.kit.icon_button import icon_button
from app.kit.overrides import errors_told
from app.kit.plain import Label, plain
from app.kit.rows import draw_ground, two_lines
from app.kit.theme import Theme, icon
from app.panels.outline_form import OutlineForm
from app.work.document import Change, Document
from app.work.readout import Readout
from app.work.selection import Picked, Selection
from core.design import Design, DisplayUnits, Outline
from core.redesign.design_edits import (
    change_outlines,
    delete_outlines,
    move_outline,
    paste_outlines,
    with_outlines,
)
from core.redesign.outline_edits import mirror
from core.stability.shares import WHY_SHARES, shares_words
from core.stability.side_area import form_of
from core.stability.wording import percent
from core.units import format_area

Index = QModelIndex | QPersistentModelIndex
OUTLINE = Qt.ItemDataRole.UserRole
_EYE, _LOCK = 12, 36


@errors_told
class OutlineModel(QAbstractListModel):
    """The design's outlines, the topmost first, with counted areas as they arrive."""

    def __init__(self) -> None:
        super().__init__()
        self.outlines: tuple[Outline, ...] = ()
        self.areas: dict[str, float] = {}
        self.total = 0.0
        self.scale_known = True
        self._shown: list[tuple[object, ...]] = []
        self.units: DisplayUnits = "mm"

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008, D102
        return 0 if parent.isValid() else len(self.outlines)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:  # noqa: D102
        if not index.isValid() or index.row() >= len(self.outlines):
            return None
        outline = self.outlines[index.row()]
        if role == OUTLINE:
            return outline
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return f"{outline.name}, {outline.kind}, {' '.join(self.figures(outline))}"
        if role == Qt.ItemDataRole.ToolTipRole:
            return plain(
                f"{outline.name}: {outline.kind}, count {outline.count}, {outline.standing}.\n"
                "Area: what it adds to the side area. Share: its part of the whole.\n"
                "Eye: hide (it still counts). Lock: the hand passes over it."
            )
        return None

    def figures(self, outline: Outline) -> tuple[str, str]:
        """Share of the side area and counted area, as far as they are known."""
        area = self.areas.get(outline.id)
        if area is None or self.total <= 0:
            return "–", ""
        return percent(area / self.total), format_area(area, self.units) if self.scale_known else ""

    def take(self, outlines: tuple[Outline, ...]) -> None:
        """Show these; the list is only built anew when ids or their order changed."""
        if [o.id for o in outlines] == [o.id for o in self.outlines]:
            self.outlines = outlines
            self.refresh()
        else:
            self.beginResetModel()
            self.outlines = outlines
            self._shown = [self._look(o) for o in outlines]
            self.endResetModel()

    def refresh(self) -> None:
        """Have the rows drawn anew that look different: while a node is dragged, none does."""
        looks = [self._look(o) for o in self.outlines]
        for row, (now, before) in enumerate(zip(looks, self._shown, strict=True)):
            if now != before:
                self.dataChanged.emit(self.index(row), self.index(row))
        self._shown = looks

    def _look(self, outline: Outline) -> tuple[object, ...]:
        return (
            outline.name, outline.kind, outline.count, outline.standing, outline.locked, outline.hidden,
            self.figures(outline),
        )


NO_OUTLINES = "No outlines yet. Take the Trace hand (T) and click round the fuselage."


@errors_told
class OutlineRow(QStyledItemDelegate):
    """Two lines a row: eye, lock, name and area; kind, count and stance beneath."""

    def __init__(self, model: OutlineModel, theme: Theme) -> None:
        super().__init__()
        self._model, self.theme = model, theme

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:  # noqa: D102
        return QSize(200, two_lines(option.fontMetrics))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:  # noqa: D102
        outline: Outline = index.data(OUTLINE)
        theme = self.theme
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = draw_ground(painter, option, theme)
        for name, x, lit in (
            ("eye-off" if outline.hidden else "eye", _EYE, outline.hidden),
            ("lock" if outline.locked else "unlock", _LOCK, outline.locked),
        ):
            painter.setOpacity(1.0 if lit else 0.62)
            at = QRect(box.left() + x, box.top() + (box.height() - 18) // 2, 18, 18)
            icon(name, theme.ink).paint(painter, at)
        painter.setOpacity(1.0)
        swatch = QRect(box.left() + 62, box.top() + (box.height() - 16) // 2, 14, 16)
        wash = theme.wash(outline.kind)
        wash.setAlpha(150)
        painter.fillRect(swatch, wash)
        if outline.count > 1:
            painter.fillRect(swatch, QBrush(QColor(theme.ink), Qt.BrushStyle.BDiagPattern))
            painter.setPen(QPen(QColor(theme.ink), 1))
            painter.drawRect(swatch.translated(2, 2))
        painter.setPen(QPen(QColor(theme.ink), 1))
        painter.drawRect(swatch)
        left, width = box.left() + 86, box.width() - 86 - 10
        font = QFont(option.font)
        font.setBold(True)
        painter.setFont(font)
        metrics = painter.fontMetrics()
        line = metrics.height()
        top = box.top() + (box.height() - 2 * line) // 2
        painter.setPen(QColor(theme.ink))
        share, area = self._model.figures(outline)
        wide = metrics.horizontalAdvance(share)
        name = metrics.elidedText(outline.name, Qt.TextElideMode.ElideRight, width - wide - 8)
        painter.drawText(QRect(left, top, width, line), Qt.AlignmentFlag.AlignLeft, name)
        painter.setFont(option.font)
        painter.drawText(QRect(left, top, width, line), Qt.AlignmentFlag.AlignRight, share)
        painter.setPen(QColor(theme.ink_soft))
        wide = painter.fontMetrics().horizontalAdvance(area)
        painter.drawText(QRect(left, top + line, width, line), Qt.AlignmentFlag.AlignRight, area)
        words = outline.kind if outline.count == 1 else f"{outline.kind} × {outline.count}"
        if outline.standing == "clear":
            words += ", clear"
        words = painter.fontMetrics().elidedText(words, Qt.TextElideMode.ElideRight, width - wide - 8)
        painter.drawText(QRect(left, top + line, width, line), Qt.AlignmentFlag.AlignLeft, words)
        painter.restore()


@errors_told
class OutlineList(QListView):
    """The list; a click on eye or lock does not disturb the selection."""

    def __init__(self, clicked: Callable[[Outline, str], None]) -> None:
        super().__init__()
        self._clicked_sign = clicked
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setAccessibleName("Outlines")
        self.setUniformItemSizes(True)

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: D102
        at: QPoint = event.position().toPoint()
        index = self.indexAt(at)
        x = at.x() - self.visualRect(index).left() if index.isValid() else -1
        if _EYE - 4 <= x <= _EYE + 20:
            self._clicked_sign(index.data(OUTLINE), "hidden")
        elif _LOCK - 2 <= x <= _LOCK + 20:
            self._clicked_sign(index.data(OUTLINE), "locked")
        else:
            super().mousePressEvent(event)


class OutlinesPanel(QWidget):
    """The list, the buttons under it, and the form of what is selected."""

    def __init__(
        self, document: Document, readout: Readout, picked: Picked, theme: Theme, say: Callable[[str], None]
    ) -> None:
        super().__init__()
        self._document, self._readout, self._picked, self._theme = document, readout, picked, theme
        self._filling = self._dear = False
        self._model = OutlineModel()
        self._row = OutlineRow(self._model, theme)
        self._list = OutlineList(self._toggle)
        self._list.setModel(self._model)
        self._list.setItemDelegate(self._row)
        self._list.selectionModel().selectionChanged.connect(self._list_selected)
        self._buttons: dict[str, QToolButton] = {}
        bar = QHBoxLayout()
        bar.setContentsMargins(8, 2, 8, 2)
        bar.setSpacing(2)
        for name, tip, action in (
            ("duplicate", "Duplicate the selected outlines", self.duplicate),
            ("mirror", "Mirror the selected outlines fore and aft", self.mirror),
            ("up", "Move up in the list", lambda: self._shift(1)),
            ("down", "Move down in the list", lambda: self._shift(-1)),
            ("remove", "Delete the selected outlines", self.delete),
        ):
            self._buttons[name] = icon_button(tip, action)
            bar.addWidget(self._buttons[name])
        bar.addStretch(1)
        self.empty, self._shares = Label(NO_OUTLINES), Label()
        self.empty.setWordWrap(True)
        self.empty.setContentsMargins(12, 8, 12, 4)
        self._shares.setWordWrap(True)
        self._shares.setToolTip(plain(WHY_SHARES))
        self._shares.setContentsMargins(12, 2, 12, 2)
        self.form = OutlineForm(document, picked, theme, say)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.empty)
        layout.addWidget(self._list, 1)
        layout.addWidget(self._shares)
        layout.addLayout(bar)
        layout.addWidget(self.form)
        # What each outline adds takes several unions: shown when the hand pauses, not at every move.
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(60)
        self._soon.timeout.connect(self._count)
        self.set_theme(theme)
        readout.listen(self._changed)
        picked.listen(lambda _: self._show_selection())
        self._take()
        self._count()

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = self._row.theme = theme
        for name, button in self._buttons.items():
            button.setIcon(icon(name, theme.ink))
        for label in (self.empty, self._shares):
            label.setStyleSheet(f"color: {theme.ink_soft};")
        self.form.set_theme(theme)
        self._list.viewport().update()

    def _changed(self, change: Change) -> None:
        if change.what == "proposal":
            # The list is of the design as it is.
            return
        self._take()
        if change.what == "preview":
            # Where counting is dear the list waits until the hand rests: the drag goes first.
            if self._dear or not self._soon.isActive():
                self._soon.start()
        else:
            self._count()

    def _take(self) -> None:
        design = self._document.edited
        self._filling = True
        self._model.units = design.display_units
        self._model.take(tuple(reversed(design.outlines)))
        self._filling = False
        self._show_selection()

    def _count(self) -> None:
        readings, begun = self._readout.edited_readings, perf_counter()
        self._model.areas = self._readout.counted_areas()
        self._dear = perf_counter() - begun > 0.006
        self._model.total = readings.side.moments.area
        self._model.scale_known = readings.scale_known
        self._model.refresh()
        words = shares_words(
            self._document.edited, self._model.areas, self._model.total
        )
        if words != self._shares.text():
            self._shares.setText(words)
        self._shares.setVisible(bool(words))
        self.empty.setVisible(not self._document.edited.outlines)

    def _show_selection(self) -> None:
        wanted = set(self._picked.now.outlines)
        now = {index.data(OUTLINE).id for index in self._list.selectionModel().selectedIndexes()}
        if wanted != now:
            self._filling = True
            marked = QItemSelection()
            for row, outline in enumerate(self._model.outlines):
                if outline.id in wanted:
                    marked.select(self._model.index(row), self._model.index(row))
            self._list.selectionModel().select(marked, QItemSelectionModel.SelectionFlag.ClearAndSelect)
            if not marked.isEmpty():
                self._list.scrollTo(marked.indexes()[0])
            self._filling = False
        for button in self._buttons.values():
            button.setEnabled(bool(wanted))
        self.form.refresh()

    def _list_selected(self) -> None:
        if not self._filling:
            ids = tuple(i.data(OUTLINE).id for i in self._list.selectionModel().selectedIndexes())
            self._picked.set(Selection(outlines=ids))

    def _toggle(self, outline: Outline, field: str) -> None:
        value = not getattr(outline, field)
        name = {"hidden": ("show", "hide"), "locked": ("unlock", "lock")}[field][value]
        self._document.apply(
            f"{name} outline", lambda d: change_outlines(d, (outline.id,), **{field: value}), "outlines"
        )

    def duplicate(self) -> None:
        """Copies of the selected outlines, a little aft and below, selected."""
        ids = self._picked.now.outlines
        made: list[str] = []

        def edit(design: Design) -> Design:
            # A copy that hid its original would look as if nothing had happened.
            boxes = [form_of(design.outline(i)).box for i in ids]
            step = min(max(0.08 * max(b[2] - b[0] for b in boxes), 2.0), 20.0)
            changed, new = paste_outlines(design, [design.outline(i) for i in ids], step, -step)
            made.extend(new)
            return changed

        if ids:
            self._document.apply("duplicate", edit, "outlines")
            self._picked.set(Selection(outlines=tuple(made)))

    def mirror(self) -> None:
        """The selected outlines mirrored fore and aft about their common middle."""
        ids = self._picked.now.outlines

        def edit(design: Design) -> Design:
            boxes = [form_of(design.outline(i)).box for i in ids]
            at = (min(b[0] for b in boxes) + max(b[2] for b in boxes)) / 2
            return _each(design, ids, lambda o: mirror(o, "x", at))

        if ids:
            self._document.apply("mirror", edit, "outlines")

    def delete(self) -> None:
        """The selected outlines deleted."""
        ids = self._picked.now.outlines
        if ids:
            self._document.apply("delete outline", lambda d: delete_outlines(d, ids), "outlines")

    def _shift(self, step: int) -> None:
        ids = self._picked.now.outlines

        def edit(design: Design) -> Design:
            order = [o.id for o in design.outlines]
            for outline_id in sorted(ids, key=order.index, reverse=step > 0):
                place = [o.id for o in design.outlines].index(outline_id)
                design = move_outline(design, outline_id, place + step)
            return design

        if ids:
            self._document.apply("reorder outlines", edit, "outlines")


def _each(design: Design, ids: tuple[str, ...], edit: Callable[[Outline], Outline]) -> Design:
    return with_outlines(design, {i: edit(design.outline(i)) for i in ids})
