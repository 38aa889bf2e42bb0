"""What the document tells of, and the proposal that lies over it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from core.design import Design

What = Literal["design", "preview", "proposal", "file", "trace"]
Edit = Callable[[Design], Design]


@dataclass(frozen=True)
class Change:
    """What happened: a committed ``design``, a ``preview`` of one, or another ``file`` or saved state.

    ``name`` is that of the edit; of a ``file`` it is "opened", "saved" or "recovered". With ``proposal``
    the committed design stands as it was: the name is "shown", "set aside", or "let be" where it is not
    wanted any more. With ``trace`` the half-drawn outline is another.
    """

    what: What
    origin: str
    name: str = ""


@dataclass(frozen=True, eq=False)
class Proposal:
    """A change that a window shows and nobody has done yet; ``name`` is what undo would call it."""

    design: Design
    name: str

    @property
    def words(self) -> str:
        """What the window says while it is on view."""
        return f"Proposal, not done yet – {self.name}"


Listener = Callable[[Change], None]
