"""Scans: with and without a scale, moved and faded, several, damaged, dropped and pasted."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from driving import FREE, LEFT, SAMPLES, Driver, Place, bare_sample, drag_to, fresh_readings
from PIL import Image, ImageDraw
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QGuiApplication, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog, QStyle, QToolButton

from app.panels.scans import ScanCard
from core.design import EMPTY, Outline
from core.design_file import encode

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")


def picture(path: Path, dpi: float | None = None, size: tuple[int, int] = (600, 240)) -> Path:
    image = Image.new("L", size, 240)
    ImageDraw.Draw(image).line([(50, 200), (550, 180)], fill=20, width=3)
    image.save(path, **({} if dpi is None else {"dpi": (dpi, dpi)}))
    return path


def add(driver: Driver, path: Path, scans: int = 1) -> None:
    driver.window.filing.open_scan_path(path)
    driver.until_decoded(scans)


def trace_box(driver: Driver, low: Place, high: Place) -> Outline:
    driver.take("t")
    for at in (low, (high[0], low[1]), high, (low[0], high[1])):
        driver.click(at)
    driver.key(Qt.Key.Key_Return)
    return driver.design.outlines[-1]


def pixels_under(driver: Driver, outline: Outline, scan: int = 0) -> np.ndarray:
    """Where in the scan, in pixels, the outline's nodes and handles lie, shape (N, 2)."""
    points = [(n.x, n.z) for n in outline.nodes]
    points += [(n.x + h[0], n.z + h[1]) for n in outline.nodes for h in (n.handle_in, n.handle_out) if h]
    back = np.linalg.inv(np.array(driver.design.scans[scan].to_mm))
    found = np.array([(*p, 1.0) for p in points]) @ back.T
    return found[:, :2] / found[:, 2:]


def card(driver: Driver, scan: int = 0) -> ScanCard:
    return list(driver.window.scans._cards.values())[scan]


def press_button(driver: Driver, tip: str, scan: int = 0) -> None:
    (button,) = (b for b in card(driver, scan).findChildren(QToolButton) if b.toolTip().startswith(tip))
    QTest.mouseClick(button, LEFT)


# The scale


def test_without_a_scale_lengths_are_hidden_and_the_fraction_is_not(driver: Driver, tmp_path: Path) -> None:
    driver.open_outlines(bare_sample())
    known = driver.window.answer.shown.figure
    add(driver, picture(tmp_path / "plan.png"))
    shown = driver.window.answer.shown
    assert shown.figure == known != "" and shown.state_words
    for key in ("side_area", "tail_arm", "cla_x", "fin_area"):
        assert driver.reading(key) == "–", key
    assert "sq in" not in shown.advice and "%" in shown.advice
    note = driver.window.readings._note.text()
    assert "set the scale of the scan" in note.lower()
    # No panel lets a length through that means nothing.
    model = driver.window.outlines._list.model()
    assert all("sq in" not in model.index(i, 0).data() for i in range(model.rowCount()))
    driver.take("e")
    driver.move((300, 10))
    assert driver.window.status._at.text() == "no scale yet"
    assert driver.window.status._scale.text() == "–"
    assert "no scale yet" in driver.window.strip._note.text()
    assert "no scale yet" in card(driver)._state.text()


def test_a_scan_placed_by_its_dpi_says_so_in_strip_panel_and_readings(driver: Driver, tmp_path: Path) -> None:
    add(driver, picture(tmp_path / "marsh_side.png", dpi=200))
    (scan,) = driver.design.scans
    assert scan.scale_from == "dpi"
    assert scan.to_mm[0][0] == pytest.approx(25.4 / 200, rel=1e-3)
    assert driver.design.title == "marsh side"
    assert driver.canvas.hand.name == "edit"
    assert "by its own dpi" in driver.window.strip._note.text()
    assert "600 × 240 pixels, placed by its own dpi" in card(driver)._state.text()
    assert "placed by its own dpi" in driver.window.readings._note.text()
    QTest.mouseClick(driver.window.strip.scale_button, LEFT)
    assert driver.canvas.hand.name == "scale"


