"""Outlines as SVG at full size: one user unit is one millimetre, curves are true cubics.

User x is the design's x, user y is −z: the datum stays at the origin of the user units, and the
``viewBox`` starts where the drawing does. Written by the SVG 1.1 recommendation (W3C, 2011): units
7.10, ``viewBox`` 7.7, path data 8.3; from memory.
"""

from __future__ import annotations

import math
from xml.etree import ElementTree

from core.design import Design, Outline
from core.exchange.faults import ExchangeError
from core.exchange.naming import group_id
from core.geometry.ring import Array, bounds, ring_of
from core.stability.readings import NO_SCALE, scale_known

NAMESPACE = "http://www.w3.org/2000/svg"
DRAWING_ID = "sternpost-outlines"
"""The id of the outermost element, by which a file written here is known again."""
_ROOM = 2.0
"""mm around the drawing, so that its lines are not cut at the edge of the picture."""
_LINE = 0.2


def must_be_drawable(design: Design) -> None:
    """ExchangeError where the design has nothing to draw at full size, or no scale to draw it to."""
    if not design.outlines:
        raise ExchangeError("outlines: found none; trace an outline before exporting")
    if not scale_known(design):
        raise ExchangeError(f"scans: no full size without a scale; {NO_SCALE}")


def svg_bytes(design: Design) -> bytes:
    """The outlines of ``design`` as an SVG file in UTF-8, hidden ones too: hidden still counts.

    ExchangeError where there are none, or while a scan in use has no scale. Wings and tailplanes
    are figures, not outlines, and are left out.
    """
    must_be_drawable(design)
    boxes = [bounds(ring_of(outline.nodes)) for outline in design.outlines]
    left = math.floor(min(box[0] for box in boxes) - _ROOM)
    right = math.ceil(max(box[2] for box in boxes) + _ROOM)
    top = math.floor(-max(box[3] for box in boxes) - _ROOM)
    bottom = math.ceil(-min(box[1] for box in boxes) + _ROOM)
    wide, high = right - left, bottom - top
    root = ElementTree.Element("svg", {
        "xmlns": NAMESPACE, "id": DRAWING_ID, "version": "1.1", "width": f"{wide}mm", "height": f"{high}mm",
        "viewBox": f"{left} {top} {wide} {high}",
    })
    ElementTree.SubElement(root, "title").text = _plain(design.title)
    for outline in design.outlines:
        group = ElementTree.SubElement(root, "g", {
            "id": group_id(outline), "data-id": outline.id, "data-kind": outline.kind,
            "data-count": str(outline.count), "data-stance": outline.standing,
            "fill": "none", "stroke": "#000000", "stroke-width": str(_LINE), "stroke-linejoin": "round",
        })
        ElementTree.SubElement(group, "title").text = _plain(outline.name)
        ElementTree.SubElement(group, "path", {"d": path_data(outline)})
    ElementTree.indent(root)
    data: bytes = ElementTree.tostring(root, encoding="utf-8", xml_declaration=True)
    return data + b"\n"


def path_data(outline: Outline) -> str:
    """The outline as path data in mm, y down: absolute M, L, C and Z."""
    ring = ring_of(outline.nodes)
    curved = ring.curved
    parts = [f"M {_point(ring.p0[0])}"]
    for i in range(len(ring)):
        if curved[i]:
            parts.append(f"C {_point(ring.p1[i])} {_point(ring.p2[i])} {_point(ring.p3[i])}")
        elif i < len(ring) - 1:
            parts.append(f"L {_point(ring.p3[i])}")
    return " ".join([*parts, "Z"])


def _point(point: Array) -> str:
    x, z = float(point[0]), float(point[1])
    # Twelve digits keep a thousandth of a micrometre at a metre; adding zero turns −0 into 0.
    return f"{x + 0.0:.12g},{-z + 0.0:.12g}"


def _plain(text: str) -> str:
    """``text`` without what XML 1.0 cannot hold (2.2, Characters)."""
    kept = "".join(c if c.isprintable() else " " for c in text)
    return " ".join(kept.encode("utf-8", "ignore").decode("utf-8").split())
