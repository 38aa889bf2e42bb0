"""The kept paper: a pan draws what it uncovers, overlapping sheets show the ink of both."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from PySide6.QtCore import QRect
from PySide6.QtGui import QImage, QPixmap
from PySide6.QtWidgets import QApplication

from app.canvas import paper as paper_module
from app.canvas.paper import Paper, Sheet
from app.canvas.view import View
from app.kit.theme import DAY, NIGHT, Theme
from app.scans.levels import blank, colour_pixels, grey_pixels, pyramid
from app.scans.picture import Picture
from core.design import Matrix, Scan

WIDE, HIGH = 300, 200


class Held:
    """Pictures by scan id, and how they were looked at."""

    def __init__(self, **pictures: Picture) -> None:
        self.pictures = pictures
        self.looks: list[tuple[str, float]] = []

    def picture_of(self, scan: Scan) -> Picture | None:
        return self.pictures.get(scan.id)

    def looked_at(self, scan: Scan, source_per_device: float) -> None:
        self.looks.append((scan.id, source_per_device))


def picture(values: np.ndarray) -> Picture:
    level = blank(values.shape[1], values.shape[0], colour=False)
    grey_pixels(level)[:] = values
    return Picture(pyramid(level), values.shape[1], values.shape[0])


def noisy() -> Picture:
    values = np.random.default_rng(1).integers(150, 256, (900, 1400), dtype=np.uint8)
    values[::40] = 20
    return picture(values)


def seen(pixmap: QPixmap) -> np.ndarray:
    image = pixmap.toImage().convertToFormat(QImage.Format.Format_RGB32)
    words = colour_pixels(image).copy()
    return np.stack([(words >> shift) & 255 for shift in (16, 8, 0)], axis=-1).astype(int)


def turned(degrees: float) -> Matrix:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return ((c, s, -300.0), (s, -c, 200.0), (0.0, 0.0, 1.0))


MATRICES = {"upright": turned(0), "a little": turned(3), "a quarter": turned(90), "around": turned(180)}


@pytest.mark.parametrize("theme", [DAY, NIGHT], ids=["day", "night"])
@pytest.mark.parametrize("ratio", [1.0, 2.0])
@pytest.mark.parametrize("name", MATRICES)
def test_panned_bit_by_bit_is_drawn_at_once(
    qapp: QApplication, monkeypatch: pytest.MonkeyPatch, theme: Theme, ratio: float, name: str
) -> None:
    drawn: list[int] = []
    draw = paper_module._draw

    def draw_and_count(pixmap: QPixmap, part: QRect, *rest: Any) -> None:
        drawn.append(part.width() * part.height())
        draw(pixmap, part, *rest)

    monkeypatch.setattr(paper_module, "_draw", draw_and_count)
    scan = Scan(id="one", file="one.png", to_mm=MATRICES[name], opacity=0.7)
    held, kept = Held(one=noisy()), Paper()
    view = View(0.8, -150.0, 90.0)
    kept.drawn((scan,), held, Sheet(view, WIDE, HIGH, ratio, theme.dark), theme)
    for step in ((7, 0), (0, -11), (-20, 5), (3, 60), (-90, -4)):
        view = view.panned(*step)
        panned = kept.drawn((scan,), held, Sheet(view, WIDE, HIGH, ratio, theme.dark), theme)
    assert sum(drawn[1:]) < 1.3 * drawn[0] == 1.3 * WIDE * HIGH * ratio**2
    anew = Paper().drawn((scan,), held, Sheet(view, WIDE, HIGH, ratio, theme.dark), theme)
    difference = np.abs(seen(panned) - seen(anew))
    # Where a part is cut, Qt's fixed point rounds the odd pixel the other way.
    assert difference.mean() < 0.3 and (difference > 12).mean() < 0.002


@pytest.mark.parametrize(
    "view", [View(0.8, -150.3, 90.0), View(0.81, -150.0, 90.0), View(0.8, -1500.0, 90.0)],
    ids=["half a pixel", "zoomed", "far away"],
)
def test_what_is_not_pushed_by_whole_pixels_is_drawn_anew(qapp: QApplication, view: View) -> None:
    scan = Scan(id="one", file="one.png", to_mm=turned(3))
    held, kept = Held(one=noisy()), Paper()
    kept.drawn((scan,), held, Sheet(View(0.8, -150.0, 90.0), WIDE, HIGH, 1.0, False), DAY)
    found = seen(kept.drawn((scan,), held, Sheet(view, WIDE, HIGH, 1.0, False), DAY))
    expected = seen(Paper().drawn((scan,), held, Sheet(view, WIDE, HIGH, 1.0, False), DAY))
    np.testing.assert_array_equal(found, expected)


def test_nothing_new_is_nothing_drawn_and_a_new_picture_is_drawn(qapp: QApplication) -> None:
    scan = Scan(id="one", file="one.png", to_mm=turned(0), opacity=1.0)
    held, kept = Held(one=noisy()), Paper()
    sheet = Sheet(View(1.0, -300.0, 200.0), WIDE, HIGH, 1.0, False)
    first = kept.drawn((scan,), held, sheet, DAY)
    [(name, source_per_device)] = held.looks
    assert name == "one" and source_per_device == pytest.approx(1.0)
    assert kept.drawn((scan,), held, sheet, DAY).cacheKey() == first.cacheKey() and len(held.looks) == 1
    held.pictures["one"] = picture(np.full((900, 1400), 77, np.uint8))
    assert (seen(kept.drawn((scan,), held, sheet, DAY)) == 77).all()
    away = Sheet(View(1.0, 5000.0, 200.0), WIDE, HIGH, 1.0, False)
    kept.drawn((scan,), held, away, DAY)
    assert held.looks[-1] == ("one", math.inf)


# Sheets over one another: 100 x 100 mm at 1 pixel a mm, the second 50 mm further aft


def overlapping(theme: Theme, opacity: float = 1.0, *, lower_hidden: bool = False) -> np.ndarray:
    values = np.full((100, 100), 240, np.uint8)
    values[20:30] = 30
    lower = picture(values)
    upper = picture(values.T.copy())
    scans = tuple(
        Scan(
            id=name, file=f"{name}.png", to_mm=((1.0, 0.0, left), (0.0, -1.0, 100.0), (0.0, 0.0, 1.0)),
            opacity=opacity, hidden=name == "lower" and lower_hidden,
        )
        for name, left in (("lower", 0.0), ("upper", 50.0))
    )
    sheet = Sheet(View(1.0, -10.0, 110.0), 180, 130, 1.0, theme.dark)
    return seen(Paper().drawn(scans, Held(lower=lower, upper=upper), sheet, theme))


def test_the_ink_of_both_sheets_shows_where_they_overlap(qapp: QApplication) -> None:
    found = overlapping(DAY)
    # (row, column): 10 px of margin; the lower line lies in rows 30 to 40, the upper in columns 80 to 90.
    assert (found[35, 40] == 30).all() and (found[100, 85] == 30).all()
    assert (found[35, 70] == 30).all(), "the lower sheet's ink, under the upper sheet's paper"
    assert (found[60, 85] == 30).all(), "the upper sheet's ink, over the lower sheet's paper"
    assert (found[60, 70] == 240).all(), "paper on paper is no darker than paper"
    assert (found[60, 130] == 240).all() and (found[60, 40] == 240).all()
    assert (found[35, 130] == 240).all(), "beyond the lower sheet there is none of its ink"


def test_by_night_it_is_the_negative_of_the_same(qapp: QApplication) -> None:
    by_day, by_night = overlapping(DAY), overlapping(NIGHT)
    inside = (slice(10, 110), slice(10, 160))
    np.testing.assert_array_equal(by_night[inside], 255 - by_day[inside])


def test_a_faded_sheet_fades_its_ink_and_a_single_sheet_is_not_blended(qapp: QApplication) -> None:
    found = overlapping(DAY, 0.5)
    ground = np.array([int(DAY.paper[i : i + 2], 16) for i in (1, 3, 5)])
    one = ground * 0.5 + 240 * 0.5
    np.testing.assert_allclose(found[60, 40], one, atol=2)
    np.testing.assert_allclose(found[35, 40], ground * 0.5 + 15, atol=2)
    # The upper sheet takes half of the way to its own ink from what the lower one left.
    np.testing.assert_allclose(found[60, 85], one * 0.5 + 15, atol=3)
    np.testing.assert_allclose(found[35, 70], found[35, 40], atol=2)
    alone = overlapping(DAY, 0.5, lower_hidden=True)
    np.testing.assert_allclose(alone[60, 70], one, atol=2)
