"""What the arrow keys and Delete do to the selection."""

from __future__ import annotations

from app.canvas.tools.grip import free
from app.canvas.tools.hand import Bench
from app.canvas.tools.weights import nudged_weight
from app.work.selection import NOTHING, Selection
from core.design import Design
from core.redesign import outline_edits as edits
from core.redesign.belonging import whole_group, with_partners
from core.redesign.design_edits import delete_outlines, with_outlines
from core.units import nudge_step

_NOT_FREE = "The outline is locked or hidden: unlock and show it in the list to delete from it."


class NudgeRun:
    """A run of arrow keys: one gesture, and one entry of undo, until something else is done."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self._shown: Design | None = None
        self._of: tuple[str, Selection] | None = None

    @property
    def running(self) -> bool:
        """True if a run is under way."""
        bench = self._bench
        return self._shown is not None and bench.busy and bench.design is self._shown

    def step(self, right: int, up: int, times: int) -> bool:
        """Move what is selected by so many steps; whether there was anything to move."""
        made = nudged_weight(self._bench, right, up, times) or _nudged(self._bench, right, up, times)
        if made is None:
            return False
        name, design = made
        of = name, self._bench.selection
        if not self.running or of != self._of:
            self._bench.begin(name, lasting=True)
        self._shown, self._of = design, of
        self._bench.preview(design)
        return True

    def settle(self) -> None:
        """The run ends and becomes one entry of undo."""
        if self.running:
            self._bench.commit()
        self._shown = None


def _nudged(bench: Bench, right: int, up: int, times: int) -> tuple[str, Design] | None:
    """(name for undo, the design with what is selected moved); None where there is nothing to move."""
    selection, design = bench.selection, bench.design
    step = nudge_step(design.display_units) * times
    dx, dz = right * step, up * step
    if selection.nodes:
        changed = {
            o.id: edits.move_nodes(o, selection.nodes_of(o.id), dx, dz)
            for o in design.outlines if free(o) and selection.nodes_of(o.id)
        }
        return ("nudge nodes", with_partners(design, changed)) if changed else None
    ids = whole_group(design, [o.id for o in design.outlines if o.id in selection.outlines and free(o)])
    changed = {i: edits.translate(design.outline(i), dx, dz) for i in ids}
    return ("nudge outline", with_outlines(design, changed)) if changed else None


def delete_selected(bench: Bench) -> bool:
    """Delete the selected nodes, or else the selected outlines; whether anything was selected."""
    selection = bench.selection
    if selection.nodes:
        try:
            changed = {
                o.id: edits.delete_nodes(o, selection.nodes_of(o.id))
                for o in bench.design.outlines if free(o) and selection.nodes_of(o.id)
            }
        except edits.EditError as error:
            bench.say(str(error))
            return True
        if not changed:
            bench.say(_NOT_FREE)
            return True
        bench.select(Selection(selection.outlines))
        bench.apply("delete nodes", lambda d: with_outlines(d, changed))
    elif selection.outlines:
        gone = [o.id for o in bench.design.outlines if o.id in selection.outlines and free(o)]
        if not gone:
            bench.say(_NOT_FREE)
            return True
        bench.select(NOTHING)
        name = "delete outline" if len(gone) == 1 else "delete outlines"
        bench.apply(name, lambda d: delete_outlines(d, gone))
    else:
        return False
    return True
