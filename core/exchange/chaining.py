"""Loose pieces of a drawing joined end to end into rows."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from core.exchange.closed import Piece

Row = list[Piece]

REACH = 0.01
"""mm: ends nearer than this meet."""


def reversed_row(row: Sequence[Piece]) -> Row:
    """The same row run the other way."""
    return [(d, c, b, a) for a, b, c, d in reversed(row)]


def is_closed(row: Sequence[Piece]) -> bool:
    """Whether the row ends where it begins."""
    return abs(row[-1][3] - row[0][0]) <= REACH


def chained(rows: Sequence[Row]) -> list[Row]:
    """The rows with those that meet at their ends made one; what is closed already is left alone.

    Where more than two ends meet, the first drawn is taken.
    """
    done = [list(row) for row in rows if row and is_closed(row)]
    loose = [row for row in rows if row and not is_closed(row)]
    ends: dict[tuple[int, int], list[int]] = defaultdict(list)
    # From the last to the first, so that what is used up can be dropped from the end of a list.
    for i in range(len(loose) - 1, -1, -1):
        for p in (loose[i][0][0], loose[i][-1][3]):
            ends[_cell(p)].append(i)
    free = set(range(len(loose)))

    def next_at(p: complex) -> Row | None:
        """The free row that begins at ``p``, turned round where it ends there."""
        for i in _near(p, ends, free):
            row = loose[i]
            if abs(row[0][0] - p) <= REACH:
                free.discard(i)
                return row
            if abs(row[-1][3] - p) <= REACH:
                free.discard(i)
                return reversed_row(row)
        return None

    for i in range(len(loose)):
        if i not in free:
            continue
        free.discard(i)
        chain = list(loose[i])
        for _ in range(2):
            while not is_closed(chain):
                more = next_at(chain[-1][3])
                if more is None:
                    break
                chain += more
            if is_closed(chain):
                break
            chain = reversed_row(chain)
        done.append(chain)
    return done


def _cell(p: complex) -> tuple[int, int]:
    return round(p.real / REACH), round(p.imag / REACH)


def _near(p: complex, ends: dict[tuple[int, int], list[int]], free: set[int]) -> Iterator[int]:
    u, v = _cell(p)
    for cell in [(u, v), *((u + du, v + dv) for du in (-1, 0, 1) for dv in (-1, 0, 1) if du or dv)]:
        here = ends.get(cell, [])
        while here and here[-1] not in free:
            here.pop()
        yield from (i for i in reversed(here) if i in free)
