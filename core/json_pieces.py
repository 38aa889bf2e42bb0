"""JSON that may be cut short or spoiled in places: what of it is whole."""

from __future__ import annotations

import json
import re
from typing import Any

# A lone quotation mark opens a text that never ends.
_TOKEN = re.compile(r'"[^"\\]*(?:\\.[^"\\]*)*"|["{}\[\],]', re.DOTALL)
_MEMBER = re.compile(r'\s*("[^"\\]*(?:\\.[^"\\]*)*")\s*:(.*)', re.DOTALL)
_CLOSES = {"}": "{", "]": "["}
_HALF = re.compile(r"\\u[dD][89a-fA-F]")
_MOST_DIGITS = 18


def pieces(text: str) -> tuple[list[str], str | None]:
    """(whole, cut): what stands between the commas of the object or list that ``text`` begins with.

    ``cut``: what comes after the last whole piece where the object or list does not end, else None.
    """
    whole: list[str] = []
    opened: list[str] = []
    begin = 1
    for token in _TOKEN.finditer(text):
        mark = token[0]
        if mark in "{[":
            opened.append(mark)
        elif mark in _CLOSES:
            if not opened or opened.pop() != _CLOSES[mark]:
                break
            if not opened:
                last = text[begin : token.start()]
                return ([*whole, last] if last.strip() else whole), None
        elif mark == "," and len(opened) == 1:
            whole.append(text[begin : token.start()])
            begin = token.end()
        elif mark == '"':
            break
    return whole, text[begin:]


def members(text: str) -> tuple[dict[str, str], tuple[str, str] | None]:
    """(whole, cut): the members of the object that ``text`` begins with, as they are written, by name.

    ``cut``: name and beginning of the member in which the object breaks off, else None; the name is
    empty where it breaks off between two. Of a name that is there twice the last counts.
    """
    whole, cut = pieces(text)
    found: dict[str, str] = {}
    for piece in whole:
        named = _named(piece)
        if named is not None:
            found[named[0]] = named[1]
    return found, None if cut is None else _named(cut) or ("", "")


def _named(piece: str) -> tuple[str, str] | None:
    parsed = _MEMBER.match(piece)
    name = value(parsed[1]) if parsed else None
    return (name, parsed[2].strip()) if parsed and isinstance(name, str) else None


def value(text: str) -> Any:
    """What ``text`` says; None where it is no JSON. Half characters become question marks."""
    try:
        found = json.loads(text, parse_int=_whole, strict=False)
        if _HALF.search(text):
            found = json.loads(json.dumps(found, ensure_ascii=False).encode("utf-8", "replace"))
    except (ValueError, RecursionError):
        return None
    return found


def _whole(digits: str) -> int | float:
    return int(digits) if len(digits) <= _MOST_DIGITS else float("inf")
