"""Writing: in one step or not at all, links followed, permissions kept."""

from __future__ import annotations

import errno
import os
import stat
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from making import trainer

from core import file_reading
from core.design import Node, Outline, Scan
from core.design_file import DesignFileError, decode, encode, read, write, write_bytes

OLD = b"the old file, whole"
DESIGN = trainer(scans=(Scan("plan", "plan.png"),))
PICTURES = {"plan.png": b"pixels"}


def failing(
    number: int, *, when: Callable[..., bool] = lambda *_: True, real: Any = None
) -> Callable[..., Any]:
    def call(*args: Any, **more: Any) -> Any:
        if when(*args):
            raise OSError(number, os.strerror(number))
        return real(*args, **more)

    return call


def write_fails(path: Path) -> str:
    with pytest.raises(DesignFileError) as caught:
        write(path, DESIGN, PICTURES)
    return str(caught.value)


@pytest.fixture
def old(tmp_path: Path) -> Path:
    path = tmp_path / "old.sternpost"
    path.write_bytes(OLD)
    return path


def assert_untouched(path: Path) -> None:
    assert path.read_bytes() == OLD
    assert list(path.parent.iterdir()) == [path], "nothing is left behind"


FULL = "it could not be written: the disk is full; free some space or choose another disk"
REFUSED = "it could not be written: permission was refused; choose another folder"


@pytest.mark.parametrize(
    ("number", "sentence"),
    (
        (errno.ENOSPC, FULL),
        (errno.EDQUOT, FULL.replace("disk is full", "disk quota is used up")),
        (errno.EIO, "it could not be written: the disk reported a fault; choose another disk"),
    ),
    ids=("full", "quota", "fault"),
)
def test_a_disk_that_fails_at_the_last_moment(
    old: Path, monkeypatch: pytest.MonkeyPatch, number: int, sentence: str
) -> None:
    monkeypatch.setattr(os, "fsync", failing(number))
    assert write_fails(old) == sentence
    assert_untouched(old)


def test_a_disk_that_fills_while_writing(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = os.fdopen

    def narrow(*args: Any, **more: Any) -> Any:
        stream = real(*args, **more)

        class Full:
            """The stream, on a disk with room for ten bytes."""

            def __enter__(self) -> Full:
                return self

            def __exit__(self, *_: object) -> None:
                stream.close()

            def write(self, data: bytes) -> int:
                stream.write(data[:10])
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

        return Full()

    monkeypatch.setattr(os, "fdopen", narrow)
    assert write_fails(old) == FULL
    assert_untouched(old)


def test_a_step_at_the_end_that_fails(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Path, "replace", failing(errno.EACCES))
    assert write_fails(old) == REFUSED
    assert_untouched(old)


@pytest.mark.parametrize("number", (errno.EACCES, errno.EROFS, errno.EPERM))
def test_a_folder_that_may_not_be_written(old: Path, monkeypatch: pytest.MonkeyPatch, number: int) -> None:
    monkeypatch.setattr("core.file_writing.tempfile.mkstemp", failing(number))
    sentence = write_fails(old)
    assert sentence.startswith("it could not be written: ") and sentence.endswith("choose another folder")
    assert_untouched(old)


def test_a_file_that_is_marked_read_only(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "access", lambda path, mode: False)
    assert write_fails(old) == REFUSED
    assert_untouched(old)


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    sentence = write_fails(tmp_path / "nowhere" / "a.sternpost")
    assert sentence == "it could not be written: there is no such file or folder; check the name"
    assert list(tmp_path.iterdir()) == []


def test_a_folder_in_the_file_s_place(tmp_path: Path) -> None:
    (tmp_path / "a.sternpost").mkdir()
    assert write_fails(tmp_path / "a.sternpost") == "it could not be written: that is a folder; choose a file"
    assert list(tmp_path.iterdir()) == [tmp_path / "a.sternpost"]


def test_a_name_that_is_too_long(tmp_path: Path) -> None:
    assert "too long" in write_fails(tmp_path / ("a" * 300 + ".sternpost"))
    assert list(tmp_path.iterdir()) == []


def test_reading_what_cannot_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for path, why in ((tmp_path / "none.sternpost", "no such file"), (tmp_path, "folder")):
        with pytest.raises(DesignFileError, match=why) as caught:
            read(path)
        assert str(caught.value).startswith("it could not be read: ")
    (tmp_path / "a.sternpost").write_bytes(OLD)
    monkeypatch.setattr(file_reading.os, "open", failing(errno.EACCES))
    with pytest.raises(DesignFileError, match="permission was refused"):
        read(tmp_path / "a.sternpost")


def test_a_link_is_followed_and_stays(tmp_path: Path) -> None:
    real, link = tmp_path / "real.sternpost", tmp_path / "link.sternpost"
    real.write_bytes(OLD)
    link.symlink_to(real)
    write(link, DESIGN, PICTURES)
    assert link.is_symlink() and link.resolve() == real
    assert read(real).design == DESIGN


@pytest.mark.parametrize("mode", (0o600, 0o640, 0o664))
def test_permissions_are_kept(old: Path, mode: int) -> None:
    old.chmod(mode)
    write(old, DESIGN, PICTURES)
    assert stat.S_IMODE(old.stat().st_mode) == mode


@pytest.mark.parametrize(("umask", "mode"), ((0o022, 0o644), (0o077, 0o600), (0o002, 0o664)))
def test_a_new_file_has_the_permissions_of_any_new_file(tmp_path: Path, umask: int, mode: int) -> None:
    before = os.umask(umask)
    try:
        write(tmp_path / "new.sternpost", DESIGN, PICTURES)
        assert os.umask(umask) == umask, "the mask itself is as it was"
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "new.sternpost").stat().st_mode) == mode


