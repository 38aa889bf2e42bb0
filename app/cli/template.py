"""The command that writes templates to cut from. Exit statuses and errors as in ``app.cli.common``."""

from __future__ import annotations

import datetime
from argparse import Namespace

from app.cli.common import (
    COMMAND_LINE,
    CONTENT,
    DONE,
    CommandError,
    Parser,
    one_line,
    opened,
    other_file,
    parsed,
    parsed_length,
    say,
    write_to,
)
from app.kit.sentences import as_sentence
from core.file_kinds import PDF
from core.units import parse_angle

PAPER_NAMES = ("a4", "a3", "letter", "tabloid")
LINE_NAMES = ("outer", "inner", "middle")
BLANK_NAMES = ("needed", "all", "none")
_ROLL = "roll:"


def add(parser: Parser) -> None:
    """The command's options, and what it runs."""
    parser.add_argument("design", metavar="DESIGN")
    parser.add_argument("-o", "--output", metavar="FILE.pdf", required=True)
    parser.add_argument("--outline", metavar="ID", nargs="+", action="extend")
    parser.add_argument("--paper", metavar="PAPER", default="a4")
    ways = parser.add_mutually_exclusive_group()
    ways.add_argument("--landscape", action="store_true")
    ways.add_argument("--portrait", action="store_true")
    parser.add_argument("--turn", metavar="ANGLE", default="auto")
    parser.add_argument("--blank", choices=BLANK_NAMES, default="needed")
    parser.add_argument("--scale", metavar="SCALE", default="1")
    parser.add_argument("--overlap", metavar="LENGTH", default="10")
    parser.add_argument("--margin", metavar="LENGTH", default="8")
    parser.add_argument("--mirror", action="store_true")
    parser.add_argument("--beside", metavar="ALTERNATIVE-ID")
    parser.add_argument("--line", choices=LINE_NAMES, default="outer")
    parser.set_defaults(run=write_template)


def write_template(given: Namespace) -> int:
    """Write a template of a design to a PDF; says how many pages it has."""
    from app.paper.template import LINE_EDGES, TemplateChoice, TemplateError, parse_scale, plan_template

    name, out = given.design, given.output
    roll: float | None = None
    paper = given.paper.lower()
    if paper.startswith(_ROLL):
        roll = parsed_length("template", "--paper", paper.removeprefix(_ROLL))
    elif paper not in PAPER_NAMES:
        raise CommandError(
            [f"sternpost template: --paper: found {given.paper[:40]!r}; give one of "
             f"{', '.join(PAPER_NAMES)}, or roll:610 for a roll 610 mm wide"], COMMAND_LINE,
        )
    overlap = parsed_length("template", "--overlap", given.overlap)
    margin = parsed_length("template", "--margin", given.margin)
    scale = parsed("template", "--scale", given.scale, parse_scale)
    turn = None if given.turn.lower() == "auto" else parsed("template", "--turn", given.turn, parse_angle)
    landscape = given.landscape or (False if given.portrait else None)
    from app.paper.heads import titled

    design = titled(opened(name).design, name)
    target = other_file(out, name, PDF)
    from app.paper.pages import PAPERS, pdf
    from app.paper.template_page import template_sheet
    from core.bench.bridges import BLANKS

    choice = TemplateChoice(
        PAPERS["a4" if roll is not None else paper], tuple(given.outline or ()), roll, landscape, scale,
        overlap, margin, given.mirror, given.beside, next(e for e in LINE_EDGES if e == given.line), turn,
        next(b for b in BLANKS if b == given.blank),
    )
    try:
        plan = plan_template(design, choice, datetime.date.today())
    except TemplateError as error:
        if error.in_design:
            raise CommandError([f"{one_line(name)}: {one_line(str(error))}"], CONTENT) from None
        raise CommandError([f"sternpost template: {one_line(str(error))}"], COMMAND_LINE) from None
    write_to(out, target, lambda: pdf(template_sheet(design, plan)))
    pages = "1 page" if plan.pages == 1 else f"{plan.pages} pages"
    say(one_line(as_sentence(line)) for line in (pages, *plan.notes))
    return DONE
