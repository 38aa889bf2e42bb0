"""Scans made true: photographs straightened, unequal shrinkage taken out, sheets joined to one another."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from msgspec.structs import replace

from core.design import Design, Scan, Vector
from core.design_check import problems
from core.geometry.plane import (
    PlaneFit,
    best_similarity,
    depths,
    fit_plane,
    is_affine,
    mapped,
)
from core.geometry.ring import Array
from core.redesign.outline_edits import EditError
from core.redesign.scan_edits import Size, carry

LEAST_DEPTH = 0.05
"""A picture's corner may lie so near the horizon, the middle of the rectangle being 1."""
STRAIGHTENED = "straightened"
_LEAST_SINE = math.sin(math.radians(4.0))
_LEAST_APART = 0.3
_SQUARE = 1e-6


@dataclass(frozen=True)
class KnownRectangle:
    """Four corners of something rectangular in a photograph, its two lengths, and more that is known.

    ``corners`` in pixels, in turn round the rectangle either way. ``width`` and ``height`` in mm; the
    width is the pair of sides that lies the more level in the side view. ``places``: further pixels
    and where they lie, in mm along the width and up the height from the lower left corner. ``spans``:
    two pixels each and how many mm they lie apart.
    """

    corners: tuple[Vector, ...]
    width: float
    height: float
    places: tuple[tuple[Vector, Vector], ...] = ()
    spans: tuple[tuple[Vector, Vector, float], ...] = ()


def order_of(scan: Scan, corners: tuple[Vector, ...]) -> tuple[int, ...]:
    """Indices of the four corners: the lower left one first, then anticlockwise in the side view.

    The first side, from the first to the second index, is the width. EditError for corners that make
    no rectangle's picture: sides that cross, corners in a line.
    """
    if len(corners) != 4:
        raise EditError("click the four corners of something rectangular first")
    quad = mapped(np.array(scan.to_mm), np.array(corners))
    edges = np.roll(quad, -1, axis=0) - quad
    lengths = np.hypot(*edges.T)
    if lengths.min() < 1e-3 * lengths.max() or lengths.max() == 0:
        raise EditError("two corners fall together: put them on four different corners")
    after, after_lengths = np.roll(edges, -1, axis=0), np.roll(lengths, -1)
    sines = (edges[:, 0] * after[:, 1] - edges[:, 1] * after[:, 0]) / (lengths * after_lengths)
    if abs(float(np.sign(sines).sum())) < 4:
        raise EditError(
            "the sides cross or a corner lies inside the others: put the corners in turn round the rectangle"
        )
    if float(np.abs(sines).min()) < _LEAST_SINE:
        raise EditError("three corners lie nearly in a line: take a rectangle that is seen less edge-on")
    turn = (0, 1, 2, 3) if sines[0] > 0 else (3, 2, 1, 0)

    def level(start: int) -> float:
        a, b, c, d = (quad[turn[(start + k) % 4]] for k in range(4))
        along = (b - a) / np.hypot(*(b - a)) + (c - d) / np.hypot(*(c - d))
        return float(along[0])

    first = max(range(4), key=level)
    return tuple(turn[(first + k) % 4] for k in range(4))


def plane_of(scan: Scan, size: Size, known: KnownRectangle) -> PlaneFit:
    """The map from pixels to mm along the rectangle's sides, its lower left corner at (0, 0).

    Residuals stand in mm: ``at_points`` the four corners as given and then the places, ``at_spans``
    the spans. EditError says what to do where there is no such plane.
    """
    for length, name in ((known.width, "width"), (known.height, "height")):
        if not (math.isfinite(length) and length > 0):
            raise EditError(f"the {name} must be more than nothing: type it as the rectangle has it")
    if any(not (math.isfinite(mm) and mm > 0) for *_, mm in known.spans):
        raise EditError("a known distance must be more than nothing: type it as it is on the plan")
    order = order_of(scan, known.corners)
    w, h = known.width, known.height
    target = np.zeros((4, 2))
    target[list(order)] = ((0.0, 0.0), (w, 0.0), (w, h), (0.0, h))
    source = np.array((*known.corners, *(pixel for pixel, _ in known.places)))
    target = np.vstack((target, np.array([place for _, place in known.places]).reshape(-1, 2)))
    spans = np.array([(one, other) for one, other, _ in known.spans])
    try:
        fit = fit_plane(source, target, spans, np.array([mm for *_, mm in known.spans]))
    except ValueError as error:
        raise EditError(f"the points give no plane ({error}): put them on the rectangle anew") from None
    if depths(fit.matrix, _frame(size)).min() < LEAST_DEPTH:
        raise EditError(
            "the horizon of the paper runs through the picture or close by: check the corners, or crop "
            "the photograph to the plan and open it again"
        )
    return fit


