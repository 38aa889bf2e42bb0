"""The command that writes the card copy. Exit statuses and errors as in ``app.commands``."""

from __future__ import annotations

import datetime

from app.commands import COMMAND_LINE, CONTENT, DONE, CommandError, _opened, one_line, say
from app.commands_exchange import _other_file
from core.bench.card import LEAST_RATIO, MOST_RATIO
from core.design_file import DesignFileError
from core.stability.readings import read_twice
from core.units import UnitError, parse_number

PAPER_NAMES = ("a4", "a3", "letter", "tabloid")


def write_card_copy(name: str, out: str, paper: str, scale: str) -> int:
    """Write the card copy of the design in ``name`` to the PDF ``out``; ``scale`` "fit", "4" or "1:4"."""
    try:
        ratio = ratio_of(scale)
    except UnitError as error:
        raise CommandError([f"sternpost card: --scale: {one_line(str(error))}"], COMMAND_LINE) from None
    opened = _opened(name)
    target = _other_file(out, name)
    from app.sheets.card_layout import lay_card
    from app.sheets.card_sheet import write_card
    from app.sheets.card_words import scale_note
    from app.sheets.pages import PAPERS, application_for_fonts

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


def ratio_of(text: str) -> float | None:
    """The n of 1 : n; None for "fit" and for nothing. UnitError says what is wrong."""
    words = " ".join(text.split()).casefold()
    if words in ("", "fit", "fit the paper"):
        return None
    first, colon, second = words.partition(":")
    if not colon:
        return parse_number(words, low=LEAST_RATIO, high=MOST_RATIO, what="Scale, the n of 1:n")
    paper = parse_number(first, low=1.0, high=1.0 / LEAST_RATIO, what="Scale, before the colon")
    return parse_number(second, low=LEAST_RATIO, high=MOST_RATIO, what="Scale, after the colon") / paper
