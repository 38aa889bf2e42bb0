"""From a bare scan to a traced fin with mouse and keys, and everything that may come in between."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from driving import (
    CTRL,
    FREE,
    LEFT,
    MIDDLE,
    SHIFT,
    Driver,
    Place,
    apart,
    bare_sample,
    drag_to,
    line_of,
    scan_bytes,
)
from msgspec.structs import replace
from numpy.typing import NDArray
from plans import TRUE_PLANS
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest

from core.design import EMPTY, Node, Outline
from core.geometry.ring import point_on, ring_of

# Without a screen Qt cannot tell a window manager how small a window may be, and says so.
pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")

PLAN = TRUE_PLANS["marsh-harrow-52"]
INCH = 25.4


def on_paper(driver: Driver, at: Place) -> Place:
    """Where on the canvas, in mm as they count now, a place of the drawn plan lies in the scan."""
    (scan,) = driver.design.scans
    u, v, w = np.array(scan.to_mm) @ PLAN.mm_to_px @ np.array((*at, 1.0))
    return float(u / w), float(v / w)


def click_paper(driver: Driver, at: Place, scale: float = 4.0) -> None:
    """Go near, as one does for a place that matters, and click."""
    driver.zoom_to(on_paper(driver, at), scale)
    driver.click(on_paper(driver, at))


def clicks_and_pulls(outline: Outline, spacing: float = 14.0) -> list[tuple[Place, Place | None]]:
    """How to trace an outline: a click at each corner; along curves a press and a pull of a third of the way.

    A press and pull sets both handles alike, so that a curve takes several: a circle of radius r through
    places d apart, with handles of d/3, is missed by about d⁴/(128 r³), far less than a pixel here.
    """
    steps: list[tuple[Place, Place | None]] = []
    ring = ring_of(outline.nodes)
    for i, node in enumerate(outline.nodes):
        after = outline.nodes[(i + 1) % len(outline.nodes)]
        if node.handle_in and node.handle_out:
            direction = np.array(node.handle_out) / np.hypot(*node.handle_out)
            steps.append(((node.x, node.z), tuple(direction)))
        else:
            steps.append(((node.x, node.z), None))
        if node.handle_out or after.handle_in:
            between = round(np.hypot(after.x - node.x, after.z - node.z) / spacing)
            for t in np.arange(1, between) / between:
                x, z = point_on(ring, i, float(t))
                ahead, behind = point_on(ring, i, float(t) + 1e-4), point_on(ring, i, float(t) - 1e-4)
                direction = (ahead - behind) / np.hypot(*(ahead - behind))
                steps.append(((float(x), float(z)), tuple(direction)))
    places: NDArray[np.float64] = np.array([at for at, _ in steps])
    gaps = np.hypot(*(np.roll(places, -1, axis=0) - places).T)
    return [
        (at, None if pull is None else (at[0] + pull[0] * min(gaps[i - 1], gaps[i]) / 3,
                                        at[1] + pull[1] * min(gaps[i - 1], gaps[i]) / 3))
        for i, (at, pull) in enumerate(steps)
    ]


def test_a_fin_traced_from_the_scan_lies_on_the_drawn_fin(driver: Driver, tmp_path: Path) -> None:
    path = tmp_path / "plan.png"
    path.write_bytes(scan_bytes(dpi=False))
    driver.window.filing.open_scan_path(path)
    driver.until_decoded()
    assert driver.canvas.hand.name == "scale", "with a scan that has no scale, setting it comes first"
    assert "no scale yet" in driver.window.strip._note.text()

    # Set the scale over three feet of the datum line, level by it, and measure from its end.
    start, end = (12.0, 0.0), (12.0 + 36 * INCH, 0.0)
    click_paper(driver, start)
    click_paper(driver, end)
    field = driver.window.strip.distance
    assert field.isEnabled() and field.hasFocus()
    driver.type_into(field, "3 ft 0 in")
    assert driver.design.scans[0].scale_from == "points"
    assert not field.text() and driver.canvas.hand.name == "edit"
    driver.take("l")
    click_paper(driver, start)
    click_paper(driver, end)
    driver.take("d")
    click_paper(driver, (0.0, 0.0))
    # What was set is as good as half a pixel of 0.25 mm at either end, and no better is asked for.
    for at in ((0.0, 0.0), start, end, (938.0, 157.0)):
        assert np.hypot(*(np.array(on_paper(driver, at)) - at)) < 0.4

    driver.take("t")
    strip = driver.window.strip
    strip.kind.setCurrentText("fin")
    strip.kind.activated.emit(strip.kind.currentIndex())
    drawn = PLAN.tracing("fin").outline
    driver.zoom_to(on_paper(driver, (885, 86)), 3.4)
    for at, pull in clicks_and_pulls(drawn):
        if pull is None:
            driver.click(on_paper(driver, at))
        else:
            driver.drag(on_paper(driver, at), on_paper(driver, pull), steps=2)
    first = drawn.nodes[0]
    driver.click(on_paper(driver, (first.x, first.z)))
    (traced,) = driver.design.outlines
    assert (traced.kind, traced.id, traced.label) == ("fin", "fin", "Fin")
    assert driver.window.picked.now.outlines == ("fin",)
    assert driver.window.document.undo_name == "trace fin"
    assert apart(traced, drawn) < 0.5
    # The offered kind goes on to what usually comes next.
    assert driver.canvas.tracing_kind == "rudder"


# In the middle of a trace


@pytest.fixture
def tracing(driver: Driver) -> Driver:
    """An empty sheet with three nodes of a trace on it."""
    driver.window.begin_blank()
    driver.settle()
    for at in ((100, 50), (300, 60), (320, 200)):
        driver.click(at)
    return driver


def nodes(driver: Driver) -> tuple[Place, ...]:
    return driver.canvas.hand.overlay().draft_nodes


def test_panning_by_the_middle_button_loses_nothing(tracing: Driver) -> None:
    before, view = nodes(tracing), tracing.canvas.view
    under = tracing.spot((320, 200))
    pixel = tracing.px(under)
    tracing.drag(under, (250, 120), button=MIDDLE)
    assert nodes(tracing) == before
    assert tracing.canvas.view != view
    moved = tracing.canvas.view.to_px(*under)
    assert moved != (pixel.x(), pixel.y())
    tracing.click((120, 180))
    assert len(nodes(tracing)) == 4


def test_panning_with_space_held_loses_nothing_and_sets_no_node(tracing: Driver) -> None:
    before = nodes(tracing)
    canvas = tracing.canvas
    canvas.setFocus()
    QTest.keyPress(canvas, Qt.Key.Key_Space)
    assert canvas.cursor().shape() == Qt.CursorShape.OpenHandCursor
    start = tracing.spot((200, 100))
    aim = tracing.px(start) + QPoint(90, -40)
    drag_to(canvas, tracing.px(start), Qt.MouseButton.NoButton, FREE)
    QTest.mousePress(canvas, LEFT, FREE, tracing.px(start))
    for i in (1, 2, 3):
        drag_to(canvas, aim - QPoint(90, -40) + QPoint(30, -13) * i, LEFT, FREE)
    drag_to(canvas, aim, LEFT, FREE)
    QTest.mouseRelease(canvas, LEFT, FREE, aim)
    QTest.keyRelease(canvas, Qt.Key.Key_Space)
    assert canvas.view.to_px(*start) == pytest.approx((aim.x(), aim.y()))
    assert nodes(tracing) == before
    tracing.click((120, 180))
    assert len(nodes(tracing)) == 4


@pytest.mark.parametrize("turn", [120, -120, 15])
def test_the_point_under_the_cursor_stays_there_while_zooming(tracing: Driver, turn: int) -> None:
    before, scale = nodes(tracing), tracing.canvas.view.scale
    under = tracing.spot((333, 77))
    pixel = tracing.px(under)
    for _ in range(5):
        tracing.wheel(under, turn)
        assert tracing.canvas.view.to_px(*under) == pytest.approx((pixel.x(), pixel.y()), abs=1e-6)
    assert tracing.canvas.view.scale == pytest.approx(scale * 1.0015 ** (5 * turn))
    assert nodes(tracing) == before
    # The bands beneath look at the same stations.
    band = tracing.window.area_band
    assert band.station_at(pixel.x()) == pytest.approx(under[0], abs=0.5 / tracing.canvas.view.scale)


def test_undo_takes_back_one_node_and_redo_brings_it_again(tracing: Driver) -> None:
    before = nodes(tracing)
    tracing.key(Qt.Key.Key_Z, CTRL)
    assert nodes(tracing) == before[:2]
    tracing.key(Qt.Key.Key_Z, CTRL | SHIFT)
    assert nodes(tracing) == before
    tracing.key(Qt.Key.Key_Backspace)
    assert nodes(tracing) == before[:2]
    for _ in range(2):
        tracing.key(Qt.Key.Key_Z, CTRL)
    assert nodes(tracing) == ()
    tracing.key(Qt.Key.Key_Z, CTRL)
    assert tracing.design.outlines == () and tracing.canvas.hand.name == "trace"


def test_escape_abandons_the_trace_and_again_puts_the_hand_away(tracing: Driver) -> None:
    tracing.key(Qt.Key.Key_Escape)
    assert nodes(tracing) == () and tracing.canvas.hand.name == "trace"
    tracing.key(Qt.Key.Key_Escape)
    assert tracing.canvas.hand.name == "edit"
    assert tracing.design == EMPTY and not tracing.window.document.dirty


def test_return_closes_and_a_trace_of_two_corners_says_why_not(tracing: Driver) -> None:
    corners = nodes(tracing)
    tracing.key(Qt.Key.Key_Return)
    (made,) = tracing.design.outlines
    assert tuple((n.x, n.z) for n in made.nodes) == corners
    assert made.kind == "fuselage"
    tracing.click((600, 50))
    tracing.click((700, 50))
    tracing.key(Qt.Key.Key_Return)
    assert len(tracing.design.outlines) == 1
    assert tracing.said == "An outline needs at least three nodes, or two with curves."


def test_shift_holds_straight_and_the_first_node_shows_that_it_closes(tracing: Driver) -> None:
    tracing.move((480, 205), SHIFT)
    shown = tracing.canvas.hand.overlay()
    last = nodes(tracing)[-1]
    assert shown.draft[-1][1] == pytest.approx(last[1]), "held level"
    assert shown.figure.endswith("0.0°")
    tracing.move(nodes(tracing)[0])
    assert tracing.figure == "close" and tracing.canvas.hand.overlay().closing


def test_a_corner_snaps_to_another_outline_and_ctrl_holds_that_off(driver: Driver) -> None:
    driver.open_outlines(bare_sample())
    driver.take("t")
    corner = driver.outline("rudder").nodes[2]
    pixel = driver.px((corner.x, corner.z)) + QPoint(4, 3)
    beside = driver.canvas.view.to_mm(pixel.x(), pixel.y())
    driver.move(beside)
    snapped = driver.canvas.hand.overlay().snap
    assert snapped is not None and snapped.to == "node"
    driver.click(beside)
    driver.click((1100, 0))
    driver.click(beside, CTRL)
    first, _, third = nodes(driver)
    assert first == (corner.x, corner.z)
    assert third == pytest.approx(driver.spot(beside))


def test_taking_another_hand_in_the_middle_keeps_the_trace(tracing: Driver) -> None:
    before = nodes(tracing)
    tracing.take("e")
    assert tracing.design.outlines == () and nodes(tracing) == ()
    tracing.take("t")
    assert nodes(tracing) == before


def test_dense_points_follow_a_known_line() -> None:
    # A square of side 10: the dense line is as long as the square, and off a shifted one by the shift.
    square = Outline("a", "other", tuple(Node(x, z) for x, z in ((0, 0), (10, 0), (10, 10), (0, 10))))
    assert len(line_of(square)) == 160
    moved = replace(square, nodes=tuple(replace(n, x=n.x + 3) for n in square.nodes))
    assert apart(square, moved) == pytest.approx(3.0)
