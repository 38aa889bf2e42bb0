"""How far a design reaches, for fitting it into the view. Pure."""

from __future__ import annotations

from core.design import Design
from core.geometry.ring import around
from core.scan_map import Size, edge_of
from core.stability.side_area import form_of, surface_patch

Box = tuple[float, float, float, float]
EMPTY_SHEET: Box = (-50.0, -150.0, 1000.0, 300.0)
"""What an empty sheet shows, in mm: room for a fuselage a metre long."""


def extent(design: Design, sizes: dict[str, Size]) -> Box:
    """(x low, z low, x high, z high) in mm of what is drawn; of the scans while nothing is traced."""
    boxes = [form_of(o).box for o in design.outlines if o.nodes]
    boxes += [surface_patch(s).box for s in design.surfaces if s.in_side_area]
    for scan in design.scans:
        if scan.id in sizes and not scan.hidden and not design.outlines:
            edge = edge_of(scan, sizes[scan.id])
            low, high = edge.min(axis=0), edge.max(axis=0)
            boxes.append((float(low[0]), float(low[1]), float(high[0]), float(high[1])))
    return around(boxes) or EMPTY_SHEET
