"""Dimension lines on paper: extension lines, arrowheads, a figure beside; kept clear of what they measure."""

from __future__ import annotations

import math

from app.paper.ink import INK, SOFT, Ink, closed_path

SIZE = 8.0
THIN = 0.13
_HEAD = 2.0


def level(ink: Ink, x0: float, x1: float, y: float, words: str, *, lines_from: tuple[float, float]) -> None:
    """A level dimension at paper height ``y``; extension lines from the heights ``lines_from``."""
    _extension(ink, (x0, lines_from[0]), (x0, y))
    _extension(ink, (x1, lines_from[1]), (x1, y))
    _shaft(ink, (x0, y), (x1, y))
    if ink.width(words, SIZE) + 2.0 <= abs(x1 - x0):
        ink.text((x0 + x1) / 2, y - 0.9, words, SIZE, align="centre")
        return
    # Too narrow for its figure: beside the line, which goes on to it.
    ink.text(max(x0, x1) + 2 * _HEAD + 1.0, y + 1.0, words, SIZE)


def upright(ink: Ink, y0: float, y1: float, x: float, words: str, *, lines_from: tuple[float, float]) -> None:
    """An upright dimension at paper ``x``, read from the right; extension lines from ``lines_from``."""
    _extension(ink, (lines_from[0], y0), (x, y0))
    _extension(ink, (lines_from[1], y1), (x, y1))
    _shaft(ink, (x, y0), (x, y1))
    painter = ink.painter
    painter.save()
    painter.translate(x - 0.9, (y0 + y1) / 2)
    painter.rotate(-90.0)
    ink.text(0.0, 0.0, words, SIZE, align="centre")
    painter.restore()


def _extension(ink: Ink, start: tuple[float, float], end: tuple[float, float]) -> None:
    """From a little off the edge to a little past the dimension line."""
    length = math.dist(start, end)
    if length < 2.0:
        return
    dx, dy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    ink.pen(THIN, SOFT)
    ink.line(start[0] + 1.0 * dx, start[1] + 1.0 * dy, end[0] + 1.2 * dx, end[1] + 1.2 * dy)


def _shaft(ink: Ink, start: tuple[float, float], end: tuple[float, float]) -> None:
    length = math.dist(start, end)
    if length < 1e-6:
        return
    dx, dy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    ink.pen(THIN)
    # What is shorter than both heads takes them from outside.
    way, reach = (1.0, 0.0) if length > 3 * _HEAD else (-1.0, 2 * _HEAD)
    ink.line(start[0] - reach * dx, start[1] - reach * dy, end[0] + reach * dx, end[1] + reach * dy)
    for (x, y), side in ((start, way), (end, -way)):
        ink.fill(closed_path([
            (x, y), (x + side * (_HEAD * dx - 0.45 * dy), y + side * (_HEAD * dy + 0.45 * dx)),
            (x + side * (_HEAD * dx + 0.45 * dy), y + side * (_HEAD * dy - 0.45 * dx)),
        ]), INK)
