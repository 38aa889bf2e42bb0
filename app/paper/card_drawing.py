"""One copy of a piece of the card copy: its cut line, what is glued where, pins, lines and marks."""

from __future__ import annotations

import numpy as np
import shapely
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainterPath
from shapely.geometry.base import BaseGeometry

from app.kit.marks import draw_cg, draw_cla, draw_fin_centre
from app.kit.paths import shape_path
from app.paper.card_arm import arm_of
from app.paper.card_layout import LABEL, CardSheets, label_words, nose_of
from app.paper.ink import FAINT, INK, ON_PAPER, SOFT, TAIL_WASH, WASH, WHITE, Ink
from core.bench.card import Copy, cut_shape, strip_for
from core.geometry.overlay import lines_in
from core.geometry.ring import Array
from core.stability.side_area import form_of
from core.stability.wording import percent

CUT = QColor("#000000")
CUT_WIDTH = 0.25
_SIGN = 1.9
_AIM = QColor(ON_PAPER.aim)
_BADGE = 1.9
_OFF_CUT, _LED = 0.4, 25.0
"""mm of paper: how far a number stays off the cut line, and how far off its place it may be led."""


class _Place:
    """From mm of the design to mm of paper, y down, for one copy."""

    def __init__(self, sheets: CardSheets, copy: Copy, room: QRectF) -> None:
        self._sheets, self._copy, self._room = sheets, copy, room

    def points(self, points: Array) -> Array:
        """Points (M, 2) of the design on the paper."""
        return self._down(self._sheets.plan.points(self._copy, points))

    def _down(self, up: Array) -> Array:
        return np.column_stack((self._room.left() + up[:, 0], self._room.bottom() - up[:, 1]))

    def at(self, place: tuple[float, float]) -> tuple[float, float]:
        """One point likewise."""
        x, y = self.points(np.array((place,)))[0]
        return float(x), float(y)

    @property
    def quarter(self) -> bool:
        """True if the copy is turned a quarter."""
        return self._copy.laid.quarter

    def label_at(self, x: float, y: float) -> tuple[float, float]:
        """A point of the piece's own place, in mm of paper there, on the sheet."""
        x, y = self._down(self._copy.laid.points(np.array(((x, y),))))[0]
        return float(x), float(y)

    def shape(self, region: BaseGeometry) -> BaseGeometry:
        """A region of the design on the paper."""
        return shapely.transform(region, self.points)

    def path(self, region: BaseGeometry) -> QPainterPath:
        """Its outline, holes included."""
        return shape_path(self.shape(region))


def draw_copy(ink: Ink, sheets: CardSheets, copy: Copy, room: QRectF) -> None:
    """Draw one copy where it lies in ``room``, mm of paper."""
    place = _Place(sheets, copy, room)
    piece = copy.piece
    path = place.path(cut_shape(piece, sheets.ratio))
    ink.fill(path, WASH if piece.number == 1 else TAIL_WASH)
    if piece.number == 1:
        _draw_inside(ink, sheets, place)
        _draw_places(ink, sheets, place)
    _draw_marks(ink, sheets, place, copy)
    ink.pen(CUT_WIDTH, CUT)
    ink.stroke(path)
    if piece.number == 1:
        _draw_badges(ink, sheets, place, copy)
    _draw_label(ink, sheets, place, copy)


def _draw_inside(ink: Ink, sheets: CardSheets, place: _Place) -> None:
    """The traced lines within the silhouette, faintly, and the level line through the nose."""
    body = sheets.plan.card.body.region
    inner = shapely.buffer(body, -0.6 * sheets.ratio)
    ink.pen(0.12, FAINT)
    for outline in sheets.design.outlines:
        if outline.count == 1 and outline.standing == "joined":
            edge = lines_in(form_of(outline).patch.region.boundary, inner)
            ink.stroke(shape_path(place.shape(_lines_only(edge))))
    x, z = nose_of(sheets.plan.card)
    low_x, _, high_x, _ = body.bounds
    level = lines_in(shapely.LineString(((low_x, z), (high_x, z))), body)
    ink.pen(0.1, SOFT, (12, 4))
    ink.stroke(shape_path(place.shape(_lines_only(level))))
    nose = place.at((x, z))
    ink.text(nose[0] + 5.5, nose[1] - 0.6, "level", 5.5, italic=True, colour=SOFT)


