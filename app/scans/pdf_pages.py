"""Pages of PDFs, measured and drawn. Runs in the process of ``pdf_process`` alone: no Qt, no numpy.

Lengths are points of 1/72 inch on the page as it is seen: cut to its crop box, turned by /Rotate,
stretched by /UserUnit; from the top left corner, right and down.
"""

from __future__ import annotations

import ctypes
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pypdfium2.raw as pdfium

from app.scans import pdf_wire as wire
from app.scans.pdf_picture import Picture, one_picture
from app.scans.pdf_user_unit import user_unit
from app.scans.pdf_wire import Message

_STRIP_ROWS = 256
_PAGES_KEPT = 3
_WHITE = 0xFFFFFFFF
# Files are padded by mailers and transfers; further back than this nobody looks for the end either.
_TAIL = 4096


class PdfFaultError(Exception):
    """What is wrong, by its word on the wire, and figures that go with it."""

    def __init__(self, word: str, **figures: float) -> None:
        super().__init__(word)
        self.word, self.figures = word, figures


class StoppedError(Exception):
    """The question was taken back."""


@dataclass(frozen=True)
class PageSize:
    """Width and height in points as seen, with the user unit in it, and the page's picture if it is one."""

    width: float
    height: float
    unit: float
    picture: Picture | None


class _Document:
    def __init__(self, data: bytes) -> None:
        self.data = data  # the library reads from it as long as the document is open
        self.handle = _open(data)
        self.pages: OrderedDict[int, tuple[Any, PageSize]] = OrderedDict()

    def page(self, number: int) -> tuple[Any, PageSize]:
        if number in self.pages:
            self.pages.move_to_end(number)
            return self.pages[number]
        count = pdfium.FPDF_GetPageCount(self.handle)
        if not 0 <= number < count:
            raise PdfFaultError(wire.NO_SUCH_PAGE, pages=count)
        while len(self.pages) >= _PAGES_KEPT:
            _, (old, _) = self.pages.popitem(last=False)
            pdfium.FPDF_ClosePage(old)
        page = pdfium.FPDF_LoadPage(self.handle, number)
        if not page:
            raise PdfFaultError(wire.BROKEN_PAGE)
        try:
            found = page, _size(self.handle, self.data, number, page)
        except BaseException:
            pdfium.FPDF_ClosePage(page)
            raise
        self.pages[number] = found
        return found

    def close(self) -> None:
        for page, _ in self.pages.values():
            pdfium.FPDF_ClosePage(page)
        self.pages.clear()
        pdfium.FPDF_CloseDocument(self.handle)


