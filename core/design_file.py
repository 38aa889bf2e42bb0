"""Reading and writing a design: one ZIP container, or a bare ``design.json`` with scans beside it.

Nothing in a file is trusted: sizes are bounded before anything is unpacked, names cannot leave the
container, and every fault becomes one sentence that names the place and the remedy.
"""

from __future__ import annotations

import json
import re
import zipfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path
from typing import Any, BinaryIO, get_args

import msgspec
from msgspec.structs import replace

from core.containers import container_in
from core.design import (
    FORMAT,
    LIMIT_WORDS,
    NEWEST_FORMAT,
    Alternative,
    Design,
    DisplayUnits,
    Flight,
    LeftOut,
    Outline,
    ScaleFrom,
    Scan,
    Stance,
)
from core.design_bench import MOVES
from core.design_beside import Picture, pieces, size_of, with_names, write_beside
from core.design_check import problems, safe_name
from core.design_scans import MOST_PICTURE, Found, Reading, Stored, member, scans_beside, scans_within
from core.file_reading import content, is_of_the_disk, opened
from core.file_writing import DesignFileError as DesignFileError
from core.file_writing import os_sentence, write_filled
from core.file_writing import write_bytes as write_bytes
from core.kinds import KINDS

ENDING = ".sternpost"
MOST_JSON = 64 * 1024 * 1024
_AFTER_THE_STATE = ("alternatives", "bench", "sure")
_STAMP = (1980, 1, 1, 0, 0, 0)
# msgspec words its findings so; the place and the two types are taken from there.
_FOUND = re.compile(r"^(?P<what>.*?)(?: - at `(?P<place>[^`]*)`)?$", re.DOTALL)
_TYPES = re.compile(r"^Expected `(?P<wanted>[^`]+)`, got `(?P<got>[^`]+)`$")
_LENGTH = re.compile(r"^Expected `array` of length (?P<wanted>\d+), got \d+$")
_MOST_DIGITS = 18
# An escape that may be half a character, which JSON allows and no text file can hold.
_HALF = re.compile(r"\\u[dD][89a-fA-F]")


@dataclass(frozen=True)
class DesignFile:
    """What a file held: the design, the scans' own bytes by name, and what was amiss with scans."""

    design: Design
    pictures: Mapping[str, bytes] = field(default_factory=dict)
    troubles: tuple[str, ...] = ()
    bare: bool = False
    """The pictures lay beside it: whoever wrote the design chose them among the builder's own files."""
    stored: Mapping[str, Stored] = field(default_factory=dict)
    """Where the pictures lie, by name: for whoever has no need of them in memory."""

    @property
    def held(self) -> Mapping[str, Picture]:
        """The pictures, in memory or where they lie."""
        return {**self.stored, **self.pictures}


def encode(design: Design) -> bytes:
    """The design as canonical JSON, UTF-8, two spaces deep; read again it gives the same bytes.

    In one line where it would else be more than is read again; DesignFileError where it still is.
    The file's ``format`` is the lowest that can hold the design, so that older versions open what they can.
    """
    design = replace(design, format=design.format_needed)
    # By way of the types: a whole number that code left in the place of a float is written as one.
    typed = msgspec.to_builtins(msgspec.convert(msgspec.to_builtins(design), Design))
    # What the aeroplane is stands before what was kept of it and what was entered at the bench.
    ordered = {key: value for key, value in typed.items() if key not in _AFTER_THE_STATE}
    ordered |= {key: typed[key] for key in _AFTER_THE_STATE if key in typed}
    line = msgspec.json.encode(ordered)
    text = msgspec.json.format(line, indent=2) + b"\n"
    if len(text) <= MOST_JSON:
        return text
    if len(line) > MOST_JSON:
        raise DesignFileError([f"the design is over {MOST_JSON >> 20} MB; take kept states out"])
    return line


def compact(design: Design) -> bytes:
    """The design as JSON in one line, as quickly as can be; ``decode`` reads it."""
    return msgspec.json.encode(replace(design, format=design.format_needed))


