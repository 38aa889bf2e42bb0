"""A vortex lattice of thin surfaces in a small sideslip, with their images in a round body.

Knows no aeroplane. Axes: x aft with the stream, y to starboard, z up; any one unit of length, here
mm. Everything is per radian of sideslip and per unit of flight speed: the air has the speed 1 along
x and, far away, 1 along y.

Each panel is a horseshoe vortex: a bound leg, and two legs that trail straight aft from its ends. The
surfaces lie along the stream: each is a line of the (y, z) plane carried along x. A body is a circle,
the same all along x; every horseshoe has its image in it, which is exact far behind it and whenever
all is slender. Source of the method: vortex lattice (Falkner; Katz and Plotkin, Low-Speed
Aerodynamics; memory), images in a circle (Milne-Thomson's circle theorem; exact in the plane).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from core.geometry.ring import Array

BOUND, CONTROL = 0.25, 0.75
"""Where on its panel the bound leg lies, and where the air may not pass through (Pistolesi)."""
FREE_END = 0.25
"""By how many strips the lattice ends short of a free edge (Rubbert; Hough; memory)."""
_THINNEST = 1e-9
_IN_CACHE = 8_000
"""Pairs of panels reckoned at once: arrays that stay in the processor's cache, a third of the time."""
_ROOM = 16
_BLOCK = 64
_EXACT = 1e-8
_QUARTER_OF_A_TURN = 0.25 / np.pi


@dataclass(frozen=True)
class Circle:
    """A round body about the line y = 0, z = ``middle``: a section of radius ``radius``, in mm."""

    radius: float
    middle: float


@dataclass(frozen=True, eq=False)
class Horseshoes:
    """N panels of one surface; lengths in mm."""

    start: Array
    """(N, 3), one end of each bound leg."""
    end: Array
    """(N, 3), the other; the vortex runs in from infinity to ``start`` and off from ``end``."""
    control: Array
    """(N, 3), where nothing may pass through."""
    normal: Array
    """(N, 2), y and z of the unit normal there."""
    mirrored: bool = False
    """True if the surface stands a second time on the other side of y = 0."""

    def __len__(self) -> int:
        return len(self.start)


@dataclass(frozen=True, eq=False)
class Loads:
    """Side loads F/(qβ) in mm² of the panels of one surface, its mirrored half included; (N,) each.

    Positive the way the wind blows across.
    """

    own: Array
    """On the panels: 2Γ times the height of the bound leg."""
    body: Array
    """What the image of each puts on the body at the same station."""
    x: Array
    """Station of the middle of the bound leg."""
    z: Array
    """Its height. The body's share acts at the middle of the circle, through which all pressure goes."""

    @property
    def total(self) -> float:
        """Everything, in mm²."""
        return float(self.own.sum() + self.body.sum())


def cross_flow(y: Array, z: Array, circle: Circle | None) -> tuple[Array, Array]:
    """(v, w) of air that comes across with speed 1 along y and passes round the circle.

    v = 1 − a²(y² − z'²)/r⁴, w = −2a² y z'/r⁴, z' from the middle. Range: outside the circle.
    Source: potential flow past a circle (exact).
    """
    if circle is None:
        return np.ones_like(y), np.zeros_like(y)
    up = z - circle.middle
    r2 = np.maximum(y * y + up * up, circle.radius * circle.radius)
    # Divided twice, so that no length is too large for it.
    part = circle.radius * circle.radius / r2
    return 1.0 - part * (y * y - up * up) / r2, -2.0 * part * y * up / r2


def imaged(points: Array, circle: Circle) -> Array:
    """The points (N, 3) that stand for ``points`` inside the circle: a²(y, z')/r² (exact)."""
    y, up = points[:, 1], points[:, 2] - circle.middle
    r2 = np.maximum(y * y + up * up, circle.radius * circle.radius)
    part = circle.radius * circle.radius / r2
    return np.stack((points[:, 0], part * y, circle.middle + part * up), axis=1)


