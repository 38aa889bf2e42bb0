"""All pages of the help: those of the files, readings from their catalogue, keys from their actions."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMenu

from app.canvas.tools.hand import Hand
from app.kit.cautions import CAUTIONS, WORKSHOP
from app.side.help_drawings import DRAWINGS, READING_DRAWINGS
from app.side.help_text import FOLDER, Block, Page, Section, Span, page, sections, spans
from core.stability.catalogue import TERMS, Spec
from core.stability.meanings import MEANINGS
from core.stability.wording import range_words


def pages(menus: Sequence[tuple[str, QMenu]], hands: Mapping[str, Hand]) -> tuple[Page, ...]:
    """The pages in their order."""
    return page("method"), page("steps"), _words(), _trust(), keys_page(menus, hands)


def found_in(all_pages: Iterable[Page], asked: str) -> list[tuple[Page, Section]]:
    """The sections in which every word of ``asked`` stands, those with it in the heading first."""
    wanted = asked.casefold().split()
    hits = [
        (part, section) for part in all_pages for section in part.sections
        if all(word in section.plain.casefold() for word in wanted)
    ]
    return sorted(hits, key=lambda hit: not all(word in hit[1].heading.casefold() for word in wanted))


# Words


def _words() -> Page:
    terms = page("words")
    drawn = (
        replace(s, blocks=(Block("drawing", name=s.key), *s.blocks)) if s.key in DRAWINGS else s
        for s in terms.sections
    )
    return Page(terms.key, terms.title, (*drawn, *map(_reading, TERMS.values())))


def _reading(spec: Spec) -> Section:
    lines = [Block("words", spans(MEANINGS[spec.key]))]
    lines.append(_soft(f"{spec.label} = {spec.formula}"))
    usual = range_words(spec)
    lines.append(_soft(f"Kind of source: {spec.source}." + (f" {usual}" if usual else "")))
    return Section(spec.key, spec.label, (Block("drawing", name=READING_DRAWINGS[spec.key]), *lines))


def _soft(text: str) -> Block:
    """A line as it is: no mark of ours is looked for in a formula."""
    return Block("soft", (Span(text),))


# How far to trust it


def _trust() -> Page:
    made = page("trust")
    *others, last = made.sections
    told = tuple(Block("point", (Span(words),)) for words in (*CAUTIONS, *WORKSHOP))
    return replace(made, sections=(*others, replace(last, blocks=(*last.blocks, *told))))


# Keys


def keys_page(menus: Sequence[tuple[str, QMenu]], hands: Mapping[str, Hand]) -> Page:
    """What every key does, asked of the actions and hands themselves, and what the mouse does."""
    taken = tuple(
        Block("row", (Span(f"{hand.label}: {hand.tip[:1].lower()}{hand.tip[1:]}"),), hand.letter)
        for hand in hands.values() if hand.letter
    )
    letters = {hand.letter for hand in hands.values()}
    mouse = sections((FOLDER / "gestures.txt").read_text("utf-8"))
    parts = [Section("hands", "Hands", taken)]
    for title, menu in menus:
        rows = tuple(row for row in _key_rows(menu) if row.name not in letters)
        if rows:
            parts.append(Section(f"menu-{title.lower()}", f"{title} menu", rows))
    return Page("keys", "Keys", (*parts, *mouse))


def _key_rows(menu: QMenu) -> Iterable[Block]:
    for action in menu.actions():
        inner = action.menu()
        if isinstance(inner, QMenu):
            yield from _key_rows(inner)
        elif keys := keys_of(action):
            yield Block("row", (Span(_words_of(action)),), keys)


def _words_of(action: QAction) -> str:
    words = action.property("words")
    return bare(words if isinstance(words, str) else action.text()).rstrip("…")


def keys_of(action: QAction) -> str:
    """The keys of an action as this system writes them."""
    native = QKeySequence.SequenceFormat.NativeText
    return ", ".join(keys.toString(native) for keys in action.shortcuts())


def bare(words: str) -> str:
    """The words of an action without the mark of its letter."""
    return words.replace("&&", "\0").replace("&", "").replace("\0", "&")
