"""Work is kept, offered after a crash and never lost or overwritten; folders are the test's own."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

import app.keeping.recovery as module
from app.keeping.kept_folder import Aside
from app.keeping.lost_work import _row, _when
from app.keeping.recovery import Recovery
from app.work.stamp import path_of, stamp_of
from core.design import EMPTY, Design, Mark, Node, Outline, Scan, Weight
from core.design_file import DesignFileError, encode, read, write

ROOT = Path(__file__).resolve().parents[3]
FIN = Outline("fin", "fin", (Node(760, 40), Node(800, 150, (-12, -30), (10, 4)), Node(850, 40)))
DESIGN = replace(
    EMPTY, title="Reed Warbler", outlines=(FIN,), cg_mark=Mark(318, 20), scans=(Scan("plan", "plan.png"),)
)
PLAN = b"\x89PNG not really" * 1000
PICTURES = {"plan.png": PLAN}
Make = Callable[[], Recovery]

CHILD = """
import os, signal, sys
from pathlib import Path
from app.keeping.recovery import Recovery
from core.design_file import read
path = Path(sys.argv[2])
file = read(path)
recovery = Recovery(Path(sys.argv[1]))
recovery.opened(path)
recovery.keep(file.design, file.pictures, path)
recovery.flush()
print("kept", recovery.trouble, flush=True)
sys.stdin.readline()
os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "recovery"


@pytest.fixture
def make(folder: Path) -> Iterator[Make]:
    made: list[Recovery] = []

    def one() -> Recovery:
        made.append(Recovery(folder))
        return made[-1]

    yield one
    for recovery in made:
        recovery.stop()


def leave_behind(
    make: Make, design: Design = DESIGN, pictures: dict[str, bytes] = PICTURES, path: Path | None = None
) -> None:
    """What a window leaves that was ended without clearing."""
    recovery = make()
    recovery.keep(design, pictures, path)
    recovery.stop()
    assert recovery.trouble is None


def blobs(folder: Path) -> set[str]:
    return {path.name for path in (folder / "scans").glob("*")}


