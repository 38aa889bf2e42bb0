"""The command that writes the gauges. Exit statuses and errors as in ``app.cli.common``."""

from __future__ import annotations

import datetime
from typing import Literal

from app.cli.common import DONE, Parser, one_line, opened, other_file, say, write_to
from core.file_kinds import PDF


def add(parser: Parser) -> None:
    """The command's options, and what it runs."""
    parser.add_argument("design", metavar="DESIGN")
    parser.add_argument("-o", "--output", metavar="FILE.pdf", required=True)
    parser.add_argument("--paper", choices=("a4", "letter"), default="a4")
    parser.set_defaults(run=lambda given: write_gauges(given.design, given.output, given.paper))


def write_gauges(name: str, out: str, paper: Literal["a4", "letter"]) -> int:
    """Write the gauges of the design in ``name`` to the PDF ``out``; which cannot be made is said."""
    design = opened(name).design
    target = other_file(out, name, PDF)
    from app.paper.gauges_sheet import gauges_sheet
    from app.paper.heads import titled
    from app.paper.pages import pdf
    from core.bench.gauges import gauges_of

    sheet = gauges_sheet(titled(design, name), paper=paper, today=datetime.date.today())
    write_to(out, target, lambda: pdf(sheet))
    say(one_line(sentence) for sentence in gauges_of(design)[1])
    return DONE
