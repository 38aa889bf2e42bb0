"""Once round with the mouse on a drawn scan, doubtful stretches, shared edges; settling on the ink."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from driving import CTRL, Driver, Place, apart, close_menu, drag_to, line_of
from msgspec.structs import replace
from PIL import Image, ImageDraw
from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QMenu

from app.canvas.tools.trace import TraceHand
from app.canvas.view import fitted
from app.side.settle_window import SettleWindow
from app.work.selection import NOTHING, Selection
from core.design import Node, Outline

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise|grabbing)")

DPI, FINE = 200, 3
SHEET = (240.0, 150.0)
"""mm"""
EGG = (70.0, 80.0, 48.0, 34.0)
"""x, z, half length, half height of a body drawn as an ellipse: its true line is known in closed form."""
FIN = ((140.0, 40.0), (160.0, 120.0), (190.0, 120.0), (190.0, 40.0))
RUDDER = ((190.0, 40.0), (190.0, 120.0), (215.0, 110.0), (222.0, 40.0))


def egg(by: float = 0.0, count: int = 400) -> list[Place]:
    """Points of the body's line, or of one so many mm within it."""
    x, z, a, b = EGG
    turns = np.linspace(0.0, 2 * math.pi, count, endpoint=False)
    return [(x + (a - by) * math.cos(t), z + (b - by) * math.sin(t)) for t in turns]


