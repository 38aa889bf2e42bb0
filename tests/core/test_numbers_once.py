"""Numbers once: what is shown, judged by and printed is one constant, and words are made from it."""

from __future__ import annotations

import ast
from itertools import pairwise
from pathlib import Path

import pytest

from core.design import LIMIT, LIMIT_WORDS
from core.stability import ranges
from core.stability.readings import SPECS, verdict_of

ROOT = Path(__file__).parents[2]
HOME = {"core/stability/ranges.py", "core/design.py"}
SHOWN = {
    "fin_volume": ranges.FIN_VOLUME, "tailplane_volume": ranges.TAILPLANE_VOLUME,
    "cn_beta": ranges.CN_BETA, "static_margin": ranges.STATIC_MARGIN,
    "roll_coupling": ranges.ROLL_COUPLING, "spiral_parameter": (ranges.EASILY_HELD, ranges.STABLE),
    "sideslip_full_rudder_deg": (ranges.LITTLE_DEG, ranges.LOOSE_DEG), "sidewash_factor": ranges.SIDEWASH,
}


def numbers_again(source: str) -> list[tuple[int, str]]:
    """(line, reading) of every range of ``SHOWN`` that ``source`` writes once more.

    Both limits side by side as numbers, or in a text that is no docstring: "0.02–0.05", "3 to 5".
    """
    tree = ast.parse(source)
    notes = {id(n.value) for n in ast.walk(tree) if isinstance(n, ast.Expr)}
    found = []
    for node in ast.walk(tree):
        for key, limits in SHOWN.items():
            if isinstance(node, ast.Tuple | ast.Call):
                row = node.args if isinstance(node, ast.Call) else node.elts
                numbers = [n.value if isinstance(n, ast.Constant) else None for n in row]
                if limits in pairwise(numbers):
                    found.append((node.lineno, key))
            elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in notes:
                both = [[f"{limit:{form}}" for limit in limits] for form in ("g", ".2f")]
                if any(f"{low}{dash}{high}" in node.value for low, high in both for dash in ("–", " to ")):
                    found.append((node.lineno, key))
    return found


def test_no_range_is_written_a_second_time() -> None:
    again = {
        path.relative_to(ROOT).as_posix(): found
        for path in [*(ROOT / "core").rglob("*.py"), *(ROOT / "app").rglob("*.py")]
        if (found := numbers_again(path.read_text(encoding="utf-8")))
    }
    assert {name: found for name, found in again.items() if name not in HOME} == {}


@pytest.mark.parametrize("source", [
    "RANGE = (0.03, 0.15)", 'Spec("fin_volume", 3, 0.02, 0.05, "x")', 'tip = "0.03 to 0.15 is usual"',
    'tip = "handbooks give 0.02–0.05"', 'tip = "3 to 5 easily held"', 'words = f"{x} of 0.30–0.60"',
])
def test_a_range_written_again_is_found(source: str) -> None:
    assert numbers_again(source)


@pytest.mark.parametrize("key", sorted(SHOWN.keys() - {"spiral_parameter", "sidewash_factor"}))
def test_a_reading_is_judged_by_the_range_that_is_shown(key: str) -> None:
    spec, (low, high) = SPECS[key], SHOWN[key]
    assert (spec.low, spec.high) == (low, high)
    assert [verdict_of(x, low, high) for x in (low, high)] == ["within", "within"]


def test_the_spiral_is_judged_from_where_it_is_easily_held() -> None:
    assert (SPECS["spiral_parameter"].low, SPECS["spiral_parameter"].high) == (ranges.EASILY_HELD, None)


def test_words_are_made_from_the_limits() -> None:
    assert ranges.span_words((0.02, 0.05)) == "0.02–0.05"
    assert ranges.span_words(ranges.SIDEWASH, 1) in SPECS["sidewash_factor"].formula
    assert float(LIMIT_WORDS.replace(" ", "")) == LIMIT and LIMIT_WORDS == "1 000 000"


def test_the_limit_of_a_file_is_said_from_its_constant() -> None:
    said = [
        (path.name, node.lineno)
        for path in [*(ROOT / "core").rglob("*.py"), *(ROOT / "app").rglob("*.py")]
        for tree in [ast.parse(path.read_text(encoding="utf-8"))]
        for notes in [{id(n.value) for n in ast.walk(tree) if isinstance(n, ast.Expr)}]
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and id(node) not in notes and "1 000 000" in str(node.value)
    ]
    assert said == []
