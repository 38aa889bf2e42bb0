"""The command that lets a plug into the fuselage. Exit statuses and errors as in ``app.cli.common``."""

from __future__ import annotations

from typing import cast

from app.cli.common import (
    COMMAND_LINE,
    CONTENT,
    DONE,
    CommandError,
    Parser,
    one_line,
    opened,
    parsed_length,
    say,
)
from app.cli.new_design import write_new
from core.redesign.plug import Keep, plug_preview


def add(parser: Parser) -> None:
    """The command's options, and what it runs."""
    parser.figures = ("--length", "--at")
    parser.add_argument("design", metavar="DESIGN")
    parser.add_argument("--at", metavar="STATION", required=True)
    parser.add_argument("--length", metavar="LENGTH", required=True)
    parser.add_argument("--keep", choices=("front", "aft"))
    parser.add_argument("-o", "--output", metavar="NEW", required=True)
    parser.set_defaults(
        run=lambda given: plug_design(given.design, given.at, given.length, given.keep, given.output)
    )


def plug_design(name: str, at: str, length: str, keep: str | None, out: str) -> int:
    """Write to ``out`` the design in ``name`` with ``length`` let in (below 0: taken out) at ``at``."""
    station, long = parsed_length("plug", "--at", at), parsed_length("plug", "--length", length)
    if long == 0.0:
        raise CommandError(
            ["sternpost plug: --length 0 changes nothing; give how much to let in, below 0 to take out"],
            COMMAND_LINE,
        )
    file = opened(name, scans=True)
    found = plug_preview(file.design, station, long, keep=cast("Keep | None", keep))
    if isinstance(found, str):
        raise CommandError([f"{one_line(name)}: {one_line(found)}"], CONTENT)
    write_new(out, name, file, found.design)
    say(map(one_line, found.words))
    return DONE
