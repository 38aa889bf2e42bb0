"""Regions made ready to be asked often: the one door for it.

What the library keeps with a prepared geometry changes while it is asked, and two threads that ask the
same one end the program. Outlines, parts and pages are shared by all threads; so each has copies of its own.
"""

from __future__ import annotations

import threading
from typing import TypeVar, cast

import shapely
from shapely.geometry.base import BaseGeometry

from core.geometry.memo import IdentityMemo

_KEPT = 64
G = TypeVar("G", bound=BaseGeometry)


class _Here(threading.local):
    def __init__(self) -> None:
        self.copies: IdentityMemo[BaseGeometry] = IdentityMemo(_KEPT)


_here = _Here()


def prepared(region: G) -> G:
    """``region`` as this thread alone may ask it, quickly and often; kept by identity, the last few."""
    return cast(G, _here.copies.get((region,), lambda: _prepared_copy(region)))


def keep_prepared(most: int) -> None:
    """Have room, in this thread, for so many regions that are asked in turn."""
    _here.copies.at_least(most)


def _prepared_copy(region: BaseGeometry) -> BaseGeometry:
    copy = shapely.from_wkb(shapely.to_wkb(region))
    shapely.prepare(copy)
    return copy
