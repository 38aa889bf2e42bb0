"""The second witness of the tail in yaw: fins and tailplanes as a vortex lattice on the body.

Shares no line with the handbook's fin. Before sidewash and loss of speed behind the body, and without
a CG, so that it is laid anew only where the tail or the body below it changes.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.design import Outline
from core.geometry.memo import IdentityMemo, kept
from core.geometry.overlay import NOTHING, OverlayError, common, union, without
from core.geometry.patch import Patch, united
from core.geometry.ring import Array
from core.kinds import CARRIERS, UPRIGHT, VERTICAL_TAIL
from core.stability.aeroplane import Aeroplane
from core.stability.body import bodies, span_at
from core.stability.fin import fin_form, no_tail
from core.stability.lateral.fin_root import NO_SINGLE_BODY, fin_root
from core.stability.lateral.lattice import Circle, Horseshoes, circulations, loads
from core.stability.lateral.tail_panels import (
    NARROWEST,
    ON_THE_TIP,
    VENTRAL_STRIPS,
    Level,
    Upright,
    fin_panels,
    level_of,
    level_panels,
    met,
    outside,
    raised,
    to_the_middle,
    whole,
)
from core.stability.side_area import form_of
from core.stability.surfaces import lift_slope, surface_form
from core.stability.touching import apart_of, pairs

VENTRAL = UPRIGHT - VERTICAL_TAIL
UNSOLVED = "the flow about this tail cannot be computed: check its outlines and the tailplane"
_THIN_BODY = 0.25
"""Of a strip: a body whose radius is less is none, and the fin runs through it (own)."""
_MOST = 8.0 * math.pi
"""More than any side force over area can be: 2π, doubled by the body's cross-flow and its own share."""


@dataclass(frozen=True)
class TailLoad:
    """What the tail does in sideslip, per radian of it and per dynamic pressure; restoring positive."""

    side: float
    """Side force on fins, tailplanes and what of the body belongs to them, in mm²."""
    side_x: float
    """Its first moment over x, in mm³."""
    side_z: float
    """Its first moment over z, in mm³: what acts on the body acts at its middle."""

    def plus(self, other: TailLoad, times: float = 1.0) -> TailLoad:
        """This and ``times`` the other."""
        return TailLoad(
            self.side + times * other.side, self.side_x + times * other.side_x,
            self.side_z + times * other.side_z,
        )


NO_LOAD = TailLoad(0.0, 0.0, 0.0)

_memo: IdentityMemo[TailLoad | str] = IdentityMemo(32)


@dataclass(frozen=True, eq=False)
class _Piece:
    """An outline of the tail, and what of it is exposed."""

    outline: Outline
    patch: Patch


def tail_load(a: Aeroplane) -> TailLoad | str:
    """The side load of the whole tail by the lattice, or why there is none; half as fine if ``a.coarse``.

    The single fin stands on a circle (radius half the body's depth, at the quarter chord of its MAC),
    ventral fins hang from it, tailplanes meet it or the fin: one system. Pairs are a system of their own
    with the tailplanes, without a body, in planes half ``apart`` off the middle; pairs without a known
    distance, three fins and more, and ventral pairs, are each taken alone. What hangs below the circle's
    top behind the body takes no part in the system: its area times the lift slope of the whole exposed
    fin, at its own quarter chord. Where the body ends more than its depth ahead of the fin, or is
    its radius less than a quarter of a strip, there is no circle, and the fin stands free at both ends.

    Range: attached flow, small sideslip; without the wing's sidewash and the body's wake. Source: the
    module's lattice; the way it is laid is this project's.
    """
    outlines = tuple(o for o in a.design.outlines if o.kind in CARRIERS | UPRIGHT)
    patches = tuple(p for _, pieces in a.side.tail_pieces for p in pieces)
    # The exposed pieces follow from all single joined outlines, and stand in the key themselves.
    around = _hiding(a) if any(o.kind in VENTRAL for o in outlines) else ()
    return _memo.get(
        (*outlines, *patches, *around, *a.design.tailplanes), lambda: _load(a),
        (a.coarse, len(outlines), len(patches), len(around)),
    )


