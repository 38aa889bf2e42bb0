"""The profile on the sheet: outlines in ink, pale washes, hatched pairs, marks and names."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import shapely
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainterPath
from shapely.geometry.base import BaseGeometry

from app.kit.band_words import TWICE
from app.kit.marks import ON_RULE, NamedMark, draw_mark, mark_box, named_marks
from app.kit.paths import shape_path
from app.paper.frame import Frame, ratio_words, station_step
from app.paper.ink import FAINT, INK, ON_PAPER, SOFT, TAIL_WASH, UNIT, WASH, WHITE, Ink
from app.paper.placing import Place, Room, nearest_point
from core.design import Design
from core.geometry.overlay import union
from core.geometry.prepared import prepared
from core.kinds import VERTICAL_TAIL
from core.stability.readings import Readings
from core.stability.side_area import form_of, surface_patch

HATCH = 1.3
_SECOND_LINE = 0.75
_NAME = 6.5
_TALL = 2.9


@dataclass(frozen=True)
class Piece:
    """One outline or surface on the paper."""

    name: str
    region: BaseGeometry
    """In mm of paper, y down."""
    path: QPainterPath
    count: int
    tail: bool
    counted: bool


def pieces_of(design: Design, frame: Frame) -> dict[str, Piece]:
    """Every outline and surface by its kind of key: "outline fin", "wing wing"."""
    found: dict[str, Piece] = {}
    for outline in design.outlines:
        form = form_of(outline)
        found[f"outline {outline.id}"] = Piece(
            outline.name, _on_paper(form.patch.region, frame), frame.curve(form.ring), outline.count,
            outline.kind in VERTICAL_TAIL, True,
        )
    for kind, surfaces in (("wing", design.wings), ("tailplane", design.tailplanes)):
        for surface in surfaces:
            region = surface_patch(surface).region
            found[f"{kind} {surface.id}"] = Piece(
                surface.name, _on_paper(region, frame), frame.region(region), 2, False, surface.in_side_area
            )
    return found


def _on_paper(region: BaseGeometry, frame: Frame) -> BaseGeometry:
    scale = np.array((frame.per_mm, -frame.per_mm))
    shift = np.array((frame.x(0.0), frame.y(0.0)))
    return shapely.transform(region, lambda points: points * scale + shift)


def draw_grid(ink: Ink, design: Design, frame: Frame, top: float, bottom: float) -> None:
    """Squares of round size on the profile, the upright lines through all bands."""
    if frame.ratio is None:
        return
    labelled, fine = station_step(frame, design.display_units)
    first = math.ceil(frame.station(frame.area.left()) / fine)
    last = math.floor(frame.station(frame.area.right()) / fine)
    each = round(labelled / fine)
    for k in range(first, min(last, first + 400) + 1):
        ink.pen(0.16 if k % each == 0 else 0.06, FAINT)
        x = frame.x(k * fine)
        ink.line(x, top, x, bottom)
    first = math.ceil(frame.height(frame.area.bottom()) / fine)
    last = math.floor(frame.height(frame.area.top()) / fine)
    for k in range(first, min(last, first + 400) + 1):
        ink.pen(0.16 if k % each == 0 else 0.06, FAINT)
        ink.line(frame.area.left(), frame.y(k * fine), frame.area.right(), frame.y(k * fine))


def draw_profile(
    ink: Ink, design: Design, readings: Readings, frame: Frame, names: Mapping[str, str], rule_y: float, *,
    legend: bool,
) -> None:
    """Draw the aeroplane and its marks; ``names`` gives by key what is to be named, in order of rank.

    The marks' lines run down to ``rule_y`` on the paper; ``legend`` explains the hatch here.
    """
    pieces = pieces_of(design, frame)
    painter = ink.painter
    painter.save()
    painter.setClipRect(frame.area.adjusted(0, 0, 0, rule_y - frame.area.bottom()))
    for piece in pieces.values():
        if piece.counted and piece.count == 1 and not piece.tail:
            ink.fill(piece.path, WASH)
    for piece in pieces.values():
        if piece.tail and piece.count == 1:
            ink.fill(piece.path, TAIL_WASH)
    for piece in pieces.values():
        if piece.counted and piece.count > 1:
            ink.hatch(piece.path, HATCH, rising=not piece.tail)
    for piece in pieces.values():
        _draw_lines(ink, piece)
    painter.restore()
    marks = _marks(design, readings, frame)
    ink.pen(0.14, INK, (8, 4, 2, 4))
    for mark in marks:
        if mark.kind in ON_RULE:
            ink.line(*mark.at, mark.at[0], rule_y)
    room = _room(frame, pieces, marks, rule_y)
    twice = legend and any(piece.counted and piece.count > 1 for piece in pieces.values())
    _draw_scale(ink, frame, room, TWICE if twice else "")
    _draw_marks(ink, marks, room)
    for key, name in names.items():
        if key in pieces:
            _write_name(ink, room, pieces[key], name)


def _draw_lines(ink: Ink, piece: Piece) -> None:
    if not piece.counted:
        ink.pen(0.18, SOFT, (8, 6))
        ink.stroke(piece.path)
        return
    ink.pen(0.32)
    ink.stroke(piece.path)
    if piece.count > 1 and not piece.region.is_empty:
        second = piece.region.buffer(-_SECOND_LINE, join_style="mitre")
        if second.is_empty:
            second = piece.region.buffer(_SECOND_LINE, join_style="mitre")
        ink.pen(0.13)
        ink.stroke(shape_path(second))


def _marks(design: Design, readings: Readings, frame: Frame) -> list[NamedMark]:
    """The marks within the drawing, ``at`` in mm of paper."""
    found = (
        NamedMark(mark.kind, (frame.x(mark.at[0]), frame.y(mark.at[1])), mark.words)
        for mark in named_marks(design, readings)
    )
    return [mark for mark in found if frame.area.contains(*mark.at)]


def _room(frame: Frame, pieces: Mapping[str, Piece], marks: list[NamedMark], rule_y: float) -> Room:
    regions = [piece.region for piece in pieces.values() if not piece.region.is_empty]
    covered = prepared(union(regions).buffer(0.6))
    lines = prepared(shapely.GeometryCollection([region.boundary for region in regions]))
    room = Room(frame.area, lines, covered)
    for mark in marks:
        x, y = mark.at
        room.take(mark_box(mark.kind, mark.at, UNIT))
        if mark.kind in ON_RULE:
            room.take(QRectF(x - 0.4, y, 0.8, rule_y - y))
    return room


def _draw_scale(ink: Ink, frame: Frame, room: Room, legend: str) -> None:
    """The scale, and what the hatch means, in the first corner that the aeroplane leaves free."""
    scale = f"scale {ratio_words(frame.ratio)}" if frame.ratio is not None else "scale not set: not to scale"
    if room.covered.is_empty:
        scale = ""
    head = ink.width("PROFILE", 6.5, bold=True) + 1.5
    scale_wide = ink.width(scale, 7.0, bold=True)
    wide, tall = head + scale_wide + (10.0 + ink.width(legend, 6.5) if legend else 0.0), 3.6
    area = frame.area.adjusted(1.5, 1.0, -1.5, -1.0)
    corners = [
        QRectF(x, y, wide, tall)
        for y in (area.top(), area.bottom() - tall) for x in (area.left(), area.right() - wide)
    ]
    free = [
        c for c in corners
        if not room.covered.intersects(shapely.box(c.left(), c.top(), c.right(), c.bottom()))
    ]
    rect = (free or corners)[0]
    room.take(rect)
    ink.fill(rect.adjusted(-0.3, 0, 0.3, 0), WHITE)
    ink.caption(rect.left(), rect.bottom() - 1.0, "PROFILE")
    ink.text(rect.left() + head, rect.bottom() - 1.0, scale, 7.0, bold=True)
    if legend:
        x = rect.left() + head + scale_wide + 3.5
        sample = QRectF(x, rect.bottom() - 3.1, 5.0, 2.4)
        ink.hatch(sample, HATCH)
        ink.pen(0.15)
        ink.stroke(sample)
        ink.text(x + 6.5, rect.bottom() - 1.0, legend, 6.5, colour=SOFT)


def _draw_marks(ink: Ink, marks: list[NamedMark], room: Room) -> None:
    places = []
    for mark in marks:
        x, y = mark.at
        wide = ink.width(mark.words, 7.0, bold=True)
        place = room.beside(mark.at, wide, 3.1, far=14.0, on_top=True)
        place = place or room.beside(mark.at, wide, 3.1) or Place(QRectF(x + 3.4, y - 4.6, wide, 3.1), None)
        room.take(place.rect)
        if place.leader is not None:
            room.take(shapely.LineString([nearest_point(place.rect, mark.at), mark.at]))
        places.append(place)
    for mark, place in zip(marks, places, strict=True):
        _write(ink, place, mark.words, 7.0, bold=True, leader=mark.at if place.leader else None)
    for mark in reversed(marks):
        draw_mark(ink.painter, mark.kind, mark.at, ON_PAPER, UNIT)


def _write_name(ink: Ink, room: Room, piece: Piece, name: str) -> None:
    if piece.region.is_empty:
        return
    name = ink.cut(name, _NAME, 38.0)
    wide = ink.width(name, _NAME)
    place = room.inside(piece.region, wide + 1.0, _TALL)
    if place is None:
        # Lead to a spot of its own where it has one.
        spot = piece.region.representative_point()
        place = room.beside((spot.x, spot.y), wide, _TALL)
    if place is None:
        return
    room.take(place.rect)
    if place.leader is not None:
        room.take(shapely.LineString([nearest_point(place.rect, place.leader), place.leader]))
    _write(ink, place, name, _NAME, bold=False, leader=place.leader)


def _write(
    ink: Ink, place: Place, name: str, size: float, *, bold: bool, leader: tuple[float, float] | None
) -> None:
    rect = place.rect
    if leader is not None:
        ink.pen(0.12)
        start = nearest_point(rect.adjusted(-0.5, -0.1, 0.5, 0.1), leader)
        ink.line(*start, *leader)
        dot = QPainterPath()
        dot.addEllipse(QPointF(*leader), 0.35, 0.35)
        ink.fill(dot, INK)
    ink.fill(rect.adjusted(-0.4, 0.0, 0.4, 0.0), WHITE)
    ink.text(rect.center().x(), rect.bottom() - 0.7, name, size, bold=bold, align="centre")