@pytest.mark.parametrize("typed", ["400 mm", "15 3/4 in", "0.4 m"])
def test_setting_the_scale_later_carries_what_was_traced(
    driver: Driver, tmp_path: Path, typed: str
) -> None:
    add(driver, picture(tmp_path / "plan.png"))
    driver.take("e")
    traced = trace_box(driver, (30, 20), (90, 45))
    driver.take("g")
    driver.click((60, 30))
    under, mark = pixels_under(driver, traced), driver.design.cg_mark
    assert mark is not None
    on_screen = driver.canvas.view.to_px(mark.x, mark.z)
    driver.take("s")
    one, other = driver.spot((20, 10)), driver.spot((120, 12))
    driver.click(one)
    driver.move(other)
    driver.click(other)
    driver.type_into(driver.window.strip.distance, typed)
    millimetres = {"400 mm": 400.0, "15 3/4 in": 15.75 * 25.4, "0.4 m": 400.0}[typed]
    now = driver.design.outlines[-1]
    assert pixels_under(driver, now) == pytest.approx(under, abs=1e-6)
    factor = millimetres / float(np.hypot(other[0] - one[0], other[1] - one[1]))
    assert now.nodes[0].x == pytest.approx(traced.nodes[0].x * factor)
    moved = driver.design.cg_mark
    assert moved is not None and (moved.x, moved.z) == pytest.approx((mark.x * factor, mark.z * factor))
    assert driver.design.scans[0].scale_from == "points"
    assert driver.window.document.undo_name == "set scale" and on_screen
    driver.do("undo")
    assert driver.design.outlines[-1] == traced and driver.design.scans[0].scale_from == "none"


@pytest.mark.parametrize(
    ("typed", "words"),
    [("", "No length stands here"), ("long", "is not a length"), ("0", "more than nothing"),
     ("-5 in", "more than nothing"), ("1000 m", "check its unit"), ("0.0001 mm", "check its unit")],
)
def test_a_distance_that_cannot_be_is_said_and_the_points_stay(
    driver: Driver, tmp_path: Path, typed: str, words: str
) -> None:
    add(driver, picture(tmp_path / "plan.png"))
    before = encode(driver.design)
    driver.click((50, 20))
    driver.click((50.8, 20) if "1000" in typed else (120, 20))
    driver.type_into(driver.window.strip.distance, typed)
    assert words in driver.said
    assert encode(driver.design) == before
    assert len(driver.canvas.hand.overlay().points) == 2, "what was clicked need not be clicked again"


def test_level_turns_scan_and_outline_together(driver: Driver, tmp_path: Path) -> None:
    add(driver, picture(tmp_path / "plan.png", dpi=150))
    traced = trace_box(driver, (30, 10), (70, 30))
    under = pixels_under(driver, traced)
    driver.take("l")
    one, other = driver.spot((10, 7)), driver.spot((90, 10.5))
    driver.drag(one, other)
    now = driver.design.outlines[-1]
    assert pixels_under(driver, now) == pytest.approx(under, abs=1e-6)
    slope = np.arctan2(other[1] - one[1], other[0] - one[0])
    first, second = now.nodes[0], now.nodes[1]
    was = np.arctan2(traced.nodes[1].z - traced.nodes[0].z, traced.nodes[1].x - traced.nodes[0].x)
    assert np.arctan2(second.z - first.z, second.x - first.x) == pytest.approx(was - slope)
    assert driver.window.document.undo_name == "level scan"


def test_the_datum_moves_the_figures_and_nothing_on_the_screen(driver: Driver, tmp_path: Path) -> None:
    add(driver, picture(tmp_path / "plan.png", dpi=150))
    traced = trace_box(driver, (30, 10), (70, 30))
    node = traced.nodes[2]
    pixel = driver.canvas.view.to_px(node.x, node.z)
    driver.take("d")
    at = driver.spot((12, 5))
    driver.click(at)
    moved = driver.design.outlines[-1].nodes[2]
    assert (moved.x, moved.z) == pytest.approx((node.x - at[0], node.z - at[1]))
    assert driver.canvas.view.to_px(moved.x, moved.z) == pytest.approx(pixel)


# Turned, mirrored, moved, faded


@pytest.mark.parametrize(("tip", "name"), [("Mirror", "mirror scan"), ("Turn by 90°", "turn scan")])
def test_mirror_and_quarter_turn_carry_what_was_traced(
    driver: Driver, tmp_path: Path, tip: str, name: str
) -> None:
    add(driver, picture(tmp_path / "plan.png", dpi=150))
    traced = trace_box(driver, (10, 10), (40, 30))
    under, before = pixels_under(driver, traced), encode(driver.design)
    press_button(driver, tip)
    assert driver.window.document.undo_name == name
    assert pixels_under(driver, driver.design.outlines[-1]) == pytest.approx(under, abs=1e-6)
    turns = 2 if tip == "Mirror" else 4
    matrix = np.array(driver.design.scans[0].to_mm)
    # The picture's u axis as the mirror or the clockwise turn leaves it.
    assert matrix[:2, 0] * 150 / 25.4 == pytest.approx((-1, 0) if turns == 2 else (0, -1), abs=1e-3)
    for _ in range(turns - 1):
        press_button(driver, tip)
    assert np.array([(n.x, n.z) for n in driver.design.outlines[-1].nodes]) == pytest.approx(
        np.array([(n.x, n.z) for n in traced.nodes])
    )
    for _ in range(turns):
        driver.do("undo")
    assert encode(driver.design) == before


