"""The /UserUnit of a page (ISO 32000-1, table 30): how many points one of its units has.

The library does not know it, and gives no way into a page's dictionary. But it can write a page to a
document of its own, in plain words; that is done only where the file speaks of user units at all.
"""

from __future__ import annotations

import ctypes
import math
import re
import zlib
from typing import Any

import pypdfium2.raw as pdfium

_WORD = b"/UserUnit"
_GIVEN = re.compile(rb"/UserUnit\s+([+-]?\d*\.?\d+)")
_MOST_UNPACKED = 1 << 24
_STREAM = re.compile(rb"stream\r?\n")


def user_unit(document: Any, data: bytes, number: int) -> float:
    """Points to one unit of the page ``number``; 1 where nothing, or nothing sensible, is given."""
    if not _speaks_of_it(data):
        return 1.0
    found = _GIVEN.search(_alone(document, number))
    unit = float(found.group(1)) if found else 1.0
    return unit if math.isfinite(unit) and unit > 0 else 1.0


def _speaks_of_it(data: bytes) -> bool:
    if _WORD in data:
        return True
    at = data.find(b"/ObjStm")
    while at >= 0:
        begin = _STREAM.search(data, at, at + 2048)
        if begin is not None:
            try:
                unpacked = zlib.decompressobj().decompress(data[begin.end():], _MOST_UNPACKED)
            except zlib.error:
                unpacked = b""
            if _WORD in unpacked:
                return True
        at = data.find(b"/ObjStm", at + 1)
    return False


def _alone(document: Any, number: int) -> bytes:
    """A document with that page alone, as bytes."""
    alone = pdfium.FPDF_CreateNewDocument()
    written: list[bytes] = []

    def write(_: Any, start: Any, size: int) -> int:
        written.append(ctypes.string_at(start, size))
        return 1

    writer = pdfium.FPDF_FILEWRITE()
    writer.version = 1
    writer.WriteBlock = type(writer.WriteBlock)(write)
    try:
        wanted = (ctypes.c_int * 1)(number)
        if pdfium.FPDF_ImportPagesByIndex(alone, document, wanted, 1, 0):
            pdfium.FPDF_SaveAsCopy(alone, writer, 0)
    finally:
        pdfium.FPDF_CloseDocument(alone)
    return b"".join(written)
