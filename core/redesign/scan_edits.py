"""Scale, level, datum, turns and mirrors of scans, with everything traced on them carried along.

A file does not say which outline was traced on which scan. With one scan everything was; with
several, an outline belongs to the topmost scan that its middle lies on, or else to the nearest.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import TypeVar

import numpy as np
from msgspec.structs import replace

from core.design import (
    Alternative,
    Build,
    Design,
    Flight,
    Mark,
    Matrix,
    Node,
    Outline,
    ScaleFrom,
    Scan,
    Station,
    Vector,
)
from core.design_check import problems
from core.geometry.plane import depths, is_affine, mapped
from core.geometry.ring import Array
from core.redesign.outline_edits import EditError, transform
from core.scan_map import Size as Size
from core.scan_map import mm_of, pixels_of
from core.stability.body import shaft_z

MM_PER_INCH = 25.4

State = TypeVar("State", Design, Alternative)
Place = Callable[[float, float], Vector]
"""Where a point (x, z) in mm goes."""
_BEYOND = (
    "something that was traced or marked would lie beyond the horizon of the photograph: "
    "move it onto the plan first"
)


def matrix_of(rows: Array) -> Matrix:
    """A (3, 3) array as the design keeps it."""
    (a, b, c), (d, e, f), (g, h, i) = ((float(v) for v in row) for row in rows)
    return ((a, b, c), (d, e, f), (g, h, i))


def similarity(scale: float, degrees: float, about: Vector) -> Array:
    """The (3, 3) map that scales by ``scale`` and turns by ``degrees`` anticlockwise about a point."""
    c, s = scale * math.cos(math.radians(degrees)), scale * math.sin(math.radians(degrees))
    x, z = about
    return np.array(((c, -s, x - c * x + s * z), (s, c, z - s * x - c * z), (0.0, 0.0, 1.0)))


def mirrored(x: float) -> Array:
    """The (3, 3) map that mirrors fore and aft about the station ``x``."""
    return np.array(((-1.0, 0.0, 2 * x), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)))


def corners_of(scan: Scan, size: Size) -> Array:
    """The scan's four corners in mm, shape (4, 2)."""
    w, h = size
    return mm_of(scan, np.array(((0.0, 0.0), (w, 0.0), (w, h), (0.0, h))))


def covers(scan: Scan, size: Size, x: float, z: float) -> bool:
    """Whether the picture lies under the point (x, z) mm."""
    if scan.lens is not None:
        (at,) = pixels_of(scan, np.array((x, z)))
        return bool((at >= 0.0).all() and (at <= size).all())
    corners = corners_of(scan, size)
    edges = np.roll(corners, -1, axis=0) - corners
    to = np.array((x, z)) - corners
    turns = edges[:, 0] * to[:, 1] - edges[:, 1] * to[:, 0]
    return bool(np.all(turns >= 0)) or bool(np.all(turns <= 0))


def scan_under(
    design: Design, x: float, z: float, sizes: dict[str, Size], *, nearest: bool = True
) -> str | None:
    """Id of the topmost scan at (x, z), else, if wanted, of the nearest; None where there is none.

    ``sizes`` gives pixels by scan id; a scan whose picture could not be read is left out of it.
    """
    best: tuple[float, str] | None = None
    for scan in reversed(design.scans):
        if scan.id not in sizes:
            continue
        if covers(scan, sizes[scan.id], x, z):
            return scan.id
        middle = corners_of(scan, sizes[scan.id]).mean(axis=0)
        gap = math.hypot(x - float(middle[0]), z - float(middle[1]))
        if best is None or gap < best[0]:
            best = (gap, scan.id)
    if not nearest:
        return None
    if best is not None:
        return best[1]
    return design.scans[-1].id if design.scans else None


def carry(
    design: Design, scan_id: str, by: Array, sizes: dict[str, Size], scale_from: ScaleFrom | None = None,
    *, nearest: bool = True,
) -> Design:
    """The scan, and all that was traced or marked on it, mapped by the (3, 3) map ``by``.

    Outlines and the CG mark go with every point; under a projective map a handle goes with its end
    point, which keeps corners and tangents exactly and the curve between them nearly. What was typed
    keeps its size: of wings, tailplanes, weights and the propeller only the place moves, and how far a
    pair stands apart stays. Alternatives were traced on
    the same paper and go along. ``nearest`` False leaves behind what lies beside all scans. EditError
    where something would go to the horizon of a projective map or beyond.
    """
    scan = design.scan(scan_id)
    residual = scan.residual_mm
    if residual is not None and is_affine(by):
        residual *= math.sqrt(abs(float(np.linalg.det(by[:2, :2] / by[2, 2]))))
    carried = replace(
        scan, to_mm=_chained(by, scan.to_mm), scale_from=scale_from or scan.scale_from, residual_mm=residual
    )
    return _with_scan(design, carried, by, sizes, nearest=nearest)


