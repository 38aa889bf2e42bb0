"""What is drawn on a template beside the outlines, each with its words: hinges, roots, seats, CG, datum."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely
from PySide6.QtCore import QPointF
from PySide6.QtGui import QPainterPath
from shapely.geometry.base import BaseGeometry

from app.kit.marks import draw_cg
from app.paper.frame import Frame
from app.paper.ink import INK, ON_PAPER, SOFT, Ink, closed_path
from app.paper.template import TemplatePlan
from app.paper.template_pieces import Drawing, HingeLine, Reference, SeatLine
from app.paper.template_words import Spot, Words
from core.bench.tiling import Rect
from core.geometry.ring import Array

DOT_DASHED = (14.0, 3.5, 2.5, 3.5)
_SIZE = 6.5
_TICK, _TICK_OF_CHORD = 5.0, 0.06
_CG_RADIUS = 4.0
_SPREAD = tuple(float(s) for s in np.linspace(0.02, 0.98, 49))


def spot(frame: Frame, point: tuple[float, float]) -> Spot:
    """A point of the drawing on the page."""
    return frame.x(point[0]), frame.y(point[1])


def on_page(frame: Frame, points: Array) -> Array:
    """Points (N, 2) of the drawing on the page."""
    return np.array((frame.x(0.0), frame.y(0.0))) + points * (frame.per_mm, -frame.per_mm)


def box_corners(hinge: HingeLine, middle: tuple[float, float]) -> list[tuple[float, float]]:
    """The corners of a hinge about ``middle``, in mm of the drawing."""
    ahead, across = _ways(hinge)
    a, b = ahead * hinge.along / 2, across * hinge.across / 2
    return [
        (float(middle[0] + u), float(middle[1] + v)) for u, v in (-a - b, a - b, a + b, -a + b)
    ]


def _ways(hinge: HingeLine) -> tuple[Array, Array]:
    ahead = np.array(hinge.end) - np.array(hinge.start)
    ahead = ahead / np.hypot(*ahead)
    return ahead, np.array((-ahead[1], ahead[0]))


def signs_taken(drawing: Drawing, frame: Frame) -> Iterator[BaseGeometry]:
    """The room on the page that the signs take, for words to keep off."""
    for reference in drawing.references:
        yield shapely.LineString((spot(frame, reference.start), spot(frame, reference.end)))
    for root in drawing.roots:
        yield shapely.LineString(on_page(frame, root))
    for hinge in drawing.hinges:
        yield shapely.LineString((spot(frame, hinge.start), spot(frame, hinge.end)))
        for middle in hinge.hinges:
            yield shapely.Polygon([spot(frame, corner) for corner in box_corners(hinge, middle)])
    for seat in drawing.seats:
        for line in _seat_lines(frame, seat):
            yield shapely.LineString(line)
    if drawing.cg is not None:
        yield shapely.Point(spot(frame, drawing.cg)).buffer(_CG_RADIUS + 0.6, quad_segs=4)


def draw_signs(ink: Ink, drawing: Drawing, frame: Frame) -> None:
    """The lines and marks themselves; drawn beneath the outlines."""
    for reference in drawing.references:
        ink.pen(0.13, SOFT, DOT_DASHED)
        ink.line(*spot(frame, reference.start), *spot(frame, reference.end))
    for root in drawing.roots:
        points = on_page(frame, root)
        path = QPainterPath(QPointF(*points[0]))
        for x, y in points[1:]:
            path.lineTo(x, y)
        ink.pen(0.25, INK, (6.0, 4.0))
        ink.stroke(path)
    for hinge in drawing.hinges:
        _draw_hinge(ink, frame, hinge)
    for seat in drawing.seats:
        chord, *ticks = _seat_lines(frame, seat)
        ink.pen(0.2, INK, (12.0, 3.0))
        ink.line(*chord[0], *chord[1])
        ink.pen(0.3)
        for start, end in ticks:
            ink.line(*start, *end)
    if drawing.cg is not None:
        draw_cg(ink.painter, spot(frame, drawing.cg), ON_PAPER, _CG_RADIUS)


def _draw_hinge(ink: Ink, frame: Frame, hinge: HingeLine) -> None:
    ink.pen(0.2, INK, DOT_DASHED)
    for stretch in hinge.apart:
        (x0, y0), *_, (x1, y1) = on_page(frame, stretch)
        ink.line(float(x0), float(y0), float(x1), float(y1))
    _, across = _ways(hinge)
    for middle in hinge.hinges:
        ink.pen(0.15, SOFT)
        ink.stroke(closed_path([spot(frame, corner) for corner in box_corners(hinge, middle)]))
        ink.pen(0.2)
        reach = across * hinge.across / 2
        ink.line(
            *spot(frame, (middle[0] - reach[0], middle[1] - reach[1])),
            *spot(frame, (middle[0] + reach[0], middle[1] + reach[1])),
        )


def _seat_lines(frame: Frame, seat: SeatLine) -> list[tuple[Spot, Spot]]:
    """The chord on the page, and a tick across it at the leading and at the trailing edge."""
    start, end = spot(frame, seat.leading), spot(frame, seat.trailing)
    length = max(1e-9, math.dist(start, end))
    tick = min(_TICK, _TICK_OF_CHORD * length)
    x, y = -(end[1] - start[1]) / length * tick, (end[0] - start[0]) / length * tick
    return [(start, end)] + [((at[0] - x, at[1] - y), (at[0] + x, at[1] + y)) for at in (start, end)]


def write_signs(words: Words, plan: TemplatePlan, frame: Frame, core: Rect) -> None:
    """What each is, where there is room on the page; ``core`` is the page's own part of the drawing."""
    drawing = plan.drawing
    for hinge in drawing.hinges:
        _write_hinge(words, frame, hinge, core)
    for root in drawing.roots:
        ends = spot(frame, (root[0, 0], root[0, 1])), spot(frame, (root[-1, 0], root[-1, 1]))
        if _runs_over(root, core) and not words.along(*ends, "root line", _SIZE, shares=_SPREAD):
            words.led(spot(frame, _middle(root, core)), "root line", _SIZE)
    for seat in drawing.seats:
        _write_seat(words, frame, seat, core)
    if drawing.cg is not None and _within(drawing.cg, core):
        at = spot(frame, drawing.cg)
        # In a tangle of lines only its name finds room; the whole sentence stands at the page's foot.
        if not words.led(at, plan.cg_words or "CG", _SIZE, bold=True, far=90.0):
            words.led(at, "CG", _SIZE, bold=True, far=90.0)
    for reference in drawing.references:
        _write_reference(words, frame, reference, core)


