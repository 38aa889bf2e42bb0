"""What is half drawn is part of the work: kept with every click, put by, undone to, offered after a kill."""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest
from driving import CTRL, Driver, Place, bare_sample, drag_to
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog, QMessageBox

from app.keeping.recovery import Recovery, Salvage
from app.keeping.recovery_file import load, salvage_of
from app.window.unforeseen import Unforeseen
from app.work.half_trace import HalfTrace
from core.design_file import read, write

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")

SPOTS: list[Place] = [(100.0 + 20 * i, 60.0 + 17 * (i * i % 7)) for i in range(25)]


@pytest.fixture
def blank(driver: Driver) -> Driver:
    driver.window.begin_blank()
    driver.settle()
    return driver


@pytest.fixture
def on_disk(tmp_path: Path) -> Path:
    path = tmp_path / "harrow.sternpost"
    write(path, bare_sample(), {})
    return path


def nodes(driver: Driver) -> tuple[Place, ...]:
    return driver.canvas.hand.overlay().draft_nodes


def in_file(driver: Driver) -> Salvage | None:
    """What a kill at this moment would leave, read from the disk as the next start reads it."""
    file = driver.window.keeper.recovery._file
    return salvage_of(file, load(file)[0]) if file.exists() else None


def kept(driver: Driver) -> HalfTrace | None:
    found = in_file(driver)
    return None if found is None else found.trace


def kept_places(driver: Driver) -> tuple[Place, ...]:
    half = kept(driver)
    return () if half is None else tuple((p.node.x, p.node.z) for p in half.places)


def near(one: Sequence[Place], other: Sequence[Place], most: float = 1e-4) -> bool:
    return len(one) == len(other) and all(math.dist(a, b) < most for a, b in zip(one, other, strict=True))


def title(driver: Driver) -> str:
    window = driver.window
    return window.windowTitle().replace("[*]", "*" if window.isWindowModified() else "")


def killed(driver: Driver) -> Salvage:
    """The window as it would be after a kill and a new start: nothing but what the disk holds."""
    recovery = driver.window.keeper.recovery
    recovery.flush()
    lost = Recovery(recovery._folder)
    lost._file.write_bytes(recovery._file.read_bytes())
    lost.stop()
    driver.canvas.take_hand("edit")
    driver.window.document.start(bare_sample())
    recovery.flush()
    (salvage,) = recovery.found()
    return salvage


# Kept with every click


def test_every_click_is_in_the_kept_file_before_the_next(blank: Driver) -> None:
    for i, at in enumerate(SPOTS, 1):
        blank.click(at)
        assert kept_places(blank) == nodes(blank) and len(nodes(blank)) == i
    for left in (24, 23):
        blank.key(Qt.Key.Key_Backspace, on=blank.canvas)
        assert kept_places(blank) == nodes(blank) and len(nodes(blank)) == left
    blank.key(Qt.Key.Key_Z, CTRL, on=blank.window)
    assert len(kept_places(blank)) == 22
    blank.window.undoing.redo()
    assert len(kept_places(blank)) == 23 == len(nodes(blank))


def test_a_curve_is_kept_when_the_button_is_let_go_and_the_kind_when_it_is_chosen(blank: Driver) -> None:
    blank.drag((100, 50), (120, 80))
    half = kept(blank)
    assert half is not None and half.places[0].node.handle_out is not None
    blank.window.strip.kind.setCurrentText("rudder")
    blank.window.strip.kind.activated.emit(blank.window.strip.kind.currentIndex())
    half = kept(blank)
    assert half is not None and half.kind == "rudder"


@pytest.mark.parametrize("how", ["Return", "Escape", "another design"])
def test_what_is_no_draft_any_more_is_kept_as_none(blank: Driver, how: str) -> None:
    for at in SPOTS[:5]:
        blank.click(at)
    if how == "another design":
        blank.window.document.start(bare_sample())
    else:
        blank.key(getattr(Qt.Key, f"Key_{how}"), on=blank.canvas)
    blank.window.keeper.recovery.flush()
    assert kept(blank) is None and blank.window.document.trace is None
    assert (in_file(blank) is not None) == (how == "Return")
    if how == "Escape":
        blank.key(Qt.Key.Key_Z, CTRL, on=blank.window)
        assert len(kept_places(blank)) == 5


