"""Tracing along the ink of a sample's own scan, with mouse and keys in the real window."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from threading import Event
from time import thread_time

import numpy as np
import pytest
import shapely
from driving import CTRL, FREE, SAMPLES, Driver, Place, apart
from msgspec.structs import replace
from plans import TRUE_PLANS
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox

from app.canvas import scan_ink
from app.canvas.ink_fit import Asker, Ground, fit_all
from app.canvas.tools.inking import Fit, Stretch
from app.canvas.tools.region import RegionHand
from app.canvas.tools.trace import TraceHand
from app.canvas.view import fitted
from app.kit.worker import Job
from app.panels.ink_page import InkPage
from core.design import Outline
from core.geometry.ring import flatten, ring_of

# Without a screen Qt cannot tell a window manager how small a window may be, and says so.
pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")

MARSH, LONG = "marsh-harrow-52", "long-meadow-2000"
TAILS = {MARSH: (790, -20, 1010, 180), LONG: (860, -20, 1040, 230)}


def on_paper(driver: Driver, at: Place, slug: str = MARSH) -> Place:
    """Where in mm a place of the drawn plan lies in the scan as it is placed."""
    (scan,) = driver.design.scans
    u, v, w = np.array(scan.to_mm) @ TRUE_PLANS[slug].mm_to_px @ np.array((*at, 1.0))
    return float(u / w), float(v / w)


def opened_bare(driver: Driver, slug: str) -> None:
    """A sample's scan without its outlines, looked at where its tail is, the tracing hand taken."""
    driver.open(SAMPLES / f"{slug}.sternpost")
    driver.window.document.start(replace(driver.design, outlines=()), dict(driver.window.document.pictures))
    driver.until_decoded()
    canvas = driver.canvas
    canvas.set_view(fitted(TAILS[slug], canvas.width(), canvas.height()))
    driver.take("t")
    canvas.set_tracing_kind("fin")
    driver.settle()


@pytest.fixture
def bare(driver: Driver, request: pytest.FixtureRequest) -> Iterator[Driver]:
    """Marsh Harrow, or the sample that is named."""
    opened_bare(driver, getattr(request, "param", MARSH))
    yield driver
    trace_hand(driver).take_up(None)
    driver.window.strip.ink_page.snap.setChecked(False)


@pytest.fixture
def blank(driver: Driver) -> Driver:
    """An empty sheet and the tracing hand: enough for keys and buttons."""
    driver.window.begin_blank()
    driver.settle()
    return driver


def trace_hand(driver: Driver) -> TraceHand:
    hand = driver.canvas.hands["trace"]
    assert isinstance(hand, TraceHand)
    return hand


def glide(driver: Driver, at: Place, steps: int = 6) -> None:
    """Move there from where the last node is, and wait until the line under the cursor is found."""
    last = trace_hand(driver).overlay().draft_nodes[-1]
    for k in range(1, steps + 1):
        driver.move((last[0] + (at[0] - last[0]) * k / steps, last[1] + (at[1] - last[1]) * k / steps))
    driver.until(lambda: driver.canvas.ink._wanted is None)
    driver.settle()


def drawn_fin(driver: Driver, slug: str) -> Outline:
    """The fin that was drawn, where it lies in the scan as it is placed."""
    drawn = TRUE_PLANS[slug].tracing("fin").outline
    nodes = []
    for node in drawn.nodes:
        x, z = on_paper(driver, (node.x, node.z), slug)
        handles = []
        for handle in (node.handle_in, node.handle_out):
            end = on_paper(driver, (node.x + handle[0], node.z + handle[1]), slug) if handle else None
            handles.append((end[0] - x, end[1] - z) if end else None)
        nodes.append(replace(node, x=x, z=z, handle_in=handles[0], handle_out=handles[1]))
    return Outline("t", "fin", tuple(nodes))


@pytest.mark.parametrize(("bare", "slug"), [(MARSH, MARSH), (LONG, LONG)], indirect=["bare"])
def test_a_fin_takes_six_clicks_or_fewer_and_lies_on_the_drawn_line_everywhere(
    bare: Driver, slug: str
) -> None:
    bare.window.resize(1900, 1200)
    bare.settle()
    # At one scale, whatever room the columns leave.
    bare.canvas.set_view(fitted(TAILS[slug], 970, 919))
    true = drawn_fin(bare, slug)
    foot, _, bend, tip, heel, toe = ((n.x, n.z) for n in true.nodes)
    bare.click(foot)
    QTest.keyPress(bare.canvas, Qt.Key.Key_F)
    for at in (bend, tip, heel):
        glide(bare, at)
        assert bare.figure == "along the ink"
        bare.click(at)
    QTest.keyRelease(bare.canvas, Qt.Key.Key_F)
    # The fin's foot is not drawn: it lies inside the fuselage, and is clicked where the truth has it.
    bare.click(toe, CTRL)
    bare.click(foot)
    bare.until(lambda: not bare.canvas.hand.busy)
    (traced,) = bare.design.outlines
    assert len(traced.nodes) <= 14, "few nodes"
    # Foot, tip and heel among them: the mouse comes to half a pixel, 0.15 mm here.
    assert apart(traced, true) < 0.25


