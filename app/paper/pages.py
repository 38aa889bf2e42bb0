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
from app.paper.pdf_finish import finished
from core.design_file import DesignFileError
from core.redesign.refit import CancelledError

_RESOLUTION = 1200
_MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
           "November", "December")

Paint = Callable[[QPainter, QRectF], None]
"""Paints one page: the device's origin is the paper's corner, the rectangle, in mm, the whole paper."""
Step = Callable[[int, int], None]
"""Hears (pages done, pages in all) before the first page and after each; may raise to stop."""


@dataclass(frozen=True, eq=False)
class Sheet:
    """Something that goes out on paper: what is needed to write or print it, whatever kind it is."""

    name: str
    """What it is called in a sentence: "the bench sheet"."""
    title: str
    """That of its PDF."""
    width: float
    height: float
    """The paper that it is written on, in mm, as it lies."""
    pages: Callable[[float, float], Sequence[Paint]]
    """What paints each page of a paper of (width, height) mm; called where an application has fonts."""
    turns: bool = True
    """True if a printer's paper is turned to lie as the sheet does; else the sheet takes it as it lies."""


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


def pdf(sheet: Sheet, step: Step | None = None) -> bytes:
    """The sheet as a PDF, true to scale and searchable, asking to be printed so.

    Works without a screen and without a running application, in any thread once there is one.
    DesignFileError where no PDF can be begun; whatever ``step`` raises passes through.
    """
    with application_for_fonts():
        pages = sheet.pages(sheet.width, sheet.height)
        held = QByteArray()
        buffer = QBuffer(held)
        buffer.open(QIODevice.OpenModeFlag.WriteOnly)
        writer = QPdfWriter(buffer)
        writer.setResolution(_RESOLUTION)
        writer.setTitle(one_line(sheet.title[:300]))
        writer.setCreator("Sternpost")
        writer.setPageLayout(page_layout(sheet.width, sheet.height))
        _painted(writer, writer.newPage, pages, step, "the sheet could not be drawn: no PDF could be begun; "
                 "try again")
        buffer.close()
        return finished(bytes(held.data()))


def print_sheet(printer: QPrinter, sheet: Sheet, step: Step | None = None) -> None:
    """Print the sheet on the printer's own paper, true to scale. DesignFileError where it does not begin.

    The margins that the printer cannot reach are its own business: leave them white. Nothing is
    printed where ``step`` raises.
    """
    layout = printer.pageLayout()
    found = layout.fullRect(QPageLayout.Unit.Millimeter)
    width, height = found.width(), found.height()
    if sheet.turns and (width > height) != (sheet.width > sheet.height):
        width, height = height, width
    pages = sheet.pages(width, height)
    layout.setMode(QPageLayout.Mode.FullPageMode)
    layout.setOrientation(
        QPageLayout.Orientation.Landscape if width > height else QPageLayout.Orientation.Portrait
    )
    layout.setMargins(QMarginsF())
    printer.setPageLayout(layout)
    printer.setFullPage(True)
    try:
        _painted(printer, printer.newPage, pages, step,
                 "the printer did not begin; check that it is switched on and has paper")
    except CancelledError:
        printer.abort()
        raise


def _painted(
    device: QPdfWriter | QPrinter, new_page: Callable[[], bool], pages: Sequence[Paint], step: Step | None,
    fault: str,
) -> None:
    painter = QPainter()
    if not painter.begin(device):
        raise DesignFileError([fault])
    try:
        paper = device.pageLayout().fullRect(QPageLayout.Unit.Millimeter)
        for done, paint in enumerate(pages):
            if step is not None:
                step(done, len(pages))
            if done:
                new_page()
            paint(painter, paper)
        if step is not None:
            step(len(pages), len(pages))
    finally:
        painter.end()