class PdfDesk:
    """Answers questions about the documents that were sent.

    ``stopped`` is asked between strips of a page, ``progress`` told the part done, 0 to 1.
    """

    def __init__(self, stopped: Callable[[], bool], progress: Callable[[float], None]) -> None:
        self._stopped, self._progress = stopped, progress
        self._documents: OrderedDict[str, _Document] = OrderedDict()
        config = pdfium.FPDF_LIBRARY_CONFIG(2, None, None, 0)
        pdfium.FPDF_InitLibraryWithConfig(config)

    def answer(self, question: Message, payload: bytes) -> tuple[Message, bytes | memoryview]:
        """The answer to one question; see the methods. PdfFaultError, StoppedError, MemoryError."""
        key, what = str(question["key"]), question["op"]
        if what == "open":
            return self._take(key, payload), b""
        document = self._documents.get(key)
        if document is None:
            raise PdfFaultError(wire.UNKNOWN)
        self._documents.move_to_end(key)
        page, size = document.page(int(question["page"]))
        if what == "measure":
            found: Message = {"width": size.width, "height": size.height}
            if size.picture is not None:
                found["picture"] = [v * size.unit for v in size.picture.box]
                found["pixels"] = [size.picture.across, size.picture.down]
            return found, b""
        return self._draw(page, size, question)

    def _take(self, key: str, data: bytes) -> Message:
        """Open a document: {"pages"}."""
        if key not in self._documents:
            if not data:
                raise PdfFaultError(wire.UNKNOWN)
            while len(self._documents) >= wire.MOST_DOCUMENTS:
                self._documents.popitem(last=False)[1].close()
            self._documents[key] = _Document(data)
        pages = pdfium.FPDF_GetPageCount(self._documents[key].handle)
        if pages < 1:
            self._documents.pop(key).close()
            raise PdfFaultError(wire.NO_PAGES)
        return {"pages": pages}

    def _draw(self, page: Any, size: PageSize, question: Message) -> tuple[Message, memoryview]:
        """Draw a part: "across" and "down" are pixels to the point, "left" and "top" where the part
        begins, in pixels of the whole page so drawn, and "width" and "height" its size in pixels.

        {"stride"} and the lines from the top: 1 byte a pixel where "grey" is asked for, else 4 (B, G,
        R, unused).
        """
        across, down = float(question["across"]) * size.unit, float(question["down"]) * size.unit
        left, top = float(question["left"]), float(question["top"])
        width, height = int(question["width"]), int(question["height"])
        if not (0 < width * height <= wire.MOST_DRAWN_PIXELS):
            raise MemoryError
        grey = bool(question["grey"])
        bytes_each = 1 if grey else 4
        kind = pdfium.FPDFBitmap_Gray if grey else pdfium.FPDFBitmap_BGRx
        stride = (width * bytes_each + 3) & ~3
        lines = ctypes.create_string_buffer(stride * height)
        for first in range(0, height, _STRIP_ROWS):
            if self._stopped():
                raise StoppedError
            rows = min(_STRIP_ROWS, height - first)
            start = ctypes.byref(lines, first * stride)
            bitmap = pdfium.FPDFBitmap_CreateEx(width, rows, kind, start, stride)
            if not bitmap:
                raise MemoryError
            try:
                pdfium.FPDFBitmap_FillRect(bitmap, 0, 0, width, rows, _WHITE)
                place = pdfium.FS_MATRIX(across, 0.0, 0.0, down, -left, -top - first)
                clip = pdfium.FS_RECTF(0.0, 0.0, float(width), float(rows))
                pdfium.FPDF_RenderPageBitmapWithMatrix(bitmap, page, place, clip, pdfium.FPDF_ANNOT)
            finally:
                pdfium.FPDFBitmap_Destroy(bitmap)
            self._progress((first + rows) / height)
        return {"stride": stride}, memoryview(lines).cast("B")


def _open(data: bytes) -> Any:
    if b"startxref" not in data.rstrip(b"\0\t\n\r ")[-_TAIL:]:
        # The library mends what is cut short from what is left, and half a plan would pass for all of it.
        raise PdfFaultError(wire.DAMAGED)
    handle = pdfium.FPDF_LoadMemDocument64(data, len(data), None)
    if handle:
        return handle
    error = pdfium.FPDF_GetLastError()
    if error == pdfium.FPDF_ERR_PASSWORD:
        raise PdfFaultError(wire.ENCRYPTED)
    raise PdfFaultError(wire.LOCKED if error == pdfium.FPDF_ERR_SECURITY else wire.DAMAGED)


def _size(document: Any, data: bytes, number: int, page: Any) -> PageSize:
    sides = [ctypes.c_float() for _ in range(4)]
    if pdfium.FPDFPage_GetMediaBox(page, *sides):
        left, bottom, right, top = (side.value for side in sides)
        if left == right or bottom == top:
            # The library would take it for a sheet of Letter, and the scale would be made up.
            raise PdfFaultError(wire.TOO_SMALL, width=abs(right - left), height=abs(top - bottom))
    unit = user_unit(document, data, number)
    width = float(pdfium.FPDF_GetPageWidthF(page)) * unit
    height = float(pdfium.FPDF_GetPageHeightF(page)) * unit
    if not min(width, height) >= wire.SHORTEST_SIDE_POINTS:
        raise PdfFaultError(wire.TOO_SMALL, width=width, height=height)
    if not max(width, height) <= wire.LONGEST_SIDE_POINTS:
        raise PdfFaultError(wire.TOO_LARGE, width=width, height=height)
    return PageSize(width, height, unit, one_picture(page))
