"""Outlines as DXF R2010, in millimetres, x aft and y up: a layer for each kind, one entity an outline.

An outline of straight edges is a closed LWPOLYLINE; one with curves is one SPLINE of degree 3 whose
inner knots are threefold, which holds its cubics exactly. Written by ezdxf, imported when first used:
it takes half a second.
"""

from __future__ import annotations

import io

from core.design import Design
from core.exchange.svg import must_be_drawable
from core.geometry.ring import Ring, ring_of

APP_ID = "STERNPOST"
MILLIMETRES = 4
"""$INSUNITS of millimetres."""
_LONGEST = 200


def dxf_bytes(design: Design) -> bytes:
    """The outlines of ``design`` as a DXF file, hidden ones too: hidden still counts.

    Id, count, stance and label go with each as extended data under STERNPOST, which other programs
    may drop. ExchangeError where there are no outlines, or while a scan in use has no scale.
    """
    must_be_drawable(design)
    from ezdxf.entities.lwpolyline import LWPolyline
    from ezdxf.entities.spline import Spline
    from ezdxf.filemanagement import new
    from ezdxf.math import Bezier4P, Vec2, bezier_to_bspline

    drawing = new("R2010")
    drawing.header["$INSUNITS"] = MILLIMETRES
    drawing.header["$MEASUREMENT"] = 1
    drawing.appids.add(APP_ID)
    space = drawing.modelspace()
    for kind in dict.fromkeys(outline.kind for outline in design.outlines):
        drawing.layers.add(kind)
    for outline in design.outlines:
        ring = ring_of(outline.nodes)
        look = {"layer": outline.kind}
        entity: Spline | LWPolyline
        if ring.curved.any():
            cubics = [Bezier4P([Vec2(x, z) for x, z in points]) for points in _cubics(ring)]
            entity = space.add_spline(dxfattribs=look).apply_construction_tool(bezier_to_bspline(cubics))
        else:
            corners = [Vec2(x, z) for x, z in ring.p0.tolist()]
            entity = space.add_lwpolyline(corners, close=True, dxfattribs=look)
        label = "".join(c for c in outline.label if c.isprintable())[:_LONGEST]
        words = (outline.id[:_LONGEST], str(outline.count), outline.standing, label)
        entity.set_xdata(APP_ID, [(1000, word) for word in words])
    held = io.StringIO()
    drawing.write(held)
    # The encoding of R2007 and later, which ezdxf names in the file.
    return held.getvalue().encode("utf-8", "replace")


def _cubics(ring: Ring) -> list[list[list[float]]]:
    """The control points of each edge, (N, 4, 2); a straight edge runs evenly, by thirds."""
    rows = []
    for i, curved in enumerate(ring.curved):
        a, d = ring.p0[i], ring.p3[i]
        b, c = (ring.p1[i], ring.p2[i]) if curved else (a + (d - a) / 3, d - (d - a) / 3)
        rows.append([a.tolist(), b.tolist(), c.tolist(), d.tolist()])
    return rows
