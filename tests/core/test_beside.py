"""Pictures put beside a bare design: none of others' is written over, and no scan comes to name one."""

from __future__ import annotations

import os
import random
import unicodedata
from pathlib import Path

import pytest
from making import trainer

from core.design import Scan
from core.design_beside import renamed_words
from core.design_file import DesignFile, DesignFileError, encode, pack, read, write
from core.file_reading import content

PNG = b"\x89PNG\r\n\x1a\n"
OURS, OTHERS, JPEG = PNG + b"ours", PNG + b"another's", b"\xff\xd8\xffours"
DESIGN = trainer(scans=(Scan("plan", "plan.png"),))


def named(*names: str) -> tuple[Scan, ...]:
    return tuple(Scan(f"s{i}", name) for i, name in enumerate(names))


def files(path: Path) -> list[str]:
    """The names that the design at ``path`` gives its scans."""
    return [scan.file for scan in read(path).design.scans]


def test_another_picture_of_the_same_name_stays_and_ours_gets_a_free_one(tmp_path: Path) -> None:
    (tmp_path / "plan.png").write_bytes(OTHERS)
    (tmp_path / "plan-2.png").write_bytes(OTHERS)
    path = tmp_path / "a.json"
    renamed = write(path, DESIGN, {"plan.png": OURS})
    assert renamed == {"plan.png": "plan-3.png"} and renamed_words(path, renamed) == (
        "“plan.png” is named “plan-3.png” in a.json: the folder has another file of that name",
    )
    assert files(path) == ["plan-3.png"] and dict(read(path).pictures) == {"plan-3.png": OURS}
    assert {(tmp_path / name).read_bytes() for name in ("plan.png", "plan-2.png")} == {OTHERS}
    # Saving again, from the same design in hand, finds it again and makes no more of them.
    write(path, DESIGN, {"plan.png": OURS}, tmp_path)
    assert files(path) == ["plan-3.png"] and len(list(tmp_path.iterdir())) == 4


def test_a_picture_that_is_there_already_is_not_written_again(tmp_path: Path) -> None:
    (tmp_path / "plan.png").write_bytes(OURS)
    os.utime(tmp_path / "plan.png", (1e9, 1e9))
    assert write(tmp_path / "a.json", DESIGN, {"plan.png": OURS}) == {}
    assert (tmp_path / "plan.png").stat().st_mtime == 1e9 and files(tmp_path / "a.json") == ["plan.png"]


@pytest.mark.parametrize("size", [len(OTHERS), len(OURS)], ids=["longer", "as long"])
def test_a_file_that_is_no_picture_stays_too(tmp_path: Path, size: int) -> None:
    (tmp_path / "plan.png").write_bytes(b"x" * size)
    write(tmp_path / "a.json", DESIGN, {"plan.png": OURS})
    assert (tmp_path / "plan.png").read_bytes() == b"x" * size
    assert read(tmp_path / "a.json").pictures == {"plan-2.png": OURS}


def test_a_scan_without_its_picture_does_not_come_to_name_another_s(tmp_path: Path) -> None:
    here, there = tmp_path / "here", tmp_path / "there"
    here.mkdir()
    there.mkdir()
    (there / "plan.png").write_bytes(OTHERS)
    write(there / "a.json", DESIGN, {}, here)
    found = read(there / "a.json")
    assert files(there / "a.json") == ["plan-2.png"] and not found.pictures and len(found.troubles) == 1
    write(there / "b.json", DESIGN, {})
    assert files(there / "b.json") == ["plan-2.png"]
    # In its own folder the name stands: its picture may have come meanwhile.
    write(there / "c.json", DESIGN, {}, there)
    assert files(there / "c.json") == ["plan.png"]


def test_a_free_name_is_none_that_another_scan_of_the_design_has(tmp_path: Path) -> None:
    (tmp_path / "plan.png").write_bytes(OTHERS)
    design = trainer(scans=named("plan.png", "Plan-2.png", "plan-3.png"))
    write(tmp_path / "a.json", design, {"plan.png": OURS, "Plan-2.png": JPEG})
    found = read(tmp_path / "a.json")
    assert files(tmp_path / "a.json") == ["plan-4.png", "Plan-2.png", "plan-3.png"]
    assert dict(found.pictures) == {"plan-4.png": OURS, "Plan-2.png": JPEG}