def _load(a: Aeroplane) -> TailLoad | str:
    pieces = [p for p in _pieces(a) if p.patch.moments.area > 0.0]
    if not any(p.outline.kind in VERTICAL_TAIL for p in pieces):
        return no_tail(a.design)
    levels: list[Level] = []
    for tailplane in a.design.tailplanes:
        form = surface_form(tailplane)
        if isinstance(form, str):
            return form
        levels.append(level_of(tailplane))
    divide = 2 if a.coarse else 1
    try:
        found = _all(a, pieces, levels, divide)
    except OverlayError as error:
        return str(error)
    if isinstance(found, str):
        return found
    area = sum(p.outline.count * p.patch.moments.area for p in pieces)
    area += sum(2.0 * _upright_area(level) for level in levels)
    if not 0.0 < found.side < _MOST * area or not math.isfinite(found.side_x + found.side_z):
        return UNSOLVED
    return found


def _all(a: Aeroplane, pieces: list[_Piece], levels: list[Level], divide: int) -> TailLoad | str:
    total = NO_LOAD
    single = [p for p in pieces if p.outline.count == 1]
    distances = {
        o.id: apart_of([one for one in pair if one.kind in UPRIGHT]) for pair in pairs(a.design) for o in pair
    }
    clear, alone = _planes([p for p in pieces if p.outline.count > 1], distances, levels)
    if single:
        found = _on_the_body(a, single, levels, divide)
        if isinstance(found, str):
            return found
        total = total.plus(found)
    if clear:
        # The tailplanes' own load is counted once.
        fins = _solved([_free(region, y) for region, y in clear], levels, None, divide, not single)
        if isinstance(fins, str):
            return fins
        total = total.plus(fins)
    for region, count in alone:
        one = _solved([_free(region)], [], None, divide)
        if isinstance(one, str):
            return one
        total = total.plus(one, count)
    if levels and not single and not clear:
        found = _solved([], levels, None, divide)
        if isinstance(found, str):
            return found
        total = total.plus(found)
    return total


def _on_the_body(
    a: Aeroplane, single: list[_Piece], levels: list[Level], divide: int
) -> TailLoad | str:
    """Single fin, ventral fin and tailplanes on the circle, and what hangs beside it."""
    fins = _region(p for p in single if p.outline.kind in VERTICAL_TAIL)
    below = _region(p for p in single if p.outline.kind in VENTRAL)
    circle = _circle(a, fins, below)
    if isinstance(circle, str):
        return circle
    standing: list[Upright] = []
    hanging = NO_LOAD
    if circle is None:
        standing.append(_free(union((fins, below))))
    else:
        top, bottom = circle.middle + circle.radius, circle.middle - circle.radius
        if not fins.is_empty:
            high = float(shapely.bounds(fins)[3])
            if high - top >= NARROWEST:
                low = max(top, float(shapely.bounds(fins)[1]))
                floats = low - top > (high - top) / 24
                standing.append(Upright(fins, low if floats else top, high, floats, True))
            hanging = hanging.plus(_alone(fins, -math.inf, top))
        if not below.is_empty:
            low, high = float(shapely.bounds(below)[1]), float(shapely.bounds(below)[3])
            if bottom - low >= NARROWEST:
                floats = bottom - high > (bottom - low) / VENTRAL_STRIPS
                standing.append(
                    Upright(below, low, high if floats else bottom, True, floats, VENTRAL_STRIPS)
                )
            hanging = hanging.plus(_alone(below, bottom, math.inf))
    found = _solved(standing, levels, circle, divide)
    return found if isinstance(found, str) else found.plus(hanging)


