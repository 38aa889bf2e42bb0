"""Scans made true: photographs straightened, unequal shrinkage taken out, sheets joined to one another."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from msgspec.structs import replace

from core.design import Design, Lens, Scan, Vector
from core.design_check import problems
from core.geometry.plane import (
    PlaneFit,
    best_similarity,
    depths,
    fit_plane,
    is_affine,
    magnification,
    mapped,
)
from core.geometry.plumb import MOST_K, bend_left, off_line, solve_radial
from core.geometry.ring import Array
from core.redesign.outline_edits import EditError
from core.redesign.scan_edits import carry, lay_anew, matrix_of
from core.scan_map import Size, curved, lens_about_the_middle, mm_of, pixels_of, straight

LEAST_DEPTH = 0.05
"""A picture's corner may lie so near the horizon, the middle of the rectangle being 1."""
STRAIGHTENED = "straightened"
LEAST_ON_A_LINE = 3
_LEAST_SPARE = 2
"""Points beyond the two that any line has: the first is the lens's, the next tells how well it fits."""
_CLICK, _UNSETTLED = 2e-4, 1.6e-3
"""A click off by such a part of the diagonal must not move, through the lens, what was clicked by more than
this part of half of it. From trials, no source.
"""
_LEAST_SINE = math.sin(math.radians(4.0))
_LEAST_APART = 0.3
_SQUARE = 1e-6


@dataclass(frozen=True)
class KnownRectangle:
    """Four corners of something rectangular in a photograph, its two lengths, and more that is known.

    ``corners`` in pixels, in turn round the rectangle either way. ``width`` and ``height`` in mm; the
    width is the pair of sides that lies the more level in the side view. ``places``: further pixels
    and where they lie, in mm along the width and up the height from the lower left corner. ``spans``:
    two pixels each and how many mm they lie apart. ``lines``: pixels that lie on one straight line of the
    paper each, from which the lens is solved; with none it stays what it is.
    """

    corners: tuple[Vector, ...]
    width: float
    height: float
    places: tuple[tuple[Vector, Vector], ...] = ()
    spans: tuple[tuple[Vector, Vector, float], ...] = ()
    lines: tuple[tuple[Vector, ...], ...] = ()


def order_of(scan: Scan, corners: tuple[Vector, ...]) -> tuple[int, ...]:
    """Indices of the four corners: the lower left one first, then anticlockwise in the side view.

    The first side, from the first to the second index, is the width. EditError for corners that make
    no rectangle's picture: sides that cross, corners in a line.
    """
    if len(corners) != 4:
        raise EditError("click the four corners of something rectangular first")
    quad = mm_of(scan, np.array(corners))
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


@dataclass(frozen=True, eq=False)
class LaidFlat(PlaneFit):
    """The plane of a photograph, the lens before it, and what each of them leaves, in mm.

    ``lens_mm``: how far at most, in the rectangle, a plane without the lens would be off. ``clicks_mm``:
    what remains at points and spans, one standard deviation, None where they always fit. ``paper_mm``:
    the same along the straight lines, None without enough of them. ``at_lines``: by line, how far each
    of its points lies off it. ``lens_told``: why the lines say nothing of the lens; empty where they do.
    """

    lens: Lens | None = None
    lens_mm: float = 0.0
    clicks_mm: float | None = None
    paper_mm: float | None = None
    at_lines: tuple[Array, ...] = ()
    lens_told: str = ""

    @property
    def residual_mm(self) -> float | None:
        """Clicks and paper together; None where nothing more is known than always fits."""
        known = [mm for mm in (self.clicks_mm, self.paper_mm) if mm is not None]
        return math.hypot(*known) if known else None


