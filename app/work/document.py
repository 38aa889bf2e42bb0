"""The one door: the design in hand, what is shown over it, undo, and its file.

No Qt in here: a listener is any callable. Over the committed design lie two layers. A *gesture* of
mouse or keys begins, previews as often as it likes, and is committed or aborted. A *proposal* is
what a window shows and nobody has done yet: it is accepted or withdrawn. One at a time: whatever is
begun or applied withdraws the proposal, so that nothing is ever built upon it. Only what is committed
is undone, saved, or leaves the program in any other way.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from msgspec.structs import replace

from app.work.change import Change as Change
from app.work.change import Edit as Edit
from app.work.change import Listener, What
from app.work.change import Proposal as Proposal
from app.work.half_trace import HalfTrace, Holder
from app.work.held_pictures import HeldPictures
from app.work.saving import Opening as Opening
from app.work.saving import Saving as Saving
from app.work.stamp import Stamp, path_of, stamp_of
from app.work.telling import tell_all
from core.design import EMPTY, Design
from core.design_beside import with_names
from core.design_check import broken_by
from core.design_file import DesignFileError
from core.plain_names import whole_text
from core.redesign.outline_edits import EditError

MOST_UNDONE = 1000
"""Entries of undo: an evening's tracing has a few hundred. Designs share what did not change."""


