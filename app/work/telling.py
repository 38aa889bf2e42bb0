"""Telling several of a change, so that one who fails does not leave the others with what was. No Qt."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

T = TypeVar("T")


def tell_all(listeners: Iterable[Callable[[T], object]], change: T) -> None:
    """Call every listener; what the first of those that failed raised is raised afterwards."""
    failed: Exception | None = None
    for listener in tuple(listeners):
        try:
            listener(change)
        except Exception as error:
            if failed is None:
                failed = error
            else:
                failed.add_note(f"and then: {error!r}")
    if failed is not None:
        raise failed
