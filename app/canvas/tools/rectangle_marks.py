"""What is drawn over a photograph while it is straightened: its rectangle, points and edges, and words."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from app.canvas.tools.hand import Overlay
from app.canvas.tools.known_points import point_labels, side_labels
from app.canvas.tools.rectangle_draft import RectangleDraft
from app.canvas.tools.straight_edges import edge_labels
from core.design import DisplayUnits, Scan, Vector
from core.redesign.scan_plane import LEAST_ON_A_LINE, LaidFlat
from core.scan_map import mm_of


def in_mm(scan: Scan, pixels: Sequence[Vector]) -> list[Vector]:
    """Where pixels lie now."""
    return [(float(x), float(z)) for x, z in mm_of(scan, np.array(pixels))] if pixels else []


def marks_of(
    draft: RectangleDraft, scan: Scan, fit: LaidFlat | None, lengths: tuple[float | None, float | None],
    units: DisplayUnits, selected: int | None,
) -> Overlay:
    """The marks of what was clicked; ``lengths``: width and height in mm, ``selected``: a point's index."""
    places, count = in_mm(scan, draft.points), len(draft.corners)
    corners = places[:count]
    sides = list(zip(corners, [*corners[1:], corners[0]] if count == 4 else corners[1:], strict=False))
    labels = point_labels(fit, places, count, draft.extras, units)
    if count == 4:
        labels += side_labels(scan, draft.corners, corners, lengths, units)
    at = count
    for extra in draft.extras:
        if len(extra.points) == 2:
            sides.append((places[at], places[at + 1]))
        at += len(extra.points)
    lines = [in_mm(scan, edge.line(draft.corners)) for edge in draft.edges]
    sides += [pair for line in lines for pair in pairwise(line)]
    labels += edge_labels(fit, [line for line in lines if len(line) >= LEAST_ON_A_LINE], units)
    held = (places[selected],) if selected is not None and selected < len(places) else ()
    return Overlay(guides=tuple(sides), points=tuple(places), labels=tuple(labels), draft_nodes=held)