class Document:
    """Holds the design. All edits pass through here."""

    def __init__(self, design: Design = EMPTY) -> None:
        self._committed = design
        self._preview = design
        """What the gesture under way shows; outside of one the committed design."""
        self._proposal: Proposal | None = None
        self._saved: Design | None = design
        self._gesture: str | None = None
        self._lasting = False
        self._renamed: Mapping[str, str] = {}
        """Scans that saving renamed while the gesture was under way."""
        self._done: list[tuple[str, Design]] = []
        self._undone: list[tuple[str, Design]] = []
        self._listeners: list[Listener] = []
        self.refused: Callable[[str], None] = _raise
        """Told a sentence where an edit made what no file may hold; the design is as it was."""
        self.pictures = HeldPictures()
        self.path: Path | None = None
        self._stamp: Stamp | None = None
        self.troubles: tuple[str, ...] = ()
        self.holder: Holder | None = None
        """Who holds what is half drawn."""

    # What is held

    @property
    def design(self) -> Design:
        """The design that is on view: what a gesture or a proposal shows, or else the committed one."""
        return self._proposal.design if self._proposal is not None else self._preview

    @property
    def edited(self) -> Design:
        """What hands and fields work on: the design with the gesture under way, never a proposal."""
        return self._preview

    @property
    def committed(self) -> Design:
        """The design without any gesture under way, and without a proposal."""
        return self._committed

    @property
    def proposal(self) -> Proposal | None:
        """The proposal that is on view, if any."""
        return self._proposal

    @property
    def dirty(self) -> bool:
        """Whether there is work that is not in the file."""
        return self._committed is not self._saved and self._committed != self._saved

    @property
    def trace(self) -> HalfTrace | None:
        """The outline that is half drawn, in no file until it is closed; None where none is."""
        return self.holder.half() if self.holder is not None else None

    def trace_changed(self, origin: str) -> None:
        """What is half drawn is another now."""
        self._tell("trace", origin)

    @property
    def name(self) -> str:
        """What to call it in the title of a window."""
        return self.path.name if self.path else self._committed.title

    @property
    def undo_name(self) -> str | None:
        """What undo would take back, for the menu; None where there is nothing."""
        if self._proposal is not None:
            return "the proposal"
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
        tell_all(self._listeners, Change(what, origin, name))

    # Edits

    def apply(self, name: str, edit: Edit, origin: str = "") -> None:
        """One edit, committed at once. An edit that changes nothing leaves no trace in undo.

        A gesture under way is dropped, one that lasts is committed first; a proposal is withdrawn.
        """
        self.settle(origin)
        self.abort(origin)
        self.withdraw(origin)
        self._commit(name, edit(self._committed), origin)

    def begin(self, name: str, *, lasting: bool = False) -> None:
        """A gesture begins; one that is still under way is committed first, a proposal is withdrawn.

        ``lasting``: each of its steps is meant as it stands, such as a run of nudges that becomes one
        entry of undo; whatever else is done meanwhile does not drop it.
        """
        if self._gesture is not None:
            self.commit()
        self.withdraw()
        self._gesture, self._lasting = name, lasting
        self._renamed = {}

    def preview(self, design: Design, origin: str = "") -> None:
        """Show ``design`` while the gesture lasts. RuntimeError outside of one."""
        if self._gesture is None:
            raise RuntimeError("a preview needs a gesture: call begin first")
        if design is not self._preview:
            self._preview = design
            self._tell("preview", origin, self._gesture)

    def commit(self, origin: str = "") -> None:
        """The gesture ends; what it shows becomes one entry of undo."""
        if self._gesture is None:
            return
        name, self._gesture, self._lasting = self._gesture, None, False
        # Saving may have named the design while the hand had it.
        named = with_names(self._preview, self._renamed)
        self._commit(name, _titled(named, self._committed.title), origin)

    def abort(self, origin: str = "") -> None:
        """The gesture ends as if it had never begun."""
        if self._gesture is None:
            return
        self._gesture, self._lasting = None, False
        if self._preview is not self._committed:
            self._preview = self._committed
            self._tell("design", origin)

    @property
    def busy(self) -> bool:
        """True if a gesture is under way; a proposal is none."""
        return self._gesture is not None

    def settle(self, origin: str = "") -> None:
        """Commit a gesture whose every step is meant as it stands; any other goes on."""
        if self._lasting:
            self.commit(origin)

    def propose(self, design: Design, name: str, origin: str = "") -> Proposal | None:
        """Put ``design`` on view as a proposal, in place of another; ``name`` is for undo.

        None, with nothing on view, where a gesture is under way: one that lasts is committed, and then
        the proposal was made from another design; any other goes on.
        """
        if self._gesture is not None:
            self.settle()
            return None
        self._proposal = proposal = Proposal(design, name)
        self._tell("proposal", origin, "shown")
        return proposal

    def withdraw(self, origin: str = "", *, for_good: bool = False) -> None:
        """Take the proposal off view; ``for_good`` where it is not wanted, not only in the way."""
        if self._proposal is not None:
            self._proposal = None
            self._tell("proposal", origin, "let be" if for_good else "set aside")

    def accept(self, origin: str = "") -> None:
        """The proposal is done: one entry of undo. Nothing where there is none."""
        proposal = self._proposal
        if proposal is None:
            return
        if proposal.design == self._committed:
            self.withdraw(origin, for_good=True)
            return
        self._proposal = None
        self._commit(proposal.name, proposal.design, origin)

    def _commit(self, name: str, design: Design, origin: str) -> None:
        if design == self._committed:
            if self._preview is not self._committed:
                self._preview = self._committed
                self._tell("design", origin)
            return
        if (why := broken_by(self._committed, design)) is not None:
            self._preview = self._committed
            self._tell("design", origin)
            self.refused(f"{name[:1].upper()}{name[1:]} was not done – {why}")
            return
        self._done.append((name, self._committed))
        self._undone.clear()
        self._committed = self._preview = design
        if len(self._done) > MOST_UNDONE:
            del self._done[0]
            # Now that the new design is there: the picture of a scan that has just come is named by it.
            self._forget_pictures()
        self.pictures.rest(design)
        self._tell("design", origin, name)

    def _forget_pictures(self) -> None:
        """Let go of the pictures of scans that no undo brings back."""
        if len(self.pictures.names) > len(self._committed.scans):
            scans = {id(d.scans): d.scans for d in (self._committed, *(d for _, d in self._done))}
            self.pictures.keep_only({scan.file for group in scans.values() for scan in group})

    def undo(self, origin: str = "") -> None:
        """Take the last entry back; a gesture under way is aborted instead, a proposal withdrawn."""
        if self._gesture is not None:
            self.abort(origin)
        elif self._proposal is not None:
            self.withdraw(origin, for_good=True)
        elif self._done:
            name, before = self._done.pop()
            self._undone.append((name, self._committed))
            self._committed = self._preview = before
            self.pictures.rest(before)
            self._tell("design", origin, name)

    def redo(self, origin: str = "") -> None:
        """Do again what was undone last; a proposal is withdrawn, so that what comes is seen."""
        if self._gesture is None and self._undone:
            self.withdraw(origin)
            name, after = self._undone.pop()
            self._done.append((name, self._committed))
            self._committed = self._preview = after
            self.pictures.rest(after)
            self._tell("design", origin, name)

    # The file

    def start(
        self, design: Design, pictures: dict[str, bytes] | None = None, path: Path | None = None,
        troubles: tuple[str, ...] = (), stamp: Stamp | None = None,
    ) -> None:
        """Take up another design; undo begins anew and nothing is unsaved.

        ``stamp`` tells how the file at ``path`` looked when this design was read from it.
        """
        self._start(design, dict(pictures or {}), path, stamp, troubles)
        self._tell("file", "document", "opened")

    def recover(
        self, design: Design, pictures: dict[str, bytes], stamp: Stamp | None, trace: HalfTrace | None = None
    ) -> None:
        """Take up what a window lost: unsaved whatever it is, and with what was half drawn."""
        self._start(design, dict(pictures), path_of(stamp), stamp, (), trace)
        self._saved = None
        self._tell("file", "document", "recovered")

    def _start(
        self, design: Design, pictures: dict[str, bytes], path: Path | None, stamp: Stamp | None,
        troubles: tuple[str, ...], trace: HalfTrace | None = None,
    ) -> None:
        self._gesture, self._lasting, self._proposal = None, False, None
        self._committed = self._preview = self._saved = design
        self._done.clear()
        self._undone.clear()
        self.pictures.let_go()
        self.pictures = HeldPictures(pictures)
        self.path = path
        self._stamp = stamp if stamp is not None or path is None else stamp_of(path)
        self.troubles = troubles
        if self.holder is not None:
            self.holder.take_up(trace)

    def open(self, path: Path) -> None:
        """Take up the design at ``path``. DesignFileError, with nothing changed, where it is at fault."""
        self.take_up(Opening.of(path))

    def take_up(self, opening: Opening) -> None:
        """Take up what was read from a file."""
        found, path = opening.found, path_of(opening.stamp)
        self.start(found.design, dict(found.pictures), path, found.troubles, opening.stamp)

    @property
    def changed_behind(self) -> bool:
        """Whether the design's file was changed by somebody else since it was opened or saved here."""
        if self.path is None or self._stamp is None:
            return False
        now = stamp_of(self.path)
        # A file that is gone holds nobody's work: saving brings it back.
        return now.size is not None and now != self._stamp

    def saving(self, path: Path | None = None) -> Saving:
        """What is to be written to the design's own file, or to ``path``: the design as it is committed.

        A gesture that lasts is committed first. One of the mouse goes on, and what comes of it is unsaved
        afterwards: a dialogue of the system may ask for a name in the middle of a drag.
        DesignFileError where there is no file yet.
        """
        target = path or self.path
        if target is None:
            raise DesignFileError(["the design has no file yet; choose a name"])
        self.settle()
        design = self._committed
        if path is not None and self.path is None and design.title == EMPTY.title:
            design = replace(design, title=whole_text(path.stem))
        bare = self.path is not None and self.path.suffix.lower() == ".json"
        home = self.path.parent if self.path is not None and bare else None
        return Saving(target, design, dict(self.pictures), home, self.pictures.names)

    def was_saved(self, saving: Saving, stamp: Stamp) -> None:
        """The file holds what ``saving`` gave it; what was edited meanwhile is unsaved."""
        design = with_names(saving.design, saving.renamed)
        if saving.renamed:
            self._rename(saving.renamed)
            self._committed = design if self._committed == design else self._committed
        if design.title != self._committed.title and self._committed.title == EMPTY.title:
            # Undo takes back edits, not the name that saving gave.
            edited = _titled(self._committed, design.title)
            self._done = [(name, _titled(d, design.title)) for name, d in self._done]
            self._undone = [(name, _titled(d, design.title)) for name, d in self._undone]
            self._committed = design if edited == design else edited
            if self._gesture is None:
                self._preview = self._committed
            # It was made before the design had its name.
            self._proposal = None
        self.path, self._stamp = saving.target, stamp
        self._saved = design
        self._tell("file", "document", "saved")

    def _rename(self, renamed: Mapping[str, str]) -> None:
        """Scans by the names that saving gave them, also where undo leads; a gesture under way goes on."""
        for name, new in renamed.items():
            if name in self.pictures:
                # The old one stays: what a gesture has in hand may come with it.
                self.pictures[new] = self.pictures[name]
        self._done = [(name, with_names(d, renamed)) for name, d in self._done]
        self._undone = [(name, with_names(d, renamed)) for name, d in self._undone]
        self._committed = with_names(self._committed, renamed)
        if self._gesture is None:
            self._preview = self._committed
        else:
            self._renamed = renamed
        self._proposal = None

    def save(self, path: Path | None = None) -> None:
        """Write the design, to its own file or to ``path``. DesignFileError leaves all as it was."""
        saving = self.saving(path)
        self.was_saved(saving, saving.write())

    def revert(self) -> None:
        """Back to what the file holds. DesignFileError, with nothing changed, where it cannot be read."""
        if self.path is not None:
            self.open(self.path)

    def free_picture_name(self, wanted: str) -> str:
        """``wanted``, or a name made from it that no picture bears yet."""
        return self.pictures.free_name(wanted, (scan.file for scan in self._committed.scans))


def _raise(why: str) -> None:
    raise EditError(why)


def _titled(design: Design, title: str) -> Design:
    return replace(design, title=title) if design.title == EMPTY.title != title else design