def _lines_only(geometry: BaseGeometry) -> BaseGeometry:
    lines = [g for g in shapely.get_parts(geometry) if g.geom_type == "LineString" and not g.is_empty]
    return shapely.MultiLineString(lines)


def _draw_places(ink: Ink, sheets: CardSheets, place: _Place) -> None:
    """Dotted, where each other piece goes, with its number; and the strips for what stands off."""
    card = sheets.plan.card
    for piece in card.glued:
        ink.pen(0.2, SOFT, (1.2, 2.2))
        ink.stroke(place.path(piece.region))
        strip = strip_for(card, piece, sheets.ratio)
        if strip is not None:
            ink.pen(0.12, SOFT, (6, 3))
            ink.stroke(place.path(strip))
            ink.hatch(place.path(strip), 0.8)


def _draw_badges(ink: Ink, sheets: CardSheets, place: _Place, copy: Copy) -> None:
    """The numbers of the pieces in their places, or led to them: none over the line to cut along."""
    away = _kept_off(sheets, place)
    body = place.shape(copy.piece.region)
    label = sheets.labels.get(copy.piece.number)
    for piece in sheets.plan.card.glued:
        shape = place.shape(piece.region)
        x, y = _badge_spot(shape, away)
        if body.boundary.distance(shapely.Point(x, y)) < _BADGE + _OFF_CUT:
            words = None if label is None else shapely.Point(place.label_at(*label[:2])).buffer(label[2] / 2)
            led = _badge_within(body, shape, shapely.GeometryCollection([away, words] if words else [away]))
            if led is not None:
                x, y = led
                end = shapely.get_coordinates(shapely.shortest_line(shapely.Point(led), shape))[1]
                ink.pen(0.18, SOFT)
                ink.line(x, y, float(end[0]), float(end[1]))
        disc = QPainterPath()
        disc.addEllipse(QPointF(x, y), _BADGE, _BADGE)
        ink.fill(disc, WHITE)
        ink.pen(0.18, SOFT)
        ink.stroke(disc)
        ink.text(x, y + 0.85, f"{piece.number}", LABEL, bold=True, align="centre")


def _badge_within(body: BaseGeometry, shape: BaseGeometry, away: BaseGeometry) -> tuple[float, float] | None:
    """The place on the silhouette's paper nearest to ``shape`` where a badge lies clear of everything."""
    low_x, low_y, high_x, high_y = shape.bounds
    grid_x, grid_y = np.meshgrid(
        np.linspace(low_x - _LED, high_x + _LED, 61), np.linspace(low_y - _LED, high_y + _LED, 61)
    )
    inside = shapely.contains_xy(body, grid_x, grid_y)
    spots = np.asarray(shapely.points(grid_x[inside], grid_y[inside]))
    if not len(spots):
        return None
    far = shapely.distance(shape, spots)
    far[shapely.distance(away, spots) < _BADGE + _OFF_CUT] = np.inf
    far += 0.02 * shapely.distance(shape.centroid, spots)
    best = int(far.argmin())
    return (float(spots[best].x), float(spots[best].y)) if np.isfinite(far[best]) else None


def _kept_off(sheets: CardSheets, place: _Place) -> BaseGeometry:
    """Lines and signs on the paper that a badge should not lie on."""
    card = sheets.plan.card
    away = [place.shape(piece.region.boundary) for piece in card.pieces]
    strips = [strip_for(card, piece, sheets.ratio) for piece in card.glued]
    away += [place.shape(strip) for strip in strips if strip is not None]
    away += [place.shape(shapely.LineString((line.pin, line.end))) for line in sheets.lines]
    arm = arm_of(sheets.design, sheets.readings)
    if arm is not None:
        away += [place.shape(shape) for shape in arm.shapes(sheets.ratio)]
    cg = sheets.readings.cg
    for sign in (sheets.readings.cla, (cg.x, cg.z) if cg is not None else None):
        if sign is not None:
            away.append(shapely.Point(place.at(sign)).buffer(4.0))
    return shapely.GeometryCollection(away)


