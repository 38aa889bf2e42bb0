"""What lies still behind a drag, kept as pictures: paper, scans, and outlines that do not move."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen, QPixmap

from app.canvas.ink import box_px, draw_outline, draw_surface, path_of, transform_of
from app.canvas.marks import draw_cla, draw_other_cg, nice_step
from app.canvas.view import View
from app.scans.drawing import draw_scan
from app.scans.picture import Picture
from app.theme import Theme
from core.design import Design, DisplayUnits, Outline
from core.units import MM_PER_IN

RULER_PX = 20


@dataclass(frozen=True, eq=False)
class Ghost:
    """A kept state to be seen under the outlines: its own outlines, its CG and its CLA, in mm."""

    outlines: tuple[Outline, ...]
    cg: tuple[float, float] | None
    cla: tuple[float, float] | None


class Layers:
    """Two pictures of the canvas: paper with scans, and that with the resting outlines on it."""

    def __init__(self) -> None:
        self._paper: tuple[Hashable, QPixmap] | None = None
        self._resting: tuple[Hashable, QPixmap, object] | None = None

    def drop(self) -> None:
        """Forget both, for example after the theme changed."""
        self._paper = self._resting = None

    def resting(
        self, design: Design, moving: frozenset[str], pictures: Mapping[str, Picture], view: View,
        size: QSize, ratio: float, theme: Theme, *, scale_known: bool, ghost: Ghost | None = None,
    ) -> QPixmap:
        """Everything but the ``moving`` outlines, in a pixmap of ``size`` logical pixels."""
        still = tuple(o for o in design.outlines if o.id not in moving and not o.hidden)
        frame = (view, size.width(), size.height(), ratio, theme.dark)
        paper_key: Hashable = (
            frame, tuple(map(id, design.scans)), tuple(id(pictures.get(s.file)) for s in design.scans),
            design.display_units, scale_known,
        )
        key: Hashable = (
            paper_key, tuple(map(id, still)), tuple(map(id, design.surfaces)), id(ghost)
        )
        if self._resting is not None and self._resting[0] == key:
            return self._resting[1]
        if self._paper is None or self._paper[0] != paper_key:
            self._paper = (paper_key, _paper(design, pictures, view, size, ratio, theme, scale_known))
        pixmap = QPixmap(self._paper[1])
        painter = QPainter(pixmap)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        seen = QRectF(0, 0, size.width(), size.height())
        if ghost is not None:
            draw_ghost(painter, ghost, view, theme)
        for surface in design.surfaces:
            if surface.in_side_area:
                draw_surface(painter, surface, view, theme)
        for outline in still:
            if box_px(outline, view).intersects(seen):
                draw_outline(painter, outline, view, theme)
        draw_ruler(painter, view, size, theme, design.display_units if scale_known else None)
        painter.end()
        # The design is kept with its key: ids of what it holds must not be given out again meanwhile.
        self._resting = (key, pixmap, (design, still, ghost))
        return pixmap


def _paper(
    design: Design, pictures: Mapping[str, Picture], view: View, size: QSize, ratio: float, theme: Theme,
    scale_known: bool,
) -> QPixmap:
    pixmap = QPixmap(size * ratio)
    pixmap.setDevicePixelRatio(ratio)
    paper = QColor(theme.paper)
    if theme.dark:
        # Turned to its negative below, scan and all: light lines on dark paper.
        paper = QColor(255 - paper.red(), 255 - paper.green(), 255 - paper.blue())
    pixmap.fill(paper)
    painter = QPainter(pixmap)
    seen = QRectF(0, 0, size.width(), size.height())
    for scan in design.scans:
        picture = pictures.get(scan.file)
        if picture is not None and not scan.hidden:
            draw_scan(painter, picture, scan.to_mm, transform_of(view), scan.opacity, seen, ratio)
    if theme.dark:
        painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_Difference)
        painter.fillRect(seen, Qt.GlobalColor.white)
        painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_SourceOver)
    _datum_lines(painter, view, size, theme)
    painter.end()
    return pixmap


def _datum_lines(painter: QPainter, view: View, size: QSize, theme: Theme) -> None:
    x, y = view.to_px(0.0, 0.0)
    colour = QColor(theme.ink_soft)
    colour.setAlpha(110)
    pen = QPen(colour, 1.0)
    pen.setDashPattern([12, 4, 2, 4])
    painter.setPen(pen)
    if 0 <= y <= size.height():
        painter.drawLine(QPointF(0, y), QPointF(size.width(), y))
    if 0 <= x <= size.width():
        painter.drawLine(QPointF(x, 0), QPointF(x, size.height()))


def draw_ruler(painter: QPainter, view: View, size: QSize, theme: Theme, units: DisplayUnits | None) -> None:
    """Stations along the lower edge, in the builder's unit; without figures while there is no scale."""
    top = size.height() - RULER_PX
    strip = QColor(theme.panel)
    strip.setAlpha(225)
    painter.fillRect(QRectF(0, top, size.width(), RULER_PX), strip)
    painter.setPen(QPen(QColor(theme.line), 1.0))
    painter.drawLine(QPointF(0, top), QPointF(size.width(), top))
    font = QFont(painter.font())
    font.setPointSizeF(max(7.0, font.pointSizeF() * 0.8))
    painter.setFont(font)
    painter.setPen(QColor(theme.ink_soft))
    if units is None:
        painter.drawText(QPointF(8, size.height() - 6), "no scale yet: stations are not shown")
        return
    unit = 1.0 if units == "mm" else MM_PER_IN
    step = nice_step(70.0 / view.scale / unit)
    metrics = QFontMetricsF(font)
    number = int(view.x / unit // step)
    while True:
        station = number * step
        x = (station * unit - view.x) * view.scale
        if x > size.width():
            break
        painter.drawLine(QPointF(x, top), QPointF(x, top + 6))
        for part in range(1, 5):
            minor = x + part * step * unit * view.scale / 5
            painter.drawLine(QPointF(minor, top), QPointF(minor, top + 3))
        text = f"{station:.10g}".replace("-", "−") + (" mm" if units == "mm" else " in") * (number == 0)
        painter.drawText(QPointF(x + 3, top + 4 + metrics.ascent()), text)
        number += 1


def draw_ghost(painter: QPainter, ghost: Ghost, view: View, theme: Theme) -> None:
    """A kept state: dashed grey lines without a wash, and its CG and CLA faint."""
    painter.save()
    pen = QPen(QColor(theme.ink_soft), 1.4)
    pen.setDashPattern([6, 4])
    to_px = transform_of(view)
    for outline in ghost.outlines:
        if not outline.hidden:
            painter.strokePath(to_px.map(path_of(outline)), pen)
    painter.setOpacity(0.55)
    if ghost.cg is not None:
        draw_other_cg(painter, view.to_px(*ghost.cg), theme)
    if ghost.cla is not None:
        draw_cla(painter, view.to_px(*ghost.cla), theme)
    painter.restore()


def moving_outlines(shown: Design, committed: Design, selected: tuple[str, ...]) -> frozenset[str]:
    """Ids of the outlines to draw anew with every frame: changed by the gesture, or selected."""
    if shown is committed:
        return frozenset(selected)
    before: dict[str, Outline] = {o.id: o for o in committed.outlines}
    changed = {o.id for o in shown.outlines if before.get(o.id) is not o}
    return frozenset(changed | set(selected))
