"""Drawing on paper in millimetres: fonts, text that keeps to its room, hatches, paper sizes."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Literal

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QFontMetricsF, QPainter, QPainterPath, QPen

from app.kit.inks import Inks
from app.paper.hatching import hatch_lines

Paper = Literal["a4", "letter"]
Align = Literal["left", "right", "centre"]

# The systems' own faces; none is shipped. The condensed one is drawn for tables like these.
FAMILIES = (
    "DejaVu Sans Condensed", "DejaVu Sans", "Noto Sans", "Segoe UI", "Helvetica Neue", "Liberation Sans",
    "Arial",
)
INK = QColor("#1b222c")
SOFT = QColor("#5b6068")
FAINT = QColor("#cfcabd")
WASH = QColor("#f3ede0")
TAIL_WASH = QColor("#dde5e8")
WHITE = QColor("#ffffff")
ON_PAPER = Inks(
    paper=WHITE.name(), ink=INK.name(), ink_soft=SOFT.name(), cla=INK.name(), fin=INK.name(), aim="#ebe1cc",
)
UNIT = 0.25
"""What stands on paper for a logical pixel of the screen, in mm: marks are as large as there."""
_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff]+")


def one_line(text: str) -> str:
    """``text`` with control characters and runs of blanks turned into single blanks."""
    return " ".join(_CONTROL.sub(" ", text).split())


class Ink:
    """A painter whose unit is the millimetre of paper; font sizes are points.

    Made for any paint device whose origin is the corner of the paper. Ends with ``done``, which gives
    the painter back as it was.
    """

    def __init__(self, painter: QPainter) -> None:
        self.painter = painter
        self.per_mm = painter.device().logicalDpiX() / 25.4
        self._fonts: dict[tuple[float, bool, bool], tuple[QFont, QFontMetricsF]] = {}
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.scale(self.per_mm, self.per_mm)

    def done(self) -> None:
        """Give the painter back."""
        self.painter.restore()

    def _font(self, size: float, bold: bool, italic: bool) -> tuple[QFont, QFontMetricsF]:
        key = (size, bold, italic)
        if key not in self._fonts:
            font = QFont()
            font.setFamilies(list(FAMILIES))
            font.setPointSizeF(size)
            font.setBold(bold)
            font.setItalic(italic)
            # With ligatures a search of the PDF for "fin" fails; digits of one width line up.
            font.setFeature(QFont.Tag("liga"), 0)
            font.setFeature(QFont.Tag("tnum"), 1)
            font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
            self._fonts[key] = font, QFontMetricsF(font, self.painter.device())
        return self._fonts[key]

    def width(self, text: str, size: float, *, bold: bool = False) -> float:
        """Width of ``text`` in mm."""
        return self._font(size, bold, False)[1].horizontalAdvance(text) / self.per_mm

    def text(
        self, x: float, y: float, text: str, size: float, *, bold: bool = False, italic: bool = False,
        align: Align = "left", colour: QColor = INK, room: float | None = None,
    ) -> float:
        """Write one line with its baseline at (x, y), cut to ``room`` mm; returns its width in mm."""
        if room is not None:
            text = self.cut(text, size, room, bold=bold)
        if not text:
            return 0.0
        font, metrics = self._font(size, bold, italic)
        wide = metrics.horizontalAdvance(text) / self.per_mm
        left = x - {"left": 0.0, "right": wide, "centre": wide / 2}[align]
        painter = self.painter
        painter.save()
        painter.translate(left, y)
        painter.scale(1 / self.per_mm, 1 / self.per_mm)
        painter.setFont(font)
        painter.setPen(colour)
        painter.drawText(QPointF(0.0, 0.0), text)
        painter.restore()
        return wide

    def cut(self, text: str, size: float, room: float, *, bold: bool = False) -> str:
        """``text`` on one line, ended by "…" where it is wider than ``room`` mm."""
        text = one_line(text[:2000])
        if self.width(text, size, bold=bold) <= room:
            return text
        low, high = 0, len(text)
        while low < high:
            middle = (low + high + 1) // 2
            if self.width(text[:middle].rstrip() + "…", size, bold=bold) <= room:
                low = middle
            else:
                high = middle - 1
        return text[:low].rstrip() + "…" if low else ""

    def wrapped(self, text: str, size: float, room: float, most: int, *, bold: bool = False) -> list[str]:
        """``text`` in at most ``most`` lines of ``room`` mm; "…" ends the last where more was to come."""
        lines: list[str] = []
        paragraphs = [one_line(part) for part in text[:20_000].splitlines()]
        for paragraph in (part for part in paragraphs if part):
            line = ""
            for word in paragraph.split(" "):
                longer = f"{line} {word}" if line else word
                if self.width(longer, size, bold=bold) <= room or not line:
                    line = longer
                    continue
                lines.append(line)
                line = word
                if len(lines) > most:
                    break
            lines.append(line)
            if len(lines) > most:
                break
        if len(lines) > most:
            lines = lines[:most]
            lines[-1] = self._with_dots(lines[-1], size, room, bold)
        return [self.cut(line, size, room, bold=bold) for line in lines]

    def whole(self, text: str, size: float, room: float, *, bold: bool = False) -> list[str]:
        """``text`` in as many lines of ``room`` mm as it takes, nothing left out: long words are broken."""
        lines: list[str] = []
        for paragraph in text.splitlines():
            line = ""
            for word in one_line(paragraph).split(" "):
                longer = f"{line} {word}" if line else word
                if self.width(longer, size, bold=bold) <= room:
                    line = longer
                    continue
                if line:
                    lines.append(line)
                while self.width(word, size, bold=bold) > room and len(word) > 1:
                    part = self._fitting(word, size, room, bold)
                    lines.append(word[:part])
                    word = word[part:]
                line = word
            if line:
                lines.append(line)
        return lines

    def _fitting(self, word: str, size: float, room: float, bold: bool) -> int:
        """How many letters of a word fit, one at least."""
        low, high = 1, len(word)
        while low < high:
            middle = (low + high + 1) // 2
            if self.width(word[:middle], size, bold=bold) <= room:
                low = middle
            else:
                high = middle - 1
        return low

    def fitting_size(
        self, text: str, sizes: Sequence[float], room: float, *, bold: bool = False
    ) -> float:
        """The first of ``sizes`` at which the text stands on one line; the last where none does."""
        return next((s for s in sizes if self.width(text, s, bold=bold) <= room), sizes[-1])

    def _with_dots(self, line: str, size: float, room: float, bold: bool) -> str:
        while line and self.width(line + " …", size, bold=bold) > room:
            line = line[:-1].rstrip()
        return line + " …"

    def block(
        self, x: float, y: float, text: str, size: float, room: float, most: int, *, pitch: float,
        bold: bool = False, italic: bool = False, colour: QColor = INK,
    ) -> float:
        """Write wrapped text from baseline ``y`` down; returns the baseline that would come next."""
        for line in self.wrapped(text, size, room, most, bold=bold):
            self.text(x, y, line, size, bold=bold, italic=italic, colour=colour)
            y += pitch
        return y

    def caption(self, x: float, y: float, text: str) -> None:
        """The small heading of a part of the sheet."""
        self.text(x, y, text, 6.5, bold=True, colour=SOFT)

    def pen(self, width: float, colour: QColor = INK, dashes: Sequence[float] = ()) -> None:
        """Pen of ``width`` mm; ``dashes`` in widths of the pen."""
        pen = QPen(colour, width, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap, Qt.PenJoinStyle.RoundJoin)
        if dashes:
            pen.setDashPattern(list(dashes))
        self.painter.setPen(pen)

    def line(self, x0: float, y0: float, x1: float, y1: float) -> None:
        """A line with the pen in force."""
        self.painter.drawLine(QLineF(x0, y0, x1, y1))

    def fill(self, path: QPainterPath | QRectF, colour: QColor) -> None:
        """Fill without a line."""
        self.painter.fillPath(as_path(path), QBrush(colour))

    def stroke(self, path: QPainterPath | QRectF) -> None:
        """Draw the line of ``path`` with the pen in force."""
        self.painter.setBrush(Qt.BrushStyle.NoBrush)
        self.painter.drawPath(as_path(path))

    def hatch(
        self, path: QPainterPath | QRectF, spacing: float, *, width: float = 0.09, colour: QColor = SOFT,
        rising: bool = True,
    ) -> None:
        """Fill with slanting lines ``spacing`` mm apart; all hatches of a sheet run in step."""
        self.painter.save()
        self.pen(width, colour)
        self.painter.drawLines(hatch_lines(as_path(path), spacing * 2**0.5, rising=rising))
        self.painter.restore()


def as_path(shape: QPainterPath | QRectF) -> QPainterPath:
    """The shape as a path."""
    if isinstance(shape, QPainterPath):
        return shape
    path = QPainterPath()
    path.addRect(shape)
    return path


def closed_path(points: Sequence[tuple[float, float]]) -> QPainterPath:
    """The closed polygon through ``points``, in mm of paper."""
    path = QPainterPath(QPointF(*points[0]))
    for x, y in points[1:]:
        path.lineTo(x, y)
    path.closeSubpath()
    return path
