"""B-splines of DXF against their definition: the recursion of Cox and de Boor, written out here.

C. de Boor, A Practical Guide to Splines, chapter IX (from memory): N(i, 0) is one between two
knots, N(i, p) is a mixture of N(i, p - 1) and N(i + 1, p - 1). Nothing is shared with the reader,
which makes Bézier curves by polar forms.
"""

from __future__ import annotations

import io
import math

import numpy as np
import pytest
from ezdxf.filemanagement import new
from green import exact_moments
from hypothesis import given, settings
from hypothesis import strategies as st

from core.design import Outline
from core.exchange.closed import Imported
from core.exchange.dxf_reading import outlines_from_dxf
from core.exchange.faults import ExchangeError
from core.exchange.spline import SplineError, pieces_of_spline, pieces_through
from core.geometry.ring import ring_of

Points = list[tuple[float, float]]
ROUND: Points = [(0, 0), (60, -10), (82, 21), (60, 50), (10, 55), (-15, 25)]
CLOSED, PERIODIC = 1, 2


def basis(i: int, p: int, u: list[float], t: np.ndarray) -> np.ndarray:
    if p == 0:
        return ((u[i] <= t) & (t < u[i + 1])).astype(float)
    left = (t - u[i]) / (u[i + p] - u[i]) if u[i + p] > u[i] else 0.0
    right = (u[i + p + 1] - t) / (u[i + p + 1] - u[i + 1]) if u[i + p + 1] > u[i + 1] else 0.0
    return left * basis(i, p - 1, u, t) + right * basis(i + 1, p - 1, u, t)


def curve(control: Points, p: int, u: list[float], weights: list[float] | None, count: int) -> np.ndarray:
    """Points (count, 2) over the whole range, its end left out: there the half-open N are all nothing."""
    t = np.linspace(u[p], u[-p - 1], count, endpoint=False)
    shares = np.array(weights or [1.0] * len(control))
    n = np.array([basis(i, p, u, t) for i in range(len(control))]) * shares[:, None]
    return np.asarray((n.T @ np.array(control)) / n.sum(axis=0)[:, None])


def polygon_area(points: np.ndarray) -> float:
    x, y = points.T
    return float(abs(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))) / 2)


def file_of(
    control: Points, p: int = 3, knots: list[float] | None = None, weights: list[float] | None = None,
    flags: int = 0, fit: Points | None = None,
) -> bytes:
    drawing = new("R2010")
    drawing.header["$INSUNITS"] = 4
    spline = drawing.modelspace().add_spline(fit)
    spline.dxf.flags = flags
    spline.dxf.degree = p
    spline.dxf.handle = "2FA"
    if control:
        spline.control_points = control
        spline.knots = knots or []
        spline.weights = weights or []
    held = io.StringIO()
    drawing.write(held)
    return held.getvalue().encode()


def only(found: Imported) -> Outline:
    (outline,) = found.outlines
    return outline


def area(outline: Outline) -> float:
    return abs(exact_moments(ring_of(outline.nodes))[0])


def wrapped(points: list, p: int) -> list:  # type: ignore[type-arg]
    return points + points[:p]


@pytest.mark.parametrize("p", [2, 3, 4, 5])
@pytest.mark.parametrize("weights", [None, [1, 2.5, 0.4, 1, 3, 1.5]])
def test_a_periodic_spline_has_the_area_of_its_definition(p: int, weights: list[float] | None) -> None:
    control = wrapped(ROUND, p)
    shares = wrapped(weights, p) if weights else None
    knots = [float(i) for i in range(len(control) + p + 1)]
    found = outlines_from_dxf(file_of(control, p, knots, shares, CLOSED | PERIODIC))
    true = curve(control, p, knots, shares, 6 * 2000)
    assert found.notes == ()
    outline = only(found)
    # Exact up to degree 3; what is followed stays within 0.003 mm all round, some 200 mm.
    within = 1e-6 if p <= 3 and not weights else 0.003 * 200 / polygon_area(true)
    assert area(outline) == pytest.approx(polygon_area(true), rel=within)
    if p <= 3 and not weights:
        assert len(outline.nodes) == 6, "one cubic a stretch"


def test_uneven_periodic_knots_and_a_curve_that_ends_nowhere_near_its_control_points() -> None:
    steps = [1.0, 0.3, 2.0, 0.7, 1.0, 1.6]
    u = np.cumsum([0.0, *steps * 3]).tolist()
    control, knots = wrapped(ROUND, 3), u[: 6 + 3 + 3 + 1]
    found = outlines_from_dxf(file_of(control, 3, knots, None, CLOSED))
    true = curve(control, 3, knots, None, 40_000)
    assert np.abs(true[0] - np.array(control[0])).max() > 1
    assert found.notes == () and area(only(found)) == pytest.approx(polygon_area(true), rel=1e-6)
    # Evaluated from its first knot to its last it would run to the origin and be another curve altogether.


@pytest.mark.parametrize("p", [1, 2, 3, 4])
@pytest.mark.parametrize("flags", [0, CLOSED])
def test_a_clamped_spline_that_meets_itself_is_closed_once(p: int, flags: int) -> None:
    control = [*ROUND, ROUND[0]]
    inner = list(range(1, len(control) - p))
    knots = [0.0] * (p + 1) + [float(k) for k in inner] + [float(len(inner) + 1)] * (p + 1)
    found = outlines_from_dxf(file_of(control, p, knots, None, flags))
    assert found.notes == ()
    true = curve(control, p, knots, None, 60_000)
    assert area(only(found)) == pytest.approx(polygon_area(true), rel=1e-6 if p <= 3 else 1e-4)


