"""The command that writes the bench sheet. Exit statuses and errors as in ``app.cli.common``."""

from __future__ import annotations

import datetime
from typing import Literal

from app.cli.common import DONE, Parser, opened, other_file, write_to
from core.file_kinds import PDF
from core.stability.readings import ReadingsEngine, read_twice


def add(parser: Parser) -> None:
    """The command's options, and what it runs."""
    parser.add_argument("design", metavar="DESIGN")
    parser.add_argument("-o", "--output", metavar="FILE.pdf", required=True)
    parser.add_argument("--paper", choices=("a4", "letter"), default="a4")
    parser.set_defaults(run=lambda given: write_bench_sheet(given.design, given.output, given.paper))


def write_bench_sheet(name: str, out: str, paper: Literal["a4", "letter"]) -> int:
    """Write the bench sheet of the design in ``name`` to the PDF ``out``."""
    design = opened(name).design
    target = other_file(out, name, PDF)
    readings = read_twice(design)
    areas = {} if readings.untold else ReadingsEngine().counted_areas(design)
    from app.paper.bench_sheet import bench_sheet
    from app.paper.heads import titled
    from app.paper.pages import pdf

    sheet = bench_sheet(titled(design, name), readings, areas, paper=paper, today=datetime.date.today())
    write_to(out, target, lambda: pdf(sheet))
    return DONE
