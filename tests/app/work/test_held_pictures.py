"""The files of scans that only undo could bring back lie on disk, and come back whole."""

from __future__ import annotations

import tempfile

import pytest
from msgspec.structs import replace

from app.work import held_pictures
from app.work.document import MOST_UNDONE, Document
from core.design import EMPTY, Scan


@pytest.fixture
def document(monkeypatch: pytest.MonkeyPatch) -> Document:
    monkeypatch.setattr(held_pictures, "MOST_IDLE_BYTES", 1000)
    return Document(EMPTY)


def scan(number: int) -> Scan:
    return Scan(f"scan-{number}", f"{number}.png")


def bring(document: Document, number: int, data: bytes) -> None:
    document.pictures[f"{number}.png"] = data
    document.apply("open scan", lambda d: replace(d, scans=(scan(number),)))


def take_out(document: Document) -> None:
    document.apply("remove scan", lambda d: replace(d, scans=()))


def in_memory(document: Document) -> int:
    return sum(map(len, document.pictures.values()))


def test_scans_opened_and_taken_out_hold_no_memory_and_undo_brings_each_back(document: Document) -> None:
    files = {n: bytes([n]) * 700 for n in range(20)}
    for n, data in files.items():
        bring(document, n, data)
        take_out(document)
        assert in_memory(document) <= 1700
    assert document.pictures.names == {f"{n}.png" for n in files}
    for n in reversed(files):
        document.undo()
        assert document.pictures[f"{n}.png"] == files[n]
        document.undo()
    for n in files:
        document.redo()
        assert document.pictures[f"{n}.png"] == files[n]
        assert in_memory(document) <= 1700
        document.redo()


def test_a_name_that_lies_on_disk_is_not_given_away(document: Document) -> None:
    for n in range(4):
        bring(document, n, b"x" * 900)
        take_out(document)
    assert "0.png" not in document.pictures
    assert document.free_picture_name("0.png") == "0-2.png"


def test_without_room_on_disk_nothing_is_lost(document: Document, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(tempfile, "TemporaryFile", full)
    for n in range(4):
        bring(document, n, bytes([n]) * 900)
        take_out(document)
    assert in_memory(document) == 4 * 900
    document.undo()
    assert document.pictures["3.png"] == b"\x03" * 900


def test_what_no_undo_brings_back_is_let_go_on_disk_too(document: Document) -> None:
    for n in range(3):
        bring(document, n, b"x" * 900)
        take_out(document)
    for i in range(MOST_UNDONE + 1):
        document.apply("note", lambda d, i=i: replace(d, notes=str(i)))  # type: ignore[misc]
    assert document.pictures.names == frozenset() and document.pictures._file is None


def test_another_design_leaves_nothing_on_disk(document: Document) -> None:
    for n in range(3):
        bring(document, n, b"x" * 900)
        take_out(document)
    held = document.pictures
    assert held._file is not None
    document.start(EMPTY)
    assert held._file is None and document.pictures.names == frozenset()