def test_pages_of_one_file_keep_one_name(tmp_path: Path) -> None:
    (tmp_path / "plan.pdf").write_bytes(b"%PDF-1.7 another's")
    scans = (Scan("one", "plan.pdf"), Scan("two", "plan.pdf", page=1))
    write(tmp_path / "a.json", trainer(scans=scans), {"plan.pdf": b"%PDF-1.7 ours"})
    assert files(tmp_path / "a.json") == ["plan-2.pdf"] * 2
    assert [scan.page for scan in read(tmp_path / "a.json").design.scans] == [0, 1]


def test_a_scan_with_the_design_s_own_name_does_not_get_its_place(tmp_path: Path) -> None:
    path = tmp_path / "Möwe.json"
    other = unicodedata.normalize("NFD", "MÖWE.json")
    write(path, trainer(scans=named("Möwe.json", other)), {"Möwe.json": OURS, other: JPEG})
    found = read(path)
    assert sorted(found.pictures.values()) == [OURS, JPEG] and not found.troubles


@pytest.mark.parametrize(("name", "data", "lies_in"), [
    (".profile", b"echo gone\n", "profile.scan"), (".config/autostart/x.desktop", b"[Desktop Entry]\n",
     "config/autostart/x.desktop.scan"), ("conftest.py", PNG, "conftest.py.png"),
    ("Makefile", JPEG, "Makefile.jpg"), ("plan.PNG", PNG, "plan.PNG"), ("nose v1.2", PNG, "nose v1.2.png"),
    ("CON.png", PNG, "CON-.png"), ("a?b*.png", PNG, "ab.png"), ("x.png. ", PNG, "x.png.png"),
    ("ö" * 180 + ".png", PNG, "ö" * 60 + ".png"),
])
def test_what_a_stranger_calls_a_scan_becomes_a_plain_name_of_a_picture(
    tmp_path: Path, name: str, data: bytes, lies_in: str
) -> None:
    said = write(tmp_path / "a.json", trainer(scans=named(name)), {name: data})
    made = sorted(str(path.relative_to(tmp_path)) for path in tmp_path.rglob("*") if path.is_file())
    assert made == sorted(("a.json", lies_in)) and (tmp_path / lies_in).read_bytes() == data
    assert files(tmp_path / "a.json") == [lies_in] and len(said) == (name != lies_in)


def test_a_name_that_is_odd_but_there_already_is_kept(tmp_path: Path) -> None:
    (tmp_path / ".plan").write_bytes(OURS)
    assert write(tmp_path / "a.json", trainer(scans=named(".plan")), {".plan": OURS}, tmp_path) == {}
    assert files(tmp_path / "a.json") == [".plan"]


def test_a_link_out_of_the_folder_is_neither_followed_nor_replaced(tmp_path: Path) -> None:
    folder = tmp_path / "designs"
    folder.mkdir()
    (tmp_path / "there.png").write_bytes(OURS)
    (folder / "plan.png").symlink_to(tmp_path / "outside.png")
    (folder / "plan-2.png").symlink_to(tmp_path / "there.png")
    write(folder / "a.json", DESIGN, {"plan.png": OURS})
    assert not (tmp_path / "outside.png").exists() and (folder / "plan.png").is_symlink()
    assert read(folder / "a.json").pictures == {"plan-3.png": OURS}


@pytest.mark.parametrize("there", ["file", "link out", "link round"])
def test_what_stands_where_a_scan_s_folder_should_be_is_left_alone(tmp_path: Path, there: str) -> None:
    folder, scans = tmp_path / "designs", tmp_path / "designs" / "scans"
    folder.mkdir()
    if there == "file":
        scans.write_bytes(b"a file")
    else:
        scans.symlink_to(tmp_path if there == "link out" else scans)
    write(folder / "a.json", trainer(scans=named("scans/plan.png")), {"scans/plan.png": OURS})
    assert read(folder / "a.json").pictures == {"plan.png": OURS}
    assert scans.is_symlink() or scans.read_bytes() == b"a file"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["designs"]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
def test_a_pipe_a_folder_and_a_device_are_taken_names(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "plan.png")
    (tmp_path / "plan-2.png").mkdir()
    write(tmp_path / "a.json", DESIGN, {"plan.png": OURS})
    assert read(tmp_path / "a.json").pictures == {"plan-3.png": OURS}


# Pictures that stay where they lie until they are written


def stored(path: Path) -> DesignFile:
    found = read(path, pictures=False, through=True)
    assert not found.pictures
    return found


