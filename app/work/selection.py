"""What is picked out on the canvas. It never lives in the design."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from core.design import Design

NodeKey = tuple[str, int]


@dataclass(frozen=True)
class Selection:
    """Outlines by id, nodes by (outline id, index), at most one edge likewise; or else one weight by id."""

    outlines: tuple[str, ...] = ()
    nodes: frozenset[NodeKey] = frozenset()
    edge: NodeKey | None = None
    weight: str | None = None

    def nodes_of(self, outline_id: str) -> list[int]:
        """Indices of the selected nodes of one outline, rising."""
        return sorted(index for owner, index in self.nodes if owner == outline_id)

    def owners_with(self, outline_id: str, *, toggle: bool = False) -> tuple[str, ...]:
        """The selected outlines with one more; ``toggle`` takes it out where it is among them."""
        if outline_id in self.outlines:
            return tuple(o for o in self.outlines if o != outline_id) if toggle else self.outlines
        return (*self.outlines, outline_id)

    def within(self, design: Design) -> Selection:
        """What of the selection still exists in ``design``."""
        sizes = {o.id: len(o.nodes) for o in design.outlines}
        edge = self.edge
        return Selection(
            tuple(o for o in self.outlines if o in sizes),
            frozenset(n for n in self.nodes if n[1] < sizes.get(n[0], 0)),
            edge if edge and edge[1] < sizes.get(edge[0], 0) else None,
            self.weight if any(w.id == self.weight for w in design.weights) else None,
        )


NOTHING = Selection()


class Picked:
    """The selection in force and who listens to it."""

    def __init__(self) -> None:
        self._now = NOTHING
        self._listeners: list[Callable[[Selection], None]] = []

    @property
    def now(self) -> Selection:
        """The selection."""
        return self._now

    def set(self, selection: Selection) -> None:
        """Select; listeners hear only of a change."""
        if selection != self._now:
            self._now = selection
            for listener in tuple(self._listeners):
                listener(selection)

    def listen(self, listener: Callable[[Selection], None]) -> Callable[[], None]:
        """Have ``listener`` called after every change, until what is returned is called."""
        self._listeners.append(listener)
        return lambda: self._listeners.remove(listener) if listener in self._listeners else None
