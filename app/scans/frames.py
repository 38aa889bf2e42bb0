"""Files with several pictures in them: which is opened, and what is said of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.scans.faults import ScanError

if TYPE_CHECKING:
    from PIL import Image


def sheets(image: Image.Image) -> tuple[int, ...]:
    """The page numbers, from 0, that may be opened as scans of their own; ``image`` stays where it is."""
    if image.format != "TIFF":
        return (0,)
    from app.scans.tiff import sheets_of

    return sheets_of(image)


def go_to_page(image: Image.Image, label: str, page: int) -> None:
    """Turn an opened picture to its page ``page``, from 0; ScanError where it has none."""
    pages = getattr(image, "n_frames", 1) if image.format == "TIFF" else 1
    if not 0 <= page < pages:
        has = "one page" if pages == 1 else f"{pages} pages"
        raise ScanError(f"{label}: page {page + 1} is wanted, but the file has {has}; choose another page.")
    image.seek(page)


def page_notes(image: Image.Image) -> list[str]:
    """What is said of the page that ``image`` stands at; nothing where there is but one."""
    if image.format == "TIFF":
        found, here = sheets(image), image.tell()
        return [f"Page {found.index(here) + 1} of {len(found)}."] if len(found) > 1 and here in found else []
    frames = getattr(image, "n_frames", 1)
    if frames == 1 or image.format == "MPO":
        return []
    which = "main one" if image.format == "HEIF" else "first"
    return [f"The {which} of {frames} pictures in the file."]
