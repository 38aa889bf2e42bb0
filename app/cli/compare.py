"""The command that sets two designs side by side. Exit statuses and errors as in ``app.cli.common``."""

from __future__ import annotations

from app.cli.common import DONE, Parser, aligned, one_line, opened, say, say_json
from core.design import Design
from core.redesign.alternatives import Difference, differences
from core.stability.readings import read_twice
from core.stability.wording import shown
from core.units import MISSING


def add(parser: Parser) -> None:
    """The command's options, and what it runs."""
    parser.add_argument("design", metavar="A")
    parser.add_argument("other", metavar="B")
    parser.add_argument("--json", action="store_true")
    parser.set_defaults(run=lambda given: compare(given.design, given.other, as_json=given.json))


def compare(one: str, other: str, *, as_json: bool) -> int:
    """All readings of two designs side by side, with their differences (the second less the first)."""
    a, b = opened(one).design, opened(other).design
    one_read, other_read = read_twice(a), read_twice(b)
    table = differences(one_read, other_read)
    if as_json:
        say_json(comparison(a, b, table, (one_read.untold, other_read.untold)))
        return DONE
    units = a.display_units

    def text(row: Difference, value: float | None, *, signed: bool = False) -> str:
        return MISSING if value is None else shown(row.spec, value, units, signed=signed)

    rows: list[tuple[str, ...]] = [("", "A", "B", "difference")]
    rows += [
        (row.spec.label, text(row, row.a), text(row, row.b), text(row, row.difference, signed=True))
        for row in table
    ]
    say([
        f"A  {one_line(a.title) or 'Untitled'} ({one_line(one)})",
        f"B  {one_line(b.title) or 'Untitled'} ({one_line(other)})",
        "", *aligned(rows, "lrrr"),
        *(f"{which}: {one_line(read.untold)}." for which, read in (("A", one_read), ("B", other_read))
          if read.untold is not None),
    ])
    return DONE


def comparison(
    a: Design, b: Design, table: list[Difference], untold: tuple[str | None, str | None]
) -> dict[str, object]:
    """What ``compare --json`` prints: lengths in mm, areas in mm2, fractions as parts of 1.

    ``untold``: why the areas of either cannot be told.
    """
    return {
        "titles": {"a": a.title, "b": b.title},
        "untold": {"a": untold[0], "b": untold[1]},
        "readings": {
            row.spec.key: {
                "unit": row.spec.unit, "a": row.a, "b": row.b, "difference": row.difference,
            }
            for row in table
        },
    }
