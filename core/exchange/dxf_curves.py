"""One entity of a DXF as a row of cubic pieces, in the units of the drawing."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from core.exchange.chaining import REACH, Row
from core.exchange.faults import ExchangeError
from core.exchange.path_data import cubic, from_quadratic, line
from core.exchange.spline import MOST_THROUGH, SplineError, pieces_of_spline, pieces_through

if TYPE_CHECKING:
    from ezdxf.entities.dxfentity import DXFEntity
    from ezdxf.entities.spline import Spline
    from ezdxf.math import BSpline

DRAWN = frozenset({"LINE", "LWPOLYLINE", "POLYLINE", "SPLINE", "ARC", "CIRCLE", "ELLIPSE"})
FOLLOWED = 0.003
"""mm: no further is a curve that is followed from the true one; a third of what ends may lie apart."""
_PIECES_OF_AN_ARC = 12
_LEVEL = 4
_FRAME = 16
"""Of the flags of a vertex: a control point of the spline's frame (DXF reference, VERTEX; from memory)."""
# What a record of nonsense can raise in the library.
STUMBLES = (ValueError, TypeError, LookupError, AttributeError, ArithmeticError, AssertionError)


def row_of(entity: DXFEntity, mm_per_unit: float) -> Row | None:
    """The entity's edges; None where it is no plane curve.

    A spline that has weights or a high degree is followed within FOLLOWED. SplineError says why one
    cannot be read; ExchangeError, without a place, that a point is not a finite number.
    """
    from ezdxf.entities.spline import Spline
    from ezdxf.lldxf.const import DXFError

    try:
        row = _spline(entity, mm_per_unit) if isinstance(entity, Spline) else _path(entity)
    except (SplineError, ExchangeError):
        raise
    except (DXFError, *STUMBLES):
        if isinstance(entity, Spline):
            raise SplineError("no curve comes of what is written of it") from None
        return None
    # Before ends are compared: what is not a number meets nothing.
    if not all(math.isfinite(p.real) and math.isfinite(p.imag) for piece in row for p in piece):
        raise ExchangeError("a point is not a finite number; draw it anew")
    return row


def followed(entity: DXFEntity) -> bool:
    """True if the entity's row depends on how much it is stretched."""
    from ezdxf.entities.spline import Spline

    return isinstance(entity, Spline) and (len(entity.weights) > 0 or entity.dxf.degree > 3)


def _path(entity: DXFEntity) -> Row:
    from ezdxf.entities.polyline import Polyline
    from ezdxf.path import make_path
    from ezdxf.path.commands import Curve3To, Curve4To, LineTo

    if isinstance(entity, Polyline):
        # A polyline that was fitted by a spline carries the frame of that spline too.
        entity.vertices[:] = [v for v in entity.vertices if not v.dxf.flags & _FRAME]
    row: Row = []
    path = make_path(entity, segments=_PIECES_OF_AN_ARC, level=_LEVEL)
    at = complex(path.start.x, path.start.y)
    for step in path.commands():
        end = complex(step.end.x, step.end.y)
        if isinstance(step, Curve4To):
            one, two = (complex(c.x, c.y) for c in (step.ctrl1, step.ctrl2))
            row.append(cubic(at, one, two, end))
        elif isinstance(step, Curve3To):
            row.append(from_quadratic(at, complex(step.ctrl.x, step.ctrl.y), end))
        elif isinstance(step, LineTo):
            row.append(line(at, end))
        at = end
    return row


def _spline(entity: Spline, mm_per_unit: float) -> Row:
    """By its control points; by the points that it was laid through only where it has none."""
    closed = bool(entity.dxf.flags & (entity.CLOSED | entity.PERIODIC))
    if entity.control_point_count():
        row = pieces_of_spline(
            [complex(p[0], p[1]) for p in entity.control_points], entity.dxf.degree, list(entity.knots),
            list(entity.weights), FOLLOWED / mm_per_unit,
        )
    else:
        row = _through(entity, closed)
    gap = abs(row[-1][3] - row[0][0]) * mm_per_unit
    if closed and gap > REACH:
        raise SplineError(
            f"the file calls it closed, but its ends lie {gap:.2g} mm apart: which way it closes is not said"
        )
    if closed:
        row[-1] = (*row[-1][:3], row[0][0])
    return row


def _through(entity: Spline, closed: bool) -> Row:
    from ezdxf.math import fit_points_to_cad_cv

    points = [complex(p[0], p[1]) for p in entity.fit_points]
    if len(points) > MOST_THROUGH:
        raise SplineError(f"it runs through more than {MOST_THROUGH} points")
    if closed:
        return pieces_through(points)
    tangents = None
    if entity.dxf.hasattr("start_tangent") and entity.dxf.hasattr("end_tangent"):
        tangents = [entity.dxf.start_tangent, entity.dxf.end_tangent]
    curve: BSpline = fit_points_to_cad_cv([(p.real, p.imag) for p in points], tangents)
    return pieces_of_spline(
        [complex(p.x, p.y) for p in curve.control_points], curve.degree, list(curve.knots()), (), math.inf
    )
