"""The list of kept states: what each row shows, and the eye that makes one a ghost."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QPersistentModelIndex,
    QRect,
    QRectF,
    QSize,
    Qt,
)
from PySide6.QtGui import QColor, QFont, QKeyEvent, QMouseEvent, QPainter
from PySide6.QtWidgets import (
    QAbstractItemView,
    QListView,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from app.canvas.layers import Ghost
from app.kit.overrides import errors_told
from app.kit.plain import plain
from app.kit.rows import draw_ground, two_lines
from app.kit.state_sign import draw_state
from app.kit.theme import Theme, icon
from app.work.readout import readings_of
from core.design import STATE, Alternative, Design
from core.geometry.memo import IdentityMemo
from core.redesign.alternatives import same_state, state_of
from core.stability.answer import Answer, answer
from core.stability.readings import ReadingsEngine
from core.stability.wording import aim_words

KEPT = Qt.ItemDataRole.UserRole
_EYE, _LEFT = 10, 38
Index = QModelIndex | QPersistentModelIndex


@errors_told
class KeptModel(QAbstractListModel):
    """The alternatives of the design. Their figures are computed when a row is first seen."""

    def __init__(self, renamed: Callable[[str, str], None]) -> None:
        super().__init__()
        self._renamed = renamed
        self._engine = ReadingsEngine()
        self._read: IdentityMemo[tuple[Answer, Ghost]] = IdentityMemo(64)
        self.design: Design | None = None
        self.ghost: str | None = None

    @property
    def kept(self) -> tuple[Alternative, ...]:
        """What is listed."""
        return self.design.alternatives if self.design else ()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008, D102
        return 0 if parent.isValid() else len(self.kept)

    def flags(self, index: Index) -> Qt.ItemFlag:  # noqa: D102
        return super().flags(index) | Qt.ItemFlag.ItemIsEditable

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:  # noqa: D102
        if not index.isValid() or index.row() >= len(self.kept):
            return None
        kept = self.kept[index.row()]
        if role == KEPT:
            return kept
        if role == Qt.ItemDataRole.EditRole:
            return kept.label
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            shown = ", shown as a ghost" if kept.id == self.ghost else ""
            return f"{kept.label}: CLA fraction {self.figure(kept)}, {self.words(kept)}{shown}"
        if role == Qt.ItemDataRole.ToolTipRole:
            found = self.answer(kept)
            why = "" if found.figure else f"\nNo CLA fraction. {found.sentence}"
            return plain(
                f"{kept.label}{why}\nEye: show it as a ghost, dashed, under the outlines.\n"
                "Double click or F2: another name. Delete: delete it."
            )
        return None

    def setData(self, index: Index, value: object, role: int = Qt.ItemDataRole.EditRole) -> bool:  # noqa: D102
        if role != Qt.ItemDataRole.EditRole or not index.isValid():
            return False
        self._renamed(self.kept[index.row()].id, str(value))
        return True

    def take(self, design: Design) -> None:
        """Show the alternatives of ``design``; the list is built anew when ids or their order changed."""
        ids = [a.id for a in self.kept]
        if ids == [a.id for a in design.alternatives]:
            self.design = design
            self.refresh()
        else:
            self.beginResetModel()
            self.design = design
            self.endResetModel()

    def refresh(self) -> None:
        """Have all rows drawn anew."""
        if self.kept:
            self.dataChanged.emit(self.index(0), self.index(len(self.kept) - 1))

    def look(self, kept: Alternative) -> tuple[Answer, Ghost]:
        """(the answer of one alternative, what to draw as a ghost)."""
        design = self.design
        assert design is not None

        def compute() -> tuple[Answer, Ghost]:
            state = state_of(design, kept.id)
            readings = readings_of(self._engine, state)
            cg = (readings.cg.x, readings.cg.z) if readings.cg else None
            return answer(state, readings), Ghost(kept.outlines, cg, readings.cla)

        key = (*(getattr(kept, field) for field in STATE), design.scans, design.sure)
        return self._read.get(key, compute)

    def answer(self, kept: Alternative) -> Answer:
        """What is said of one alternative."""
        return self.look(kept)[0]

    def figure(self, kept: Alternative) -> str:
        """The CLA fraction as it is shown."""
        return self.answer(kept).figure or "–"

    def is_now(self, kept: Alternative) -> bool:
        """Whether the design is at present as this one is."""
        return self.design is not None and same_state(self.design, kept)

    def words(self, kept: Alternative) -> str:
        """The verdict in words, against the aim that was kept with it."""
        found = self.answer(kept)
        words = "no CLA fraction"
        if found.state in ("below", "within", "above"):
            words = f"{found.state} {aim_words(kept.aim)}"
        elif found.figure:
            words = found.short
        return f"{words} · as it is now" if self.is_now(kept) else words


@errors_told
class KeptRow(QStyledItemDelegate):
    """Two lines a row: eye, name and CLA fraction; the verdict beneath."""

    def __init__(self, model: KeptModel, theme: Theme) -> None:
        super().__init__()
        self._model, self.theme = model, theme

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:  # noqa: D102
        return QSize(200, two_lines(option.fontMetrics))

    def updateEditorGeometry(self, editor: QWidget, option: QStyleOptionViewItem, index: Index) -> None:  # noqa: D102
        box = QRect(option.rect)
        editor.setGeometry(box.adjusted(_LEFT - 6, 6, -8, -6))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:  # noqa: D102
        kept: Alternative = index.data(KEPT)
        theme = self.theme
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = draw_ground(painter, option, theme)
        lit = kept.id == self._model.ghost
        painter.setOpacity(1.0 if lit else 0.45)
        icon("eye" if lit else "eye-off", theme.ink).paint(
            painter, QRect(box.left() + _EYE, box.top() + (box.height() - 18) // 2, 18, 18)
        )
        painter.setOpacity(1.0)
        left, width = box.left() + _LEFT, box.width() - _LEFT - 10
        font = QFont(option.font)
        font.setBold(True)
        painter.setFont(font)
        metrics = painter.fontMetrics()
        line = metrics.height()
        top = box.top() + (box.height() - 2 * line) // 2
        figure, found = self._model.figure(kept), self._model.answer(kept)
        wide = metrics.horizontalAdvance(figure)
        name = metrics.elidedText(kept.label, Qt.TextElideMode.ElideRight, width - wide - 10)
        painter.setPen(QColor(theme.ink))
        painter.drawText(QRect(left, top, width, line), Qt.AlignmentFlag.AlignLeft, name)
        painter.drawText(QRect(left, top, width, line), Qt.AlignmentFlag.AlignRight, figure)
        painter.setFont(option.font)
        indent = 0
        if found.figure:
            size = 0.62 * line
            sign = QRectF(left, top + line + (line - size) / 2, size, size)
            draw_state(painter, sign, found.state, theme.state(found.state))
            indent = int(size) + 5
        painter.setPen(QColor(theme.ink_soft))
        words = painter.fontMetrics().elidedText(
            self._model.words(kept), Qt.TextElideMode.ElideRight, width - indent
        )
        painter.drawText(
            QRect(left + indent, top + line, width - indent, line), Qt.AlignmentFlag.AlignLeft, words
        )
        painter.restore()


@errors_told
class KeptList(QListView):
    """The list; a click on the eye, or Space, shows the ghost or puts it away."""

    def __init__(self, toggled: Callable[[str], None], deleted: Callable[[], None]) -> None:
        super().__init__()
        self._toggled, self._deleted = toggled, deleted
        self.setAccessibleName("Kept states")
        self.setUniformItemSizes(True)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setEditTriggers(
            QAbstractItemView.EditTrigger.DoubleClicked | QAbstractItemView.EditTrigger.EditKeyPressed
        )

    def _on_eye(self, event: QMouseEvent) -> QModelIndex | None:
        index = self.indexAt(event.position().toPoint())
        return index if index.isValid() and event.position().x() < _LEFT - 4 else None

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: D102
        index = self._on_eye(event)
        if index is not None:
            self._toggled(index.data(KEPT).id)
            return
        super().mousePressEvent(event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:  # noqa: D102
        index = self._on_eye(event)
        if index is not None:
            self._toggled(index.data(KEPT).id)
            return
        super().mouseDoubleClickEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: D102
        index = self.currentIndex()
        if event.key() == Qt.Key.Key_Space and index.isValid():
            self._toggled(index.data(KEPT).id)
        elif event.key() == Qt.Key.Key_Delete and index.isValid():
            self._deleted()
        else:
            super().keyPressEvent(event)
