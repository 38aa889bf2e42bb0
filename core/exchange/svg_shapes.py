"""Shapes, lengths and transforms of SVG: what each element draws as rows of cubic pieces.

By the SVG 1.1 recommendation (W3C, 2011), chapters 7 to 9; from memory.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from core.exchange.closed import Piece
from core.exchange.faults import ExchangeError
from core.exchange.path_data import Reader, arc, line, subpaths

MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "Q": 0.25, "q": 0.25}
_PX = 25.4 / 96
LENGTH = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([a-zA-Z%]*)\s*")
_TRANSFORM = re.compile(r"(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^()]*)\)[\s,]*")
SHAPES = frozenset({"path", "rect", "circle", "ellipse", "polygon", "polyline"})

Matrix = tuple[float, float, float, float, float, float]
SAME: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


def times(m: Matrix, n: Matrix) -> Matrix:
    """First ``n``, then ``m``."""
    a, b, c, d, e, f = m
    p, q, r, s, t, u = n
    return (
        a * p + c * q, b * p + d * q, a * r + c * s, b * r + d * s, a * t + c * u + e, b * t + d * u + f,
    )


def placed(piece: Piece, m: Matrix) -> Piece:
    """Where the matrix takes a piece."""
    a, b, c, d, e, f = m
    one, two, three, four = (
        complex(a * p.real + c * p.imag + e, b * p.real + d * p.imag + f) for p in piece
    )
    return one, two, three, four


def transform_of(text: str) -> Matrix:
    """The matrix of a ``transform``; ExchangeError says what is wrong with it."""
    matrix, at = SAME, 0
    text = text.strip()
    while at < len(text):
        match = _TRANSFORM.match(text, at)
        if match is None:
            raise ExchangeError(f'transform: found "{text[at : at + 20]}"; export the drawing anew')
        read = Reader(match[2], "transform")
        numbers: list[float] = []
        while not read.done() and len(numbers) < 7:
            numbers.append(read.number())
        matrix = times(matrix, _one_transform(match[1], numbers))
        at = match.end()
    return matrix


def _one_transform(name: str, numbers: list[float]) -> Matrix:
    match name, numbers:
        case "matrix", [a, b, c, d, e, f]:
            return a, b, c, d, e, f
        case "translate", [x, *rest] if len(rest) < 2:
            return 1.0, 0.0, 0.0, 1.0, x, rest[0] if rest else 0.0
        case "scale", [x, *rest] if len(rest) < 2:
            return x, 0.0, 0.0, rest[0] if rest else x, 0.0, 0.0
        case "rotate", [turn, *rest] if len(rest) in (0, 2):
            x, y = rest or (0.0, 0.0)
            c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
            return times((1.0, 0.0, 0.0, 1.0, x, y), (c, s, -s, c, s * y - c * x, -s * x - c * y))
        case "skewX", [turn]:
            return 1.0, 0.0, math.tan(math.radians(turn)), 1.0, 0.0, 0.0
        case "skewY", [turn]:
            return 1.0, math.tan(math.radians(turn)), 0.0, 1.0, 0.0, 0.0
    raise ExchangeError(f"transform: {name} with {len(numbers)} numbers; export the drawing anew")


def length_of(given: Mapping[str, str], name: str, default: float = 0.0) -> float:
    """User units of an attribute; true units by the 96 pixels to the inch of CSS."""
    if name not in given or given[name].strip() == "auto":
        return default
    match = LENGTH.fullmatch(given[name])
    unit = match[2] if match else "?"
    if match is None or (unit not in ("", "px") and unit not in MM) or not abs(float(match[1])) <= 1e12:
        raise ExchangeError(f'{name}: expected a length, found "{given[name][:20]}"; turn it into a path')
    return float(match[1]) * (MM[unit] / _PX if unit in MM else 1.0)


def rows_of(name: str, given: Mapping[str, str]) -> list[list[Piece]]:
    """The rows that a shape draws, in its own user units; ExchangeError says what is wrong with it."""
    if name == "path":
        return subpaths(given.get("d", ""))
    if name in ("polygon", "polyline"):
        return [_polygon(given.get("points", ""))]
    if name == "rect":
        return [_rectangle(given)]
    if name == "circle":
        rx = ry = length_of(given, "r")
    else:
        rx, ry = length_of(given, "rx"), length_of(given, "ry")
    if rx <= 0 or ry <= 0:
        return []
    centre = complex(length_of(given, "cx"), length_of(given, "cy"))
    left, right = centre - rx, centre + rx
    return [[*arc(right, rx, ry, 0, False, True, left), *arc(left, rx, ry, 0, False, True, right)]]


def _polygon(text: str) -> list[Piece]:
    read = Reader(text, "points")
    points: list[complex] = []
    while not read.done():
        points.append(complex(read.number(), read.number()))
    return [line(a, b) for a, b in zip(points, [*points[1:], *points[:1]], strict=True)]


def _rectangle(given: Mapping[str, str]) -> list[Piece]:
    x, y, wide, high = (length_of(given, key) for key in ("x", "y", "width", "height"))
    if wide <= 0 or high <= 0:
        return []
    rx = length_of(given, "rx", -1.0)
    ry = length_of(given, "ry", rx)
    rx = min(max(ry if rx < 0 else rx, 0.0), wide / 2)
    ry = min(max(ry, 0.0), high / 2)
    row: list[Piece] = []
    corners = (
        (complex(x + wide, y), complex(-rx, 0), complex(0, ry)),
        (complex(x + wide, y + high), complex(0, -ry), complex(-rx, 0)),
        (complex(x, y + high), complex(rx, 0), complex(0, -ry)),
        (complex(x, y), complex(0, ry), complex(rx, 0)),
    )
    at = complex(x + rx, y)
    for corner, before, after in corners:
        row += [line(at, corner + before), *arc(corner + before, rx, ry, 0, False, True, corner + after)]
        at = corner + after
    return row