def test_a_closed_outline_is_never_missing_from_the_kept_file(blank: Driver) -> None:
    """At every writing on the way from draft to outline the file holds the one or the other."""
    for at in SPOTS[:5]:
        blank.click(at)
    seen: list[tuple[int, bool]] = []

    def look(change: object) -> None:
        blank.window.keeper.recovery.flush()
        file = blank.window.keeper.recovery._file
        design = load(file)[1]
        seen.append((len(design.outlines), kept(blank) is not None))

    stop = blank.window.document.listen(look)
    blank.key(Qt.Key.Key_Return, on=blank.canvas)
    stop()
    assert seen and all(state == (1, False) for state in seen), seen


# After a kill


@pytest.mark.skipif(sys.platform == "win32", reason="a file that is held cannot be replaced there")
def test_forty_clicks_come_back_and_go_on(blank: Driver) -> None:
    spots = [(80.0 + 14 * (i % 20), 30.0 + 5.0 * i) for i in range(40)]
    for at in spots:
        blank.click(at)
    blank.window.strip.kind.setCurrentText("pylon")
    blank.window.strip.kind.activated.emit(blank.window.strip.kind.currentIndex())
    before = nodes(blank)
    salvage = killed(blank)
    assert salvage.trace is not None and salvage.trace.words == "a trace of the pylon with 40 nodes"
    blank.boxes.answer("Take it back")
    assert blank.window.keeper.offer()
    assert "With it comes back a trace of the pylon with 40 nodes" in blank.boxes.seen[-1]
    assert blank.canvas.hand.name == "trace" and nodes(blank) == before
    assert blank.canvas.tracing_kind == "pylon" and kept_places(blank) == before
    assert title(blank).endswith("* – trace not finished – Sternpost")
    # It has its steps, and goes on as if nothing had been.
    blank.settle()
    blank.key(Qt.Key.Key_Backspace, on=blank.canvas)
    assert nodes(blank) == before[:-1]
    blank.key(Qt.Key.Key_Return, on=blank.canvas)
    (made,) = blank.design.outlines
    assert made.kind == "pylon" and len(made.nodes) == 39


def test_taking_back_leaves_no_moment_in_which_nothing_is_kept(blank: Driver) -> None:
    for at in SPOTS[:6]:
        blank.click(at)
    killed(blank)
    gone: list[str] = []

    def look(change: object) -> None:
        blank.window.keeper.recovery.flush()
        if len(kept_places(blank)) != 6:
            gone.append(str(change))

    stop = blank.window.document.listen(look)
    blank.boxes.answer("Take it back")
    assert blank.window.keeper.offer()
    stop()
    assert not gone


def test_a_trace_that_is_spoilt_costs_the_trace_alone(blank: Driver) -> None:
    for at in SPOTS[:6]:
        blank.click(at)
    blank.window.keeper.recovery.flush()
    data = blank.window.keeper.recovery._file.read_bytes()
    lost = Recovery(blank.window.keeper.recovery._folder)
    lost._file.write_bytes(data.replace(b'"pinned"', b'"pinned"').replace(b'"places":[{', b'"places":[7,{'))
    lost.stop()
    (salvage,) = blank.window.keeper.recovery.found()
    assert salvage.trace is None
    assert blank.window.keeper.recovery.take(salvage)[0] == blank.design


# Another hand, and back


@pytest.mark.parametrize("back", ["undo", "the tracing hand"])
@pytest.mark.parametrize("slip", ["d", "e", "g"])
def test_a_slip_on_to_another_hand_costs_nothing(blank: Driver, slip: str, back: str) -> None:
    QTest.keyPress(blank.canvas, Qt.Key.Key_F)
    for at in SPOTS:
        blank.click(at)
    before = nodes(blank)
    blank.take(slip)
    assert blank.canvas.hand.name != "trace" and kept_places(blank) == before
    assert "the trace is kept" in blank.said.lower()
    if back == "undo":
        assert blank.window.menus.actions["undo"].text() == "&Undo the change of hand"
        blank.key(Qt.Key.Key_Z, CTRL, on=blank.window)
    else:
        blank.take("t")
    assert blank.canvas.hand.name == "trace" and nodes(blank) == before == kept_places(blank)
    blank.key(Qt.Key.Key_Return, on=blank.canvas)
    # No scan lies there: that is found out by the worker.
    blank.until(lambda: bool(blank.design.outlines))
    assert len(blank.design.outlines[-1].nodes) == 25


