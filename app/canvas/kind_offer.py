"""The kind that the next outline gets: what the builder chose, or what the design lacks."""

from __future__ import annotations

from collections.abc import Callable

from app.work.document import Document
from core.kinds import OTHER, Kind
from core.redesign.next_kind import Choice, chosen, kind_after, next_kind, traced


class KindOffer:
    """Read off the committed design each time it is asked; a half-drawn outline stays what it is."""

    def __init__(self, document: Document, drawing: Callable[[], bool]) -> None:
        self._document, self._drawing = document, drawing
        self._choice: Choice | None = None
        self._kind = next_kind(document.committed, None)

    @property
    def kind(self) -> Kind:
        """What the next outline is, or the one that is being drawn."""
        if not self._drawing():
            self._kind = next_kind(self._document.committed, self._choice)
        return self._kind

    @property
    def then(self) -> str:
        """What comes after it, in a few words."""
        if self._choice is not None and self._choice.stays:
            return "until you choose another kind"
        after = kind_after(self._document.committed, self.kind)
        return "then what else there is" if after == OTHER else f"then {after}"

    def choose(self, kind: Kind) -> None:
        """The builder chose a kind, for what is being drawn if anything is."""
        self._choice = chosen(self._document.committed, self._choice, kind)
        self._kind = kind

    def go_on_with(self, kind: Kind) -> None:
        """What is half drawn, begun as that kind, is gone on with."""
        self._kind = kind

    def traced(self, outline_id: str) -> None:
        """An outline was closed."""
        self._choice = traced(self._document.committed, self._choice, outline_id)

    def forget(self) -> None:
        """Another design is taken up: what was chosen was meant for the one before."""
        self._choice = None