def lay_anew(design: Design, laid: Scan, sizes: dict[str, Size]) -> Design:
    """The scan of that id as ``laid``, and what was traced or marked on it kept on its pixels.

    As ``carry``; where the lens is another one, all goes pixel by pixel as under a projective map.
    """
    old = design.scan(laid.id)
    if old.lens == laid.lens:
        return _with_scan(design, laid, np.array(laid.to_mm) @ np.linalg.inv(np.array(old.to_mm)), sizes)

    def by_pixels(x: float, z: float) -> Vector:
        found = mm_of(laid, pixels_of(old, np.array((x, z))))[0]
        if not np.isfinite(found).all():
            raise EditError(_BEYOND)
        return float(found[0]), float(found[1])

    return _with_scan(design, laid, by_pixels, sizes)


def _with_scan(
    design: Design, laid: Scan, by: Array | Place, sizes: dict[str, Size], *, nearest: bool = True
) -> Design:
    """The scan of that id as ``laid``, and what lies on the one of now mapped ``by``."""
    alone = nearest and len(design.scans) == 1

    def rides(x: float, z: float) -> bool:
        return alone or scan_under(design, x, z, sizes, nearest=nearest) == laid.id

    return replace(
        _carried(design, by, rides), scans=tuple(laid if s.id == laid.id else s for s in design.scans),
        alternatives=tuple(_carried(kept, by, rides) for kept in design.alternatives),
    )


def _chained(by: Array, to_mm: Matrix) -> Matrix:
    both = by @ np.array(to_mm)
    return matrix_of(both if is_affine(by) else both / both[2, 2])


def _place_map(by: Array) -> Place:
    if is_affine(by):
        (a, b, c), (d, e, f) = ((float(v) for v in row) for row in by[:2] / by[2, 2])
        return lambda x, z: (a * x + b * z + c, d * x + e * z + f)

    def projected(x: float, z: float) -> Vector:
        if not float(depths(by, np.array((x, z)))[0]) > 0:
            raise EditError(_BEYOND)
        found = mapped(by, np.array((x, z)))[0]
        return float(found[0]), float(found[1])

    return projected


def _projected(outline: Outline, place: Place) -> Outline:
    def nodes() -> Iterator[Node]:
        for node in outline.nodes:
            x, z = place(node.x, node.z)
            ends: list[Vector | None] = []
            for handle in (node.handle_in, node.handle_out):
                end = place(node.x + handle[0], node.z + handle[1]) if handle else None
                ends.append((end[0] - x, end[1] - z) if end else None)
            yield Node(x=x, z=z, handle_in=ends[0], handle_out=ends[1])

    return replace(outline, nodes=tuple(nodes()))


def _carried(state: State, by: Array | Place, rides: Callable[[float, float], bool]) -> State:
    place = _place_map(by) if isinstance(by, np.ndarray) else by

    def carried(outline: Outline) -> Outline:
        count = len(outline.nodes)
        if not rides(sum(n.x for n in outline.nodes) / count, sum(n.z for n in outline.nodes) / count):
            return outline
        if not isinstance(by, np.ndarray) or not is_affine(by):
            return _projected(outline, place)
        linear = (float(by[0, 0]), float(by[0, 1]), float(by[1, 0]), float(by[1, 1]))
        return transform(outline, linear, (float(by[0, 2]), float(by[1, 2])))

    mark = state.cg_mark
    if mark is not None and rides(mark.x, mark.z):
        x, z = place(mark.x, mark.z)
        mark = Mark(x=x, z=z)
    weights = []
    for weight in state.weights:
        if rides(weight.x, weight.z):
            x, z = place(weight.x, weight.z)
            weights.append(replace(weight, x=x, z=z))
        else:
            weights.append(weight)

    def placed(stations: tuple[Station, ...]) -> tuple[Station, ...]:
        if not stations or not rides(stations[0].le_x, stations[0].z):
            return stations
        x, z = place(stations[0].le_x, stations[0].z)
        dx, dz = x - stations[0].le_x, z - stations[0].z
        return tuple(replace(s, le_x=s.le_x + dx, z=s.z + dz) for s in stations)

    def flown(flight: Flight) -> Flight:
        propeller = flight.propeller
        if propeller is None:
            return flight
        z = shaft_z(state, propeller.x)
        if not rides(propeller.x, z):
            return flight
        return replace(flight, propeller=replace(propeller, x=place(propeller.x, z)[0]))

    def formers(build: Build) -> Build:
        if not build.formers:
            return build
        own = [n.z for o in state.outlines if o.id in build.of for n in o.nodes]
        z = sum(own) / len(own) if own else 0.0
        return replace(build, formers=tuple(place(x, z)[0] if rides(x, z) else x for x in build.formers))

    return replace(
        state, outlines=tuple(carried(o) for o in state.outlines), cg_mark=mark, weights=tuple(weights),
        wings=tuple(replace(s, stations=placed(s.stations)) for s in state.wings),
        tailplanes=tuple(replace(s, stations=placed(s.stations)) for s in state.tailplanes),
        flight=flown(state.flight), builds=tuple(formers(b) for b in state.builds),
    )