def sheet(path: Path, *, double: bool) -> Path:
    """Body, fin and rudder in lines of 0.5 mm; with ``double`` a second line 3.5 mm inside half the body."""
    k = DPI / 25.4 * FINE
    image = Image.new("L", (round(SHEET[0] * k), round(SHEET[1] * k)), 245)
    pen = ImageDraw.Draw(image)

    def stroke(points: list[Place], closed: bool = True) -> None:
        places = [(x * k, (SHEET[1] - z) * k) for x, z in points]
        pen.line(places + places[:2] * closed, fill=30, width=round(0.5 * k), joint="curve")

    stroke(egg())
    stroke(list(FIN))
    stroke(list(RUDDER))
    # Ribs that end on the lines, and one that crosses.
    for x in (60.0, 90.0):
        stroke([(x, 50.0), (x, 108.0)], closed=False)
    stroke([(135.0, 75.0), (200.0, 82.0)], closed=False)
    if double:
        stroke(egg(3.5)[:200], closed=False)
    size = (image.width // FINE, image.height // FINE)
    image.resize(size, Image.Resampling.BOX).save(path, dpi=(DPI, DPI))
    return path


@pytest.fixture
def on_sheet(driver: Driver, tmp_path: Path) -> Callable[..., Driver]:
    def opened(*, double: bool = False) -> Driver:
        driver.window.filing.open_path(sheet(tmp_path / "sheet.png", double=double))
        driver.until_decoded()
        driver.canvas.set_view(fitted(scan_box(driver), driver.canvas.width(), driver.canvas.height()))
        driver.take("t")
        return driver

    return opened


def placed(driver: Driver, points: list[Place]) -> list[Place]:
    """Where in the design points of the sheet (mm from its lower left) lie."""
    (scan,) = driver.design.scans
    k = DPI / 25.4
    u = np.array([(x * k, (SHEET[1] - z) * k, 1.0) for x, z in points]) @ np.array(scan.to_mm).T
    return [(float(x), float(z)) for x, z, _ in u]


def scan_box(driver: Driver) -> tuple[float, float, float, float]:
    (low, high) = placed(driver, [(0.0, 0.0), SHEET])
    return low[0], low[1], high[0], high[1]


def loose(points: list[Place], seed: int, most: float = 2.5, part: float = 1.0) -> list[Place]:
    """A hand's line near ``points``: off by up to ``most`` mm, slowly to and fro."""
    rng = np.random.default_rng(seed)
    dense = []
    for a, b in zip(points, (*points[1:], points[0]), strict=True):
        steps = max(1, round(math.dist(a, b) / 3.0))
        dense += [(a[0] + (b[0] - a[0]) * i / steps, a[1] + (b[1] - a[1]) * i / steps) for i in range(steps)]
    dense = dense[:: max(1, len(dense) // 110)]
    t = np.linspace(0.0, 2 * math.pi, len(dense))
    sway = sum(np.outer(np.sin(n * t + rng.uniform(0, 6)), rng.normal(0, 1, 2)) for n in (2, 3, 5))
    sway = np.asarray(sway) * most / max(np.hypot(*np.asarray(sway).T))
    return [(x + float(d[0]), z + float(d[1])) for (x, z), d in zip(dense, sway, strict=True)][
        : round(part * len(dense))
    ]


def draw_round(driver: Driver, points: list[Place], let_go: bool = True) -> None:
    line = placed(driver, points)
    driver.press(line[0])
    for at in line[1:]:
        drag_to(driver.canvas, driver.px(at), Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier)
    if let_go:
        driver.release(line[-1])


def hand_of(driver: Driver) -> TraceHand:
    hand = driver.canvas.hands["trace"]
    assert isinstance(hand, TraceHand)
    return hand


def done(driver: Driver) -> Outline:
    driver.until(lambda: not driver.canvas.hand.busy)
    assert driver.design.outlines, driver.said
    return driver.design.outlines[-1]


def true_outline(driver: Driver, points: list[Place]) -> Outline:
    return Outline("true", "other", tuple(Node(x, z) for x, z in placed(driver, points)))


def test_one_loose_line_round_each_shape_gives_its_outline_and_neighbours_share_the_hinge(
    on_sheet: Callable[..., Driver],
) -> None:
    driver = on_sheet()
    draw_round(driver, loose(egg(count=60), 1, part=0.95), let_go=False)
    assert driver.figure == "let go: once round" and len(driver.canvas.hand.overlay().draft) > 60
    driver.release(placed(driver, loose(egg(count=60), 1, part=0.95))[-1])
    body = done(driver)
    assert body.kind == "fuselage" and driver.window.document.undo_name == "trace fuselage"
    assert apart(body, true_outline(driver, egg())) < 0.2 and len(body.nodes) <= 14
    draw_round(driver, loose(list(FIN), 2, 2.0))
    fin = done(driver)
    assert fin.kind == "fin" and apart(fin, true_outline(driver, list(FIN))) < 0.45
    draw_round(driver, loose(list(RUDDER), 3, 2.0))
    rudder = done(driver)
    assert rudder.kind == "rudder" and apart(rudder, true_outline(driver, list(RUDDER))) < 0.7
    shared = {(n.x, n.z) for n in fin.nodes} & {(n.x, n.z) for n in rudder.nodes}
    assert len(shared) == 2, "both ends of the hinge, bit for bit"
    for left in (2, 1, 0):
        driver.do("undo")
        assert len(driver.design.outlines) == left


def test_a_doubtful_stretch_waits_a_click_flips_it_and_return_accepts(
    on_sheet: Callable[..., Driver],
) -> None:
    driver = on_sheet(double=True)
    draw_round(driver, loose(egg(count=60), 4, 1.5))
    hand = hand_of(driver)
    driver.until(lambda: hand._round.stage == "shown")
    besides = hand.overlay().besides
    assert besides and driver.design.outlines == () and "takes the other" in hand.hint()
    beside = max(besides, key=lambda b: len(b.other))
    middle = beside.other[len(beside.other) // 2]
    driver.click(middle)
    driver.until(lambda: hand._round._nodes is not None)
    flipped = max(hand.overlay().besides, key=lambda b: len(b.other))
    assert min(math.dist(middle, at) for at in flipped.taken) < 0.5, "it is the taken one now"
    driver.key(Qt.Key.Key_Tab, on=driver.canvas)
    driver.until(lambda: hand._round._nodes is not None)
    assert driver.canvas.hasFocus(), "Tab is the hand's while there is something to choose"
    driver.key(Qt.Key.Key_Return, on=driver.canvas)
    body = done(driver)
    assert apart(body, true_outline(driver, egg())) < 0.35
    driver.key(Qt.Key.Key_Tab, on=driver.canvas)
    assert not driver.canvas.hasFocus()


def test_escape_drops_it_undo_brings_it_back_and_bare_paper_keeps_the_line_as_drawn(
    on_sheet: Callable[..., Driver],
) -> None:
    driver = on_sheet()
    draw_round(driver, loose(egg(count=60), 5))
    driver.key(Qt.Key.Key_Escape, on=driver.canvas)
    assert not driver.canvas.hand.busy and driver.design.outlines == ()
    assert "undo brings it back" in driver.said
    driver.key(Qt.Key.Key_Z, CTRL, on=driver.window)
    assert driver.canvas.hand.busy
    assert done(driver).kind == "fuselage"
    paper = [(20.0, 10.0), (60.0, 8.0), (64.0, 32.0), (22.0, 34.0)]
    driver.take("t")
    draw_round(driver, loose(paper, 6, 1.0))
    driver.until(lambda: hand_of(driver)._round.stage == "as drawn")
    assert "not pulled on to the ink" in driver.said and len(driver.design.outlines) == 1
    driver.key(Qt.Key.Key_Return, on=driver.canvas)
    driver.until(lambda: not driver.canvas.hand.busy)
    kept = driver.design.outlines[-1]
    assert len(driver.design.outlines) == 2 and apart(kept, true_outline(driver, paper)) < 2.5


def test_a_short_press_and_drag_is_still_a_handle_and_without_a_scan_so_is_any(driver: Driver) -> None:
    driver.window.begin_blank()
    driver.take("t")
    driver.drag((100.0, 0.0), (120.0, 30.0))
    assert len(driver.canvas.hand.overlay().draft_handles) == 2
    driver.key(Qt.Key.Key_Escape, on=driver.canvas)
    line = [(300 + 80 * math.cos(t), 80 * math.sin(t)) for t in np.linspace(0, 2 * math.pi, 50)]
    driver.press(line[0])
    for at in line[1:]:
        drag_to(driver.canvas, driver.px(at), Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier)
    driver.release(line[-1])
    assert "needs a scan" in driver.said and len(driver.canvas.hand.overlay().draft_nodes) == 1
    hand_of(driver).take_up(None)


# Settling


def with_clicked(driver: Driver, points: list[Place], by: float, **more: object) -> Outline:
    """An outline clicked by a hand that is ``by`` mm off, up and aft; selected."""
    nodes = tuple(Node(x + by, z + by) for x, z in placed(driver, points))
    outline = Outline("clicked", "fin", nodes, **more)  # type: ignore[arg-type]
    driver.window.document.apply("put in", lambda d: replace(d, outlines=(*d.outlines, outline)))
    driver.take("e")
    driver.do("all")
    driver.settle()
    return outline


def settle_window(driver: Driver) -> SettleWindow:
    driver.do("settle")
    (window,) = driver.window.findChildren(SettleWindow)
    driver.until(lambda: not window._settler.busy)
    return window


def gone(driver: Driver) -> None:
    """Wait until no such window is left."""
    driver.until(lambda: not driver.window.findChildren(SettleWindow))


def test_settling_says_what_would_move_shows_it_and_is_one_edit(on_sheet: Callable[..., Driver]) -> None:
    driver = on_sheet()
    clicked = with_clicked(driver, list(FIN), 1.2)
    window = settle_window(driver)
    said = window.words.text()
    assert said.startswith("clicked: at most 1.") and "area" in said and window.ok.isEnabled(), said
    document = driver.window.document
    assert document.proposal is not None and document.committed.outlines == (clicked,)
    assert apart(document.design.outlines[0], true_outline(driver, list(FIN))) < 0.45
    QTest.mouseClick(window.ok, Qt.MouseButton.LeftButton)
    gone(driver)
    assert document.undo_name == "settle on the ink" and document.proposal is None
    (now,) = document.committed.outlines
    assert apart(now, true_outline(driver, list(FIN))) < 0.45
    window = settle_window(driver)
    assert "lies on the ink already" in window.words.text() or "at most 0.1" in window.words.text()
    window.reject()
    gone(driver)
    driver.do("undo")
    assert document.committed.outlines == (clicked,)


def test_settling_can_be_let_be_and_says_why_it_cannot(on_sheet: Callable[..., Driver]) -> None:
    driver = on_sheet()
    document = driver.window.document
    clicked = with_clicked(driver, list(FIN), 1.0)
    window = settle_window(driver)
    assert document.proposal is not None
    window.reject()
    gone(driver)
    assert document.proposal is None and document.committed.outlines == (clicked,)
    document.apply("lock", lambda d: replace(d, outlines=(replace(clicked, locked=True),)))
    driver.window.picked.set(Selection(("clicked",)))
    window = settle_window(driver)
    assert "is locked" in window.words.text() and not window.ok.isEnabled()
    driver.window.picked.set(NOTHING)
    assert "Select an outline" in window.words.text()
    window.reject()
    gone(driver)
    bare = [(20.0, 10.0), (60.0, 8.0), (64.0, 30.0)]
    document.apply("put in", lambda d: replace(d, outlines=()))
    with_clicked(driver, bare, 0.0)
    window = settle_window(driver)
    assert "cannot be settled" in window.words.text() and not window.ok.isEnabled()
    window.reject()
    gone(driver)


def test_one_edge_is_settled_from_the_menu_under_the_right_button(on_sheet: Callable[..., Driver]) -> None:
    driver = on_sheet()
    clicked = with_clicked(driver, list(FIN), 1.0)
    (a, b) = ((n.x, n.z) for n in clicked.nodes[:2])
    chosen: list[str] = []

    def choose(menu: QMenu) -> None:
        (entry,) = (e for e in menu.actions() if e.text().startswith("Settle this edge"))
        chosen.append(entry.text())
        entry.trigger()

    close_menu(choose)
    x, y = driver.canvas.view.to_px((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    driver.canvas.menu_wanted.emit(QPointF(x, y))
    assert chosen
    (window,) = driver.window.findChildren(SettleWindow)
    driver.until(lambda: not window._settler.busy)
    assert window.words.text().startswith("clicked, one edge: at most 0.")
    QTest.mouseClick(window.ok, Qt.MouseButton.LeftButton)
    gone(driver)
    (now,) = driver.window.document.committed.outlines
    assert {(n.x, n.z) for n in clicked.nodes[2:]} <= {(n.x, n.z) for n in now.nodes}
    lead = placed(driver, [(FIN[0][0] + (FIN[1][0] - FIN[0][0]) * t, FIN[0][1] + 80 * t) for t in (0.3, 0.6)])
    for at in lead:
        assert float(np.hypot(*(line_of(now) - at).T).min()) < 0.3
