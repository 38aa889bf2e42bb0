"""What begins with an underscore is a module's own: no other module of the program takes it."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


def taken(source: str) -> Iterator[str]:
    """Private names that ``source`` takes out of modules of the program."""
    tree = ast.parse(source)
    modules: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] in ("app", "core"):
            for name in node.names:
                # A module, or what stands in one; both are asked below.
                modules.add(name.asname or name.name)
                if name.name.startswith("_"):
                    yield f"{node.module}.{name.name}"
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and node.attr.startswith("_") and not node.attr.startswith("__"):
            owner = node.value
            if isinstance(owner, ast.Name) and owner.id in modules and owner.id.islower():
                yield f"{owner.id}.{node.attr}"


@pytest.mark.parametrize(("source", "found"), [
    ("from app.cli.common import _opened", ["app.cli.common._opened"]),
    ("from app.cli import common\ncommon._opened()", ["common._opened"]),
    ("from os import _exit", []),
    ("from app.cli.common import opened\nself._opened = opened", []),
])
def test_a_private_name_is_found(source: str, found: list[str]) -> None:
    assert list(taken(source)) == found


@pytest.mark.parametrize("floor", ["app", "core"])
def test_no_module_takes_a_private_name_of_another(floor: str) -> None:
    files = sorted((ROOT / floor).rglob("*.py"))
    assert len(files) > 50
    found = {str(f.relative_to(ROOT)): names for f in files if (names := list(taken(f.read_text("utf-8"))))}
    assert found == {}
