"""What a selection gives the hand to hold: the outlines that may be moved, and the grip that scales them."""

from __future__ import annotations

from app.selection import Selection
from core.design import Design, Outline
from core.stability.side_area import form_of


def free(outline: Outline) -> bool:
    """Whether a hand may change the outline: it is neither locked nor out of sight."""
    return not (outline.locked or outline.hidden)


def whole_selected(design: Design, selection: Selection) -> list[Outline]:
    """The outlines that are selected as wholes, with no node or edge picked out."""
    if selection.nodes or selection.edge:
        return []
    return [o for o in design.outlines if o.id in selection.outlines and free(o)]


def scale_grip(design: Design, selection: Selection) -> tuple[float, float] | None:
    """Where the grip that scales from the root edge stands, in mm; None without whole outlines."""
    outlines = whole_selected(design, selection)
    if not outlines:
        return None
    corners = [form_of(o).corners for o in outlines]
    return max(float(c[:, 0].max()) for c in corners), max(float(c[:, 1].max()) for c in corners)


def grip_offset(px: float, py: float) -> tuple[float, float]:
    """The grip's pixel, off the corner it belongs to so that it hides no node."""
    return px + 16.0, py - 16.0