def test_undo_takes_back_in_order_what_was_done_after_the_slip(driver: Driver, on_disk: Path) -> None:
    """The slip is on to the datum, and the next click, meant for the trace, sets it."""
    driver.open(on_disk)
    driver.take("t")
    for at in SPOTS[:12]:
        driver.click(at)
    before, outlines = nodes(driver), driver.design.outlines
    driver.take("d")
    driver.click((250.0, 40.0))
    dx = outlines[0].nodes[0].x - driver.design.outlines[0].nodes[0].x
    dz = outlines[0].nodes[0].z - driver.design.outlines[0].nodes[0].z
    assert dx > 200.0
    moved = kept_places(driver)
    assert near(moved, [(x - dx, z - dz) for x, z in before])
    driver.key(Qt.Key.Key_Z, CTRL, on=driver.window)
    assert driver.canvas.hand.name == "datum" and driver.design.outlines == outlines
    assert near(kept_places(driver), before)
    driver.key(Qt.Key.Key_Z, CTRL, on=driver.window)
    assert driver.canvas.hand.name == "trace" and near(nodes(driver), before)
    driver.key(Qt.Key.Key_Z, CTRL, on=driver.window)
    assert len(nodes(driver)) == 11


def test_it_is_seen_while_another_hand_is_in_use(blank: Driver) -> None:
    for at in SPOTS[:6]:
        blank.click(at)
    drawn = blank.canvas.hand.overlay()
    blank.take("e")
    waiting = blank.canvas.half_drawn.overlay()
    assert waiting is not None and waiting.draft_nodes == drawn.draft_nodes
    with_it = blank.canvas.grab().toImage()
    blank.canvas.half_drawn.take_up(None)
    assert blank.canvas.grab().toImage() != with_it


def test_it_keeps_its_kind_while_another_outline_is_made(driver: Driver) -> None:
    driver.window.begin_blank()
    driver.settle()
    driver.window.strip.kind.setCurrentText("gear leg")
    driver.window.strip.kind.activated.emit(driver.window.strip.kind.currentIndex())
    for at in SPOTS[:4]:
        driver.click(at)
    driver.take("e")
    driver.window.document.apply("paste", lambda d: replace(d, outlines=bare_sample().outlines[:1]))
    half = kept(driver)
    assert half is not None and half.kind == "gear leg"
    driver.take("t")
    assert driver.canvas.tracing_kind == "gear leg" and len(nodes(driver)) == 4
    driver.key(Qt.Key.Key_Return, on=driver.canvas)
    assert driver.design.outlines[-1].kind == "gear leg"


# Saving and leaving


def test_saving_says_that_the_trace_is_not_in_the_file(driver: Driver, on_disk: Path) -> None:
    driver.open(on_disk)
    driver.take("t")
    for at in SPOTS:
        driver.click(at)
    driver.key(Qt.Key.Key_S, CTRL, on=driver.window)
    assert driver.said == (
        "harrow.sternpost is saved; the trace under way is not in the file until it is closed (Return)."
    )
    assert title(driver) == "harrow.sternpost* – trace not finished – Sternpost"
    assert read(on_disk).design.outlines == bare_sample().outlines and len(kept_places(driver)) == 25
    driver.key(Qt.Key.Key_Return, on=driver.canvas)
    assert title(driver) == "harrow.sternpost* – Sternpost"
    driver.key(Qt.Key.Key_S, CTRL, on=driver.window)
    assert title(driver) == "harrow.sternpost – Sternpost" and driver.said == ""
    assert len(read(on_disk).design.outlines[-1].nodes) == 25
    driver.window.keeper.recovery.flush()
    assert in_file(driver) is None


def test_leaving_puts_it_into_the_design_from_under_another_hand(driver: Driver, on_disk: Path) -> None:
    driver.open(on_disk)
    driver.take("t")
    driver.window.strip.kind.setCurrentText("strut")
    driver.window.strip.kind.activated.emit(driver.window.strip.kind.currentIndex())
    for at in SPOTS[:5]:
        driver.click(at)
    driver.take("e")
    driver.boxes.answer("Save")
    assert driver.window.filing.may_leave()
    made = read(on_disk).design.outlines[-1]
    assert (made.kind, len(made.nodes)) == ("strut", 5) and driver.window.document.trace is None


