"""Path data of SVG read into cubic pieces: M L H V C S Q T A Z, absolute and relative.

Grammar and the meaning of each letter by the SVG 1.1 recommendation (W3C, 2011), 8.3, arcs by its
appendix F.6; from memory. Points are complex numbers in the path's own user units, y down.
"""

from __future__ import annotations

import cmath
import math
import re

from core.exchange.closed import MOST_PIECES, Piece
from core.exchange.faults import ExchangeError

_GAP = re.compile(r"[ \t\r\n\f]*,?[ \t\r\n\f]*")
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_MOST = 1e12
_NO_RADIUS = 1e-12
_LETTERS = frozenset("MmLlHhVvCcSsQqTtAaZz")
_EVEN = 1e-9


class Reader:
    """Numbers, flags and letters of one string, in turn."""

    def __init__(self, text: str, attribute: str = "d") -> None:
        self.text = text
        self.attribute = attribute
        self.at = 0
        self.skip()

    def skip(self) -> None:
        """Go past blanks and at most one comma."""
        self.at = _GAP.match(self.text, self.at).end()  # type: ignore[union-attr]

    def done(self) -> bool:
        """Whether nothing is left."""
        return self.at >= len(self.text)

    def more_numbers(self) -> bool:
        """Whether a number seems to follow."""
        return not self.done() and self.text[self.at] in "+-.0123456789"

    def fault(self, wanted: str) -> ExchangeError:
        """The error to raise where ``wanted`` does not stand here."""
        found = self.text[self.at : self.at + 12] or "the end"
        return ExchangeError(
            f'{self.attribute}: expected {wanted} at character {self.at + 1}, found "{found}"; '
            "export the drawing anew"
        )

    def letter(self) -> str:
        """The path command that stands here."""
        letter = self.text[self.at]
        if letter not in _LETTERS:
            raise self.fault("a path command")
        self.at += 1
        self.skip()
        return letter

    def number(self) -> float:
        """The number that stands here, finite and within ±1e12."""
        match = _NUMBER.match(self.text, self.at)
        if match is None:
            raise self.fault("a number")
        value = float(match.group())
        if not abs(value) <= _MOST:
            raise self.fault("a number within ±1e12")
        self.at = match.end()
        self.skip()
        return value

    def flag(self) -> bool:
        """The flag of an arc that stands here; it needs no blank behind it."""
        sign = self.text[self.at : self.at + 1]
        if sign not in ("0", "1"):
            raise self.fault("a flag 0 or 1")
        self.at += 1
        self.skip()
        return sign == "1"


def line(a: complex, b: complex) -> Piece:
    """A straight piece."""
    return a, a, b, b


def cubic(a: complex, b: complex, c: complex, d: complex) -> Piece:
    """A cubic; one that runs evenly, as our own export writes a straight edge in a spline, is straight."""
    third, near = (d - a) / 3, _EVEN * (1.0 + abs(a) + abs(d))
    if abs(a + third - b) < near and abs(d - third - c) < near:
        return line(a, d)
    return a, b, c, d


def from_quadratic(a: complex, c: complex, b: complex) -> Piece:
    """The cubic that is the same curve as the quadratic a, c, b (degree elevation, exact)."""
    return a, a + (c - a) * (2 / 3), b + (c - b) * (2 / 3), b


