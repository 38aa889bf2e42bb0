"""The command that brings a design to the aim. Exit statuses and errors as in ``app.cli.common``."""

from __future__ import annotations

import sys
from typing import cast

from app.cli.common import (
    COMMAND_LINE,
    CONTENT,
    DONE,
    CommandError,
    Parser,
    one_line,
    opened,
    parsed,
    parsed_length,
    say,
)
from app.cli.new_design import write_new
from app.cli.readings import answer_lines
from core.redesign.outline_edits import EditError
from core.redesign.probe import Target
from core.redesign.refit import refit
from core.redesign.refit_ways import WAYS, WayKey
from core.stability.fin_needed import FIRM_CN_BETA
from core.stability.readings import read_twice
from core.units import parse_fraction, parse_number


def add(parser: Parser) -> None:
    """The command's options, and what it runs."""
    parser.figures = ("--to", "--cn-beta", "--length")
    parser.add_argument("design", metavar="DESIGN")
    parser.add_argument("--by", choices=WAYS, required=True)
    parser.add_argument("--to", metavar="FRACTION")
    parser.add_argument("--cn-beta", metavar="VALUE")
    parser.add_argument("--length", metavar="LENGTH")
    parser.add_argument("-o", "--output", metavar="NEW", required=True)
    parser.set_defaults(run=lambda given: refit_design(
        given.design, given.by, given.to, given.cn_beta, given.length, given.output
    ))


def refit_design(
    name: str, by: str, to: str | None, cn_beta: str | None, length: str | None, out: str
) -> int:
    """Write to ``out`` the design in ``name`` with its CLA fraction brought to ``to`` (the aim where it
    is None), or its Cnβ to ``cn_beta``, by the way ``by``; both given: the fraction at ``to`` and Cnβ at
    least that. Says the answer of the result. Exit 1, nothing written, where that cannot be.
    """
    if length is not None and by not in ("dorsal", "ventral"):
        raise CommandError(
            ["sternpost refit: --length is that of a dorsal or ventral fin; leave it out"], COMMAND_LINE
        )
    target: Target = "cla_fraction" if cn_beta is None else "cn_beta" if to is None else "both"
    wanted: float | None = None
    firm = FIRM_CN_BETA
    if to is not None:
        wanted = parsed("refit", "--to", to, parse_fraction)
    if cn_beta is not None:
        firm = parsed(
            "refit", "--cn-beta", cn_beta, lambda t: parse_number(t, low=-1.0, high=1.0, what="Cnβ")
        )
        wanted = firm if wanted is None else wanted
    long = None if length is None else parsed_length("refit", "--length", length)
    file = opened(name, scans=True)
    if wanted is None:
        wanted = file.design.aim.cla_fraction
    if (why := read_twice(file.design).untold) is not None:
        raise CommandError([f"{one_line(name)}: {one_line(why)}"], CONTENT)
    try:
        found = refit(file.design, cast(WayKey, by), target, wanted, firm=firm, length=long)
    except EditError as error:
        raise CommandError([f"{one_line(name)}: {one_line(str(error))}"], CONTENT) from None
    if not found.solved:
        raise CommandError([f"{one_line(name)}: {one_line(found.words[0])}"], CONTENT)
    if (why := read_twice(found.design).untold) is not None:
        raise CommandError([f"{one_line(name)}: of what comes out {one_line(why)}"], CONTENT)
    write_new(out, name, file, found.design)
    say([
        *map(one_line, found.words), *(f"Caution: {one_line(words)}" for words in found.cautions), "",
        f"The answer would be: {found.answer.state}.", *map(one_line, answer_lines(found.answer)),
    ])
    if found.answer.state == "stop":
        say([f"{one_line(out)}: do not fly it so. {one_line(found.answer.meaning)}"], sys.stderr)
    return DONE
