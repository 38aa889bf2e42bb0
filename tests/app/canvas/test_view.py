"""Where the aeroplane lies on the screen."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.canvas.view import LEAST_SCALE, MOST_SCALE, View, fitted

SOME = settings(max_examples=60)
views = st.builds(View, st.floats(LEAST_SCALE, MOST_SCALE), st.floats(-5e3, 5e3), st.floats(-5e3, 5e3))
pixels = st.tuples(st.floats(-50, 3000), st.floats(-50, 2000))


@SOME
@given(views, pixels)
def test_to_mm_and_to_pixels_are_each_others_inverse(view: View, at: tuple[float, float]) -> None:
    assert view.to_px(*view.to_mm(*at)) == pytest.approx(at, abs=1e-6)


def test_x_runs_right_and_z_up() -> None:
    view = View(2.0, 10.0, 50.0)
    assert view.to_px(10, 50) == (0, 0)
    assert view.to_px(11, 49) == (2, 2)


@SOME
@given(views, pixels, st.floats(0.01, 100))
def test_zoom_stays_at_the_cursor_even_at_its_limits(
    view: View, at: tuple[float, float], factor: float
) -> None:
    closer = view.zoomed(factor, *at)
    assert closer.to_mm(*at) == pytest.approx(view.to_mm(*at), rel=1e-9, abs=1e-6)
    assert LEAST_SCALE <= closer.scale <= MOST_SCALE


@SOME
@given(views, pixels, st.floats(-900, 900), st.floats(-900, 900))
def test_the_paper_goes_with_the_hand_that_pushes_it(
    view: View, at: tuple[float, float], right: float, down: float
) -> None:
    pushed = view.panned(right, down)
    assert pushed.to_px(*view.to_mm(*at)) == pytest.approx((at[0] + right, at[1] + down), abs=1e-6)
    assert pushed.scale == view.scale


@pytest.mark.parametrize("box", [(-30, -200, 900, 250), (0, 0, 10, 900), (5, 5, 5, 5)])
@pytest.mark.parametrize("size", [(1200, 500), (320, 160), (1, 1)])
def test_a_fitted_box_stands_in_the_middle_and_touches_its_margin(
    box: tuple[float, float, float, float], size: tuple[int, int]
) -> None:
    view = fitted(box, *size, margin=36)
    middle = view.to_px((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    assert middle == pytest.approx((size[0] / 2, size[1] / 2), abs=1e-6)
    left, top = view.to_px(box[0], box[3])
    if view.scale < MOST_SCALE and min(size) > 2 * 36 + 20:
        assert min(left, top) == pytest.approx(36, abs=1e-6)
