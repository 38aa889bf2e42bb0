"""Contrast of what is read, computed from pictures of the real window by day and by night.

Relative luminance and contrast ratio as in WCAG 2.2 (1.4.3: text 4.5 to 1; 1.4.11: marks 3 to 1),
the formulas read in the recommendation's definitions, written down here from memory.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from driving import Driver, bare_sample
from PySide6.QtCore import QPoint, QRect
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtWidgets import QCheckBox, QWidget

from app.canvas.layers import RULER_PX
from app.kit.theme import DAY, NIGHT, Theme, style_sheet

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")

TEXT, MARK = 4.5, 3.0
SHARP = 4


def luminance(rgb: np.ndarray) -> np.ndarray:
    """Relative luminance of (..., 3) sRGB values 0–255."""
    part = rgb / 255.0
    linear = np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4)
    return linear @ np.array((0.2126, 0.7152, 0.0722))


def ratio(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """Contrast between luminances."""
    return (np.maximum(one, other) + 0.05) / (np.minimum(one, other) + 0.05)


def pixels(widget: QWidget, part: QRect | None = None) -> np.ndarray:
    """(H, W, 3) of what the widget draws, four times as sharp, so that thin strokes show their colour."""
    part = part or widget.rect()
    image = QImage(SHARP * part.width(), SHARP * part.height(), QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(SHARP)
    image.fill(QColor("#000000"))
    painter = QPainter(image)
    widget.render(painter, QPoint(), part)
    painter.end()
    raw = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine() // 4, 4)
    return raw[:, : image.width(), 2::-1].astype(float)


def read(picture: np.ndarray) -> float:
    """Contrast between the commonest colour and the one in it that stands out most."""
    colours, counts = np.unique(picture.reshape(-1, 3), axis=0, return_counts=True)
    ground = luminance(colours[counts.argmax()])
    # A colour that hardly occurs is where strokes cross, not what they are drawn in.
    often = colours[counts >= 12]
    return float(ratio(luminance(often), ground).max())


@pytest.fixture(params=["day", "night"])
def lit(request: pytest.FixtureRequest, driver: Driver) -> Iterator[Driver]:
    driver.open_outlines(bare_sample())
    driver.window.set_theme(request.param)
    driver.settle()
    yield driver
    driver.window.set_theme("system")
    driver.settle()


def test_secondary_text_is_read(lit: Driver) -> None:
    window = lit.window
    soft = {
        "caution": window.readings._caution, "shares": window.outlines._shares, "scale": window.status._scale,
        "told first": window.readings.groups["yaw"]._under, "verdict": window.readings.groups["side"]._words,
    }
    for name, label in soft.items():
        assert label.text(), name
        assert read(pixels(label)) >= TEXT, name


def test_axis_figures_are_read(lit: Driver) -> None:
    canvas = lit.canvas
    ruler = QRect(0, canvas.height() - RULER_PX + 8, canvas.width(), RULER_PX - 8)
    assert read(pixels(canvas, ruler)) >= TEXT
    assert read(pixels(lit.window.arm_rule)) >= TEXT


def test_weights_and_datum_stand_out(lit: Driver) -> None:
    canvas = lit.canvas
    weight = min(lit.design.weights, key=lambda w: w.x)
    x, y = (round(v) for v in canvas.view.to_px(weight.x, weight.z))
    near = pixels(canvas, QRect(x - 14, y - 14, 28, 28))
    # The weight's body under its dot, against the wash of the fuselage that it lies on.
    mark = luminance(near[SHARP * 18, SHARP * 14])
    assert ratio(mark, np.median(luminance(near[:4]))) >= MARK
    # The datum's upright, high above the aeroplane.
    left = round(canvas.view.to_px(0.0, 0.0)[0])
    assert read(pixels(canvas, QRect(left - 6, 2, 12, 60))) >= MARK


@pytest.mark.parametrize("theme", [DAY, NIGHT])
def test_every_ink_reaches_its_contrast_on_every_ground(theme: Theme) -> None:
    def of(colour: str) -> np.ndarray:
        ink = QColor(colour)
        return luminance(np.array((ink.red(), ink.green(), ink.blue()), float))

    for ground in (theme.paper, theme.panel, theme.desk):
        for name in ("ink", "ink_soft", "pick", "cla", "fin", "within", "below", "above", "fault", "change"):
            assert ratio(of(getattr(theme, name)), of(ground)) >= TEXT, (name, ground)
    for ground in (theme.paper, theme.panel):
        for name in ("edge", "draft", "aim"):
            assert ratio(of(getattr(theme, name)), of(ground)) >= MARK, (name, ground)


@pytest.mark.parametrize("theme", [DAY, NIGHT])
def test_red_is_the_clas_alone(theme: Theme) -> None:
    reds = [
        name for name, colour in vars(theme).items()
        if isinstance(colour, str) and QColor(colour).hsvSaturationF() > 0.4
        and min(QColor(colour).hue(), 360 - QColor(colour).hue()) <= 25
    ]
    assert reds == ["cla"]


@pytest.mark.parametrize("theme", [DAY, NIGHT])
def test_a_ticked_box_has_a_drawn_tick(theme: Theme, driver: Driver) -> None:
    box = QCheckBox("Holes")
    driver.qtbot.addWidget(box)
    box.setStyleSheet(style_sheet(theme))
    box.show()
    bare = pixels(box, QRect(0, 0, 20, box.height()))
    box.setChecked(True)
    ticked = pixels(box, QRect(0, 0, 20, box.height()))
    fill, tick = (np.array(QColor(c).getRgb()[:3], float) for c in (theme.pick, theme.paper))
    middle = ticked[4 * SHARP : -4 * SHARP, 4 * SHARP : 10 * SHARP].reshape(-1, 3)
    to_fill, to_tick = (np.linalg.norm(middle - c, axis=1) for c in (fill, tick))
    assert 0.05 < np.mean(to_tick < to_fill) < 0.6 and np.mean(to_fill < 1.0) > 0.2
    assert not np.array_equal(bare, ticked)
