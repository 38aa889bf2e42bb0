"""The one drawing of firmness in yaw: where its marks stand, and that no words of it cover others."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from numpy.typing import NDArray
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtWidgets import QApplication
from test_arm_scale import INKS, Written

from app.kit.firmness_scale import FIELD, FirmnessScale, draw_firmness, ends_of, tall
from app.kit.inks import mixed
from app.kit.theme import DAY, NIGHT, Theme
from core.stability.firmness import Firmness

USUAL = Firmness(0.031, 0.062, 0.094, 0.066, 0.058)


def scale_for(found: Firmness, wide: float, unit: float = 1.0, air: float = 0.01) -> FirmnessScale:
    return FirmnessScale(0.0, wide * unit, 0.0, 8.0 * unit, ends_of(found, air), unit)


def drawn(found: Firmness, wide: float, unit: float = 1.0) -> dict[str, QRectF]:
    image = QImage(8, 8, QImage.Format.Format_RGB32)
    painter, script = QPainter(image), Written(unit)
    draw_firmness(painter, scale_for(found, wide, unit), found, INKS, script)
    painter.end()
    return script.boxes


@pytest.mark.parametrize("unit", [1.0, 0.155], ids=["screen", "paper"])
@pytest.mark.parametrize("wide", [190.0, 290.0, 640.0])
def test_no_words_cover_others(qapp: QApplication, wide: float, unit: float) -> None:
    for best in np.linspace(-0.7, 0.9, 33).tolist():
        for apart in (0.0, 0.0004, 0.01, 0.12):
            for charts, lattice in ((best - apart, best + apart), (best + apart, best - apart), (best, None)):
                found = Firmness(best - apart - 0.01, best, best + apart + 0.01, charts, lattice)
                boxes = drawn(found, wide, unit)
                assert {"swaps ends", "usual 0.03–0.15", "charts", "0"} <= set(boxes)
                assert ("lattice" in boxes) == (lattice is not None)
                for box in boxes.values():
                    assert box.left() >= -1e-9 and box.right() <= wide * unit + 1e-9
                for one, other in combinations(boxes, 2):
                    assert not boxes[one].intersects(boxes[other]), (one, other, found)


def test_all_of_it_is_in_sight_and_it_seldom_jumps() -> None:
    assert ends_of(USUAL) == (-0.05, 0.20)
    for best in np.linspace(-2.0, 2.0, 81).tolist():
        found = Firmness(best - 0.03, best, best + 0.04, best + 0.02, best - 0.01)
        low, high = ends_of(found)
        assert low <= best - 0.04 + 1e-12 and high >= best + 0.05 - 1e-12
        assert low <= -0.05 and high >= 0.20
        assert low / 0.05 == pytest.approx(round(low / 0.05)), "in whole steps"


def test_its_height_is_what_it_takes(qapp: QApplication) -> None:
    script = Written()
    foot = max(box.bottom() for box in drawn(USUAL, 290.0).values())
    assert foot <= tall(script) <= foot + 6.0


def _picture(found: Firmness, theme: Theme, *, before: Firmness | None = None) -> NDArray[np.uint8]:
    image = QImage(290, 80, QImage.Format.Format_RGB32)
    image.fill(QColor(theme.panel))
    painter = QPainter(image)
    draw_firmness(painter, scale_for(found, 290.0), found, theme, Written(), before=before)
    painter.end()
    raw = np.frombuffer(image.constBits(), np.uint8).reshape(80, 290, 4)
    return raw[:, :, 2::-1].copy()


def _is(pixels: NDArray[np.uint8], colour: QColor) -> NDArray[np.bool_]:
    rgb = np.array([colour.red(), colour.green(), colour.blue()])
    return np.asarray(np.abs(pixels.astype(int) - rgb).max(axis=-1) <= 2)


@pytest.mark.parametrize("theme", [DAY, NIGHT], ids=["day", "night"])
def test_marks_stand_at_their_values(qapp: QApplication, theme: Theme) -> None:
    """By the pixels: lane, band, disc and stems, each where its figure belongs on the axis."""
    pixels, scale = _picture(USUAL, theme), scale_for(USUAL, 290.0)
    # 260 units of axis for 0.25: a hundredth is 10.4 pixels, nought 52 behind the axis' beginning at 15.
    at = {value: 15.0 + (value + 0.05) * 1040.0 for value in (0.0, 0.03, 0.15, 0.031, 0.062, 0.094)}
    for value, x in at.items():
        assert scale.x(value) == pytest.approx(x)
    middle = round(scale.field.center().y())
    lane = np.nonzero(_is(pixels[round(scale.field.top()) + 2], mixed(theme.aim, theme.paper, 0.55)))[0]
    assert abs(lane.min() - at[0.03]) <= 1.5 and abs(lane.max() + 1 - at[0.15]) <= 1.5
    band = np.nonzero(_is(pixels[middle], mixed(theme.ink, theme.paper, 0.28)))[0]
    assert abs(band.min() - at[0.031]) <= 1.5 and abs(band.max() + 1 - at[0.094]) <= 1.5
    disc = np.nonzero(_is(pixels[middle], QColor(theme.ink)))[0]
    held = disc[abs(disc - at[0.062]) < 8]
    assert abs(held.mean() + 0.5 - at[0.062]) <= 1.0 and 8 <= len(held) <= 12
    stems = np.nonzero(_is(pixels[round(scale.field.top()) - 3], QColor(theme.ink)))[0]
    for value in (0.058, 0.066):
        assert abs(stems + 0.5 - scale.x(value)).min() <= 1.0


def test_where_it_swaps_ends_slanting_lines_run_and_nowhere_else(qapp: QApplication) -> None:
    pixels, scale = _picture(USUAL, DAY), scale_for(USUAL, 290.0)
    rows = pixels[round(scale.field.top()) + 2 : round(scale.field.bottom()) - 2]
    ground = QColor(DAY.panel)
    left = rows[:, round(scale.x(-0.05)) + 1 : round(scale.x(0.0)) - 2]
    right = rows[:, round(scale.x(0.0)) + 3 : round(scale.x(0.03)) - 2]
    assert (~_is(left, ground)).any(axis=1).all() and (~_is(left, ground)).any(axis=0).all()
    assert _is(right, ground).all()


def test_where_it_was_is_left_as_a_dotted_line(qapp: QApplication) -> None:
    was = Firmness(0.0, 0.13, 0.14)
    with_it, without = _picture(USUAL, DAY, before=was), _picture(USUAL, DAY)
    changed = np.nonzero((with_it != without).any(axis=(0, 2)))[0]
    assert abs(changed + 0.5 - scale_for(USUAL, 290.0).x(0.13)).max() <= 2.0
    assert (_picture(USUAL, DAY, before=Firmness(0.4, 0.5, 0.6)) == without).all(), "out of sight"


def test_the_field_is_as_high_as_it_says() -> None:
    assert scale_for(USUAL, 290.0).field.height() == FIELD


def _light(colour: str) -> float:
    """Relative luminance (WCAG 2.2, exact)."""
    parts = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
             for c in (QColor(colour).redF(), QColor(colour).greenF(), QColor(colour).blueF())]
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]


@pytest.mark.parametrize("theme", [DAY, NIGHT], ids=["day", "night"])
def test_words_stand_out_from_their_ground(theme: Theme) -> None:
    """Contrast of 4.5:1 at least (WCAG 2.2, 1.4.3) for all that is written on the panel."""
    for ink in (theme.ink, theme.ink_soft):
        one, other = sorted((_light(ink), _light(theme.panel)))
        assert (other + 0.05) / (one + 0.05) >= 4.5, ink
