"""The command that writes the setting-up sheet. Exit statuses and errors as in ``app.cli.common``."""

from __future__ import annotations

import datetime
from typing import Literal

from app.cli.common import DONE, Parser, opened, other_file, write_to
from core.file_kinds import PDF


def add(parser: Parser) -> None:
    """The command's options, and what it runs."""
    parser.add_argument("design", metavar="DESIGN")
    parser.add_argument("-o", "--output", metavar="FILE.pdf", required=True)
    parser.add_argument("--paper", choices=("a4", "letter"), default="a4")
    parser.set_defaults(run=lambda given: write_setting_up(given.design, given.output, given.paper))


def write_setting_up(name: str, out: str, paper: Literal["a4", "letter"]) -> int:
    """Write the setting-up sheet of the design in ``name`` to the PDF ``out``."""
    design = opened(name).design
    target = other_file(out, name, PDF)
    from app.paper.heads import titled
    from app.paper.pages import pdf
    from app.paper.setting_up_sheet import setting_up_sheet

    sheet = setting_up_sheet(titled(design, name), paper=paper, today=datetime.date.today())
    write_to(out, target, lambda: pdf(sheet))
    return DONE
