"""What Qt's writer leaves undone in a PDF: it asks for 100 %, and is the same for the same design.

Every figure of the file lies where it lay: what changes with the clock is overwritten in its own
length, and the wish for the printer is an update behind the end (ISO 32000-1, 7.5.6).
"""

from __future__ import annotations

import hashlib
import re

_DATES = re.compile(
    rb"/(?:CreationDate|ModDate) \(D:[0-9Z+'-]*\)|xmp:(?:Create|Modify|Metadata)Date=\"[^\"]*\""
)
_UUID = re.compile(rb"(?<=xmpMM:DocumentID=\"uuid:)[0-9a-f-]{36}(?=\")")
_ID = re.compile(rb"/ID \[ <([0-9A-Fa-f]+)> <([0-9A-Fa-f]+)> \]")
_END = re.compile(rb"trailer\s*<<(.*?)>>\s*startxref\s+(\d+)\s+%%EOF\s*\Z", re.DOTALL)
_TABLE = re.compile(rb"xref\s+0 (\d+)\s*\n")
_WISHES = b"/Version /1.7\n/ViewerPreferences << /PrintScaling /None /PickTrayByPDFSize true >>\n"
"""At its own size, on the tray that holds it (ISO 32000-1, table 150): by PDF 1.7, which Qt does not say."""


def finished(data: bytes) -> bytes:
    """The PDF as it goes out; unchanged where it is not built as Qt builds them."""
    return _asking(_timeless(data))


def _timeless(data: bytes) -> bytes:
    """Without dates, its identifiers made from what it holds; as long as before."""
    data = _DATES.sub(lambda match: b" " * len(match[0]), data)
    data = _UUID.sub(lambda match: b"0" * 36, data)
    data = _ID.sub(lambda match: b"/ID [ <%s> <%s> ]" % (b"0" * len(match[1]), b"0" * len(match[2])), data)
    own = hashlib.sha512(data).hexdigest().encode()
    uuid = b"-".join((own[:8], own[8:12], own[12:16], own[16:20], own[20:32]))
    data = _UUID.sub(uuid, data)
    return _ID.sub(
        lambda match: b"/ID [ <%s> <%s> ]" % (own[: len(match[1])], own[: len(match[2])]), data
    )


def _asking(data: bytes) -> bytes:
    """With a catalogue that asks for 100 % behind the one that does not."""
    end = _END.search(data, max(0, len(data) - 2000))
    root = None if end is None else re.search(rb"/Root (\d+) 0 R", end[1])
    if end is None or root is None:
        return data
    number, table_at = int(root[1]), int(end[2])
    table = _TABLE.match(data, table_at)
    if table is None or number >= int(table[1]):
        return data
    line = re.compile(rb"(\d{10}) 00000 n").match(data, table.end() + 20 * number)
    if line is None:
        return data
    at = int(line[1])
    stop = data.find(b"endobj", at)
    catalogue = data[at:stop].rstrip()
    if not catalogue.startswith(b"%d 0 obj" % number) or not catalogue.endswith(b">>"):
        return data
    if not data.endswith(b"\n"):
        data += b"\n"
    place = len(data)
    data += catalogue[:-2].rstrip() + b"\n" + _WISHES + b">>\nendobj\n"
    update = b"xref\n0 1\n0000000000 65535 f \n%d 1\n%010d 00000 n \n" % (number, place)
    trailer = b"trailer\n<<%s/Prev %d\n>>\nstartxref\n%d\n%%%%EOF\n" % (end[1], table_at, len(data))
    return data + update + trailer
