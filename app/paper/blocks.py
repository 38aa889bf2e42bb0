"""Blocks of a page, one under the other, and how they are shared out over pages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

P = TypeVar("P")
"""What paints a block."""


@dataclass(frozen=True)
class Block(Generic[P]):
    """So much height of a page, in mm; ``with_next``: never the last on a page.

    ``head``: what a page that begins with this block shows again above it.
    """

    height: float
    paint: P
    with_next: bool = False
    head: Block[P] | None = None


def share_out(blocks: Sequence[Block[P]], room: float) -> list[list[Block[P]]]:
    """The blocks page by page; those that go with the next stay with it."""
    pages: list[list[Block[P]]] = [[]]
    used, at = 0.0, 0
    while at < len(blocks):
        end = at
        while blocks[end].with_next and end + 1 < len(blocks):
            end += 1
        group = blocks[at : end + 1]
        tall = sum(block.height for block in group)
        if pages[-1] and used + tall > room:
            again = group[0].head
            pages.append([again] if again is not None else [])
            used = again.height if again is not None else 0.0
        pages[-1].extend(group)
        used += tall
        at = end + 1
    return pages
