"""The command that writes templates to cut from. Exit statuses and errors as in ``app.cli.commands``."""

from __future__ import annotations

import datetime
from argparse import Namespace
from dataclasses import dataclass

from app.cli.commands import COMMAND_LINE, CONTENT, DONE, CommandError, _opened, one_line, say
from app.cli.exchange import _other_file
from app.kit.sentences import as_sentence
from core.design_file import DesignFileError, write_bytes
from core.units import UnitError, parse_length

PAPER_NAMES = ("a4", "a3", "letter", "tabloid")
LINE_NAMES = ("outer", "inner", "middle")
_ROLL = "roll:"


@dataclass(frozen=True)
class TemplateWords:
    """The options as typed."""

    outlines: tuple[str, ...]
    paper: str
    landscape: bool
    scale: str
    overlap: str
    margin: str
    mirror: bool
    beside: str | None
    line: str


def words_of(given: Namespace) -> TemplateWords:
    """The options out of what the parser found."""
    return TemplateWords(
        tuple(given.outline or ()), given.paper, given.landscape, given.scale, given.overlap, given.margin,
        given.mirror, given.beside, given.line,
    )


def write_template(name: str, out: str, words: TemplateWords) -> int:
    """Write a template of the design in ``name`` to the PDF ``out``; says how many pages it has."""
    from app.paper.template import LINE_EDGES, TemplateChoice, TemplateError, parse_scale, plan_template

    roll: float | None = None
    paper = words.paper.lower()
    if paper.startswith(_ROLL):
        roll = _length("--paper", paper.removeprefix(_ROLL))
    elif paper not in PAPER_NAMES:
        raise CommandError(
            [f"sternpost template: --paper: found {words.paper[:40]!r}; give one of "
             f"{', '.join(PAPER_NAMES)}, or roll:610 for a roll 610 mm wide"], COMMAND_LINE,
        )
    overlap, margin = _length("--overlap", words.overlap), _length("--margin", words.margin)
    try:
        scale = parse_scale(words.scale)
    except UnitError as error:
        raise CommandError([f"sternpost template: --scale: {one_line(str(error))}"], COMMAND_LINE) from None
    opened = _opened(name)
    target = _other_file(out, name)
    from app.paper.pages import PAPERS
    from app.paper.template_page import template_pdf

    choice = TemplateChoice(
        PAPERS["a4" if roll is not None else paper], words.outlines, roll, words.landscape, scale, overlap,
        margin, words.mirror, words.beside, next(e for e in LINE_EDGES if e == words.line),
    )
    try:
        plan = plan_template(opened.design, choice, datetime.date.today())
    except TemplateError as error:
        if error.in_design:
            raise CommandError([f"{one_line(name)}: {one_line(str(error))}"], CONTENT) from None
        raise CommandError([f"sternpost template: {one_line(str(error))}"], COMMAND_LINE) from None
    try:
        write_bytes(target, template_pdf(plan))
    except DesignFileError as error:
        raise CommandError([f"{one_line(out)}: {one_line(str(error))}"], COMMAND_LINE) from None
    pages = "1 page" if plan.pages == 1 else f"{plan.pages} pages"
    say(one_line(as_sentence(line)) for line in (pages, *plan.notes))
    return DONE


def _length(option: str, text: str) -> float:
    try:
        return parse_length(text, "mm")
    except UnitError as error:
        raise CommandError([f"sternpost template: {option}: {one_line(str(error))}"], COMMAND_LINE) from None