def test_a_second_scan_lies_beneath_and_is_dragged_until_it_is_locked(driver: Driver, tmp_path: Path) -> None:
    add(driver, picture(tmp_path / "nose.png", dpi=150))
    traced = trace_box(driver, (10, 10), (40, 30))
    add(driver, picture(tmp_path / "tail.png", dpi=150), scans=2)
    first, second = driver.design.scans
    assert first.locked and not second.locked
    assert "drag it into place" in driver.said
    low = second.to_mm[1][2] + second.to_mm[1][1] * 240
    assert second.to_mm[1][2] < first.to_mm[1][2] + first.to_mm[1][1] * 240, "below, and not over it"
    assert len(driver.window.scans._cards) == 2
    driver.take("e")
    driver.canvas.fit()
    driver.zoom_to((50, low + 20), 2.0)
    start, end = driver.spot((50, low + 20)), driver.spot((80, low + 40))
    driver.drag(start, end)
    now = driver.design.scans[1]
    assert now.to_mm[0][2] - second.to_mm[0][2] == pytest.approx(end[0] - start[0])
    assert now.to_mm[1][2] - second.to_mm[1][2] == pytest.approx(end[1] - start[1])
    assert driver.design.scans[0] == first and driver.design.outlines == (traced,)
    assert driver.window.document.undo_name == "move scan"
    press_button(driver, "Lock", 1)
    assert driver.design.scans[1].locked
    driver.drag((70, low + 30), (90, low + 30))
    assert driver.design.scans[1].to_mm == now.to_mm


def test_hide_and_take_out(driver: Driver, tmp_path: Path) -> None:
    add(driver, picture(tmp_path / "plan.png", dpi=150))
    traced = trace_box(driver, (10, 10), (40, 30))
    at = driver.px((50, 8))
    with_ink = driver.canvas.grab().toImage()
    press_button(driver, "Show or hide")
    assert driver.design.scans[0].hidden and driver.window.document.undo_name == "hide scan"
    assert driver.canvas.grab().toImage() != with_ink and at
    press_button(driver, "Show or hide")
    assert driver.canvas.grab().toImage() == with_ink
    press_button(driver, "Take the scan out")
    assert driver.design.scans == () and driver.design.outlines == (traced,)
    assert driver.window.scans._cards == {}
    driver.do("undo")
    driver.until_decoded()
    assert driver.canvas.grab().toImage() == with_ink, "undo brings the picture back"


_KNOB = 7
"""px: half of what is taken hold of."""


