"""The command that writes the card copy. Exit statuses and errors as in ``app.cli.commands``."""

from __future__ import annotations

import datetime

from app.cli.commands import COMMAND_LINE, CONTENT, DONE, CommandError, _opened, one_line, say
from app.cli.exchange import _other_file
from core.design_file import DesignFileError
from core.stability.readings import read_twice
from core.units import UnitError

PAPER_NAMES = ("a4", "a3", "letter", "tabloid")


def write_card_copy(name: str, out: str, paper: str, scale: str) -> int:
    """Write the card copy of the design in ``name`` to the PDF ``out``; ``scale`` "fit", "4" or "1:4"."""
    from app.paper.card_layout import ratio_of

    try:
        ratio = ratio_of(scale)
    except UnitError as error:
        raise CommandError([f"sternpost card: --scale: {one_line(str(error))}"], COMMAND_LINE) from None
    opened = _opened(name)
    target = _other_file(out, name)
    from app.paper.card_layout import lay_card
    from app.paper.card_sheet import write_card
    from app.paper.card_words import scale_note
    from app.paper.pages import PAPERS, application_for_fonts

    with application_for_fonts():
        sheets = lay_card(opened.design, read_twice(opened.design), PAPERS[paper], ratio)
        if isinstance(sheets, str):
            raise CommandError([f"{one_line(name)}: {one_line(sheets)}"], CONTENT)
        try:
            write_card(target, sheets, today=datetime.date.today())
        except DesignFileError as error:
            raise CommandError([f"{one_line(out)}: {one_line(str(error))}"], COMMAND_LINE) from None
        say([scale_note(sheets)])
    return DONE
