"""Area and centroid by the moments of a picture.

Source: M.-K. Hu, Visual pattern recognition by moment invariants, IRE Transactions on Information
Theory 8, 1962 (from memory): m00 = Σ I, centroid (m10/m00, m01/m00) over the pixels of a picture I.
The picture is drawn by Pillow's polygon filler, a general-purpose rasteriser that shares nothing
with the core; the curves are sampled here, not flattened by the core.
"""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image, ImageDraw

from core.design import Design, Node, Outline
from core.stability.side_area import SideAreaCounter

PER_MM = 16
"""Pixels to the millimetre."""

# A fuselage in six curves, a swept fin and a blob with a hollow side: (nodes, name).
FIGURES = {
    "fuselage": (
        Node(20, 60, (0, -14), (0, 12)),
        Node(70, 96, (-28, -2), (20, 2)),
        Node(150, 108, (-30, 6), (26, -5)),
        Node(300, 72, (-60, 8), None),
        Node(300, 56, None, (-60, -4)),
        Node(110, 30, (50, -2), (-40, 2)),
    ),
    "fin": (Node(30, 20), Node(60, 130, (-8, -30), (4, 12)), Node(105, 130, (-12, 10), None), Node(140, 20)),
    "hollow": (
        Node(40, 40, (-30, 40), (40, -30)),
        Node(190, 50, (-60, 70), (10, 60)),
        Node(150, 140, (60, 20), (-50, -25)),
    ),
}


def sampled(nodes: tuple[Node, ...], steps: int = 200) -> np.ndarray:
    found = []
    for here, there in zip(nodes, (*nodes[1:], nodes[0]), strict=True):
        p0, p3 = np.array((here.x, here.z)), np.array((there.x, there.z))
        p1, p2 = p0 + (here.handle_out or (0, 0)), p3 + (there.handle_in or (0, 0))
        t = (np.arange(steps) / steps)[:, None]
        found.append((1 - t) ** 3 * p0 + 3 * t * (1 - t) ** 2 * p1 + 3 * t * t * (1 - t) * p2 + t**3 * p3)
    return np.concatenate(found)


def pictured(corners: np.ndarray) -> tuple[float, float, float]:
    """(m00, m10, m01) of the filled figure, in mm², mm³, mm³."""
    picture = Image.new("L", (340 * PER_MM, 180 * PER_MM))
    # Pillow's coordinates run along the pixels' corners: the centre of the first is (½, ½).
    ImageDraw.Draw(picture).polygon([tuple(p) for p in (corners * PER_MM).tolist()], fill=1)
    ink = np.asarray(picture)
    x, z = ((np.arange(n) + 0.5) / PER_MM for n in (ink.shape[1], ink.shape[0]))
    columns, rows = ink.sum(axis=0, dtype=np.int64), ink.sum(axis=1, dtype=np.int64)
    cell = 1 / PER_MM**2
    return float(rows.sum()) * cell, float(columns @ x) * cell, float(rows @ z) * cell


@pytest.mark.parametrize("name", FIGURES)
def test_a_figure_against_its_picture(name: str) -> None:
    nodes = FIGURES[name]
    corners = sampled(nodes)
    m00, m10, m01 = pictured(corners)
    side = SideAreaCounter().count(Design(1, "t", outlines=(Outline("o", "other", nodes),)))
    assert side.cla is not None
    # Pillow also inks pixels that the edge only touches: half a pixel all round at most, never less
    # than the figure. That rim is 0.13 to 0.15 % of these figures.
    run = float(np.hypot(*(np.roll(corners, -1, axis=0) - corners).T).sum())
    assert side.moments.area <= m00 <= side.moments.area + 0.5 / PER_MM * run
    assert run * 0.5 / PER_MM < 2e-3 * m00
    # The rim is nearly even: it moves the centroid by less than its own width of half a pixel.
    assert side.cla == pytest.approx((m10 / m00, m01 / m00), abs=0.5 / PER_MM)
