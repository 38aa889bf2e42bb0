"""What every page of the parts has: title and page at its head, the bar and the cautions at its foot."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter

from app.kit.cautions import WORKSHOP
from app.paper.ink import SOFT, Ink
from app.paper.parts_layout import FOOT, MARGIN
from app.paper.signs import check_bar
from core.design import DisplayUnits

_DOTS_PER_METRE = round(1200 / 0.0254)


@contextmanager
def measuring() -> Iterator[Ink]:
    """An ink that is thrown away: to know how wide words are before there is a page."""
    image = QImage(8, 8, QImage.Format.Format_Grayscale8)
    image.setDotsPerMeterX(_DOTS_PER_METRE)
    image.setDotsPerMeterY(_DOTS_PER_METRE)
    painter = QPainter(image)
    ink = Ink(painter)
    try:
        yield ink
    finally:
        ink.done()
        painter.end()


def draw_head(ink: Ink, page: QRectF, title: str, what: str) -> None:
    """The design's title at the left, what the page is at the right."""
    left, right, y = page.left() + MARGIN, page.right() - MARGIN, page.top() + MARGIN
    wide = ink.text(right, y + 5.0, what, 8.5, align="right", colour=SOFT, room=0.62 * (right - left))
    ink.text(left, y + 5.0, title, 13.0, bold=True, room=right - left - wide - 6.0)
    ink.pen(0.4, SOFT)
    ink.line(left, y + 7.4, right, y + 7.4)


def draw_foot(ink: Ink, page: QRectF, units: DisplayUnits, how: str) -> None:
    """The bar to measure, how to read the page, the cautions of the workshop."""
    left, right = page.left() + MARGIN, page.right() - MARGIN
    top = page.bottom() - MARGIN - FOOT + 2.5
    ink.pen(0.2, SOFT)
    ink.line(left, top - 1.2, right, top - 1.2)
    inches = units != "mm"
    long = check_bar(ink, left, top, inches=inches)
    name = "4 in" if inches else "100 mm"
    said = f"This bar must be {name} long: print at 100 %. {how}"
    ink.block(left, top + 7.2, said, 6.0, long, 3, pitch=2.4, colour=SOFT)
    x = left + long + 6.0
    ink.block(x, top + 1.8, " ".join(WORKSHOP), 6.4, right - x, 4, pitch=2.7)
