"""Steps on the file and on time: undo, redo, save, reopen, revert, another design."""

from __future__ import annotations

from collections.abc import Callable
from random import Random
from typing import Any

from desk import ROOT, Desk
from msgspec.structs import replace
from steps import step

from core.design_file import read

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
            desk.window.open_sample(str(n.choice(SAMPLES)))
        else:
            desk.do("new")
            desk.window.begin_blank()
    desk.until(desk.decoded, "the scans of the sample are there")
    desk.settle()


def open_at_first(desk: Desk, *, scans: bool = True) -> None:
    """The smallest sample to begin with; without ``scans`` its outlines alone."""
    if scans:
        desk.window.open_sample(str(SAMPLES[0]))
        desk.until(desk.decoded, "the scan is there")
    else:
        desk.document.start(replace(read(SAMPLES[0]).design, scans=()))
    desk.settle()
