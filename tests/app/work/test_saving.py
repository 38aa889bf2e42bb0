"""Saving bare beside others' pictures: what is in hand, undo and a gesture go on with the new names."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest
from msgspec.structs import replace

from app.work.document import Document
from core.design import EMPTY, Design, Mark, Scan
from core.design_file import read

PNG = b"\x89PNG\r\n\x1a\n"
OURS, OTHERS, THIRD = PNG + b"ours", PNG + b"another's", PNG + b"taken out"


@pytest.fixture
def document(tmp_path: Path) -> Document:
    """One scan with its picture and one whose picture is lost; a third was taken out. Others' lie there."""
    for name in ("plan.png", "lost.png"):
        (tmp_path / name).write_bytes(OTHERS)
    scans = tuple(Scan(name, f"{name}.png") for name in ("plan", "lost", "plan-2"))
    made = Document(replace(EMPTY, title="Reed", scans=scans))
    made.pictures.update({"plan.png": OURS, "plan-2.png": THIRD})
    made.apply("take out", lambda d: replace(d, scans=d.scans[:2]))
    return made


def files(design: Design) -> list[str]:
    return [scan.file for scan in design.scans]


def marked(design: Design) -> Design:
    return replace(design, cg_mark=Mark(1, 2))


def test_what_is_in_hand_is_what_is_in_the_file(document: Document, tmp_path: Path) -> None:
    document.save(tmp_path / "a.json")
    found = read(tmp_path / "a.json")
    # Not "plan-2.png": undo brings that one back.
    assert files(found.design) == files(document.committed) == ["plan-3.png", "lost-2.png"]
    assert dict(found.pictures) == {"plan-3.png": OURS} and not document.dirty
    document.undo()
    assert files(document.committed) == ["plan-3.png", "lost-2.png", "plan-2.png"]
    assert [document.pictures.get(name) for name in files(document.committed)] == [OURS, None, THIRD]
    document.save()
    assert dict(read(tmp_path / "a.json").pictures) == {"plan-3.png": OURS, "plan-2.png": THIRD}
    assert {(tmp_path / name).read_bytes() for name in ("plan.png", "lost.png")} == {OTHERS}


@pytest.mark.skipif(sys.platform != "linux", reason="file names are bytes on Linux only")
def test_a_design_named_by_a_file_whose_name_is_no_text(tmp_path: Path) -> None:
    path = Path(os.fsdecode(os.fsencode(tmp_path) + b"/caf\xe9.sternpost"))
    document = Document()
    document.apply("mark CG", marked)
    document.save(path)
    assert read(path).design.title == document.committed.title == "caf\N{REPLACEMENT CHARACTER}"
    assert not document.dirty


def test_a_gesture_under_way_goes_on_with_them(document: Document, tmp_path: Path) -> None:
    document.begin("drag")
    document.preview(marked(document.committed))
    document.save(tmp_path / "a.json")
    document.commit()
    assert document.committed.cg_mark == Mark(1, 2) and document.dirty
    document.save()
    found = read(tmp_path / "a.json")
    assert files(found.design) == ["plan-3.png", "lost-2.png"]
    assert dict(found.pictures) == {"plan-3.png": OURS}


def test_a_new_scan_of_the_old_name_is_not_renamed(document: Document, tmp_path: Path) -> None:
    document.save(tmp_path / "a.json")
    assert document.free_picture_name("lost.png") == "lost.png"
    document.pictures["lost.png"] = THIRD
    document.begin("open scan")
    document.preview(replace(document.committed, scans=(*document.committed.scans, Scan("n", "lost.png"))))
    document.commit()
    assert files(document.committed)[-1] == "lost.png"
    document.save()
    assert files(read(tmp_path / "a.json").design)[-1] == "lost-3.png"
    assert read(tmp_path / "a.json").pictures["lost-3.png"] == THIRD
