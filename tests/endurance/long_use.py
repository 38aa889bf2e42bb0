"""Eight hours of editing in the real window, and what is left behind by them.

    python tests/endurance/long_use.py [GESTURES] [SEED]

GESTURES (100 000, one every 0.29 s for eight hours) are mostly drags, nudges, undo, redo and
selections, with traces, saves, scans opened and taken out, windows beside the window, kept states and
boxes in between. At ten places it is put into the same state and measured: memory, objects, timers,
threads, listeners, undo. Ends with 1 where memory grew by more than 10 % after the first fifth, or
where anything else was left behind.
"""

from __future__ import annotations

import gc
import sys
import tempfile
import threading
import time
from collections import Counter
from dataclasses import dataclass, fields
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).resolve().parent))

import steps_figures
import steps_files
import steps_outlines
import steps_redesign
import steps_sheets
from desk import FREE, SHIFT, Desk, own_home, shown_window
from msgspec.structs import replace
from PySide6.QtCore import QObject, Qt, QTimer
from PySide6.QtWidgets import QApplication
from steps import STEPS, Step, middle_of_edge, near, some_outline

from app.work.document import MOST_UNDONE
from core.design_file import read
from core.geometry.memo import IdentityMemo

MOST_NODES = 130
"""Three times those of the sample: more, and an hour of random clicks makes what nobody draws."""
CLOSE = 1.0
"""Pixels to the millimetre: from further away the smallest drag would be one of centimetres."""
FAR_PX = 6
"""Of a drag: the corrections of an evening, so that the aeroplane stays one."""
FLAT = 1.10
"""How much more memory than after the first fifth is still called flat."""
SLACK = {"qobjects": 40, "widgets": 2, "python": 0.02}
"""Objects made when first asked for, such as a tool tip or a plot's menu; Python's in parts of all."""
Key = Qt.Key
ROOMS = (steps_figures, steps_files, steps_outlines, steps_redesign, steps_sheets)


@dataclass(frozen=True)
class State:
    """What the process holds at one moment."""

    mb: float
    qobjects: int
    widgets: int
    timers: int
    threads: int
    python: int
    listeners: int
    undo: int
    pictures: int
    memos: int
    """Entries of the stores that keep results by identity."""

    @classmethod
    def of(cls, desk: Desk) -> State:
        """Measured with the window put into the same state as every time."""
        window, document = desk.window, desk.document
        window.side.close()
        back_to_work(desk)
        desk.do("theme-day")
        desk.canvas.take_hand("edit")
        window.tabs.setCurrentIndex(0)
        desk.settle()
        window.keeper.recovery.flush()
        desk.settle()
        gc.collect()
        everything = gc.get_objects()
        return cls(
            _memory_mb(), len(window.findChildren(QObject)), len(QApplication.topLevelWidgets()),
            len(window.findChildren(QTimer)), threading.active_count(), len(everything),
            len(document._listeners) + len(window.readout._listeners) + len(window.picked._listeners),
            len(document._done) + len(document._undone), len(document.pictures) + len(window.shelf.pictures),
            sum(len(memo._kept) for memo in everything if isinstance(memo, IdentityMemo)),
        )

    def line(self) -> str:
        """In one line."""
        return ", ".join(f"{field.name} {getattr(self, field.name):.6g}" for field in fields(self))


def _memory_mb() -> float:
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith("VmRSS"):
            return int(line.split()[1]) / 1024
    return float("nan")


def back_to_work(desk: Desk) -> None:
    """The window small, the aeroplane in it, seen from as close as one draws."""
    # What is left behind does not depend on how much is painted.
    small = desk.window.minimumSize()
    if desk.window.size() != small:
        desk.window.resize(small)
        desk.settle()
    desk.canvas.fit()
    desk.canvas.zoom(CLOSE / desk.canvas.view.scale)


def look_elsewhere(desk: Desk, n: Random) -> None:
    """Zoom, another size, list or theme, and back to work."""
    STEPS["look elsewhere"](desk, n)
    desk.settle()
    back_to_work(desk)


def drag_something(desk: Desk, n: Random) -> None:
    """A node or an edge of what is seen, some pixels far; the paper is moved where nothing is."""
    canvas = desk.canvas
    for _ in range(8):
        outline = some_outline(desk, n)
        if outline is None:
            return
        index = n.randrange(len(outline.nodes))
        node = outline.nodes[index]
        start = (node.x, node.z) if n.random() < 0.4 else middle_of_edge(outline, index)
        if canvas.rect().contains(desk.px(start)):
            break
    else:
        away = canvas.rect().center() - desk.px(start)
        canvas.set_view(canvas.view.panned(away.x(), away.y()))
    desk.drag(start, near(desk, n, start, FAR_PX), steps=n.choice((1, 1, 2)))


def nudge_something(desk: Desk, n: Random) -> None:
    """One arrow key."""
    way = n.choice((Key.Key_Left, Key.Key_Right, Key.Key_Up, Key.Key_Down))
    desk.key(way, n.choice((FREE, FREE, SHIFT)))
    desk.canvas.hand.settle()


def click_something(desk: Desk, n: Random) -> None:
    """Select by a click, on an edge or on nothing."""
    outline = some_outline(desk, n)
    if outline is not None:
        start = middle_of_edge(outline, n.randrange(len(outline.nodes)))
        desk.click(start if n.random() < 0.8 else (start[0] + 4000.0, start[1]))


def trace_and_delete(desk: Desk, n: Random) -> None:
    """A triangle is traced and deleted again."""
    steps_outlines.trace(desk, n)
    desk.canvas.take_hand("edit")
    if len(desk.design.outlines) > 9:
        desk.window.outlines.delete()