def test_what_cannot_be_closed_is_not_given_up_unasked(driver: Driver, on_disk: Path) -> None:
    driver.open(on_disk)
    driver.take("t")
    for x in (100.0, 200.0, 300.0, 400.0):
        driver.click((x, 60.0), Qt.KeyboardModifier.ShiftModifier)
    driver.boxes.answer("Cancel")
    assert not driver.window.filing.may_leave()
    assert "with 4 nodes, is not finished" in driver.boxes.seen[-1]
    assert len(nodes(driver)) == 4
    driver.boxes.answer("Give it up")
    assert driver.window.filing.may_leave()


def test_reverting_names_what_is_given_up(driver: Driver, on_disk: Path) -> None:
    driver.open(on_disk)
    driver.window.edits.set_units("in64")
    driver.take("t")
    for at in SPOTS[:7]:
        driver.click(at)
    driver.boxes.answer("No")
    driver.do("revert")
    said = driver.boxes.seen[-1]
    assert "What is half drawn goes with it, a trace of the " in said and said.endswith(" with 7 nodes.")
    assert len(nodes(driver)) == 7 and driver.window.document.dirty
    driver.boxes.answer("Yes")
    driver.do("revert")
    driver.window.keeper.recovery.flush()
    assert nodes(driver) == () and in_file(driver) is None


def test_a_first_name_is_given_with_a_trace_under_way(
    blank: Driver, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for at in SPOTS[:5]:
        blank.click(at)
    path = tmp_path / "first.sternpost"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(path), ""))
    blank.do("save")
    assert path.exists() and len(nodes(blank)) == 5 == len(kept_places(blank))
    assert "not in the file" in blank.said


# An error


