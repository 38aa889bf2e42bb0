"""The command that begins a design with the outlines of a drawing. Exit statuses as in ``app.cli.common``."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

from app.cli.common import (
    COMMAND_LINE,
    CONTENT,
    DONE,
    CommandError,
    Parser,
    must_be_readable,
    not_usable,
    one_line,
    other_file,
    parsed,
    say,
)
from app.kit.sentences import as_sentence
from app.paper.exchange import IMPORTS, read_outlines
from core.design import FORMAT, MOST_COUNT, Design
from core.design_check import problems
from core.design_file import DesignFileError, write
from core.exchange.closed import MOST_BYTES, Imported, answered, count_words
from core.exchange.faults import ExchangeError, ScaleUnknownError
from core.file_kinds import DESIGN
from core.file_reading import opened
from core.kinds import KINDS, Kind
from core.plain_names import whole_text
from core.units import parse_number


def add(parser: Parser) -> None:
    """The command's options, and what it runs."""
    parser.add_argument("drawing", metavar="FILE")
    parser.add_argument("--kind", metavar="KIND")
    parser.add_argument("--mm-per-unit", metavar="MM")
    parser.add_argument("--count", metavar="ID=N", action="append", default=[])
    parser.add_argument("--hidden", action="store_true")
    parser.add_argument("-o", "--output", metavar="NEW", required=True)
    parser.set_defaults(run=lambda given: import_outlines(
        given.drawing, given.output, given.kind, given.mm_per_unit, given.count, given.hidden
    ))


def _kind(text: str | None) -> Kind | None:
    if text is None:
        return None
    for kind in KINDS:
        if kind == text:
            return kind
    raise CommandError(
        [f"sternpost import: --kind: found {text[:40]!r}; give one of {', '.join(KINDS)}"], COMMAND_LINE
    )


def _counts(given: Sequence[str]) -> dict[str, int]:
    """How often each outline comes, by its id; under "" what holds for the rest."""
    counts = {}
    for text in given:
        outline, _, figure = text.rpartition("=")
        if not (figure.isdecimal() and figure.isascii() and 1 <= int(figure[:9]) <= MOST_COUNT):
            raise CommandError(
                [f"sternpost import: --count: found {one_line(text)[:40]!r}; give such as 2 or wheel=2, "
                 f"from 1 to {MOST_COUNT}"], COMMAND_LINE,
            )
        counts[outline] = int(figure)
    return counts


def _counted(found: Imported, counts: dict[str, int]) -> Imported:
    """With the counts that were given; CommandError where one is given that is not lacking."""
    for outline in counts:
        if outline and outline not in found.uncounted:
            lacking = ", ".join(found.uncounted[:20]) or "none"
            raise CommandError(
                [f"sternpost import: --count: found {one_line(outline)[:40]!r}; "
                 f"the drawing lacks the count of: {lacking}"], COMMAND_LINE,
            )
    kinds = {outline.id: outline.kind for outline in found.outlines}
    said = {each: counts.get(each, counts.get("")) for each in found.uncounted}
    return answered(found, {each: (kinds[each], count) for each, count in said.items() if count is not None})


def import_outlines(
    name: str, out: str, kind: str | None, mm_per_unit: str | None, count: Sequence[str], hidden: bool
) -> int:
    """Write to ``out`` a new design with the outlines read from the drawing ``name``.

    ``kind`` (None: as the file says, or ``other``) is for all of them; ``mm_per_unit`` stands in place
    of what the file says of its scale, and is asked for (exit 2) where it says nothing. ``count``
    ("2", "wheel=2") says how often those come of which the file does not; ``hidden``: take what is
    switched off in it too.
    """
    counts = _counts(count)
    for_all = _kind(kind)
    scale: float | None = None
    if mm_per_unit is not None:
        scale = parsed(
            "import", "--mm-per-unit", mm_per_unit,
            lambda t: parse_number(t, low=1e-6, high=1e6, what="Millimetres a unit"),
        )
    if Path(name).suffix.lower() not in IMPORTS:
        raise CommandError(
            [f"{one_line(name)}: not a drawing that is read here; name an .svg or .dxf file"], COMMAND_LINE
        )
    must_be_readable(name)
    target = other_file(out, name, DESIGN)
    try:
        with opened(Path(name), sys.maxsize) as stream:
            data = stream.read(MOST_BYTES + 1)
        found = read_outlines(Path(name).suffix.lower(), data, for_all, scale, unseen=hidden)
    except ScaleUnknownError as error:
        raise CommandError([f"{one_line(name)}: {one_line(str(error))}"], COMMAND_LINE) from None
    except ExchangeError as error:
        raise CommandError([f"{one_line(name)}: {one_line(str(error))}"], CONTENT) from None
    except OSError as error:
        raise CommandError([not_usable(name, error)], COMMAND_LINE) from None
    found = _counted(found, counts)
    design = Design(FORMAT, one_line(whole_text(Path(name).stem)) or "Untitled", outlines=found.outlines)
    faults = problems(design)
    if faults:
        raise CommandError([f"{one_line(name)}: {one_line(faults[0])}"], CONTENT)
    try:
        write(target, design, {})
    except DesignFileError as error:
        raise CommandError([f"{one_line(out)}: {one_line(str(error))}"], COMMAND_LINE) from None
    many = len(found.outlines)
    said = "1 outline was read" if many == 1 else f"{many} outlines were read"
    say(one_line(as_sentence(words)) for words in (said, *found.notes))
    if found.uncounted:
        say([f"{one_line(name)}: {one_line(count_words(found))}; say it by --count, such as --count "
             f"{found.uncounted[0]}=2"], sys.stderr)
    if found.unseen:
        say([f"{one_line(name)}: what is switched off or frozen in it was left out; --hidden brings it in"],
            sys.stderr)
    return DONE