@pytest.mark.parametrize("left", ["nothing", "a file"])
def test_a_folder_that_goes_while_it_is_written_to(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, left: str
) -> None:
    folder, real = tmp_path / "stick", os.fsync
    folder.mkdir()

    def gone(handle: int) -> None:
        real(handle)
        folder.rename(tmp_path / "pulled out")
        if left == "a file":
            folder.write_bytes(OLD)

    monkeypatch.setattr(os, "fsync", gone)
    assert write_fails(folder / "a.sternpost").startswith("it could not be written: ")
    assert not folder.exists() or folder.read_bytes() == OLD


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
def test_a_pipe_is_not_replaced_by_a_design(tmp_path: Path) -> None:
    path, link = tmp_path / "a.sternpost", tmp_path / "link.sternpost"
    os.mkfifo(path)
    link.symlink_to(path)
    for each in (path, link):
        assert "it is a pipe or a device, and no file; choose another place" in write_fails(each)
    assert path.is_fifo() and link.is_symlink() and len(list(tmp_path.iterdir())) == 2


def test_a_title_with_half_a_character_is_refused_and_not_half_written(old: Path) -> None:
    with pytest.raises(DesignFileError, match="title: it holds half a character"):
        write(old, trainer(title="caf\udce9"), {})
    assert_untouched(old)


def test_a_design_that_could_not_be_read_again_is_not_written(old: Path) -> None:
    wrong = trainer(outlines=(Outline("a", "fin", (Node(float("nan"), 0), Node(1, 0), Node(0, 1))),))
    with pytest.raises(DesignFileError) as caught:
        write(old, wrong, {})
    assert "outlines[0].nodes[0].x" in str(caught.value)
    assert_untouched(old)


def test_nothing_is_written_that_is_too_big_to_be_read_again(
    old: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Room for the design in one line, not for its indented form; then for neither.
    monkeypatch.setattr("core.design_file.MOST_JSON", len(encode(DESIGN)) - 1)
    for path in (old, old.with_suffix(".json")):
        write(path, DESIGN, PICTURES)
        assert read(path).design == DESIGN
    before = old.read_bytes()
    monkeypatch.setattr("core.design_file.MOST_JSON", 200)
    for path in (old, old.with_suffix(".json")):
        assert "take kept states out" in write_fails(path)
        assert not list(old.parent.glob(".saving-*"))
    assert old.read_bytes() == before


def test_bytes_are_written_whole(tmp_path: Path) -> None:
    data = bytes(range(256)) * 5000
    write_bytes(tmp_path / "a", data)
    assert (tmp_path / "a").read_bytes() == data


def test_a_bare_design_brings_scans_in_folders(tmp_path: Path) -> None:
    design = trainer(scans=(Scan("plan", "scans/plan.png"),))
    write(tmp_path / "a.json", design, {"scans/plan.png": b"\xff\xd8\xffpixels"})
    found = read(tmp_path / "a.json")
    assert (dict(found.pictures), found.troubles) == ({"scans/plan.png": b"\xff\xd8\xffpixels"}, ())


def test_a_bare_design_whose_scan_cannot_be_written_stays_the_old_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.json"
    path.write_bytes(encode(trainer()))
    monkeypatch.setattr(os, "fsync", failing(errno.ENOSPC))
    assert write_fails(path) == FULL
    assert decode(path.read_bytes()) == trainer()
    assert list(tmp_path.iterdir()) == [path]


KILLED = """
import os, signal, sys
from pathlib import Path
from core import file_writing
def killed(handle):
    if len(sys.argv) > 2:
        print("under way", flush=True)
        sys.stdin.readline()
    os.kill(os.getpid(), signal.SIGKILL)
file_writing.os.fsync = killed
file_writing.write_bytes(Path(sys.argv[1]), b"x" * 100_000)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="there is no SIGKILL")
def test_what_killed_savings_left_is_taken_away_by_the_next_and_one_under_way_is_not(tmp_path: Path) -> None:
    path, other = tmp_path / "design.sternpost", tmp_path / ".saving-is my own"
    path.write_bytes(OLD)
    other.write_bytes(b"not ours")

    def left() -> int:
        return len(list(tmp_path.glob(".saving-????????")))

    def saving(*more: str) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [sys.executable, "-c", KILLED, str(path), *more], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            text=True, cwd=Path(__file__).parents[2],
        )

    for _ in range(3):
        process = saving()
        process.communicate(timeout=60)
        assert process.returncode == -9
    assert left() == 1, "each takes away what the one before it left"
    process = saving("wait")
    assert process.stdout is not None and process.stdout.readline() == "under way\n"
    write_bytes(path, b"new")
    assert left() == 1 and path.read_bytes() == b"new", "the one under way keeps its file"
    process.communicate("\n", timeout=60)
    write_bytes(path, b"newer")
    assert left() == 0 and other.read_bytes() == b"not ours"
