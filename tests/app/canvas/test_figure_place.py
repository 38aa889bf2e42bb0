"""The figure beside the cursor keeps off marks and names, and inside the canvas."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QRectF

from app.canvas.figure_place import figure_box

CANVAS = QRectF(0, 0, 900, 500)


def test_it_stands_above_at_the_right_where_nothing_is_in_the_way() -> None:
    assert figure_box((300, 200), 90, 20, CANVAS, []) == QRectF(318, 168, 90, 20)


def test_a_name_there_makes_it_go_to_a_free_place() -> None:
    name = QRectF(330, 160, 60, 18)
    box = figure_box((300, 200), 90, 20, CANVAS, [name])
    assert not box.intersects(name) and box != QRectF(318, 168, 90, 20)


@given(st.floats(0, 900), st.floats(0, 500), st.floats(20, 260))
def test_it_never_leaves_the_canvas_nor_hides_one_name_beside_the_cursor(
    x: float, y: float, wide: float
) -> None:
    name = QRectF(x + 14, y - 22, 80, 18)
    box = figure_box((x, y), wide, 20, CANVAS, [name])
    assert CANVAS.contains(box) and not box.intersects(name)
