"""Finding room for labels: near what they name, clear of lines, signs and each other."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import shapely
from PySide6.QtCore import QRectF
from shapely.geometry.base import BaseGeometry

from core.geometry.prepared import prepared

_STEP = 3.0


def _box(rect: QRectF) -> BaseGeometry:
    return shapely.box(rect.left(), rect.top(), rect.right(), rect.bottom())


@dataclass(frozen=True)
class Place:
    """Where a label goes; ``leader`` is the end of the line that leads to what it names, or None."""

    rect: QRectF
    leader: tuple[float, float] | None


@dataclass
class Room:
    """The paper of the drawing. Regions and rectangles are in mm of paper."""

    area: QRectF
    lines: BaseGeometry
    """Everything drawn as a line: a label inside an outline should not be crossed by one."""
    covered: BaseGeometry
    """Everything covered by the aeroplane: a label beside it should not lie on it."""
    taken: list[BaseGeometry] = field(default_factory=list)

    def take(self, shape: QRectF | BaseGeometry) -> None:
        """Keep later labels off ``shape``."""
        self.taken.append(_box(shape) if isinstance(shape, QRectF) else shape)

    def _rects(self, centres: np.ndarray[tuple[int, ...], np.dtype[np.float64]], wide: float, tall: float
               ) -> np.ndarray[tuple[int, ...], np.dtype[np.object_]]:
        x, y = centres[:, 0], centres[:, 1]
        return np.asarray(shapely.box(x - wide / 2, y - tall / 2, x + wide / 2, y + tall / 2))

    def inside(self, region: BaseGeometry, wide: float, tall: float) -> Place | None:
        """A place in ``region`` where nothing crosses the label, nearest its middle; None without one."""
        if region.is_empty:
            return None
        low_x, low_y, high_x, high_y = region.bounds
        if high_x - low_x < wide or high_y - low_y < tall:
            return None
        xs = np.linspace(low_x + wide / 2, high_x - wide / 2, 25)
        ys = np.linspace(low_y + tall / 2, high_y - tall / 2, 13)
        centres = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
        boxes = self._rects(centres, wide, tall)
        free = np.asarray(shapely.contains_properly(prepared(region), boxes))
        free &= ~np.asarray(shapely.intersects(self.lines, boxes))
        for shape in self.taken:
            free &= ~np.asarray(shapely.intersects(shape, boxes))
        if not free.any():
            return None
        middle = region.centroid
        off = np.hypot(centres[:, 0] - middle.x, 2 * (centres[:, 1] - middle.y))
        x, y = centres[int(np.where(free, off, np.inf).argmin())]
        return Place(QRectF(x - wide / 2, y - tall / 2, wide, tall), None)

    def beside(
        self, point: tuple[float, float], wide: float, tall: float, *, far: float = 45.0, on_top: bool = False
    ) -> Place | None:
        """The nearest place off the aeroplane, or (``on_top``) anywhere no line crosses; None without one."""
        area = self.area
        nx, ny = int(area.width() / _STEP) + 1, int(area.height() / (_STEP / 1.5)) + 1
        xs = np.linspace(area.left() + wide / 2 + 0.5, area.right() - wide / 2 - 0.5, nx)
        ys = np.linspace(area.top() + tall / 2 + 0.5, area.bottom() - tall / 2 - 0.5, ny)
        centres = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
        gap = np.hypot(
            np.maximum(np.abs(centres[:, 0] - point[0]) - wide / 2, 0.0),
            np.maximum(np.abs(centres[:, 1] - point[1]) - tall / 2, 0.0),
        )
        near = gap <= far
        centres, gap = centres[near], gap[near]
        if len(centres) == 0:
            return None
        boxes = self._rects(centres, wide + 1.0, tall + 0.8)
        blocked = self.lines if on_top else self.covered
        free = ~np.asarray(shapely.intersects(blocked, boxes))
        for shape in self.taken:
            free &= ~np.asarray(shapely.intersects(shape, boxes))
        # The line between label and thing named may cross the aeroplane, but no label or sign.
        for i in np.argsort(gap + 0.02 * np.abs(centres[:, 0] - point[0])):
            if not free[i]:
                continue
            x, y = float(centres[i, 0]), float(centres[i, 1])
            rect = QRectF(x - wide / 2, y - tall / 2, wide, tall)
            start = nearest_point(rect, point)
            leader = shapely.LineString([start, point])
            end = shapely.Point(point)
            if any(shape.intersects(leader) and not shape.intersects(end) for shape in self.taken):
                continue
            return Place(rect, point if gap[i] > 1.5 else None)
        return None


def nearest_point(rect: QRectF, point: tuple[float, float]) -> tuple[float, float]:
    """The point of ``rect`` nearest to ``point``."""
    return (
        min(max(point[0], rect.left()), rect.right()),
        min(max(point[1], rect.top()), rect.bottom()),
    )
