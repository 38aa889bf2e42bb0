"""The file menu: what is asked, what the title says, and that nothing is lost when the disk fails."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from driving import LEFT, SAMPLES, Driver, bare_sample, sample
from PySide6.QtCore import QSettings
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog

from app.keeping.recent import recent
from app.panels.welcome_parts import Entry
from core import design_file
from core.design import EMPTY
from core.design_file import DesignFileError, encode, read, write
from core.redesign.design_edits import set_cg

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")


class Asked:
    """Stands in for the system's own file dialogues, and remembers what they offered."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.answers: list[str] = []
        self.offered: list[str] = []
        for name in ("getOpenFileName", "getSaveFileName"):
            monkeypatch.setattr(QFileDialog, name, self._ask)

    def _ask(self, _parent: object, _title: str, start: str, _kinds: str, *_: object) -> tuple[str, str]:
        self.offered.append(start)
        return self.answers.pop(0), ""


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> Asked:
    return Asked(monkeypatch)


@pytest.fixture
def on_disk(tmp_path: Path) -> Path:
    path = tmp_path / "harrow.sternpost"
    write(path, bare_sample(), {})
    return path


def move_cg(driver: Driver, x: float = 400.0) -> None:
    driver.window.document.apply("mark CG", lambda d: set_cg(d, x, 0.0))


def title(driver: Driver) -> str:
    window = driver.window
    return window.windowTitle().replace("[*]", "*" if window.isWindowModified() else "")


# The mark of unsaved work


def test_the_title_marks_unsaved_work_honestly(driver: Driver, on_disk: Path) -> None:
    driver.window.filing.open_path(on_disk)
    assert title(driver) == "harrow.sternpost – Sternpost"
    driver.take("g")
    driver.click((400, 0))
    assert title(driver) == "harrow.sternpost* – Sternpost"
    driver.do("undo")
    assert title(driver) == "harrow.sternpost – Sternpost", "taken back is not unsaved"
    driver.do("redo")
    assert title(driver) == "harrow.sternpost* – Sternpost"
    driver.do("save")
    assert title(driver) == "harrow.sternpost – Sternpost"
    assert encode(read(on_disk).design) == encode(driver.design)
    driver.do("undo")
    assert title(driver) == "harrow.sternpost* – Sternpost", "the file holds what was undone"


# New and open


@pytest.mark.parametrize("answer", ["Discard", "Cancel", "Save"])
def test_new_asks_about_unsaved_work(driver: Driver, on_disk: Path, answer: str) -> None:
    driver.window.filing.open_path(on_disk)
    move_cg(driver)
    changed = driver.design
    driver.boxes.answer(answer)
    driver.do("new")
    assert "harrow.sternpost” has changes that are not saved" in driver.boxes.seen[0]
    if answer == "Cancel":
        assert driver.design is changed and driver.window.document.dirty
        assert driver.window.document.undo_name == "mark CG"
    else:
        assert driver.design == EMPTY and driver.window.document.path is None
        assert driver.window.middle.currentIndex() == 0, "the empty sheet is back"
        wanted = changed if answer == "Save" else bare_sample()
        assert encode(read(on_disk).design) == encode(wanted)


def test_new_without_unsaved_work_asks_nothing(driver: Driver, on_disk: Path) -> None:
    driver.window.filing.open_path(on_disk)
    driver.do("new")
    assert driver.boxes.seen == [] and driver.design == EMPTY


def test_open_takes_designs_and_scans_alike(driver: Driver, asked: Asked, on_disk: Path) -> None:
    asked.answers = ["", str(on_disk)]
    driver.do("open")
    assert driver.design == EMPTY, "no file chosen: nothing happens"
    driver.do("open")
    assert driver.window.document.path == on_disk
    assert encode(driver.design) == encode(bare_sample())


DAMAGED = {
    "empty.sternpost": b"", "words.json": b"{ not json", "cut.sternpost": b"PK\x03\x04 and no more",
    "later.json": b'{"format": 99, "title": "From the future"}',
    "misspelt.json": b'{"format": 1, "title": "a", "outlinse": []}',
}