def _circle(a: Aeroplane, fins: BaseGeometry, below: BaseGeometry) -> Circle | str | None:
    """The body under the tail; None where it is too thin, or ends too far ahead, to matter."""
    region = below if fins.is_empty else fins
    if fins.is_empty:
        hull = next((b.patch for b in bodies(a.design) if b.main and b.count == 1), None)
        form = fin_form((Patch(below),))
        span = span_at(hull, form.quarter_chord_x) if hull is not None and form is not None else None
        if form is None or span is None:
            return None
        x, radius, middle = form.quarter_chord_x, 0.5 * (span[1] - span[0]), 0.5 * (span[0] + span[1])
    else:
        root = fin_root(a)
        if isinstance(root, str):
            return None if root == NO_SINGLE_BODY else root
        x, radius, middle = root.x, root.top - root.middle, root.middle
    foremost, low, _, high = (float(v) for v in shapely.bounds(region))
    if foremost - x > 2.0 * radius or radius < _THIN_BODY * (high - low) / 24:
        return None
    return Circle(radius, middle)


def _alone(region: BaseGeometry, low: float, high: float) -> TailLoad:
    """What of ``region`` lies between two heights: its area by the slope of the whole, outside the system."""
    x0, z0, x1, z1 = (float(v) for v in shapely.bounds(region))
    part = Patch(common(region, shapely.box(x0 - 1.0, max(low, z0 - 1.0), x1 + 1.0, min(high, z1 + 1.0)))
                 if max(low, z0) < min(high, z1) else NOTHING)
    form, of = fin_form((part,)), fin_form((Patch(region),))
    centre = part.moments.centroid()
    if form is None or of is None or centre is None:
        return NO_LOAD
    side = lift_slope(of.aspect_ratio, of.sweep_half_deg) * part.moments.area
    return TailLoad(side, side * form.quarter_chord_x, side * centre[1])


def _free(region: BaseGeometry, y: float = 0.0) -> Upright:
    low, high = float(shapely.bounds(region)[1]), float(shapely.bounds(region)[3])
    return Upright(region, low, high, True, True, y=y, mirrored=y > 0.0)


def _solved(
    standing: Sequence[Upright], levels: Sequence[Level], circle: Circle | None, divide: int,
    with_levels: bool = True,
) -> TailLoad | str:
    """The load of one system; without ``with_levels`` that of what stands upright alone."""
    fins = [fin for fin in standing if fin.height >= NARROWEST]
    lines: list[Level] = []
    for level in levels:
        placed = to_the_middle(level, circle)
        if circle is not None:
            placed = _on_the_circle(placed, circle, fins)
        within = circle is not None and abs(float(placed.line[0, 1]) - circle.middle) < circle.radius
        for k, fin in enumerate(fins):
            # Grown out of the body's side it meets no fin in the middle.
            if not (within and fin.y == 0.0):
                placed, fins[k] = _joined(placed, fin)
        trimmed = placed if circle is None else outside(placed, circle)
        if trimmed is not None and trimmed.length > NARROWEST:
            lines.append(trimmed)
    # What carries a fin and is no body does not part it: gaps of its height are closed.
    reach = 0.0 if circle is not None else 2.0
    panels = [fin_panels(fin, divide, reach * fin.strip) for fin in fins]
    panels += [level_panels(line, divide) for line in lines]
    gammas = circulations(panels, circle, _cores([*fins, *lines]))
    if gammas is None:
        return UNSOLVED
    found = NO_LOAD
    for surface, gamma, counts in zip(
        panels, gammas, [True] * len(fins) + [with_levels] * len(lines), strict=True
    ):
        if counts:
            found = found.plus(_sum(surface, gamma, circle))
    return found


def _sum(surface: Horseshoes, gamma: Array, circle: Circle | None) -> TailLoad:
    load = loads(surface, gamma, circle)
    both = load.own + load.body
    middle = 0.0 if circle is None else circle.middle
    return TailLoad(
        float(both.sum()), float((both * load.x).sum()),
        float((load.own * load.z).sum()) + middle * float(load.body.sum()),
    )


def _on_the_circle(level: Level, circle: Circle, fins: Sequence[Upright]) -> Level:
    """A tailplane that crosses the middle less than a fin's strip off the circle sits on it."""
    if level.line[0, 0] > 0.0:
        return level
    off = float(level.line[0, 1]) - circle.middle
    strip = max((fin.strip for fin in fins if (fin.high > circle.middle) == (off > 0.0)), default=0.0)
    gap = abs(off) - circle.radius
    return raised(level, -math.copysign(gap, off)) if 0.0 < gap < strip else level


