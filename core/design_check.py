"""What is wrong with a design's values: one sentence each, naming place, value and remedy.

Ranges of numbers stand on the types in ``core.design``; a new field is checked without being named here.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Iterator
from functools import cache
from pathlib import PurePosixPath
from typing import Any

import msgspec

from core.design import (
    FORMAT,
    LIMIT,
    LIMIT_WORDS,
    MOST_PARTS,
    MOST_TEXT,
    STATE,
    Aim,
    Build,
    Design,
    Node,
    Outline,
    Range,
    Scan,
    State,
    range_of,
)
from core.materials import WOODS
from core.plain_names import whole_text

_ID = re.compile(r"[a-z0-9-]+")
MOST_NODES = 200_000
_ANY = Range(-LIMIT, LIMIT)


def problems(design: Design) -> list[str]:
    """Everything that breaks the format's rules, in file order; empty for a sound design."""
    return list(_problems(design))


def _problems(design: Design) -> Iterator[str]:
    if design.format != FORMAT:
        yield f"format: expected {FORMAT}, found {design.format}; open it with the version that wrote it"
    yield from _texts(design)
    for where, state in (
        ("", design), *((f"alternatives[{i}].", kept) for i, kept in enumerate(design.alternatives))
    ):
        if sum(len(outline.nodes) for outline in state.outlines) > MOST_NODES:
            yield f"{where}outlines: more than {MOST_NODES} nodes in all; trace with fewer"
            return
        yield from _materials(where, state)
    for name in sorted(_names(type(design)), key=_in_the_file):
        found = list(_value(name, getattr(design, name), type(design), name))
        yield from found
        if any("entries are too many" in sentence for sentence in found):
            return


def broken_by(before: Design, after: Design) -> str | None:
    """The first rule of the format that ``after`` breaks where it is not the same as ``before``; else None.

    Looks at no part that the two share, so that it is cheap after every edit.
    """
    return next(_broken_by(before, after), None)


def _broken_by(before: Design, after: Design) -> Iterator[str]:
    yield from (s for s in _texts(after) if (before.title, before.notes) != (after.title, after.notes))
    if after.outlines is not before.outlines or after.alternatives is not before.alternatives:
        # Every kept state is written out whole: together they must stay a file that can be read again.
        nodes, were = _nodes_in(after), _nodes_in(before)
        if nodes > max(MOST_NODES, were):
            yield f"outlines: {nodes} nodes with all kept states, more than {MOST_NODES}; trace with fewer"
    if after.builds is not before.builds or after.materials is not before.materials:
        yield from _materials("", after)
    for name in sorted(_names(type(after)), key=_in_the_file):
        old, new = getattr(before, name), getattr(after, name)
        if new is old or isinstance(new, str):
            continue
        if not isinstance(new, tuple):
            yield from _value(name, new, type(after), name) if new is not None else ()
            continue
        if len(new) > MOST_PARTS:
            yield f"{name}: {len(new)} entries are too many; keep to {MOST_PARTS}"
        if new and hasattr(new[0], "id"):
            yield from _ids(name, (one.id for one in new))
        known = set(map(id, old))
        for i, one in enumerate(new):
            if id(one) not in known and not isinstance(one, str):
                yield from _value(f"{name}[{i}]", one, type(after), name)


def _nodes_in(design: Design) -> int:
    return sum(len(o.nodes) for state in (design, *design.alternatives) for o in state.outlines)


def _texts(design: Design) -> Iterator[str]:
    for name, text in (("title", design.title), ("notes", design.notes)):
        if len(text) > MOST_TEXT:
            yield f"{name}: {len(text)} characters are too many; shorten it to {MOST_TEXT}"
        elif whole_text(text) != text:
            yield f"{name}: it holds half a character, which no file can; type it anew"


def _in_the_file(name: str) -> int:
    """Where a design's key stands in its file: what it is called and its scans, its state, the rest."""
    return 1 if name in STATE else 0 if name in ("format", "title", "notes", "display_units", "scans") else 2


def _materials(where: str, state: State) -> Iterator[str]:
    known = {*WOODS, *(own.id for own in state.materials)}
    for i, build in enumerate(state.builds):
        for at, material in build.materials:
            if material not in known:
                yield (
                    f'{where}builds[{i}].{at}: "{material[:40]}" is no known material; name one of '
                    f"{', '.join(WOODS)}, or one of materials[]"
                )


@cache
def _names(part: type[msgspec.Struct]) -> dict[str, str]:
    """By field, its name in the file; fields that have rules of their own alone are left out."""
    fields = msgspec.structs.fields(part)
    return {f.name: f.encode_name for f in fields if f.name not in ("id", "format", "to_mm")}


