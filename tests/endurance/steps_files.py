"""Steps on the file and on time: undo, redo, save, reopen, revert, another design."""

from __future__ import annotations

from collections.abc import Callable
from random import Random
from typing import Any

from desk import LEFT, ROOT, Desk
from msgspec.structs import replace
from PySide6.QtTest import QTest
from steps import near, some_outline, step

from app.paper.exchange import exported
from core.design_file import read
from core.exchange.faults import ExchangeError

SAMPLES = sorted((ROOT / "sample_designs").glob("*.sternpost"))


@step(8)
def undo(desk: Desk, n: Random) -> None:
    """A few times, by the menu."""
    for _ in range(n.choice((1, 1, 1, 2, 5))):
        desk.do("undo")


@step(6)
def redo(desk: Desk, n: Random) -> None:
    """A few times, by the menu."""
    for _ in range(n.choice((1, 1, 2, 3, 8))):
        desk.do("redo")


@step(3)
def save(desk: Desk, n: Random) -> None:
    """To its own file, or to a new one."""
    desk.save_name = str(desk.folder / f"design {n.randint(1, 3)}.sternpost")
    desk.do(n.choice(("save", "save", "save-as")))


def written_is_committed(desk: Desk, n: Random) -> None:
    """Save or export to a new file: it holds the committed design, whatever is on view."""
    to = n.choice(("save-as", "csv", "svg"))
    path = desk.folder / f"written {desk.doing.split()[1]}.{'sternpost' if to == 'save-as' else to}"
    desk.save_name = str(path)
    if to == "save-as":
        desk.do(to)
        if read(path).design != desk.document.committed:
            desk.fault("the file that was saved is not the committed design")
        path.unlink()
        desk.save_name = str(desk.folder / "design 1.sternpost")
        desk.do(to)
        return
    try:
        wanted = exported(desk.document.committed, to)
    except ExchangeError:
        return
    desk.do(f"export-{to}")
    if path.read_bytes() != wanted:
        desk.fault(f"what was exported as {to} is not the committed design")
    path.unlink()


@step(1)
def save_in_a_drag(desk: Desk, n: Random) -> None:
    """Saved or exported while an outline is in the hand; then the hand goes on."""
    outline = some_outline(desk, n)
    if outline is None or not desk.document.committed.outlines:
        return
    desk.canvas.take_hand("edit")
    node = n.choice(outline.nodes)
    start = (node.x, node.z)
    end = near(desk, n, start, 40)
    desk.click(start)
    desk.drag(start, end, drop=False)
    written_is_committed(desk, n)
    QTest.mouseRelease(desk.canvas, LEFT, pos=desk.px(end))


def leaving(n: Random) -> Callable[[Any], object]:
    """What is answered when unsaved work is asked about."""
    words = n.choice(("Save", "Discard", "Discard", "Cancel"))

    def choose(box: Any) -> None:
        button = next((b for b in box.buttons() if b.text().replace("&", "") == words), None)
        button.click() if button is not None else box.reject()

    return choose


@step(1)
def reopen(desk: Desk, n: Random) -> None:
    """Open a file that was saved before, this one or another."""
    files = sorted(desk.folder.glob("*.sternpost"))
    if files:
        with desk.answering(leaving(n)):
            desk.window.filing.open_path(n.choice(files))
        desk.until(desk.decoded, "the scans of the file are there")


@step(1)
def revert(desk: Desk, n: Random) -> None:
    """Back to what the file holds, or not after all."""

    def choose(box: Any) -> None:
        words = n.choice(("Yes", "No"))
        next(b for b in box.buttons() if b.text().replace("&", "") == words).click()

    with desk.answering(choose):
        desk.do("revert")
    desk.until(desk.decoded, "the scans are there again")


@step(1)
def another_design(desk: Desk, n: Random) -> None:
    """A sample, or an empty sheet."""
    with desk.answering(leaving(n)):
        if n.random() < 0.85:
            desk.window.filing.open_sample(n.choice(SAMPLES))
        else:
            desk.do("new")
            desk.window.begin_blank()
    desk.until(desk.decoded, "the scans of the sample are there")
    desk.settle()


def open_at_first(desk: Desk, *, scans: bool = True) -> None:
    """The smallest sample to begin with; without ``scans`` its outlines alone."""
    if scans:
        desk.window.filing.open_sample(SAMPLES[0])
        desk.until(desk.decoded, "the scan is there")
    else:
        desk.document.start(replace(read(SAMPLES[0]).design, scans=()))
    desk.settle()
