"""What a hand may take hold of: free outlines, the nodes in a band, the grip that scales from the root."""

from __future__ import annotations

from app.work.selection import NodeKey, Selection
from core.design import Design, Outline
from core.stability.side_area import form_of

_LEAST = 0.02


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


def factors_from_root(
    root: tuple[float, float], grip: tuple[float, float], moved: tuple[float, float], *, height_only: bool
) -> tuple[float, float]:
    """(along x, along z): how much larger, when the grip is pulled to ``moved``; points in mm.

    Never so small that the surface would vanish or turn over.
    """
    reach, now = (grip[0] - root[0], grip[1] - root[1]), (moved[0] - root[0], moved[1] - root[1])
    if height_only:
        return 1.0, max(now[1] / reach[1], _LEAST) if abs(reach[1]) > 1e-9 else 1.0
    length2 = reach[0] ** 2 + reach[1] ** 2
    along = (now[0] * reach[0] + now[1] * reach[1]) / length2 if length2 > 1e-9 else 1.0
    return max(along, _LEAST), max(along, _LEAST)


def nodes_in(design: Design, one: tuple[float, float], other: tuple[float, float]) -> frozenset[NodeKey]:
    """The nodes of free outlines in the rectangle between two opposite corners, in mm."""
    low_x, high_x = sorted((one[0], other[0]))
    low_z, high_z = sorted((one[1], other[1]))
    return frozenset(
        (o.id, i)
        for o in design.outlines if free(o)
        for i, n in enumerate(o.nodes) if low_x <= n.x <= high_x and low_z <= n.z <= high_z
    )
