from __future__ import annotations

import re
from xml.etree import ElementTree

import numpy as np
import shapely
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QPointF
from PySide6.QtGui import QPainterPath, QPolygonF
from test_bench_sheet import PLANK

from app.paper.hatching import hatch_lines
from app.paper.profile_picture import svg_picture
from core.stability.readings import read_twice

SVG = "{http://www.w3.org/2000/svg}"
UNITS_PER_MM = 8


def numbers(text: str | None) -> list[float]:
    return [float(n) for n in re.findall(r"-?[\d.]+(?:e-?\d+)?", text or "")]


def test_hatches_end_at_their_outlines_in_svg_without_any_clip() -> None:
    """Programs that know no clip, and those that cut by it, have the same hatch."""
    root = ElementTree.fromstring(svg_picture(PLANK, read_twice(PLANK)))
    forms, ends = [], []
    for group in root.iter(f"{SVG}g"):
        scale = next(iter(numbers((group.get("transform") or "").removeprefix("matrix"))), 1.0)
        hatch = group.get("stroke-width") == "0.09"
        for drawn in group:
            if hatch:
                points = numbers(drawn.get("points") or drawn.get("d"))
                ends.append(np.array(points).reshape(-1, 2) * scale)
            elif drawn.tag == f"{SVG}path":
                forms.append(shapely.LineString(np.array(numbers(drawn.get("d"))).reshape(-1, 2) * scale))
    assert len(ends) > 50, "wheels, wing, tailplane, the sample of the legend"
    every = shapely.union_all(forms)
    for a, b in ends:
        for end in (a, b):
            # A twentieth of a millimetre: figures in the file are rounded.
            assert every.distance(shapely.Point(end)) < UNITS_PER_MM / 20
        assert abs(abs(b[0] - a[0]) - abs(b[1] - a[1])) < 0.1, "at 45 degrees"


@given(
    st.lists(st.tuples(st.integers(-50, 50), st.integers(-50, 50)), min_size=3, max_size=8, unique=True),
    st.floats(0.7, 9), st.booleans(),
)
def test_a_hatch_is_what_a_polygon_leaves_of_long_lines(
    corners: list[tuple[int, int]], step: float, rising: bool
) -> None:
    """By shapely: the star round the corners' middle, with a hole."""
    middle = np.mean(corners, axis=0)
    turned = sorted(corners, key=lambda c: float(np.arctan2(*(np.array(c) - middle))))
    form = shapely.Polygon(turned).buffer(0)
    hole = shapely.Point(middle).buffer(3.3)
    path = QPainterPath()
    region = form - hole
    for part in shapely.get_parts(region):
        if part.geom_type == "Polygon":
            for ring in (part.exterior, *part.interiors):
                path.addPolygon(QPolygonF([QPointF(x, y) for x, y in ring.coords]))
                path.closeSubpath()
    made = hatch_lines(path, step, rising=rising)
    turn = 1 if rising else -1
    wanted = 0.0
    for k in range(int(-200 / step), int(200 / step) + 1):
        wanted += region.intersection(shapely.LineString(
            [(-300, turn * (k * step + 300)), (300, turn * (k * step - 300))]
        )).length
    # A line that runs along an edge may be counted or not.
    along = max((shapely.LineString(p).length for p in zip(turned, [*turned[1:], turned[0]], strict=True)
                 if abs(abs(p[0][0] - p[1][0]) - abs(p[0][1] - p[1][1])) < 1e-9), default=0.0)
    assert abs(sum(line.length() for line in made) - wanted) <= 1e-6 * (1 + wanted) + 4 * along