def decode(data: bytes) -> Design:
    """The design in ``data`` (UTF-8 JSON). DesignFileError says what is wrong with it."""
    if len(data) > MOST_JSON:
        raise DesignFileError([f"the design is over {MOST_JSON >> 20} MB; that is not a traced aeroplane"])
    try:
        text = data.decode("utf-8-sig")
        raw = json.loads(
            text, object_pairs_hook=_no_twins, parse_constant=_no_constant, parse_int=_whole
        )
        if _HALF.search(text):
            json.dumps(raw, ensure_ascii=False).encode()
    except UnicodeDecodeError as error:
        raise DesignFileError([f"byte {error.start}: not UTF-8 text; this is not a design"]) from None
    except UnicodeEncodeError as error:
        half = f"{ord(error.object[error.start]):04x}"
        raise DesignFileError(
            [f"a text in it holds half a character, \\u{half}; type that text anew"]
        ) from None
    except json.JSONDecodeError as error:
        raise DesignFileError(
            [f"line {error.lineno}, column {error.colno}: {error.msg}; this is not valid JSON"]
        ) from None
    except RecursionError:
        raise DesignFileError(["brackets are nested too deep; this is not a design"]) from None
    except ValueError as error:
        raise DesignFileError([str(error)]) from None
    if not isinstance(raw, dict):
        raise DesignFileError([f"expected an object at the top, found {_shown(raw)}; this is not a design"])
    _check_format(raw)
    try:
        design = msgspec.convert(raw, Design, strict=True)
    except msgspec.ValidationError as error:
        raise DesignFileError([_sentence(str(error), raw)]) from None
    except (OverflowError, RecursionError):
        raise DesignFileError([f"a number in it is out of reach; keep within ±{LIMIT_WORDS}"]) from None
    needed = design.format_needed
    if needed > design.format:
        used = sorted({_KEYS.get(type(part), "") + name for part, name in design.newer_parts()})
        need = f"{' and '.join(used)} {'needs' if len(used) == 1 else 'need'} {needed}"
        raise DesignFileError([f"format: found {design.format}, but {need}; write that, or take them out"])
    design = replace(design, format=FORMAT)
    found = problems(design)
    if found:
        raise DesignFileError(found)
    return design


def _check_format(raw: dict[str, Any]) -> None:
    version = raw.get("format")
    if isinstance(version, bool) or not isinstance(version, int):
        what = "nothing" if "format" not in raw else _shown(version)
        raise DesignFileError([f"format: expected {FORMAT}, found {what}; this is not a design of ours"])
    if version > NEWEST_FORMAT:
        raise DesignFileError(
            [f"format: found {version}, this Sternpost reads up to {NEWEST_FORMAT}; "
             f"open it with a version that knows format {version}"]
        )
    if version < 1:
        raise DesignFileError([f"format: found {version}; formats count from 1"])


