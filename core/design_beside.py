"""Putting a bare design's pictures into its folder, where others' files lie too.

None of those is ever written over, and no scan comes to name one of them: where the name is taken
by anything else, the picture and its scan get a free one. A stranger chose the names in a design, so
they become such as every system takes, that hide nothing and end like a picture: a "scan" called
``.profile`` would else be run at the next login.
"""

from __future__ import annotations

import os
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from itertools import count
from pathlib import Path, PurePosixPath

from msgspec.structs import replace

from core.design import Design
from core.design_scans import MOST_PICTURE, Stored
from core.file_reading import opened
from core.file_writing import DesignFileError, os_sentence, write_filled
from core.picture_heads import ENDINGS, HEAD_BYTES, ending_of
from core.plain_names import plain_name

Picture = bytes | Stored
"""A scan's picture, in memory or where it lies."""
_PIECE = 1 << 20


def pieces(picture: Picture) -> Iterator[bytes]:
    """Its bytes, a piece at a time. DesignFileError."""
    return picture.pieces() if isinstance(picture, Stored) else iter((picture,))


def size_of(picture: Picture) -> int:
    """How many bytes it has."""
    return picture.size if isinstance(picture, Stored) else len(picture)


def write_beside(
    path: Path, design: Design, pictures: Mapping[str, Picture], home: Path | None, taken: Iterable[str]
) -> dict[str, str]:
    """Put the scans' pictures into the folder of ``path``; the new names of those that got one.

    What lies there already with the same bytes is left as it is. ``home``: the folder in which the
    names of pictures that are not at hand mean this design's own. ``taken``: names that no picture is
    to get. DesignFileError.
    """
    try:
        called = _put_all(path, design, pictures, home, taken)
    except OSError as error:
        raise DesignFileError([os_sentence(error, "written")]) from None
    return {name: new for name, new in called.items() if name != new}


def with_names(design: Design, renamed: Mapping[str, str]) -> Design:
    """The design, its scans by their new names."""
    if not any(scan.file in renamed for scan in design.scans):
        return design
    return replace(design, scans=tuple(
        replace(scan, file=renamed.get(scan.file, scan.file)) for scan in design.scans
    ))


def renamed_words(path: Path, renamed: Mapping[str, str]) -> tuple[str, ...]:
    """A sentence for each picture that got another name when the design was written to ``path``."""
    return tuple(
        f"“{name}” is named “{new}” in {path.name}: " + (
            "the folder has another file of that name" if os.path.lexists(path.parent / name)
            else "such a name is no picture's"
        )
        for name, new in renamed.items()
    )


def _put_all(
    path: Path, design: Design, pictures: Mapping[str, Picture], home: Path | None, not_to_be: Iterable[str]
) -> dict[str, str]:
    """The name of each picture, as it lies there now."""
    folder = Path(os.path.realpath(path.parent))
    at_home = home is not None and Path(os.path.realpath(home)) == folder
    taken = {_alike(name) for name in (path.name, *not_to_be, *(scan.file for scan in design.scans))}
    called: dict[str, str] = {}
    for name in dict.fromkeys(scan.file for scan in design.scans):
        picture = pictures.get(name)
        if picture is None:
            # Nothing of ours to put there: but nothing of others' may stand for it.
            foreign = not at_home and os.path.lexists(folder / name)
            called[name] = _free(folder, name, taken) if foreign else name
        else:
            called[name] = _put(folder, name, picture, taken)
        taken.add(_alike(called[name]))
    return called


def _put(folder: Path, name: str, picture: Picture, taken: set[str]) -> str:
    """Put it there, if it is not; under which name it lies."""
    if _is_there(folder, name, picture):
        return name
    plain = _harmless(name, next(pieces(picture), b""))
    if not _leads_within(folder, plain):
        plain = PurePosixPath(plain).name
    for other in _names(plain):
        # Its own name is among those that are taken.
        if other != name and _alike(other) in taken:
            continue
        if _is_there(folder, other, picture):
            return other
        if _is_free(folder, other):
            _write(folder, other, picture)
            return other
    raise AssertionError("names do not end")


def _free(folder: Path, name: str, taken: set[str]) -> str:
    return next(
        other for other in _names(name) if _alike(other) not in taken and not os.path.lexists(folder / other)
    )


def _names(name: str) -> Iterator[str]:
    """``name``, and then as many others made from it as are wanted."""
    yield name
    path = PurePosixPath(name)
    yield from (str(path.with_name(f"{path.stem}-{number}{path.suffix}")) for number in count(2))


def _alike(name: str) -> str:
    """Names of which this is the same may mean one file somewhere."""
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())


def _harmless(name: str, head: bytes) -> str:
    """``name`` such as every system takes, nothing of it hidden, with the ending of a picture."""
    *folders, last = PurePosixPath(name).parts
    stem, ending = PurePosixPath(last).stem, PurePosixPath(last).suffix
    if ending.lower() not in ENDINGS:
        stem, ending = last, ending_of(head[:HEAD_BYTES])
    return "/".join((*map(plain_name, folders), plain_name(stem) + ending))


def _leads_within(folder: Path, name: str) -> bool:
    """True if the folders before a name are folders within ``folder``, or can be made there."""
    for above in list(PurePosixPath(name).parents)[-2::-1]:
        place = folder / above
        if not Path(os.path.realpath(place)).is_relative_to(folder) or (
            os.path.lexists(place) and not place.is_dir()
        ):
            return False
    return True


def _is_free(folder: Path, name: str) -> bool:
    """True if nothing is there, and what is written there lies in ``folder`` or below."""
    place = folder / name
    # A link that leads round in a circle is nothing, and is replaced.
    return not place.exists() and Path(os.path.realpath(place)).is_relative_to(folder)


def _is_there(folder: Path, name: str, picture: Picture) -> bool:
    """True if the folder has this very picture under ``name``."""
    place = folder / name
    if not Path(os.path.realpath(place)).is_relative_to(folder):
        return False
    try:
        with opened(place, MOST_PICTURE) as stream:
            if os.fstat(stream.fileno()).st_size != size_of(picture):
                return False
            return all(stream.read(len(piece)) == piece for piece in _cut(pieces(picture)))
    except (OSError, ValueError):
        return False


def _cut(pieces: Iterable[bytes]) -> Iterator[memoryview]:
    for piece in pieces:
        view = memoryview(piece)
        yield from (view[at : at + _PIECE] for at in range(0, len(view), _PIECE))


def _write(folder: Path, name: str, picture: Picture) -> None:
    place = folder / name
    if folder.is_dir():
        try:
            place.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise DesignFileError([os_sentence(error, "written")]) from None
    write_filled(place, lambda stream: stream.writelines(pieces(picture)))
