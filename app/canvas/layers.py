"""What lies still behind a drag, kept as pictures: paper, scans, and outlines that do not move."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass

from PySide6.QtCore import QLineF, QPointF, QRect, QRectF, QSize
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPainterPath, QPen, QPixmap

from app.canvas.ink import draw_outline, draw_surface, outlines_in, path_of, stroke_dashed, transform_of
from app.canvas.paper import Paper, Pictures, Sheet, Shown, moved_by, uncovered
from app.canvas.view import View
from app.kit.marks import draw_mark, draw_other_cg
from app.kit.round_steps import nice_step
from app.kit.theme import Theme
from core.design import Design, DisplayUnits, Outline, Tailplane, Wing
from core.units import MM_PER_IN

_DATUM_PX = 1.6
RULER_PX = 20


@dataclass(frozen=True, eq=False)
class Ghost:
    """A kept state to be seen under the outlines: its own outlines, its CG and its CLA, in mm."""

    outlines: tuple[Outline, ...]
    cg: tuple[float, float] | None
    cla: tuple[float, float] | None


@dataclass(frozen=True, eq=False)
class _Still:
    """What the resting picture shows, wherever it is looked at from."""

    scans: Shown
    outlines: tuple[Outline, ...]
    surfaces: tuple[Wing | Tailplane, ...]
    ghost: Ghost | None
    theme: Theme

    def key(self) -> Hashable:
        """Differs as soon as anything would look different; holds while these objects live."""
        return (
            self.scans.key, tuple(map(id, self.outlines)), tuple(map(id, self.surfaces)), id(self.ghost),
            self.theme.paper,
        )

    def draw(self, pixmap: QPixmap, pixels: QRect, sheet: Sheet) -> None:
        """All but the paper and its scans, in that rectangle of device pixels and nowhere else."""
        view, theme, part = sheet.view, self.theme, sheet.logical(pixels)
        painter = QPainter(pixmap)
        painter.setClipRect(part)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        _datum_lines(painter, view, sheet.size, theme)
        if self.ghost is not None:
            draw_ghost(painter, self.ghost, view, theme)
        for surface in self.surfaces:
            draw_surface(painter, surface, view, theme)
        for outline in outlines_in(self.outlines, part, view):
            draw_outline(painter, outline, view, theme)
        painter.end()


class Layers:
    """The paper with the scans, and the picture of that with the resting outlines on it.

    A pan by whole pixels of the screen scrolls the picture and draws what comes into sight; so all
    that is on it is laid out from the paper, none of it from the edges of the canvas.
    """

    def __init__(self) -> None:
        self._paper = Paper()
        self._kept: tuple[Sheet, Hashable, QPixmap, _Still] | None = None

    def drop(self) -> None:
        """Forget both, for example after the theme changed."""
        self._paper.drop()
        self._kept = None

    def resting(
        self, design: Design, moving: frozenset[str], pictures: Pictures, view: View,
        size: QSize, ratio: float, theme: Theme, *, ghost: Ghost | None = None,
    ) -> QPixmap:
        """All but the ``moving`` outlines, in a pixmap of ``size`` logical pixels; the next reuses it."""
        still = _Still(
            Shown.of(design.scans, pictures),
            tuple(o for o in design.outlines if o.id not in moving and not o.hidden),
            tuple(s for s in design.surfaces if s.in_side_area), ghost, theme,
        )
        sheet, key = Sheet(view, size.width(), size.height(), ratio, theme.dark), still.key()
        kept, whole = self._kept, sheet.pixels
        if kept is not None and kept[:2] == (sheet, key):
            return kept[2]
        # The last pixmap is drawn over: fresh memory for every frame costs 0.4 ms at 1600 x 1000.
        pixmap = kept[2] if kept is not None else QPixmap()
        if pixmap.size() != whole.size():
            pixmap = QPixmap(whole.size())
        pixmap.setDevicePixelRatio(ratio)
        bare = [whole]
        by = moved_by(kept[0], sheet) if kept is not None and kept[1] == key else None
        if kept is not None and kept[0] == sheet:
            # Other things on the same paper, as when something is taken hold of: more will follow.
            _copy(self._paper.drawn(design.scans, pictures, sheet, theme), pixmap)
        else:
            if by is not None and still.scans.can_be_parted:
                pixmap.scroll(by[0], by[1], whole)
                bare = uncovered(whole, *by)
            for pixels in bare:
                still.scans.draw(pixmap, pixels, pictures, sheet, theme)
        for pixels in bare:
            still.draw(pixmap, pixels, sheet)
        # All that is shown is kept with its key: its ids must not be given out again meanwhile.
        self._kept = (sheet, key, pixmap, still)
        return pixmap


def _copy(source: QPixmap, target: QPixmap) -> None:
    painter = QPainter(target)
    painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_Source)
    painter.drawPixmap(0, 0, source)
    painter.end()


def _datum_lines(painter: QPainter, view: View, size: QSize, theme: Theme) -> None:
    x, y = view.to_px(0.0, 0.0)
    # Up to a width of one Qt takes a quicker way, whose dashes depend on where a line is clipped; one so
    # thin would also be halved wherever it falls between two pixels.
    pen = QPen(QColor(theme.ink_soft), _DATUM_PX)
    dashes = (12.0, 4.0, 2.0, 4.0)
    pen.setDashPattern([dash / _DATUM_PX for dash in dashes])
    # Both begin a whole number of dashes before the datum: they go with the paper.
    lines = QPainterPath()
    if -1 <= y <= size.height() + 1:
        lines.moveTo(x % sum(dashes) - sum(dashes), y)
        lines.lineTo(size.width(), y)
    if -1 <= x <= size.width() + 1:
        lines.moveTo(x, y % sum(dashes) - sum(dashes))
        lines.lineTo(x, size.height())
    painter.strokePath(lines, pen)


def draw_ruler(painter: QPainter, view: View, size: QSize, theme: Theme, units: DisplayUnits | None) -> None:
    """Stations along the lower edge, in the builder's unit; without figures while there is no scale."""
    painter.save()
    _draw_ruler(painter, view, size, theme, units)
    painter.restore()


