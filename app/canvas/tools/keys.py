"""What the arrow keys and Delete do to the selection."""

from __future__ import annotations

from app.canvas.tools.grip import free
from app.canvas.tools.hand import Bench
from app.work.selection import NOTHING, Selection
from core.redesign import outline_edits as edits
from core.redesign.design_edits import delete_outlines, with_outlines
from core.units import nudge_step

_NOT_FREE = "The outline is locked or hidden: unlock and show it in the list to delete from it."


def nudge(bench: Bench, right: int, up: int, times: int) -> bool:
    """Move what is selected by so many steps; whether there was anything to move."""
    step = nudge_step(bench.design.display_units) * times
    dx, dz = right * step, up * step
    selection, design = bench.selection, bench.design
    if selection.nodes:
        changed = {
            o.id: edits.move_nodes(o, selection.nodes_of(o.id), dx, dz)
            for o in design.outlines if free(o) and selection.nodes_of(o.id)
        }
        name = "nudge nodes"
    else:
        changed = {
            o.id: edits.translate(o, dx, dz)
            for o in design.outlines if o.id in selection.outlines and free(o)
        }
        name = "nudge outline"
    if not changed:
        return False
    bench.apply(name, lambda d: with_outlines(d, changed))
    return True


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
