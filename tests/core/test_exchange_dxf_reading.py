"""DXF read back: closed forms, drawings made by ezdxf, our own round trip, and broken files."""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from pathlib import Path

import pytest
from ezdxf.filemanagement import new
from ezdxf.layouts.layout import Modelspace
from green import exact_moments
from hypothesis import given, settings
from hypothesis import strategies as st

from core.design import Outline
from core.design_file import read
from core.exchange.chaining import chained
from core.exchange.dxf import dxf_bytes
from core.exchange.dxf_reading import outlines_from_dxf
from core.exchange.faults import ExchangeError, ScaleUnknownError
from core.exchange.path_data import line
from core.geometry.ring import ring_of

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = sorted((ROOT / "sample_designs").glob("*.sternpost"))


def drawn(draw: Callable[[Modelspace], object], units: int = 4, release: str = "R2010") -> bytes:
    drawing = new(release)
    drawing.header["$INSUNITS"] = units
    draw(drawing.modelspace())
    held = io.StringIO()
    drawing.write(held)
    return held.getvalue().encode()


def moments(outline: Outline) -> tuple[float, float, float]:
    """(area, x, z) of an outline: mm², mm, mm."""
    area, x, z = exact_moments(ring_of(outline.nodes))
    return abs(area), x / area, z / area


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_a_round_trip_keeps_everything(path: Path) -> None:
    design = read(path).design
    back = outlines_from_dxf(dxf_bytes(design))
    assert back.notes == ()
    assert len(back.outlines) == len(design.outlines)
    for ours, theirs in zip(design.outlines, back.outlines, strict=True):
        assert (theirs.id, theirs.kind, theirs.count, theirs.standing, theirs.name) == (
            ours.id, ours.kind, ours.count, ours.standing, ours.name
        )
        for n, m in zip(theirs.nodes, ours.nodes, strict=True):
            assert (n.x, n.z) == pytest.approx((m.x, m.z), abs=1e-9)
        assert [n.handle_out is None for n in theirs.nodes] == [n.handle_out is None for n in ours.nodes]
        assert exact_moments(ring_of(theirs.nodes)) == pytest.approx(
            exact_moments(ring_of(ours.nodes)), rel=1e-6
        )


SQUARE = ((10, 10), (30, 10), (30, 30), (10, 30))


def four_lines(space: Modelspace) -> None:
    # Out of order, one turned round, one end 0.004 mm off.
    for a, b in (((10, 10), (30, 10)), ((30, 30), (10, 30)), ((30.004, 10), (30, 30)), ((10, 10), (10, 30))):
        space.add_line(a, b)


def half_and_half(space: Modelspace) -> None:
    space.add_arc((40, 50), 20, 0, 180)
    space.add_line((60, 50), (20, 50))


@pytest.mark.parametrize(("draw", "wanted", "within"), [
    (lambda s: s.add_lwpolyline(SQUARE, close=True), (400, 20, 20), 1e-9),
    (lambda s: s.add_polyline2d(SQUARE, close=True), (400, 20, 20), 1e-9),
    (lambda s: s.add_lwpolyline([*SQUARE, SQUARE[0]]), (400, 20, 20), 1e-9),
    (four_lines, (400, 20, 20), 1e-3),
    (lambda s: s.add_circle((40, 50), 20), (math.pi * 400, 40, 50), 1e-5),
    # A bulge of 1 is a half turn (DXF reference: the tangent of a quarter of the angle).
    (lambda s: s.add_lwpolyline([(60, 50, 1), (20, 50, 1)], format="xyb", close=True),
     (math.pi * 400, 40, 50), 1e-5),
    (lambda s: s.add_ellipse((40, 50), (30, 0), 1 / 3), (math.pi * 300, 40, 50), 1e-5),
    (half_and_half, (math.pi * 200, 40, 50 + 4 * 20 / (3 * math.pi)), 1e-5),
])
def test_every_kind_of_curve(
    draw: Callable[[Modelspace], object], wanted: tuple[float, float, float], within: float
) -> None:
    (outline,) = outlines_from_dxf(drawn(draw)).outlines
    assert moments(outline) == pytest.approx(wanted, rel=within)


def test_a_rational_spline_is_followed() -> None:
    from ezdxf.math import ConstructionEllipse, rational_bspline_from_ellipse

    curve = rational_bspline_from_ellipse(ConstructionEllipse((40, 50), (30, 0), (0, 0, 1), 1 / 3))
    (outline,) = outlines_from_dxf(drawn(lambda s: s.add_spline().apply_construction_tool(curve))).outlines
    assert moments(outline) == pytest.approx((math.pi * 300, 40, 50), rel=1e-4)


@pytest.mark.parametrize(("units", "mm"), [(1, 25.4), (2, 304.8), (4, 1.0), (5, 10.0), (6, 1000.0)])
def test_the_scale_comes_from_the_units(units: int, mm: float) -> None:
    data = drawn(lambda s: s.add_lwpolyline(SQUARE, close=True), units)
    assert moments(outlines_from_dxf(data).outlines[0])[0] == pytest.approx(400 * mm**2, rel=1e-9)
    assert moments(outlines_from_dxf(data, mm_per_unit=2).outlines[0])[0] == pytest.approx(1600, rel=1e-9)


