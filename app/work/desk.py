"""What parts of the window are given of it: the work in hand, and a way to say something."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.work.document import Document
from app.work.readout import Readout
from app.work.selection import Picked

if TYPE_CHECKING:
    from app.scans.shelf import Shelf


@dataclass(frozen=True, eq=False)
class Desk:
    """The document, its readings, what is picked, the decoded scans, and the line for the person."""

    document: Document
    readout: Readout
    picked: Picked
    shelf: Shelf
    say: Callable[[str], None]
    undo: Callable[[], None]
    redo: Callable[[], None]