def test_an_error_leaves_the_trace_and_the_box_says_what_is_true(
    blank: Driver, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown: list[str] = []
    monkeypatch.setattr(QMessageBox, "exec", lambda box: shown.append(box.informativeText()))
    hook = Unforeseen(blank.window)
    hook.install()
    try:
        for at in SPOTS:
            blank.click(at)
        before = nodes(blank)
        for unsafe in (False, True):
            error = RuntimeError("the fin fell off" if not unsafe else "and the rudder")
            with monkeypatch.context() as patch:
                if unsafe:
                    patch.setattr("app.keeping.recovery.replace_file", _full)
                hook._quiet_until.clear()
                sys.excepthook(RuntimeError, error, None)
                blank.until(lambda: not hook._showing)
            assert len(shown) == 1 + unsafe
            assert nodes(blank) == before == kept_places(blank)
    finally:
        hook.remove()
    assert shown[0].startswith(
        "Your work is still here, a trace of the fuselage with 25 nodes too, and has been kept."
    )
    assert "could not be kept safe (unsaved work cannot be kept safe: No space left" in shown[1]
    assert "has been kept" not in shown[1]
    blank.window.keeper.keep()
    blank.window.keeper.recovery.flush()
    blank.until(lambda: not blank.window.unsafe.isVisible())


def _full(*_: object) -> None:
    raise OSError(28, "No space left on device")


def test_an_error_while_the_outline_is_put_in_leaves_the_trace(
    blank: Driver, monkeypatch: pytest.MonkeyPatch
) -> None:
    for at in SPOTS[:5]:
        blank.click(at)
    before = nodes(blank)

    def fail(*_: object) -> None:
        raise IndexError("no fin")

    monkeypatch.setattr("app.canvas.tools.draft.own_label", fail)
    with pytest.raises(IndexError):
        blank.canvas.hand.key("Return")
    assert nodes(blank) == before == kept_places(blank)
    monkeypatch.undo()
    blank.key(Qt.Key.Key_Return, on=blank.canvas)
    assert len(blank.design.outlines) == 1


# Once round, and along the ink


def test_a_line_round_a_shape_comes_back_with_the_choice_that_was_taken(
    driver: Driver, tmp_path: Path
) -> None:
    from test_window_rounds import draw_round, egg, hand_of, loose, scan_box, sheet

    from app.canvas.view import fitted

    driver.window.filing.open_path(sheet(tmp_path / "sheet.png", double=True))
    driver.until_decoded()
    driver.canvas.set_view(fitted(scan_box(driver), driver.canvas.width(), driver.canvas.height()))
    driver.take("t")
    draw_round(driver, loose(egg(1.5, count=60), 1, part=0.97))
    driver.until(lambda: hand_of(driver)._round.stage == "shown")
    driver.settle()
    driver.key(Qt.Key.Key_Tab, on=driver.canvas)
    driver.until(lambda: hand_of(driver)._round._nodes is not None)
    driver.settle()
    half, shown = kept(driver), hand_of(driver)._round._pull
    assert half is not None and half.round is not None and half.round.taken and shown is not None
    assert half.round.nodes == hand_of(driver)._round._nodes
    salvage = killed(driver)
    assert salvage.trace is not None and salvage.trace.words.startswith("a line drawn round the ")
    driver.boxes.answer("Take it back")
    assert driver.window.keeper.offer()
    again = hand_of(driver)._round
    assert again.stage == "shown" and again._pull is not None
    assert again._pull.points == pytest.approx(shown.points, abs=1e-4)
    assert again._nodes == half.round.nodes
    driver.key(Qt.Key.Key_Return, on=driver.canvas)
    assert driver.design.outlines[-1].nodes == half.round.nodes
    driver.until_decoded()


def test_a_line_on_its_way_to_the_ink_is_pulled_when_the_scan_is_there_again(
    driver: Driver, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from test_window_rounds import draw_round, egg, hand_of, loose, scan_box, sheet

    from app.canvas.view import fitted

    driver.window.filing.open_path(sheet(tmp_path / "sheet.png", double=True))
    driver.until_decoded()
    driver.canvas.set_view(fitted(scan_box(driver), driver.canvas.width(), driver.canvas.height()))
    driver.take("t")
    with monkeypatch.context() as patch:
        patch.setattr(driver.canvas.ink, "once_round", lambda *_: None)
        draw_round(driver, loose(egg(1.5, count=60), 1, part=0.97))
        half = kept(driver)
        assert half is not None and half.round is not None and not half.round.points
        assert near(half.round.line, hand_of(driver)._round._line)
        killed(driver)
    driver.boxes.answer("Take it back")
    assert driver.window.keeper.offer() and driver.canvas.hand.busy
    driver.until(lambda: hand_of(driver)._round.stage == "shown")
    driver.key(Qt.Key.Key_Escape, on=driver.canvas)
    assert kept(driver) is None
    driver.until_decoded()


def test_followed_ink_comes_back_and_is_fitted_as_it_was(
    driver: Driver, tmp_path: Path
) -> None:
    from test_window_rounds import FIN, placed, scan_box, sheet

    from app.canvas.view import fitted

    driver.window.filing.open_path(sheet(tmp_path / "sheet.png", double=False))
    driver.until_decoded()
    driver.canvas.set_view(fitted(scan_box(driver), driver.canvas.width(), driver.canvas.height()))
    driver.take("t")
    QTest.keyPress(driver.canvas, Qt.Key.Key_F)
    for at in placed(driver, [FIN[0], FIN[1], FIN[2]]):
        drag_to(driver.canvas, driver.px(at), Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier)
        driver.until(_known(driver))
        driver.click(at)
    trace = driver.canvas.hands["trace"]
    driver.until(lambda: not trace._inked.missing(trace._draft))  # type: ignore[attr-defined]
    driver.settle()
    before = nodes(driver)
    QTest.keyRelease(driver.canvas, Qt.Key.Key_F)
    half = kept(driver)
    assert half is not None and any(way is not None for way in half.ways)
    killed(driver)
    driver.boxes.answer("Take it back")
    assert driver.window.keeper.offer()
    driver.until_decoded()
    driver.until(lambda: not trace._inked.missing(trace._draft))  # type: ignore[attr-defined]
    assert near(nodes(driver), before, 0.02)
    driver.key(Qt.Key.Key_Escape, on=driver.canvas)


def _known(driver: Driver) -> Callable[[], bool]:
    """Whether the trail under the cursor has been found."""
    def known() -> bool:
        hand = driver.canvas.hand
        if not hand.busy:
            return True
        trail = hand._trail_now()  # type: ignore[attr-defined]
        return isinstance(trail, str) or bool(trail.points)
    return known
