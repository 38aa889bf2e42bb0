"""The paper with the scans on it, kept as a picture: a pan draws only what it uncovers."""

from __future__ import annotations

import math
from collections.abc import Hashable
from dataclasses import dataclass
from typing import Protocol

from PySide6.QtCore import QPointF, QRect, QRectF, QSize, QSizeF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPixmap, QPolygonF

from app.canvas.ink import transform_of
from app.canvas.view import View
from app.kit.theme import Theme
from app.scans.drawing import draw_scan, scan_corners_mm
from app.scans.lens_drawing import draw_bent
from app.scans.pdf_drawing import draw_page
from app.scans.picture import Picture
from core.design import Scan
from core.scan_map import edge_of

_WHOLE_PIXEL = 1e-3
"""A pan by whole pixels of the screen, give or take this much, leaves what is drawn where it belongs."""
_DARKEN = QPainter.CompositionMode.CompositionMode_Darken


class Pictures(Protocol):
    """Where the scans' pictures come from."""

    def picture_of(self, scan: Scan) -> Picture | None:
        """The scan's picture, None while there is none."""

    def looked_at(self, scan: Scan, source_per_device: float) -> None:
        """The scan was drawn with so many of its pixels to one of the screen's; infinite for unseen."""


@dataclass(frozen=True)
class Sheet:
    """What the paper is drawn for: the view, ``size`` logical pixels, ``ratio`` device pixels to one."""

    view: View
    width: int
    height: int
    ratio: float
    dark: bool

    @property
    def size(self) -> QSize:
        """Logical pixels."""
        return QSize(self.width, self.height)

    @property
    def pixels(self) -> QRect:
        """All of it in device pixels."""
        return QRect(0, 0, round(self.width * self.ratio), round(self.height * self.ratio))

    def logical(self, pixels: QRect) -> QRectF:
        """A rectangle of device pixels in logical ones."""
        ratio = self.ratio
        return QRectF(
            pixels.x() / ratio, pixels.y() / ratio, pixels.width() / ratio, pixels.height() / ratio
        )


class Paper:
    """Keeps the last picture, and makes the next one of it where only the place has changed."""

    def __init__(self) -> None:
        self._kept: tuple[Sheet, Hashable, QPixmap, object] | None = None

    def drop(self) -> None:
        """Forget the picture."""
        self._kept = None

    def _room(self, size: QSize, ratio: float) -> QPixmap:
        """The last pixmap to draw over, or a new one: fresh memory costs half a millisecond a frame."""
        pixmap = self._kept[2] if self._kept is not None else QPixmap()
        if pixmap.size() != size:
            pixmap = QPixmap(size)
        pixmap.setDevicePixelRatio(ratio)
        return pixmap

    def drawn(self, scans: tuple[Scan, ...], pictures: Pictures, sheet: Sheet, theme: Theme) -> QPixmap:
        """The paper with the scans; it must not be drawn on, and is gone with the next."""
        shown = Shown.of(scans, pictures)
        key: Hashable = shown.key, theme.paper
        if self._kept is not None and self._kept[:2] == (sheet, key):
            return self._kept[2]
        by = moved_by(self._kept[0], sheet) if self._kept is not None and self._kept[1] == key else None
        if by is not None and self._kept is not None and shown.can_be_parted:
            pixmap = self._kept[2]
            pixmap.scroll(by[0], by[1], sheet.pixels)
            bare = uncovered(sheet.pixels, *by)
        else:
            pixmap, bare = self._room(sheet.pixels.size(), sheet.ratio), [sheet.pixels]
        for rectangle in bare:
            shown.draw(pixmap, rectangle, pictures, sheet, theme)
        # Scans and pictures are kept with their key: their ids must not be given out again meanwhile.
        self._kept = (sheet, key, pixmap, shown)
        return pixmap


@dataclass(frozen=True, eq=False)
class Shown:
    """The scans that lie there to be seen, with their pictures."""

    scans: tuple[tuple[Scan, Picture], ...]

    @staticmethod
    def of(scans: tuple[Scan, ...], pictures: Pictures) -> Shown:
        """Those of ``scans`` that are not hidden and have a picture by now."""
        return Shown(tuple(
            (scan, picture) for scan in scans
            if not scan.hidden and (picture := pictures.picture_of(scan)) is not None
        ))

    @property
    def key(self) -> Hashable:
        """Differs as soon as anything would look different; holds while these objects live."""
        return tuple((id(scan), *_seen_as(picture)) for scan, picture in self.scans)

    @property
    def can_be_parted(self) -> bool:
        """Whether strips that are drawn one by one fit together."""
        return all(_can_be_parted(scan, picture) for scan, picture in self.scans)

    def draw(self, pixmap: QPixmap, pixels: QRect, pictures: Pictures, sheet: Sheet, theme: Theme) -> None:
        """The paper with the scans, in that rectangle of the pixmap's device pixels and nowhere else."""
        _draw(pixmap, pixels, self.scans, pictures, sheet, theme)


