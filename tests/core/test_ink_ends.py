"""Ends of open runs, against curves whose every point is known."""

from __future__ import annotations

import numpy as np
import pytest

from core.ink.ends import ended


def parabola(first: float, last: float) -> np.ndarray:
    """y = x² / 16 between two x, points 0.1 apart along x."""
    x = np.arange(first, last + 1e-9, 0.1)
    return np.stack((x, x * x / 16.0), axis=1)


def off(line: np.ndarray) -> np.ndarray:
    """How far each point lies above or below y = x² / 16."""
    return np.abs(line[:, 1] - line[:, 0] ** 2 / 16.0)


@pytest.mark.parametrize("backwards", [False, True])
def test_a_pinned_end_bends_a_tangent_that_ran_on_straight_back_to_the_curve(backwards: bool) -> None:
    # Left of x = 4 the run went on along the tangent there, as ink does that is lost in another line.
    line = parabola(0.0, 20.0)
    lost = line[:, 0] < 4.0
    line[lost, 1] = 1.0 + 0.5 * (line[lost, 0] - 4.0)
    assert off(line).max() == pytest.approx(1.0)
    places = ((0.0, 0.0), (20.0, 25.0))
    made = ended(line[::-1], *places[::-1]) if backwards else ended(line, *places)
    made = made[::-1] if backwards else made
    assert tuple(made[0]) == (0.0, 0.0) and tuple(made[-1]) == (20.0, 25.0)
    assert off(made).max() < 0.3, "a third of what it was off by, at most, in between"
    assert off(made[made[:, 0] > 12.0]).max() < 1e-9, "further on nothing moves"


def test_an_end_that_is_not_pinned_lies_on_the_run_beside_its_place() -> None:
    line = np.stack((np.linspace(0.0, 10.0, 101), np.zeros(101)), axis=1)
    made = ended(line, (0.73, 0.4), (11.5, -0.3), pinned=(False, False))
    assert made[0] == pytest.approx((0.73, 0.0)) and made[-1] == pytest.approx((11.5, 0.0))
    assert np.abs(made[:, 1]).max() == 0.0 and (np.diff(made[:, 0]) > 0).all()


def test_too_few_points_are_the_straight_line_between_the_places() -> None:
    assert ended(np.array([[0.0, 1.0], [2.0, 1.0]]), (0.0, 0.0), (2.0, 0.0)).tolist() == [[0, 0], [2, 0]]
