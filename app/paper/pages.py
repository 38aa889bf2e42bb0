"""Pages of paper: sizes, a PDF of any number of pages, and the same pages to a printer.

A page is painted by a function of the painter and the page's rectangle in mm; how its pages come
about is the business of each kind of sheet.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QLocale, QMarginsF, QRectF, QSizeF
from PySide6.QtGui import QGuiApplication, QPageLayout, QPageSize, QPainter, QPdfWriter
from PySide6.QtPrintSupport import QPrinter

from app.kit.screen import no_screen
from app.paper.ink import Paper, one_line
from core.design_file import DesignFileError

_RESOLUTION = 1200
_MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
           "November", "December")

Paint = Callable[[QPainter, QRectF], None]
"""Paints one page: the device's origin is the paper's corner, the rectangle, in mm, the whole paper."""
Step = Callable[[int, int], None]
"""Hears (pages done, pages in all) after each page; may raise to stop."""


@dataclass(frozen=True)
class PaperSize:
    """A sheet of paper in mm, upright."""

    name: str
    width: float
    height: float


PAPERS: dict[str, PaperSize] = {
    "a4": PaperSize("A4", 210.0, 297.0),
    "a3": PaperSize("A3", 297.0, 420.0),
    "letter": PaperSize("Letter", 215.9, 279.4),
    "tabloid": PaperSize("Tabloid", 279.4, 431.8),
}
"""ISO 216 and ANSI/ASME Y14.1 (A and B)."""


def home_paper() -> Paper:
    """The paper that printers here are likely to hold."""
    letter = QLocale().measurementSystem() == QLocale.MeasurementSystem.ImperialUSSystem
    return "letter" if letter else "a4"


def date_words(day: datetime.date) -> str:
    """The date as it stands on every sheet: "3 May 2026"."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


@contextmanager
def application_for_fonts() -> Iterator[None]:
    """Fonts need an application: the running one, or one for as long as this takes."""
    if QGuiApplication.instance() is not None:
        yield
        return
    arguments = ["sternpost", "-platform", "offscreen"] if no_screen() else ["sternpost"]
    made = QGuiApplication(arguments)
    try:
        yield
    finally:
        made.shutdown()


def page_layout(width: float, height: float) -> QPageLayout:
    """A page of ``width`` × ``height`` mm without margins: what is painted at the corner lies there."""
    size = QPageSize(QSizeF(min(width, height), max(width, height)), QPageSize.Unit.Millimeter, "",
                     QPageSize.SizeMatchPolicy.FuzzyMatch)
    turned = QPageLayout.Orientation.Landscape if width > height else QPageLayout.Orientation.Portrait
    layout = QPageLayout(size, turned, QMarginsF(), QPageLayout.Unit.Millimeter)
    layout.setMode(QPageLayout.Mode.FullPageMode)
    return layout


def pdf(title: str, width: float, height: float, pages: Sequence[Paint], step: Step | None = None) -> bytes:
    """A PDF of equal pages, ``width`` × ``height`` mm each, true to scale and searchable.

    Works without a screen and without a running application, in any thread once there is one.
    DesignFileError where no PDF can be begun; whatever ``step`` raises passes through.
    """
    with application_for_fonts():
        held = QByteArray()
        buffer = QBuffer(held)
        buffer.open(QIODevice.OpenModeFlag.WriteOnly)
        writer = QPdfWriter(buffer)
        writer.setResolution(_RESOLUTION)
        writer.setTitle(one_line(title[:300]))
        writer.setCreator("Sternpost")
        writer.setPageLayout(page_layout(width, height))
        painter = QPainter()
        if not painter.begin(writer):
            raise DesignFileError(["the sheet could not be drawn: no PDF could be begun; try again"])
        try:
            paper = writer.pageLayout().fullRect(QPageLayout.Unit.Millimeter)
            for done, paint in enumerate(pages):
                if done:
                    writer.newPage()
                paint(painter, paper)
                if step is not None:
                    step(done + 1, len(pages))
        finally:
            painter.end()
        buffer.close()
        return bytes(held.data())


def print_pages(printer: QPrinter, *, landscape: bool, pages: Sequence[Paint]) -> None:
    """Print pages on the printer's own paper, true to scale. DesignFileError where it does not begin.

    The margins that the printer cannot reach are its own business: leave them white.
    """
    layout = printer.pageLayout()
    layout.setMode(QPageLayout.Mode.FullPageMode)
    turned = QPageLayout.Orientation.Landscape if landscape else QPageLayout.Orientation.Portrait
    layout.setOrientation(turned)
    layout.setMargins(QMarginsF())
    printer.setPageLayout(layout)
    printer.setFullPage(True)
    painter = QPainter()
    if not painter.begin(printer):
        raise DesignFileError(["the printer did not begin; check that it is switched on and has paper"])
    try:
        paper = printer.pageLayout().fullRect(QPageLayout.Unit.Millimeter)
        for done, paint in enumerate(pages):
            if done:
                printer.newPage()
            paint(painter, paper)
    finally:
        painter.end()
