"""When storage fails: the old file, the window, the work and its mark stay, and the sentence helps."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
import threading
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest
from driving import SAMPLES, Driver, bare_sample
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QFileDialog, QProgressDialog
from test_window_files import move_cg, title

from app.keeping.recovery import Recovery
from app.work import saving as saving_module
from core import file_writing
from core.design import Design
from core.design_file import DesignFileError, encode, read, write
from core.redesign.design_edits import set_cg

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")


@pytest.fixture
def on_disk(tmp_path: Path) -> Path:
    path = tmp_path / "shed" / "harrow.sternpost"
    path.parent.mkdir()
    write(path, bare_sample(), {})
    return path


def fails(number: int) -> Callable[..., object]:
    def fail(*_: object, **__: object) -> object:
        raise OSError(number, os.strerror(number))

    return fail


FAULTS = {
    # What fails, how the system words it to us, what we tell the builder.
    "full disk while writing": ("fsync", errno.ENOSPC, "the disk is full; free some space"),
    "quota used up": ("fsync", errno.EDQUOT, "the disk quota is used up"),
    "stick pulled while writing": ("fsync", errno.EIO, "the disk reported a fault; choose another disk"),
    "read-only folder": ("mkstemp", errno.EACCES, "permission was refused; choose another folder"),
    "read-only disk": ("mkstemp", errno.EROFS, "the place is read-only; choose another folder"),
    "permission lost while saving": ("replace", errno.EPERM, "permission was refused"),
    "drive gone at the last step": ("replace", errno.ENOENT, "there is no such file or folder"),
}


@pytest.mark.parametrize("name", sorted(FAULTS))
def test_a_save_that_the_system_refuses_loses_nothing(
    driver: Driver, on_disk: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    what, number, sentence = FAULTS[name]
    driver.window.filing.open_path(on_disk)
    before = on_disk.read_bytes()
    move_cg(driver)
    work = driver.design
    owner = {"fsync": file_writing.os, "mkstemp": file_writing.tempfile, "replace": Path}[what]
    driver.boxes.answer("OK")
    with monkeypatch.context() as patch:
        patch.setattr(owner, what, fails(number))
        driver.do("save")
    assert sentence in driver.boxes.seen[0] and "your work is still here" in driver.boxes.seen[0]
    assert driver.design is work and title(driver) == "harrow.sternpost* – Sternpost"
    assert on_disk.read_bytes() == before
    assert [p.name for p in on_disk.parent.iterdir()] == ["harrow.sternpost"], "nothing is left behind"
    driver.do("save")
    assert encode(read(on_disk).design) == encode(work) and not driver.window.document.dirty


def test_a_disk_that_really_takes_no_more_leaves_the_old_file(tmp_path: Path) -> None:
    """In a child process that may write 20 000 bytes a file (setrlimit): the system itself refuses."""
    path = tmp_path / "small.sternpost"
    write(path, bare_sample(), {})
    before = path.read_bytes()
    assert len(before) < 20_000
    code = (
        "import resource, signal, sys\n"
        "from pathlib import Path\n"
        "from core.design_file import DesignFileError, write_bytes\n"
        "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))\n"
        "try:\n    write_bytes(Path(sys.argv[1]), bytes(1_000_000))\n"
        "except DesignFileError as error:\n    print(error)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(path)], capture_output=True, text=True, timeout=60, check=True,
        cwd=Path(__file__).parents[3],
    )
    assert done.stdout.startswith("it could not be written: ")
    assert path.read_bytes() == before and len(list(tmp_path.iterdir())) == 1


def test_a_drive_that_is_gone(driver: Driver, on_disk: Path) -> None:
    driver.window.filing.open_path(on_disk)
    move_cg(driver)
    on_disk.unlink()
    on_disk.parent.rmdir()
    driver.boxes.answer("OK")
    driver.do("save")
    assert "there is no such file or folder" in driver.boxes.seen[0]
    assert driver.window.document.dirty
    on_disk.parent.mkdir()
    driver.do("save")
    assert on_disk.exists() and not driver.window.document.dirty


def test_a_name_that_is_too_long(
    driver: Driver, on_disk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    driver.window.filing.open_path(on_disk)
    move_cg(driver)
    long = on_disk.with_name("x" * 300 + ".sternpost")
    answers = [str(long), ""]
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (answers.pop(0), ""))
    driver.boxes.answer("OK")
    driver.do("save-as")
    assert "the name is too long; choose a shorter one" in driver.boxes.seen[0]
    assert driver.window.document.path == on_disk and driver.window.document.dirty


def test_a_symbolic_link_stays_one_and_its_file_is_replaced(driver: Driver, on_disk: Path) -> None:
    link = on_disk.with_name("link.sternpost")
    link.symlink_to(on_disk)
    driver.window.filing.open_path(link)
    move_cg(driver)
    driver.do("save")
    assert link.is_symlink() and encode(read(on_disk).design) == encode(driver.design)
    assert not driver.window.document.changed_behind, "our own saving is not somebody else's"


def test_links_that_go_round_in_circles_hold_nothing_and_lose_nothing(tmp_path: Path) -> None:
    one, other = tmp_path / "one.sternpost", tmp_path / "other.sternpost"
    one.symlink_to(other)
    other.symlink_to(one)
    with pytest.raises(DesignFileError, match="could not be read"):
        read(one)
    write(one, bare_sample(), {})
    assert encode(read(one).design) == encode(bare_sample())


def changed_elsewhere(path: Path) -> Design:
    from msgspec.structs import replace

    theirs = replace(bare_sample(), title="Theirs")
    write(path, theirs, {})
    return theirs


def test_a_file_changed_behind_the_back_is_never_overwritten_unasked(
    driver: Driver, on_disk: Path
) -> None:
    driver.window.filing.open_path(on_disk)
    move_cg(driver)
    theirs = changed_elsewhere(on_disk)
    driver.boxes.answer("Cancel")
    driver.do("save")
    assert "was changed by another window or program" in driver.boxes.seen[0]
    assert read(on_disk).design == theirs and driver.window.document.dirty


def test_the_builder_may_save_over_it_or_beside_it(
    driver: Driver, on_disk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    driver.window.filing.open_path(on_disk)
    move_cg(driver)
    theirs = changed_elsewhere(on_disk)
    other = on_disk.with_name("mine.sternpost")
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(other), ""))
    driver.boxes.answer("Save under another name…")
    driver.do("save")
    assert read(on_disk).design == theirs and driver.window.document.path == other
    assert encode(read(other).design) == encode(driver.design)

    move_cg(driver, 350.0)
    changed_elsewhere(other)
    driver.boxes.answer("Save over it")
    driver.do("save")
    assert encode(read(other).design) == encode(driver.design) and not driver.window.document.dirty


def test_two_windows_on_one_file(new_window: Callable[[], Driver], on_disk: Path) -> None:
    one, other = new_window(), new_window()
    one.window.filing.open_path(on_disk)
    assert one.said == ""
    other.window.filing.open_path(on_disk)
    assert other.said == "harrow.sternpost is open in another window too: save there or here, not both."
    move_cg(one, 410.0)
    move_cg(other, 420.0)
    one.do("save")
    other.boxes.answer("Cancel")
    other.do("save")
    assert encode(read(on_disk).design) == encode(one.design)
    assert other.window.document.dirty and not one.window.document.dirty


@pytest.mark.parametrize("by", ["new", "sample", "save as", "close"])
def test_a_file_that_was_left_is_open_here_no_more(
    new_window: Callable[[], Driver], on_disk: Path, monkeypatch: pytest.MonkeyPatch, by: str
) -> None:
    one, other = new_window(), new_window()
    one.window.filing.open_path(on_disk)
    if by == "new":
        one.do("new")
    elif by == "sample":
        one.window.filing.open_sample(SAMPLES / "tallow-twin.sternpost")
    elif by == "save as":
        beside = str(on_disk.with_name("beside.sternpost"))
        monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (beside, ""))
        one.do("save-as")
    else:
        one.window.close()
    other.window.filing.open_path(on_disk)
    assert other.said == ""


def test_work_taken_back_has_its_file_open(new_window: Callable[[], Driver], on_disk: Path) -> None:
    lost = Recovery()
    lost.opened(on_disk)
    lost.keep(set_cg(bare_sample(), 400.0, 0.0), {}, on_disk)
    lost.stop()
    one, other = new_window(), new_window()
    one.boxes.answer("Take it back")
    assert one.window.keeper.offer() and one.window.document.path == on_disk
    other.window.filing.open_path(on_disk)
    assert other.said == "harrow.sternpost is open in another window too: save there or here, not both."


def test_a_slow_drive_does_not_stop_the_window(
    driver: Driver, on_disk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    driver.window.filing.open_path(on_disk)
    move_cg(driver)
    words: list[str] = []
    alive = threading.Event()
    clock = QTimer()
    clock.setInterval(10)

    def tick() -> None:
        dialog = QApplication.activeModalWidget()
        if isinstance(dialog, QProgressDialog):
            words.append(dialog.labelText())
        if len(words) == 20:
            alive.set()

    clock.timeout.connect(tick)

    def slow(*args: object) -> Mapping[str, str]:
        # As slow as it takes to see that the window is not waiting for it.
        alive.wait(60)
        return write(*args)  # type: ignore[arg-type]

    monkeypatch.setattr(saving_module, "write", slow)
    clock.start()
    driver.do("save")
    clock.stop()
    assert alive.is_set(), "the window's own timer went on while the drive was busy"
    assert words[0] == "Saving harrow.sternpost…"
    assert encode(read(on_disk).design) == encode(driver.design) and not driver.window.document.dirty


def test_work_that_cannot_be_kept_safe_is_said(driver: Driver, monkeypatch: pytest.MonkeyPatch) -> None:
    import app.keeping.recovery as recovery

    monkeypatch.setattr(recovery, "replace_file", fails(errno.ENOSPC))
    move_cg(driver)
    note = driver.window.unsafe
    driver.until(note.isVisible)
    assert note.text() == (
        "Unsaved work cannot be kept safe: No space left on device; save the design now."
    )
    # Three more gestures are not kept either, and it goes on saying so.
    for x in (310.0, 320.0, 330.0):
        move_cg(driver, x)
        driver.window.keeper.recovery.flush()
        driver.settle()
        assert note.isVisible()
    driver.boxes.answer("Cancel")
    assert not driver.window.filing.may_leave()
    assert "cannot be kept safe: No space left on device" in driver.boxes.seen[-1]
    monkeypatch.undo()
    # Nobody does anything: it is tried again all the same.
    driver.window.keeper._again.timeout.emit()
    driver.until(lambda: not note.isVisible())
    assert driver.window.keeper.recovery.trouble is None
    assert not driver.window.keeper._again.isActive()
