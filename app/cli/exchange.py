"""The commands that carry a design to other programs and outlines back: export, import.

Exit statuses and errors as in ``app.cli.commands``.
"""

from __future__ import annotations

from pathlib import Path

from app.cli.commands import (
    COMMAND_LINE,
    CONTENT,
    DONE,
    CommandError,
    _not_usable,
    _opened,
    must_be_readable,
    one_line,
    say,
)
from app.kit.sentences import as_sentence
from app.paper.exchange import IMPORTS, exported, read_outlines
from core.design import FORMAT, Design
from core.design_check import problems
from core.design_file import DesignFileError, write, write_bytes
from core.exchange.closed import MOST_BYTES
from core.exchange.faults import ExchangeError, ScaleUnknownError
from core.kinds import KINDS, Kind
from core.units import UnitError, parse_number


def export(name: str, to: str, out: str) -> int:
    """Write the design in ``name`` to the file ``out`` as ``to``, one of EXPORTS."""
    opened = _opened(name)
    target = _other_file(out, name)
    try:
        data = exported(opened.design, to)
    except ExchangeError as error:
        raise CommandError([f"{one_line(name)}: {one_line(str(error))}"], CONTENT) from None
    try:
        write_bytes(target, data)
    except DesignFileError as error:
        raise CommandError([f"{one_line(out)}: {one_line(str(error))}"], COMMAND_LINE) from None
    return DONE


def _kind(text: str | None) -> Kind | None:
    if text is None:
        return None
    for kind in KINDS:
        if kind == text:
            return kind
    raise CommandError(
        [f"sternpost import: --kind: found {text[:40]!r}; give one of {', '.join(KINDS)}"], COMMAND_LINE
    )


def import_outlines(name: str, out: str, kind: str | None, mm_per_unit: str | None) -> int:
    """Write to ``out`` a new design with the outlines read from the drawing ``name``.

    ``kind`` (None: as the file says, or ``other``) is for all of them; ``mm_per_unit`` stands in place
    of what the file says of its scale, and is asked for (exit 2) where it says nothing.
    """
    for_all = _kind(kind)
    scale: float | None = None
    if mm_per_unit is not None:
        try:
            scale = parse_number(mm_per_unit, low=1e-6, high=1e6, what="Millimetres a unit")
        except UnitError as error:
            raise CommandError(
                [f"sternpost import: --mm-per-unit: {one_line(str(error))}"], COMMAND_LINE
            ) from None
    if Path(name).suffix.lower() not in IMPORTS:
        raise CommandError(
            [f"{one_line(name)}: not a drawing that is read here; name an .svg or .dxf file"], COMMAND_LINE
        )
    must_be_readable(name)
    target = _other_file(out, name)
    try:
        with Path(name).open("rb") as stream:
            data = stream.read(MOST_BYTES + 1)
        found = read_outlines(Path(name).suffix.lower(), data, for_all, scale)
    except ScaleUnknownError as error:
        raise CommandError([f"{one_line(name)}: {one_line(str(error))}"], COMMAND_LINE) from None
    except ExchangeError as error:
        raise CommandError([f"{one_line(name)}: {one_line(str(error))}"], CONTENT) from None
    except OSError as error:
        raise CommandError([_not_usable(name, error)], COMMAND_LINE) from None
    design = Design(FORMAT, one_line(Path(name).stem) or "Untitled", outlines=found.outlines)
    faults = problems(design)
    if faults:
        raise CommandError([f"{one_line(name)}: {one_line(faults[0])}"], CONTENT)
    try:
        write(target, design, {})
    except DesignFileError as error:
        raise CommandError([f"{one_line(out)}: {one_line(str(error))}"], COMMAND_LINE) from None
    count = len(found.outlines)
    said = "1 outline was read" if count == 1 else f"{count} outlines were read"
    say(one_line(as_sentence(words)) for words in (said, *found.notes))
    return DONE


def _other_file(out: str, name: str) -> Path:
    """``out`` as a path to write to; CommandError where it is a folder or the file ``name`` itself."""
    target = Path(out)
    try:
        if not out or target.is_dir():
            shown = one_line(out) or "-o"
            raise CommandError([f"{shown}: this is a folder; name a file in it"], COMMAND_LINE)
        if target.exists() and target.samefile(name):
            raise CommandError(
                [f"{one_line(out)}: this is the file that is read; name another"], COMMAND_LINE
            )
    except (OSError, ValueError) as error:
        raise CommandError([_not_usable(out, error)], COMMAND_LINE) from None
    return target
