"""Words of an error made a sentence to be shown."""

from __future__ import annotations


def as_sentence(words: str) -> str:
    """``words`` with a capital and a full stop; a name or a place in a file keeps its own letters."""
    words = words.strip()
    if not words:
        return ""
    if words.split(" ", 1)[0].isalpha():
        words = words[0].upper() + words[1:]
    return words + ("" if words[-1] in ".!?" else ".")
