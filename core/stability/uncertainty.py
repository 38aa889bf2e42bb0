"""How sure the CLA fraction is: what tracing, the CG and typed surfaces may be off, in one figure."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import shapely
from msgspec.structs import replace
from numpy.typing import NDArray

from core.design import Outline, Tailplane, Wing
from core.geometry.memo import IdentityMemo, kept
from core.geometry.overlay import union
from core.geometry.patch import Patch
from core.geometry.regions import Moments, moments_of, rings_of
from core.geometry.ring import Array
from core.kinds import VERTICAL_TAIL
from core.stability.aeroplane import Aeroplane
from core.stability.guesses import each_surface, is_guessed, place_of
from core.stability.panels import side_projection
from core.stability.photographs import left_over
from core.stability.ranges import GUESSED_MM, TYPED_MM
from core.stability.side_area import OutlineForm, form_of, surface_patch

Bools = NDArray[np.bool_]

NO_FRACTION = "it belongs to the CLA fraction, which is missing"

# Five Gauss points are exact for the degree eight integrands of an edge that counts evenly. Long
# edges are cut into pieces, so that what covers a part of one is not missed between two points.
_POINTS = 5
_PIECE = 60.0
_MOST_PIECES = 10
_POINTS_AT, _WEIGHTS = np.polynomial.legendre.leggauss(_POINTS)
_T, _SHARE = 0.5 * (1.0 + _POINTS_AT), 0.5 * _WEIGHTS
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


@dataclass(eq=False)
class _Edges:
    """Sampled boundary of one outline: P points along its edges."""

    points: Array
    """(P, 2) in mm."""
    outward: Array
    """(P, 2) outward normal times the length of boundary the sample stands for, in mm."""
    unit: Array
    """(P, 2) outward unit normal; zero where the outline runs along itself."""
    box: tuple[float, float, float, float]


_inside: IdentityMemo[Bools] = IdentityMemo(96)
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
    _inside.at_least(24 * len(a.design.outlines))
    outlines = [(o, form_of(o)) for o in a.design.outlines]
    outlines = [(o, form) for o, form in outlines if form.patch.moments.area > 1e-9 and len(form.ring) > 1]
    if not outlines or off <= 0.0:
        return 0.0
    edges = [_sampled(form) for _, form in outlines]
    sizes = [len(e.points) for e in edges]
    points = np.concatenate([e.points for e in edges])
    outward = np.concatenate([e.outward for e in edges])
    x = points[:, 0]
    counted, exposed = _jumps(outlines, edges, sizes, max(off, 1e-6))
    tail = a.side.tail_moments
    lever = x - fin_x
    if a.design.aim.fin_centre == "quarter_chord":
        lever = _quarter_chord_levers(a, points, outward, exposed) - fin_x
    weight = counted * (x - cla_x) / a.side.moments.area - fraction * exposed * lever / tail.area
    pull = weight * np.hypot(outward[:, 0], outward[:, 1])
    by_outline = np.add.reduceat(pull, np.cumsum([0, *sizes[:-1]]))
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


@kept
def _sampled(form: OutlineForm) -> _Edges:
    """The boundary of an outline at Gauss points. Kept with its form."""
    ring = form.ring
    chord = np.hypot(*(ring.p3 - ring.p0).T)
    pieces = np.clip(np.ceil(chord / _PIECE), 1, _MOST_PIECES).astype(np.int64)
    edge = np.repeat(np.arange(len(ring)), pieces)
    piece = np.arange(len(edge)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    t = ((piece[:, None] + _T) / pieces[edge][:, None]).reshape(-1, 1)
    share = (_SHARE / pieces[edge][:, None]).reshape(-1, 1)
    edge = np.repeat(edge, _POINTS)
    p0, p1, p2, p3 = ring.p0[edge], ring.p1[edge], ring.p2[edge], ring.p3[edge]
    s = 1.0 - t
    b0, b1, b2, b3 = s**3, 3 * s * s * t, 3 * s * t * t, t**3
    points = b0 * p0 + b1 * p1 + b2 * p2 + b3 * p3
    slope = 3 * s * s * (p1 - p0) + 6 * s * t * (p2 - p1) + 3 * t * t * (p3 - p2)
    right = slope[:, ::-1] * (1.0, -1.0)
    length = np.hypot(right[:, 0], right[:, 1])
    unit = right / np.maximum(length, 1e-300)[:, None]
    c = form.corners
    n = np.roll(c, -1, axis=0)
    u, v = c - c[0], n - c[0]
    signed = 0.5 * float((u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]).sum())
    area = form.patch.moments.area
    side: float | Array = math.copysign(1.0, signed)
    if abs(abs(signed) - area) > 1e-9 * area:
        # It crosses itself: which side is inside differs from place to place.
        step = 1e-4 * math.sqrt(area) * unit
        side = (
            _contains(form.patch, points - step).astype(np.float64) - _contains(form.patch, points + step)
        )[:, None]
    return _Edges(points, np.asarray(side * right * share), np.asarray(side * unit), form.box)


def _contains(patch: Patch, points: Array) -> Bools:
    shapely.prepare(patch.region)
    return np.asarray(shapely.contains_xy(patch.region, points[:, 0], points[:, 1]))


def _near(edges: _Edges, patch: Patch, offset: float) -> Bools | None:
    """(2, P): which samples, moved inwards and outwards by ``offset``, lie in ``patch``; None for none."""
    a, b = edges.box, patch.box
    if not (a[0] - offset < b[2] and b[0] < a[2] + offset and a[1] - offset < b[3] and b[1] < a[3] + offset):
        return None

    def compute() -> Bools:
        step = offset * edges.unit
        moved = np.concatenate((edges.points - step, edges.points + step))
        return _contains(patch, moved).reshape(2, -1)

    return _inside.get((edges, patch), compute, offset)


def _jumps(
    outlines: list[tuple[Outline, OutlineForm]], edges: list[_Edges], sizes: list[int], offset: float
) -> tuple[Array, Array]:
    """(counted, exposed), each (P,): by how much the count of the side area, and of the exposed
    vertical tail, is greater with the sample's own outline than without it.
    """
    total = sum(sizes)
    ends = np.cumsum(sizes)
    without = np.zeros((len(outlines), 2, total), dtype=np.bool_)
    own = np.zeros((len(outlines), 1, total), dtype=np.bool_)
    for i, (sampled, end) in enumerate(zip(edges, ends, strict=True)):
        span = slice(end - sizes[i], end)
        own[i, :, span] = True
        for j, (_, form) in enumerate(outlines):
            if j != i:
                found = _near(sampled, form.patch, offset)
                if found is not None:
                    without[j, :, span] = found
    plain = [o for o, _ in outlines]
    high_side, high_tail = _counts(plain, without | own)
    low_side, low_tail = _counts(plain, without)
    return (high_side - low_side).mean(axis=0), (high_tail - low_tail).mean(axis=0)


def _counts(outlines: list[Outline], inside: Bools) -> tuple[Array, Array]:
    """How often each place counts, in the side area and in the exposed vertical tail.

    The counting rule for places instead of regions: ``inside`` (outlines, ...) says what they lie in.
    """

    nowhere: Bools = np.zeros(inside.shape[1:], dtype=np.bool_)

    def within(rows: list[int]) -> Bools:
        found = nowhere
        for row in rows:
            found = found | inside[row]
        return found

    joined = [i for i, o in enumerate(outlines) if o.count == 1 and o.standing == "joined"]
    silhouette = within(joined)
    others = within([i for i in joined if outlines[i].kind not in VERTICAL_TAIL])
    side = silhouette.astype(np.float64)
    tail = np.zeros_like(side)
    for count in sorted({o.count for o in outlines}):
        here = [i for i, o in enumerate(outlines) if o.count == count]
        clear = [i for i in here if outlines[i].standing == "clear"]
        grown = [i for i in here if outlines[i].standing == "joined"]
        if clear or count > 1:
            side += count * (within(clear) | (within(grown if count > 1 else []) & ~silhouette))
        fins = [i for i in here if outlines[i].kind in VERTICAL_TAIL]
        if fins:
            standing = [i for i in fins if i in clear]
            tail += count * (within(standing) | (within([i for i in fins if i in grown]) & ~others))
    return side, tail


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
