"""Outlines read from DXF: polylines with their bulges, splines, arcs, circles, ellipses and lines.

Loose ends on one layer that meet within 0.01 mm are joined. The scale comes from $INSUNITS. Read by
ezdxf, imported when first used: it takes half a second.
"""

from __future__ import annotations

import io
import logging
import math
from collections import Counter
from typing import TYPE_CHECKING

from core.exchange.chaining import Row, chained
from core.exchange.closed import MOST_PIECES, Gathering, Imported, Named, Piece, must_be_small
from core.exchange.dxf import APP_ID
from core.exchange.faults import ExchangeError, ScaleUnknownError
from core.exchange.path_data import from_quadratic, line
from core.kinds import Kind

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.entities.dxfentity import DXFEntity

# $INSUNITS by the DXF reference of R2010, from memory.
_MM = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 9: 0.0254, 10: 914.4, 13: 0.001, 14: 100.0}
_DRAWN = frozenset({"LINE", "LWPOLYLINE", "POLYLINE", "SPLINE", "ARC", "CIRCLE", "ELLIPSE"})
_PIECES_OF_AN_ARC = 12
_LEVEL = 4
_EVEN = 1e-9


def outlines_from_dxf(
    data: bytes, *, kind: Kind | None = None, mm_per_unit: float | None = None
) -> Imported:
    """The outlines in the model space of a DXF file. ``kind`` is for all of them; else the layer's name
    where that is a kind, or ``other``.

    ``mm_per_unit`` stands in place of what the file says of its units. ScaleUnknownError where neither
    says it; ExchangeError for whatever else is wrong.
    """
    must_be_small(data)
    drawing = _opened(data)
    scale = mm_per_unit if mm_per_unit is not None else _MM.get(_units(drawing))
    if scale is None:
        raise ScaleUnknownError(
            "the file does not say in which unit it is drawn ($INSUNITS); "
            "give --mm-per-unit, for example 1, or 25.4 for inches"
        )
    gathering = Gathering(kind)
    loose: dict[str, list[Row]] = {}
    left_out: Counter[str] = Counter()
    total = 0
    for number, entity in enumerate(drawing.modelspace(), 1):
        what = entity.dxftype()
        layer = _layer(entity)
        where = f"{what} (entity {number}, layer {layer[:40]!r})"
        row = _row(entity, scale, where) if what in _DRAWN else None
        if row is None:
            left_out[what[:40]] += 1
            continue
        total += len(row)
        if total > MOST_PIECES:
            raise ExchangeError(f"{where}: more than {MOST_PIECES} edges in all; simplify the drawing")
        own = _own(entity)
        if own is not None and row:
            gathering.add(row, own, where)
        else:
            loose.setdefault(layer, []).append(row)
    for layer, rows in loose.items():
        for row in chained(rows):
            named = Named(layer, layer if layer != "0" else "", layer.lower())
            gathering.add(row, named, f"layer {layer[:40]!r}")
    for what, count in left_out.items():
        gathering.notes.append(
            f"{count} {what} left out; explode blocks, and turn what is to be read into polylines or splines"
        )
    return gathering.done()


def _opened(data: bytes) -> Drawing:
    from ezdxf import recover
    from ezdxf.lldxf.const import DXFError

    # What ezdxf logs of a broken file would stand on standard error beside our own sentence.
    logger = logging.getLogger("ezdxf")
    if not logger.handlers:
        logger.addHandler(logging.NullHandler())
    if b"SECTION" not in data:
        raise ExchangeError("not a DXF file; name one, or export the drawing anew")
    try:
        drawing, _ = recover.read(io.BytesIO(data))
    except (DXFError, OSError, ValueError, TypeError, LookupError, AttributeError, ArithmeticError,
            RecursionError, AssertionError):
        # A broken file can stumble anywhere in a reader of a hundred kinds of record.
        raise ExchangeError("not a whole DXF file; export the drawing anew") from None
    return drawing


def _units(drawing: Drawing) -> int:
    try:
        return int(drawing.header.get("$INSUNITS", 0))
    except (TypeError, ValueError):
        return 0


def _row(entity: DXFEntity, scale: float, where: str) -> Row | None:
    """The entity's edges in mm; None where it is no plane curve."""
    from ezdxf.entities.spline import Spline
    from ezdxf.lldxf.const import DXFError
    from ezdxf.path import make_path
    from ezdxf.path.commands import Curve3To, Curve4To, LineTo

    row: Row = []
    try:
        if isinstance(entity, Spline):
            curve = entity.construction_tool()
            if curve.degree == 3 and not curve.is_rational and curve.is_clamped:
                # Exact; and unlike make_path it does not turn a closed spline round.
                return _finite([
                    _cubic(*(complex(p.x, p.y) * scale for p in points))
                    for points in curve.bezier_decomposition()
                ], where)
        path = make_path(entity, segments=_PIECES_OF_AN_ARC, level=_LEVEL)
        at = complex(path.start.x, path.start.y) * scale
        for step in path.commands():
            end = complex(step.end.x, step.end.y) * scale
            if isinstance(step, Curve4To):
                one, two = (complex(c.x, c.y) * scale for c in (step.ctrl1, step.ctrl2))
                row.append(_cubic(at, one, two, end))
            elif isinstance(step, Curve3To):
                row.append(from_quadratic(at, complex(step.ctrl.x, step.ctrl.y) * scale, end))
            elif isinstance(step, LineTo):
                row.append(line(at, end))
            at = end
    except ExchangeError:
        raise
    except (DXFError, ValueError, TypeError, LookupError, AttributeError, ArithmeticError, AssertionError):
        return None
    return _finite(row, where)


def _cubic(a: complex, b: complex, c: complex, d: complex) -> Piece:
    """A cubic; one that runs evenly, as our own export writes a straight edge in a spline, is straight."""
    third, near = (d - a) / 3, _EVEN * (1.0 + abs(a) + abs(d))
    if abs(a + third - b) < near and abs(d - third - c) < near:
        return line(a, d)
    return a, b, c, d


def _finite(row: Row, where: str) -> Row:
    """The row itself; ExchangeError before its ends are compared: what is not a number meets nothing."""
    if not all(math.isfinite(p.real) and math.isfinite(p.imag) for piece in row for p in piece):
        raise ExchangeError(f"{where}: a point is not a finite number; draw it anew")
    return row


def _layer(entity: DXFEntity) -> str:
    """The entity's layer; that of an entity of no known kind is "0"."""
    # ``get`` raises for a record whose kind the library does not know.
    return str(entity.dxf.get("layer", "0")) if entity.dxf.is_supported("layer") else "0"


def _own(entity: DXFEntity) -> Named | None:
    """What our own export wrote beside an outline; None for the drawings of others."""
    if not entity.has_xdata(APP_ID):
        return None
    words = [str(tag.value) for tag in entity.get_xdata(APP_ID) if tag.code == 1000]
    if len(words) != 4:
        return None
    return Named(words[0], words[3], _layer(entity), words[1], words[2])