def set_scale(
    design: Design, scan_id: str, one: Vector, other: Vector, true_mm: float, sizes: dict[str, Size]
) -> Design:
    """The scan scaled so that the two points, in mm as they are now, lie ``true_mm`` apart.

    The datum stays where it is on the paper. EditError for points that fall together or no distance.
    """
    apart = math.hypot(other[0] - one[0], other[1] - one[1])
    if apart < 1e-9:
        raise EditError("the two points fall together: click two that lie far apart")
    if not (math.isfinite(true_mm) and true_mm > 0):
        raise EditError("the true distance must be more than nothing: type it as the plan gives it")
    factor = true_mm / apart
    if not 1e-4 < factor < 1e4:
        raise EditError("that distance would change the scale ten thousandfold: check its unit")
    scaled = carry(design, scan_id, similarity(factor, 0.0, (0.0, 0.0)), sizes, "points")
    if problems(scaled) and not problems(design):
        raise EditError("that distance would carry the design past what a file can hold: check its unit")
    return scaled


def declare_flat(design: Design, scan_id: str, sizes: dict[str, Size], dpi: float | None = None) -> Design:
    """The scan taken for flat, though it looks like a photograph.

    One that has no scale yet is placed by its own ``dpi``, dots per inch, where it gives any: the datum
    stays where it is on the paper.
    """
    scan = design.scan(scan_id)
    flat = replace(
        design, scans=tuple(replace(s, photograph=False) if s.id == scan_id else s for s in design.scans)
    )
    matrix = np.array(scan.to_mm)
    if dpi is None or scan.scale_from != "none" or not is_affine(matrix):
        return flat
    factor = MM_PER_INCH / dpi / float(np.hypot(matrix[0, 0], matrix[1, 0]))
    scaled = carry(flat, scan_id, similarity(factor, 0.0, (0.0, 0.0)), sizes, "dpi")
    return flat if problems(scaled) and not problems(design) else scaled


def level(design: Design, scan_id: str, one: Vector, other: Vector, sizes: dict[str, Size]) -> Design:
    """The scan turned about ``one`` so that the line to ``other`` lies level, the shorter way round."""
    if math.hypot(other[0] - one[0], other[1] - one[1]) < 1e-9:
        raise EditError("the two points fall together: click two far apart on the datum line")
    return carry(design, scan_id, similarity(1.0, -slope_deg(one, other), one), sizes)


def slope_deg(one: Vector, other: Vector) -> float:
    """By how many degrees the line between two points rises, read from left to right: within ±90."""
    left, right = sorted((one, other))
    return math.degrees(math.atan2(right[1] - left[1], right[0] - left[0]))


def turn_quarter(design: Design, scan_id: str, quarters: int, sizes: dict[str, Size]) -> Design:
    """The scan turned by so many quarter turns anticlockwise about its middle."""
    about = _middle(design, scan_id, sizes)
    # Whole quarter turns are exact: no sine of ninety degrees.
    c, s = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[quarters % 4]
    x, z = about
    by = np.array(((c, -s, x - c * x + s * z), (s, c, z - s * x - c * z), (0.0, 0.0, 1.0)))
    return carry(design, scan_id, by, sizes)


def mirror_scan(design: Design, scan_id: str, sizes: dict[str, Size]) -> Design:
    """The scan mirrored fore and aft about its middle, for a plan drawn nose right."""
    return carry(design, scan_id, mirrored(_middle(design, scan_id, sizes)[0]), sizes)


def _middle(design: Design, scan_id: str, sizes: dict[str, Size]) -> Vector:
    x, z = corners_of(design.scan(scan_id), sizes.get(scan_id, (0.0, 0.0))).mean(axis=0)
    return float(x), float(z)


def set_datum(design: Design, x: float, z: float) -> Design:
    """Everything moved so that the point (x, z) becomes the datum (0, 0)."""
    by = np.array(((1.0, 0.0, -x), (0.0, 1.0, -z), (0.0, 0.0, 1.0)))
    scans = tuple(replace(s, to_mm=matrix_of(by @ np.array(s.to_mm))) for s in design.scans)

    def rides(_x: float, _z: float) -> bool:
        return True

    bench = replace(design.bench, **{
        name: Mark(mark.x - x, mark.z - z)
        for name, mark in (("crossing", design.bench.crossing), ("pin", design.bench.pin)) if mark is not None
    })
    return replace(
        _carried(design, by, rides), scans=scans, bench=bench if bench != design.bench else design.bench,
        alternatives=tuple(_carried(kept, by, rides) for kept in design.alternatives),
    )


def move_scan(design: Design, scan_id: str, dx: float, dz: float) -> Design:
    """The scan alone moved by (dx, dz) mm, to bring it under what is drawn already."""
    by = np.array(((1.0, 0.0, dx), (0.0, 1.0, dz), (0.0, 0.0, 1.0)))
    return replace(
        design,
        scans=tuple(
            replace(s, to_mm=_chained(by, s.to_mm)) if s.id == scan_id else s
            for s in design.scans
        ),
    )
