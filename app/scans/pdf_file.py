"""One PDF and the questions about it: how many pages, how large, and a part of one drawn."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cached_property
from pathlib import PurePath

from PySide6.QtGui import QImage

from app.scans import pdf_wire as wire
from app.scans.faults import OpeningCancelledError, ScanError
from app.scans.pdf_reader import (
    Cancelled,
    DiedError,
    FaultError,
    PdfReader,
    PdfReaderError,
    Progress,
    TakenBackError,
    TooLongError,
    shared_reader,
)

MM_PER_POINT = 25.4 / wire.POINTS_PER_INCH
_TO_PICTURE = "print the page to a picture at 300 dots per inch and open that"


@dataclass(frozen=True)
class PageSize:
    """A page as seen, in points; ``picture`` is (left, top, right, bottom, pixels across, down), if it
    is one embedded picture.
    """

    width: float
    height: float
    picture: tuple[float, float, float, float, int, int] | None = None


class PdfFile:
    """The content of one PDF and who reads it. Every method raises ScanError or OpeningCancelledError."""

    def __init__(self, data: bytes, name: str, reader: PdfReader | None = None) -> None:
        self.data, self.label = data, PurePath(name).name or name
        self._reader = reader or shared_reader()

    @cached_property
    def _key(self) -> str:
        # Worked out when first asked: a big file takes its time, and the window does not ask.
        return hashlib.sha256(self.data).hexdigest()

    def pages(self, cancelled: Cancelled | None = None) -> int:
        """How many pages there are, at least 1."""
        return int(self._ask({"op": "open"}, cancelled=cancelled)[0]["pages"])

    def size(self, page: int, cancelled: Cancelled | None = None) -> PageSize:
        """The size of a page, counted from 0."""
        found, _ = self._ask({"op": "measure", "page": page}, cancelled=cancelled)
        whole = None
        if "picture" in found:
            left, top, right, bottom = (float(v) for v in found["picture"])
            whole = (left, top, right, bottom, int(found["pixels"][0]), int(found["pixels"][1]))
        return PageSize(float(found["width"]), float(found["height"]), whole)

    def draw(
        self, page: int, per_point: tuple[float, float], corner: tuple[float, float],
        size: tuple[int, int], *, colour: bool, seconds: float | None = None,
        cancelled: Cancelled | None = None, progress: Progress | None = None,
    ) -> QImage:
        """A part of a page, Format_RGB32, or Format_Grayscale8 without ``colour``.

        ``per_point`` pixels to the point across and down; ``corner`` where the part begins, in such
        pixels from the page's left top corner; ``size`` in pixels.
        """
        width, height = size
        answer, lines = self._ask(
            {
                "op": "draw", "page": page, "across": per_point[0], "down": per_point[1], "left": corner[0],
                "top": corner[1], "width": width, "height": height, "grey": not colour,
            },
            seconds=seconds, cancelled=cancelled, progress=progress,
        )
        kind = QImage.Format.Format_RGB32 if colour else QImage.Format.Format_Grayscale8
        return QImage(lines, width, height, int(answer["stride"]), kind).copy()

    def _ask(
        self, question: wire.Message, *, seconds: float | None = None, cancelled: Cancelled | None = None,
        progress: Progress | None = None,
    ) -> tuple[wire.Message, bytes]:
        try:
            return self._reader.ask(
                question, self._key, self.data, seconds=seconds, cancelled=cancelled, progress=progress
            )
        except TakenBackError as error:
            raise OpeningCancelledError from error
        except PdfReaderError as error:
            page = int(question["page"]) + 1 if "page" in question else None
            raise ScanError(f"{self.label}: {_sentence(error, page)}.") from error


def _sentence(error: PdfReaderError, page: int | None) -> str:
    here = "the PDF" if page is None else f"page {page}"
    if isinstance(error, TooLongError):
        return f"{here} takes too long to draw, it has too many objects; {_TO_PICTURE}"
    if isinstance(error, DiedError) or not isinstance(error, FaultError):
        return f"{here} cannot be read, it is damaged or needs too much memory; {_TO_PICTURE}"
    width, height = (float(error.figures.get(side, 0.0)) * MM_PER_POINT for side in ("width", "height"))
    pages = int(error.figures.get("pages", 0))
    there = "one page" if pages == 1 else f"{pages} pages"
    return {
        wire.ENCRYPTED:
            "the PDF asks for a password; print it to a new PDF without one from a viewer, and open that",
        wire.LOCKED: "the PDF is locked in a way that is not known here; print it to a new PDF and open that",
        wire.NO_PAGES: "the PDF has no pages; save or download it anew",
        wire.NO_SUCH_PAGE: f"{here} is wanted, but the file has {there}; choose another page",
        wire.TOO_LARGE:
            f"{here} is {width / 1000:.3g} × {height / 1000:.3g} m large, and at most 5.5 m can be opened;"
            " print it to a PDF of the plan's true size",
        wire.TOO_SMALL:
            f"{here} has no size ({width:.3g} × {height:.3g} mm); print it to a new PDF and open that",
        wire.BROKEN_PAGE: f"{here} is damaged and cannot be drawn; save or download the PDF anew",
        wire.NO_ROOM: f"{here} needs too much memory; {_TO_PICTURE}",
    }.get(error.word, "the PDF is damaged or cut short; save or download it anew")
