"""Outlines as DXF R2010, in millimetres, x aft and y up: a layer and one entity for each outline.

An outline of straight edges is a closed LWPOLYLINE; one with curves is one SPLINE of degree 3 whose
inner knots are threefold, which holds its cubics exactly. The layer's name says kind, count and id
(``naming``). The same design gives the same bytes. Written by ezdxf, imported when first used: it
takes half a second.
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import numpy as np

from core.design import Design
from core.exchange.naming import layer_name
from core.exchange.svg import must_be_drawable
from core.geometry.ring import Array, Ring, flatten, ring_of

if TYPE_CHECKING:
    from ezdxf.document import Drawing

APP_ID = "STERNPOST"
WRITTEN_BY = ("Written by", "Sternpost")
"""A custom property of the drawing, which other programs keep."""
MILLIMETRES = 4
"""$INSUNITS of millimetres."""
_LONGEST = 200


def dxf_bytes(design: Design) -> bytes:
    """The outlines of ``design`` as a DXF file, hidden ones too: hidden still counts.

    Id, count, stance, label and kind go with each as extended data under STERNPOST, and in the name of
    its layer for programs that drop those. ExchangeError where there are no outlines, or while a scan
    in use has no scale.
    """
    must_be_drawable(design)
    from ezdxf.entities.lwpolyline import LWPolyline
    from ezdxf.entities.spline import Spline
    from ezdxf.math import Bezier4P, Vec2, bezier_to_bspline

    drawing = new_drawing()
    space = drawing.modelspace()
    points = []
    for outline in design.outlines:
        ring = ring_of(outline.nodes)
        points.append(flatten(ring))
        layer = layer_name(outline)
        drawing.layers.add(layer)
        look = {"layer": layer}
        entity: Spline | LWPolyline
        if ring.curved.any():
            cubics = [Bezier4P([Vec2(x, z) for x, z in four]) for four in _cubics(ring)]
            entity = space.add_spline(dxfattribs=look).apply_construction_tool(bezier_to_bspline(cubics))
            entity.dxf.flags |= Spline.CLOSED | Spline.PLANAR
        else:
            corners = [Vec2(x, z) for x, z in ring.p0.tolist()]
            entity = space.add_lwpolyline(corners, close=True, dxfattribs=look)
        label = "".join(c for c in outline.label if c.isprintable())[:_LONGEST]
        words = (outline.id[:_LONGEST], str(outline.count), outline.standing, label, outline.kind)
        entity.set_xdata(APP_ID, [(1000, word) for word in words])
    found = np.concatenate(points)
    return written(drawing, found.min(axis=0), found.max(axis=0))


def new_drawing() -> Drawing:
    """An empty drawing in millimetres, which is written the same in every run."""
    from ezdxf import options  # type: ignore[attr-defined]
    from ezdxf.filemanagement import new

    # Dates and identifiers drawn by lot would make each file another; who needs a date asks the file system.
    options.write_fixed_meta_data_for_testing = True
    drawing = new("R2010")
    drawing.header["$INSUNITS"] = MILLIMETRES
    drawing.header["$MEASUREMENT"] = 1
    drawing.appids.add(APP_ID)
    drawing.header.custom_vars.append(*WRITTEN_BY)
    return drawing


def written(drawing: Drawing, low: Array, high: Array) -> bytes:
    """The file, with the extents of what is drawn: (x, y) of the lower left and the upper right, mm."""
    for name, point in (("extmin", low), ("extmax", high)):
        place = (float(point[0]), float(point[1]), 0.0)
        # Both: the library carries the one into the other, but not where it is the origin.
        drawing.modelspace().dxf.set(name, place)
        drawing.header[f"${name.upper()}"] = place
    # The library takes these from a set, whose order changes from run to run.
    drawing.classes.add_required_classes(drawing.dxfversion)
    drawing.classes.classes = dict(sorted(drawing.classes.classes.items()))
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
