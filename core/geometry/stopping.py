"""Giving up a long computation from inside: what the innermost loops ask now and then.

Regions are united, cut and measured a hundred calls below whoever knows that the result is no longer
wanted. Handed down through all of them, the question would stand in every signature of the geometry and
of the readings; so it stands with the thread that computes, and for the time of one ``with`` alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

_asked: ContextVar[Callable[[], None] | None] = ContextVar("asked", default=None)


@contextmanager
def stopped_by(ask: Callable[[], None]) -> Iterator[None]:
    """Within it, in this thread, ``may_stop`` calls ``ask``, which may raise whatever is to come out."""
    before = _asked.set(ask)
    try:
        yield
    finally:
        _asked.reset(before)


def may_stop() -> None:
    """A place where a computation may be given up; nothing half done may be kept across it."""
    ask = _asked.get()
    if ask is not None:
        ask()
