"""The Edit menu: what is done to the selection at once, and copy and paste of outlines."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

import msgspec
from msgspec.structs import replace
from PySide6.QtCore import QByteArray, QMimeData
from PySide6.QtGui import QGuiApplication

from app.keeping.units import remember_units
from app.work.document import Document
from app.work.selection import Picked, Selection
from core.design import EMPTY, Design, DisplayUnits, LeftOut, Outline
from core.design_check import problems
from core.redesign.belonging import whole_group
from core.redesign.completing import confirm_all, leave_out
from core.redesign.design_edits import change_outlines, delete_outlines, paste_outlines, with_outlines
from core.redesign.outline_edits import EditError, insert_node, make_corner, make_smooth, root_of, scale_about

MIME = "application/x-sternpost-outlines"
_MOST_PASTED = 16 * 1024 * 1024


class EditCommands:
    """Edits of the selection, by name for menu and keys."""

    def __init__(self, document: Document, picked: Picked, say: Callable[[str], None]) -> None:
        self._document, self._picked, self._say = document, picked, say

    def _outlines(self) -> list[Outline]:
        return [o for o in self._document.committed.outlines if o.id in self._picked.now.outlines]

    def leave_out(self, what: LeftOut) -> None:
        """Say that the aeroplane has no such thing, or that it has one after all."""
        out = what not in self._document.committed.left_out
        self._document.apply(f"{'leave out' if out else 'take in'} {what}", lambda d: leave_out(d, what, out))

    def confirm_all(self) -> None:
        """Take everything that the program put as right."""
        self._document.apply("confirm what was put in", confirm_all)

    def select_all(self) -> None:
        """Every outline that can be seen and is not locked."""
        ids = tuple(o.id for o in self._document.committed.outlines if not o.hidden and not o.locked)
        self._picked.set(Selection(outlines=ids))

    def copy(self) -> bool:
        """The selected outlines to the clipboard; whether there were any."""
        outlines = self._outlines()
        if not outlines:
            self._say("Nothing is selected: click an outline first")
            return False
        mime = QMimeData()
        mime.setData(MIME, QByteArray(msgspec.json.encode(outlines)))
        mime.setText(", ".join(o.name for o in outlines))
        QGuiApplication.clipboard().setMimeData(mime)
        return True

    def cut(self) -> None:
        """The selected outlines to the clipboard and out of the design."""
        ids = [o.id for o in self._outlines()]
        if self.copy():
            self._document.apply("cut", lambda d: delete_outlines(d, ids))

    def paste(self, mime: QMimeData) -> bool:
        """Outlines from the clipboard, selected; whether there were any."""
        if not mime.hasFormat(MIME):
            return False
        data = bytes(mime.data(MIME).data())
        try:
            if len(data) > _MOST_PASTED:
                raise ValueError
            outlines = msgspec.json.decode(data, type=tuple[Outline, ...], strict=True)
            # The clipboard is another program's word: it is checked as a file would be.
            if problems(replace(EMPTY, outlines=outlines)):
                raise ValueError
        except (msgspec.DecodeError, ValueError):
            self._say("The clipboard holds outlines that cannot be read: copy them again")
            return True
        made: list[str] = []

        def edit(design: Design) -> Design:
            here = {(o.label, o.nodes) for o in design.outlines}
            step = 8.0 if any((o.label, o.nodes) in here for o in outlines) else 0.0
            changed, new = paste_outlines(design, outlines, step, -step)
            made.extend(new)
            return changed

        self._document.apply("paste", edit)
        self._picked.set(Selection(outlines=tuple(made)))
        return True

    def corner(self) -> None:
        """The selected nodes become corners."""
        self._nodes("make corner", make_corner)

    def smooth(self) -> None:
        """The selected nodes become curves."""
        self._nodes("make smooth", make_smooth)

    def _nodes(self, name: str, edit: Callable[[Outline, list[int]], Outline]) -> None:
        selection = self._picked.now
        if not selection.nodes:
            self._say("Select a node first")
            return
        try:
            changed = {
                o.id: edit(o, selection.nodes_of(o.id))
                for o in self._document.committed.outlines if selection.nodes_of(o.id) and not o.locked
            }
        except EditError as error:
            self._say(str(error))
            return
        self._document.apply(name, lambda d: with_outlines(d, changed))

    def insert(self, outline_id: str, edge: int, t: float) -> None:
        """A node let into an edge."""
        self._document.apply(
            "insert node",
            lambda d: with_outlines(d, {outline_id: insert_node(d.outline(outline_id), edge, t)}),
        )
        self._picked.set(Selection((outline_id,), frozenset({(outline_id, edge + 1)})))

    def scale(self, across: float, up: float) -> None:
        """The selected outlines, and what belongs to them, scaled from their root edge; factors."""
        outlines = [o for o in self._outlines() if not o.locked]
        if not outlines:
            self._say("Select the outlines to scale first")
            return
        if not (0.01 <= across <= 100 and 0.01 <= up <= 100):
            raise EditError("that scale is out of reach: give from 1 to 10000 per cent")
        root = root_of(outlines)
        design = self._document.committed
        ids = whole_group(design, [o.id for o in outlines])
        changed = {i: scale_about(design.outline(i), root, across, up) for i in ids}
        self._document.apply("scale from the root", lambda d: with_outlines(d, changed))

    def toggle(self, field: str) -> None:
        """Lock or hide the selected outlines, or the reverse if all are so already."""
        outlines = self._outlines()
        if outlines:
            value = not all(getattr(o, field) for o in outlines)
            name = {"hidden": ("show", "hide"), "locked": ("unlock", "lock")}[field][value]
            ids = [o.id for o in outlines]
            self._document.apply(f"{name} outline", lambda d: change_outlines(d, ids, **{field: value}))

    def set_fin_centre(self, where: Literal["centroid", "quarter_chord"]) -> None:
        """Where the tail arm ends: at the exposed fin's centroid, or the quarter chord of its MAC."""
        self._document.apply(
            "change the end of the tail arm",
            lambda d: replace(d, aim=replace(d.aim, fin_centre=where)), "window",
        )

    def set_units(self, units: DisplayUnits) -> None:
        """Show lengths in other units."""
        remember_units(units)
        self._document.apply("change units", lambda d: replace(d, display_units=units), "window")

    def next_units(self) -> None:
        """Millimetres, decimal inches, fractions, and round again."""
        order: tuple[DisplayUnits, ...] = ("mm", "in", "in64")
        self.set_units(order[(order.index(self._document.committed.display_units) + 1) % 3])