def circulations(
    surfaces: Sequence[Horseshoes], circle: Circle | None = None, cores: Array | None = None
) -> list[Array] | None:
    """Γ in mm of every panel, surface by surface, so that no air passes any control point.

    ``cores`` (S, S) in mm: the core that the vortices of surface j have as surface i feels them. None
    where the equations cannot be solved. Range: attached flow, small angles, incompressible.
    """
    if not any(len(s) for s in surfaces):
        return [np.zeros(0) for _ in surfaces]
    control = np.concatenate([s.control for s in surfaces])
    normal = np.concatenate([s.normal for s in surfaces])
    which = np.repeat(np.arange(len(surfaces)), [len(s) for s in surfaces])
    matrix = np.empty((len(control), len(control)))
    # Not to be shared between calls: curves are reckoned beside the window.
    room = np.empty((_ROOM, max(_IN_CACHE, *(len(s) for s in surfaces))))
    column = 0
    for j, surface in enumerate(surfaces):
        core = np.zeros(len(control)) if cores is None else cores[which, j]
        block = matrix[:, column : column + len(surface)]
        block[:] = 0.0
        at_once = max(1, _IN_CACHE // max(1, len(surface)))
        for start, end, sign in _copies(surface, circle):
            for row in range(0, len(control), at_once):
                some = slice(row, row + at_once)
                speeds = normal_speeds(control[some], normal[some], start, end, core[some], room)
                block[some] += np.multiply(speeds, sign, out=speeds)
        column += len(surface)
    v, w = cross_flow(control[:, 1], control[:, 2], circle)
    found = _solution(matrix, -(normal[:, 0] * v + normal[:, 1] * w))
    if found is None:
        return None
    ends = np.cumsum([len(s) for s in surfaces])[:-1]
    return list(np.split(found, ends))


@np.errstate(all="ignore")
def _solution(matrix: Array, right: Array) -> Array | None:
    """x (N,) of ``matrix`` x = ``right``, or None where there is none, or only one that rounding decides.

    By blocks so small that the library of linear algebra does not spread them over threads, which wait
    for each other a hundred times as long as the work takes where the processors are busy. Columns are
    not exchanged between blocks: each is the system of a part of the tail, and has a solution by itself.
    """
    size = len(right)
    table = np.column_stack((matrix, right))
    stops = [*range(0, size, _BLOCK), size]
    spans = [slice(low, high) for low, high in pairwise(stops)]
    try:
        for k, pivot in enumerate(spans):
            inverse = np.linalg.inv(table[pivot, pivot])
            for column in (*spans[k + 1 :], slice(size, size + 1)):
                table[pivot, column] = inverse @ table[pivot, column]
                for row in spans[k + 1 :]:
                    table[row, column] -= table[row, pivot] @ table[pivot, column]
    except np.linalg.LinAlgError:
        return None
    found = table[:, size].copy()
    for pivot in reversed(spans):
        found[: pivot.start] -= table[: pivot.start, pivot] @ found[pivot]
    if not np.isfinite(found).all():
        return None
    left = np.abs(matrix @ found - right).max()
    return found if left <= _EXACT * np.abs(right).max() else None


def loads(surface: Horseshoes, circulation: Array, circle: Circle | None = None) -> Loads:
    """The side loads of ``surface`` whose panels have the ``circulation`` Γ (N,) in mm.

    F_y/(qβ) = −2Γ(z₂ − z₁) by Kutta and Joukowski (exact), and with the image's points and reversed
    circulation 2Γ(z'₂ − z'₁), the body's share. A mirrored half carries the same once more.
    """
    times = 2.0 * (2.0 if surface.mirrored else 1.0)
    own = -times * circulation * (surface.end[:, 2] - surface.start[:, 2])
    if circle is None:
        body = np.zeros_like(own)
    else:
        rise = imaged(surface.end, circle)[:, 2] - imaged(surface.start, circle)[:, 2]
        body = times * circulation * rise
    middle = 0.5 * (surface.start + surface.end)
    return Loads(own, body, middle[:, 0], middle[:, 2])


def _copies(surface: Horseshoes, circle: Circle | None) -> Iterator[tuple[Array, Array, float]]:
    """(start, end, sign of Γ) of the horseshoes, their other half and the images of both.

    In a wind from the side the flow about two mirrored halves is its own mirror image with all speeds
    reversed: the mirrored path carries the same Γ.
    """
    halves = [(surface.start, surface.end)]
    if surface.mirrored:
        other = np.array((1.0, -1.0, 1.0))
        halves.append((surface.start * other, surface.end * other))
    for start, end in halves:
        yield start, end, 1.0
        if circle is not None:
            yield imaged(start, circle), imaged(end, circle), -1.0


def normal_speeds(
    control: Array, normal: Array, start: Array, end: Array, core: Array, room: Array | None = None
) -> Array:
    """(M, N): what horseshoe j of Γ = 1 blows through control point i, along its normal.

    ``core`` (M,) in mm is added to every distance as a root of squares, so that a vortex that passes
    close blows no harder than one at that distance. Source: Biot and Savart (exact).

    ``room`` (16, M·N or more) is worked in, and the result lies there: memory that is asked for and
    given back fifty times takes longer than the sums (the window has it given back at once).
    """
    shape = (len(control), len(start))
    if room is None:
        room = np.empty((_ROOM, shape[0] * shape[1]))
    some = iter(room[:, : shape[0] * shape[1]].reshape(-1, *shape))
    sx, sy, sz = start.T
    ex, ey, ez = end.T
    px, py, pz = (control[:, k, None] for k in range(3))
    lx, ly, lz = ex - sx, ey - sy, ez - sz
    long2 = lx * lx + ly * ly + lz * lz
    # A fin and its image lie in the plane y = 0, along which nothing blows: half the work.
    plane = not (py.any() or sy.any() or ey.any())
    core2 = np.add((core * core)[:, None], _THINNEST * _THINNEST * long2, out=next(some))
    dx1, dz1 = np.subtract(px, sx, out=next(some)), np.subtract(pz, sz, out=next(some))
    dx2, dz2 = np.subtract(px, ex, out=next(some)), np.subtract(pz, ez, out=next(some))
    spare = next(some)

    def sum_of(a: Array, b: Array, c: Array, d: Array) -> Array:
        """a·b + c·d"""
        found = np.multiply(a, b, out=next(some))
        found += np.multiply(c, d, out=spare)
        return found

    # With l the bound leg, r1 × r2 = −r1 × l.
    cross_y = sum_of(dz1, lx, dx1, -lz)
    along1, along2 = sum_of(dx1, lx, dz1, lz), sum_of(dx2, lx, dz2, lz)
    across1, across2 = np.multiply(dz1, dz1, out=next(some)), np.multiply(dz2, dz2, out=next(some))
    square = np.multiply(cross_y, cross_y, out=next(some))
    if not plane:
        dy1, dy2 = np.subtract(py, sy, out=next(some)), np.subtract(py, ey, out=next(some))
        along1 += np.multiply(dy1, ly, out=spare)
        along2 += np.multiply(dy2, ly, out=spare)
        across1 += np.multiply(dy1, dy1, out=spare)
        across2 += np.multiply(dy2, dy2, out=spare)
        cross_x = sum_of(dy1, lz, dz1, -ly)
        square += np.multiply(cross_x, cross_x, out=cross_x)
        cross_z = sum_of(dx1, ly, dy1, -lx)
        square += np.multiply(cross_z, cross_z, out=spare)
    for dx, along, across in ((dx1, along1, across1), (dx2, along2, across2)):
        length = np.multiply(dx, dx, out=spare)
        length += across
        np.maximum(np.sqrt(length, out=length), 1e-300, out=length)
        along /= length
        # (1 + cos)/h², of a leg that trails off.
        dx /= length
        dx += 1.0
        across += core2
        dx /= across
    # The bound leg: l·(r1/|r1| − r2/|r2|) over |r1 × r2|².
    along1 -= along2
    core2 *= long2
    square += core2
    square += 1e-300
    along1 /= square
    # Off from the end, less in to the start, turned about the stream.
    dz1 *= dx1
    dz1 -= np.multiply(dz2, dx2, out=spare)
    dz1 -= np.multiply(cross_y, along1, out=spare)
    dz1 *= _QUARTER_OF_A_TURN * normal[:, 0, None]
    if not plane:
        dy2 *= dx2
        dy2 -= np.multiply(dy1, dx1, out=spare)
        dy2 -= np.multiply(cross_z, along1, out=spare)
        dy2 *= _QUARTER_OF_A_TURN * normal[:, 1, None]
        dz1 += dy2
    return np.asarray(dz1)


def strip_edges(
    low: float, high: float, strips: int, free_low: bool, free_high: bool, at: Sequence[float] = ()
) -> Array:
    """Rising edges of about ``strips`` strips from ``low`` to ``high``, one of them at each of ``at``.

    Even between those; free ends are drawn in by a quarter of a strip, and may not be among ``at``.
    """
    stops = [low, *sorted(at), high]
    found: list[Array] = []
    for k, (below, above) in enumerate(pairwise(stops)):
        count = max(1, round(strips * (above - below) / (high - low)))
        in_low = FREE_END if free_low and k == 0 else 0.0
        in_high = FREE_END if free_high and k == len(stops) - 2 else 0.0
        part = (in_low + np.arange(count + (k == len(stops) - 2))) / (count + in_low + in_high)
        found.append(np.asarray(below + (above - below) * part, dtype=np.float64))
    return np.concatenate(found)


def upright(
    y: float, low: Array, high: Array, leading: Array, trailing: Array, panels: NDArray[np.int64],
    mirrored: bool = False,
) -> Horseshoes:
    """An upright surface in the plane ``y``, of K rectangles from (leading, low) to (trailing, high).

    ``panels`` (K,): into how many panels along the stream each is divided.
    """
    which = np.repeat(np.arange(len(panels)), panels)
    place = np.arange(len(which)) - np.repeat(np.cumsum(panels) - panels, panels)
    step = ((trailing - leading) / panels)[which]
    front = leading[which] + place * step
    level = np.full(len(which), y)
    bound = front + BOUND * step
    return Horseshoes(
        start=np.stack((bound, level, low[which]), axis=1),
        end=np.stack((bound, level, high[which]), axis=1),
        control=np.stack((front + CONTROL * step, level, 0.5 * (low + high)[which]), axis=1),
        normal=np.tile((1.0, 0.0), (len(which), 1)),
        mirrored=mirrored,
    )


def slanted(edges: Array, panels: int, mirrored: bool = True) -> Horseshoes:
    """A surface given at the edges of its strips, (K + 1, 4): y, z, leading edge, chord; straight between.

    ``panels`` along the stream in each strip. Strips without width or chord are left out.
    """
    a, b = edges[:-1], edges[1:]
    width = np.hypot(b[:, 0] - a[:, 0], b[:, 1] - a[:, 1])
    there = (width > 0.0) & (a[:, 3] + b[:, 3] > 0.0)
    a, b, width = a[there], b[there], width[there]
    part = np.arange(panels) / panels

    def points(edge: Array, at: float) -> Array:
        x = edge[:, 2, None] + (part + at / panels) * edge[:, 3, None]
        full = (np.broadcast_to(edge[:, k, None], x.shape) for k in (0, 1))
        return np.stack((x, *full), axis=2).reshape(-1, 3)

    turned = np.stack((a[:, 1] - b[:, 1], b[:, 0] - a[:, 0]), axis=1) / width[:, None]
    return Horseshoes(
        start=points(a, BOUND), end=points(b, BOUND), control=points(0.5 * (a + b), CONTROL),
        normal=np.repeat(turned, panels, axis=0), mirrored=mirrored,
    )