def _frame(size: Size) -> Array:
    w, h = size
    return np.array(((0.0, 0.0), (w, 0.0), (w, h), (0.0, h)))


def straighten(
    design: Design, scan_id: str, known: KnownRectangle, sizes: dict[str, Size]
) -> tuple[Design, PlaneFit]:
    """The scan laid flat by a rectangle of known size, with what was traced on it, and the fit.

    The width lies level. The datum stays where it is on the paper where it lies on the picture;
    otherwise the middle of the rectangle stays where it is. EditError as ``plane_of``, for a scan
    whose picture is not open, and where the design would no longer fit a file.
    """
    scan = design.scan(scan_id)
    if scan_id not in sizes:
        raise EditError("the picture is not open: it must be seen to be straightened")
    fit = plane_of(scan, sizes[scan_id], known)
    old = np.array(scan.to_mm)
    u, v, depth = np.linalg.solve(old, np.array((0.0, 0.0, 1.0)))
    if depth > 0 and 0 <= u / depth <= sizes[scan_id][0] and 0 <= v / depth <= sizes[scan_id][1]:
        here, there = np.array((u / depth, v / depth)), np.zeros(2)
    else:
        here = np.array(known.corners).mean(axis=0)
        there = mapped(old, here)[0]
    shift = np.eye(3)
    shift[:2, 2] = there - mapped(fit.matrix, here)[0]
    new = shift @ fit.matrix
    laid = carry(design, scan_id, new @ np.linalg.inv(old), sizes, "points")
    laid = replace(
        laid, scans=tuple(replace(s, photograph=False) if s.id == scan_id else s for s in laid.scans)
    )
    if problems(laid) and not problems(design):
        raise EditError("those lengths would carry the design past what a file can hold: check their units")
    return laid, fit


# Stretch


@dataclass(frozen=True)
class Distance:
    """Two points of the side view, in mm as they lie now, and how many mm they truly lie apart."""

    one: Vector
    other: Vector
    true_mm: float


def set_stretch(
    design: Design, scan_id: str, first: Distance, second: Distance, sizes: dict[str, Size]
) -> Design:
    """The scan scaled along its own two axes, each by as much as the two distances ask for.

    Paper shrinks along and across its grain: with p and q the parts of a distance d along the
    picture's axes, a² p² + b² q² = d², which two distances settle for a² and b². The datum stays where
    it is on the paper. EditError for distances that run alike or contradict each other.
    """
    axes = _axes(design.scan(scan_id))
    rows, right = [], []
    for given in (first, second):
        step = np.array(given.other) - np.array(given.one)
        apart = float(np.hypot(*step))
        if apart < 1e-9:
            raise EditError("the two points fall together: click two that lie far apart")
        if not (math.isfinite(given.true_mm) and given.true_mm > 0):
            raise EditError("the true distance must be more than nothing: type it as the plan gives it")
        rows.append((np.linalg.solve(axes, step) / apart) ** 2)
        right.append((given.true_mm / apart) ** 2)
    if abs(float(np.linalg.det(np.array(rows)))) < _LEAST_APART:
        raise EditError("the two distances run too much alike: take one along the paper and one across it")
    squares = np.linalg.solve(np.array(rows), np.array(right))
    if float(squares.min()) <= 0:
        raise EditError("the two distances contradict each other: check both figures and their units")
    factors = np.sqrt(squares)
    if not (factors.min() > 1e-4 and factors.max() < 1e4):
        raise EditError("that distance would change the scale ten thousandfold: check its unit")
    by = np.eye(3)
    by[:2, :2] = axes @ np.diag(factors) @ np.linalg.inv(axes)
    scaled = carry(design, scan_id, by, sizes, "points")
    if problems(scaled) and not problems(design):
        raise EditError("that distance would carry the design past what a file can hold: check its unit")
    return scaled