def test_circles_of_rational_quadratics_are_round() -> None:
    """Nine points, weights of half the root of two at the corners (L. Piegl, W. Tiller, The NURBS Book,
    7.5; from memory): exactly the circle.
    """
    s = math.sqrt(0.5)
    corners = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0)]
    for r in (3.0, 40.0, 900.0):
        data = file_of([(r * x + 500, r * y - 70) for x, y in corners], 2,
                       [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4], [1, s] * 4 + [1], CLOSED)
        outline = only(outlines_from_dxf(data))
        m, x, z = exact_moments(ring_of(outline.nodes))
        assert (x / m, z / m) == pytest.approx((500, -70), abs=1e-3)
        assert abs(m) == pytest.approx(math.pi * r * r, abs=2 * math.pi * r * 0.003)
        nodes = [math.hypot(n.x - 500, n.z + 70) for n in outline.nodes]
        assert nodes == pytest.approx([r] * len(nodes), rel=1e-9)


@settings(max_examples=60)
@given(
    st.integers(1, 5), st.integers(0, 8), st.randoms(use_true_random=False), st.booleans(),
    st.lists(st.sampled_from([0.0, 0.2, 1.0, 3.0]), min_size=40, max_size=40),
)
def test_any_spline_runs_through_the_points_of_its_definition(
    p: int, more: int, lot: object, rational: bool, steps: list[float]
) -> None:
    count = p + 1 + more
    control = [(lot.uniform(-90, 90), lot.uniform(-90, 90)) for _ in range(count)]  # type: ignore[attr-defined]
    weights = [lot.uniform(0.2, 4) for _ in range(count)] if rational else None  # type: ignore[attr-defined]
    knots = [0.0]
    for step in steps[: count + p]:
        # No knot more than p times: beyond that the curve falls into parts.
        stuck = len(knots) >= p and knots[-p] == knots[-1] and step == 0
        knots.append(knots[-1] + (1.0 if stuck else step))
    try:
        pieces = pieces_of_spline([complex(*c) for c in control], p, knots, weights or (), 0.01)
    except SplineError as error:
        assert "no length" in str(error) and knots[p] == knots[-p - 1]
        return
    t = np.linspace(0, 1, 33)[:, None]
    a, b, c, d = np.array(pieces).T
    ours = ((1 - t)**3 * a + 3 * (1 - t)**2 * t * b + 3 * (1 - t) * t * t * c + t**3 * d).ravel()
    for x, y in curve(control, p, knots, weights, 40):
        # The points of ours lie apart by up to a 32nd of a piece.
        near = np.abs(ours - complex(x, y)).min()
        chord = max(abs(q[1] - q[0]) + abs(q[2] - q[1]) + abs(q[3] - q[2]) for q in pieces)
        assert near < 0.01 + 3 * chord / 32


def test_what_cannot_be_is_refused_by_its_handle() -> None:
    clamped = [0.0] * 4 + [1.0, 2.0] + [3.0] * 4
    even = [float(i) for i in range(10)]
    gap = "the file calls it closed, but its ends lie"
    for data, words in (
        (file_of(ROUND, 3, clamped, None, CLOSED), gap),
        (file_of(ROUND, 3, even, None, CLOSED | PERIODIC), gap),
        (file_of(ROUND, 3, clamped, [1, 1, -1, 1, 1, 1]), "weights"),
        (file_of(ROUND, 3, clamped, [1, 1, 0, 1, 1, 1]), "weights"),
        (file_of(ROUND, 3, clamped[::-1]), "upwards"),
        (file_of(ROUND, 3, [0.0] * 10), "no length"),
        (file_of(ROUND, 3, [*even, 10.0]), "11 knots where 10 belong"),
        (file_of(ROUND, 3, even[:7], None, CLOSED | PERIODIC), "invalid knot value count"),
        (file_of(ROUND, 3, clamped, [1, 1]), "invalid weight count"),
        (file_of([*ROUND, (9, 9), (0, 9)], 3, [0.0] * 4 + [1.0] * 4 + [2.0] * 4), "falls into parts"),
    ):
        with pytest.raises(ExchangeError, match=words) as caught:
            outlines_from_dxf(data)
        assert "SPLINE with handle 2FA was left out" in str(caught.value) and len(str(caught.value)) < 300


def test_fit_points_alone_are_laid_through_and_said() -> None:
    # 24 points of a circle: the periodic spline through them is the circle to a hundredth of a per mille.
    turns = np.linspace(0, 2 * math.pi, 24, endpoint=False)
    points = [(50 * math.cos(a), 50 * math.sin(a)) for a in turns]
    for fit in (points, [*points, points[0]]):
        found = outlines_from_dxf(file_of([], fit=fit, flags=CLOSED))
        assert area(only(found)) == pytest.approx(math.pi * 2500, rel=2e-5)
        assert len(only(found).nodes) == 24
        assert any("fit points" in note for note in found.notes)
    with pytest.raises(ExchangeError, match="handle 2FA"):
        outlines_from_dxf(file_of([], fit=[(i, i * i % 7) for i in range(1100)], flags=CLOSED))


def test_the_spline_through_points_bends_evenly() -> None:
    """Second derivatives by the chord's parameter agree on both sides of every point."""
    points = [complex(*p) for p in ROUND]
    pieces = pieces_through(points)
    assert [p[0] for p in pieces] == points
    for (a, b, c, d), (_, e, f, _) in zip(pieces, [*pieces[1:], pieces[0]], strict=True):
        h, k = abs(d - a), abs(points[(points.index(a) + 2) % 6] - d)
        assert abs((d - c) / h - (e - d) / k) < 1e-9
        assert abs((d - 2 * c + b) / h**2 - (f - 2 * e + d) / k**2) < 1e-9
