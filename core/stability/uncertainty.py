"""How sure the CLA fraction is: what tracing, the CG and typed surfaces may be off, in one figure."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from msgspec.structs import replace

from core.design import Tailplane, Wing
from core.geometry.memo import IdentityMemo
from core.geometry.overlay import union
from core.geometry.regions import Moments, moments_of, rings_of
from core.geometry.ring import Array
from core.stability.aeroplane import Aeroplane
from core.stability.counted_edges import jumps, sampled
from core.stability.guesses import each_surface, is_guessed, place_of
from core.stability.panels import side_projection
from core.stability.photographs import left_over
from core.stability.ranges import GUESSED_MM, TYPED_MM
from core.stability.side_area import form_of, surface_patch

NO_FRACTION = "it belongs to the CLA fraction, which is missing"

_FLAT = math.sin(math.radians(10.0))


class Errors(NamedTuple):
    """One standard deviation of the CLA fraction from each cause, as parts of 1."""

    tracing: float
    cg: float
    surfaces: float
    photograph: float = 0.0

    @property
    def whole(self) -> float:
        """All of them together: the root of the sum of their squares."""
        return math.sqrt(self.tracing**2 + self.cg**2 + self.surfaces**2 + self.photograph**2)


_changed: IdentityMemo[tuple[Moments, ...]] = IdentityMemo(32)


def cla_fraction_errors(a: Aeroplane) -> Errors | str:
    """What the CLA fraction may be off, one standard deviation a cause, or why it is missing.

    With f = (X − G)/L, L = F − G (CLA, CG, fin centre along x):

    - tracing: each outline as a whole is drawn ``sure.tracing_mm`` too far out or in, apart from the
      others: A dX = ∮ (x − X) s dl over its counted boundary, likewise dF over that of the exposed
      vertical tail, df = [dX − f dF]/L; the root of the sum of squares over the outlines. It does not
      depend on how many nodes an edge has. A stretch counts by how many times more the side area counts
      just inside than outside of it, found s to either side: a buried edge counts nothing, a double
      fin twice, and where two outlines share an edge, what one gives is half taken by the other.
    - a straightened photograph leaves ``residual_mm``: outlines traced on it are as far out or in, over and
      above what tracing does; of several scans the greatest counts for all outlines.
    - the CG, marked or weighed, is off by ``sure.cg_mm``: df = (1 − f)/L a mm.
    - height and thickness of typed wings and tailplanes are off by ``TYPED_MM``, by ``GUESSED_MM`` while
      guessed: the tip against the root, and the section; root of the sum of squares.

    A wrong scale changes every length alike and the fraction not at all. Stations and chords as typed
    are taken as exact. Range: errors that are small against the parts. Source: first-order propagation
    of errors (exact); the sizes of the errors are common practice, no source.
    """
    cla, cg, fin = a.side.cla, a.cg, a.fin_centre
    if cla is None or cg is None or fin is None or not fin[0] - cg.x > 1e-9:
        return NO_FRACTION
    arm = fin[0] - cg.x
    fraction = (cla[0] - cg.x) / arm
    sure = a.design.sure
    paper = left_over(a.design)
    per_mm = _per_mm(a, sure.tracing_mm or paper, cla[0], fin[0], fraction) / arm
    errors = Errors(
        sure.tracing_mm * per_mm, abs(1.0 - fraction) * sure.cg_mm / arm, _surfaces(a, cla[0]) / arm,
        paper * per_mm,
    )
    return errors if math.isfinite(errors.whole) else "a number in the design is out of reach"


def _per_mm(a: Aeroplane, off: float, cla_x: float, fin_x: float, fraction: float) -> float:
    """One standard deviation of dX − f dF in mm, outline by outline, for each mm that they are off.

    ``off``: about how many mm that is, so far to either side it is looked at what counts.
    """
    outlines = [(o, form_of(o)) for o in a.design.outlines]
    outlines = [(o, form) for o, form in outlines if form.patch.moments.area > 1e-9 and len(form.ring) > 1]
    if not outlines or off <= 0.0:
        return 0.0
    edges = [sampled(form) for _, form in outlines]
    points = np.concatenate([e.points for e in edges])
    outward = np.concatenate([e.outward for e in edges])
    x = points[:, 0]
    counted, exposed = jumps([o for o, _ in outlines], [f.patch for _, f in outlines], edges, max(off, 1e-6))
    tail = a.side.tail_moments
    lever = x - fin_x
    if a.design.aim.fin_centre == "quarter_chord":
        lever = _quarter_chord_levers(a, points, outward, exposed) - fin_x
    weight = counted * (x - cla_x) / a.side.moments.area - fraction * exposed * lever / tail.area
    pull = weight * np.hypot(outward[:, 0], outward[:, 1])
    by_outline = np.add.reduceat(pull, np.cumsum([0, *(len(e.points) for e in edges[:-1])]))
    return float(np.sqrt((by_outline**2).sum()))


def _surfaces(a: Aeroplane, cla_x: float) -> float:
    """One standard deviation of the CLA in mm from heights and thicknesses of wings and tailplanes."""
    whole = a.side.moments
    total = 0.0
    for group, at, surface in each_surface(a.design):
        if not surface.in_side_area or len(surface.stations) < 2:
            continue
        now = surface_patch(surface).moments
        heights = [
            is_guessed(a.design, place_of(group, at, f"stations[{i}].z"))
            for i in range(len(surface.stations))
        ]
        thick = is_guessed(a.design, place_of(group, at, "section.thickness"))
        for both in (
            _off(surface, GUESSED_MM if any(heights) else TYPED_MM, "rise"),
            _off(surface, GUESSED_MM if thick else TYPED_MM, "thickness"),
        ):
            total += max(_moved(whole, now, then, cla_x) for then in both) ** 2
    return math.sqrt(total)


def _moved(whole: Moments, now: Moments, then: Moments, cla_x: float) -> float:
    """By how much the CLA moves when one surface, counted twice, measures ``then`` instead of ``now``."""
    changed = whole.plus(then, 2.0).plus(now, -2.0).centroid()
    return abs(changed[0] - cla_x) if changed is not None else 0.0


def _off(surface: Wing | Tailplane, mm: float, what: str) -> tuple[Moments, ...]:
    """What one half of the surface measures with its tip ``mm`` higher and lower, or thicker and thinner."""

    def changed(by: float) -> Wing | Tailplane:
        if what == "thickness":
            chord = max(s.chord for s in surface.stations)
            thickness = max(surface.section.thickness + by / chord, 0.0) if chord > 0.0 else 0.0
            return replace(surface, section=replace(surface.section, thickness=thickness))
        low, high = (pick(s.y for s in surface.stations) for pick in (min, max))
        run = high - low
        risen = tuple(
            replace(s, z=s.z + by * ((s.y - low) / run if run > 0.0 else 0.0)) for s in surface.stations
        )
        return replace(surface, stations=risen)

    return _changed.get(
        (surface,), lambda: tuple(moments_of(side_projection(changed(by))) for by in (mm, -mm)), (mm, what)
    )


def _quarter_chord_levers(a: Aeroplane, points: Array, outward: Array, exposed: Array) -> Array:
    """(P,) x in mm by which moving a bit of the tail's boundary moves ∫(x_le + c/4) c dz.

    x − c/2 on leading and trailing edges (exact: d(x_le c + c²/4) is that times the step of either),
    and x − c/4, whose mean along the chord is x_le + c/4, on edges flatter than 10°.
    """
    levers = points[:, 0].copy()
    on = np.nonzero(exposed)[0]
    region = union(p.region for _, patches in a.side.tail_pieces for p in patches)
    if len(on) == 0 or region.is_empty:
        return levers
    z = points[on, 1]
    chord = np.zeros(len(on))
    for corners, sign in rings_of(region):
        low, high = corners[:-1], corners[1:]
        rise = high[:, 1] - low[:, 1]
        spans = (low[:, 1] <= z[:, None]) != (high[:, 1] <= z[:, None])
        run = (high[:, 0] - low[:, 0]) / np.where(np.abs(rise) < 1e-9, 1.0, rise)
        at = low[:, 0] + (z[:, None] - low[:, 1]) * run
        chord += sign * np.abs(np.where(spans, np.sign(rise) * at, 0.0).sum(axis=1))
    flat = np.abs(outward[on, 0]) < _FLAT * np.hypot(outward[on, 0], outward[on, 1])
    levers[on] -= chord * np.where(flat, 0.25, 0.5)
    return levers
