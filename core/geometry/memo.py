"""Results kept by the identity of what they were computed from.

Designs share what did not change, so ``is`` tells exactly which results still hold; hashing sixty
nodes at every mouse move would cost more than most of the results themselves.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from functools import wraps
from typing import Generic, TypeVar

from core.geometry.stopping import may_stop

Of = TypeVar("Of")
T = TypeVar("T")


def kept(compute: Callable[[Of], T]) -> Callable[[Of], T]:
    """Decorates a function of one value that is never changed: its result stays with the value.

    For values that live no longer than what is read from them. Of what undo holds a thousandfold,
    outlines and surfaces, results are kept in a store with a bound instead.
    """
    name = f"{compute.__module__}.{compute.__qualname__}"

    @wraps(compute)
    def found(value: Of) -> T:
        results = vars(value)
        # Two threads may both compute the same, which costs time and harms nothing.
        if name not in results:
            results[name] = compute(value)
        result: T = results[name]
        return result

    return found


class IdentityMemo(Generic[T]):
    """A least-recently-used store whose keys are objects compared by identity.

    The objects are held while their result is, so an id is never reused under us. Curves are
    computed beside the window, so it may be asked by several threads.
    """

    def __init__(self, most: int = 512) -> None:
        self._most = most
        self._kept: OrderedDict[Hashable, tuple[tuple[object, ...], T]] = OrderedDict()
        self._lock = threading.Lock()

    def at_least(self, most: int) -> None:
        """Have room for so many results from here on: a design of many parts needs as many at once."""
        self._most = max(self._most, most)

    def get(self, objects: tuple[object, ...], compute: Callable[[], T], extra: Hashable = None) -> T:
        """The result for ``objects`` (and the hashable ``extra``), computed once."""
        key = (tuple(map(id, objects)), extra)
        with self._lock:
            found = self._kept.get(key)
            if found is not None:
                self._kept.move_to_end(key)
                return found[1]
        may_stop()
        # Outside the lock: what is computed may ask this store again, and two threads may both
        # compute the same, which costs time and harms nothing.
        value = compute()
        with self._lock:
            self._kept[key] = (objects, value)
            if len(self._kept) > self._most:
                self._kept.popitem(last=False)
        return value
