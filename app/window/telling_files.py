"""What a file that is opened or dropped is: a design, a scan or a drawing."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Literal

from app.paper.exchange import IMPORTS
from app.scans.kinds import HEAD_BYTES, OPENED, foreign_kind, is_pdf, picture_kind
from core.design_file import ENDING
from core.file_reading import opened

DESIGNS = "Sternpost designs (*.sternpost *.json)"
PICTURES = (
    "Scans (*.png *.jpg *.jpeg *.tif *.tiff *.pdf *.heic *.heif *.hif *.avif *.jp2 *.j2k *.jpf *.jpx *.webp"
    " *.bmp *.gif)"
)
_DESIGN_ENDINGS = (ENDING, ".json")
_CONTAINER = b"PK\x03\x04"


class UnknownFileError(Exception):
    """A file that is none of these, or cannot be read. Its text is a clause for the user."""


def told_apart(path: Path) -> Literal["design", "scan", "drawing"]:
    """What the file ``path`` is to be opened as; UnknownFileError says why it cannot be.

    Pictures and PDFs by their first bytes, whatever the name says; drawings and bare designs by the
    ending, containers by either: those who read these say what is wrong in them.
    """
    ending, head = path.suffix.lower(), b""
    try:
        with opened(path, sys.maxsize) as file:
            head = file.read(HEAD_BYTES)
    except OSError as error:
        # What reads designs has its own words for it.
        if ending not in _DESIGN_ENDINGS:
            raise UnknownFileError(f"the system says: {error.strerror or error}") from error
    if picture_kind(head) is not None or is_pdf(head):
        return "scan"
    if ending in IMPORTS:
        return "drawing"
    if ending in _DESIGN_ENDINGS or head.startswith(_CONTAINER):
        return "design"
    found = foreign_kind(head) if head else "nothing, the file is empty"
    raise UnknownFileError(f"found {found}; open a design, {OPENED} or a drawing (SVG or DXF)")
