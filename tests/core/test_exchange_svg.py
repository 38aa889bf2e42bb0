"""SVG written: read back by svgelements, a general-purpose library, at its true size."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from green import exact_moments
from svgelements import SVG, Close, CubicBezier, Line, Move  # type: ignore[import-untyped]
from svgelements import Path as SvgPath

from core.design import Design, Node, Outline, Scan
from core.design_file import read
from core.exchange.faults import ExchangeError
from core.exchange.svg import svg_bytes
from core.geometry.ring import ring_of

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = sorted((ROOT / "sample_designs").glob("*.sternpost"))
K = 4 / 3 * (2**0.5 - 1)
MM_PER_PX = 25.4 / 96  # CSS Values and Units 3, section 6.2

# Two half turns of radius 50 by one cubic a quarter, at (300, 20); and a plain fin.
DISC = Outline("disc", "wheel", tuple(
    Node(300 + 50 * c, 20 + 50 * s, (50 * K * s, -50 * K * c), (-50 * K * s, 50 * K * c))
    for c, s in ((1, 0), (0, 1), (-1, 0), (0, -1))
), count=2, label="Wheel <left & right>")
FIN = Outline(
    "fin", "fin", (Node(760, 40), Node(800, 150, (-12, -30), (10, 4)), Node(850, 150), Node(850, 40))
)
PLAIN = Design(1, "Plain\x01 Plank", outlines=(DISC, FIN))


def paths_of(data: bytes, tmp_path: Path) -> list[SvgPath]:
    """What the library sees, in mm."""
    file = tmp_path / "read.svg"
    file.write_bytes(data)
    drawing = SVG.parse(str(file), ppi=96)
    found = [path for path in drawing.elements() if isinstance(path, SvgPath)]
    # abs() carries the scale into the points.
    return [abs(SvgPath(path) * f"scale({MM_PER_PX})") for path in found]


def polygon_area(path: SvgPath, steps: int = 400) -> float:
    """Shoelace over the library's own points, shape (M, 2)."""
    points = [
        np.array((piece.start, piece.end)) if isinstance(piece, (Line, Close))
        else np.asarray(piece.npoint(np.linspace(0, 1, steps)))
        for piece in path if not isinstance(piece, Move)
    ]
    x, y = np.concatenate(points).T
    return float(abs(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))) / 2)


@pytest.mark.parametrize("design", [PLAIN, *(read(path).design for path in SAMPLES)], ids=lambda d: d.title)
def test_a_general_library_finds_the_areas(design: Design, tmp_path: Path) -> None:
    paths = paths_of(svg_bytes(design), tmp_path)
    assert len(paths) == len(design.outlines)
    for path, outline in zip(paths, design.outlines, strict=True):
        wanted = abs(exact_moments(ring_of(outline.nodes))[0])
        assert polygon_area(path) == pytest.approx(wanted, rel=1e-4), outline.id


def test_curves_stay_curves_and_straight_edges_straight(tmp_path: Path) -> None:
    disc, fin = paths_of(svg_bytes(PLAIN), tmp_path)
    assert [type(piece) for piece in disc] == [Move, *[CubicBezier] * 4, Close]
    assert [type(piece) for piece in fin] == [Move, CubicBezier, CubicBezier, Line, Close]


def test_it_opens_at_full_size_with_the_fin_on_top(tmp_path: Path) -> None:
    root = ElementTree.fromstring(svg_bytes(PLAIN))
    left, top, wide, high = map(float, root.attrib["viewBox"].split())
    assert (root.attrib["width"], root.attrib["height"]) == (f"{wide:g}mm", f"{high:g}mm")
    assert "transform" not in ElementTree.tostring(root, encoding="unicode")
    disc, fin = paths_of(svg_bytes(PLAIN), tmp_path)
    x0, y0, x1, y1 = disc.bbox()
    # A picture's origin is the corner of its viewBox; the library moves it there by six figures.
    assert (x1 - x0, y1 - y0) == pytest.approx((100, 100), rel=1e-6)
    assert (x0 + left, y0 + top) == pytest.approx((250, -70), abs=1e-3)
    assert fin.bbox()[1] < y0
    for path in (disc, fin):
        a, b, c, d = path.bbox()
        assert 0 < a < c < wide and 0 < b < d < high


def test_each_outline_has_a_group_that_names_it() -> None:
    space = "{http://www.w3.org/2000/svg}"
    root = ElementTree.fromstring(svg_bytes(PLAIN))
    groups = root.findall(f"{space}g")
    assert [g.attrib["data-id"] for g in groups] == ["disc", "fin"]
    assert [g.attrib["data-kind"] for g in groups] == ["wheel", "fin"]
    assert [g.attrib["data-count"] for g in groups] == ["2", "1"]
    assert [g.findtext(f"{space}title") for g in groups] == ["Wheel <left & right>", "fin"]
    assert root.findtext(f"{space}title") == "Plain Plank"


def test_no_outlines_or_no_scale_is_one_sentence() -> None:
    with pytest.raises(ExchangeError, match="trace an outline"):
        svg_bytes(Design(1, "Bare"))
    with pytest.raises(ExchangeError, match="set the scale of the scan"):
        svg_bytes(Design(1, "Loose", outlines=(FIN,), scans=(Scan("plan", "plan.png", scale_from="none"),)))