@pytest.mark.parametrize("release", ["R12", "R2010"])
def test_the_scale_is_asked_for_where_the_file_does_not_say(release: str) -> None:
    data = drawn(lambda s: s.add_polyline2d(SQUARE, close=True), 0, release)
    with pytest.raises(ScaleUnknownError, match="--mm-per-unit"):
        outlines_from_dxf(data)
    assert moments(outlines_from_dxf(data, mm_per_unit=0.5).outlines[0])[0] == pytest.approx(100, rel=1e-9)


def test_a_layer_named_like_a_kind_gives_it_and_the_rest_is_said() -> None:
    def draw(space: Modelspace) -> None:
        space.add_circle((0, 0), 5, dxfattribs={"layer": "Ventral Fin"})
        space.add_circle((50, 0), 5, dxfattribs={"layer": "Cut here"})
        space.add_text("words")
        space.add_line((0, 0), (5, 5))

    found = outlines_from_dxf(drawn(draw))
    assert [(o.kind, o.label, o.id) for o in found.outlines] == [
        ("ventral fin", "Ventral Fin", "ventral-fin"), ("other", "Cut here", "cut-here")
    ]
    assert found.notes[1].startswith("1 TEXT left out") and "1 path was left out" in found.notes[0]
    assert {o.kind for o in outlines_from_dxf(drawn(draw), kind="float").outlines} == {"float"}


def test_chains_run_through_both_ends_of_the_first_piece() -> None:
    middle, left, right = [line(1, 2)], [line(0, 1)], [line(3, 2)]
    ((a, b, c),) = chained([middle, left, right])
    assert {a[0], a[3], b[0], b[3], c[0], c[3]} == {0, 1, 2, 3}
    assert a[3] == b[0] and b[3] == c[0]


def test_a_star_of_many_loose_lines_is_chained_two_by_two() -> None:
    rows = [[line(0, complex(i, 1))] for i in range(1, 60_001)]
    # Through the middle; by trying each with each it would take minutes.
    assert len(chained(rows)) == 30_000


SOUND = drawn(lambda s: s.add_lwpolyline(SQUARE, close=True))


@pytest.mark.parametrize(("data", "words"), [
    (b"", "not a DXF"), (b"nothing of the kind", "not a DXF"), (b"\x00\xff" * 500, "not a DXF"),
    (b"SECTION\n" * 9, "not a whole DXF"),
    (b" " * 20_000_001, "more than 20"), (drawn(lambda s: None), "no closed outline"),
    (drawn(lambda s: s.add_circle((0, 0), 1e9)), "out of reach"),
    (drawn(lambda s: s.add_lwpolyline([(0, 0), (math.nan, 1), (5, 5)], close=True)), "not a finite number"),
])
def test_a_hostile_file_is_one_sentence(data: bytes, words: str, capfd: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(ExchangeError) as caught:
        outlines_from_dxf(data)
    assert words in str(caught.value) and "\n" not in str(caught.value) and len(str(caught.value)) < 300
    assert capfd.readouterr() == ("", "")


@settings(max_examples=25)
@given(st.integers(0, len(SOUND)), st.binary(max_size=12))
def test_a_damaged_file_is_read_or_refused(at: int, put: bytes) -> None:
    for data in (SOUND[:at] + put + SOUND[at + len(put):], SOUND[:at]):
        try:
            outlines_from_dxf(data)
        except ExchangeError as error:
            assert str(error)


def test_the_frame_of_a_polyline_fitted_by_a_spline_is_no_part_of_it() -> None:
    def draw(space: Modelspace) -> None:
        polyline = space.add_polyline2d([*SQUARE, (-50, -50), (80, -50), (80, 80)], close=True)
        polyline.dxf.flags |= 4
        for i, vertex in enumerate(polyline.vertices):
            vertex.dxf.flags = 16 if i >= 4 else 8

    (outline,) = outlines_from_dxf(drawn(draw)).outlines
    assert moments(outline) == pytest.approx((400, 20, 20), rel=1e-9)


def test_a_record_of_no_known_kind_is_left_out_and_told() -> None:
    """Found by spoiled files: such a record has no layer to ask for."""

    def two_squares(space: Modelspace) -> None:
        for x in (0, 50):
            space.add_lwpolyline([(x, 0), (x + 20, 0), (x + 20, 30), (x, 30)], close=True)

    data = drawn(two_squares)
    assert data.count(b"\nLWPOLYLINE\n") == 2
    found = outlines_from_dxf(data.replace(b"\nLWPOLYLINE\n", b"\nL\x00POLYLINE\n", 1))
    (square,) = found.outlines
    assert abs(moments(square)[0]) == pytest.approx(600)
    assert any("left out" in note for note in found.notes)