def plane_of(scan: Scan, size: Size, known: KnownRectangle) -> LaidFlat:
    """The map from pixels, their lens taken out, to mm along the rectangle, its lower left corner at (0, 0).

    Lens and plane are solved together: the sum of squares of what points, spans and lines lie off, each
    where it was clicked. Residuals stand in mm: ``at_points`` the four corners as given and then the
    places, ``at_spans`` the spans. EditError says what to do where there is no such plane.
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
    spans = np.array([(one, other) for one, other, _ in known.spans]).reshape(-1, 2)
    lengths = np.array([mm for *_, mm in known.spans])
    lines = [np.array(line) for line in known.lines if len(line) >= LEAST_ON_A_LINE]

    def fit(lens: Lens | None) -> PlaneFit:
        return fit_plane(straight(lens, source), target, straight(lens, spans).reshape(-1, 2, 2), lengths)

    def cost(k: float) -> float:
        lens = lens_about_the_middle(k, size)
        left = bend_left([straight(lens, line) for line in lines])
        if len(source) == 4 and not len(spans):
            return left  # four corners always fit
        plane = fit(lens)
        ends = straight(lens, spans).reshape(-1, 2, 2).mean(axis=1)
        grown = magnification(plane.matrix, np.concatenate((straight(lens, source), ends)))
        return left + float(((np.concatenate((plane.at_points, plane.at_spans)) / grown) ** 2).sum())

    lens, told = scan.lens, ""
    try:
        if lines:
            lens, told = _lens_of(scan, size, known.corners, lines, cost)
        plane = fit(lens)
        plain = fit(None)
    except ValueError as error:
        raise EditError(f"the points give no plane ({error}): put them on the rectangle anew") from None
    if depths(plane.matrix, straight(lens, _frame(size))).min() < LEAST_DEPTH:
        raise EditError(
            "the horizon of the paper runs through the picture or close by: check the corners, or crop "
            "the photograph to the plan and open it again"
        )
    both = np.concatenate((plane.at_points, plane.at_spans))
    spare = 2 * len(plane.at_points) + len(plane.at_spans) - 8
    at_lines = tuple(np.abs(off_line(mapped(plane.matrix, straight(lens, line)))) for line in lines)
    spare_on_lines = sum(len(line) - 2 for line in lines) - 1
    squares = sum(float((off**2).sum()) for off in at_lines)
    return LaidFlat(
        plane.matrix, plane.at_points, plane.at_spans, lens,
        lens_mm=_taken_out(lens, plane.matrix, plain.matrix, (w, h)),
        clicks_mm=math.sqrt(float((both**2).sum()) / spare) if spare > 0 else None,
        paper_mm=math.sqrt(squares / spare_on_lines) if spare_on_lines > 0 else None,
        at_lines=at_lines, lens_told=told,
    )


def _taken_out(lens: Lens | None, matrix: Array, plain: Array, rectangle: tuple[float, float]) -> float:
    """How far at most, in the rectangle of so many mm, the plane ``plain`` without a lens is off."""
    if lens is None:
        return 0.0
    across, down = (np.linspace(0.0, mm, 9, dtype=np.float64) for mm in rectangle)
    grid = np.array([(x, z) for x in across for z in down])
    in_picture = curved(lens, mapped(np.asarray(np.linalg.inv(matrix), np.float64), grid))
    return float(np.hypot(*(mapped(plain, in_picture) - grid).T).max())


def _lens_of(
    scan: Scan, size: Size, corners: tuple[Vector, ...], lines: list[Array], cost: Callable[[float], float]
) -> tuple[Lens | None, str]:
    """The lens that leaves least, or the one there was and why the lines do not settle another."""
    if sum(len(line) - 2 for line in lines) < _LEAST_SPARE:
        return scan.lens, "three points on one line always fit some lens: click more along it"
    diagonal = math.hypot(*size)
    every = np.vstack([*lines, np.array(corners)]) - np.array(size) / 2
    reach = float(np.hypot(every[:, 0], every[:, 1]).max()) / (diagonal / 2)

    def settled(squares: float) -> bool:
        # By how much one click off would move the farthest of what was clicked, through k.
        return squares > 0.0 and _CLICK * diagonal / math.sqrt(squares) * reach**3 <= _UNSETTLED

    start = 0.0 if scan.lens is None else scan.lens.k
    k, squares = solve_radial(
        lambda k: bend_left([straight(lens_about_the_middle(k, size), line) for line in lines]), start
    )
    # Points and spans take a plane each time: where the lines alone lead nearly there, they put it right.
    k, squares = solve_radial(cost, k, 0.004, 1) if settled(squares) else solve_radial(cost, start)
    if not settled(squares):
        return scan.lens, (
            "these lines say little of the lens: take long ones, near the edges of the photograph"
        )
    if abs(k) >= MOST_K:
        raise EditError(
            "the straight lines bend more than any lens makes them: check that each follows one straight edge"
        )
    return lens_about_the_middle(k, size), ""


def _frame(size: Size) -> Array:
    w, h = size
    return np.array(((0.0, 0.0), (w, 0.0), (w, h), (0.0, h)))


def straighten(
    design: Design, scan_id: str, known: KnownRectangle, sizes: dict[str, Size]
) -> tuple[Design, LaidFlat]:
    """The scan laid flat by a rectangle of known size, with what was traced on it, and the fit.

    The width lies level. The datum stays where it is on the paper where it lies on the picture;
    otherwise the middle of the rectangle stays where it is. EditError as ``plane_of``, for a scan
    whose picture is not open, and where the design would no longer fit a file.
    """
    scan = design.scan(scan_id)
    if scan_id not in sizes:
        raise EditError("the picture is not open: it must be seen to be straightened")
    fit = plane_of(scan, sizes[scan_id], known)
    (datum,) = pixels_of(scan, np.zeros(2))
    if (datum >= 0.0).all() and (datum <= sizes[scan_id]).all():
        here, there = datum, np.zeros(2)
    else:
        here = np.array(known.corners).mean(axis=0)
        there = mm_of(scan, here)[0]
    shift = np.eye(3)
    shift[:2, 2] = there - mapped(fit.matrix, straight(fit.lens, here))[0]
    new = shift @ fit.matrix
    laid = lay_anew(
        design,
        replace(
            scan, to_mm=matrix_of(new / new[2, 2]), lens=fit.lens, residual_mm=fit.residual_mm,
            scale_from="points", photograph=False,
        ),
        sizes,
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
    if scan.lens is not None or not is_affine(matrix) or abs(float(axes[:, 0] @ axes[:, 1])) > _SQUARE:
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
    square = is_affine(matrix) and abs(float(matrix[:2, 0] @ matrix[:2, 1])) <= _SQUARE * per_pixel.prod()
    if scan.lens is not None or not square:
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