def _numbers(where: str, part: msgspec.Struct) -> Iterator[str]:
    """What is wrong with a part of a design, and with the parts in it."""
    kind = type(part)
    for name, written in _names(kind).items():
        value = getattr(part, name)
        if value is not None and not isinstance(value, str | bool):
            yield from _value(f"{where}.{written}", value, kind, name)
    rule = _RULES.get(kind)
    if rule is not None:
        yield from rule(where, part)


def _value(at: str, value: object, part: type[msgspec.Struct], name: str) -> Iterator[str]:
    if isinstance(value, Node):
        yield from _node(at, value)
    elif isinstance(value, msgspec.Struct):
        yield from _numbers(at, value)
    elif isinstance(value, tuple):
        if name not in ("nodes", "stations") and len(value) > MOST_PARTS:
            yield f"{at}: {len(value)} entries are too many; keep to {MOST_PARTS}"
            return
        if value and hasattr(value[0], "id"):
            yield from _ids(at, (one.id for one in value))
        for i, one in enumerate(value):
            if not isinstance(one, str):
                yield from _value(f"{at}[{i}]", one, part, name)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield from _within(at, value, range_of(part, name))


def _node(at: str, node: Node) -> Iterator[str]:
    # A design has up to 200 000 of them: no way by their types, and sound ones quickly.
    (a, b), (c, d) = node.handle_in or (0.0, 0.0), node.handle_out or (0.0, 0.0)
    if all(-LIMIT <= value <= LIMIT for value in (node.x, node.z, a, b, c, d)):
        return
    yield from _within(f"{at}.x", node.x, _ANY)
    yield from _within(f"{at}.z", node.z, _ANY)
    for name, handle in (("in", node.handle_in), ("out", node.handle_out)):
        for j, value in enumerate(handle or ()):
            yield from _within(f"{at}.{name}[{j}]", value, _ANY)


def _within(where: str, value: float, allowed: Range) -> Iterator[str]:
    low, high, unit = allowed.low, allowed.high, allowed.unit
    if low <= value <= high:
        return
    if not math.isfinite(value):
        yield f"{where}: expected a number, found {value}; give a finite number"
    elif (low, high) == (-LIMIT, LIMIT):
        yield f"{where}: {value:g} is out of reach; keep within ±{LIMIT_WORDS}"
    elif allowed.whole:
        yield f"{where}: found {value}; give a whole number from {low:g} to {high:g}"
    else:
        yield f"{where}: found {value:g}{unit}; keep between {low:g} and {high:g}{unit}"


def _ids(where: str, ids: Iterable[str]) -> Iterator[str]:
    seen: set[str] = set()
    for i, part_id in enumerate(ids):
        if not _ID.fullmatch(part_id):
            yield f'{where}[{i}].id: found "{part_id[:40]}"; use small letters, digits and hyphens'
        elif part_id in seen:
            yield f'{where}[{i}].id: "{part_id}" is there twice; give each its own id'
        seen.add(part_id)


def _scan(where: str, scan: Scan) -> Iterator[str]:
    if not safe_name(scan.file):
        yield f'{where}.file: "{scan.file[:60]}" is not a plain file name; name a file inside the design'
    flat = [value for row in scan.to_mm for value in row]
    if not all(math.isfinite(value) for value in flat):
        yield f"{where}.to_mm: expected nine finite numbers; place the scan anew"
        return
    (a, b, c), (d, e, f), (g, h, i) = scan.to_mm
    determinant = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g)
    if not math.isfinite(determinant) or abs(determinant) < 1e-18:
        yield f"{where}.to_mm: the matrix folds the picture to nothing; place the scan anew"


def safe_name(name: str) -> bool:
    """True if ``name`` can only mean a file inside the design's own folder or container."""
    if not 0 < len(name) <= 200 or "\\" in name or ":" in name or not name.isprintable():
        return False
    # Where case does not count in file names, the scan would take the design's own place.
    if name.lower() == "design.json":
        return False
    path = PurePosixPath(name)
    return not path.is_absolute() and ".." not in path.parts and str(path) == name and name != "."


def _outline(where: str, outline: Outline) -> Iterator[str]:
    handles = any(node.handle_in or node.handle_out for node in outline.nodes)
    if len(outline.nodes) < (2 if handles else 3):
        yield (
            f"{where}.nodes: found {len(outline.nodes)}; an outline needs at least three nodes, "
            "or two with handles"
        )


def _aim(where: str, aim: Aim) -> Iterator[str]:
    if not aim.low <= aim.cla_fraction <= aim.high:
        yield (
            f"{where}: {aim.cla_fraction:g} does not lie between low {aim.low:g} and high {aim.high:g}; "
            "put the three in rising order"
        )


def _build(where: str, build: Build) -> Iterator[str]:
    if not build.of:
        yield f"{where}.of: names no surface; name at least one outline or tailplane"


_RULES: dict[type[msgspec.Struct], Callable[[str, Any], Iterator[str]]] = {
    Scan: _scan, Outline: _outline, Aim: _aim, Build: _build,
}
