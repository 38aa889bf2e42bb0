"""A stranger's bare design in the window and on the command line: what of the builder's files it gets."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from driving import ROOT, Driver, bare_sample, scan_bytes
from msgspec.structs import replace
from PySide6.QtCore import QMimeData, QUrl
from PySide6.QtWidgets import QFileDialog

from app.__main__ import main
from app.window import filing
from core import design_scans
from core.design import Design, Scan
from core.design_file import encode, read

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support")
SECRETS = {
    "private.txt": b"the safe opens at 17 23 5\n",
    # Begins like a picture, or like a PDF, and is none.
    "memo.txt": b"BM: the safe opens at 17 23 5\n",
    "paper.txt": b"%PDF-1.7 the safe opens at 17 23 5\n",
    "letter.png": b"\x89PNG\r\n\x1a\nthe safe opens at 17 23 5",
}
SECRET = b"the safe opens at"
needs_pipes = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")


def naming(*names: str) -> Design:
    return replace(bare_sample(), scans=tuple(Scan(f"s{i}", name) for i, name in enumerate(names)))


@pytest.fixture
def strangers(tmp_path: Path) -> Path:
    """A bare design among the builder's own files, all of which it names as scans."""
    for name, data in SECRETS.items():
        (tmp_path / name).write_bytes(data)
    (tmp_path / "plan.png").write_bytes(scan_bytes())
    path = tmp_path / "free-plan.json"
    path.write_bytes(encode(naming(*SECRETS, "plan.png")))
    return path


def assert_packed_alone(path: Path) -> None:
    """No secret left with the design, and the plan did."""
    with zipfile.ZipFile(path) as container:
        assert sorted(container.namelist()) == ["design.json", "plan.png"]
    assert SECRET not in path.read_bytes()


def test_save_as_packs_what_opened_as_a_picture_and_nothing_else(
    driver: Driver, strangers: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "mine.sternpost"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(out), ""))
    driver.window.filing.open_path(strangers)
    driver.until(lambda: driver.window.shelf.picture_of(driver.design.scans[-1]) is not None)
    assert "private.txt" in driver.said, "the first that is missing is named"
    assert len(driver.window.document.troubles) == len(SECRETS)
    driver.do("save-as")
    assert_packed_alone(out)
    assert len(read(out).design.scans) == len(SECRETS) + 1, "the design itself is as it was"


def test_saved_bare_beside_another_picture_of_the_same_name_both_stay(
    driver: Driver, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    here, there = tmp_path / "here", tmp_path / "there"
    here.mkdir()
    there.mkdir()
    (here / "plan.png").write_bytes(scan_bytes())
    (here / "a.json").write_bytes(encode(naming("plan.png", "lost.png")))
    for name in ("plan.png", "lost.png"):
        (there / name).write_bytes(SECRETS["letter.png"])
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(there / "a.json"), ""))
    driver.window.filing.open_path(here / "a.json")
    driver.do("save-as")
    driver.until(lambda: driver.window.shelf.picture_of(driver.design.scans[0]) is not None)
    assert driver.design.scans[0].file == "plan-2.png"
    assert driver.said.startswith("“plan.png” is named “plan-2.png” in a.json: the folder has another file")
    for _ in range(2):
        found = read(there / "a.json")
        assert [scan.file for scan in found.design.scans] == ["plan-2.png", "lost-2.png"]
        assert dict(found.pictures) == {"plan-2.png": scan_bytes()}
        assert {(there / name).read_bytes() for name in ("plan.png", "lost.png")} == {SECRETS["letter.png"]}
        # What is in hand is what is in the file, and stays so.
        assert not driver.window.document.dirty
        driver.window.edits.set_units("in64")
        driver.do("save")


def test_the_command_line_packs_no_more(
    strangers: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "longer.sternpost"
    assert main(["plug", str(strangers), "--at", "500", "--length", "20", "-o", str(out)]) == 0
    assert_packed_alone(out)
    said = capsys.readouterr().err
    assert all(name in said for name in SECRETS)


def command(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "app", *words], cwd=ROOT, capture_output=True, text=True, timeout=60,
        check=False,
    )


@needs_pipes
def test_pipes_named_as_scans_hang_no_command(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "plan.png")
    path = tmp_path / "a.json"
    path.write_bytes(encode(naming("plan.png")))
    out = command("readings", str(path))
    assert out.returncode == 0 and "it is a pipe or a device" in out.stdout
    out = command("check", str(path))
    assert out.returncode == 1 and "it is a pipe or a device" in out.stdout
    pipe = str(tmp_path / "plan.png")
    for words in (["readings", pipe], ["card", pipe, "-o", str(tmp_path / "x.pdf")]):
        out = command(*words)
        assert out.returncode == 2 and "this is a pipe or a device; name a file" in out.stderr


@needs_pipes
@pytest.mark.parametrize("name", ("pipe.png", "pipe.json", "pipe.sternpost", "pipe.svg"))
def test_a_pipe_that_is_dropped_is_refused(driver: Driver, tmp_path: Path, name: str) -> None:
    os.mkfifo(tmp_path / name)
    mime = QMimeData()
    mime.setUrls([QUrl.fromLocalFile(str(tmp_path / name))])
    driver.boxes.answer("OK")
    driver.window.filing.take_mime(mime)
    assert "pipe or a device" in driver.boxes.seen[-1]


@needs_pipes
def test_a_design_whose_scan_is_a_pipe_opens_with_its_outlines(driver: Driver, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "plan.png")
    path = tmp_path / "a.json"
    path.write_bytes(encode(naming("plan.png")))
    driver.window.filing.open_path(path)
    assert driver.design.outlines and "it is a pipe or a device" in driver.said


def test_scans_are_not_read_in_the_drawing_thread(
    driver: Driver, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    threads: list[str] = []

    def noted(real: Callable[..., object]) -> Callable[..., object]:
        def call(*given: object, **named: object) -> object:
            threads.append(threading.current_thread().name)
            return real(*given, **named)

        return call

    monkeypatch.setattr(filing, "content", noted(filing.content))
    monkeypatch.setattr(design_scans, "opened", noted(design_scans.opened))
    (tmp_path / "plan.png").write_bytes(scan_bytes())
    path = tmp_path / "a.json"
    path.write_bytes(encode(naming("plan.png")))
    driver.window.filing.open_path(path)
    driver.until_decoded(1)
    driver.window.filing.open_path(tmp_path / "plan.png")
    driver.until_decoded(2)
    driver.window.edits.set_units("in64")
    driver.boxes.answer("Yes")
    driver.do("revert")
    driver.until_decoded(1)
    assert len(threads) == 3 and threading.main_thread().name not in threads


def test_a_scan_that_is_too_big_is_refused_before_it_is_read(
    driver: Driver, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with (tmp_path / "huge.png").open("wb") as stream:
        stream.write(scan_bytes()[:2000])
        stream.truncate(3 << 30)
    driver.boxes.answer("OK")
    driver.window.filing.open_path(tmp_path / "huge.png")
    assert "it is over 1 GB" in driver.boxes.seen[-1]
    (tmp_path / "plan.png").write_bytes(scan_bytes())
    driver.window.filing.open_path(tmp_path / "plan.png")
    driver.until_decoded(1)
    monkeypatch.setattr(filing, "MOST_PICTURES", len(scan_bytes()) + 10)
    driver.boxes.answer("OK")
    driver.window.filing.open_path(tmp_path / "plan.png")
    assert "All scans together would be over" in driver.boxes.seen[-1] and len(driver.design.scans) == 1