@pytest.mark.parametrize("name", sorted(DAMAGED))
def test_a_damaged_design_is_said_and_the_present_one_stays(
    driver: Driver, on_disk: Path, tmp_path: Path, name: str
) -> None:
    driver.window.filing.open_path(on_disk)
    present, title_before = driver.design, title(driver)
    (tmp_path / name).write_bytes(DAMAGED[name])
    driver.boxes.answer("OK")
    driver.window.filing.open_path(tmp_path / name)
    (text,) = driver.boxes.seen
    assert text.startswith(f"{name} could not be opened.") and len(text) > len(name) + 30
    assert driver.design is present and title(driver) == title_before
    assert recent(QSettings())[0] == on_disk, "what could not be opened is not offered again"


def test_a_design_whose_scan_is_damaged_opens_with_its_outlines(driver: Driver, tmp_path: Path) -> None:
    path = tmp_path / "harrow.sternpost"
    found = sample()
    write(path, found.design, {found.design.scans[0].file: b"no picture any more"})
    driver.window.filing.open_path(path)
    driver.until(lambda: bool(driver.window.shelf.refused))
    assert encode(driver.design) == encode(found.design)
    assert found.design.scans[0].file in driver.said
    assert driver.window.answer.shown.figure
    assert not driver.window.document.dirty


# Save


def test_a_blank_design_is_saved_under_the_name_that_is_given(
    driver: Driver, asked: Asked, tmp_path: Path
) -> None:
    move_cg(driver)
    asked.answers = ["", str(tmp_path / "Reed Warbler")]
    driver.do("save")
    assert driver.window.document.dirty and list(tmp_path.iterdir()) == []
    driver.do("save")
    path = tmp_path / "Reed Warbler.sternpost"
    assert Path(asked.offered[0]).name == "Untitled.sternpost"
    assert driver.window.document.path == path and read(path).design.title == "Reed Warbler"
    assert title(driver) == "Reed Warbler.sternpost – Sternpost"
    move_cg(driver, 410)
    driver.do("save")
    assert len(asked.offered) == 2 and read(path).design.cg_mark == driver.design.cg_mark


def test_save_as_leaves_the_old_file_and_goes_on_in_the_new(
    driver: Driver, asked: Asked, on_disk: Path, tmp_path: Path
) -> None:
    driver.window.filing.open_path(on_disk)
    before = on_disk.read_bytes()
    move_cg(driver)
    asked.answers = [str(tmp_path / "second.json")]
    driver.do("save-as")
    assert asked.offered == [str(on_disk)]
    assert on_disk.read_bytes() == before
    assert encode(read(tmp_path / "second.json").design) == encode(driver.design)
    assert driver.window.document.path == tmp_path / "second.json"
    assert [p.name for p in recent(QSettings())][:2] == ["second.json", "harrow.sternpost"]


@pytest.mark.parametrize("entry", ["save", "save-as"])
def test_a_save_that_fails_keeps_the_work_the_mark_and_the_old_file(
    driver: Driver, asked: Asked, on_disk: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, entry: str
) -> None:
    def full(path: Path, _data: bytes) -> None:
        raise DesignFileError([f"{path.name} was not written (No space left on device); make room"])

    driver.window.filing.open_path(on_disk)
    before = on_disk.read_bytes()
    move_cg(driver)
    work = driver.design
    asked.answers = [str(tmp_path / "other.sternpost")]
    driver.boxes.answer("OK")
    with monkeypatch.context() as patch:
        patch.setattr(design_file, "write_filled", full)
        driver.do(entry)
    assert "was not saved; your work is still here. " in driver.boxes.seen[0]
    assert "No space left on device" in driver.boxes.seen[0]
    assert driver.design is work and driver.window.document.path == on_disk
    assert title(driver) == "harrow.sternpost* – Sternpost"
    assert on_disk.read_bytes() == before and not (tmp_path / "other.sternpost").exists()
    driver.do("save")
    assert encode(read(on_disk).design) == encode(work)


