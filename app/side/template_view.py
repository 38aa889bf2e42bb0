"""The preview of a template: the pages in their grid, letters and joins, the outlines across them."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.kit.overrides import errors_told
from app.kit.theme import Theme
from app.paper.frame import Frame
from app.paper.template import TemplatePlan
from core.bench.tiling import Tile
from core.geometry.ring import Array

_EDGE = 14.0


@errors_told
class TemplateView(QWidget):
    """Paints a plan, fitted to its room, or one sentence in its place."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme
        self._plan: TemplatePlan | None = None
        self._words = ""
        self.setMinimumSize(260, 180)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Preview of the pages")

    def sizeHint(self) -> QSize:  # noqa: D102
        return QSize(640, 480)

    @property
    def plan(self) -> TemplatePlan | None:
        """What is shown."""
        return self._plan

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self.update()

    def show_plan(self, plan: TemplatePlan) -> None:
        """Show these pages."""
        self._plan, self._words = plan, ""
        tiles = plan.tiling.tiles
        blank = plan.tiling.rows * plan.tiling.columns - len(tiles)
        self.setAccessibleDescription(
            f"Pages {', '.join(tile.name for tile in tiles)}; {blank} left out"
        )
        self.update()

    def show_words(self, words: str) -> None:
        """Show a sentence; no pages stand for what is asked."""
        self._plan, self._words = None, words
        self.setAccessibleDescription(words)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: D102
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        theme = self._theme
        painter.fillRect(self.rect(), QColor(theme.desk))
        if self._plan is None:
            painter.setPen(QColor(theme.ink_soft))
            room = self.rect().adjusted(20, 20, -20, -20)
            painter.drawText(room, Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap, self._words)
        else:
            self._paint_plan(painter, self._plan)
        painter.end()

    def _paint_plan(self, painter: QPainter, plan: TemplatePlan) -> None:
        tiling, theme = plan.tiling, self._theme
        u0, v0, u1, v1 = tiling.box
        # The sheets themselves reach beyond the drawing's windows: margins all round, the strip below.
        margin, strip = plan.choice.margin, plan.height - plan.choice.margin - tiling.tall
        u0, u1, v1, v0 = u0 - margin, u1 + margin, v1 + margin, v0 - strip
        room = QRectF(self.rect()).adjusted(_EDGE, _EDGE, -_EDGE, -_EDGE)
        per_mm = max(1e-3, min(room.width() / (u1 - u0), room.height() / (v1 - v0)))
        frame = Frame(room, (u0 + u1) / 2, (v0 + v1) / 2, per_mm, None)
        for tile in tiling.tiles:
            a, b, c, d = tiling.window(tile)
            sheet = _rect(frame, a - margin, b - strip, c + margin, d + margin)
            painter.fillRect(sheet, QColor(theme.paper))
        for tile in tiling.tiles:
            a, b, c, d = tiling.window(tile)
            painter.setPen(QPen(QColor(theme.line), 1.0))
            painter.drawRect(_rect(frame, a - margin, b - strip, c + margin, d + margin))
        self._paint_cells(painter, plan, frame)
        drawing = plan.drawing
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(QColor(theme.ink_soft), 1.0, Qt.PenStyle.DashLine))
        for piece in drawing.before:
            painter.drawPath(_path(frame, piece.closed))
        wash = QColor(theme.tail)
        wash.setAlpha(50)
        for piece in drawing.pieces:
            path = _path(frame, piece.closed)
            painter.fillPath(path, wash)
            painter.setPen(QPen(QColor(theme.ink), 1.4))
            painter.drawPath(path)
        painter.setPen(QPen(QColor(theme.ink_soft), 1.0, Qt.PenStyle.DashDotLine))
        for hinge in drawing.hinges:
            painter.drawLine(_point(frame, hinge.start), _point(frame, hinge.end))
        for seat in drawing.seats:
            painter.drawLine(_point(frame, seat.leading), _point(frame, seat.trailing))
        for root in drawing.roots:
            painter.drawPath(_path(frame, root))
        self._paint_names(painter, plan, frame)

    def _paint_cells(self, painter: QPainter, plan: TemplatePlan, frame: Frame) -> None:
        """The joins, and a cross on what is left out."""
        tiling, theme = plan.tiling, self._theme
        printed = set(tiling.tiles)
        for row in range(tiling.rows):
            for column in range(tiling.columns):
                tile = Tile(row, column)
                cell = _rect(frame, *tiling.core(tile))
                if tile in printed:
                    painter.setPen(QPen(QColor(theme.pick), 1.0, Qt.PenStyle.DotLine))
                    for join in tiling.joins(tile):
                        painter.drawLine(_point(frame, join.start), _point(frame, join.end))
                    painter.setPen(QPen(QColor(theme.pick), 1.0))
                    for mark in tiling.marks(tile):
                        at = _point(frame, mark)
                        painter.drawLine(at - QPointF(3, 0), at + QPointF(3, 0))
                        painter.drawLine(at - QPointF(0, 3), at + QPointF(0, 3))
                else:
                    painter.setPen(QPen(QColor(theme.line), 1.0))
                    painter.drawRect(cell)
                    painter.drawLine(cell.topLeft(), cell.bottomRight())
                    painter.drawLine(cell.bottomLeft(), cell.topRight())

    def _paint_names(self, painter: QPainter, plan: TemplatePlan, frame: Frame) -> None:
        font = painter.font()
        for tile in plan.tiling.tiles:
            cell = _rect(frame, *plan.tiling.core(tile))
            size = min(15.0, 0.30 * cell.height(), 0.25 * cell.width())
            if size < 5.0:
                continue
            font.setPointSizeF(size)
            font.setBold(True)
            painter.setFont(font)
            painter.setPen(QColor(self._theme.pick))
            painter.drawText(
                cell.adjusted(5, 3, -2, -2), Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop, tile.name
            )


def _rect(frame: Frame, u0: float, v0: float, u1: float, v1: float) -> QRectF:
    return QRectF(QPointF(frame.x(u0), frame.y(v1)), QPointF(frame.x(u1), frame.y(v0)))


def _point(frame: Frame, at: tuple[float, float]) -> QPointF:
    return QPointF(frame.x(at[0]), frame.y(at[1]))


def _path(frame: Frame, line: Array) -> QPainterPath:
    path = QPainterPath(_point(frame, (float(line[0, 0]), float(line[0, 1]))))
    for u, v in line[1:]:
        path.lineTo(frame.x(float(u)), frame.y(float(v)))
    return path