def test_fading_is_one_entry_of_undo_however_far_the_slider_goes(driver: Driver, tmp_path: Path) -> None:
    add(driver, picture(tmp_path / "plan.png", dpi=150))
    slider = card(driver)._fade
    # Not asked of the slider's own style: handed to Python, that lives no longer than the slider's card.
    along = QStyle.sliderPositionFromValue(0, 100, slider.value(), slider.width() - 2 * _KNOB)
    knob = QPoint(_KNOB + along, slider.height() // 2)
    start = driver.design.scans[0].opacity
    assert slider.value() == round(100 * start)
    QTest.mousePress(slider, LEFT, FREE, knob)
    seen = []
    for step in (5, 12, 20, 26):
        drag_to(slider, knob - QPoint(step, 0), LEFT, FREE)
        seen.append(driver.design.scans[0].opacity)
    assert seen == sorted(seen, reverse=True) and len(set(seen)) == 4
    assert driver.window.document.committed.scans[0].opacity == start
    QTest.mouseRelease(slider, LEFT, FREE, knob - QPoint(26, 0))
    assert driver.design.scans[0].opacity == seen[-1] < start - 0.1
    assert driver.window.document.undo_name == "fade scan"
    driver.do("undo")
    assert driver.design.scans[0].opacity == start and driver.window.document.undo_name == "open scan"
    assert slider.value() == round(100 * start)


# Coming in


DAMAGED = {
    "empty.png": b"",
    "words.png": b"This is not a picture.",
    "cut.png": b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00\x01\x00\x00\x00\x01\x00\x08\x00\x00\x00\x00",
    "plan.pdf": b"%PDF-1.7\n%%EOF",
}


@pytest.mark.parametrize("name", sorted(DAMAGED))
def test_a_damaged_picture_is_said_and_touches_nothing(driver: Driver, tmp_path: Path, name: str) -> None:
    driver.open_outlines(bare_sample())
    (tmp_path / name).write_bytes(DAMAGED[name])
    before = encode(driver.design)
    driver.boxes.answer("OK")
    driver.window.filing.open_scan_path(tmp_path / name)
    driver.until(lambda: bool(driver.boxes.seen))
    driver.settle()
    (text,) = driver.boxes.seen
    assert text.startswith(f"{name} could not be opened.")
    reason = text.partition("opened. ")[2]
    assert reason[0].isupper() and reason.endswith(".") and name not in reason
    assert encode(driver.design) == before and not driver.window.document.dirty
    assert driver.window.document.pictures == {}
    assert not driver.window.status._words.isVisible()


def test_a_scan_that_is_not_there_is_said(driver: Driver, tmp_path: Path) -> None:
    driver.boxes.answer("OK")
    driver.window.filing.open_scan_path(tmp_path / "gone.png")
    assert "gone.png could not be opened" in driver.boxes.seen[0]
    assert driver.design == EMPTY


def drop(driver: Driver, mime: QMimeData) -> bool:
    where, copy = QPointF(600, 400), Qt.DropAction.CopyAction
    enter = QDragEnterEvent(where.toPoint(), copy, mime, LEFT, FREE)
    QApplication.sendEvent(driver.window, enter)
    if not enter.isAccepted():
        return False
    event = QDropEvent(where, copy, mime, LEFT, FREE)
    QApplication.sendEvent(driver.window, event)
    return event.isAccepted()


def test_files_dropped_on_the_window_come_in_as_scans(driver: Driver, tmp_path: Path) -> None:
    mime = QMimeData()
    mime.setUrls([
        QUrl.fromLocalFile(str(picture(tmp_path / name, dpi=150))) for name in ("a side.png", "b.tif")
    ])
    assert drop(driver, mime)
    driver.until_decoded(2)
    assert {s.file for s in driver.design.scans} == {"a side.png", "b.tif"}
    words = QMimeData()
    words.setText("no file")
    assert not drop(driver, words)


def test_two_scans_of_one_name_are_kept_apart(driver: Driver, tmp_path: Path) -> None:
    (tmp_path / "one").mkdir()
    (tmp_path / "two").mkdir()
    add(driver, picture(tmp_path / "one" / "plan.png", dpi=150))
    add(driver, picture(tmp_path / "two" / "plan.png", dpi=150, size=(300, 300)), scans=2)
    assert [s.file for s in driver.design.scans] == ["plan.png", "plan-2.png"]
    sizes = driver.window.shelf.sizes(driver.design)
    assert [sizes[s.id] for s in driver.design.scans] == [(600, 240), (300, 300)]


def test_a_picture_is_pasted_as_a_scan(driver: Driver) -> None:
    image = QImage(320, 200, QImage.Format.Format_Grayscale8)
    image.fill(200)
    QGuiApplication.clipboard().setImage(image)
    driver.do("paste")
    driver.until_decoded()
    (scan,) = driver.design.scans
    assert scan.file == "pasted.png" and scan.scale_from == "none"
    assert driver.window.shelf.sizes(driver.design)[scan.id] == (320, 200)
    with Image.open(io.BytesIO(driver.window.document.pictures["pasted.png"])) as kept:
        assert kept.size == (320, 200)


def test_open_scan_asks_for_files_and_no_answer_does_nothing(
    driver: Driver, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    names: list[str] = []
    monkeypatch.setattr(QFileDialog, "getOpenFileNames", lambda *_: (names, ""))
    QTest.mouseClick(driver.window.hands.buttons["open"], LEFT)
    assert driver.design == EMPTY
    names.append(str(picture(tmp_path / "plan.png", dpi=150)))
    QTest.mouseClick(driver.window.hands.buttons["open"], LEFT)
    driver.until_decoded()
    assert driver.window.tabs.currentWidget() is driver.window.scans
    assert fresh_readings(driver.design).scale_known


def test_a_reopened_design_offers_the_region_hand_as_soon_as_its_scan_is_there(driver: Driver) -> None:
    driver.open(SAMPLES / "marsh-harrow-52.sternpost")
    button = driver.window.hands.buttons["region"]
    assert driver.canvas.hand.name == "edit", "no other hand was taken"
    assert not button.dim and "Not yet" not in button.toolTip()
    QTest.mouseClick(button, LEFT)
    assert driver.canvas.hand.name == "region"
    # And back: without a scan it waits again.
    driver.open_outlines(bare_sample())
    assert button.dim and "Not yet: open a scan first." in button.toolTip()