def _badge_spot(shape: BaseGeometry, away: BaseGeometry) -> tuple[float, float]:
    """In a piece's place, on paper, where it is well clear of all else and near the middle."""
    low_x, low_y, high_x, high_y = shape.bounds
    grid_x, grid_y = np.meshgrid(np.linspace(low_x, high_x, 31), np.linspace(low_y, high_y, 17))
    inside = shapely.contains_xy(shape, grid_x, grid_y)
    if not inside.any():
        spot = shape.representative_point()
        return float(spot.x), float(spot.y)
    spots = np.asarray(shapely.points(grid_x[inside], grid_y[inside]))
    clear = shapely.distance(away, spots)
    # Beyond what a badge needs, the middle of the place is the better.
    far = shapely.distance(shape.centroid, spots)
    best = spots[int(np.argmax(np.minimum(clear, 1.4 * _BADGE) - 0.01 * far))]
    return float(best.x), float(best.y)


def _draw_marks(ink: Ink, sheets: CardSheets, place: _Place, copy: Copy) -> None:
    """Pins, plumb lines, CLA and CG: on the silhouette all, on a piece glued on what lies on it."""
    body = copy.piece.number == 1
    region = copy.piece.region
    ink.painter.save()
    if not body:
        ink.painter.setClipPath(place.path(region), Qt.ClipOperation.IntersectClip)
    _draw_arm(ink, sheets, place)
    for line in sheets.lines:
        ink.pen(0.2, INK, (10, 3, 2, 3))
        ink.stroke(shape_path(place.shape(shapely.LineString((line.pin, line.end)))))
    if body:
        _name_aim(ink, sheets, place)
    ink.painter.restore()
    arm = arm_of(sheets.design, sheets.readings)
    if arm is not None and (body or shapely.contains_xy(region, *arm.fin)):
        draw_fin_centre(ink.painter, place.at(arm.fin), ON_PAPER, _SIGN)
    cla, cg = sheets.readings.cla, sheets.readings.cg
    if cg is not None and (body or shapely.contains_xy(region, cg.x, cg.z)) and _near(sheets, (cg.x, cg.z)):
        x, y = place.at((cg.x, cg.z))
        draw_cg(ink.painter, (x, y), ON_PAPER, _SIGN)
        ink.text(x, y + _SIGN + 2.6, "CG", 6.0, bold=True, align="centre")
    if cla is not None and (body or shapely.contains_xy(region, *cla)):
        x, y = place.at(cla)
        draw_cla(ink.painter, (x, y), ON_PAPER, _SIGN)
        if body:
            _name_cla(ink, sheets, place, x, y)
    for name, line in zip("AB", sheets.lines, strict=False):
        if body or shapely.contains_xy(region, *line.pin):
            _draw_pin(ink, place, name, line.pin, line.end)


def _draw_arm(ink: Ink, sheets: CardSheets, place: _Place) -> None:
    """The tail arm with its tenths, and the aim as a band across it."""
    arm = arm_of(sheets.design, sheets.readings)
    if arm is None:
        return
    band = place.path(arm.band(sheets.ratio))
    ink.fill(band, _AIM)
    ink.pen(0.1, SOFT)
    low_x, low_z, high_x, high_z = arm.band(sheets.ratio).bounds
    for x in (low_x, arm.station(arm.aim), high_x):
        ink.stroke(shape_path(place.shape(shapely.LineString(((x, low_z), (x, high_z))))))
    ink.stroke(shape_path(place.shape(arm.line())))
    for tenth in range(11):
        x, long = arm.station(tenth / 10), (1.2 if tenth in (0, 5, 10) else 0.7) * sheets.ratio
        ink.stroke(shape_path(place.shape(
            shapely.LineString(((x, arm.cg[1] - long), (x, arm.cg[1] + long)))
        )))


