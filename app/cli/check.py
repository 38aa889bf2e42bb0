"""The command that says what is wrong or missing in a file. Exit statuses as in ``app.cli.common``."""

from __future__ import annotations

from app.cli.common import CONTENT, DONE, Parser, one_line, opened, say
from core.design import Design
from core.design_file import DesignFile
from core.parts.built import all_built
from core.parts.said import told
from core.stability.readings import NO_SCALE, outline_faults, read_twice, scale_known


def add(parser: Parser) -> None:
    """The command's options, and what it runs."""
    parser.add_argument("design", metavar="DESIGN")
    parser.set_defaults(run=lambda given: check(given.design))


def check(name: str) -> int:
    """Say what is wrong with the file ``name``, one fault a line, and what is not entered yet."""
    found = opened(name, scans=True, every_fault=True)
    faults = [*found.troubles, *_scan_faults(found), *outline_faults(found.design)]
    lines = [f"{one_line(name)}: {one_line(fault)}" for fault in faults]
    lines += [f"{one_line(name)}: not yet: {one_line(text)}" for text in _not_yet(found.design)]
    lines += [
        f"{one_line(name)}: parts: {one_line(told(said, found.design.display_units))}"
        for made in all_built(found.design) for said in (*made.faults, *made.notes)
    ]
    if not faults:
        lines.append(f"{one_line(name)}: nothing wrong")
    say(lines)
    return CONTENT if faults else DONE


def _scan_faults(file: DesignFile) -> list[str]:
    found: dict[int, str] = {}
    for name in dict.fromkeys(scan.file for scan in file.design.scans if scan.file in file.stored):
        from app.scans.faults import ScanError
        from app.scans.opening import open_picture

        # One picture in memory at a time, and all its pages while it is.
        data = file.stored[name].content()
        for i, scan in enumerate(file.design.scans):
            if scan.file != name:
                continue
            try:
                open_picture(data, name, page=scan.page)
            except ScanError as error:
                found[i] = f"scans[{i}].file: {error}"
        del data
    return [found[i] for i in sorted(found)]


def _not_yet(design: Design) -> list[str]:
    readings = read_twice(design)
    found = [] if scale_known(design) else [NO_SCALE]
    for key in ("side_area", "fin_area", "cg_x", "cla_fraction"):
        missing = readings[key].missing
        if missing and missing not in found:
            found.append(missing)
    return found
