"""What the commands share: opening a design, where to write, and errors of one line each.

Each command is a module with ``add``, which gives a parser its options and says what to ``run``; that
returns the exit status: 0 done, 1 the file's content is at fault, 2 the command line is. What was asked
for goes to standard output, errors to standard error.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import sys
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path
from typing import NoReturn, TextIO, TypeVar

from app.scans.genuine import only_pictures
from core.design_file import DesignFile, DesignFileError, read, write_bytes
from core.file_kinds import FileKind
from core.file_names import FileNameError, has_ending, taken
from core.units import UnitError, parse_length

DONE, CONTENT, COMMAND_LINE = 0, 1, 2
_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]+")
Value = TypeVar("Value")


class CommandError(Exception):
    """Ends a command: what to say on standard error, one line each, and the exit status."""

    def __init__(self, lines: list[str], status: int) -> None:
        super().__init__(lines[0])
        self.lines = lines
        self.status = status


class Parser(argparse.ArgumentParser):
    """Says what is wrong as CommandError, in one line; its help is that of all commands."""

    figures: tuple[str, ...] = ()
    """What follows these options is a figure, though it may begin with a minus: "-1.5 in"."""

    def __init__(self, prog: str, help_text: str) -> None:
        super().__init__(prog=prog, epilog=help_text, allow_abbrev=False)

    def error(self, message: str) -> NoReturn:
        """End the command."""
        raise CommandError([f"{self.prog}: {one_line(message)}; “sternpost --help” shows how"], COMMAND_LINE)

    def format_help(self) -> str:
        """The help of all commands."""
        return self.epilog or ""

    def parse(self, arguments: list[str], more: str = "") -> argparse.Namespace:
        """What is given; ``more`` is said after a word that has no place."""
        joined: list[str] = []
        for word in arguments:
            if joined and joined[-1] in self.figures:
                joined[-1] += f"={word}"
            else:
                joined.append(word)
        given, rest = self.parse_known_args(joined)
        if rest:
            self.error(f"found {rest[0]!r}, which has no place here{more}")
        return given


def one_line(text: str) -> str:
    """``text`` with control characters, which could steer a terminal, turned into blanks."""
    return " ".join(_CONTROL.sub(" ", text).split())


def say(lines: Iterable[str], stream: TextIO | None = None) -> None:
    """Write lines; quiet where the reader has gone ("| head") or there is no such stream."""
    stream = sys.stdout if stream is None else stream
    if stream is None:
        return
    try:
        stream.write("".join(line + "\n" for line in lines))
        stream.flush()
    except OSError as error:
        # Else Python complains once more when it closes the stream on leaving.
        with suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
        if not isinstance(error, BrokenPipeError) and stream is not sys.stderr:
            raise CommandError(
                [f"sternpost: the output could not be written ({error.strerror}); send it elsewhere"],
                COMMAND_LINE,
            ) from None


def not_usable(name: str, error: OSError | ValueError) -> str:
    """The line that says why the system refuses ``name``."""
    why = getattr(error, "strerror", None) or error
    return f"{one_line(name)}: it cannot be used ({why}); check the name"


def must_be_readable(name: str) -> None:
    """CommandError where there is no file of that name that can be read."""
    try:
        path = Path(name)
        if path.is_dir():
            fault = f"{one_line(name)}: this is a folder; name a design file"
        elif not path.exists():
            fault = f"{one_line(name)}: there is no such file; check the name"
        elif not path.is_file():
            fault = f"{one_line(name)}: this is a pipe or a device; name a file"
        elif not os.access(path, os.R_OK):
            fault = f"{one_line(name)}: permission to read it was refused; check whose file it is"
        else:
            return
    except (OSError, ValueError) as error:
        fault = not_usable(name, error)
    raise CommandError([fault], COMMAND_LINE)


def opened(name: str, *, scans: bool = False, every_fault: bool = False) -> DesignFile:
    """The design in the file ``name``; CommandError.

    The pictures of its ``scans`` stay where they lie (``DesignFile.stored``), but have been looked at.
    """
    must_be_readable(name)
    try:
        found = read(Path(name), pictures=False, through=scans)
        return only_pictures(found) if scans else found
    except DesignFileError as error:
        shown = error.sentences if every_fault else error.sentences[:1]
        lines = [f"{one_line(name)}: {one_line(sentence)}" for sentence in shown]
        hidden = len(error.sentences) - len(shown)
        if hidden:
            lines[0] += f" (and {hidden} more; “sternpost check” names them all)"
        raise CommandError(lines, CONTENT) from None


def other_file(out: str, name: str, kind: FileKind) -> Path:
    """``out`` as a path to write a file of ``kind`` to, which is not the file ``name``; CommandError."""
    try:
        if out and Path(out).exists() and Path(out).samefile(name):
            raise CommandError(
                [f"{one_line(out)}: this is the file that is read; name another"], COMMAND_LINE
            )
    except (OSError, ValueError) as error:
        raise CommandError([not_usable(out, error)], COMMAND_LINE) from None
    return new_file(out, kind)


def new_file(out: str, kind: FileKind) -> Path:
    """``out`` as a path to write a file of ``kind`` to. CommandError where that would replace anything else,

    where it is a folder, and where its ending does not say what it is.
    """
    target, shown = Path(out), one_line(out) or "-o"
    try:
        if not out or target.is_dir():
            raise CommandError([f"{shown}: this is a folder; name a file in it"], COMMAND_LINE)
        has_ending(target, kind)
        taken(target)
    except FileNameError as error:
        raise CommandError([f"{shown}: {one_line(str(error))}"], COMMAND_LINE) from None
    except (OSError, ValueError) as error:
        raise CommandError([not_usable(out, error)], COMMAND_LINE) from None
    return target


def write_to(out: str, target: Path, make: Callable[[], bytes]) -> None:
    """Replace ``target``, given as ``out``, by what ``make`` makes; CommandError where it cannot be."""
    try:
        write_bytes(target, make())
    except DesignFileError as error:
        raise CommandError([f"{one_line(out)}: {one_line(str(error))}"], COMMAND_LINE) from None


def parsed(command: str, option: str, text: str, parse: Callable[[str], Value]) -> Value:
    """What ``parse`` makes of an option's ``text``; CommandError where it raises UnitError."""
    try:
        return parse(text)
    except UnitError as error:
        raise CommandError([f"sternpost {command}: {option}: {one_line(str(error))}"], COMMAND_LINE) from None


def parsed_length(command: str, option: str, text: str) -> float:
    """A length in mm, whatever the design shows; one without a unit is in mm."""
    return parsed(command, option, text, lambda t: parse_length(t, "mm"))


def say_json(table: dict[str, object]) -> None:
    """Write ``table`` as one JSON object, in ASCII where the terminal knows no more."""
    utf = (getattr(sys.stdout, "encoding", "") or "").lower().startswith("utf")
    say([json.dumps(table, indent=2, ensure_ascii=not utf, allow_nan=False)])


def aligned(rows: list[tuple[str, ...]], sides: str) -> list[str]:
    """Lines of a table; ``sides`` says of each column "l" or "r"."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(sides))]
    return [
        ("  " + "  ".join(
            cell.rjust(wide) if side == "r" else cell.ljust(wide)
            for cell, wide, side in zip(row, widths, sides, strict=True)
        )).rstrip()
        for row in rows
    ]
