"""What leaves the program is the committed design: read in the source, so that the next way out is found.

A *way out* is a file of ``app`` that asks for a file to write or a printer, or has it asked, writes
bytes, keeps work for recovery or puts something on the clipboard, or that stands in one of the rooms
made for it. There neither what is on view (``document.design``, ``readout.readings``) nor a gesture
under way (``document.edited``) may be read.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

APP = Path(__file__).resolve().parents[3] / "app"
ROOMS = (
    "paper/*.py", "window/exchang*.py", "window/filing.py", "keeping/*.py", "panels/alternatives*.py",
)
WRITES = frozenset({
    "getSaveFileName", "QPrintDialog", "QPdfWriter", "write_bytes", "write_filled", "write_text",
    "setMimeData", "clipboard", "saving", "SheetFoot", "ask_path", "ask_name", "ask_printer",
})
NOT_THE_DESIGN = {
    "document": frozenset({"design", "edited"}),
    "readout": frozenset({"readings", "edited_readings", "counted_areas"}),
}
SHOWS_TOO = {"side/compare_window.py": "refresh"}
"""Ways out that are looked at as well: the function that shows a gesture under way, and nothing else."""


def names(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute):
            yield node.attr
        elif isinstance(node, ast.Name):
            yield node.id
        elif isinstance(node, ast.alias):
            yield node.name.rpartition(".")[2]


def read_of(tree: ast.AST, but: str = "") -> list[str]:
    """``document.design`` and the like, with their lines; whatever the document hangs on.

    ``but`` names a function that is passed over.
    """
    found = []
    passed = {
        inner for node in ast.walk(tree) if isinstance(node, ast.FunctionDef) and node.name == but
        for inner in ast.walk(node)
    }
    for node in ast.walk(tree):
        if node in passed:
            continue
        if isinstance(node, ast.Attribute) and isinstance(node.value, (ast.Attribute, ast.Name)):
            owner = node.value.attr if isinstance(node.value, ast.Attribute) else node.value.id
            if node.attr in NOT_THE_DESIGN.get(owner.strip("_"), ()):
                found.append(f"line {node.lineno}: {owner}.{node.attr}")
    return found


def ways_out() -> list[Path]:
    rooms = {path for pattern in ROOMS for path in APP.glob(pattern)}
    writing = {
        path for path in APP.rglob("*.py") if WRITES & set(names(ast.parse(path.read_text("utf-8"))))
    }
    return sorted(rooms | writing)


def test_the_ways_out_are_found() -> None:
    found = {path.relative_to(APP).as_posix() for path in ways_out()}
    assert found >= {
        "paper/bench_sheet.py", "side/card_window.py", "side/template_window.py",
        "side/setting_up_window.py", "window/exchanging.py", "window/filing.py", "keeping/recovery.py",
        "keeping/keeping.py", "window/edit_commands.py", "side/compare_window.py",
        "panels/alternatives_panel.py", "work/document.py",
    }


@pytest.mark.parametrize("path", ways_out(), ids=lambda p: p.relative_to(APP).as_posix())
def test_a_way_out_reads_the_committed_design(path: Path) -> None:
    name = path.relative_to(APP).as_posix()
    found = read_of(ast.parse(path.read_text("utf-8")), SHOWS_TOO.get(name, ""))
    assert not found, f"{name} reads what may be a proposal or half a gesture: {found}"


def test_a_breach_is_found_however_the_document_is_reached() -> None:
    for source in (
        "self._document.design", "window.document.design.title", "document.edited",
        "self._readout.readings['cn_beta']", "readout.counted_areas()",
        "driver.window.readout.edited_readings",
    ):
        assert read_of(ast.parse(source)), source
    assert not read_of(ast.parse("self._document.committed; plan.design; sheets.readings"))