def scan_in_and_out(desk: Desk, n: Random) -> None:
    """A small scan is opened, looked at and taken out."""
    steps_sheets.open_scan(desk, n)
    desk.settle()
    for scan in desk.document.committed.scans[1:]:
        desk.window.scans._cards[scan.id]._remove()


def window_beside(desk: Desk, n: Random) -> None:
    """One of the windows beside the window is opened, sees an edit, and is closed."""
    name = n.choice((*steps_redesign.SIDE, "plug", "refit"))
    desk.window.side.show(name)
    desk.settle()
    if name not in ("plug", "refit"):
        nudge_something(desk, n)
        desk.settle()
    desk.window.side.close()


def begin_again(desk: Desk, n: Random) -> None:
    """Undo a little, then take the outlines as they were drawn, in one edit: the aeroplane stays one."""
    for _ in range(3):
        desk.document.undo("window")
    drawn = read(steps_files.SAMPLES[0]).design.outlines
    desk.document.apply("as drawn", lambda design: replace(design, outlines=drawn))


def put_right(desk: Desk) -> None:
    """Before a gesture: seen, editable, and no more parts than an aeroplane has."""
    design = desk.document.committed
    if desk.canvas.hand.name != "edit":
        desk.canvas.take_hand("edit")
    many = len(design.outlines) > 12 or sum(len(o.nodes) for o in design.outlines) > MOST_NODES
    if many or not design.outlines or all(o.hidden or o.locked for o in design.outlines):
        desk.window.filing.open_sample(steps_files.SAMPLES[0])
        desk.until(desk.decoded, "the scan is there")
    if desk.canvas.view.scale < CLOSE / 2:
        back_to_work(desk)


MIX: dict[str, tuple[int, Step]] = {
    "drag": (4500, drag_something), "nudge": (2000, nudge_something), "click": (900, click_something),
    "undo": (700, STEPS["undo"]), "redo": (500, STEPS["redo"]), "trace": (250, trace_and_delete),
    "corner or smooth": (150, STEPS["corner or smooth"]), "insert node": (60, STEPS["insert node"]),
    "outline form": (150, STEPS["outline form"]), "drag the aim": (100, STEPS["drag the aim"]),
    "weights": (80, STEPS["weights"]), "typed figure": (80, STEPS["typed figure"]),
    "kept states": (80, STEPS["kept states"]), "right button": (60, STEPS["right button"]),
    "mark or datum": (30, STEPS["mark or datum"]), "save": (40, STEPS["save"]),
    "window beside": (25, window_beside), "scan in and out": (25, scan_in_and_out),
    "scan card": (20, STEPS["scan card"]), "title and notes": (10, STEPS["title and notes"]),
    "begin again": (40, begin_again), "reopen": (4, STEPS["reopen"]),
    "look elsewhere": (60, look_elsewhere),
}


def main() -> int:
    """As the module says."""
    gestures = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        own_home(folder / "home")
        desk = Desk(shown_window(), folder)
        desk.hear_qt()
        steps_files.open_at_first(desk)
        back_to_work(desk)
        numbers, counts = Random(seed), Counter[str]()
        names = [name for name, (often, _) in MIX.items() for _ in range(often)]
        states: list[State] = []
        begun, told, longest_undo = time.monotonic(), 0, 0
        for number in range(1, gestures + 1):
            name = numbers.choice(names)
            desk.doing = f"gesture {number} ({name})"
            counts[name] += 1
            try:
                put_right(desk)
                MIX[name][1](desk, numbers)
            except Exception as error:
                desk.tell(error)
            desk.settle()
            longest_undo = max(longest_undo, len(desk.document._done))
            for fault in desk.faults[told:]:
                print(f"FAULT {fault}", flush=True)
            told = len(desk.faults)
            if number % 1000 == 0:
                print(f"{number}: {time.monotonic() - begun:.0f} s, {_memory_mb():.0f} MB", flush=True)
            if number % max(1, gestures // 10) == 0:
                states.append(State.of(desk))
                took = time.monotonic() - begun
                print(f"{number} gestures, {took:.0f} s: {states[-1].line()}", flush=True)
        took = time.monotonic() - begun
        print(f"{gestures} gestures, seed {seed}, {took:.0f} s, {1000 * took / gestures:.1f} ms each")
        print(", ".join(f"{name} {count}" for name, count in counts.most_common()))
        left = [*left_behind(states), *desk.faults]
        if longest_undo > MOST_UNDONE:
            left.append(f"undo held {longest_undo} entries")
        for words in left:
            print(f"LEFT BEHIND {words}")
        desk.leave()
        desk.window.canvas.hand.leave()
        for part in (desk.window.filing, desk.window.shelf, desk.window.keeper):
            part.stop()
        return 1 if left else 0


def left_behind(states: list[State]) -> list[str]:
    """What grew between the state after the first fifth and the last ones."""
    if len(states) < 5:
        return ["too few measurements"]
    first, last = states[1], states[-1]
    found = []
    most = max(state.mb for state in states[1:])
    print(f"memory {first.mb:.0f} MB after the first fifth, at most {most:.0f} MB later")
    if most > FLAT * first.mb:
        found.append(f"memory: {first.mb:.0f} MB, later {most:.0f} MB")
    for name, slack in (
        ("qobjects", SLACK["qobjects"]), ("widgets", SLACK["widgets"]), ("timers", 0), ("threads", 0),
        ("listeners", 0), ("python", SLACK["python"] * first.python + 40_000),
    ):
        if getattr(last, name) > getattr(first, name) + slack:
            found.append(f"{name}: {getattr(first, name)}, at the end {getattr(last, name)}")
    return found


if __name__ == "__main__":
    sys.exit(main())
