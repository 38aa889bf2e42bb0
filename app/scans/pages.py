"""The pages of a file, to choose from: which there are, how large, and a small picture of each."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import PurePath
from typing import NamedTuple, Protocol

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QImage

from app.scans.kinds import is_pdf
from app.scans.opening import open_picture, picture_dpi, picture_sheets, picture_size
from app.scans.pdf_file import MM_PER_POINT, PdfFile
from app.scans.pdf_reader import PdfReader
from app.scans.pdf_wire import THUMBNAIL_SECONDS
from app.scans.picture import Picture
from app.scans.placing import MM_PER_INCH

Gone = Callable[[], bool]


class Extent(NamedTuple):
    """How large a page is, across and down: in mm, or in pixels where its file does not tell."""

    width: float
    height: float
    in_mm: bool


class Pages(Protocol):
    """One file's pages. Everything is asked in a thread and raises ScanError or OpeningCancelledError."""

    label: str
    """The file's name."""
    size_words: str
    """At which size a page comes in."""

    def numbers(self, gone: Gone) -> tuple[int, ...]:
        """The numbers of the pages, from 0, as ``Scan.page`` counts them; at least one."""

    def extent(self, page: int, gone: Gone) -> Extent:
        """How large a page is."""

    def drawn(self, page: int, longest: int, gone: Gone) -> QImage:
        """A page in RGB32, its longer side ``longest`` pixels."""


def pages_of(data: bytes, name: str, reader: PdfReader | None = None) -> Pages:
    """The pages of the PDF or picture ``data``; ``reader`` reads PDFs in place of the shared one."""
    return PdfPages(PdfFile(data, name, reader)) if is_pdf(data) else PicturePages(data, name)


class PdfPages:
    """Pages of a PDF."""

    size_words = "at the size it is printed"

    def __init__(self, file: PdfFile) -> None:
        self._file, self.label = file, file.label

    def numbers(self, gone: Gone) -> tuple[int, ...]:
        """As in ``Pages``."""
        return tuple(range(self._file.pages(gone)))

    def extent(self, page: int, gone: Gone) -> Extent:
        """As in ``Pages``."""
        size = self._file.size(page, gone)
        return Extent(size.width * MM_PER_POINT, size.height * MM_PER_POINT, True)

    def drawn(self, page: int, longest: int, gone: Gone) -> QImage:
        """As in ``Pages``."""
        size = self._file.size(page, gone)
        scale = longest / max(size.width, size.height)
        wide, high = max(1, round(size.width * scale)), max(1, round(size.height * scale))
        return self._file.draw(
            page, (scale, scale), (0.0, 0.0), (wide, high), colour=True, seconds=THUMBNAIL_SECONDS,
            cancelled=gone,
        )


class PicturePages:
    """Pages of a TIFF, without the previews and masks that some programs put beside them."""

    size_words = "at its own dots per inch where the file gives them"

    def __init__(self, data: bytes, name: str) -> None:
        self._data, self.label = data, PurePath(name).name or name

    def numbers(self, gone: Gone) -> tuple[int, ...]:
        """As in ``Pages``."""
        return picture_sheets(self._data, self.label, cancelled=gone)

    def extent(self, page: int, gone: Gone) -> Extent:
        """As in ``Pages``."""
        width, height = picture_size(self._data, self.label, page, cancelled=gone)
        dpi = picture_dpi(self._data, page)
        if dpi is None:
            return Extent(width, height, False)
        return Extent(width / dpi[0] * MM_PER_INCH, height / dpi[1] * MM_PER_INCH, True)

    def drawn(self, page: int, longest: int, gone: Gone) -> QImage:
        """As in ``Pages``; the page is decoded whole, as if it were opened."""
        picture = open_picture(self._data, self.label, page=page, cancelled=gone)
        return _small(picture, longest)


def _small(picture: Picture, longest: int) -> QImage:
    fit = [level for level in picture.levels if max(level.width(), level.height()) >= longest]
    level = fit[-1] if fit else picture.levels[0]
    keep, smooth = Qt.AspectRatioMode.KeepAspectRatio, Qt.TransformationMode.SmoothTransformation
    small = level.scaled(QSize(longest, longest), keep, smooth)
    return small.convertToFormat(QImage.Format.Format_RGB32)
