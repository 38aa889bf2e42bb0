"""SVG read back: closed forms, a general-purpose library, our own round trip, and hostile files."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import shapely
from green import exact_moments
from hypothesis import given, settings
from hypothesis import strategies as st
from svgelements import Path as SvgPath  # type: ignore[import-untyped]

from core.design import Node, Outline
from core.design_file import read
from core.exchange.faults import ExchangeError, ScaleUnknownError
from core.exchange.path_data import subpaths
from core.exchange.svg import svg_bytes
from core.exchange.svg_reading import outlines_from_svg
from core.geometry.ring import ring_of

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = sorted((ROOT / "sample_designs").glob("*.sternpost"))


def drawing(inside: str, head: str = 'width="100mm" height="100mm" viewBox="0 0 100 100"') -> bytes:
    return f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{inside}</svg>'.encode()


def moments(outline: Outline) -> tuple[float, float, float]:
    """(area, x, z) of an outline: mm², mm, mm."""
    area, x, z = exact_moments(ring_of(outline.nodes))
    return abs(area), x / area, z / area


def only(inside: str, **more: float) -> Outline:
    (outline,) = outlines_from_svg(drawing(inside), **more).outlines  # type: ignore[arg-type]
    return outline


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_a_round_trip_keeps_everything(path: Path) -> None:
    design = read(path).design
    back = outlines_from_svg(svg_bytes(design))
    assert back.notes == ()
    assert len(back.outlines) == len(design.outlines)
    for ours, theirs in zip(design.outlines, back.outlines, strict=True):
        assert (theirs.id, theirs.kind, theirs.count, theirs.standing, theirs.name) == (
            ours.id, ours.kind, ours.count, ours.standing, ours.name
        )
        assert len(theirs.nodes) == len(ours.nodes)
        assert moments(theirs) == pytest.approx(moments(ours), rel=1e-6)


# Each draws the square 20 × 20 with its corner at (10, 10): area 400, centre (20, −20).
@pytest.mark.parametrize("d", [
    "M10 10 L30 10 L30 30 L10 30 Z", "M10,10 30,10 30,30 10,30z", "m10 10 20 0 0 20 -20 0z",
    "M10 10H30V30H10Z", "m10 10h20v20h-20z", "M1e1 1.0e1h20v20h-20z",
    "M10 10 C10 10 30 10 30 10 V30 H10", "M10-0 m0 10 20-0 0 20-20 0z", "M10 10 Q20 10 30 10 T 30 30 H10z",
])
def test_the_same_square_in_many_spellings(d: str) -> None:
    if "T" in d:
        # T mirrors the control point: (40, 10) for the second curve, so the edge bulges by 2/3 · 20 · 10 / 2.
        bulge = abs(sum_of_quadratic((30, 10), (40, 10), (30, 30)))
        assert moments(only(f'<path d="{d}"/>'))[0] == pytest.approx(400 + bulge, rel=1e-9)
        return
    assert moments(only(f'<path d="{d}"/>')) == pytest.approx((400, 20, -20), rel=1e-9)


def sum_of_quadratic(a: tuple[float, float], c: tuple[float, float], b: tuple[float, float]) -> float:
    """Area between a parabola and its chord: two thirds of the triangle (Archimedes)."""
    return 2 / 3 * ((c[0] - a[0]) * (b[1] - a[1]) - (c[1] - a[1]) * (b[0] - a[0])) / 2


@pytest.mark.parametrize("inside", [
    '<rect x="10" y="10" width="20" height="20"/>',
    '<polygon points="10,10 30,10 30,30 10,30"/>', '<polyline points="10 10 30 10 30 30 10 30"/>',
    '<g transform="translate(10 10)"><g transform="scale(2)"><rect width="10" height="10"/></g></g>',
    '<rect transform="rotate(90 20 20)" x="10" y="10" width="20" height="20"/>',
    '<rect transform="matrix(0 2 -2 0 30 10)" width="10" height="10"/>',
    '<rect transform="translate(10,10) skewX(45) skewX(-45)" width="20" height="20"/>',
    '<g transform="translate(20 20)"><path transform="rotate(-45)" d="M0-14.142135623730951 '
    '14.142135623730951 0 0 14.142135623730951-14.142135623730951 0z"/></g>',
])
def test_shapes_and_transforms(inside: str) -> None:
    assert moments(only(inside)) == pytest.approx((400, 20, -20), rel=1e-9)


@pytest.mark.parametrize("inside", [
    '<circle cx="40" cy="50" r="20"/>', '<ellipse cx="40" cy="50" rx="20" ry="20"/>',
    '<path d="M60 50A20 20 0 0 1 20 50A20 20 0 0 1 60 50z"/>',
    '<path d="M60 50a20 20 0 1 0-40 0 20 20 0 1040 0"/>',
    '<path d="M60 50A5 5 0 0120 50A1 1 30 0160 50z"/>',
])
def test_circles_and_arcs(inside: str) -> None:
    # Arcs become cubics an eighth of a turn long: a few millionths of the area.
    assert moments(only(inside)) == pytest.approx((math.pi * 400, 40, -50), rel=1e-5)


def test_an_ellipse_at_a_slant_and_a_rounded_corner() -> None:
    # Radii 3 and 1, too small for the chord: stretched alike until it is a diameter (SVG 1.1, F.6.6).
    slanted = only('<path d="M10 10A3 1 30 0 1 40 40A3 1 30 0 1 10 10z"/>')
    half, off = math.hypot(15, 15), math.radians(45 - 30)
    stretched = (half * math.cos(off) / 3) ** 2 + (half * math.sin(off) / 1) ** 2
    assert moments(slanted) == pytest.approx((math.pi * 3 * 1 * stretched, 25, -25), rel=1e-5)
    rounded = only('<rect width="50" height="30" rx="10"/>')
    assert moments(rounded) == pytest.approx((50 * 30 - (4 - math.pi) * 100, 25, -15), rel=1e-5)


NUMBER = st.floats(-90, 90).map(lambda v: f"{v:.3f}")
RADIUS = st.floats(1, 90).map(lambda v: f"{v:.3f}")
FLAG = st.sampled_from("01")


def command(letters: str, *numbers: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    rows = st.tuples(*numbers).map(" ".join)
    return st.builds("".join, st.tuples(st.sampled_from(letters), rows))


# S only after C and T only after Q: elsewhere the recommendation has nothing to mirror, the library mirrors.
CUBIC, PARABOLA = command("Cc", *[NUMBER] * 6), command("Qq", *[NUMBER] * 4)
COMMAND = st.one_of(
    command("Ll", *[NUMBER] * 2), command("Hh", NUMBER), command("Vv", NUMBER), CUBIC, PARABOLA,
    st.builds("".join, st.tuples(CUBIC, command("Ss", *[NUMBER] * 4))),
    st.builds("".join, st.tuples(PARABOLA, command("Tt", *[NUMBER] * 2))),
    command("Aa", RADIUS, RADIUS, NUMBER, FLAG, FLAG, NUMBER, NUMBER),
)


@settings(max_examples=60)
@given(st.lists(COMMAND, min_size=1, max_size=8))
def test_path_data_runs_where_a_general_library_says(commands: list[str]) -> None:
    d = "M 5 7 " + " ".join(commands)
    theirs = [piece for piece in SvgPath(d) if type(piece).__name__ != "Move"]
    ours = [piece for row in subpaths(d) for piece in row]
    if not ours:
        assert all(abs(complex(*piece.end) - (5 + 7j)) < 1e-9 for piece in theirs)
        return
    assert abs(ours[-1][3] - complex(*theirs[-1].end)) < 1e-6
    points = np.concatenate([points_of(piece) for piece in ours])
    drawn = shapely.LineString(np.stack((points.real, points.imag), axis=1))
    for piece in theirs:
        for t in np.linspace(0, 1, 9):
            # Chords of a 256th sag by less than 0.01; arcs are off by 5e-6 of their radius.
            assert drawn.distance(shapely.Point(*piece.point(t))) < 0.01 + 2e-5 * np.abs(points).max(), d


def points_of(piece: tuple[complex, complex, complex, complex]) -> np.ndarray:
    a, b, c, d = piece
    t = np.linspace(0, 1, 257)
    return np.asarray((1 - t)**3 * a + 3 * (1 - t)**2 * t * b + 3 * (1 - t) * t * t * c + t**3 * d)


@pytest.mark.parametrize(("head", "mm"), [
    ('width="100mm" height="50mm" viewBox="0 0 100 50"', 1), ('width="10cm" viewBox="0 0 1000 500"', 0.1),
    ('width="4in" height="100%" viewBox="-3,-5,101.6,20"', 1), ('height="72pt" viewBox="0 0 9 25.4"', 1),
    ('width="200mm" height="100mm" viewBox="0 0 100 100"', 1),
    ('width="200mm" height="100mm" viewBox="0 0 100 100" preserveAspectRatio="xMidYMid slice"', 2),
])
def test_the_scale_comes_from_width_and_viewbox(head: str, mm: float) -> None:
    found = outlines_from_svg(drawing('<rect width="10" height="10"/>', head)).outlines
    assert moments(found[0]) == pytest.approx((100 * mm**2, 5 * mm, -5 * mm), rel=1e-9)


@pytest.mark.parametrize("head", [
    "", 'width="100" height="100" viewBox="0 0 100 100"', 'viewBox="0 0 100 100"', 'width="100mm"',
    'width="100px" viewBox="0 0 1 1"', 'width="0mm" viewBox="0 0 1 1"', 'width="1mm" viewBox="0 0 0 0"',
    'width="1mm" viewBox="0 0 nan nan"', 'width="1e999mm" viewBox="0 0 1 1"',
])
def test_the_scale_is_asked_for_where_the_file_does_not_say(head: str) -> None:
    data = drawing('<rect width="10" height="10"/>', head)
    with pytest.raises(ScaleUnknownError, match="--mm-per-unit"):
        outlines_from_svg(data)
    assert moments(outlines_from_svg(data, mm_per_unit=0.5).outlines[0])[0] == pytest.approx(25)


def test_what_is_left_out_or_guessed_is_said() -> None:
    inside = (
        '<defs><rect width="9" height="9"/></defs><g style="display: none"><rect width="9" height="9"/></g>'
        '<path id="Ring 1" d="M0 0H30V30H0zM10 10V20H20V10z"/><use href="#x"/><path d="M0 0L5 5"/>'
        '<path d="M0 0H5V5"/>'
    )
    found = outlines_from_svg(drawing(inside))
    assert [(o.id, o.label) for o in found.outlines] == [
        ("ring-1", "Ring 1"), ("ring-1-2", "Ring 1"), ("other", "")
    ]
    said = " ".join(found.notes)
    for words in (
        "has 2 parts", 'use (element 7) was left out: it copies "#x", which the file does not hold',
        "1 open path was", "1 path was left out", "1 shape was left out, not being displayed there",
    ):
        assert words in said
    with pytest.raises(ExchangeError, match="no closed outline"):
        outlines_from_svg(drawing(""))


def test_many_remarks_are_cut_short() -> None:
    found = outlines_from_svg(drawing('<rect width="9" height="9"/>' + '<use href="#x"/>' * 500))
    assert len(found.notes) < 12 and "492 more" in found.notes[-1]


def test_a_kind_given_counts_for_all() -> None:
    fin = Outline("disc", "wheel", (Node(0, 0), Node(9, 0), Node(9, 9)), count=2)
    group = '<g data-id="disc" data-kind="wheel" data-count="2"><path d="M0 0H9V9z"/></g>'
    assert outlines_from_svg(drawing(group)).outlines[0].kind == fin.kind
    found = outlines_from_svg(drawing(group), kind="float").outlines[0]
    assert (found.kind, found.count, found.standing) == ("float", 2, "clear")


LAUGHS = (
    '<!DOCTYPE svg [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;">]>'
    '<svg xmlns="http://www.w3.org/2000/svg"><title>&b;</title></svg>'
)
OUTSIDE = '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/hostname">]><svg><title>&x;</title></svg>'


@pytest.mark.parametrize(("data", "words"), [
    (LAUGHS.encode(), "document type"), (OUTSIDE.encode(), "document type"),
    (LAUGHS.encode("utf-16"), "document type"),
    (drawing("<title>&b;</title>"), "undefined entity"),
    (b" " * 20_000_001, "more than 20"),
    (drawing("<g>" * 5000 + "</g>" * 5000), "nested more than 200 deep"),
    (drawing('<path id="p" d="M0 0L NaN 4z"/>'),
     'path "p": d: expected a number at character 7, found "NaN 4z"'),
    (drawing('<path d="M0 0L 1e999 4 5 5z"/>'), "expected a number within"),
    (drawing('<path d="M0 0L 9e9 4 5 5z"/>'), "out of reach"),
    (drawing('<path d="L0 0 5 5"/>'), "a move, first"), (drawing('<path d="M0 0 A1 1 0 2 0 5 5"/>'), "flag"),
    (drawing('<path d="M0 0 L1"/>'), "expected a number"), (drawing('<path d="M0 0 X1"/>'), "a path command"),
    (drawing('<rect width="NaN" height="4"/>'), "expected a length"),
    (drawing('<rect transform="scale(" width="1" height="4"/>'), "transform"),
    (drawing('<rect transform="scale(1 2 3)" width="1" height="4"/>'), "scale with 3 numbers"),
    (drawing('<g transform="scale(1e9)">' * 60 + '<rect width="1" height="4"/>' + "</g>" * 60), "finite"),
    (drawing('<path d="M0 0' + "h1v1" * 150_000 + '"/>'), "more than 200000 edges"),
    (drawing('<path d="M0 0h9v9z"/>' * 2001), "more than 2000 outlines"),
    (drawing('<path d="' + "M0 0h9v9z" * 60_000 + '"/>'), "more than 2000 outlines"),
    (b"<svg", "not a whole SVG"), (b"", "not a whole SVG"), (b"\x1f\x8b\x08\x00", "not a whole SVG"),
    (b"<html></html>", "begins with <svg>"), (b'<?xml version="1.0" encoding="klingon"?><svg/>', "encoding"),
])
def test_a_hostile_file_is_one_sentence(data: bytes, words: str) -> None:
    with pytest.raises(ExchangeError) as caught:
        outlines_from_svg(data)
    assert words in str(caught.value) and "\n" not in str(caught.value) and len(str(caught.value)) < 300


@settings(max_examples=200)
@given(st.text(alphabet="MmLlHhVvCcSsQqTtAaZz0123456789.-+eE, NaN\n", max_size=60))
def test_any_path_data_is_read_or_refused(d: str) -> None:
    try:
        outlines_from_svg(drawing(f'<path d="{d}"/>'))
    except ExchangeError as error:
        assert str(error)