def _axes(scan: Scan) -> Array:
    """Unit vectors in mm along the picture's rows and columns, as the columns of a (2, 2) array."""
    matrix = np.array(scan.to_mm)
    axes = np.asarray(matrix[:2, :2] / np.hypot(*matrix[:2, :2]))
    if not is_affine(matrix) or abs(float(axes[:, 0] @ axes[:, 1])) > _SQUARE:
        raise EditError(
            "a straightened photograph takes both its scales from the rectangle: straighten it anew instead"
        )
    return axes


def plane_words(scan: Scan) -> str:
    """What was done to the scan's plane, in words: straightened, or how much shorter one way; else empty.

    Along is the picture's axis that lies the more level in the side view.
    """
    matrix = np.array(scan.to_mm)
    per_pixel = np.hypot(*matrix[:2, :2])
    if not is_affine(matrix) or abs(float(matrix[:2, 0] @ matrix[:2, 1])) > _SQUARE * per_pixel.prod():
        return STRAIGHTENED
    along, across = per_pixel if abs(matrix[0, 0]) >= abs(matrix[0, 1]) else per_pixel[::-1]
    # The more millimetres to a pixel, the more the paper had shrunk that way.
    share = 1.0 - min(along, across) / max(along, across)
    if share < 5e-5:
        return ""
    ways = "across than along" if across > along else "along than across"
    return f"the paper is {100 * share:.2g} % shorter {ways}"


# Joining


@dataclass(frozen=True)
class Joined:
    """The design with the sheet in its place; how much further apart (mm) the points lie on the placed
    sheet than on the one that was joined, 0 where the joined one took over the other's scale.
    """

    design: Design
    misfit: float


def join(
    design: Design, scan_id: str, onto: str, pairs: tuple[tuple[Vector, Vector], ...], sizes: dict[str, Size]
) -> Joined:
    """A sheet laid against another by two or more points that both show, and locked there.

    ``pairs``: a point on the sheet that moves and the same on the sheet ``onto``, in mm as they lie. A
    sheet that has a scale of its own keeps it and is turned and shifted for the least misfit; one that
    has none takes the other's. What was traced on it goes along. EditError says why it cannot be.
    """
    moving, placed = design.scan(scan_id), design.scan(onto)
    if scan_id == onto:
        raise EditError("both points lie on one sheet: click the second on the sheet that is in its place")
    if len(pairs) < 2:
        raise EditError("a sheet is joined by two points that both sheets show: click one more pair")
    own = moving.scale_from != "none"
    if own and placed.scale_from == "none":
        raise EditError("the sheet that lies in its place has no scale yet: set its scale first")
    source, target = np.array([one for one, _ in pairs]), np.array([other for _, other in pairs])
    reach, wanted = (float(np.hypot(*np.ptp(points, axis=0))) for points in (source, target))
    if min(reach, wanted) < 1e-6:
        raise EditError("the two points fall together: take two that lie far apart")
    by = best_similarity(source, target, keep_scale=own)
    factor = math.hypot(by[0, 0], by[1, 0])
    if not 1e-4 < factor < 1e4:
        raise EditError("the points would change the sheet's scale ten thousandfold: click both pairs again")
    took = moving.scale_from if own else placed.scale_from
    carried = carry(design, scan_id, by, sizes, took, nearest=False)
    scans = tuple(replace(s, locked=True) if s.id == scan_id else s for s in carried.scans)
    joined = replace(carried, scans=scans)
    if problems(joined) and not problems(design):
        raise EditError("the sheet would come to lie past what a file can hold: click both pairs again")
    apart = (math.dist(*target[:2]) - math.dist(*source[:2])) if own else 0.0
    return Joined(joined, apart)
