"""Steps on scans: opened, shown otherwise, scaled, levelled, laid flat, joined, taken out."""

from __future__ import annotations

from random import Random

from desk import FREE, LEFT, SHIFT, Desk, Place, small_scan
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QToolButton
from steps import MOST_SCANS, near, place_on_sheet, step

from core.design import Scan
from core.redesign.scan_edits import corners_of

Key = Qt.Key


@step(2)
def open_scan(desk: Desk, n: Random) -> None:
    """A small PNG, with or without a resolution of its own; waited for, or given up half way."""
    if len(desk.document.committed.scans) >= MOST_SCANS:
        return
    dpi = n.random() < 0.5
    path = desk.folder / f"sheet {'with' if dpi else 'without'} dpi.png"
    if not path.exists():
        small_scan(path, dpi)
    desk.window.filing.open_path(path)
    if n.random() < 0.15:
        desk.window.filing.cancel()
    desk.until(desk.decoded, "the scan is there")


def _some_scan(desk: Desk, n: Random) -> Scan | None:
    scans = desk.document.committed.scans
    return n.choice(scans) if scans else None


def _on(desk: Desk, n: Random, scan: Scan) -> Place:
    """A place on the scan."""
    size = desk.canvas.scan_sizes.get(scan.id)
    if size is None:
        return place_on_sheet(desk, n)
    u, v = n.uniform(0.1, 0.9), n.uniform(0.1, 0.9)
    corners = corners_of(scan, size)
    top = corners[0] + (corners[1] - corners[0]) * u
    low = corners[3] + (corners[2] - corners[3]) * u
    x, z = top + (low - top) * v
    return float(x), float(z)


@step(4)
def scan_card(desk: Desk, n: Random) -> None:
    """Hide, lock, turn, mirror, fade, tone, take out: what stands on the card of a scan."""
    scan = _some_scan(desk, n)
    if scan is None:
        return
    window = desk.window
    window.tabs.setCurrentWidget(window.scans)
    card = window.scans._cards[scan.id]
    what = n.choice(("eye", "lock", "turn", "mirror", "fade", "slide", "tone", "tone", "remove"))
    if what in ("eye", "lock", "turn", "mirror", "remove"):
        buttons = [b for b in card.findChildren(QToolButton) if b.parent() is card]
        buttons[("eye", "lock", "turn", "mirror", "remove").index(what)].click()
    elif what == "fade":
        card._fade.setValue(n.randint(5, 100))
    elif what == "slide":
        card._fade.sliderPressed.emit()
        for _ in range(3):
            card._fade.setValue(n.randint(5, 100))
        card._fade.sliderReleased.emit()
    else:
        tone = n.choice(("level", "invert", "thicken"))
        if tone == "thicken":
            card._tone.thicken.setValue(n.randint(0, 2))
        else:
            getattr(card._tone, tone).click()
        desk.until(desk.decoded, "the tone is worked out")


@step(2)
def scale_by_points(desk: Desk, n: Random) -> None:
    """Two points and the distance typed; now and then a second distance across."""
    scan = _some_scan(desk, n)
    if scan is None:
        return
    desk.canvas.take_hand("scale")
    strip = desk.window.strip
    for _ in range(n.choice((1, 1, 2))):
        one, other = _on(desk, n, scan), _on(desk, n, scan)
        desk.click(one)
        desk.click(other, n.choice((FREE, SHIFT)))
        far = ((one[0] - other[0]) ** 2 + (one[1] - other[1]) ** 2) ** 0.5
        text = n.choice(("0", "x", *(f"{far * n.uniform(0.85, 1.2):.2f} mm" for _ in range(3))))
        if not strip.distance.isEnabled():
            break
        if n.random() < 0.3 and strip.across_button.isVisible():
            strip.distance.setText(text)
            strip.across_button.click()
        else:
            desk.type_into(strip.distance, text)
            break
    if n.random() < 0.8:
        desk.canvas.take_hand("edit")
    strip.distance.clear()


@step(1)
def level_by_points(desk: Desk, n: Random) -> None:
    """Two points of a line that should be level."""
    scan = _some_scan(desk, n)
    if scan is not None:
        desk.canvas.take_hand("level")
        desk.click(_on(desk, n, scan))
        desk.click(_on(desk, n, scan))
        desk.canvas.take_hand("edit")


@step(2)
def mark_or_datum(desk: Desk, n: Random) -> None:
    """The CG marked, or the datum put elsewhere."""
    desk.canvas.take_hand(n.choice(("cg", "cg", "datum")))
    desk.click(place_on_sheet(desk, n))
    if n.random() < 0.3:
        desk.key(n.choice((Key.Key_Left, Key.Key_Up, Key.Key_Escape)))
    desk.canvas.take_hand("edit")


@step(1)
def straighten(desk: Desk, n: Random) -> None:
    """Four corners and two lengths; taken, taken back by Escape, or left in the middle."""
    scan = _some_scan(desk, n)
    if scan is None or scan.id not in desk.canvas.scan_sizes:
        return
    desk.canvas.take_hand("straighten")
    corners = corners_of(scan, desk.canvas.scan_sizes[scan.id])
    middle = corners.mean(axis=0)
    for corner in corners[: n.choice((4, 4, 4, 3))]:
        at = middle + (corner - middle) * n.uniform(0.6, 0.8)
        desk.click((float(at[0]), float(at[1])))
    page = desk.window.strip.straighten
    for field in (page.width_field, page.height_field):
        if field.isEnabled():
            desk.type_into(field, n.choice(("120 mm", "200", "8 in", "90 mm")))
    ending = n.choice(("done", "Return", "Escape", "undo", "leave"))
    if ending == "done" and page.done.isEnabled():
        page.done.click()
    elif ending in ("Return", "Escape"):
        desk.key(Key.Key_Return if ending == "Return" else Key.Key_Escape)
    elif ending == "undo":
        desk.window.undoing.undo()
    desk.canvas.take_hand("edit")
    desk.canvas.fit()


@step(1)
def join_sheets(desk: Desk, n: Random) -> None:
    """Two points of one sheet put where two of another lie; nudged afterwards."""
    scans = desk.document.committed.scans
    if len(scans) < 2:
        return
    desk.canvas.take_hand("join")
    one, other = n.sample(scans, 2)
    for scan in (one, other, one, other)[: n.choice((4, 4, 4, 2))]:
        desk.click(_on(desk, n, scan))
    if n.random() < 0.5:
        desk.key(n.choice((Key.Key_Left, Key.Key_Up, Key.Key_Backspace, Key.Key_Escape)))
    desk.canvas.take_hand("edit")


@step(2)
def drag_a_loose_scan(desk: Desk, n: Random) -> None:
    """A scan that is not locked is dragged where nothing else lies."""
    scan = _some_scan(desk, n)
    if scan is None:
        return
    desk.canvas.take_hand("edit")
    start = _on(desk, n, scan)
    end = near(desk, n, start, 40)
    desk.drag(start, end, drop=False)
    if n.random() < 0.2:
        desk.key(Key.Key_Escape)
    QTest.mouseRelease(desk.canvas, LEFT, FREE, desk.px(end))