def _draw_ruler(painter: QPainter, view: View, size: QSize, theme: Theme, units: DisplayUnits | None) -> None:
    top = size.height() - RULER_PX
    strip = QColor(theme.panel)
    strip.setAlpha(240)
    painter.fillRect(QRectF(0, top, size.width(), RULER_PX), strip)
    painter.setPen(QPen(QColor(theme.ink_soft), 1.0))
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
    ticks = []
    while True:
        station = number * step
        x = (station * unit - view.x) * view.scale
        if x > size.width():
            break
        ticks.append(QLineF(x, top, x, top + 6))
        for part in range(1, 5):
            minor = x + part * step * unit * view.scale / 5
            ticks.append(QLineF(minor, top, minor, top + 3))
        text = f"{station:.10g}".replace("-", "−") + (" mm" if units == "mm" else " in") * (number == 0)
        painter.drawText(QPointF(x + 3, top + 4 + metrics.ascent()), text)
        number += 1
    painter.drawLines(ticks)


def draw_ghost(painter: QPainter, ghost: Ghost, view: View, theme: Theme) -> None:
    """A kept state: dashed grey lines without a wash, and its CG and CLA faint."""
    painter.save()
    pen = QPen(QColor(theme.ink_soft), 1.4)
    pen.setDashPattern([6, 4])
    to_px = transform_of(view)
    for outline in ghost.outlines:
        if not outline.hidden:
            stroke_dashed(painter, to_px.map(path_of(outline)), pen)
    painter.setOpacity(0.55)
    if ghost.cg is not None:
        draw_other_cg(painter, view.to_px(*ghost.cg), theme)
    if ghost.cla is not None:
        draw_mark(painter, "cla", view.to_px(*ghost.cla), theme)
    painter.restore()


def moving_outlines(shown: Design, committed: Design, selected: tuple[str, ...]) -> frozenset[str]:
    """Ids of the outlines to draw anew with every frame: changed by the gesture, or selected."""
    if shown is committed:
        return frozenset(selected)
    before: dict[str, Outline] = {o.id: o for o in committed.outlines}
    changed = {o.id for o in shown.outlines if before.get(o.id) is not o}
    return frozenset(changed | set(selected))
