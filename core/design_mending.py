"""What can be read of a design that breaks the format's rules: for kept work, never for a builder's file.

A design that is opened from a file is refused whole, since it can be mended there. Work that was kept
while a window died exists nowhere else: of that as much is taken as stands by itself, and what is left
out is named. Every part is tried by ``core.design_file.decode``, so that nothing gets in that it refuses.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, get_args, get_type_hints

import msgspec

from core.design import EMPTY, FORMAT, MOST_PARTS, MOST_TEXT, NEWEST_FORMAT, STATE, Design
from core.design_bench import Bench
from core.design_check import MOST_NODES
from core.design_fields import FilePart
from core.design_file import DesignFileError, decode
from core.json_pieces import members, pieces, value

CUT_SHORT = "all that came after: its file is cut short"
NOT_TEXT = "bytes that are no text"
NOT_MADE_OUT = "what could not be made out between the rest"
_ID = re.compile(r"[a-z0-9-]+")
_MOST_TRIES = 24
_IN_THE_FILE = {
    "outlines": "outline", "wings": "wing", "tailplanes": "tailplane", "weights": "weight", "scans": "scan",
    "builds": "build", "materials": "material", "alternatives": "kept state", "linkages": "linkage",
    "weighings": "weighing", "cg_mark": "the CG mark", "cg_from": "where the CG is taken from",
    "fuselage_width": "the fuselage width", "aim": "the aim", "flight": "the flight figures",
    "left_out": "what the aeroplane has not", "guessed": "which figures are guessed",
    "counts_seen": "which counts were confirmed", "display_units": "the units", "bench": "the bench figures",
    "sure": "how surely it was traced", "crossing": "where the plumb lines crossed", "pin": "the pin",
    "title": "the title", "notes": "the notes", "apart": "how far apart", "grams_per_dm2": "grams per dm²",
}
Wrap = Callable[[str, Any], dict[str, Any]]


@dataclass
class _Mending:
    """One state, or the bench, while it is taken apart. ``where`` is put before what is left out."""

    without: list[str]
    where: str = ""
    wrap: Wrap = lambda name, found: {name: found}
    kept: dict[str, Any] = field(default_factory=dict)

    def leave(self, what: str, why: str = "") -> None:
        """Say what is left out, and the reason without its remedy."""
        reason = f" ({why.split(';')[0].split(': ', 1)[-1][:80]})" if why else ""
        self.without.append(f"{self.where}{what}{reason}")

    def fault(self, name: str, found: Any) -> str | None:
        """What the format has against ``found`` as field ``name``; None where it is sound."""
        raw = {"format": NEWEST_FORMAT, "title": "", **self.wrap(name, found)}
        if name == "builds":
            raw["materials"] = self.kept.get("materials", [])
        try:
            decode(json.dumps(raw).encode())
        except DesignFileError as error:
            return error.sentences[0]
        except RecursionError:
            return "design: brackets are nested too deep"
        return None


def mended(data: bytes) -> tuple[Design, tuple[str, ...]]:
    """What can be read of the design in ``data`` (JSON), and what is left out: words for each.

    Too long texts are clipped; a part that breaks the rules is left out, or goes without the one field
    that does; what a newer version wrote and this does not know is left out. DesignFileError where
    nothing can be read.
    """
    try:
        return decode(data), ()
    except DesignFileError:
        pass
    without: list[str] = []
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("utf-8", "replace")
        without.append(NOT_TEXT)
    raw = _raw(text[max(0, text.find("{")):], without)
    version = raw.pop("format", FORMAT)
    if isinstance(version, int) and version > NEWEST_FORMAT:
        without.append(f"what format {version} has beyond {NEWEST_FORMAT}, the newest that is known here")
    made = _Mending(without)
    for name in ("title", "notes"):
        _text(made, raw, name)
    _fields(made, Design, raw)
    try:
        design = decode(json.dumps({"format": NEWEST_FORMAT, "title": EMPTY.title, **made.kept}).encode())
    except DesignFileError as error:
        raise DesignFileError([f"nothing of it can be read: {error}"]) from None
    if msgspec.structs.replace(design, title=EMPTY.title) == EMPTY:
        raise DesignFileError(["nothing of it can be read"])
    return design, tuple(without) or (NOT_MADE_OUT,)


def _raw(text: str, without: list[str]) -> dict[str, Any]:
    """The members of the design, each read by itself; of a list each entry, where the whole is spoiled."""
    found, cut = members(text) if text[:1] == "{" else ({}, None)
    raw: dict[str, Any] = {}
    for name, written in found.items():
        raw[name] = value(written)
        if raw[name] is None and written != "null":
            raw[name] = written
            if written[:1] == "[":
                raw[name] = [value(entry) for entry in pieces(written)[0]]
    if cut is not None:
        name, begun = cut
        if begun[:1] == "[":
            # What was cut within is no part: an outline with half its nodes is another outline.
            raw[name] = [value(entry) for entry in pieces(begun)[0]]
        without.append(CUT_SHORT)
    return raw


def _text(made: _Mending, raw: dict[str, Any], name: str) -> None:
    found = raw.pop(name, None)
    if not isinstance(found, str):
        if found is not None:
            made.leave(_IN_THE_FILE[name])
        return
    if len(found) > MOST_TEXT:
        made.leave(f"{name} beyond {MOST_TEXT:,} letters".replace(",", " "))
    made.kept[name] = found[:MOST_TEXT]


def _fields(made: _Mending, kind: type[FilePart], raw: dict[str, Any]) -> None:
    """Fill ``made.kept`` with what of ``raw`` can stand as fields of a design, a kept state or the bench."""
    known = {f.name: f for f in msgspec.structs.fields(kind)}
    hints = get_type_hints(kind)
    stays: dict[str, list[int]] = {}
    # Materials first, which builds name; what is guessed last, which counts the surfaces.
    for name in sorted(raw, key=lambda n: (n != "materials", n == "guessed")):
        found = raw[name]
        if name not in known:
            made.leave(f"“{name[:40]}”, which is not known here")
        elif name == "bench":
            _bench(made, found)
        elif isinstance(found, list) and get_args(hints[name])[1:] == (...,):
            if name == "guessed":
                found = _moved(found, stays)
            inner = get_args(hints[name])[0]
            made.kept[name], stays[name] = _entries(made, name, found, inner)
        else:
            _single(made, name, found)


def _single(made: _Mending, name: str, found: Any) -> None:
    fault = made.fault(name, found)
    for _ in range(_MOST_TRIES):
        if fault is None or "unknown key" not in fault or not _drop(found, _steps(fault)[1:]):
            break
        made.leave(f"“{fault.split(': unknown')[0][:60]}”, which is not known here")
        fault = made.fault(name, found)
    if fault is None:
        made.kept[name] = found
    else:
        made.leave(_called(name), fault)


def _called(name: str) -> str:
    return _IN_THE_FILE.get(name, f"“{name}”")


def _bench(made: _Mending, found: Any) -> None:
    if not isinstance(found, dict):
        made.leave(_called("bench"))
        return
    inner = _Mending(made.without, made.where, lambda name, value: {"bench": {name: value}})
    _fields(inner, Bench, found)
    made.kept["bench"] = inner.kept


def _entries(made: _Mending, name: str, found: list[Any], kind: Any) -> tuple[list[Any], list[int]]:
    """The entries of a list that stand, and which they were."""
    kept: list[Any] = []
    stays: list[int] = []
    ids: set[str] = set()
    nodes = 0
    of_parts = isinstance(kind, type) and issubclass(kind, msgspec.Struct)
    for i, entry in enumerate(found):
        what = f"{_called(name)} {_name(entry, i)}"
        if len(kept) == MOST_PARTS:
            made.leave(f"all of {name} beyond the first {MOST_PARTS}")
            break
        if not (of_parts and isinstance(entry, dict)):
            sound = made.fault(name, [entry]) is None
            if not sound:
                made.leave(what)
        else:
            listed = entry.get("nodes") if name == "outlines" else None
            if isinstance(listed, list) and nodes + len(listed) > MOST_NODES:
                made.leave(what, f"nodes: over {MOST_NODES} in all")
                continue
            part_id = _free_id(entry.get("id"), _called(name), ids)
            if part_id != entry.get("id"):
                made.leave(f"the id of {what}")
                entry["id"] = part_id
            if name == "alternatives":
                sound = _state(made, entry, what)
            else:
                sound = _part(made, name, entry, kind, what)
        if sound:
            kept.append(entry)
            stays.append(i)
            if of_parts:
                ids.add(entry["id"])
                nodes += len(entry["nodes"]) if name == "outlines" else 0
    return kept, stays


def _part(made: _Mending, name: str, entry: dict[str, Any], kind: Any, what: str) -> bool:
    """Whether the entry can stand, if need be without some of its fields."""
    optional = {f.encode_name for f in msgspec.structs.fields(kind) if not f.required}
    for _ in range(_MOST_TRIES):
        fault = made.fault(name, [entry])
        if fault is None:
            return True
        steps = _steps(fault)
        at = next((k for k, step in enumerate(steps) if step == name), len(steps))
        inside = steps[at + 2:]
        if not inside:
            break
        if "unknown key" in fault:
            if not _drop(entry, inside):
                break
            made.leave(f"“{inside[-1][:60]}” of {what}, which is not known here")
        elif inside[0] in optional and inside[0] in entry:
            made.leave(f"{_called(inside[0])} of {what}", fault)
            del entry[inside[0]]
        else:
            break
    else:
        fault = "design: too much of it breaks the rules"
    made.leave(what, fault)
    return False


def _state(made: _Mending, entry: dict[str, Any], what: str) -> bool:
    """The kept state, taken apart like the design itself."""
    inner = _Mending(made.without, f"in {what}: ")
    named = {key: entry.pop(key) for key in ("id", "label") if isinstance(entry.get(key), str)}
    for key in [key for key in entry if key not in STATE]:
        inner.leave(f"“{key[:40]}”")
        del entry[key]
    _fields(inner, Design, entry)
    entry.clear()
    entry.update(named, **inner.kept)
    return True


def _name(entry: Any, i: int) -> str:
    for key in ("label", "file", "id"):
        if isinstance(entry, dict) and isinstance(entry.get(key), str) and entry[key].strip():
            return f"“{entry[key][:40]}”"
    return str(i + 1)


def _free_id(wanted: Any, kind: str, taken: set[str]) -> str:
    if isinstance(wanted, str) and _ID.fullmatch(wanted) and wanted not in taken:
        return wanted
    stem = re.sub(r"[^a-z0-9]+", "-", kind.lower())
    number = 2
    while f"{stem}-{number}" in taken:
        number += 1
    return f"{stem}-{number}"


def _moved(guessed: list[Any], stays: dict[str, list[int]]) -> list[Any]:
    """Places of guessed figures, counted anew where surfaces before them are left out."""
    found = []
    for place in guessed:
        parsed = re.match(r"(wings|tailplanes)\[(\d{1,6})\](.*)", place) if isinstance(place, str) else None
        if parsed is None:
            found.append(place)
        elif int(parsed[2]) in stays.get(parsed[1], []):
            found.append(f"{parsed[1]}[{stays[parsed[1]].index(int(parsed[2]))}]{parsed[3]}")
    return found


def _steps(fault: str) -> list[str]:
    """The place that a sentence begins with, in steps: keys, and ``[n]`` as ``n``."""
    place = re.match(r"(.*)(?=: unknown key)", fault, re.DOTALL) or re.match(r"[\w.\[\]-]+(?=: )", fault)
    return re.findall(r"[^.\[\]]+", place[0]) if place else []


def _drop(found: Any, steps: list[str]) -> bool:
    """Take the key out at this place, and at the same place in every other entry of the lists on the way.

    Whether it was there.
    """
    if isinstance(found, list):
        return bool(sum(_drop(one, steps[1:]) for one in found))
    if not steps or not isinstance(found, dict) or steps[0] not in found:
        return False
    if len(steps) > 1:
        return _drop(found[steps[0]], steps[1:])
    del found[steps[0]]
    return True