def child(folder: Path, design_file: Path) -> subprocess.Popen[str]:
    process = subprocess.Popen(
        [sys.executable, "-c", CHILD, str(folder), str(design_file)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "kept None\n"
    return process


@pytest.mark.skipif(sys.platform == "win32", reason="there is no SIGKILL")
def test_work_of_a_killed_window_is_offered_that_of_a_living_one_is_not(
    make: Make, folder: Path, tmp_path: Path
) -> None:
    original = tmp_path / "warbler.sternpost"
    write(original, DESIGN, PICTURES)
    before = original.read_bytes()
    process = child(folder, original)
    recovery = make()
    assert len(list(folder.glob("*.json"))) == 1
    assert recovery.found() == []

    process.communicate("die\n", timeout=30)
    assert process.returncode == -9
    (salvage,) = recovery.found()
    assert (salvage.title, salvage.original, salvage.state) == ("Reed Warbler", original, "same")
    assert not salvage.changed
    assert recovery.take(salvage) == (DESIGN, PICTURES, stamp_of(original))
    assert original.read_bytes() == before


def test_a_state_is_in_its_file_before_keep_returns(make: Make, folder: Path) -> None:
    """So that a kill at any later moment finds it; the worker is held up meanwhile."""
    recovery = make()
    recovery.keep(DESIGN, PICTURES, None)
    recovery.flush()
    held = threading.Event()
    recovery._submit(lambda: held.wait(30))
    for title in ("One", "Two", "Three"):
        recovery.keep(replace(DESIGN, title=title), PICTURES, None)
        (file,) = folder.glob("*.json")
        kept, design, _ = module.load(file)
        assert design.title == title and set(kept.scans) == set(PICTURES)
    held.set()


def test_work_comes_back_whole_once(make: Make) -> None:
    leave_behind(make)
    recovery = make()
    (salvage,) = recovery.found()
    assert salvage.state == "none"
    assert recovery.take(salvage) == (DESIGN, PICTURES, None)
    assert recovery.found() == []
    with pytest.raises(DesignFileError, match="gone"):
        recovery.take(salvage)


def test_what_was_taken_up_is_still_safe_when_that_window_dies_too(make: Make) -> None:
    leave_behind(make)
    second = make()
    second.take(second.found()[0])
    second.stop()
    third = make()
    assert third.take(third.found()[0]) == (DESIGN, PICTURES, None)


def test_two_windows_cannot_take_up_the_same_work(make: Make) -> None:
    leave_behind(make)
    one, other = make(), make()
    (salvage,) = one.found()
    (same,) = other.found()
    one.take(salvage)
    with pytest.raises(DesignFileError, match="another window"):
        other.take(same)
    other.discard(same)
    one.stop()
    assert len(other.found()) == 1


def test_the_last_state_wins_and_keep_does_not_wait(make: Make, monkeypatch: pytest.MonkeyPatch) -> None:
    go, writes = threading.Event(), []
    true_replace = module.replace_file

    def slow(path: Path, data: bytes, *turn: Any) -> None:
        assert go.wait(30)
        writes.append(path.suffix)
        true_replace(path, data, *turn)

    monkeypatch.setattr(module, "replace_file", slow)
    recovery = make()
    for i in range(100):
        recovery.keep(replace(DESIGN, title=f"State {i}"), {}, None)
    go.set()
    recovery.stop()
    # One may be under way while the others come in; the rest make one.
    assert len(writes) <= 2
    (salvage,) = make().found()
    assert salvage.title == "State 99"


def test_one_hitch_of_the_disk_costs_nothing_and_a_slow_disk_is_tried_ever_less_often(
    make: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    clock, tried, takes = [0.0], list[int](), 1.0

    def put(path: Path, data: bytes) -> None:
        tried.append(number)
        clock[0] += takes

    monkeypatch.setattr(module, "put_now", put)
    monkeypatch.setattr(module, "perf_counter", lambda: clock[0])
    recovery = make()
    for number in range(70):
        takes = 1.0 if number < 60 else 0.0
        recovery.keep(replace(DESIGN, title=f"State {number}"), {}, None)
    # Between two tries 0, 1, 2, 4, 8, 16 and again 16 are left; from 60 on the disk is quick.
    assert tried == [0, 1, 3, 6, 11, 20, 37, 54]
    for number in range(70, 78):
        takes = 1.0 if number == 74 else 0.0
        recovery.keep(replace(DESIGN, title=f"State {number}"), {}, None)
    assert tried[8:] == [71, 72, 73, 74, 75, 76, 77]


def test_a_scan_is_written_once(make: Make, monkeypatch: pytest.MonkeyPatch) -> None:
    written: list[Path] = []
    true_replace = module.replace_file

    def noting(path: Path, data: bytes, *turn: Any) -> None:
        written.append(path)
        true_replace(path, data, *turn)

    monkeypatch.setattr(module, "replace_file", noting)
    recovery = make()
    for i in range(3):
        recovery.keep(replace(DESIGN, title=f"State {i}"), PICTURES, None)
        recovery.flush()
    assert [path.name for path in written if path.suffix != ".json"] == [hashlib.sha256(PLAN).hexdigest()]
    assert len(written) == 4


def test_only_pictures_that_the_design_names_are_kept(make: Make, folder: Path) -> None:
    recovery = make()
    recovery.keep(DESIGN, {**PICTURES, "undone.png": b"gone"}, None)
    recovery.flush()
    assert blobs(folder) == {hashlib.sha256(PLAN).hexdigest()}


def test_clear_leaves_nothing_to_offer_and_stop_sweeps(make: Make, folder: Path) -> None:
    recovery = make()
    recovery.keep(DESIGN, PICTURES, None)
    recovery.flush()
    recovery.clear()
    recovery.stop()
    assert blobs(folder) == set()
    assert list(folder.glob("*.json")) == []
    assert list(folder.glob("*.lock")) == []
    assert make().found() == []


def test_a_keep_right_after_clear_is_kept(make: Make) -> None:
    recovery = make()
    recovery.keep(DESIGN, PICTURES, None)
    recovery.clear()
    recovery.keep(replace(DESIGN, title="Later"), PICTURES, None)
    recovery.stop()
    assert [salvage.title for salvage in make().found()] == ["Later"]


def test_discard_sweeps_its_scans_but_not_those_of_others(make: Make, folder: Path) -> None:
    leave_behind(make)
    other = replace(DESIGN, title="Other", scans=(*DESIGN.scans, Scan("second", "second.png")))
    leave_behind(make, other, {**PICTURES, "second.png": b"second"})
    (folder / ".keeping-half").write_bytes(b"half written")
    recovery = make()
    by_title = {salvage.title: salvage for salvage in recovery.found()}
    recovery.discard(by_title["Other"])
    assert blobs(folder) == {hashlib.sha256(PLAN).hexdigest()}
    assert not (folder / ".keeping-half").exists()
    assert recovery.take(by_title["Reed Warbler"])[1] == PICTURES


def test_a_swept_scan_is_written_again(make: Make, folder: Path) -> None:
    recovery = make()
    recovery.keep(DESIGN, PICTURES, None)
    recovery.clear()
    recovery.flush()
    other = make()
    other.found()
    other.flush()
    assert blobs(folder) == set()
    recovery.keep(DESIGN, PICTURES, None)
    recovery.stop()
    assert other.take(other.found()[0])[1] == PICTURES


def test_a_change_of_the_original_is_told_and_never_undone(make: Make, tmp_path: Path) -> None:
    original = tmp_path / "warbler.sternpost"
    write(original, DESIGN, PICTURES)
    leave_behind(make, replace(DESIGN, title="Unsaved"), PICTURES, original)
    newer = replace(DESIGN, title="Saved by someone else")
    write(original, newer, PICTURES)
    recovery = make()
    (salvage,) = recovery.found()
    assert (salvage.state, salvage.changed) == ("changed", True)
    design, _, stamp = recovery.take(salvage)
    recovery.keep(design, PICTURES, path_of(stamp))
    recovery.stop()
    assert read(original).design == newer
    original.unlink()
    (again,) = make().found()
    assert (again.state, again.changed) == ("missing", True)
    assert not original.exists()


def test_a_change_between_opening_and_the_first_keep_is_told(make: Make, tmp_path: Path) -> None:
    original = tmp_path / "warbler.sternpost"
    write(original, DESIGN, PICTURES)
    recovery = make()
    recovery.opened(original)
    recovery.flush()
    write(original, replace(DESIGN, title="Longer than before"), PICTURES)
    recovery.clear()
    recovery.keep(DESIGN, PICTURES, original)
    recovery.stop()
    assert make().found()[0].state == "changed"


@pytest.mark.skipif(sys.platform != "linux", reason="file names are bytes on Linux only")
def test_a_path_that_is_not_text_comes_back(make: Make, tmp_path: Path) -> None:
    odd = Path(os.fsdecode(os.fsencode(tmp_path) + b"/caf\xe9.sternpost"))
    leave_behind(make, path=odd)
    assert make().found()[0].original == odd


@pytest.mark.parametrize("spoilt", [b"", b"[1, 2]", b"{", bytes(4000), b'{"recovery":1,"design":{}}'])
def test_a_file_of_which_nothing_can_be_read_is_moved_aside(
    make: Make, folder: Path, spoilt: bytes
) -> None:
    leave_behind(make)
    (file,) = folder.glob("*.json")
    file.write_bytes(spoilt)
    leave_behind(make, replace(DESIGN, title="Sound"))
    recovery = make()
    assert [salvage.title for salvage in recovery.found()] == ["Sound"]
    assert f"it lies in {folder / 'damaged' / file.name}" in recovery.passed_over[0]
    assert (folder / "damaged" / file.name).read_bytes() == spoilt
    assert [salvage.title for salvage in recovery.found()] == ["Sound"]


def kept_as(make: Make, folder: Path, spoil: Callable[[bytes], bytes], path: Path | None = None) -> Path:
    """Left behind by a window, and then spoiled."""
    leave_behind(make, replace(DESIGN, weights=(Weight("pack", 180, 40),)), path=path)
    (file,) = folder.glob("*.json")
    sound = file.read_bytes()
    file.write_bytes(spoil(sound))
    assert file.read_bytes() != sound
    return file


HASH = hashlib.sha256(PLAN).hexdigest().encode()
SPOILED: dict[str, tuple[Callable[[bytes], bytes], int, int, tuple[str, ...]]] = {
    "not text": (lambda data: b"\xff\xfe" + data, 1, 1, ("bytes that are no text",)),
    "no such kind": (
        lambda data: data.replace(b'"kind":"fin"', b'"kind":"fish"'), 0, 1, ("outline “fin” (found",),
    ),
    "endless": (
        lambda data: data.replace(b'"x":760', b'"x":1e999'), 0, 1, ("outline “fin” (not a number",),
    ),
    "out of reach": (
        lambda data: data.replace(b'"x":760', b'"x":7600000'), 0, 1,
        ("outline “fin” (7.6e+06 is out of reach)",),
    ),
    "leaves the folder": (
        lambda data: data.replace(HASH, b"../../../etc/passwd"), 1, 1, ("the picture of “plan.png”",),
    ),
    "long notes": (
        lambda data: data.replace(b'"design":{', b'"design":{"notes":"%b",' % (b"w" * 100_500)),
        1, 1, ("notes beyond 100 000 letters",),
    ),
    "cut short": (
        lambda data: data[: data.index(b'"weights"') + 20], 1, 0, ("all that came after: its file is cut",),
    ),
    "newer": (
        lambda data: data.replace(b'"format":1', b'"format":99').replace(b'"grams"', b'"sewn":1,"grams"'),
        1, 1,
        ("what format 99 has beyond", "“sewn” of weight “pack”"),
    ),
}


@pytest.mark.parametrize("name", SPOILED)
def test_of_a_damaged_file_what_can_be_read_is_offered(
    make: Make, folder: Path, tmp_path: Path, name: str
) -> None:
    spoil, outlines, weights, without = SPOILED[name]
    file = kept_as(make, folder, spoil, tmp_path / "reed.sternpost")
    spoilt = file.read_bytes()
    recovery = make()
    for _ in range(2):
        (salvage,) = recovery.found()
        assert recovery.passed_over == () and file.read_bytes() == spoilt, "it stays until it is decided on"
    assert len(salvage.without) == len(without)
    assert all(found.startswith(words) for found, words in zip(salvage.without, without, strict=True))
    design, _, stamp = recovery.take(salvage)
    assert (len(design.outlines), len(design.weights), stamp) == (outlines, weights, None)
    # The whole stays, and what was taken back is kept too, should this window be killed at once.
    assert not file.exists() and (folder / "damaged" / file.name).read_bytes() == spoilt
    recovery.stop()
    (again,) = make().found()
    assert again.without == () and make().take(again)[0] == design


@pytest.mark.parametrize("trace", ['{"kind":"fish"}', '{"kind":"fin","places":[]}', "7"])
def test_a_trace_that_is_not_understood_is_named_and_stays(make: Make, folder: Path, trace: str) -> None:
    file = kept_as(make, folder, lambda data: data.replace(b'"trace":null', b'"trace":' + trace.encode()))
    before = file.read_bytes()
    recovery = make()
    (salvage,) = recovery.found()
    assert salvage.without == ("what was half drawn",) and salvage.trace is None
    assert recovery.take(salvage)[0].outlines == DESIGN.outlines
    assert (folder / "damaged" / file.name).read_bytes() == before


def test_scans_of_what_lies_aside_stay(make: Make, folder: Path) -> None:
    file = kept_as(make, folder, SPOILED["out of reach"][0])
    recovery = make()
    recovery.take(recovery.found()[0])
    recovery.clear()
    recovery.stop()
    assert (folder / "damaged" / file.name).exists() and blobs(folder) == {HASH.decode()}


def test_damaged_work_can_be_thrown_away(make: Make, folder: Path) -> None:
    file = kept_as(make, folder, SPOILED["out of reach"][0])
    recovery = make()
    recovery.discard(recovery.found()[0])
    recovery.stop()
    assert not file.exists() and not (folder / "damaged").exists() and blobs(folder) == set()


def of_another_version(make: Make, folder: Path, path: Path | None = None, **changed: Any) -> Path:
    """Work that another version kept: members of its file by name, None for one that is not there."""
    leave_behind(make, path=path)
    (file,) = folder.glob("*.json")
    raw = {**json.loads(file.read_text()), "recovery": 2, **changed}
    file.write_text(json.dumps({name: value for name, value in raw.items() if value is not None}))
    return file


def test_of_a_file_of_another_version_a_copy_of_what_can_be_read_is_offered(
    make: Make, folder: Path, tmp_path: Path
) -> None:
    file = of_another_version(make, folder, tmp_path / "reed.sternpost", pens=["fine", "broad"])
    before = file.read_bytes()
    recovery = make()
    (salvage,) = recovery.found()
    assert recovery.passed_over == () and (salvage.title, salvage.original) == (
        "Reed Warbler", tmp_path / "reed.sternpost"
    )
    assert salvage.copy == "another version of Sternpost kept it" and salvage.ours
    assert salvage.without == ("what recovery format 2 has beyond 1, which is known here",)
    # As unsaved work of its own: that version's file may hold more, and so may the builder's.
    assert recovery.take(salvage) == (DESIGN, PICTURES, None)
    recovery.stop()
    assert file.read_bytes() == before and blobs(folder) == {HASH.decode()}
    again = make()
    again.discard(again.found()[0])
    assert not file.exists()


@pytest.mark.parametrize("changed", [
    {"design": None, "aeroplane": json.loads(encode(DESIGN))},
    {"scans": ["plan.png"], "when": "yesterday", "title": 7, "original": "reed.sternpost"},
    {"scans": None, "when": None, "title": None, "original": None, "trace": {"pen": "broad"}},
], ids=["by another name", "other kinds", "gone"])
def test_of_another_version_as_much_is_read_as_can_be_told(
    make: Make, folder: Path, changed: dict[str, Any]
) -> None:
    of_another_version(make, folder, **changed)
    recovery = make()
    (salvage,) = recovery.found()
    design, pictures, _ = recovery.take(salvage)
    assert design == DESIGN and salvage.title == DESIGN.title
    assert dict(pictures) == ({} if "scans" in changed else PICTURES)
    assert ("the pictures of its scans" in salvage.without) == ("scans" in changed)


def test_of_another_version_of_which_nothing_can_be_read_is_named_and_stays(make: Make, folder: Path) -> None:
    for changed in ({"design": "bzip2:QlpoOTFBWSZTWQ=="}, {"design": {"plan": 7}}, {"design": None}):
        file = of_another_version(make, folder, **changed)
        recovery = make()
        assert recovery.found() == []
        assert "another version of Sternpost kept this work, and nothing of it" in recovery.passed_over[0]
        recovery.stop()
        assert file.exists() and not (folder / "damaged").exists() and blobs(folder) == {HASH.decode()}
        file.unlink()


@pytest.mark.parametrize("when", ["2026-05-01T10:00:00", "0001-01-01T00:00:00Z", "9999-12-31T23:59:59Z"])
def test_a_time_that_cannot_be_set_beside_others_hides_none_of_them(
    make: Make, folder: Path, when: str
) -> None:
    file = of_another_version(make, folder, recovery=1, when=when)
    leave_behind(make, replace(DESIGN, title="Sound"))
    recovery = make()
    assert sorted(salvage.title for salvage in recovery.found()) == ["Reed Warbler", "Sound"]
    assert all(_row(salvage) and _when(salvage) for salvage in recovery.found())
    file.write_bytes(b"{" + file.read_bytes())
    os.utime(file, ns=(0, -62_200_000_000 * 10**9))
    assert len(recovery.found()) == 1 and len(recovery.passed_over) == 1


@pytest.mark.parametrize("gone", ["folder", "lock"])
def test_work_of_a_living_window_is_its_own_again_after_somebody_tidied_up(
    make: Make, folder: Path, gone: str
) -> None:
    recovery = make()
    recovery.keep(DESIGN, PICTURES, None)
    recovery.flush()
    if gone == "folder":
        shutil.rmtree(folder)
    else:
        recovery._file.with_suffix(".lock").unlink()
    recovery.keep(replace(DESIGN, title="Later"), PICTURES, None)
    recovery.flush()
    assert recovery.trouble is None and make().found() == []
    recovery.stop()
    other = make()
    (salvage,) = other.found()
    assert other.take(salvage)[:2] == (replace(DESIGN, title="Later"), PICTURES)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
def test_pipes_and_folders_among_the_files_hang_and_hide_nothing(make: Make, folder: Path) -> None:
    leave_behind(make)
    (folder / "damaged").mkdir()
    for place in (folder, folder / "damaged"):
        os.mkfifo(place / "a.json")
        (place / "b.json").mkdir()
        (place / "c.json").symlink_to(place / "c.json")
    recovery = make()
    assert [salvage.title for salvage in recovery.found()] == ["Reed Warbler"]
    assert len(recovery.passed_over) == 3 and recovery.lying_aside().files == ()
    recovery.stop()


# What lies aside


def test_what_lies_aside_is_measured_with_its_scans_and_goes_only_when_it_is_told_to(
    make: Make, folder: Path
) -> None:
    file = kept_as(make, folder, SPOILED["out of reach"][0])
    recovery = make()
    assert recovery.lying_aside().files == ()
    recovery.take(recovery.found()[0])
    recovery.flush()
    aside = folder / "damaged" / file.name
    # The scan is named by the work in hand as well: it would stay.
    assert recovery.lying_aside() == Aside(aside.parent, (aside,), aside.stat().st_size)
    recovery.clear()
    recovery.flush()
    found = recovery.lying_aside()
    assert found.size == aside.stat().st_size + len(PLAN)
    later = aside.with_name("later.json")
    later.write_bytes(b"came after it was asked")
    recovery.delete_aside(found)
    assert list(aside.parent.iterdir()) == [later] and blobs(folder) == set()


def test_a_damaged_file_replaces_none_of_its_name(make: Make, folder: Path) -> None:
    leave_behind(make)
    (file,) = folder.glob("*.json")
    for spoilt in (b"{1", b"{2"):
        file.write_bytes(spoilt)
        make().found()
    assert sorted(path.read_bytes() for path in (folder / "damaged").iterdir()) == [b"{1", b"{2"]


@pytest.mark.parametrize("missing", [True, False])
def test_outlines_come_back_without_a_scan_that_was_lost(make: Make, folder: Path, missing: bool) -> None:
    leave_behind(make)
    (blob,) = (folder / "scans").iterdir()
    if missing:
        blob.unlink()
    else:
        blob.write_bytes(b"x" * len(PLAN))
    recovery = make()
    assert recovery.take(recovery.found()[0]) == (DESIGN, {}, None)


def test_a_full_disk_is_told_and_the_last_good_state_stays(
    make: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    recovery = make()
    recovery.keep(DESIGN, PICTURES, None)
    recovery.flush()

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        patch.setattr(module, "put_now", full)
        recovery.keep(replace(DESIGN, title="Later"), PICTURES, None)
        recovery.flush()
    assert recovery.trouble == (
        "unsaved work cannot be kept safe: No space left on device; save the design now"
    )
    recovery.stop()
    assert [salvage.title for salvage in make().found()] == ["Reed Warbler"]


def test_trouble_passes_when_it_works_again(make: Make, folder: Path) -> None:
    folder.write_text("a file where the folder should be")
    recovery = make()
    assert recovery.found() == []
    recovery.keep(DESIGN, PICTURES, None)
    recovery.flush()
    assert recovery.trouble is not None
    folder.unlink()
    recovery.keep(DESIGN, PICTURES, None)
    recovery.flush()
    assert recovery.trouble is None


def test_nothing_is_written_until_there_is_something_to_keep(make: Make, folder: Path) -> None:
    recovery = make()
    assert recovery.found() == []
    recovery.stop()
    recovery.keep(DESIGN, PICTURES, None)
    assert not folder.exists()
