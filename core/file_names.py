"""Names of files that are to be written, settled before anybody asks or writes.

``named`` gives a chosen name its ending, ``taken`` looks at what is there already.
"""

from __future__ import annotations

import errno
import sys
import unicodedata
from collections.abc import Sequence
from pathlib import Path

from core.file_kinds import FileKind, kind_of_ending, other_than
from core.file_reading import opened
from core.file_writing import os_sentence
from core.plain_names import FORBIDDEN, RESERVED
from core.plain_names import plain_name as plain_name


class FileNameError(Exception):
    """A name that cannot be written to. Its text is a clause for the user: what, and what to do."""


def named(path: Path, endings: Sequence[str], *, windows: bool = sys.platform == "win32") -> Path:
    """``path`` as it is written: with the first of ``endings`` unless it has one. FileNameError.

    Only an ending that is one of ``endings`` counts: "nose v1.2" has none. ``windows``: by its rules.
    """
    name = path.name.rstrip(" .")
    if not name or name.lower() in endings:
        raise FileNameError("there is no name in front of the ending; type one")
    if Path(name).suffix.lower() not in endings:
        name += endings[0]
    found = "".join(dict.fromkeys(ch for ch in name if windows and ch in FORBIDDEN))
    if found:
        raise FileNameError(f"a name cannot hold {' '.join(found)} here; leave that out")
    if any(unicodedata.category(ch) in ("Cc", "Zl", "Zp") for ch in name):
        raise FileNameError("the name holds a character that cannot be seen; type it anew")
    if windows and RESERVED.match(name):
        raise FileNameError(f"Windows keeps “{name.split('.')[0].strip()}” for a device; choose another name")
    return path.with_name(name)


def has_ending(path: Path, kind: FileKind) -> None:
    """FileNameError where the name of ``path`` does not say that it is of ``kind``."""
    if path.suffix.lower() in kind.endings:
        return
    wanted, has = " or ".join(kind.endings), path.suffix
    found = f"the name ends in {has}" if has else "the name has no ending"
    raise FileNameError(f"{found}, and {kind.words} is written here; let it end in {wanted}")


def taken(path: Path) -> bool:
    """True if there is a file that writing to ``path`` would replace, of the kind that its ending says.

    FileNameError where it is of another kind, a folder or no plain file, or cannot be looked at.
    """
    kind = kind_of_ending(path.suffix)
    try:
        with opened(path, sys.maxsize) as stream:
            found = other_than(kind, stream)
    except FileNotFoundError:
        return False
    except IsADirectoryError:
        raise FileNameError("this is a folder; name a file in it") from None
    except OSError as error:
        if error.errno in (errno.ENODEV, errno.ENXIO):
            raise FileNameError("this is a pipe or a device, and no file; choose another name") from None
        raise FileNameError(os_sentence(error, "written")) from None
    except ValueError as error:
        raise FileNameError(f"it cannot be used ({error}); check the name") from None
    if found:
        raise FileNameError(
            f"what is there already is {found}, and {kind.words} would replace it; choose another name"
        )
    return True
