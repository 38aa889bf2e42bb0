"""What is said about parts: what cannot be made, what to mind, and lengths told in the builder's units.

Parts are kept whatever the units; so a length stands in mm before a no-break space until it is shown.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from core.design import DisplayUnits
from core.units import format_length


class Remark(str):
    """A sentence about how something is made that the builder should know: nothing is wrong with it."""

    __slots__ = ()


_LENGTH = re.compile(r"(\d+(?:\.\d+)?)\u00a0mm")


def length(mm: float) -> str:
    """A length in mm within a sentence, as ``told`` finds it."""
    return f"{mm:.1f}".removesuffix(".0") + "\u00a0mm"


def told(sentence: str, units: DisplayUnits) -> str:
    """A sentence with the lengths that ``length`` wrote told in ``units``; a builder's own words stay."""
    return _LENGTH.sub(lambda found: format_length(float(found[1]), units), sentence)


def parted(sentences: Iterable[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """(what cannot be made, what to mind) of sentences about parts, each once."""
    every = tuple(dict.fromkeys(sentences))
    return (
        tuple(one for one in every if not isinstance(one, Remark)),
        tuple(one for one in every if isinstance(one, Remark)),
    )