@pytest.fixture
def gate(monkeypatch: pytest.MonkeyPatch) -> Iterator[Event]:
    """Fits beside the window wait until it is set."""
    opened = Event()

    def gated(ground: Ground, stretches: Sequence[Stretch], asker: Asker) -> Sequence[Fit]:
        if isinstance(asker, Job):
            opened.wait(20.0)
        return fit_all(ground, stretches, asker)

    monkeypatch.setattr(scan_ink, "fit_all", gated)
    yield opened
    opened.set()


def test_a_click_answers_at_once_and_the_fit_comes_from_beside_the_window(bare: Driver, gate: Event) -> None:
    true = drawn_fin(bare, MARSH)
    foot, _, bend, tip, *_ = ((n.x, n.z) for n in true.nodes)
    bare.click(foot)
    QTest.keyPress(bare.canvas, Qt.Key.Key_F)
    glide(bare, bend)
    begin = thread_time()
    bare.click(bend)
    spent = thread_time() - begin
    hand = trace_hand(bare)
    assert hand._inked.missing(hand._draft), "nothing was fitted before the click came back"
    assert spent < 0.1
    shown = hand.overlay().draft
    assert len(shown) > 20, "the line that was followed is shown meanwhile"
    gate.set()
    bare.until(lambda: not hand._inked.missing(hand._draft))
    gate.clear()
    assert hand.overlay().draft != shown
    glide(bare, on_paper(bare, (850.0, 150.0)))
    assert bare.figure != "along the ink" and "no drawn line" in hand.hint(), "over bare paper it says so"
    # Another hand, taken before what is closed is fitted, loses nothing of it.
    glide(bare, tip)
    bare.click(tip)
    QTest.keyRelease(bare.canvas, Qt.Key.Key_F)
    bare.key(Qt.Key.Key_Return, on=bare.canvas)
    assert hand.busy and bare.figure == "fitting…" and "Fitting" in hand.hint()
    bare.take("e")
    (made,) = bare.design.outlines
    assert any(n.handle_out for n in made.nodes) and bare.window.document.undo_name == "trace fin"


def test_a_repeating_key_is_one_hold_and_losing_the_focus_lets_it_go(blank: Driver) -> None:
    hand = trace_hand(blank)
    QTest.keyPress(blank.canvas, Qt.Key.Key_F)
    assert hand.following
    for kind in (QKeyEvent.Type.KeyRelease, QKeyEvent.Type.KeyPress):
        event = QKeyEvent(kind, Qt.Key.Key_F, FREE, "f", True)
        QApplication.sendEvent(blank.canvas, event)
        assert hand.following, "what repeats itself is neither a press nor a release"
    blank.window.strip.kind.setFocus()
    assert not hand.following
    blank.canvas.setFocus()
    assert not hand.following
    QTest.keyPress(blank.canvas, Qt.Key.Key_F)
    QTest.keyRelease(blank.canvas, Qt.Key.Key_F)
    assert not hand.following


def test_the_strips_button_follows_and_gives_the_canvas_its_keys_back(blank: Driver) -> None:
    button = blank.window.strip.ink_page.follow
    assert button.isVisible() and "F" in button.toolTip()
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    assert button.isChecked() and trace_hand(blank).following and blank.canvas.hasFocus()
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    assert not trace_hand(blank).following


