"""The words on one page of a template: beside what they name, crossing no line, or led to it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainterPath
from shapely.geometry.base import BaseGeometry

from app.paper.ink import SOFT, Ink
from app.paper.placing import Room, nearest_point
from core.geometry.overlay import NOTHING
from core.geometry.prepared import prepared

Spot = tuple[float, float]
OFF_EDGES = 1.4
"""mm between words and the outlines: neither knife nor eye should meet them there."""
_UP, _DOWN = 0.79, 0.24
"""How far letters reach above and below their line, as parts of their size (DejaVu's own, rounded up)."""
_UPRIGHT = 0.05
"""A line that leans no more than that, as a part of its length, is read upwards."""
_AS_GOOD = 0.02
_AIR = 0.4
"""mm between words and any other line."""
_GAPS = (0.9, 2.2, 4.0)
_PER_PT = 25.4 / 72


def about(line: BaseGeometry, air: float) -> BaseGeometry:
    """What lies within ``air`` mm of a line; never empty.

    The library finds nothing about some rings of half a millimetre that cross themselves, and ends the
    process over a prepared collection with an empty part.
    """
    near = shapely.buffer(line, air, quad_segs=2)
    return shapely.buffer(shapely.envelope(line), air, quad_segs=2) if near.is_empty else near


class Words:
    """Writes on the page what finds room there; places are mm of paper, x to the right, y down."""

    def __init__(
        self, ink: Ink, area: QRectF, edges: Iterable[BaseGeometry], lines: Iterable[BaseGeometry]
    ) -> None:
        """``edges``: lines to be cut along; ``lines``: whatever else is drawn. Both on the paper."""
        self._ink = ink
        page = shapely.box(area.left(), area.top(), area.right(), area.bottom())
        apart = [about(edge, OFF_EDGES) for edge in edges if edge.dwithin(page, 5.0)]
        near = [about(line, _AIR) for line in lines if line.dwithin(page, 5.0)]
        self._room = Room(area, prepared(shapely.GeometryCollection([*apart, *near])), NOTHING)
        self._page = prepared(page)

    def take(self, shape: BaseGeometry) -> None:
        """Keep later words off ``shape``."""
        self._room.take(shape)

    def along(
        self, start: Spot, end: Spot, words: str, size: float, *, shares: Sequence[float],
        gaps: Sequence[float] = _GAPS, bold: bool = False, below: bool = False,
    ) -> bool:
        """Words beside a line, upright enough to read, at the first of ``shares`` with room; true if any.

        Near the line before further off; above it before below, or the other way round.
        """
        dx, dy = end[0] - start[0], end[1] - start[1]
        length = math.hypot(dx, dy)
        if length < 1e-6:
            return False
        upright = abs(dx) <= _UPRIGHT * length
        if (dy > 0.0) if upright else dx < 0.0:
            start, dx, dy, shares = end, -dx, -dy, [1.0 - share for share in shares]
        # Of words that lean by less nobody sees it, and a search of the PDF finds them upright.
        dx, dy = (0.0 if abs(side) <= _AS_GOOD * length else side for side in (dx, dy))
        length = math.hypot(dx, dy)
        ahead, down = np.array((dx, dy)) / length, np.array((-dy, dx)) / length
        wide = self._ink.width(words, size, bold=bold) + 2 * _AIR
        up, under = _UP * size * _PER_PT, _DOWN * size * _PER_PT
        tried = [
            (share, baseline) for gap in gaps
            for baseline in sorted((-gap - under, gap + up), reverse=below) for share in shares
        ]
        middles = np.array(start) + np.array([share for share, _ in tried])[:, None] * np.array((dx, dy))
        levels = np.array([baseline for _, baseline in tried])[:, None]
        left, right = middles - ahead * wide / 2, middles + ahead * wide / 2
        boxes = np.asarray(shapely.polygons(np.stack((
            left + down * (levels - up), right + down * (levels - up),
            right + down * (levels + under), left + down * (levels + under),
        ), axis=1)))
        free = self._free(boxes)
        if not free.any():
            return False
        at = int(free.argmax())
        self.take(boxes[at])
        painter = self._ink.painter
        painter.save()
        painter.translate(*middles[at])
        painter.rotate(math.degrees(math.atan2(dy, dx)))
        self._ink.text(0.0, tried[at][1], words, size, align="centre", colour=SOFT, bold=bold)
        painter.restore()
        return True

    def at(self, spots: Sequence[Spot], words: str, size: float, *, bold: bool = False) -> bool:
        """Level words with their middle on the first of ``spots`` that has room; true if any has."""
        wide, tall = self._ink.width(words, size, bold=bold), (_UP + _DOWN) * size * _PER_PT
        middles = np.array(spots, dtype=np.float64)
        boxes = np.asarray(shapely.box(
            middles[:, 0] - wide / 2, middles[:, 1] - tall / 2, middles[:, 0] + wide / 2,
            middles[:, 1] + tall / 2,
        ))
        free = self._free(boxes)
        if not free.any():
            return False
        at = int(free.argmax())
        self.take(boxes[at])
        baseline = middles[at, 1] + tall / 2 - _DOWN * size * _PER_PT
        self._ink.text(float(middles[at, 0]), float(baseline), words, size, align="centre", colour=SOFT,
                       bold=bold)
        return True

    def led(self, point: Spot, words: str, size: float, *, far: float = 60.0, bold: bool = False) -> bool:
        """Level words near ``point``, a thin line leading to it where they are not beside; true if room."""
        wide, tall = self._ink.width(words, size, bold=bold), (_UP + _DOWN) * size * _PER_PT
        place = self._room.beside(point, wide, tall, far=far, on_top=True)
        if place is None:
            return False
        if place.leader is not None:
            start = nearest_point(place.rect, point)
            self.take(shapely.LineString((start, point)))
            self._ink.pen(0.12, SOFT)
            self._ink.line(*start, *point)
            dot = QPainterPath()
            dot.addEllipse(QPointF(*point), 0.35, 0.35)
            self._ink.fill(dot, SOFT)
        self._room.take(place.rect)
        self._ink.text(place.rect.left(), place.rect.bottom() - _DOWN * size * _PER_PT, words, size,
                       colour=SOFT, bold=bold)
        return True

    def _free(self, boxes: np.ndarray[tuple[int, ...], np.dtype[np.object_]]
              ) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
        free = np.asarray(shapely.contains(self._page, boxes))
        free &= ~np.asarray(shapely.intersects(self._room.lines, boxes))
        for shape in self._room.taken:
            free &= ~np.asarray(shapely.intersects(shape, boxes))
        return free