def _joined(level: Level, fin: Upright) -> tuple[Level, Upright]:
    """Tailplane and fin with strips that end where the two meet."""
    line, half = level.line, float(level.line[-1, 0])
    if fin.y <= 0.0 and line[0, 0] > 0.0:
        return level, fin
    if fin.y < line[0, 0] or fin.y > (1.0 + ON_THE_TIP) * half:
        return level, fin
    if fin.y > 0.0 and abs(half - fin.y) <= ON_THE_TIP * half:
        fin = replace(fin, y=half)
    along, z, leading, chord = (
        float(np.interp(fin.y, line[:, 0], column)) for column in (level.along, *line[:, 1:].T)
    )
    joined, sits = met(fin, z, leading, chord)
    if fin.y > 0.0 and fin.low <= sits <= fin.high:
        if fin.y >= half:
            level = replace(level, free_tip=False)
        elif along > 0.0 and along not in level.at:
            level = replace(level, at=(*level.at, along))
    return raised(level, sits - z), joined


def _cores(parts: Sequence[Upright | Level]) -> Array:
    """(S, S) in mm: a quarter of a strip between surfaces that no common edge keeps apart."""
    cores = np.zeros((len(parts), len(parts)))
    for i, one in enumerate(parts):
        for j, other in enumerate(parts):
            if i != j and isinstance(one, Level) == isinstance(other, Level):
                cores[i, j] = 0.25 * max(one.strip, other.strip)
    return cores


def _upright_area(level: Level) -> float:
    """mm² of half a tailplane as seen from the side, for what its load may be at most."""
    line = level.line
    return float((np.abs(np.diff(line[:, 1])) * 0.5 * (line[:-1, 3] + line[1:, 3])).sum())


@kept
def _pieces(a: Aeroplane) -> tuple[_Piece, ...]:
    """Every outline of the vertical tail and every ventral fin, with what of it is exposed."""
    found: list[_Piece] = []
    for count, patches in a.side.tail_pieces:
        # They stand in the order of the outlines that they were made from.
        outlines = [o for o in a.design.outlines if o.count == count and o.kind in VERTICAL_TAIL]
        found.extend(_Piece(o, p) for o, p in zip(outlines, patches, strict=True))
    hiding = [form_of(o).patch for o in _hiding(a)]
    for outline in a.design.outlines:
        if outline.kind in VENTRAL:
            own = form_of(outline).patch
            near = [p.region for p in hiding if p.meets(own)] if outline.standing == "joined" else []
            patch = Patch(without(own.region, union(near))) if near else own
            found.append(_Piece(outline, patch))
    return tuple(found)


def _hiding(a: Aeroplane) -> tuple[Outline, ...]:
    """What single joined outlines a ventral fin grows out of."""
    return tuple(
        o for o in a.design.outlines
        if o.count == 1 and o.standing == "joined" and o.kind not in VENTRAL
    )


def _planes(
    several: list[_Piece], distances: Mapping[str, float | None], levels: Sequence[Level]
) -> tuple[list[tuple[BaseGeometry, float]], list[tuple[BaseGeometry, int]]]:
    """((region, y) of pairs whose distance is known or assumed, (region, count) of what stands alone)."""
    clear: dict[float, list[_Piece]] = {}
    alone: dict[tuple[int, bool], list[_Piece]] = {}
    tips = max((float(level.line[-1, 0]) for level in levels), default=0.0)
    for piece in several:
        outline = piece.outline
        tail = outline.kind in VERTICAL_TAIL
        apart = distances.get(outline.id)
        if apart is None and tail and tips > 0.0:
            apart = 2.0 * tips
        if outline.count == 2 and apart is not None:
            clear.setdefault(0.5 * apart, []).append(piece)
        else:
            alone.setdefault((outline.count, tail), []).append(piece)
    return (
        [(_region(group), y) for y, group in clear.items()],
        [(_region(group), count) for (count, _), group in alone.items()],
    )


def _region(pieces: Iterable[_Piece]) -> BaseGeometry:
    group = tuple(p.patch for p in pieces)
    return whole(united(group).region) if group else NOTHING
