"""What the program writes, told by ending and by content, so that nothing replaces a file of another kind."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from typing import BinaryIO

from core.containers import container_in
from core.design_file import ENDING
from core.picture_heads import ZIP, is_pdf, picture_name

_HEAD = 64 * 1024
_BOM = b"\xef\xbb\xbf"
_DESIGN = re.compile(rb'\A\s*\{.*?"format"\s*:\s*\d', re.DOTALL)
_TITLE = re.compile(rb'"(?:title|outlines)"\s*:')
_SVG = re.compile(rb"\A\s*<.*?<?(?:\w+:)?svg[\s>]", re.DOTALL)
_DXF = re.compile(rb"\A\s*(?:999\s*?\n[^\n]*\n\s*)*0\s*?\n\s*SECTION\b")


# Plans come as PDF and PNG too, and are not to be had again: so only those of our own are of our kinds.
_CREATOR = b"/Creator (\xfe\xff" + "Sternpost".encode("utf-16-be")
_SOFTWARE = b"Software\0Sternpost"
_NOT_OURS = "that this program did not write, such as a plan"


@dataclass(frozen=True)
class FileKind:
    """A kind of file that the program writes: in a sentence, its endings, and whether a file is one."""

    words: str
    """With its article: "a design"."""
    endings: tuple[str, ...]
    """In small letters; the first is put on where there is none."""
    is_it: Callable[[bytes, BinaryIO], bool]
    """Told from the first bytes, and the file where they do not suffice."""


def _is_design(head: bytes, stream: BinaryIO) -> bool:
    if not head.startswith(ZIP):
        return bool(_DESIGN.search(head) and _TITLE.search(head))
    with suppress(zipfile.BadZipFile, OSError, ValueError, NotImplementedError):
        return "design.json" in container_in(stream).namelist()
    # Damaged, but one of ours once.
    return head[30:41] == b"design.json"


def _is_table(head: bytes, stream: BinaryIO) -> bool:
    return _is_text(head) and not any(
        kind.is_it(head, stream) for kind in (DESIGN, SVG, DXF)
    ) and not is_pdf(head) and picture_name(head) is None


def _is_text(head: bytes) -> bool:
    # A letter may be cut in two at the end.
    whole = head if len(head) < _HEAD else head[:-4]
    try:
        text = whole.decode("utf-8", errors="strict" if len(head) < _HEAD else "ignore")
    except UnicodeDecodeError:
        text = whole.decode("latin-1")
    return all(letter.isprintable() or letter.isspace() for letter in text)


DESIGN = FileKind("a design", (ENDING, ".json"), _is_design)
PDF = FileKind("a PDF", (".pdf",), lambda head, _: is_pdf(head) and _CREATOR in head)
SVG = FileKind("an SVG drawing", (".svg",), lambda head, _: _SVG.search(head) is not None)
DXF = FileKind("a DXF drawing", (".dxf",), lambda head, _: _DXF.search(head) is not None)
TABLE = FileKind("a CSV table", (".csv",), _is_table)
PNG = FileKind(
    "a PNG picture", (".png",), lambda head, _: picture_name(head) == "PNG" and _SOFTWARE in head
)

KINDS = (DESIGN, PDF, SVG, DXF, PNG, TABLE)
"""Every kind that the program writes; what is told by less stands later."""


def kind_of_ending(ending: str) -> FileKind:
    """The kind that is written under ``ending``, ".pdf". KeyError where there is none."""
    for kind in KINDS:
        if ending.lower() in kind.endings:
            return kind
    raise KeyError(ending)


def other_than(kind: FileKind, stream: BinaryIO) -> str:
    """What ``stream`` holds where that is not of ``kind``, with its article; else empty."""
    head = stream.read(_HEAD).removeprefix(_BOM)
    if not head or kind.is_it(head, stream):
        return ""
    for other in KINDS[:-1]:
        if other.is_it(head, stream):
            return other.words
    if is_pdf(head):
        return f"a PDF {_NOT_OURS}"
    if picture_name(head) is not None:
        return f"a picture ({picture_name(head)}) {_NOT_OURS}"
    return "text" if _is_text(head) else "something else"
