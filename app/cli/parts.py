"""The command that lists the parts of what has a build, or draws them. Statuses as in ``app.cli.common``."""

from __future__ import annotations

import datetime
from argparse import Namespace
from collections.abc import Sequence

from app.cli.common import (
    COMMAND_LINE,
    CONTENT,
    DONE,
    CommandError,
    Parser,
    aligned,
    one_line,
    opened,
    other_file,
    say,
    say_json,
    write_to,
)
from app.kit.cautions import WORKSHOP
from app.paper.parts_chosen import before_of, builts_of, kept_builts
from app.paper.parts_words import mass_words, material_words, size_words
from core.bench.cutting_list import WIDTHS, CuttingList, build_name, cutting_list
from core.design import Alternative, Design
from core.file_kinds import PDF
from core.parts.part import Built
from core.parts.said import told
from core.redesign.outline_edits import EditError
from core.units import format_area, format_mass

PAPER_NAMES = ("a4", "a3", "letter", "tabloid")


def add(parser: Parser) -> None:
    """The command's options, and what it runs."""
    parser.add_argument("design", metavar="DESIGN")
    parser.add_argument("--json", action="store_true")
    parser.add_argument("-o", "--output", metavar="FILE.pdf")
    parser.add_argument("--paper", choices=PAPER_NAMES, default="a4")
    parser.add_argument("--beside", metavar="ALTERNATIVE-ID")
    parser.set_defaults(run=print_parts)


def print_parts(given: Namespace) -> int:
    """Print the parts as a table or as JSON, or write them to a PDF; tell what cannot be made.

    A build of which nothing can be made puts the file's content at fault.
    """
    design = opened(given.design).design
    target = other_file(given.output, given.design, PDF) if given.output is not None else None
    try:
        builts = builts_of(design, None)
    except EditError as error:
        raise CommandError([f"{one_line(given.design)}: {one_line(str(error))}"], CONTENT) from None
    try:
        kept = before_of(design, given.beside)
    except EditError:
        raise CommandError(
            [f"sternpost parts: no alternative “{one_line(given.beside[:80])}” is kept in this design"],
            COMMAND_LINE,
        ) from None
    faults = [
        f"{one_line(given.design)}: {one_line(told(said, design.display_units))}"
        for one in builts for said in (*one.faults, *one.notes)
    ]
    whole = all(one.parts for one in builts)
    if not any(one.parts for one in builts):
        raise CommandError(faults or [f"{one_line(given.design)}: nothing can be made"], CONTENT)
    if target is not None:
        from app.paper.heads import titled
        from app.paper.pages import PAPERS, pdf
        from app.paper.parts_sheet import sheet_of

        sheet = sheet_of(
            titled(design, given.design), builts, kept, paper=PAPERS[given.paper],
            today=datetime.date.today(),
        )
        write_to(given.output, target, lambda: pdf(sheet))
    if given.json:
        say_json(parts_table(builts))
    elif target is None:
        say(_text(design, builts, kept))
    if faults:
        raise CommandError(faults, DONE if whole else CONTENT)
    return DONE


def parts_table(builts: Sequence[Built]) -> dict[str, object]:
    """What ``--json`` prints. Lengths in mm, grams; those of a part are of all its pieces together."""
    return {
        "parts": [
            {
                "id": part.id, "build": part.build, "name": part.name, "count": part.count,
                "material": part.material, "grams": part.grams, "x": part.x, "z": part.z,
                "length": part.length, "width": part.width, "thick": part.thick,
            } for one in builts for part in one.parts
        ],
        "builds": [
            {
                "id": one.build.id, "wood_grams": one.wood_grams, "covering_grams": one.covering_grams,
                "glue_grams": one.glue_grams, "grams": one.grams, "x": one.x, "z": one.z,
            } for one in builts
        ],
    }


def _text(design: Design, builts: Sequence[Built], kept: Alternative | None) -> list[str]:
    units = design.display_units
    found = cutting_list(design, builts, kept, kept_builts(kept))
    lines = [one_line(design.title) or "Untitled"]
    for one, row in zip(builts, found.grams, strict=True):
        if not one.parts:
            continue
        lines += ["", one_line(build_name(design, one.build))]
        lines += aligned([
            (
                one_line(part.name), f"cut {part.count}", material_words(design, part.material),
                size_words((part.length, part.width, part.thick), units), mass_words(part.grams, units),
            ) for part in one.parts
        ], "lrlrr")
        wood, covering, glue, whole = (
            format_mass(g, units) for g in (row.wood, row.covering, row.glue, row.grams)
        )
        lines.append(f"  wood {wood}, covering {covering}, glue {glue}: {whole} together")
        if kept is not None:
            before = format_mass(row.before, units) if row.before is not None else row.why
            lines.append(f"  before ({one_line(kept.label or kept.id)}): {before}")
    return [*lines, *_to_buy(design, found), "", *WORKSHOP]


def _to_buy(design: Design, found: CuttingList) -> list[str]:
    units = design.display_units
    rows: list[tuple[str, ...]] = [
        (
            f"{len(one.bars)} ×", f"stick {size_words((one.wide, one.thick), units)}",
            material_words(design, one.material), "",
        ) for one in found.sticks
    ]
    for sheet in found.sheets:
        counts = {stock.wide: stock.count for stock in sheet.stocks}
        first, *others = [wide for wide in WIDTHS if wide in counts] or [0.0]
        said = "".join(f"or {counts[wide]} × {wide:g} mm wide" for wide in others)
        thick = size_words((sheet.thick,), units)
        rows.append((
            f"{counts[first]} ×" if first else "", f"sheet {thick}, {first:g} mm wide" if first else
            f"board {thick}, {format_area(sheet.area, units)} of it",
            material_words(design, sheet.material), said,
        ))
    return ["", "To buy, sticks and sheets 1 m long", *aligned(rows, "rlll")] if rows else []