def _name_aim(ink: Ink, sheets: CardSheets, place: _Place) -> None:
    """The aim's figures over its band, and where the arm begins and ends."""
    arm = arm_of(sheets.design, sheets.readings)
    if arm is None:
        return
    low, high = (percent(part, 0) for part in (arm.low, arm.high))
    low_x, _, high_x, high_z = arm.band(sheets.ratio).bounds
    top = high_z + 0.6 * sheets.ratio
    words = f"aim {low.removesuffix(' %')}–{high}"
    _words_at(ink, place, (0.5 * (low_x + high_x), top), words)
    _words_at(ink, place, (arm.station(1.0), arm.cg[1] - 3.4 * sheets.ratio), "100 %")


def _words_at(ink: Ink, place: _Place, spot: tuple[float, float], words: str) -> None:
    """Small words centred over a point of the design, turned with the piece, on white."""
    x, y = place.at(spot)
    painter = ink.painter
    painter.save()
    painter.translate(x, y)
    if place.quarter:
        painter.rotate(-90.0)
    wide = ink.width(words, 5.5)
    ink.fill(QRectF(-wide / 2 - 0.4, -1.9, wide + 0.8, 2.4), WHITE)
    ink.text(0.0, 0.0, words, 5.5, align="centre", colour=SOFT)
    painter.restore()


def _name_cla(ink: Ink, sheets: CardSheets, place: _Place, x: float, y: float) -> None:
    """The letters beside the sign, where the lines are furthest from them."""
    spots = ((x + 4.6, y - 3.0), (x - 4.6, y - 3.0), (x, y + 4.6), (x + 6.0, y + 0.4), (x - 6.0, y + 0.4))
    lines = [place.shape(shapely.LineString((line.pin, line.end))) for line in sheets.lines]

    def clear(spot: tuple[float, float]) -> float:
        box = shapely.box(spot[0] - 2.6, spot[1] - 1.1, spot[0] + 2.6, spot[1] + 1.1)
        return min((min(float(line.distance(box)), 1.0) for line in lines), default=1.0)

    best = max(spots, key=clear)
    ink.text(best[0], best[1] + 0.8, "CLA", 6.0, bold=True, align="centre")


def _near(sheets: CardSheets, spot: tuple[float, float]) -> bool:
    """Whether a mark lies about the card, and not far off on the paper."""
    return bool(shapely.distance(sheets.plan.card.body.region, shapely.Point(spot)) < 4.0 * sheets.ratio)


def _draw_pin(
    ink: Ink, place: _Place, name: str, pin: tuple[float, float], end: tuple[float, float]
) -> None:
    x, y = place.at(pin)
    far_x = place.at(end)[0]
    ring = QPainterPath()
    ring.addEllipse(QPointF(x, y), 1.2, 1.2)
    ink.fill(ring, WHITE)
    ink.pen(0.25)
    ink.stroke(ring)
    ink.pen(0.12)
    ink.line(x - 1.2, y, x + 1.2, y)
    ink.line(x, y - 1.2, x, y + 1.2)
    # The letter beside the pin, on the side that the line does not take.
    side = -1.0 if far_x >= x else 1.0
    ink.text(x + side * 2.0, y + 1.0, name, 7.5, bold=True, align="right" if side < 0 else "left")


def _draw_label(ink: Ink, sheets: CardSheets, place: _Place, copy: Copy) -> None:
    label = sheets.labels.get(copy.piece.number)
    if label is None:
        return
    x, y = place.label_at(label[0], label[1])
    painter = ink.painter
    painter.save()
    painter.translate(x, y)
    if copy.laid.quarter:
        painter.rotate(-90.0)
    words = label_words(copy.piece, copy.layer)
    ink.text(0.0, 0.85, ink.cut(words, LABEL, label[2] + 0.8), LABEL, align="centre")
    painter.restore()