def test_saving_before_new_that_fails_stays_with_the_work(
    driver: Driver, on_disk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_path: Path, _data: bytes) -> None:
        raise DesignFileError(["the disk is full; make room"])

    driver.window.filing.open_path(on_disk)
    move_cg(driver)
    work = driver.design
    driver.boxes.answer("Save", "OK")
    monkeypatch.setattr(design_file, "write_filled", full)
    driver.do("new")
    assert driver.design is work and driver.window.document.dirty


# Revert, recent, samples


def test_revert_asks_and_takes_the_file_again(driver: Driver, on_disk: Path) -> None:
    driver.window.filing.open_path(on_disk)
    assert not driver.window.menus.actions["revert"].isEnabled()
    move_cg(driver)
    driver.boxes.answer("No", "Yes")
    driver.do("revert")
    assert driver.window.document.dirty
    driver.do("revert")
    assert encode(driver.design) == encode(bare_sample()) and not driver.window.document.dirty


def test_revert_to_a_file_that_is_gone_keeps_the_work(driver: Driver, on_disk: Path) -> None:
    driver.window.filing.open_path(on_disk)
    move_cg(driver)
    work = driver.design
    on_disk.unlink()
    driver.boxes.answer("Yes", "OK")
    driver.do("revert")
    assert "nothing was changed" in driver.boxes.seen[1] and driver.design is work


def test_recent_files_are_offered_in_menu_and_on_the_empty_sheet(
    driver: Driver, on_disk: Path, tmp_path: Path
) -> None:
    other = tmp_path / "other.sternpost"
    write(other, sample("tallow-twin").design, {})
    for path in (on_disk, other):
        driver.window.filing.open_path(path)
    actions = driver.window.menus.recent.actions()
    assert [a.text() for a in actions] == ["other.sternpost", "harrow.sternpost"]
    actions[1].trigger()
    assert driver.window.document.path == on_disk
    driver.do("new")
    driver.settle()
    texts = [e.text() for e in driver.window.welcome.findChildren(Entry)]
    assert any(t.startswith("harrow") for t in texts) and any(t.startswith("other") for t in texts)


def test_samples_open_without_a_file_so_that_saving_cannot_spoil_them(
    driver: Driver, asked: Asked, tmp_path: Path
) -> None:
    path = SAMPLES / "tallow-twin.sternpost"
    before = path.read_bytes()
    driver.window.filing.open_sample(path)
    driver.until_decoded(len(sample("tallow-twin").design.scans))
    assert driver.window.document.path is None and not driver.window.document.dirty
    assert title(driver) == f"{sample('tallow-twin').design.title} – Sternpost"
    move_cg(driver)
    asked.answers = [str(tmp_path / "mine.sternpost")]
    driver.do("save")
    assert Path(asked.offered[0]).name == f"{sample('tallow-twin').design.title}.sternpost"
    assert path.read_bytes() == before
    back = read(tmp_path / "mine.sternpost")
    assert encode(back.design) == encode(driver.design)
    assert back.pictures == sample("tallow-twin").pictures, "the scan goes along"


# Closing


@pytest.mark.parametrize("answer", ["Save", "Discard", "Cancel"])
def test_closing_with_unsaved_work_asks(
    new_window: Callable[[], Driver], on_disk: Path, answer: str
) -> None:
    driver = new_window()
    driver.window.filing.open_path(on_disk)
    driver.zoom_to((960, 84), 2.0)
    driver.drag((995, 84), (1010, 84))
    work = encode(driver.design)
    assert driver.window.document.dirty
    driver.boxes.answer(answer)
    closed = driver.window.close()
    assert closed == (answer != "Cancel") and driver.window.isVisible() == (answer == "Cancel")
    assert encode(read(on_disk).design) == (work if answer == "Save" else encode(bare_sample()))
    if answer == "Cancel":
        assert encode(driver.design) == work
        # The window works on as if nothing had been asked.
        QTest.mouseClick(driver.window.hands.buttons["cg"], LEFT)
        driver.click((400, 0))
        assert driver.window.document.undo_name == "mark CG"
