"""The command that carries a design to other programs. Exit statuses and errors as in ``app.cli.common``."""

from __future__ import annotations

from app.cli.common import CONTENT, DONE, CommandError, Parser, one_line, opened, other_file, write_to
from app.paper.exchange import EXPORTS, exported
from core.exchange.faults import ExchangeError


def add(parser: Parser) -> None:
    """The command's options, and what it runs."""
    parser.add_argument("design", metavar="DESIGN")
    parser.add_argument("--to", choices=EXPORTS, required=True)
    parser.add_argument("-o", "--output", metavar="FILE", required=True)
    parser.set_defaults(run=lambda given: export(given.design, given.to, given.output))


def export(name: str, to: str, out: str) -> int:
    """Write the design in ``name`` to the file ``out`` as ``to``, one of EXPORTS."""
    design = opened(name).design
    target = other_file(out, name)
    try:
        data = exported(design, to)
    except ExchangeError as error:
        raise CommandError([f"{one_line(name)}: {one_line(str(error))}"], CONTENT) from None
    write_to(out, target, lambda: data)
    return DONE