def _write_hinge(words: Words, frame: Frame, hinge: HingeLine, core: Rect) -> None:
    _, across = _ways(hinge)
    for i, middle in enumerate(hinge.hinges):
        if not _within(middle, core):
            continue
        offs = [hinge.across / 2 + more for more in (2.0, 3.0, 4.5, 6.5)]
        spots = [
            spot(frame, (middle[0] + side * off * across[0], middle[1] + side * off * across[1]))
            for off in offs for side in (-1.0, 1.0)
        ]
        if not words.at(spots, f"H{i + 1}", 6.0):
            words.led(spot(frame, middle), f"H{i + 1}", 6.0, far=25.0)
    line = np.array((hinge.start, hinge.end))
    if _runs_over(line, core) and not words.along(
        spot(frame, hinge.start), spot(frame, hinge.end), "hinge line", _SIZE, shares=(2 / 7, *_SPREAD),
    ):
        words.led(spot(frame, _middle(line, core)), "hinge line", _SIZE, far=40.0)


def _write_seat(words: Words, frame: Frame, seat: SeatLine, core: Rect) -> None:
    line = np.array((seat.leading, seat.trailing))
    if _runs_over(line, core) and not words.along(
        spot(frame, seat.leading), spot(frame, seat.trailing), seat.words, _SIZE,
        shares=sorted(_SPREAD, key=lambda share: abs(share - 0.5)),
    ):
        words.led(spot(frame, _middle(line, core)), seat.words, _SIZE)
    for point, name in ((seat.leading, "leading edge"), (seat.trailing, "trailing edge")):
        if _within(point, core):
            words.led(spot(frame, point), name, 6.0)


def _write_reference(words: Words, frame: Frame, line: Reference, core: Rect) -> None:
    """On every page of its own that the line crosses: level ones from the left, upright ones from the top."""
    points = np.array((line.start, line.end))
    if not _runs_over(points, core):
        return
    upright = abs(points[1, 1] - points[0, 1]) > abs(points[1, 0] - points[0, 0])
    shares = np.linspace(0.0, 1.0, 1 + max(40, min(2000, int(np.hypot(*(points[1] - points[0])) / 4.0))))
    along = points[0] + shares[:, None] * (points[1] - points[0])
    here = shares[((along >= core[:2]) & (along <= core[2:])).all(axis=1)]
    if upright and points[1, 1] > points[0, 1]:
        here = here[::-1]
    start, end = spot(frame, line.start), spot(frame, line.end)
    if len(here) and not words.along(start, end, line.words, _SIZE, shares=[float(s) for s in here]):
        middle = points[0] + float(here[len(here) // 2]) * (points[1] - points[0])
        words.led(spot(frame, (float(middle[0]), float(middle[1]))), line.words, _SIZE)


def _within(point: tuple[float, float], core: Rect) -> bool:
    return core[0] <= point[0] <= core[2] and core[1] <= point[1] <= core[3]


def _on(line: Array, core: Rect) -> Array:
    """Points of the polyline on the page's own part of the drawing."""
    fine = shapely.get_coordinates(shapely.segmentize(shapely.LineString(line), 2.0))
    return fine[((fine >= core[:2]) & (fine <= core[2:])).all(axis=1)]


def _runs_over(line: Array, core: Rect) -> bool:
    """True if the line runs over the page for some millimetres."""
    return len(_on(line, core)) > 3


def _middle(line: Array, core: Rect) -> tuple[float, float]:
    on = _on(line, core)
    x, y = on[len(on) // 2]
    return float(x), float(y)
