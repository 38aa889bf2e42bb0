"""What is known of a photograph's points beyond its corners, and how all of it is told beside them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.canvas.tools.hand import Label
from core.design import DisplayUnits, Scan, Vector
from core.geometry.plane import PlaneFit
from core.redesign.outline_edits import EditError
from core.redesign.scan_plane import order_of
from core.units import format_length


@dataclass(frozen=True)
class Extra:
    """Something known beyond the corners: a point's ``place`` on the rectangle, or two points' ``apart``."""

    points: tuple[Vector, ...]
    place: Vector | None = None
    apart: float | None = None


def told(fit: PlaneFit) -> bool:
    """Whether more is known than four corners, which always fit."""
    return len(fit.at_points) + len(fit.at_spans) > 4


def fit_words(fit: PlaneFit, units: DisplayUnits) -> str:
    """How well all that is known fits together, in a few words."""
    if not told(fit):
        return "Four corners always fit: click more that is known, or along edges, to see how well"
    kind, at = fit.worst
    off = float(fit.at_points[at] if kind == "point" else abs(fit.at_spans[at]))
    return f"Fits to {format_length(fit.rms, units)} rms, worst {format_length(off, units)}"


def side_labels(
    scan: Scan, pixels: tuple[Vector, ...], corners: Sequence[Vector],
    lengths: tuple[float | None, float | None], units: DisplayUnits,
) -> list[Label]:
    """"width" and "height" at the middle of a side each; none for corners that make no rectangle.

    ``pixels`` and ``corners``: the four corners in pixels, and in mm as they lie.
    """
    try:
        order = order_of(scan, pixels)
    except EditError:
        return []
    labels = []
    for k, (name, mm) in enumerate(zip(("width", "height"), lengths, strict=True)):
        text = name if mm is None else f"{name} {format_length(mm, units)}"
        labels.append(Label(*_middle(corners[order[k]], corners[order[k + 1]]), text))
    return labels


def point_labels(
    fit: PlaneFit | None, places: Sequence[Vector], corners: int, extras: Sequence[Extra],
    units: DisplayUnits,
) -> list[Label]:
    """A number at every point, and how far off it is where more is known than is needed; the worst marked.

    ``places`` in mm: first the ``corners``, then the points of ``extras``.
    """
    shown = fit if fit is not None and told(fit) else None
    worst = shown.worst if shown is not None else None

    def at_point(index: int, residual: int | None) -> Label:
        if shown is None or residual is None:
            return Label(*places[index], f"{index + 1}")
        marked = worst == ("point", residual)
        off = format_length(float(shown.at_points[residual]), units)
        return Label(*places[index], f"{index + 1}: {off}" + marked * " worst", marked)

    labels = [at_point(i, i) for i in range(corners)]
    at, placed, span = corners, 4, 0
    for extra in extras:
        labels += [
            at_point(at + i, placed if extra.place is not None else None) for i in range(len(extra.points))
        ]
        if extra.place is not None:
            placed += 1
        if len(extra.points) == 2 and extra.apart is not None:
            if shown is not None:
                marked = worst == ("span", span)
                off = format_length(float(shown.at_spans[span]), units, signed=True)
                text = f"{at + 1}–{at + 2}: {off}" + marked * " worst"
                labels.append(Label(*_middle(places[at], places[at + 1]), text, marked))
            span += 1
        at += len(extra.points)
    return labels


def _middle(one: Vector, other: Vector) -> Vector:
    return (one[0] + other[0]) / 2, (one[1] + other[1]) / 2
