"""The command that carries a design to other programs. Exit statuses and errors as in ``app.cli.common``."""

from __future__ import annotations

import argparse

from app.cli.common import (
    COMMAND_LINE,
    CONTENT,
    DONE,
    CommandError,
    Parser,
    one_line,
    opened,
    other_file,
    parsed_length,
    say,
    write_to,
)
from app.paper.exchange import ENDINGS, EXPORTS, PARTS_EXPORTS, exported, exported_parts
from core.exchange.csv_table import Decimal
from core.exchange.faults import ExchangeError
from core.file_kinds import kind_of_ending


def add(parser: Parser) -> None:
    """The command's options, and what it runs."""
    parser.add_argument("design", metavar="DESIGN")
    parser.add_argument("--to", choices=EXPORTS, required=True)
    parser.add_argument("-o", "--output", metavar="FILE", required=True)
    parser.add_argument("--parts", action="store_true")
    parser.add_argument("--kerf", metavar="MM")
    parser.add_argument("--decimal", choices=("point", "comma"), default="point")
    parser.set_defaults(run=_run)


def _run(given: argparse.Namespace) -> int:
    if given.decimal != "point" and (given.parts or given.to != "csv"):
        raise CommandError(["sternpost export: --decimal is for --to csv; leave it out"], COMMAND_LINE)
    if not given.parts:
        if given.kerf is not None:
            raise CommandError(["sternpost export: --kerf is for parts: give --parts too"], COMMAND_LINE)
        return export(given.design, given.to, given.output, given.decimal)
    if given.to not in PARTS_EXPORTS:
        wanted = " or ".join(PARTS_EXPORTS)
        raise CommandError([f"sternpost export: --parts goes to {wanted}, found {given.to}"], COMMAND_LINE)
    kerf = 0.0 if given.kerf is None else parsed_length("export", "--kerf", given.kerf)
    return export_parts(given.design, given.to, given.output, kerf)


def export(name: str, to: str, out: str, decimal: Decimal) -> int:
    """Write the design in ``name`` to the file ``out`` as ``to``, one of EXPORTS."""
    design = opened(name).design
    target = other_file(out, name, kind_of_ending(ENDINGS[to]))
    try:
        data = exported(design, to, decimal)
    except ExchangeError as error:
        raise CommandError([f"{one_line(name)}: {one_line(str(error))}"], CONTENT) from None
    write_to(out, target, lambda: data)
    return DONE


def export_parts(name: str, to: str, out: str, kerf: float) -> int:
    """Write the parts of the design in ``name``, one of PARTS_EXPORTS; what is not in it is said."""
    design = opened(name).design
    target = other_file(out, name, kind_of_ending(ENDINGS[to]))
    try:
        data, notes = exported_parts(design, to, kerf)
    except ExchangeError as error:
        status = COMMAND_LINE if str(error).startswith("kerf") else CONTENT
        raise CommandError([f"{one_line(name)}: {one_line(str(error))}"], status) from None
    write_to(out, target, lambda: data)
    say(one_line(note) for note in notes)
    return DONE