def test_a_click_near_the_drawn_line_goes_to_its_middle_and_panning_keeps_a_followed_run(
    bare: Driver,
) -> None:
    at = on_paper(bare, (938.0, 100.0))
    beside = (at[0] + 5 / bare.canvas.view.scale, at[1])
    QTest.mouseClick(bare.window.strip.ink_page.snap, Qt.MouseButton.LeftButton)
    bare.move(beside)
    snapped = trace_hand(bare).overlay().snap
    assert snapped is not None and snapped.to == "ink"
    assert abs(snapped.x - at[0]) < 0.25
    bare.click(beside)
    QTest.keyPress(bare.canvas, Qt.Key.Key_F)
    below = on_paper(bare, (938.0, 40.0))
    glide(bare, below)
    bare.click(below)
    before = trace_hand(bare).overlay().draft_nodes
    assert len(before) >= 2
    bare.drag(below, (below[0] + 30, below[1] + 10), button=Qt.MouseButton.MiddleButton)
    assert trace_hand(bare).overlay().draft_nodes == before
    bare.key(Qt.Key.Key_Z, CTRL, on=bare.window)
    assert len(trace_hand(bare).overlay().draft_nodes) == 1
    QTest.keyRelease(bare.canvas, Qt.Key.Key_F)


def test_the_tick_for_single_clicks_is_there_the_next_time(blank: Driver) -> None:
    ticked, hand = blank.window.strip.ink_page.snap, trace_hand(blank)
    for on in (True, False):
        QTest.mouseClick(ticked, Qt.MouseButton.LeftButton)
        hand.ink_snap = not on
        later = InkPage(blank.window.document, blank.canvas, QComboBox())
        assert later.snap.isChecked() is on and hand.ink_snap is on
        later.deleteLater()


def test_a_region_comes_from_beside_the_window_as_one_edit(bare: Driver) -> None:
    bare.take("r")
    assert bare.canvas.hand.name == "region"
    strip = bare.window.strip
    assert strip.ink_page.gap.isVisible() and not strip.ink_page.follow.isVisible()
    bare.click(on_paper(bare, (925.0, 100.0)))
    bare.until(lambda: not bare.canvas.hand.busy)
    assert len(bare.design.outlines) == 1, bare.said
    made = bare.design.outlines[0]
    assert made.kind == "fin" and bare.window.document.undo_name == "trace fin"
    assert strip.kind.currentText() == "rudder" and strip.ink_page.then.text() == "then fuselage"
    bare.do("undo")
    assert bare.design.outlines == ()
    assert strip.kind.currentText() == bare.canvas.tracing_kind == "fin", "chosen for what was undone"
    # Beside everything drawn there is no shape, and that is said.
    bare.click(on_paper(bare, (938.0, 100.0)))
    bare.until(lambda: not bare.canvas.hand.busy)
    assert bare.design.outlines == () and bare.said.startswith("No outline was taken: the click is on a line")


def test_a_loop_round_the_side_view_takes_its_outer_outline(bare: Driver) -> None:
    """Its area is that of all that the plan draws as one, united by shapely."""
    canvas = bare.canvas
    drawn = [
        shapely.Polygon([on_paper(bare, (float(x), float(z))) for x, z in flatten(ring_of(outline.nodes))])
        for outline in TRUE_PLANS[MARSH].outlines
    ]
    whole = shapely.union_all(drawn)
    x0, z0, x1, z1 = whole.bounds
    canvas.set_view(fitted((x0 - 40, z0 - 40, x1 + 40, z1 + 40), canvas.width(), canvas.height()))
    bare.take("r")
    ring = shapely.get_coordinates(shapely.buffer(whole.convex_hull, 14.0).exterior)
    bare.press((float(ring[0, 0]), float(ring[0, 1])))
    for x, z in ring[1:]:
        bare.move((float(x), float(z)), button=Qt.MouseButton.LeftButton)
    assert "let go" in canvas.hand.hint() and bare.design.outlines == ()
    bare.release((float(ring[-1, 0]), float(ring[-1, 1])))
    assert canvas.hand.busy and "drawing" in canvas.hand.hint()
    bare.until(lambda: not canvas.hand.busy)
    assert len(bare.design.outlines) == 1, bare.said
    made = shapely.Polygon(flatten(ring_of(bare.design.outlines[0].nodes)))
    assert made.area == pytest.approx(max(part.area for part in shapely.get_parts(whole)), rel=0.005)
    assert bare.window.document.undo_name == "trace fin"
    bare.do("undo")
    assert bare.design.outlines == ()


def test_the_widest_gap_is_typed_in_any_unit(blank: Driver) -> None:
    hand = blank.canvas.hands["region"]
    assert isinstance(hand, RegionHand)
    blank.canvas.take_hand("region")
    blank.settle()
    field = blank.window.strip.ink_page.gap
    blank.type_into(field, "1/8 in")
    assert hand.gap == pytest.approx(25.4 / 8)
    blank.type_into(field, "3 ft")
    assert hand.gap == pytest.approx(25.4 / 8) and "gap" in blank.said
    blank.type_into(field, "1 mm")
    assert hand.gap == pytest.approx(1.0)
