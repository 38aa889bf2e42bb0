"""Out of the program, in one place: into a file or to a printer, in a worker's thread; told in one sentence.

Nothing here asks or shows anything. A file is replaced when the whole of it is there; up to that
moment, or to a printer's last page, the job can be taken back.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from app.keeping.folders import folder_words
from app.kit.worker import Job
from core.design_file import DesignFileError, write_bytes
from core.exchange.faults import ExchangeError
from core.redesign.outline_edits import EditError
from core.redesign.refit import CancelledError

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter

    from app.paper.pages import Sheet


def write_sheet(path: Path, sheet: Sheet, job: Job) -> str:
    """Write ``sheet`` to ``path`` as a PDF; returns what to say of it.

    EditError, with one sentence, where it cannot be; CancelledError where the job was taken back.
    """
    from app.paper.pages import pdf

    pages = 0

    def step(done: int, count: int) -> None:
        nonlocal pages
        pages = count
        if job.gone():
            raise CancelledError
        _tell(job, done, count)

    write_file(path, lambda: pdf(sheet, step), job)
    many = f", {pages_words(pages)}" if pages > 1 else ""
    return f"{_begun(sheet.name)} is in {path.name}{many}, in the folder {folder_words(path)}"


def write_file(path: Path, make: Callable[[], bytes], job: Job) -> None:
    """Replace ``path`` by what ``make`` makes; errors as those of ``write_sheet``."""
    try:
        data = make()
        job.carry_through()
        write_bytes(path, data)
    except (DesignFileError, ExchangeError) as error:
        raise EditError(str(error)) from None


def print_sheet(printer: QPrinter, sheet: Sheet, job: Job) -> str:
    """Print ``sheet``; returns what to say of it, errors as those of ``write_sheet``."""
    from app.paper import pages

    count = 0

    def step(done: int, many: int) -> None:
        nonlocal count
        count = many
        if done == many - 1:
            job.carry_through()
        elif done < many and job.gone():
            raise CancelledError
        _tell(job, done, many)

    try:
        pages.print_sheet(printer, sheet, step)
    except DesignFileError as error:
        raise EditError(str(error)) from None
    return f"Sent to the printer: {pages_words(count)}"


def not_out(name: str, *, printed: bool) -> str:
    """What did not come about, without the reason: "The card copy was not written"."""
    return f"{_begun(name)} was not {'printed' if printed else 'written'}"


def pages_words(count: int) -> str:
    """So many pages."""
    return "1 page" if count == 1 else f"{count} pages"


def _begun(name: str) -> str:
    return f"{name[:1].upper()}{name[1:]}"


def _tell(job: Job, done: int, pages: int) -> None:
    if done:
        job.tell((done, pages))
