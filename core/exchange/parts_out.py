"""Parts for a laser or a knife, at full size in millimetres: SVG and DXF.

Each material in each thickness has three layers of its own: ``cut`` (closed edges, holes before what is
round them), ``engrave`` (names and marks, lines of single strokes) and ``notes`` (the sheet's edge and
what it is: for the eye, neither cut nor engraved). Nothing is drawn twice; the same design gives the
same bytes. Written by the SVG 1.1 recommendation (W3C, 2011; from memory), and by ezdxf.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from xml.etree import ElementTree

import numpy as np

from core.design import Design
from core.exchange.dxf import APP_ID, new_drawing, written
from core.exchange.faults import ExchangeError
from core.exchange.parts_laid import Block, LaidPiece, PartsLaid, lay_parts
from core.exchange.svg import NAMESPACE
from core.geometry.ring import Array
from core.parts.part import Built
from core.stability.readings import NO_SCALE, scale_known

LAYERS = ("cut", "engrave", "notes")
_COLOURS = {"cut": ("#000000", 7), "engrave": ("#0000ff", 5), "notes": ("#808080", 8)}
"""Of SVG, and the number of DXF's own table (AutoCAD Color Index; from memory)."""
_ROOM, _LINE = 2.0, 0.1
_LONGEST = 200


def parts_svg(design: Design, builts: Sequence[Built], *, kerf: float = 0.0) -> bytes:
    """The parts of ``builts`` that are cut from sheet, as SVG in UTF-8; one user unit is a millimetre.

    ExchangeError where there are none, while the design has no scale, or for a kerf that is none.
    """
    return svg_of(design, laid_out(design, builts, kerf))


def parts_dxf(design: Design, builts: Sequence[Built], *, kerf: float = 0.0) -> bytes:
    """The same as DXF R2010 in millimetres: every closed edge one LWPOLYLINE. Errors as ``parts_svg``."""
    return dxf_of(design, laid_out(design, builts, kerf))


def laid_out(design: Design, builts: Sequence[Built], kerf: float = 0.0) -> PartsLaid:
    """What either file is written from; its ``notes`` are for the person. Errors as ``parts_svg``."""
    if not scale_known(design):
        raise ExchangeError(f"scans: no full size without a scale; {NO_SCALE}")
    return lay_parts(design, builts, kerf)


def svg_of(design: Design, laid: PartsLaid) -> bytes:
    """The laid parts as an SVG file."""
    low_x, low_y, high_x, high_y = laid.box
    left, top = math.floor(low_x - _ROOM), math.floor(-high_y - _ROOM)
    wide, high = math.ceil(high_x + _ROOM) - left, math.ceil(-low_y + _ROOM) - top
    root = ElementTree.Element("svg", {
        "xmlns": NAMESPACE, "version": "1.1", "width": f"{wide}mm", "height": f"{high}mm",
        "viewBox": f"{left} {top} {wide} {high}",
    })
    ElementTree.SubElement(root, "title").text = _plain(f"{design.title}: parts")
    if laid.notes:
        ElementTree.SubElement(root, "desc").text = _plain(". ".join(laid.notes))
    for name in dict.fromkeys(block.layer for block in laid.blocks):
        blocks = [block for block in laid.blocks if block.layer == name]
        for what in LAYERS:
            group = ElementTree.SubElement(root, "g", {
                "id": f"{what}-{name}", "fill": "none", "stroke": _COLOURS[what][0],
                "stroke-width": str(_LINE), "stroke-linejoin": "round",
            })
            ElementTree.SubElement(group, "title").text = _plain(f"{what}: {blocks[0].title}")
            for block in blocks:
                _fill(group, block, what)
    ElementTree.indent(root)
    data: bytes = ElementTree.tostring(root, encoding="utf-8", xml_declaration=True)
    return data + b"\n"


def _fill(group: ElementTree.Element, block: Block, what: str) -> None:
    if what == "notes":
        ElementTree.SubElement(group, "path", {"d": " ".join(_path(line) for line in block.notes)})
        return
    for piece in block.pieces:
        lines = piece.rings if what == "cut" else piece.marks
        if not lines:
            continue
        path = ElementTree.SubElement(group, "path", {
            "data-part": _plain(piece.part.id), "data-copy": f"{piece.copy}/{piece.part.count}",
            "d": " ".join(_path(line, closed=what == "cut") for line in lines),
        })
        ElementTree.SubElement(path, "title").text = _words(piece)


def _path(line: Array, *, closed: bool = False) -> str:
    points = " L ".join(f"{x + 0.0:.10g},{-y + 0.0:.10g}" for x, y in line.tolist())
    return f"M {points}{' Z' if closed else ''}"


def _words(piece: LaidPiece) -> str:
    copy = f", {piece.copy} of {piece.part.count}" if piece.part.count > 1 else ""
    return _plain(f"{piece.number}: {piece.part.name}{copy}")


def _plain(text: str) -> str:
    """``text`` without what XML 1.0 and DXF cannot hold."""
    kept = "".join(c if c.isprintable() else " " for c in text)
    return " ".join(kept.encode("utf-8", "ignore").decode("utf-8").split())


def dxf_of(design: Design, laid: PartsLaid) -> bytes:
    """The laid parts as a DXF file."""
    from ezdxf.math import Vec2

    drawing = new_drawing()
    drawing.header.custom_vars.append("Title", _plain(f"{design.title}: parts")[:_LONGEST])
    for at, note in enumerate(laid.notes, 1):
        drawing.header.custom_vars.append(f"Note {at}", _plain(note)[:_LONGEST])
    space = drawing.modelspace()
    for name in dict.fromkeys(block.layer for block in laid.blocks):
        for what in LAYERS:
            layer = drawing.layers.add(f"{what}-{name}", color=_COLOURS[what][1])
            layer.dxf.plot = int(what != "notes")
    for block in laid.blocks:
        for line in block.notes:
            look = {"layer": f"notes-{block.layer}"}
            space.add_lwpolyline([Vec2(p) for p in line.tolist()], dxfattribs=look)
        for piece in block.pieces:
            for what, lines in (("engrave", piece.marks), ("cut", piece.rings)):
                for line in lines:
                    entity = space.add_lwpolyline(
                        [Vec2(p) for p in line.tolist()], close=what == "cut",
                        dxfattribs={"layer": f"{what}-{block.layer}"},
                    )
                    entity.set_xdata(APP_ID, [(1000, _plain(piece.part.id)[:_LONGEST]),
                                              (1000, _words(piece)[:_LONGEST])])
    return written(drawing, np.array(laid.box[:2]), np.array(laid.box[2:]))
