"""The one door: the design in hand, its previews, undo, and its file.

No Qt in here: a listener is any callable. A gesture begins, previews as often as it likes, and is
committed or aborted; only a commit is undone, saved or counted as unsaved work.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from msgspec.structs import replace

from core.design import EMPTY, Design
from core.design_file import DesignFileError, read, write

What = Literal["design", "preview", "file"]
Edit = Callable[[Design], Design]


@dataclass(frozen=True)
class Change:
    """What happened: a committed ``design``, a ``preview`` of one, or another ``file`` or saved state.

    ``name`` is that of the edit; of a ``file`` it is "opened", "saved" or "recovered".
    """

    what: What
    origin: str
    name: str = ""


Listener = Callable[[Change], None]


class Document:
    """Holds the design. All edits pass through here."""

    def __init__(self, design: Design = EMPTY) -> None:
        self._committed = design
        self._shown = design
        self._saved: Design | None = design
        self._gesture: str | None = None
        self._done: list[tuple[str, Design]] = []
        self._undone: list[tuple[str, Design]] = []
        self._listeners: list[Listener] = []
        self.pictures: dict[str, bytes] = {}
        self.path: Path | None = None
        self.troubles: tuple[str, ...] = ()

    # What is held

    @property
    def design(self) -> Design:
        """The design as it is shown now, a preview included."""
        return self._shown

    @property
    def committed(self) -> Design:
        """The design without any gesture under way."""
        return self._committed

    @property
    def dirty(self) -> bool:
        """Whether there is work that is not in the file."""
        return self._committed is not self._saved and self._committed != self._saved

    @property
    def name(self) -> str:
        """What to call it in the title of a window."""
        return self.path.name if self.path else self._committed.title

    @property
    def undo_name(self) -> str | None:
        """What undo would take back, for the menu; None where there is nothing."""
        return self._done[-1][0] if self._done else None

    @property
    def redo_name(self) -> str | None:
        """What redo would do again; None where there is nothing."""
        return self._undone[-1][0] if self._undone else None

    def listen(self, listener: Listener) -> Callable[[], None]:
        """Have ``listener`` called after every change, until what is returned is called."""
        self._listeners.append(listener)
        return lambda: self._listeners.remove(listener) if listener in self._listeners else None

    def _tell(self, what: What, origin: str, name: str = "") -> None:
        change = Change(what, origin, name)
        for listener in tuple(self._listeners):
            listener(change)

    # Edits

    def apply(self, name: str, edit: Edit, origin: str = "") -> None:
        """One edit, committed at once. An edit that changes nothing leaves no trace in undo."""
        self.abort(origin)
        self._commit(name, edit(self._committed), origin)

    def begin(self, name: str) -> None:
        """A gesture begins; one that is still under way is committed first."""
        if self._gesture is not None:
            self.commit()
        self._gesture = name

    def preview(self, design: Design, origin: str = "") -> None:
        """Show ``design`` while the gesture lasts. RuntimeError outside of one."""
        if self._gesture is None:
            raise RuntimeError("a preview needs a gesture: call begin first")
        if design is not self._shown:
            self._shown = design
            self._tell("preview", origin, self._gesture)

    def commit(self, origin: str = "") -> None:
        """The gesture ends; what it shows becomes one entry of undo."""
        if self._gesture is None:
            return
        name, self._gesture = self._gesture, None
        self._commit(name, self._shown, origin)

    def abort(self, origin: str = "") -> None:
        """The gesture ends as if it had never begun."""
        if self._gesture is None:
            return
        self._gesture = None
        if self._shown is not self._committed:
            self._shown = self._committed
            self._tell("design", origin)

    @property
    def busy(self) -> bool:
        """Whether a gesture is under way."""
        return self._gesture is not None

    def _commit(self, name: str, design: Design, origin: str) -> None:
        if design == self._committed:
            if self._shown is not self._committed:
                self._shown = self._committed
                self._tell("design", origin)
            return
        self._done.append((name, self._committed))
        self._undone.clear()
        self._committed = self._shown = design
        self._tell("design", origin, name)

    def undo(self, origin: str = "") -> None:
        """Take the last entry back; a gesture under way is aborted instead."""
        if self._gesture is not None:
            self.abort(origin)
        elif self._done:
            name, before = self._done.pop()
            self._undone.append((name, self._committed))
            self._committed = self._shown = before
            self._tell("design", origin, name)

    def redo(self, origin: str = "") -> None:
        """Do again what was undone last."""
        if self._gesture is None and self._undone:
            name, after = self._undone.pop()
            self._done.append((name, self._committed))
            self._committed = self._shown = after
            self._tell("design", origin, name)

    # The file

    def start(
        self, design: Design, pictures: dict[str, bytes] | None = None, path: Path | None = None,
        troubles: tuple[str, ...] = (),
    ) -> None:
        """Take up another design; undo begins anew and nothing is unsaved."""
        self._gesture = None
        self._committed = self._shown = self._saved = design
        self._done.clear()
        self._undone.clear()
        self.pictures = dict(pictures or {})
        self.path = path
        self.troubles = troubles
        self._tell("file", "document", "opened")

    def open(self, path: Path) -> None:
        """Take up the design at ``path``. DesignFileError, with nothing changed, where it is at fault."""
        found = read(path)
        self.start(found.design, dict(found.pictures), path, found.troubles)

    def save(self, path: Path | None = None) -> None:
        """Write the design, to its own file or to ``path``. DesignFileError leaves all as it was."""
        target = path or self.path
        if target is None:
            raise DesignFileError(["the design has no file yet; choose a name"])
        self.commit()
        design = self._committed
        if path is not None and self.path is None and design.title == EMPTY.title:
            design = replace(design, title=path.stem)
        write(target, design, self.pictures)
        if design is not self._committed:
            # Undo takes back edits, not the name that saving gave.
            self._done = [(name, _titled(d, design.title)) for name, d in self._done]
            self._undone = [(name, _titled(d, design.title)) for name, d in self._undone]
        self.path = target
        self._saved = self._committed = self._shown = design
        self._tell("file", "document", "saved")

    def mark_unsaved(self) -> None:
        """Regard the design as unsaved whatever it is: it came back from recovery."""
        self._saved = None
        self._tell("file", "document", "recovered")

    def revert(self) -> None:
        """Back to what the file holds. DesignFileError, with nothing changed, where it cannot be read."""
        if self.path is not None:
            self.open(self.path)

    def free_picture_name(self, wanted: str) -> str:
        """``wanted``, or a name made from it that no picture of this design bears yet."""
        stem, dot, ending = wanted.rpartition(".")
        if not dot:
            stem, ending = wanted, ""
        stem = "".join(c if c.isalnum() or c in "-_ ()" else "-" for c in stem)[:80].strip() or "scan"
        ending = "".join(c for c in ending if c.isalnum())[:10]
        dot = "." if ending else ""
        # A scan whose picture is missing still holds its name: another picture must not slip in under it.
        taken = {"design.json", *self.pictures, *(scan.file for scan in self._shown.scans)}
        name, number = f"{stem}{dot}{ending}", 2
        while name in taken:
            name = f"{stem}-{number}{dot}{ending}"
            number += 1
        return name


def _titled(design: Design, title: str) -> Design:
    return replace(design, title=title) if design.title == EMPTY.title else design
