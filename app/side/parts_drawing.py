"""A surface with its parts in place, as the builder sees it on the board; a click chooses a part."""

from __future__ import annotations

import numpy as np
import shapely
from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QMouseEvent, QPainter, QPainterPath, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget
from shapely.geometry.base import BaseGeometry

from app.kit.inks import mixed
from app.kit.overrides import errors_told
from app.kit.theme import Theme
from app.paper.frame import Extents, Frame
from core.geometry.ring import Array
from core.parts.part import Built, Part
from core.parts.plan import Plan

_EDGE, _NEAR_PX = 14.0, 7.0
_SPARE = 1.6
"""While an edge is dragged the drawing keeps its scale until it is so many times too small or too large."""


@errors_told
class AssemblyView(QWidget):
    """Fits the whole surface; the chosen part stands out. ``clicked`` gives the id of a part."""

    clicked = Signal(str)

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme, self._words = theme, ""
        self._built: Built | None = None
        self._chosen = ""
        self._frame: Frame | None = None
        self._edges: list[tuple[Array, bool]] = []
        self.setMinimumSize(180, 130)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("The surface with its parts in place")

    def sizeHint(self) -> QSize:  # noqa: D102
        return QSize(420, 320)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self.update()

    def show_built(self, built: Built, chosen: str, *, still: bool = False) -> None:
        """Show these parts, ``chosen`` highlighted; ``still``: the scale stays while a hand drags."""
        anew = self._built is None or self._built.build.id != built.build.id
        self._built, self._chosen, self._words = built, chosen, ""
        self._edges = [] if built.plan is None else _edges(built.plan)
        self._fit(still=still and not anew)
        one = next((part for part in built.parts if part.id == chosen), None)
        self.setAccessibleDescription(
            f"{len(built.parts)} kinds of parts" + (f"; chosen: {one.name}" if one else "")
        )
        self.update()

    def show_words(self, words: str) -> None:
        """A sentence in place of a surface."""
        self._built, self._frame, self._words = None, None, words
        self.setAccessibleDescription(words)
        self.update()

    def at(self, part_id: str) -> QPointF | None:
        """A point of this widget that lies on that part; None where it is not drawn."""
        if self._built is None or self._frame is None:
            return None
        for part in self._built.parts:
            if part.id == part_id and part.places:
                line = self._px(part.places[0])
                return QPointF(*(0.5 * (line[0] + line[1])))
        return None

    # Where it lies

    def _fit(self, *, still: bool) -> None:
        box = self._extents()
        if box is None:
            self._frame = None
            return
        room = QRectF(self.rect()).adjusted(_EDGE, _EDGE, -_EDGE, -_EDGE - self.fontMetrics().height())
        if not (room.width() > 1.0 and room.height() > 1.0):
            return
        wide, tall = max(box[2] - box[0], 1e-3), max(box[3] - box[1], 1e-3)
        fits = min(room.width() / wide, room.height() / tall)
        now = self._frame
        if still and now is not None and now.area == room and fits * _SPARE > now.per_mm > fits / _SPARE:
            drawn = QRectF(QPointF(now.x(box[0]), now.y(box[3])), QPointF(now.x(box[2]), now.y(box[1])))
            if QRectF(self.rect()).contains(drawn):
                return
        self._frame = Frame(room, 0.5 * (box[0] + box[2]), 0.5 * (box[1] + box[3]), fits, None)

    def _extents(self) -> Extents | None:
        if self._built is None:
            return None
        lines = [line for line, _ in self._edges]
        lines += [place for part in self._built.parts for place in part.places]
        lines = [line for line in lines if len(line)]
        if not lines:
            return None
        all_ = np.concatenate(lines)
        low, high = all_.min(axis=0), all_.max(axis=0)
        return float(low[0]), float(low[1]), float(high[0]), float(high[1])

    def _px(self, line: Array) -> Array:
        frame = self._frame
        assert frame is not None
        return np.column_stack((
            frame.area.center().x() + (line[:, 0] - frame.x_mid) * frame.per_mm,
            frame.area.center().y() - (line[:, 1] - frame.z_mid) * frame.per_mm,
        ))

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: D102
        super().resizeEvent(event)
        self._fit(still=False)

    # Drawing

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: D102
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        theme = self._theme
        painter.fillRect(self.rect(), QColor(theme.paper))
        if self._built is None or self._frame is None:
            painter.setPen(QColor(theme.ink_soft))
            room = self.rect().adjusted(20, 16, -20, -16)
            painter.drawText(room, Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap, self._words)
        else:
            self._draw(painter, self._built)
        painter.end()

    def _draw(self, painter: QPainter, built: Built) -> None:
        theme = self._theme
        for line, moves in self._edges:
            painter.fillPath(_path(self._px(line)), mixed(theme.tail, theme.paper, 0.16 if moves else 0.28))
        for part in sorted(built.parts, key=_size, reverse=True):
            if part.id != self._chosen:
                self._draw_part(painter, part)
        for line, _ in self._edges:
            painter.setPen(QPen(QColor(theme.ink), 1.6))
            painter.drawPath(_path(self._px(line)))
        if built.plan is not None:
            painter.setPen(QPen(QColor(theme.ink_soft), 1.2, Qt.PenStyle.DashDotLine))
            for hinge in built.plan.hinges:
                painter.drawPath(_path(self._px(built.plan.place(hinge))))
        for part in built.parts:
            if part.id == self._chosen:
                self._draw_part(painter, part)
        painter.setPen(QColor(theme.ink_soft))
        foot = self.rect().adjusted(8, 0, -8, -4)
        side = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignBottom
        seen = "from the side" if built.plan is None or built.plan.upright else "from above, starboard half"
        painter.drawText(foot, side, f"{seen}; nose to the left")

    def _draw_part(self, painter: QPainter, part: Part) -> None:
        theme, chosen = self._theme, part.id == self._chosen
        for place in part.places:
            if len(place) < 2:
                continue
            path = _path(self._px(place))
            if _closed(place):
                # What covers all the rest is seen by its edge alone.
                wash = QColor(theme.pick if chosen else theme.body)
                wash.setAlpha(0 if part.role == "skin" and not chosen else 130 if chosen else 110)
                painter.fillPath(path, wash)
            painter.setPen(QPen(
                QColor(theme.pick if chosen else theme.ink), 2.2 if chosen else 0.9,
                Qt.PenStyle.DotLine if part.role == "skin" and not chosen else Qt.PenStyle.SolidLine,
            ))
            painter.drawPath(path)

    # Choosing

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: D102
        found = self.part_at(event.position()) if event.button() == Qt.MouseButton.LeftButton else None
        if found is None:
            super().mousePressEvent(event)
        else:
            self.clicked.emit(found.id)

    def part_at(self, at: QPointF) -> Part | None:
        """The part under a point of this widget: of those near it the smallest."""
        if self._built is None or self._frame is None:
            return None
        point = shapely.Point(at.x(), at.y())
        found: list[tuple[float, float, Part]] = []
        for part in self._built.parts:
            for place in part.places:
                if len(place) < 2:
                    continue
                line = self._px(place)
                shape = shapely.Polygon(line) if _closed(place) else shapely.LineString(line)
                # The outline of a skin is no reason to take it before what lies within it.
                away = float(shape.distance(point))
                if away <= _NEAR_PX:
                    found.append((round(away), float(shape.area), part))
        return min(found, key=lambda one: one[:2])[2] if found else None


def _edges(plan: Plan) -> list[tuple[Array, bool]]:
    """The edges of all panels and of the root's tab in the surface's own plane, and whether they move."""
    shapes = [(panel.region, panel.moves) for panel in plan.panels] + [(plan.tab, False)]
    return [
        (plan.place(shapely.get_coordinates(ring)), moves)
        for shape, moves in shapes for ring in _rings(shape)
    ]


def _rings(shape: BaseGeometry) -> list[BaseGeometry]:
    parts = [part for part in shapely.get_parts(shape) if part.geom_type == "Polygon" and not part.is_empty]
    return [part.exterior for part in parts]


def _closed(line: Array) -> bool:
    return len(line) > 3 and bool(np.allclose(line[0], line[-1]))


def _size(part: Part) -> float:
    return max((float(np.prod(np.ptp(place, axis=0))) for place in part.places if len(place)), default=0.0)


def _path(line: Array) -> QPainterPath:
    path = QPainterPath(QPointF(*line[0]))
    for corner in line[1:]:
        path.lineTo(*corner)
    return path
