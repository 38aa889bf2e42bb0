"""A loose line pulled on to the ink of one sheet, of two joined ones, and of none."""

from __future__ import annotations

import math

import numpy as np
import pytest
from PIL import Image, ImageDraw
from PySide6.QtGui import QImage

from app.canvas.ink_fit import Ground
from app.canvas.ink_pull import fit_round, pull_round
from app.canvas.tools.inking import Rounded
from app.scans.levels import pyramid
from app.scans.picture import Picture
from core.design import Matrix, Node, Scan
from core.geometry.ring import flatten, ring_of
from core.ink.pulling import Pull
from core.redesign.refit import CancelledError

PX, FINE = 6.0, 3
"""Pixels to the mm, and how much finer it is drawn."""
X, Z, A, B = 80.0, 50.0, 62.0, 30.0
SHEET = (160.0, 100.0)


class Asker:
    def __init__(self, patience: int = 10**9) -> None:
        self.left = patience

    def gone(self) -> bool:
        self.left -= 1
        return self.left < 0


def ellipse(by: float = 0.0, count: int = 300) -> list[tuple[float, float]]:
    turns = np.linspace(0.0, 2 * math.pi, count, endpoint=False)
    return [(X + (A + by) * math.cos(t), Z + (B + by) * math.sin(t)) for t in turns]


def loose() -> list[tuple[float, float]]:
    return [
        (x + 2.0 * math.sin(0.11 * i), z + 2.0 * math.cos(0.17 * i))
        for i, (x, z) in enumerate(ellipse(count=150))
    ]