def _no_twins(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    table = dict(pairs)
    if len(table) != len(pairs):
        seen: set[str] = set()
        for key, _ in pairs:
            if key in seen:
                raise ValueError(f'"{key[:60]}": this key is there twice in one object; keep one of them')
            seen.add(key)
    return table


def _no_constant(name: str) -> float:
    raise ValueError(f"{name}: not a number that a design can hold; give a finite number")


def _whole(digits: str) -> int:
    if len(digits) > _MOST_DIGITS:
        raise ValueError(f"{digits[:12]}…: a number of {len(digits)} digits; keep within ±{LIMIT_WORDS}")
    return int(digits)


def _shown(value: object) -> str:
    try:
        text = json.dumps(value, ensure_ascii=False, default=str)
    except RecursionError:
        return "brackets nested too deep"
    return text if len(text) <= 60 else text[:57] + "..."


def _sentence(message: str, raw: object) -> str:
    """Our sentence for one of msgspec's: place, what was expected, what was found, what to do."""
    parsed = _FOUND.match(message)
    what = parsed["what"] if parsed else message
    place = (parsed["place"] if parsed else None) or ""
    place = place.removeprefix("$").removeprefix(".")
    unknown = re.match(r"Object contains unknown field `(.*)`", what, re.DOTALL)
    if unknown:
        where = f"{place}." if place else ""
        return f"{where}{unknown[1][:60]}: unknown key; check its spelling or take it out"
    absent = re.match(r"Object missing required field `(.*)`", what, re.DOTALL)
    if absent:
        where = f"{place}." if place else ""
        return f"{where}{absent[1]}: missing; add it"
    found = _shown(_value_at(raw, place))
    types = _TYPES.match(what)
    if types:
        wanted, remedy = _WANTED.get(types["wanted"].split(" | ")[0], (types["wanted"], "mend the value"))
        return f"{place or 'design'}: expected {wanted}, found {found}; {remedy}"
    length = _LENGTH.match(what)
    if length:
        return f"{place}: expected a list of {length['wanted']}, found {found}; give just as many"
    if what.startswith("Invalid enum value"):
        return f"{place}: found {found}, which is not a word allowed here; {_allowed(place)}"
    return f"{place or 'design'}: found {found}: {what[:1].lower()}{what[1:]}; mend the value"


_KEYS: dict[type, str] = {
    Scan: "scans[].", Alternative: "alternatives[].", Outline: "outlines[].", Flight: "flight.",
}


def _allowed(place: str) -> str:
    words: tuple[str, ...] = {
        "kind": KINDS, "stance": get_args(Stance), "display_units": get_args(DisplayUnits),
        "scale_from": get_args(ScaleFrom), "cg_from": ("mark", "weights"),
        "fin_centre": ("centroid", "quarter_chord"), "moves": MOVES,
        "left_out": get_args(LeftOut),
    }.get(place.rsplit(".", 1)[-1].split("[")[0], ())
    return f"use one of: {', '.join(words)}" if words else "mend the value"


_WANTED = {
    "float": ("a number", "give millimetres without a unit"),
    "int": ("a whole number", "give it without quotation marks or decimals"),
    "str": ("text", "put it in quotation marks"),
    "bool": ("true or false", "write one of the two"),
    "array": ("a list", "put it in square brackets"),
    "object": ("an object", "put it in curly brackets"),
}


def _value_at(raw: object, place: str) -> object:
    value: Any = raw
    for step in re.findall(r"[^.\[\]]+", place):
        try:
            value = value[int(step)] if isinstance(value, list) else value[step]
        except (KeyError, IndexError, TypeError, ValueError):
            return None
    return value


def read(path: Path, *, pictures: bool = True, through: bool = False) -> DesignFile:
    """The design file at ``path``, container or bare JSON; DesignFileError says why it cannot be read.

    Without ``pictures`` none is read, only looked for: what is amiss with them is said all the same
    where that can be told at once, or ``through`` reading each to its end, a piece at a time.
    """
    reading: Reading = "whole" if pictures else "through" if through else "looked at"
    try:
        if path.suffix.lower() == ".json":
            design = decode(content(path, MOST_JSON + 1))
            return _file(design, scans_beside(path.parent, design, reading), bare=True)
        with opened(path, 4 * MOST_PICTURE) as stream:
            return _unpacked(stream, reading, path)
    except OSError as error:
        raise DesignFileError([os_sentence(error, "read")]) from None


def unpack(data: bytes) -> DesignFile:
    """The design file in the container ``data``; DesignFileError says why it cannot be read."""
    return _unpacked(BytesIO(data), "whole", None)


def _file(design: Design, found: Found, *, bare: bool) -> DesignFile:
    return DesignFile(design, found.pictures, tuple(found.troubles), bare, found.stored)


def _unpacked(stream: BinaryIO, reading: Reading, path: Path | None) -> DesignFile:
    try:
        with container_in(stream) as container:
            design = decode(member(container, "design.json", MOST_JSON))
            return _file(design, scans_within(container, design, reading, path), bare=False)
    except (zipfile.BadZipFile, EOFError, ValueError, OSError, NotImplementedError) as error:
        if is_of_the_disk(error):
            raise
        raise DesignFileError(
            ["the container is damaged or is not a Sternpost design; open another copy of it"]
        ) from None


def pack(design: Design, pictures: Mapping[str, Picture]) -> bytes:
    """The container of ``design`` with the pictures it names, stored as they are.

    Equal input gives equal bytes: no date and no machine is written into it.
    """
    held = BytesIO()
    _pack_into(held, design, pictures)
    return held.getvalue()


def _pack_into(stream: BinaryIO, design: Design, pictures: Mapping[str, Picture]) -> None:
    with zipfile.ZipFile(stream, "w") as container:
        container.writestr(_entry("design.json", zipfile.ZIP_DEFLATED), encode(design))
        for name in dict.fromkeys(scan.file for scan in design.scans):
            if name in pictures and safe_name(name):
                entry = _entry(name, zipfile.ZIP_STORED)
                entry.file_size = size_of(pictures[name])
                with container.open(entry, "w") as written:
                    for piece in pieces(pictures[name]):
                        written.write(piece)


def _entry(name: str, how: int) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, _STAMP)
    entry.compress_type = how
    entry.external_attr = 0o644 << 16
    entry.create_system = 3
    return entry


def write(
    path: Path, design: Design, pictures: Mapping[str, Picture], home: Path | None = None,
    taken: Iterable[str] = (),
) -> Mapping[str, str]:
    """Write a container (or bare JSON, by the ending) in one step; the old file stays until it is whole.

    Beside a bare design a picture gets another name, and so its scan in the file, where the folder has
    another one of that name (``core.design_beside``): the new names of these are returned, none of
    which is among ``taken``. ``home``: the folder in which the scans' names mean this design's own, also
    of those that are not in ``pictures``.
    DesignFileError, with nothing changed, when the place cannot be written.
    """
    found = problems(design)
    if found:
        raise DesignFileError(found)
    if path.suffix.lower() == ".json":
        # Pictures first: should one fail, the old design still stands.
        renamed = write_beside(path, design, pictures, home, taken)
        write_bytes(path, encode(with_names(design, renamed)))
        return renamed
    write_filled(path, lambda stream: _pack_into(stream, design, pictures))
    return {}