def arc(
    start: complex, rx: float, ry: float, turn_deg: float, large: bool, sweep: bool, end: complex
) -> list[Piece]:
    """An elliptic arc as cubics of at most an eighth turn each: within 5e-6 of the larger radius.

    Radii too small are stretched until they reach, as F.6.6 says.
    """
    rx, ry = abs(rx), abs(ry)
    if start == end:
        return []
    if min(rx, ry) < _NO_RADIUS:
        return [line(start, end)]
    turn = cmath.exp(1j * math.radians(turn_deg % 360.0))
    half = (start - end) / 2 / turn
    u, v = half.real / rx, half.imag / ry
    reach = math.hypot(u, v)
    if reach > 1:
        rx, ry, u, v = rx * reach, ry * reach, u / reach, v / reach
    squared = u * u + v * v
    away = math.sqrt(max(0.0, (1 - squared) / squared)) if squared > 0 else 0.0
    if large == sweep:
        away = -away
    centre = complex(away * v, -away * u)
    first = cmath.phase(complex(u, v) - centre)
    swept = (cmath.phase(complex(-u, -v) - centre) - first) % (2 * math.pi)
    if not sweep:
        swept -= 2 * math.pi
    middle = (start + end) / 2

    def placed(p: complex) -> complex:
        p += centre
        return middle + turn * complex(p.real * rx, p.imag * ry)

    count = max(1, math.ceil(abs(swept) / (math.pi / 4) - 1e-9))
    step = swept / count
    reach = 4 / 3 * math.tan(step / 4)
    pieces = []
    for i in range(count):
        a, b = cmath.exp(1j * (first + i * step)), cmath.exp(1j * (first + (i + 1) * step))
        pieces.append((placed(a), placed(a + 1j * reach * a), placed(b - 1j * reach * b), placed(b)))
    pieces[0] = (start, *pieces[0][1:])
    pieces[-1] = (*pieces[-1][:3], end)
    return pieces


def subpaths(text: str) -> list[list[Piece]]:
    """The subpaths of ``text``, each a row of joined pieces, closed or not. ExchangeError says where.

    Rows that a Z closes end at their start.
    """
    read = Reader(text)
    rows: list[list[Piece]] = []
    row: list[Piece] = []
    at = start = bend = 0j
    before = ""
    total = 0
    while not read.done():
        letter = read.letter()
        if not before and letter not in "Mm":
            read.at = 0
            raise read.fault("M, a move, first")
        big = letter.upper()
        if big == "Z":
            if at != start:
                row.append(line(at, start))
            at, before = start, "Z"
            rows.append(row)
            row = []
            continue
        first = True
        while first or read.more_numbers():
            origin = at if letter.islower() else 0j
            if big == "M" and first:
                if row:
                    rows.append(row)
                row = []
                at = start = complex(read.number(), read.number()) + origin
                before = "M"
            else:
                at, bend, pieces = _drawn(read, "L" if big == "M" else big, at, origin, bend, before)
                row += pieces
                total += len(pieces)
                before = "L" if big == "M" else big
                if total > MOST_PIECES:
                    raise ExchangeError(f"d: more than {MOST_PIECES} edges; simplify the drawing")
            first = False
    if row:
        rows.append(row)
    return rows


def _drawn(
    read: Reader, big: str, at: complex, origin: complex, bend: complex, before: str
) -> tuple[complex, complex, list[Piece]]:
    """(the new point, the control point that S or T would mirror, the pieces) of one command."""

    def point() -> complex:
        return complex(read.number(), read.number()) + origin

    if big == "H":
        end = complex(read.number() + origin.real, at.imag)
        return end, end, [line(at, end)]
    if big == "V":
        end = complex(at.real, read.number() + origin.imag)
        return end, end, [line(at, end)]
    if big in "CS":
        mirrored = 2 * at - bend if before in ("C", "S") else at
        one = point() if big == "C" else mirrored
        two, end = point(), point()
        return end, two, [(at, one, two, end)]
    if big in "QT":
        mirrored = 2 * at - bend if before in ("Q", "T") else at
        one = point() if big == "Q" else mirrored
        end = point()
        return end, one, [from_quadratic(at, one, end)]
    if big == "A":
        rx, ry, turn = read.number(), read.number(), read.number()
        large, sweep = read.flag(), read.flag()
        end = point()
        return end, end, arc(at, rx, ry, turn, large, sweep, end)
    end = point()
    return end, end, [line(at, end)]
