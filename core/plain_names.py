"""Names that every system takes, made of titles and of what strangers call their files."""

from __future__ import annotations

import re
import unicodedata

_MOST_BYTES = 120
"""Of a name made from a title: what is put after it must have room within the 255 that systems take."""
# Windows' rules for names: learn.microsoft.com/windows/win32/fileio/naming-a-file.
FORBIDDEN = '<>:"/\\|?*'
RESERVED = re.compile(
    r"(?:CON|PRN|AUX|NUL|CONIN\$|CONOUT\$|(?:COM|LPT)[0-9\u00b9\u00b2\u00b3])[ ]*(?=\.|$)", re.IGNORECASE
)
_INSTEAD = str.maketrans({**dict.fromkeys("/\\:|", "-"), **dict.fromkeys("<>?*"), '"': "'"})
_DANGLING = re.compile(r"\s*-\s*$")


def plain_name(title: str) -> str:
    """``title`` as a name without ending that every system takes: "Quarter 1-4 Meadow"; never empty."""
    spaced = "".join(
        " " if unicodedata.category(ch) in ("Cc", "Zl", "Zp", "Zs") else ch
        for ch in title if unicodedata.category(ch) not in ("Cf", "Cs", "Co", "Cn")
    )
    name = _trimmed(" ".join(spaced.translate(_INSTEAD).split()))
    name = _trimmed(name.encode()[:_MOST_BYTES].decode(errors="ignore"))
    reserved = RESERVED.match(name)
    if reserved:
        name = f"{name[:reserved.end()].rstrip()}-{name[reserved.end():]}"
    return name or "Untitled"


def whole_text(text: str) -> str:
    """``text`` without the halves of characters that stand in file names which are no UTF-8."""
    return text.encode("utf-16", "surrogatepass").decode("utf-16", "replace")


def _trimmed(name: str) -> str:
    # Windows takes dots and blanks from the end; a dot in front hides the file elsewhere.
    return _DANGLING.sub("", name.strip(" .")).strip(" .") if name.strip(" .-") else ""
