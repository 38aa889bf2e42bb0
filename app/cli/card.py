"""The command that writes the card copy. Exit statuses and errors as in ``app.cli.common``."""

from __future__ import annotations

import datetime

from app.cli.common import (
    CONTENT,
    DONE,
    CommandError,
    Parser,
    one_line,
    opened,
    other_file,
    parsed,
    say,
    write_to,
)
from core.file_kinds import PDF
from core.stability.readings import read_twice

PAPER_NAMES = ("a4", "a3", "letter", "tabloid")


def add(parser: Parser) -> None:
    """The command's options, and what it runs."""
    parser.add_argument("design", metavar="DESIGN")
    parser.add_argument("-o", "--output", metavar="FILE.pdf", required=True)
    parser.add_argument("--paper", choices=PAPER_NAMES, default="a4")
    parser.add_argument("--scale", metavar="fit|N", default="fit")
    parser.add_argument("--tiled", action="store_true")
    parser.set_defaults(
        run=lambda given: write_card_copy(
            given.design, given.output, given.paper, given.scale, tiled=given.tiled
        )
    )


def write_card_copy(name: str, out: str, paper: str, scale: str, *, tiled: bool = False) -> int:
    """Write the card copy of the design in ``name`` to the PDF ``out``; ``scale`` "fit", "4" or "1:4".

    ``tiled``: pieces run over several sheets, full size where the scale is "fit".
    """
    from app.paper.card_layout import lay_card, ratio_of

    ratio = parsed("card", "--scale", scale, ratio_of)
    design = opened(name).design
    target = other_file(out, name, PDF)
    from app.paper.card_sheet import card_copy
    from app.paper.card_words import scale_note
    from app.paper.heads import titled
    from app.paper.pages import PAPERS, application_for_fonts, pdf

    with application_for_fonts():
        sheets = lay_card(titled(design, name), read_twice(design), PAPERS[paper], ratio, tiled=tiled)
        if isinstance(sheets, str):
            raise CommandError([f"{one_line(name)}: {one_line(sheets)}"], CONTENT)
        copy = card_copy(sheets, today=datetime.date.today())
        write_to(out, target, lambda: pdf(copy))
        say([scale_note(sheets)])
    return DONE
