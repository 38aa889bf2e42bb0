"""The cutting list on paper: parts, sticks, sheets, grams; as many pages as it takes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from app.kit.sentences import as_sentence
from app.paper import blocks
from app.paper.ink import FAINT, SOFT, Ink, one_line
from app.paper.parts_pieces import Piece
from app.paper.parts_words import joint_name, length_words, mass_words, material_words, numbered, size_words
from core.bench.cutting_list import MOST_PIECES, NOT_BY_THE_METRE, CuttingList, Sheets, Sticks
from core.design import Design
from core.parts.said import told
from core.units import MISSING, format_area, format_mass

SIZE, PITCH, HEADING = 7.4, 4.3, 9.0
_LINE = 3.2
_NOTE = 6.4
_MOST_LINES = 40
PageOf = Callable[[int], int | None]


Block = blocks.Block[Callable[[Ink, float, float, PageOf], None]]


@dataclass(frozen=True)
class _Column:
    words: str
    share: float
    right: bool = False


@dataclass(frozen=True)
class _Table:
    title: str
    columns: tuple[_Column, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""
    bold_last: bool = False


def cutting_blocks(
    ink: Ink, design: Design, found: CuttingList, pieces: Sequence[Piece], kept: str, wide: float
) -> list[Block]:
    """The list in blocks for a page ``wide`` mm between its margins; ``kept``: what grams are set against."""
    blocks: list[Block] = []
    for head, said in (("WHAT CANNOT BE MADE", found.faults), ("WHAT TO MIND", found.notes)):
        if said:
            blocks += _sentences(ink, head, [told(one, design.display_units) for one in said], wide)
    blocks += _parts(ink, design, pieces, wide)
    for table in (_sticks(design, found), _sheets(design, found), _grams(design, found, kept)):
        if table.rows:
            blocks += _table(ink, table, wide)
    return blocks


def _parts(ink: Ink, design: Design, pieces: Sequence[Piece], wide: float) -> list[Block]:
    units = design.display_units
    columns = (
        _Column("no.", 0.04), _Column("part", 0.30), _Column("cut", 0.06, True), _Column("material", 0.19),
        _Column("length × width × thick", 0.24), _Column("all weigh", 0.10, True),
        _Column("page", 0.07, True),
    )
    rows = []
    for piece in pieces:
        part = piece.part
        grams = part.grams * piece.count / part.count if part.count else 0.0
        rows.append((
            f"{piece.number}", piece.name, f"{piece.count}", material_words(design, part.material),
            size_words((part.length, part.width, part.thick), units), mass_words(grams, units), "",
        ))
    note = "Sizes are those of the stock."
    if any(piece.edge.is_empty for piece in pieces):
        note += " A part without a page is a plain stick: cut it to length."
    return _table(ink, _Table("PARTS", columns, tuple(rows), note), wide, [p.number for p in pieces])


def _sticks(design: Design, found: CuttingList) -> _Table:
    columns = (
        _Column("section", 0.17), _Column("material", 0.19), _Column("cut", 0.48),
        _Column("sticks of 1 m", 0.16, True),
    )
    rows = tuple(
        (
            size_words((one.wide, one.thick), design.display_units), material_words(design, one.material),
            _lengths(one, design), f"{len(one.bars)}",
        ) for one in found.sticks
    )
    joined = [name for one in found.sticks for name in one.joined]
    note = (
        "The pieces of one edge come from one section, the largest of them; odd sizes are rounded up to "
        "half a mm, to be sanded down. Longest first, each from the first stick that holds it, 1 mm a saw "
        "cut; buy one to spare."
    )
    if joined:
        note += f" Longer than a stick, so scarfed; the scarf comes on top: {_names(joined)}."
    return _Table("STICKS", columns, rows, note)


def _lengths(one: Sticks, design: Design) -> str:
    """ "2 × 312.4, 1 × 96" , the same lengths together."""
    units = design.display_units
    counts: dict[str, int] = {}
    for cut in one.cuts:
        words = length_words(cut.length, units)
        counts[words] = counts.get(words, 0) + cut.count
    return ", ".join(f"{count} × {words}" for words, count in counts.items())


def _sheets(design: Design, found: CuttingList) -> _Table:
    units = design.display_units
    columns = (
        _Column("thick", 0.11), _Column("material", 0.17), _Column("for", 0.30),
        _Column("area", 0.10, True), _Column("75 mm × 1 m", 0.16, True),
        _Column("or 100 mm × 1 m", 0.16, True),
    )
    rows = tuple(
        (
            size_words((one.thick,), design.display_units), material_words(design, one.material),
            _names([name for name, _ in one.cuts]), format_area(one.area, design.display_units),
            *_stock_cells(one, design),
        ) for one in found.sheets
    )
    said = ["One of both widths is enough; parts nested with the grain along the sheet, before any waste of "
            "yours: buy one to spare."]
    for one in found.sheets:
        wood = f"{material_words(design, one.material)} {size_words((one.thick,), units)}"
        by_names: dict[str, list[str]] = {}
        for stock in one.stocks:
            if stock.joined:
                by_names.setdefault(_names(stock.joined), []).append(f"{stock.wide:g}")
        said += [
            f"No whole sheet of {wood} holds, at {' and '.join(wides)} mm, so joined of strips: {names}."
            for names, wides in by_names.items()
        ]
    if any(one.material in NOT_BY_THE_METRE for one in found.sheets):
        said.append("Ply and foam come in boards of many sizes: their area alone.")
    if any(not one.stocks and one.material not in NOT_BY_THE_METRE for one in found.sheets):
        said.append(f"More than {MOST_PIECES} pieces are not laid out: their area alone.")
    return _Table("SHEETS", columns, rows, "\n".join(said))


def _stock_cells(one: Sheets, design: Design) -> tuple[str, str]:
    cells = []
    for wide in (75.0, 100.0):
        stock = next((s for s in one.stocks if s.wide == wide), None)
        if stock is None:
            cells.append(MISSING)
            continue
        # How far into the last, and only one: what is left over is worth knowing.
        part = "it" if stock.count == 1 else "the last"
        cells.append(f"{stock.count} ({size_words((round(stock.used),), design.display_units)} of {part})")
    return cells[0], cells[1]


def _grams(design: Design, found: CuttingList, kept: str) -> _Table:
    units = design.display_units
    with_kept = bool(kept)
    columns = [
        _Column("surface", 1.0 - (6 if with_kept else 4) * 0.13), _Column("wood", 0.13, True),
        _Column("covering", 0.13, True), _Column("glue", 0.13, True), _Column("together", 0.13, True),
    ]
    if with_kept:
        columns += [_Column("before", 0.13, True), _Column("difference", 0.13, True)]
    rows, said = [], ["Wood by the densities of its table: weigh your sheets."]
    for one in found.grams:
        shares = (one.wood, one.covering, one.glue, one.grams)
        row = [one_line(one.name), *(format_mass(grams, units) for grams in shares)]
        if with_kept and one.before is not None:
            row += [format_mass(one.before, units), format_mass(one.grams - one.before, units, signed=True)]
        elif with_kept:
            row += [MISSING, MISSING]
            said.append(f"{one_line(one.name)}: {one.why}.")
        rows.append(tuple(row))
    if len(rows) > 1:
        total = ["All", "", "", "", format_mass(found.total, units)]
        rows.append((*total, "", "") if with_kept else tuple(total))
    if with_kept:
        said.append(f"Before: “{one_line(kept[:80])}”.")
    return _Table("WEIGHT", tuple(columns), tuple(rows), " ".join(said), len(found.grams) > 1)


def _names(names: Sequence[str]) -> str:
    """Names, those that differ in their number together."""
    stems: dict[tuple[str, str], list[str]] = {}
    for name in names:
        before, number, after = numbered(name)
        stems.setdefault((before, after) if number is not None else (name, ""), []).append(name)
    return ", ".join(joint_name(group) for group in stems.values())


def _sentences(ink: Ink, title: str, sentences: Sequence[str], wide: float) -> list[Block]:
    blocks = [_heading(title)]
    for sentence in sentences:
        lines = ink.wrapped(as_sentence(one_line(sentence)), SIZE, wide, 6)
        blocks.append(Block(_LINE * len(lines) + 1.0, _lines_painter(lines, SIZE)))
    return blocks


def _lines_painter(lines: Sequence[str], size: float) -> Callable[[Ink, float, float, PageOf], None]:
    def paint(ink: Ink, x: float, y: float, page_of: PageOf) -> None:
        for i, line in enumerate(lines):
            ink.text(x, y + 2.8 + i * _LINE, line, size)

    return paint


def _heading(title: str) -> Block:
    def paint(ink: Ink, x: float, y: float, page_of: PageOf) -> None:
        ink.caption(x, y + 6.6, title)

    return Block(HEADING - 1.0, paint, with_next=True)


def _table(ink: Ink, table: _Table, wide: float, numbers: Sequence[int] = ()) -> list[Block]:
    """Title, head, rows whose cells wrap rather than be cut, note; ``numbers``: whose page ends a row."""
    lefts, at = [], 0.0
    for column in table.columns:
        lefts.append(at)
        at += column.share * wide
    widths = [column.share * wide - 2.0 for column in table.columns]

    def head(ink: Ink, x: float, y: float, page_of: PageOf) -> None:
        for column, left, room in zip(table.columns, lefts, widths, strict=True):
            ink.text(x + left + (room if column.right else 0.0), y + 3.0, column.words, 6.5, bold=True,
                     align="right" if column.right else "left", colour=SOFT, room=room)
        ink.pen(0.2, SOFT)
        ink.line(x, y + 4.3, x + wide, y + 4.3)

    top = Block(4.6, head, with_next=True)

    def row(cells: list[list[str]], number: int | None, *, bold: bool, last: bool) -> Block:
        tall = PITCH + _LINE * (max(map(len, cells)) - 1)

        def paint(ink: Ink, x: float, y: float, page_of: PageOf) -> None:
            shown = [*cells[:-1], [_page_words(page_of(number))]] if number is not None else cells
            for column, left, room, lines in zip(table.columns, lefts, widths, shown, strict=True):
                for i, line in enumerate(lines):
                    ink.text(x + left + (room if column.right else 0.0), y + 3.1 + i * _LINE, line, SIZE,
                             align="right" if column.right else "left", bold=bold)
            ink.pen(0.07, FAINT)
            ink.line(x, y + tall, x + wide, y + tall)

        return Block(tall, paint, last, top)

    blocks = [_heading(table.title), top]
    for i, cells in enumerate(table.rows):
        last = i == len(table.rows) - 1
        bold = table.bold_last and last
        wrapped = [
            ink.wrapped(cell, SIZE, room, _MOST_LINES, bold=bold) or [""]
            for cell, room in zip(cells, widths, strict=True)
        ]
        number = numbers[i] if numbers else None
        blocks.append(row(wrapped, number, bold=bold, last=last and bool(table.note)))
    if table.note:
        lines = ink.wrapped(table.note, _NOTE, wide, 24)
        blocks.append(Block(_LINE * len(lines) + 1.6, _note_painter(lines)))
    return blocks


def _note_painter(lines: Sequence[str]) -> Callable[[Ink, float, float, PageOf], None]:
    def paint(ink: Ink, x: float, y: float, page_of: PageOf) -> None:
        for i, line in enumerate(lines):
            ink.text(x, y + 3.4 + i * _LINE, line, _NOTE, colour=SOFT)

    return paint


def _page_words(page: int | None) -> str:
    return MISSING if page is None else f"{page}"
