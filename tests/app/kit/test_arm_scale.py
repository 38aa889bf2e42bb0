"""The one drawing of the arm rule: what it says, and that no words of it cover others."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import QApplication

from app.kit.arm_scale import ArmScale, draw_arm_scale, draw_bar, tick_steps
from app.kit.inks import Inks
from app.kit.theme import DAY
from core.design import Aim

INKS = Inks(paper="#ffffff", ink="#000000", ink_soft="#000000", cla="#ff0000", fin="#00ff00", aim="#0000ff")


class Written:
    """Letters six units wide and eight high, bold ones eight wide; keeps what was written and where."""

    def __init__(self, unit: float = 1.0) -> None:
        self.unit = unit
        self.boxes: dict[str, QRectF] = {}

    def wide(self, words: str, *, bold: bool = False) -> float:
        return (8.0 if bold else 6.0) * len(words) * self.unit

    def high(self) -> float:
        return 8.0 * self.unit

    def write(self, x: float, y: float, words: str, colour: str, *, bold: bool = False) -> None:
        high = self.high()
        self.boxes[words] = QRectF(x, y - high, self.wide(words, bold=bold), high)


def drawn(scale: ArmScale, aim: Aim, fraction: float | None, yaw: float | None) -> dict[str, QRectF]:
    image = QImage(8, 8, QImage.Format.Format_RGB32)
    painter, script = QPainter(image), Written(scale.unit)
    draw_arm_scale(painter, scale, aim, fraction, yaw, INKS, script)
    painter.end()
    return script.boxes


@pytest.mark.parametrize("unit", [1.0, 0.22], ids=["screen", "paper"])
@pytest.mark.parametrize("arm", [160.0, 420.0, 1100.0, 9000.0])
@pytest.mark.parametrize("start", [-3000.0, 40.0, 300.0])
def test_no_words_cover_others(qapp: QApplication, unit: float, arm: float, start: float) -> None:
    scale = ArmScale(start * unit, (start + arm) * unit, 50.0 * unit, 0.0, 800.0 * unit, unit)
    for fraction in np.linspace(-0.35, 1.45, 19).tolist():
        for yaw in (None, -0.1, 0.004, 0.31, 0.6, 1.0):
            boxes = drawn(scale, Aim(), fraction, yaw)
            assert f"CLA {100 * fraction:.1f} %".replace("-", "−") in boxes and "aim 22–28 %" in boxes
            above = [box for words, box in boxes.items() if words.startswith(("CLA", "aim"))]
            assert all(box.left() >= 0 and box.right() <= 800 * unit for box in above)
            for one, other in combinations(boxes, 2):
                assert not boxes[one].intersects(boxes[other]), (one, other, fraction, yaw)


def test_the_yaw_neutral_point_is_named_where_it_is_seen(qapp: QApplication) -> None:
    scale = ArmScale(100.0, 500.0, 50.0, 0.0, 800.0)
    assert "yaw neutral point" in drawn(scale, Aim(), 0.2, 0.4)
    assert "40" in drawn(scale, Aim(), 0.2, None)
    assert "40" not in drawn(scale, Aim(), 0.2, 0.4), "its line runs there"
    assert "yaw neutral point" not in drawn(scale, Aim(), 0.2, 9.0)


def test_ticks_are_as_fine_as_there_is_room() -> None:
    # By hand: 420 units leave 42 for every tenth and 8.4 for every fiftieth.
    assert tick_steps(420.0) == (10, 2)
    assert tick_steps(60.0)[0] == 100
    assert tick_steps(5000.0) == (5, 1)
    for long in np.linspace(20, 3000, 60).tolist():
        labelled, fine = tick_steps(long)
        assert labelled % fine == 0 and 100 % labelled == 0


def test_the_aim_is_hatched_between_its_limits_alone(qapp: QApplication) -> None:
    image = QImage(500, 100, QImage.Format.Format_RGB32)
    image.fill(DAY.panel)
    painter = QPainter(image)
    draw_bar(painter, ArmScale(50.0, 450.0, 50.0, 0.0, 500.0), Aim(0.5, 0.4, 0.6), INKS)
    painter.end()
    blue = [image.pixelColor(x, 46).blue() - image.pixelColor(x, 46).red() for x in range(500)]
    coloured = [x for x, much in enumerate(blue) if much > 60]
    assert min(coloured) == pytest.approx(210, abs=2) and max(coloured) == pytest.approx(290, abs=2)
