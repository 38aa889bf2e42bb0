"""Kinds once: a row each, and no word of a kind anywhere else."""

from __future__ import annotations

import ast
from pathlib import Path
from typing import get_args

import pytest

from core.kinds import KINDS, OTHER, TABLE, Kind

ROOT = Path(__file__).parents[2]
ELSEWHERE = {"fin", "rudder", "wing", "tailplane", "float", "other"}
"""Words that stand for more than a kind: the fin's sign, a surface, what a servo moves, a type of Python."""
NO_KINDS_MEANT = {
    "core/design.py": "what is left out",
    "core/design_bench.py": "what a linkage moves",
    "core/stability/catalogue.py": "what a group of readings needs",
    "core/stability/lacking.py": "what a group of readings needs",
    "core/stability/guesses.py": "what is left out",
    "core/stability/answer_notes.py": "what is left out",
    "core/bench/gauges.py": "what is left out",
    "core/redesign/refit_ways.py": "the fin that a way adds is of a kind",
    "app/kit/marks.py": "the kind of a mark",
    "app/kit/help_places.py": "keys of groups of readings",
    "app/side/help_drawings.py": "an aeroplane drawn for the help",
    "app/side/help_tail_drawings.py": "an aeroplane drawn for the help",
    "app/panels/welcome_pictures.py": "an aeroplane drawn for the start page",
}


def words_of_kinds(source: str) -> list[tuple[int, str]]:
    """(line, word) of every kind that ``source`` tells by its word.

    A word that nothing else has, anywhere; the others where they are compared with something called a
    kind, or stand together in one collection.
    """
    tree = ast.parse(source)
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and node.value in KINDS and node.value not in ELSEWHERE:
            found.add((node.lineno, node.value))
        asked: list[ast.AST] = []
        if isinstance(node, ast.Compare | ast.Match) and "kind" in ast.unparse(node):
            asked = list(ast.walk(node))
        elif isinstance(node, ast.Set | ast.Tuple | ast.List | ast.Dict):
            together = node.keys if isinstance(node, ast.Dict) else node.elts
            several = [n for n in together if isinstance(n, ast.Constant) and n.value in KINDS]
            asked = [*several] if len({n.value for n in several}) > 1 else []
        found |= {(n.lineno, n.value) for n in asked if isinstance(n, ast.Constant) and n.value in KINDS}
    return sorted(found)


def test_nobody_keeps_words_of_kinds_but_the_one_table() -> None:
    telling = {}
    for path in sorted([*(ROOT / "core").rglob("*.py"), *(ROOT / "app").rglob("*.py")]):
        name = path.relative_to(ROOT).as_posix()
        found = words_of_kinds(path.read_text(encoding="utf-8"))
        if found and name != "core/kinds.py":
            telling[name] = found
    assert {name: found for name, found in telling.items() if name not in NO_KINDS_MEANT} == {}
    assert set(telling) == set(NO_KINDS_MEANT), "an exception is not needed any more: take it out"


@pytest.mark.parametrize("source", [
    'if outline.kind == "fin": pass', 'if "rudder" in kinds: pass', 'x = o.kind in ("wing", "tailplane")',
    'S = frozenset({"fin", "rudder"})', 'c = {"fin": 1, "wing": 2}.get(k)', 'B = ["pylon"]',
    'def f(kind):\n    match kind:\n        case "float": pass', 'y = "tip plate"', 'z = kind != "other"',
])
def test_a_kind_told_by_its_word_is_found(source: str) -> None:
    assert words_of_kinds(source)


@pytest.mark.parametrize("source", [
    'signs = {"cg": 1, "fin": 2}', 'if over == "fin": pass', 'x = "kind of fin"', 'if o.kind in FINS: pass',
    'for what, surfaces in (("wing", wings), ("tailplane", tailplanes)): pass',
])
def test_a_word_that_means_no_kind_is_let_be(source: str) -> None:
    assert not words_of_kinds(source)


def test_every_word_has_a_row_in_the_order_of_the_words() -> None:
    assert get_args(Kind) == KINDS == tuple(TABLE)
    assert OTHER in TABLE


def test_partners_are_kinds_that_are_traced_together() -> None:
    for kind, row in TABLE.items():
        assert row.partner is None or TABLE[row.partner].partner == kind
