"""What a one-page sheet has no room for: it stands whole on pages behind it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from app.paper.heads import title_of
from app.paper.ink import SOFT, Ink
from app.paper.pages import Paint
from core.design import Design

OVER = "… page 2"
"""What stands on the first page at the end of something that is whole on the second."""
_SIZE, _PITCH, _AIR, _GUTTER = 7.5, 3.3, 2.6, 8.0
_HEAD = 11.0


class Rest:
    """Texts that the first page cut, each under a caption."""

    def __init__(self) -> None:
        self.parts: list[tuple[str, str]] = []

    def add(self, caption: str, text: str) -> None:
        """``text`` is to stand whole on a page behind; several under one caption follow one another."""
        self.parts.append((caption, text))

    def lines(
        self, ink: Ink, caption: str, text: str, sizes: Sequence[float], room: float, most: int, *,
        bold: bool = False,
    ) -> tuple[list[str], float]:
        """(lines, size): whole in ``most`` lines at the first size that does, else cut and put off."""
        for size in sizes:
            lines = ink.whole(text, size, room, bold=bold)
            if len(lines) <= most:
                return lines, size
        self.add(caption, text)
        kept = lines[:most]
        while kept[-1] and ink.width(f"{kept[-1]} {OVER}", sizes[-1], bold=bold) > room:
            kept[-1] = kept[-1][:-1].rstrip()
        return [*kept[:-1], f"{kept[-1]} {OVER}".strip()], sizes[-1]

    def line(
        self, ink: Ink, caption: str, text: str, sizes: Sequence[float], room: float, *, bold: bool = False
    ) -> tuple[str, float]:
        """One line likewise, ended by a bare "…" where it is put off."""
        size = ink.fitting_size(text, sizes, room, bold=bold)
        if ink.width(text, size, bold=bold) <= room:
            return text, size
        self.add(caption, text)
        return ink.cut(text, size, room, bold=bold), size


def pages_of(
    ink: Ink, rest: Rest, design: Design, name: str, width: float, height: float, margin: float
) -> list[Paint]:
    """What paints the pages behind the first, in two columns; none where nothing was put off."""
    if not rest.parts:
        return []
    wide, tall = (width - 2 * margin - _GUTTER) / 2, height - 2 * margin - _HEAD
    columns: list[list[tuple[float, str, bool]]] = [[]]
    y = 0.0
    before = ""
    for caption, text in rest.parts:
        lines = [(line, False) for line in ink.whole(text, _SIZE, wide)]
        if caption != before:
            lines.insert(0, (caption, True))
            y += _AIR if y else 0.0
        before = caption
        for at, (line, bold) in enumerate(lines):
            # A heading is not left alone at the foot.
            if y + _PITCH * (2 if bold and at == 0 else 1) > tall:
                columns.append([])
                y = 0.0
            columns[-1].append((y, line, bold))
            y += _PITCH
    shared = [columns[at : at + 2] for at in range(0, len(columns), 2)]
    count = 1 + len(shared)

    def page(number: int, part: list[list[tuple[float, str, bool]]]) -> Paint:
        def paint(painter: QPainter, paper: QRectF) -> None:
            pen = Ink(painter)
            try:
                left, top, right = margin, margin, paper.width() - margin
                words = f"Sternpost {name}  ·  page {number} of {count}"
                room = right - left - pen.text(right, top + 5.0, words, 8.5, align="right", colour=SOFT) - 8.0
                size = pen.fitting_size(title_of(design), (13.0, 10.0), room, bold=True)
                pen.text(left, top + 5.0, title_of(design), size, bold=True, room=room)
                pen.pen(0.5)
                pen.line(left, top + 7.2, right, top + 7.2)
                for at, column in enumerate(part):
                    x = left + at * (wide + _GUTTER)
                    for y, line, bold in column:
                        if bold:
                            pen.caption(x, top + _HEAD + y + 2.6, line)
                        else:
                            pen.text(x, top + _HEAD + y + 2.6, line, _SIZE)
            finally:
                pen.done()

        return paint

    return [page(number, part) for number, part in enumerate(shared, 2)]
