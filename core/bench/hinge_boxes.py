"""How large the hinges of a rudder are drawn and where they go: in keeping with the tail, clear of the rest.

mm of the design. Shares and clearances are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from core.bench.template_lines import Hinge, body_under
from core.design import Design
from core.geometry.overlay import lines_in, union
from core.geometry.ring import Array
from core.kinds import TAILPLANES
from core.stability.side_area import form_of, surface_patch

_OF_CHORD, _OF_SHORTEST, _OF_LENGTH = 0.18, 0.4, 0.12
"""Half a hinge's length as a part of the mean and of the shortest chord beside the hinges, its width as
one of the hinge line."""
_SLIM = 5.0 / 14.0
_LEAST, _MOST = 1.5, 16.0
_CLEAR = 2.0
_MOST_SHIFT = 0.25
_STEPS = 241


@dataclass(frozen=True)
class HingeBoxes:
    """The middles of the hinges, and how far each reaches ``across`` and ``along`` the hinge line, mm."""

    places: tuple[tuple[float, float], ...]
    across: float
    along: float


def hinge_boxes(design: Design, hinge: Hinge) -> HingeBoxes:
    """Boxes of one size for all hinges of a line, moved along it until they are clear of all in the way.

    They reach to either side less than a fifth of the mean chord of fin and rudder beside the hinges.
    In the way: the tailplanes, the body's outline, and the body itself where the hinge need not move
    far to leave it. A hinge that has no place is left out.
    """
    start, end = np.array(hinge.start), np.array(hinge.end)
    ahead = (end - start) / hinge.length
    half = _half_across(design, hinge, ahead)
    along = min(2 * half * _SLIM, _OF_LENGTH * hinge.length)
    body = body_under(design)
    tailplanes = union([
        *(surface_patch(t).region for t in design.tailplanes),
        *(form_of(o).patch.region for o in design.outlines if o.kind in TAILPLANES),
    ])
    steps = np.linspace(0.0, hinge.length, _STEPS)
    boxes = _boxes(start + steps[:, None] * ahead, ahead, half + _CLEAR / 2, along / 2 + _CLEAR)
    hard = shapely.intersects(boxes, tailplanes) | shapely.intersects(boxes, body.boundary)
    soft = hard | shapely.intersects(boxes, body)
    room = along / 2 + min(_CLEAR, 0.05 * hinge.length)
    on_line = (steps >= room) & (steps <= hinge.length - room)
    taken: list[float] = []
    wanted = [float((np.array(place) - start) @ ahead) for place in hinge.hinges]
    for at in wanted:
        free = on_line & (np.abs(steps[:, None] - np.array(taken or [-np.inf])) > 2 * along).all(axis=1)
        spot = _nearest(steps, free & ~soft, at, _MOST_SHIFT * hinge.length)
        if spot is None:
            spot = _nearest(steps, free & ~hard, at, hinge.length)
        if spot is not None:
            taken.append(spot)
    places = tuple((float(x), float(z)) for x, z in start + np.array(sorted(taken))[:, None] * ahead)
    return HingeBoxes(places if taken else (), 2 * half, along)


def _nearest(steps: Array, free: Array, at: float, most: float) -> float | None:
    away = np.where(free, np.abs(steps - at), np.inf)
    best = int(away.argmin())
    if not away[best] <= most:
        return None
    # The grid is no reason to move it.
    return at if away[best] <= (steps[1] - steps[0]) / 2 + 1e-9 else float(steps[best])


def _half_across(design: Design, hinge: Hinge, ahead: Array) -> float:
    """Half the length of a box, by the chords of fin and rudder beside the hinges."""
    across = np.array((-ahead[1], ahead[0]))
    regions = [form_of(o).patch.region for o in design.outlines if o.id in (hinge.rudder, hinge.fin)]
    chords = []
    for place in hinge.hinges:
        for region in regions:
            low_x, low_z, high_x, high_z = region.bounds
            far = across * (high_x - low_x + high_z - low_z + 1.0)
            cut = lines_in(shapely.LineString((np.array(place) - far, np.array(place) + far)), region)
            reach = [
                float(part.length) for part in shapely.get_parts(cut)
                if part.geom_type == "LineString" and part.distance(shapely.Point(place)) < 5.0
            ]
            if reach:
                chords.append(max(reach))
    if not chords:
        return _LEAST
    return min(_MOST, max(_LEAST, min(_OF_CHORD * sum(chords) / len(chords), _OF_SHORTEST * min(chords))))


def _boxes(
    middles: Array, ahead: Array, half_across: float, half_along: float
) -> np.ndarray[tuple[int, ...], np.dtype[np.object_]]:
    a, b = ahead * half_along, np.array((-ahead[1], ahead[0])) * half_across
    corners = np.array((-a - b, a - b, a + b, -a + b))
    return np.asarray(shapely.polygons(middles[:, None, :] + corners[None]), dtype=object)
