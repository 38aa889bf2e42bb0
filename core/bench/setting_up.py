"""Distances and angles to measure while the tail is glued on. All exact geometry.

Axes of the design: x aft, y to starboard, z up, in mm. Turning is about the vertical, positive
clockwise seen from above: the leading edge swings to starboard, the starboard tip goes aft. Leaning
is positive to starboard. Figures per degree are the exact figures at one degree. What cannot be
computed comes back as a str: the reason, a short clause for the window.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.bench.taut import Body, Taut, taut
from core.design import LIMIT, Design, Mark, Outline, Tailplane, Wing
from core.geometry.memo import IdentityMemo
from core.geometry.overlay import areas_only, lines_in, union, without
from core.geometry.prepared import prepared
from core.geometry.regions import rings_of
from core.kinds import FINS, VERTICAL_TAIL
from core.stability.ballast import CLOSE, OUT_OF_REACH
from core.stability.side_area import form_of

Point = tuple[float, float, float]
"""(x, y, z) in mm."""


@dataclass(frozen=True)
class ChordRise:
    """How far a leading edge stands above its trailing edge, mm, and how much one degree more adds."""

    chord: float
    incidence_deg: float
    rise: float
    per_degree: float


@dataclass(frozen=True)
class TipDistances:
    """Two lengths to the tailplane tips, mm."""

    starboard: float
    port: float

    @property
    def difference(self) -> float:
        """Starboard less port, mm."""
        return self.starboard - self.port


@dataclass(frozen=True)
class StringCheck:
    """What the strings from a pin to the tips of a tailplane or wing should read, mm.

    ``square``: each length when the surface sits true; until it leaves the body it lies on that for
    ``on_body``, 0 where it runs free. ``per_degree``: starboard less port when it
    is turned by one degree about ``turned_about_x``. ``per_mm_off_centre``: the same when it sits one
    millimetre to starboard instead, which one pin cannot tell from a turn: see that it is centred.
    """

    square: float
    per_degree: float
    per_mm_off_centre: float
    turned_about_x: float
    tip: Point
    on_body: float = 0.0


@dataclass(frozen=True)
class FinMarks:
    """Where to measure the fin, in mm: its tip, the height of its foot, and its chord half way up."""

    tip: Mark
    foot_z: float
    chord_z: float
    leading_x: float
    trailing_x: float


@dataclass(frozen=True)
class FinSquareCheck:
    """What the lengths from the fin's tip to the two tailplane tips should read, mm.

    ``upright``: each length when the fin stands square. ``per_degree``: starboard less port when it
    leans one degree to starboard; negative, since it then comes nearer to that tip.
    """

    upright: float
    per_degree: float


def leading_edge_rise(chord: float, incidence_deg: float) -> float | str:
    """Rise in mm of the leading edge above the trailing edge: chord × sin(incidence) (exact).

    Both ends of the chord line are measured from the same level base; negative where the leading
    edge is the lower. For incidences up to ±90°.
    """
    if not (abs(chord) <= LIMIT and math.isfinite(incidence_deg)):
        return OUT_OF_REACH
    if chord <= 0.0:
        return "give a chord greater than 0"
    if abs(incidence_deg) > 90.0:
        return "give an incidence between −90° and 90°"
    return chord * math.sin(math.radians(incidence_deg))


def root_rise(surface: Wing | Tailplane) -> ChordRise | str:
    """The rise to set at the root chord of a wing or tailplane (:func:`leading_edge_rise`)."""
    if not surface.stations:
        return "enter the stations of the wing or tailplane"
    root = min(surface.stations, key=lambda s: abs(s.y))
    rise = leading_edge_rise(root.chord, surface.incidence_deg)
    if isinstance(rise, str):
        return rise
    step = math.radians(surface.incidence_deg + 1.0)
    return ChordRise(root.chord, surface.incidence_deg, rise, root.chord * math.sin(step) - rise)


def starboard_tip(tailplane: Tailplane | Wing, chord_fraction: float = 0.0) -> Point | str:
    """The point of the tip chord to measure to: 0 its leading edge (default), 1 its trailing edge.

    The leading edge is where the design file puts it, whatever the incidence; points aft of it are
    taken level with it.
    """
    if not tailplane.stations:
        return f"enter the {_word(tailplane)}"
    tip = max(tailplane.stations, key=lambda s: s.y)
    if not all(abs(v) <= LIMIT for v in (tip.le_x, tip.y, tip.z, tip.chord, chord_fraction)):
        return OUT_OF_REACH
    if tip.y <= CLOSE:
        return f"give the {_word(tailplane)} a station at its tip, with y greater than 0"
    if not 0.0 <= chord_fraction <= 1.0:
        return "measure to a point between the leading edge (0) and the trailing edge (1) of the tip"
    return tip.le_x + chord_fraction * tip.chord, tip.y, tip.z


def root_middle_x(tailplane: Tailplane | Wing) -> float | str:
    """x in mm of the middle of the root chord, about which a surface turns on its seat."""
    if not tailplane.stations:
        return f"enter the {_word(tailplane)}"
    root = min(tailplane.stations, key=lambda s: abs(s.y))
    middle = root.le_x + 0.5 * root.chord
    return middle if abs(middle) <= 2 * LIMIT else OUT_OF_REACH


def _word(surface: Tailplane | Wing) -> str:
    return "wing" if isinstance(surface, Wing) else "tailplane"


def string_lengths(
    tailplane: Tailplane | Wing, pin: Mark, turned_deg: float = 0.0, about_x: float | None = None,
    chord_fraction: float = 0.0, off_centre: float = 0.0, body: Body | None = None,
) -> TipDistances | str:
    """Lengths in mm from a pin on the centre line to the tips of a turned surface (exact).

    From the rotated tips: about the vertical through ``about_x`` on the centre line (the middle of
    the root chord where None), by at most ±90°, then shifted by ``off_centre`` mm to starboard. The
    strings are taut, over ``body`` where it is in their way (``core.bench.taut``).
    """
    strings = _strings(tailplane, pin, turned_deg, about_x, chord_fraction, off_centre, body)
    return strings if isinstance(strings, str) else TipDistances(strings[0].length, strings[1].length)


def _strings(
    tailplane: Tailplane | Wing, pin: Mark, turned_deg: float, about_x: float | None, chord_fraction: float,
    off_centre: float, body: Body | None,
) -> tuple[Taut, Taut] | str:
    tip = starboard_tip(tailplane, chord_fraction)
    if isinstance(tip, str):
        return tip
    about = root_middle_x(tailplane) if about_x is None else about_x
    if isinstance(about, str):
        return about
    if not all(abs(v) <= 2 * LIMIT for v in (about, pin.x, pin.z, turned_deg, off_centre)):
        return OUT_OF_REACH
    if abs(turned_deg) > 90.0:
        return "give a turn between −90° and 90°"
    sin, cos = math.sin(math.radians(turned_deg)), math.cos(math.radians(turned_deg))
    aft, out = tip[0] - about, tip[1]
    starboard, port = (
        taut(body, pin, (about + aft * cos + y * sin, y * cos - aft * sin + off_centre, tip[2]))
        for y in (out, -out)
    )
    if isinstance(starboard, str):
        return starboard
    return port if isinstance(port, str) else (starboard, port)


def string_check(
    tailplane: Tailplane | Wing, pin: Mark, about_x: float | None = None, chord_fraction: float = 0.0,
    body: Body | None = None,
) -> StringCheck | str:
    """What the strings from ``pin`` to the tips should read, and their difference per degree (exact).

    The difference is close to 2 sin θ × half span × (distance from the pin to the turning point)/length:
    a pin far from it and a long surface tell the most. Refused where the pin stands on the turning
    point, since the strings then stay alike however the surface is turned; and where a string has no
    way round ``body``.
    """
    tip = starboard_tip(tailplane, chord_fraction)
    if isinstance(tip, str):
        return tip
    about = root_middle_x(tailplane) if about_x is None else about_x
    if isinstance(about, str):
        return about
    true = _strings(tailplane, pin, 0.0, about, chord_fraction, 0.0, body)
    turned = string_lengths(tailplane, pin, 1.0, about, chord_fraction, 0.0, body)
    shifted = string_lengths(tailplane, pin, 0.0, about, chord_fraction, 1.0, body)
    if isinstance(true, str):
        return true
    if isinstance(turned, str):
        return turned
    if isinstance(shifted, str):
        return shifted
    if abs(pin.x - about) <= CLOSE:
        where = "ahead on" if isinstance(tailplane, Tailplane) else "aft on"
        return f"the pin stands where the {_word(tailplane)} turns: put it well {where} the fuselage"
    return StringCheck(
        true[0].length, turned.difference, shifted.difference, about, tip, true[0].on_body
    )


def fin_marks(design: Design) -> FinMarks | str:
    """Where to measure the single fin of a design.

    The fin outlines, without the rudder since it moves (the rudder where there is no fin), less the
    other single joined outlines: the tip is the highest point of what is left (the aft corner of a
    level tip), the foot the mean height along x of where the piece under it stands on the body (its
    lowest point where it stands on none), the chord is taken half way up.
    """
    traced = [o for o in design.outlines if o.kind in FINS]
    traced = traced or [o for o in design.outlines if o.kind in VERTICAL_TAIL]
    if not traced:
        return "trace the fin"
    single = [o for o in traced if o.count == 1]
    if not single:
        return "twin fins stand off the centre line: check each with a square against the tailplane"
    body = tuple(
        o for o in design.outlines
        if o.count == 1 and o.standing == "joined" and o.kind not in VERTICAL_TAIL
    )
    return _marks.get((*single, *body), lambda: _marks_of(single, body), extra=len(single))


_marks: IdentityMemo[FinMarks | str] = IdentityMemo(8)
_bodies: IdentityMemo[BaseGeometry] = IdentityMemo(8)


def _marks_of(single: Sequence[Outline], body: tuple[Outline, ...]) -> FinMarks | str:
    # Asked after every edit: dragging a fin leaves the body as it was.
    others = _bodies.get(body, lambda: union(form_of(o).patch.region for o in body))
    whole = union(form_of(o).patch.region for o in single)
    if whole.is_empty:
        return "the fin has no area: trace it again"
    parts = [p for p in shapely.get_parts(areas_only(without(whole, others))) if p.area > CLOSE]
    if not parts:
        return "the fin is wholly covered by other outlines: check their kind and place"
    piece = max(parts, key=lambda p: float(shapely.bounds(p)[3]))
    low_x, low_z, high_x, high_z = (float(v) for v in shapely.bounds(piece))
    corners = shapely.get_coordinates(piece)
    level = corners[:, 1] >= high_z - 1e-6 * (high_z - low_z)
    tip_x = float(corners[level, 0].max())
    foot_z = _foot(piece, others)
    middle = 0.5 * (foot_z + high_z)
    across = shapely.LineString(((low_x - 1.0, middle), (high_x + 1.0, middle)))
    cut = lines_in(across, piece)
    if cut.is_empty:
        return "the fin is too thin to measure: trace it again"
    leading, _, trailing, _ = (float(v) for v in shapely.bounds(cut))
    return FinMarks(Mark(tip_x, high_z), foot_z, middle, leading, trailing)


def _foot(piece: BaseGeometry, body: BaseGeometry) -> float:
    """∫z dx / ∫dx where the piece stands on the body; its lowest z where it stands on nothing.

    A post that runs down behind the body's end, or hangs on under it, does not pull the foot down.
    """
    closed, _ = rings_of(piece)[0]
    middles = 0.5 * (closed[:-1] + closed[1:])
    # Half a micron: the corners of a difference are rounded and lie beside the edge they cut.
    met = shapely.dwithin(prepared(body), shapely.points(middles), 5e-4)
    # Going round anticlockwise the inside is on the left: above what runs aft.
    anticlockwise = 1.0 if shapely.is_ccw(shapely.LinearRing(closed)) else -1.0
    runs = np.maximum(anticlockwise * np.diff(closed[:, 0]), 0.0) * met
    if not runs.sum() > CLOSE:
        return float(closed[:, 1].min())
    return float((runs @ middles[:, 1]) / runs.sum())


def fin_tip_distances(
    fin_tip: Mark, foot_z: float, tailplane: Tailplane, lean_deg: float = 0.0,
    chord_fraction: float = 0.0,
) -> TipDistances | str:
    """Lengths in mm from the tip of a leaning fin to the two tailplane tips (exact).

    The fin turns about a fore-and-aft line on the centre line at the height ``foot_z``, by at most
    ±90°; the tailplane, held by the fuselage, stays.
    """
    tip = starboard_tip(tailplane, chord_fraction)
    if isinstance(tip, str):
        return tip
    if not all(abs(v) <= LIMIT for v in (fin_tip.x, fin_tip.z, foot_z, lean_deg)):
        return OUT_OF_REACH
    height = fin_tip.z - foot_z
    if height <= CLOSE:
        return "the fin's tip does not stand above its foot: check the fin's outline"
    if abs(lean_deg) > 90.0:
        return "give a lean between −90° and 90°"
    lean = math.radians(lean_deg)
    across, up = height * math.sin(lean), foot_z + height * math.cos(lean)
    return TipDistances(
        *(math.hypot(tip[0] - fin_tip.x, y - across, tip[2] - up) for y in (tip[1], -tip[1]))
    )


def fin_square_check(
    fin_tip: Mark, foot_z: float, tailplane: Tailplane, chord_fraction: float = 0.0
) -> FinSquareCheck | str:
    """What the fin's squareness check should read (exact, :func:`fin_tip_distances`).

    Refused for a tailplane whose root sits higher than a quarter of the fin's height above its foot:
    it is carried by the fin, leans with it, and the lengths would not show it.
    """
    upright = fin_tip_distances(fin_tip, foot_z, tailplane, 0.0, chord_fraction)
    leaning = fin_tip_distances(fin_tip, foot_z, tailplane, 1.0, chord_fraction)
    if isinstance(upright, str):
        return upright
    if isinstance(leaning, str):
        return leaning
    root = min(tailplane.stations, key=lambda s: abs(s.y))
    if not root.z <= foot_z + 0.25 * (fin_tip.z - foot_z):
        return "the tailplane sits on the fin and leans with it: check the fin with a square on the fuselage"
    return FinSquareCheck(upright.starboard, leaning.difference)