def _seen_as(picture: Picture) -> tuple[int, int]:
    """Which picture, and in which state: sharp parts of a page come later."""
    return id(picture), 0 if picture.detail is None else picture.detail.version


def moved_by(before: Sheet, now: Sheet) -> tuple[int, int] | None:
    """By how many device pixels (right, down) the paper was pushed, where nothing else has changed."""
    old, new = before.view, now.view
    if before.size != now.size or (before.ratio, before.dark, old.scale) != (now.ratio, now.dark, new.scale):
        return None
    across = (old.x - new.x) * new.scale * now.ratio
    down = (new.z - old.z) * new.scale * now.ratio
    whole = round(across), round(down)
    near = max(abs(across - whole[0]), abs(down - whole[1])) < _WHOLE_PIXEL
    return whole if near else None


def uncovered(whole: QRect, across: int, down: int) -> list[QRect]:
    """What a push by so many pixels leaves bare: a band above or below, and what is left at a side."""
    width, height = whole.width(), whole.height()
    if abs(across) >= width or abs(down) >= height:
        return [whole]
    found = []
    if down:
        found.append(QRect(0, 0 if down > 0 else height + down, width, abs(down)))
    if across:
        left = 0 if across > 0 else width + across
        found.append(QRect(left, max(down, 0), abs(across), height - abs(down)))
    return found


def _can_be_parted(scan: Scan, picture: Picture) -> bool:
    """Whether strips of it fit together: under perspective, or through a lens, each would get a sharpness
    of its own.
    """
    return picture.detail is None and scan.to_mm[2][:2] == (0.0, 0.0) and scan.lens is None


def _draw(
    pixmap: QPixmap, pixels: QRect, shown: tuple[tuple[Scan, Picture], ...], pictures: Pictures, sheet: Sheet,
    theme: Theme,
) -> None:
    """Draw what lies in that rectangle of device pixels."""
    paper = QColor(theme.paper)
    if theme.dark:
        # Turned to its negative below, scan and all: light lines on dark paper.
        paper = QColor(255 - paper.red(), 255 - paper.green(), 255 - paper.blue())
    ratio, part = sheet.ratio, sheet.logical(pixels)
    painter = QPainter(pixmap)
    painter.setClipRect(part)
    painter.fillRect(part, paper)
    beneath = QPainterPath()
    for scan, picture in shown:
        outline = _outline(scan, picture, sheet)
        painter.save()
        if outline is not None and beneath.intersects(outline):
            # The ink of both shows: the upper one's paper must not hide the lower one.
            _lay_white(painter, outline.subtracted(beneath), scan.opacity)
            painter.setCompositionMode(_DARKEN)
        to_px = transform_of(sheet.view)
        if scan.lens is not None:
            pictures.looked_at(scan, draw_bent(painter, scan, picture, to_px, part, ratio))
        elif picture.detail is None:
            close = draw_scan(painter, picture, scan.to_mm, to_px, scan.opacity, part, ratio)
            if math.isfinite(close) or part.size() == QSizeF(sheet.size):
                pictures.looked_at(scan, close)
        else:
            draw_page(painter, picture, scan.to_mm, to_px, scan.opacity, part, ratio)
        painter.restore()
        if outline is not None:
            beneath = beneath.united(outline)
    if theme.dark:
        painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_Difference)
        painter.fillRect(part, Qt.GlobalColor.white)
    painter.end()


def _lay_white(painter: QPainter, where: QPainterPath, opacity: float) -> None:
    """The sheet's own white where no other lies beneath it, for its ink to darken."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setOpacity(min(max(opacity, 0.0), 1.0))
    painter.fillPath(where, Qt.GlobalColor.white)
    painter.restore()


def _outline(scan: Scan, picture: Picture, sheet: Sheet) -> QPainterPath | None:
    """The edge of the sheet in logical pixels; None where it reaches to the horizon."""
    try:
        # Only to learn whether it reaches to the horizon.
        scan_corners_mm(picture.width, picture.height, scan.to_mm)
    except ValueError:
        return None
    edge = edge_of(scan, (picture.width, picture.height))
    path = QPainterPath()
    path.addPolygon(QPolygonF([QPointF(*sheet.view.to_px(float(x), float(z))) for x, z in edge]))
    path.closeSubpath()
    return path
