"""Where a scan is going to lie, and having it seen there before it is open."""

from __future__ import annotations

from app.scans.opening import picture_dpi
from app.scans.picture import Picture
from app.scans.placing import place_by_dpi, place_unscaled
from app.scans.shelf import Shelf
from core.design import Matrix, ScaleFrom, Scan

OPACITY = 0.85
"""How strongly a new scan shows."""


def place_of(data: bytes, picture: Picture, page: int = 0) -> tuple[Matrix, ScaleFrom]:
    """(the matrix to mm of a new scan, where its scale comes from). A photograph has no dpi of its own."""
    if picture.photograph:
        return place_unscaled(picture.width, picture.height), "none"
    # The size of a PDF's page is known.
    dpi = picture_dpi(data, page) if picture.detail is None else picture.dpi
    size = (picture.width, picture.height)
    return (place_by_dpi(*size, dpi), "dpi") if dpi else (place_unscaled(*size), "none")


def show_coming(shelf: Shelf, file: str, page: int, data: bytes, picture: Picture) -> None:
    """Have the scan seen where it is going to lie; another that is coming already keeps its turn."""
    guest = None if shelf.guest is None else shelf.guest[0]
    if guest is None:
        matrix, scale_from = place_of(data, picture, page)
        guest = Scan(id="coming", file=file, page=page, to_mm=matrix, scale_from=scale_from, opacity=OPACITY)
    if (guest.file, guest.page) == (file, page):
        shelf.show_guest(guest, picture)