def sheet(left: float, right: float, turn: float, dark: int = 40) -> tuple[Scan, Picture]:
    """The part of the drawing between two x (mm) on paper of its own that lies ``turn`` degrees askew."""
    k = PX * FINE
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    pen_image = Image.new("L", (round((right - left) * k), round(SHEET[1] * k)), 238 - dark // 4)
    pen = ImageDraw.Draw(pen_image)
    # mm to pixels of the fine picture: turned about the middle of the sheet.
    mid = np.array(((left + right) / 2, SHEET[1] / 2))

    def spot(at: tuple[float, float]) -> tuple[float, float]:
        x, z = np.array(at) - mid
        u, v = c * x - s * z, -(s * x + c * z)
        return float((u + (right - left) / 2) * k), float((v + SHEET[1] / 2) * k)

    places = [spot(at) for at in ellipse(count=600)]
    pen.line([*places, *places[:2]], fill=dark, width=round(0.5 * k), joint="curve")
    wide, high = pen_image.width // FINE, pen_image.height // FINE
    grey = np.asarray(pen_image.resize((wide, high), Image.Resampling.BOX))
    image = QImage(grey.tobytes(), wide, high, wide, QImage.Format.Format_Grayscale8)
    # Back again: u = k/FINE (c x' - s z' + half width), so x' = c u' - s v' and z' = -s u' - c v'.
    u0, v0 = (right - left) / 2 * PX, SHEET[1] / 2 * PX
    rows = np.array(((c, -s), (-s, -c))) / PX
    shift = mid - rows @ (u0, v0)
    to_mm: Matrix = (
        (float(rows[0, 0]), float(rows[0, 1]), float(shift[0])),
        (float(rows[1, 0]), float(rows[1, 1]), float(shift[1])), (0.0, 0.0, 1.0),
    )
    return Scan(f"s{left:.0f}", "s.png", to_mm=to_mm), Picture(pyramid(image.copy()), wide, high)


def ground(*sheets: tuple[Scan, Picture]) -> Ground:
    pictures = {id(scan): picture for scan, picture in sheets}
    return Ground(tuple(scan for scan, _ in sheets), lambda scan: pictures.get(id(scan)))


def worst(found: Rounded | str) -> float:
    """The furthest of the fitted line from the true ellipse, in mm, by dense points of both."""
    assert isinstance(found, Rounded), found
    made, true = flatten(ring_of(found.nodes)), np.array(ellipse(count=4000))
    dense = np.vstack([
        a + (b - a) * np.linspace(0, 1, 9)[:, None]
        for a, b in zip(made, np.roll(made, -1, axis=0), strict=True)
    ])
    return max(
        float(np.hypot(*(dense[:, None] - true[None, ::10]).transpose(2, 0, 1)).min(axis=1).max()),
        float(np.hypot(*(true[::20, None] - dense[None]).transpose(2, 0, 1)).min(axis=1).max()),
    )


def test_a_loose_line_comes_to_lie_on_the_ink_of_one_sheet() -> None:
    found = pull_round(ground(sheet(0, 160, 0.0)), (), loose(), Asker())
    assert worst(found) < 0.6 and isinstance(found, Rounded) and len(found.nodes) <= 12


@pytest.mark.parametrize("turns", [(0.0, 0.0), (2.5, -1.5)])
def test_over_two_joined_sheets_it_is_one_line(turns: tuple[float, float]) -> None:
    parts = sheet(-10, 88, turns[0]), sheet(72, 170, turns[1], dark=70)
    found = pull_round(ground(*parts), (), loose(), Asker())
    assert worst(found) < 0.6
    assert isinstance(pull_round(ground(parts[0]), (), loose()[:70], Asker()), Rounded), "one alone"


def test_the_pen_may_stray_over_the_edge_of_the_paper_and_no_paper_is_said() -> None:
    strayed = [(147.5 if x > X + A - 0.5 else x, z) for x, z in loose()]
    assert strayed[0][0] > 146.0
    assert worst(pull_round(ground(sheet(0, 146, 0.0)), (), strayed, Asker())) < 0.6
    assert pull_round(ground(), (), loose(), Asker()) == "no scan that is shown lies here"
    far = [(x + 1000.0, z) for x, z in loose()]
    assert isinstance(pull_round(ground(sheet(0, 160, 0.0)), (), far, Asker()), str)


@pytest.mark.parametrize("sheets", [1, 2])
@pytest.mark.parametrize("patience", [0, 1, 3])
def test_it_ends_soon_when_nobody_waits(patience: int, sheets: int) -> None:
    parts = (sheet(0, 160, 0.0),) if sheets == 1 else (sheet(-10, 88, 0.0), sheet(72, 170, 0.0))
    with pytest.raises(CancelledError):
        pull_round(ground(*parts), (), loose(), Asker(patience))


def test_a_scan_that_has_come_only_coarsely_is_not_said_to_have_no_line() -> None:
    scan, picture = sheet(0, 160, 0.0)
    grey = np.full((picture.height // 8, picture.width // 8), 230, np.uint8)
    high, wide = grey.shape
    image = QImage(grey.tobytes(), wide, high, wide, QImage.Format.Format_Grayscale8)
    coarse = Picture(pyramid(image.copy()), picture.width, picture.height, shrunk=8)
    impatient = Ground((scan,), lambda _: coarse, 0.0)
    found = pull_round(impatient, (), loose(), Asker())
    assert isinstance(found, str) and "only coarsely as yet" in found
    seen: list[Picture] = []

    def coming(_: Scan) -> Picture:
        seen.append(coarse if len(seen) < 4 else picture)
        return seen[-1]

    assert worst(pull_round(Ground((scan,), coming, 60.0), (), loose(), Asker())) < 0.6, "it is waited for"
    with pytest.raises(CancelledError):
        pull_round(Ground((scan,), lambda _: coarse, 60.0), (), loose(), Asker(2))


def test_a_line_of_two_points_is_too_short_to_be_an_outline() -> None:
    assert fit_round((), Pull(np.zeros((2, 2)), (), ()), Asker()) == "the line is too short"
    made = fit_round((), Pull(np.array(ellipse()), (), ()), Asker())
    assert isinstance(made, Rounded) and all(isinstance(n, Node) for n in made.nodes)
