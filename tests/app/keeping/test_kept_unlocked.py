"""Kept work whose lock cannot be had is copied or named; several works are asked about at once."""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from driving import LEFT, Driver
from msgspec.structs import replace
from PySide6.QtCore import QLockFile, QTimer, QUrl
from PySide6.QtGui import QDesktopServices
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.keeping.claims import Claim
from app.keeping.kept_folder import KeptFolder
from app.keeping.lost_work import LostWork
from app.keeping.recovery import Recovery
from core.design import EMPTY, Node, Outline

ROOT = Path(__file__).resolve().parents[3]
FIN = Outline("fin", "fin", (Node(760, 40), Node(800, 150), Node(850, 40)))
DESIGN = replace(EMPTY, title="Reed Warbler", outlines=(FIN,))
POSIX = pytest.mark.skipif(sys.platform == "win32", reason="Windows knows who holds a file")
QUIET = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")

FULL = """
import json, resource, signal, sys
from pathlib import Path
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))
from app.keeping.recovery import Recovery
recovery = Recovery(Path(sys.argv[1]))
(salvage,) = recovery.found()
design, pictures, stamp = recovery.take(salvage)
recovery.keep(design, pictures, None)
recovery.flush()
print(json.dumps([salvage.copy, design.title, recovery.trouble]))
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "recovery"


@pytest.fixture
def lost(folder: Path) -> Callable[[str], Path]:
    """Leaves work behind as a window does that was ended without clearing; gives its file."""

    def leave(title: str) -> Path:
        recovery = Recovery(folder)
        recovery.keep(replace(DESIGN, title=title), {}, None)
        recovery.stop()
        return recovery._file

    return leave


@pytest.fixture
def recovery(folder: Path) -> Iterator[Recovery]:
    made = Recovery(folder)
    yield made
    made.stop()


def lock_words(pid: int, host: str) -> bytes:
    """A lock file as Qt writes it for a process of this name, on this or another computer."""
    lock = QLockFile(str(Path(os.environ["HOME"]) / "model.lock"))
    assert lock.tryLock(0)
    lines = Path(lock.fileName()).read_bytes().split(b"\n")
    lock.unlock()
    if host != socket.gethostname():
        lines[3:5] = [b"0" * 32, b"0" * 36]
    return b"\n".join([str(pid).encode(), lines[1], host.encode(), *lines[3:]])


@POSIX
@pytest.mark.parametrize("left", ["number used again", "home of another computer"])
def test_a_lock_that_only_looks_held_hides_nothing(
    folder: Path, lost: Callable[[str], Path], recovery: Recovery, left: str
) -> None:
    file = lost("Reed Warbler")
    here = socket.gethostname()
    # This very process: one that lives, bears the right name, and never held this lock.
    words = lock_words(os.getpid(), here if left == "number used again" else "shed")
    file.with_suffix(".lock").write_bytes(words)
    (folder / "door.lock").write_bytes(words)
    probe = QLockFile(str(file.with_suffix(".lock")))
    probe.setStaleLockTime(0)
    assert not probe.tryLock(0), "Qt takes it for held"
    (salvage,) = recovery.found()
    assert salvage.copy == "" and recovery.take(salvage)[0].title == "Reed Warbler"
    assert not file.exists()


@POSIX
@pytest.mark.parametrize("left", ["number used again", "home of another computer"])
def test_a_mark_of_an_open_file_that_only_looks_held_is_none(tmp_path: Path, left: str) -> None:
    first, path = Claim(tmp_path / "open"), tmp_path / "a.sternpost"
    assert first.take(path)
    (mark,) = (tmp_path / "open").iterdir()
    other = Claim(tmp_path / "open")
    assert not other.take(path), "that window lives"
    first.release()
    here = socket.gethostname()
    mark.write_bytes(lock_words(os.getpid(), here if left == "number used again" else "shed"))
    assert other.take(path)
    other.release()


@POSIX
def test_a_lock_that_is_held_is_believed(lost: Callable[[str], Path], recovery: Recovery) -> None:
    file = lost("Reed Warbler")
    lock = QLockFile(str(file.with_suffix(".lock")))
    assert lock.tryLock(0)
    assert recovery.found() == [] and recovery.passed_over == ()
    lock.unlock()
    assert len(recovery.found()) == 1


@pytest.mark.skipif(sys.platform != "linux", reason="a limit that the system itself refuses by")
def test_with_a_full_disk_at_the_restart_the_work_comes_back_and_stays_kept(
    folder: Path, lost: Callable[[str], Path], recovery: Recovery
) -> None:
    """In a child process that may write nothing (setrlimit): the system itself refuses lock and file."""
    file = lost("Reed Warbler")
    before = file.read_bytes()
    done = subprocess.run(
        [sys.executable, "-c", FULL, str(folder)], capture_output=True, text=True, timeout=60, check=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    _, title, trouble = json.loads(done.stdout)
    assert title == "Reed Warbler" and "cannot be kept safe" in trouble
    kept = [path for path in folder.glob("*.json") if path.read_bytes() == before]
    assert len(kept) == 1, "under its own name or that of the window that died since"
    (salvage,) = recovery.found()
    assert salvage.title == "Reed Warbler" and recovery.take(salvage)[0].outlines == (FIN,)


def test_where_no_lock_can_be_made_it_is_a_copy(
    lost: Callable[[str], Path], recovery: Recovery, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = lost("Reed Warbler")

    class NoRoom(QLockFile):
        def tryLock(self, timeout: int = 0) -> bool:
            return False

        def error(self) -> QLockFile.LockError:
            return QLockFile.LockError.UnknownError

    with monkeypatch.context() as patch:
        patch.setattr("app.keeping.locks.QLockFile", NoRoom)
        (salvage,) = recovery.found()
        assert salvage.copy == "the disk of kept work takes no more files"
        assert recovery.take(salvage)[0].title == "Reed Warbler" and file.exists()
    assert [s.copy for s in recovery.found()] == [""]


def test_what_cannot_be_read_is_named(lost: Callable[[str], Path], recovery: Recovery) -> None:
    foreign, damaged = lost("One"), lost("Two")
    raw = json.loads(foreign.read_text())
    foreign.write_text(json.dumps({**raw, "recovery": 99, "design": "packed"}))
    damaged.write_bytes(b"{")
    assert recovery.found() == []
    assert len(recovery.passed_over) == 2
    assert any("another version of Sternpost kept this work" in one for one in recovery.passed_over)
    aside = damaged.parent / "damaged" / damaged.name
    assert any(f"it lies in {aside}" in one for one in recovery.passed_over)


# Asked about together


class Clicks:
    """Does one thing after the other with the list, each time that it is shown."""

    def __init__(self, *steps: Callable[[LostWork], None]) -> None:
        self.seen: list[list[str]] = []
        self._steps = list(steps)
        self._timer = QTimer()
        self._timer.setInterval(5)
        self._timer.timeout.connect(self._look)
        self._timer.start()

    def _look(self) -> None:
        dialog = QApplication.activeModalWidget()
        if isinstance(dialog, LostWork) and dialog.isVisible() and self._steps:
            self.seen.append([dialog.list.item(i).text() for i in range(dialog.list.count())])
            self._steps.pop(0)(dialog)

    def stop(self) -> None:
        self._timer.stop()
        assert not self._steps


def press(button: str, row: int = 0) -> Callable[[LostWork], None]:
    def go(dialog: LostWork) -> None:
        QTest.mouseClick(
            dialog.list.viewport(), LEFT, pos=dialog.list.visualItemRect(dialog.list.item(row)).center()
        )
        QTest.mouseClick(getattr(dialog, button), LEFT)

    return go


@QUIET
def test_several_lost_works_are_asked_about_in_one_list(driver: Driver) -> None:
    keeper = driver.window.keeper
    for title in ("One", "Two", "Three"):
        made = Recovery(keeper.recovery._folder)
        made.keep(replace(DESIGN, title=title), {}, None)
        made.stop()
    clicks = Clicks(press("discard", 1), press("take", 1))
    assert keeper.offer()
    clicks.stop()
    assert [[row.split("  ")[0] for row in rows] for rows in clicks.seen] == [
        ["Three", "Two", "One"], ["Three", "One"],
    ]
    assert driver.design.title == "One" and driver.window.document.dirty
    # The third is asked about when it is asked for, once what is in hand has been seen to.
    driver.boxes.answer("Take it back", "Discard")
    driver.do("kept-work")
    assert driver.design.title == "Three"
    driver.do("kept-work")
    assert driver.said == "No work of another window is kept."


@QUIET
def test_what_is_passed_over_is_said_at_the_start(driver: Driver) -> None:
    keeper = driver.window.keeper
    made = Recovery(keeper.recovery._folder)
    made.keep(DESIGN, {}, None)
    made.stop()
    made._file.write_bytes(b"{")
    driver.boxes.answer("OK")
    assert not keeper.offer()
    assert "kept work that cannot be offered" in driver.boxes.seen[-1]
    assert "the recovery file is damaged" in driver.boxes.seen[-1]


def out_of_reach(file: Path) -> bytes:
    """The one outline of kept work, moved to where no design may have it; there is a weight beside it."""
    raw = json.loads(file.read_text())
    raw["design"]["outlines"][0]["nodes"][0]["x"] = 2e6
    raw["design"]["notes"] = "w" * 100_500
    raw["design"]["weights"] = [{"id": "pack", "grams": 180, "x": 40}]
    file.write_text(json.dumps(raw))
    return file.read_bytes()


@QUIET
def test_work_that_breaks_the_rules_is_offered_without_what_breaks_them(
    driver: Driver, tmp_path: Path
) -> None:
    keeper = driver.window.keeper
    made = Recovery(keeper.recovery._folder)
    made.keep(DESIGN, {}, tmp_path / "reed.sternpost")
    made.stop()
    spoilt = out_of_reach(made._file)
    driver.boxes.answer("Ask again later")
    assert not keeper.offer() and made._file.read_bytes() == spoilt
    driver.boxes.answer("Take it back")
    assert keeper.offer()
    said = driver.boxes.seen[-1]
    assert "without: notes beyond 100 000 letters, outline “fin” (2e+06 is out of reach)" in said
    assert "“reed.sternpost” stays as it is" in said
    assert driver.design.outlines == () and [weight.id for weight in driver.design.weights] == ["pack"]
    assert driver.window.document.dirty and driver.window.document.path is None
    assert (made._folder / "damaged" / made._file.name).read_bytes() == spoilt


@QUIET
def test_in_the_list_too_it_says_what_is_left_out(driver: Driver) -> None:
    keeper = driver.window.keeper
    files = []
    for title in ("One", "Two"):
        made = Recovery(keeper.recovery._folder)
        made.keep(replace(DESIGN, title=title), {}, None)
        made.stop()
        files.append(made._file)
    out_of_reach(files[0])
    clicks = Clicks(press("discard", 0))
    driver.boxes.answer("Take it back")
    assert keeper.offer()
    clicks.stop()
    assert "without notes beyond 100 000 letters, outline “fin”" in clicks.seen[0][1]
    assert "without" not in clicks.seen[0][0] and driver.design.title == "One"


@QUIET
def test_work_of_another_version_comes_back_as_a_copy(driver: Driver) -> None:
    keeper = driver.window.keeper
    made = Recovery(keeper.recovery._folder)
    made.keep(DESIGN, {}, None)
    made.stop()
    made._file.write_text(json.dumps({**json.loads(made._file.read_text()), "recovery": 7}))
    driver.boxes.answer("Take it back")
    assert keeper.offer()
    said = driver.boxes.seen[-1]
    assert "without: what recovery format 7 has beyond 1, which is known here. Take it back?" in said
    assert "as a copy, since another version of Sternpost kept it; what was kept stays where it is" in said
    assert driver.design.outlines == DESIGN.outlines and driver.window.document.dirty and made._file.exists()
    driver.boxes.answer("Throw it away")
    assert not keeper.offer() and not made._file.exists()


@QUIET
def test_what_lies_aside_is_shown_and_deleted_after_one_question(
    driver: Driver, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown: list[str] = []

    def show(url: QUrl) -> bool:
        shown.append(url.toLocalFile())
        return True

    monkeypatch.setattr(QDesktopServices, "openUrl", show)
    monkeypatch.setattr(driver.window.keeper.recovery, "_kept", KeptFolder(folder))
    driver.boxes.answer("OK")
    driver.do("damaged-work")
    assert driver.boxes.seen[-1] == "No damaged recovery files have been set aside."
    aside = folder / "damaged"
    aside.mkdir(parents=True)
    for i in range(2):
        (aside / f"{i}.json").write_bytes(bytes(70_000))
    driver.boxes.answer("Show the folder")
    driver.do("damaged-work")
    assert "2 damaged recovery files, 0.1 MB with scans, set aside." in driver.boxes.seen[-1]
    assert f"In {aside}." in driver.boxes.seen[-1] and shown == [str(aside)]
    driver.boxes.answer("Delete…", "No", "Close")
    for _ in range(2):
        driver.do("damaged-work")
    assert len(list(aside.iterdir())) == 2
    driver.boxes.answer("Delete…", "Yes")
    driver.do("damaged-work")
    assert list(aside.iterdir()) == []
    assert "Delete 2 damaged recovery files for good?" in driver.boxes.seen[-1]
