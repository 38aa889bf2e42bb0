"""Outlines read from SVG: paths and basic shapes, through all their groups and transforms.

The scale comes from ``width`` or ``height`` in a true unit together with ``viewBox``. A file that
names pixels only is not believed: programs disagree on how many make an inch. Nothing that the
file points at is fetched, and a document type, with which entities come, is refused.
By the SVG 1.1 recommendation (W3C, 2011), chapters 7 to 9; from memory.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NoReturn
from xml.parsers import expat

from core.exchange.closed import Gathering, Imported, Named, Piece, must_be_small
from core.exchange.faults import ExchangeError, ScaleUnknownError
from core.exchange.path_data import Reader, arc, line, subpaths
from core.exchange.svg import NAMESPACE
from core.kinds import Kind

_DEEPEST = 200
_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "Q": 0.25, "q": 0.25}
_PX = 25.4 / 96
_LENGTH = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([a-zA-Z%]*)\s*")
_TRANSFORM = re.compile(r"(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^()]*)\)[\s,]*")
_UNDRAWN = frozenset({
    "defs", "clipPath", "mask", "pattern", "marker", "symbol", "metadata", "style", "script", "foreignObject",
})
_SHAPES = frozenset({"path", "rect", "circle", "ellipse", "polygon", "polyline"})

Matrix = tuple[float, float, float, float, float, float]
_SAME: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


@dataclass
class _Element:
    name: str
    where: str
    given: Mapping[str, str]
    matrix: Matrix
    drawn: bool
    title: list[str] = field(default_factory=list)


def outlines_from_svg(
    data: bytes, *, kind: Kind | None = None, mm_per_unit: float | None = None
) -> Imported:
    """The outlines in an SVG file. ``kind`` is for all of them; else as the file says, or ``other``.

    ``mm_per_unit`` is the length of one user unit of the outermost drawing, in place of what the file
    says. ScaleUnknownError where neither says it; ExchangeError for whatever else is wrong.
    """
    must_be_small(data)
    reading = _Reading(kind, mm_per_unit)
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = _refuse
    parser.EntityDeclHandler = _refuse
    parser.StartElementHandler = reading.start
    parser.EndElementHandler = reading.end
    parser.CharacterDataHandler = reading.text
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        why = expat.ErrorString(error.code)
        raise ExchangeError(
            f"line {error.lineno}: not a whole SVG file ({why}); export the drawing anew"
        ) from None
    except (ValueError, LookupError) as error:
        if isinstance(error, ExchangeError):
            raise
        raise ExchangeError("its encoding is not known here; save it in UTF-8") from None
    return reading.gathering.done()


def _refuse(*_: object) -> NoReturn:
    raise ExchangeError("found a document type (<!DOCTYPE ...>), which is not read; delete it from the file")


class _Reading:
    """Goes through the elements in file order."""

    def __init__(self, kind: Kind | None, mm_per_unit: float | None) -> None:
        self.gathering = Gathering(kind)
        self._mm_per_unit = mm_per_unit
        self._stack: list[_Element] = []
        self._count = 0

    def start(self, name: str, given: dict[str, str]) -> None:
        """An element begins."""
        space, _, local = name.rpartition(" ")
        if len(self._stack) >= _DEEPEST:
            raise ExchangeError(f"<{local[:40]}>: nested more than {_DEEPEST} deep; ungroup the drawing")
        self._count += 1
        if not self._stack:
            if local != "svg" or space not in ("", NAMESPACE):
                raise ExchangeError(f"found <{local[:40]}> where an SVG begins with <svg>; name an SVG file")
            self._stack.append(_Element(local, "svg", given, _to_mm(given, self._mm_per_unit), True))
            return
        above = self._stack[-1]
        where = _where(local, given, self._count)
        drawn = above.drawn and space in ("", NAMESPACE) and local not in _UNDRAWN and _shown(given)
        if drawn and local in ("use", "svg"):
            self.gathering.notes.append(
                f"{where} was left out; "
                "turn copies and nested drawings into paths to have them"
            )
            drawn = False
        matrix = above.matrix
        if drawn and "transform" in given:
            try:
                matrix = _times(matrix, _transform(given["transform"]))
            except ExchangeError as error:
                raise ExchangeError(f"{where}: {error}") from None
        self._stack.append(_Element(local, where, given, matrix, drawn))

    def text(self, words: str) -> None:
        """Words between elements."""
        # Of <title> the words belong to the element that it stands in.
        if len(self._stack) > 1 and self._stack[-1].name == "title" and len(self._stack[-2].title) < 20:
            self._stack[-2].title.append(words[:400])

    def end(self, _: str) -> None:
        """The innermost element ends: a shape becomes outlines."""
        element = self._stack.pop()
        if not element.drawn or element.name not in _SHAPES:
            return
        where = element.where
        try:
            rows = [row for row in _rows(element.name, element.given) if row]
        except ExchangeError as error:
            raise ExchangeError(f"{where}: {error}") from None
        named = self._named(element)
        made = [
            self.gathering.add([_placed(piece, element.matrix) for piece in row], named, where)
            for row in rows
        ]
        if sum(made) > 1:
            self.gathering.notes.append(
                f"{where} has {sum(made)} parts, each of which became an outline; delete those that are holes"
            )

    def _named(self, element: _Element) -> Named:
        own = "".join(element.title)
        for above in reversed([*self._stack, element]):
            if "data-id" in above.given:
                given = above.given
                return Named(
                    given["data-id"], _words(own or "".join(above.title)), given.get("data-kind", ""),
                    given.get("data-count", ""), given.get("data-stance", ""),
                )
        return Named(element.given.get("id", ""), _words(own or element.given.get("id", "")))


def _words(text: str) -> str:
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def _where(name: str, given: Mapping[str, str], number: int) -> str:
    return f'{name} "{given["id"][:60]}"' if "id" in given else f"{name} (element {number})"


def _shown(given: Mapping[str, str]) -> bool:
    style = given.get("style", "").replace(" ", "")
    return given.get("display") != "none" and "display:none" not in style


def _to_mm(given: Mapping[str, str], mm_per_unit: float | None) -> Matrix:
    """From the user units of the outermost drawing to mm, y turned up."""
    if mm_per_unit is not None:
        return mm_per_unit, 0.0, 0.0, -mm_per_unit, 0.0, 0.0
    try:
        _, _, wide, high = (float(word) for word in given.get("viewBox", "").replace(",", " ").split())
    except ValueError:
        wide = high = 0.0
    each = [
        _true_length(given.get(name, "")) / units if 0 < units < math.inf else 0.0
        for name, units in (("width", wide), ("height", high))
    ]
    known = [scale for scale in each if 0 < scale < math.inf]
    if not known:
        raise ScaleUnknownError(
            "the file does not say how long its unit is (width in mm, and a viewBox); "
            "give --mm-per-unit, for example 1, or 0.264583 for pixels at 96 to the inch"
        )
    how = given.get("preserveAspectRatio", "").split()
    if len(known) == 2 and how[:1] == ["none"]:
        return each[0], 0.0, 0.0, -each[1], 0.0, 0.0
    scale = max(known) if "slice" in how else min(known)
    return scale, 0.0, 0.0, -scale, 0.0, 0.0


def _true_length(text: str) -> float:
    """mm; 0 where the unit is none, px or a part of the window."""
    match = _LENGTH.fullmatch(text)
    return float(match[1]) * _MM.get(match[2], 0.0) if match else 0.0


def _times(m: Matrix, n: Matrix) -> Matrix:
    a, b, c, d, e, f = m
    p, q, r, s, t, u = n
    return (
        a * p + c * q, b * p + d * q, a * r + c * s, b * r + d * s, a * t + c * u + e, b * t + d * u + f,
    )


def _placed(piece: Piece, m: Matrix) -> Piece:
    a, b, c, d, e, f = m
    one, two, three, four = (
        complex(a * p.real + c * p.imag + e, b * p.real + d * p.imag + f) for p in piece
    )
    return one, two, three, four


def _transform(text: str) -> Matrix:
    matrix, at = _SAME, 0
    text = text.strip()
    while at < len(text):
        match = _TRANSFORM.match(text, at)
        if match is None:
            raise ExchangeError(f'transform: found "{text[at : at + 20]}"; export the drawing anew')
        read = Reader(match[2], "transform")
        numbers: list[float] = []
        while not read.done() and len(numbers) < 7:
            numbers.append(read.number())
        matrix = _times(matrix, _one_transform(match[1], numbers))
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
            return _times((1.0, 0.0, 0.0, 1.0, x, y), (c, s, -s, c, s * y - c * x, -s * x - c * y))
        case "skewX", [turn]:
            return 1.0, 0.0, math.tan(math.radians(turn)), 1.0, 0.0, 0.0
        case "skewY", [turn]:
            return 1.0, math.tan(math.radians(turn)), 0.0, 1.0, 0.0, 0.0
    raise ExchangeError(f"transform: {name} with {len(numbers)} numbers; export the drawing anew")


def _length(given: Mapping[str, str], name: str, default: float = 0.0) -> float:
    """User units of an attribute; true units by the 96 pixels to the inch of CSS."""
    if name not in given or given[name].strip() == "auto":
        return default
    match = _LENGTH.fullmatch(given[name])
    unit = match[2] if match else "?"
    if match is None or (unit not in ("", "px") and unit not in _MM) or not abs(float(match[1])) <= 1e12:
        raise ExchangeError(f'{name}: expected a length, found "{given[name][:20]}"; turn it into a path')
    return float(match[1]) * (_MM[unit] / _PX if unit in _MM else 1.0)


def _rows(name: str, given: Mapping[str, str]) -> list[list[Piece]]:
    if name == "path":
        return subpaths(given.get("d", ""))
    if name in ("polygon", "polyline"):
        return [_polygon(given.get("points", ""))]
    if name == "rect":
        return [_rectangle(given)]
    if name == "circle":
        rx = ry = _length(given, "r")
    else:
        rx, ry = _length(given, "rx"), _length(given, "ry")
    if rx <= 0 or ry <= 0:
        return []
    centre = complex(_length(given, "cx"), _length(given, "cy"))
    left, right = centre - rx, centre + rx
    return [[*arc(right, rx, ry, 0, False, True, left), *arc(left, rx, ry, 0, False, True, right)]]


def _polygon(text: str) -> list[Piece]:
    read = Reader(text, "points")
    points: list[complex] = []
    while not read.done():
        points.append(complex(read.number(), read.number()))
    return [line(a, b) for a, b in zip(points, [*points[1:], *points[:1]], strict=True)]


def _rectangle(given: Mapping[str, str]) -> list[Piece]:
    x, y, wide, high = (_length(given, key) for key in ("x", "y", "width", "height"))
    if wide <= 0 or high <= 0:
        return []
    rx = _length(given, "rx", -1.0)
    ry = _length(given, "ry", rx)
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
