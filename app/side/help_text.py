"""The texts of the help: plain files of few marks, read into pages of sections of blocks.

    # Title of the page
    ## key | Heading of a section
    A paragraph, until an empty line.
    - a point
    = left | right        a row of two columns
    ~ name                a drawing that code paints
    ! name | caption      a picture that was taken of the window

Within a line: [[page/section|words]] leads there, *words* are stressed, **words** more so.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Literal

FOLDER = Path(__file__).with_name("help")
_SPAN = re.compile(r"\[\[([^|\]]+)\|([^\]]+)\]\]|\*\*([^*]+)\*\*|\*([^*]+)\*")


@dataclass(frozen=True)
class Span:
    """A run of words; ``place`` where they lead to."""

    words: str
    place: str = ""
    stress: int = 0


@dataclass(frozen=True)
class Block:
    """A paragraph, a point, a softer line, a row of two columns, a drawing or a picture."""

    what: Literal["words", "point", "soft", "row", "drawing", "picture"]
    spans: tuple[Span, ...] = ()
    name: str = ""
    """Of a drawing or picture; the left column of a row."""

    @property
    def plain(self) -> str:
        """All that is read."""
        name = self.name if self.what == "row" else ""
        return f"{name} {''.join(span.words for span in self.spans)}".strip()


@dataclass(frozen=True)
class Section:
    """A heading and what stands under it."""

    key: str
    heading: str
    blocks: tuple[Block, ...] = ()

    @property
    def plain(self) -> str:
        """All that is read."""
        return " ".join((self.heading, *(block.plain for block in self.blocks)))


@dataclass(frozen=True)
class Page:
    """One page of the help."""

    key: str
    title: str
    sections: tuple[Section, ...] = ()


def spans(text: str) -> tuple[Span, ...]:
    """The runs of a line of text."""
    found, at = [], 0
    for match in _SPAN.finditer(text):
        if match.start() > at:
            found.append(Span(text[at : match.start()]))
        place, words, strong, stressed = match.groups()
        if place:
            found.append(Span(words, place))
        else:
            found.append(Span(strong or stressed, stress=2 if strong else 1))
        at = match.end()
    if at < len(text):
        found.append(Span(text[at:]))
    return tuple(found)


def _block(line: str) -> Block:
    mark, rest = line[:2], line[2:]
    left, _, right = (part.strip() for part in rest.partition("|"))
    if mark == "- ":
        return Block("point", spans(rest))
    if mark == "= ":
        return Block("row", spans(right), left)
    if mark == "~ ":
        return Block("drawing", name=rest.strip())
    if mark == "! ":
        return Block("picture", spans(right), left)
    return Block("words", spans(line))


def sections(text: str) -> tuple[Section, ...]:
    """The sections of a text; what stands before the first ``##`` is not among them."""
    found: list[Section] = []
    for line in filter(None, map(str.strip, text.splitlines())):
        if line.startswith("## "):
            key, _, heading = (part.strip() for part in line[3:].partition("|"))
            found.append(Section(key, heading))
        elif found:
            last = found[-1]
            found[-1] = Section(last.key, last.heading, (*last.blocks, _block(line)))
    return tuple(found)


@lru_cache(maxsize=8)
def page(key: str) -> Page:
    """The page of that name, as its file has it."""
    text = (FOLDER / f"{key}.txt").read_text("utf-8")
    title = next((line[2:].strip() for line in text.splitlines() if line.startswith("# ")), "")
    return Page(key, title, sections(text))