@pytest.mark.parametrize("source", ["a.sternpost", "bare/a.json"])
def test_pictures_go_from_file_to_file_as_they_are(tmp_path: Path, source: str) -> None:
    design = trainer(scans=named("plan.png", "scans/two.jpg", "lost.png"))
    held = {"plan.png": OURS * 700_000, "scans/two.jpg": JPEG}
    (tmp_path / "bare").mkdir()
    (tmp_path / "new").mkdir()
    write(tmp_path / source, design, held)
    found = stored(tmp_path / source)
    assert len(found.troubles) == 1 and set(found.stored) == set(held)
    # The last one over the file that is read.
    for out in ("new/a.sternpost", "new/a.json", source):
        write(tmp_path / out, found.design, found.held, (tmp_path / source).parent)
        assert dict(read(tmp_path / out).pictures) == held and read(tmp_path / out).design == design
    assert (tmp_path / "new/a.sternpost").read_bytes() == pack(design, held)


def test_a_file_that_changes_before_it_is_copied_costs_the_old_one_nothing(tmp_path: Path) -> None:
    (tmp_path / "a.json").write_bytes(encode(DESIGN))
    (tmp_path / "plan.png").write_bytes(OURS * 500_000)
    found, out = stored(tmp_path / "a.json"), tmp_path / "new.sternpost"
    out.write_bytes(b"as it was")
    for spoil in (OURS, OURS * 500_001):
        (tmp_path / "plan.png").write_bytes(spoil)
        with pytest.raises(DesignFileError, match=r"plan\.png. was changed while it was read"):
            write(out, found.design, found.held)
    (tmp_path / "plan.png").unlink()
    with pytest.raises(DesignFileError, match="no such file"):
        write(out, found.design, found.held)
    assert out.read_bytes() == b"as it was"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.json", "new.sternpost"]


def test_a_damaged_picture_is_found_by_reading_through(tmp_path: Path) -> None:
    path = tmp_path / "a.sternpost"
    write(path, DESIGN, {"plan.png": OURS * 300_000})
    data = content(path, 1 << 30)
    at = data.rindex(b"ours")
    path.write_bytes(data[:at] + b"ouch" + data[at + 4 :])
    assert read(path, pictures=False).troubles == ()
    found = stored(path)
    assert found.troubles == read(path).troubles and "is damaged in the container" in found.troubles[0]
    assert not found.held


POOL = (
    "plan.png", "plan-2.png", "Plan.PNG", "plan", ".plan.png", "a/plan.png", "a/b/plan.png", "a.png/plan.png",
    "a", "a.png", "plan.pdf", "ö.png", unicodedata.normalize("NFD", "ö.png"), "out/plan.png", "round",
    "a.json",
)


@pytest.mark.parametrize("seed", range(12))
def test_whatever_lies_there_stays_and_every_scan_finds_its_own(tmp_path: Path, seed: int) -> None:
    by_lot = random.Random(seed)
    for case in range(6):
        folder = tmp_path / str(case) / "designs"
        folder.mkdir(parents=True)
        before = strewn(folder, by_lot)
        names = by_lot.sample(POOL, by_lot.randint(1, 6))
        held = {name: PNG + name.encode() for name in names if by_lot.random() < 0.7}
        for name in held:
            if by_lot.random() < 0.2:
                held[name] = OTHERS
        design = trainer(scans=named(*names))
        for _ in range(2):
            write(folder / "A.json", design, held)
            assert {place: place.read_bytes() for place in before} == before, (seed, case)
            found = read(folder / "A.json")
            for name, scan in zip(names, found.design.scans, strict=True):
                assert found.pictures.get(scan.file) == held.get(name), (seed, case, name, scan.file)
        assert not list(folder.parent.glob("*.png"))


def strewn(folder: Path, by_lot: random.Random) -> dict[Path, bytes]:
    """Files, folders and links by lot under the names of the pool; what the files hold."""
    before: dict[Path, bytes] = {}
    if by_lot.random() < 0.3:
        (folder / "out").symlink_to(folder.parent)
    if by_lot.random() < 0.3:
        (folder / "round").symlink_to(folder / "round")
    for name in by_lot.sample(POOL, by_lot.randint(0, 8)):
        place = folder / name
        if name.startswith(("out/", "round")) or os.path.lexists(place):
            continue
        try:
            place.parent.mkdir(parents=True, exist_ok=True)
            if by_lot.random() < 0.2:
                place.mkdir()
            else:
                place.write_bytes(OTHERS)
                before[place] = OTHERS
        except OSError:
            continue
    return before
