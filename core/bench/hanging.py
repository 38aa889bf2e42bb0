"""Hanging the card copy: where to put the pins, and how sure the crossing of the plumb lines is.

A card hung from a pin comes to rest with its centroid plumb below the pin; with every doubled
surface glued on twice that centroid is the CLA (exact). What cannot be computed comes back as a
str: the reason, a short clause for the window.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.design import LIMIT, Design
from core.geometry.overlay import NOTHING, lines_in, union
from core.geometry.ring import Array
from core.stability.ballast import OUT_OF_REACH
from core.stability.side_area import SideArea, form_of, silhouette, surface_patch

PIN_MARGIN = 5.0
"""mm from a pin to the edge of the card, so that the hole does not tear (common practice, no source)."""
LEAST_ANGLE, MOST_ANGLE = 60.0, 120.0
"""Degrees between the plumb lines within which the crossing is sharp."""
_PINS_TRIED = 480

Place = tuple[float, float]
"""(x, z) in mm."""


@dataclass(frozen=True)
class PlumbLine:
    """A line to draw on the card, from the pin through the CLA to ``end``, where it last leaves it."""

    pin: Place
    end: Place
    pin_to_cla: float


@dataclass(frozen=True)
class Hanging:
    """Two pins for the card copy. Lengths in mm at the size of the design, angle in degrees."""

    cla: Place
    lines: tuple[PlumbLine, PlumbLine]
    angle_deg: float
    margin: float
    """From each pin to the edge of the card: less than asked for where the card is slender."""
    cla_on_card: bool
    """Whether it lies on the silhouette or on a piece glued to it."""
    pieces: int
    """Into how many pieces the silhouette falls."""

    @property
    def well_seen(self) -> bool:
        """Whether the pins see the CLA at 60° to 120°."""
        return LEAST_ANGLE - 1e-6 <= self.angle_deg <= MOST_ANGLE + 1e-6

    @property
    def crossing_error(self) -> float:
        """How far the crossing moves, mm, at most, when either line is 1 mm off there."""
        return 1.0 / math.sin(math.radians(self.angle_deg))

    @property
    def crossing_error_both(self) -> float:
        """The same when both lines are 1 mm off, in the worst directions."""
        half = math.radians(0.5 * self.angle_deg)
        return 1.0 / min(math.sin(half), math.cos(half))

    @property
    def notes(self) -> tuple[str, ...]:
        """Sentences on what stands in the way of a good crossing; empty where nothing does."""
        found = []
        if not self.well_seen:
            found.append(
                f"The pins see the CLA at {self.angle_deg:.0f}°, not at 60° to 120°: "
                "the crossing is blurred; hang the card from a third pin as well."
            )
        if not self.cla_on_card:
            found.append("The CLA lies off the card: tape a thin strip across to mark the crossing on.")
        if self.pieces > 1:
            found.append(
                f"The silhouette falls into {self.pieces} pieces: join them with thin strips; "
                "the pins are on the largest."
            )
        return tuple(found)


def crossing_error(angle_deg: float, mark_error: float = 1.0) -> float | str:
    """How far in mm the crossing of two plumb lines moves, at most, when either is ``mark_error`` mm off.

    mark_error / sin(angle), the angle between the lines in degrees: one line shifted square to
    itself slides the crossing along the other (exact). A mark made beyond the CLA, seen from its pin,
    puts the line off by less than its own error there.
    """
    if not (math.isfinite(angle_deg) and 0.0 <= mark_error <= LIMIT):
        return OUT_OF_REACH
    sin = abs(math.sin(math.radians(angle_deg)))
    if sin < 1e-6:
        return "the two plumb lines fall on one another: choose pins that see the CLA at 60° to 120°"
    return mark_error / sin


def card_pins(design: Design, side: SideArea, margin: float = PIN_MARGIN) -> Hanging | str:
    """The recommended pins for the card copy of a design whose counted side area is ``side``.

    ``margin`` in mm at the size of the design: for a card at 1 : 4, four times what the card should have.
    """
    if side.cla is None:
        return "trace an outline"
    surfaces = [surface_patch(s).region for s in design.surfaces if s.in_side_area]
    glued = union([*(form_of(o).patch.region for o in design.outlines), *surfaces])
    return recommended_pins(silhouette(design), side.cla, margin, glued)


def recommended_pins(
    card: BaseGeometry, cla: Place, margin: float = PIN_MARGIN, glued: BaseGeometry = NOTHING
) -> Hanging | str:
    """Two pins on the silhouette ``card`` from which the plumb lines cross most sharply at ``cla``.

    ``glued``: the pieces glued on, which the lines may run over but no pin is put through. Pins are
    tried round the card, ``margin`` mm inside its edge (halved until some card is left). Of the pairs
    that see the CLA at 60° to 120°, or of all where there is none, the one with the least
    √(1/r₁² + 1/r₂²)/sin²(angle) is taken: friction at the pin turns a line by an angle that falls
    with the distance r from pin to CLA, and the crossing answers with 1/sin, squared to keep off the
    limits. (Our own choice, no source; the angle and the plumb lines are exact.)
    """
    if not all(abs(v) <= 10 * LIMIT for v in cla) or not 0.0 <= margin <= LIMIT:
        return OUT_OF_REACH
    parts = [p for p in shapely.get_parts(card) if p.area > 0.0]
    if not parts:
        return "trace the fuselage: the card needs a silhouette to hang by"
    piece = max(parts, key=lambda p: float(p.area))
    inner, kept = _inset(piece, margin)
    pins = _round(inner)
    arms = pins - np.asarray(cla)
    reach = np.hypot(arms[:, 0], arms[:, 1])
    far = reach > 1e-3 * math.sqrt(piece.area)
    pins, arms, reach = pins[far], arms[far], reach[far]
    if len(pins) < 2:
        return "the card is too small to hang: trace the fuselage"
    aim = arms / reach[:, None]
    sin = np.abs(aim[:, None, 0] * aim[None, :, 1] - aim[:, None, 1] * aim[None, :, 0])
    blur = np.sqrt(reach[:, None] ** -2 + reach[None, :] ** -2) / np.maximum(sin, 1e-12) ** 2
    good = sin >= math.sin(math.radians(LEAST_ANGLE))
    if good.any():
        blur = np.where(good, blur, np.inf)
    one, two = np.unravel_index(int(np.argmin(blur)), blur.shape)
    if sin[one, two] < 1e-3:
        return "every pin on the card sees the CLA along one line: check the outlines"
    angle = math.degrees(math.atan2(float(sin[one, two]), float(aim[one] @ aim[two])))
    whole = union((card, glued))
    lines = tuple(_plumb_line(whole, pins[i], cla) for i in sorted((one, two), key=lambda i: pins[i, 0]))
    on_card = bool(shapely.intersects_xy(whole, *cla))
    return Hanging(cla, (lines[0], lines[1]), angle, kept, on_card, len(parts))


def _inset(piece: BaseGeometry, margin: float) -> tuple[BaseGeometry, float]:
    """The piece less a rim, and the rim's width in mm: as much of ``margin`` as leaves any card."""
    while margin > 0.01:
        inner = shapely.buffer(piece, -margin)
        if not inner.is_empty:
            return inner, margin
        margin *= 0.5
    return piece, 0.0


def _round(region: BaseGeometry) -> Array:
    """Evenly spaced points (K, 2) on the outer edges of a region."""
    shells = [p.exterior for p in shapely.get_parts(region)]
    whole = sum(s.length for s in shells)
    found = [
        shapely.get_coordinates(shapely.line_interpolate_point(s, np.arange(count) / count, normalized=True))
        for s in shells if (count := round(_PINS_TRIED * s.length / whole)) > 0
    ]
    return np.concatenate(found) if found else np.zeros((0, 2))


def _plumb_line(card: BaseGeometry, pin: Array, cla: Place) -> PlumbLine:
    start = (float(pin[0]), float(pin[1]))
    along = np.asarray(cla) - pin
    reach = float(np.hypot(*along))
    low_x, low_z, high_x, high_z = shapely.bounds(card)
    beyond = pin + along / reach * (reach + math.hypot(high_x - low_x, high_z - low_z) + 1.0)
    met = shapely.get_coordinates(lines_in(shapely.LineString((start, beyond)), card))
    length = max(reach, *np.hypot(met[:, 0] - pin[0], met[:, 1] - pin[1])) if len(met) else reach
    end = pin + along / reach * length
    return PlumbLine(start, (float(end[0]), float(end[1])), reach)
