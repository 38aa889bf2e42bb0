"""Scans that are big or unpack to more than a design may hold: no command and no window takes them whole."""

from __future__ import annotations

import io
import struct
import tracemalloc
import zipfile
from pathlib import Path

import pytest
from msgspec.structs import replace

from app.__main__ import main
from app.work.document import Opening
from core import design_scans
from core.design import EMPTY, Node, Outline, Scan
from core.design_file import DesignFileError, encode, read, write

SAMPLE = read(
    Path(__file__).resolve().parents[3] / "sample_designs/marsh-harrow-52.sternpost", pictures=False
).design

CAP = 4 << 20
"""Of one scan; all together may have twice that, and the file has four of them."""


@pytest.fixture
def swelling(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(design_scans, "MOST_PICTURE", CAP)
    monkeypatch.setattr(design_scans, "MOST_PICTURES", 2 * CAP)
    held = io.BytesIO()
    body = Outline("body", "fuselage", (Node(0, 0), Node(900, 0), Node(900, 90)))
    scans = tuple(Scan(f"s{i}", f"{i}.png") for i in range(4))
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as container:
        container.writestr(
            "design.json", encode(replace(EMPTY, outlines=(body,), scans=scans))
        )
        for scan in scans:
            container.writestr(scan.file, bytes(CAP))
    path = tmp_path / "swelling.sternpost"
    path.write_bytes(held.getvalue())
    return path


def most_taken(arguments: list[str]) -> tuple[int, int]:
    """(exit status, most bytes held at once) of a command that has been run once before."""
    main(arguments)
    tracemalloc.start()
    try:
        return main(arguments), tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


@pytest.mark.parametrize("command", ["readings", "compare"])
def test_commands_that_show_no_scan_read_none(
    swelling: Path, capsys: pytest.CaptureFixture[str], command: str
) -> None:
    status, most = most_taken([command, str(swelling), *([str(swelling)] if command == "compare" else [])])
    assert status == 0 and most < CAP / 2, "not one of them was unpacked"


@pytest.mark.parametrize(
    "words", [["check"], ["plug", "--at", "300", "--length", "20", "-o", "new.sternpost"]], ids=lambda w: w[0]
)
def test_what_is_too_much_is_said_and_none_unpacked(
    swelling: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], words: list[str]
) -> None:
    monkeypatch.chdir(swelling.parent)
    status, most = most_taken([words[0], str(swelling), *words[1:]])
    assert status == 1 and most < CAP / 2 and list(swelling.parent.iterdir()) == [swelling]
    assert "all scans together are over 8 MB; reduce them" in capsys.readouterr().err


def test_the_window_s_way_of_opening_refuses_them_unread(swelling: Path) -> None:
    tracemalloc.start()
    try:
        with pytest.raises(DesignFileError, match="all scans together are over"):
            Opening.of(swelling)
        most = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert most < CAP / 2


@pytest.mark.parametrize("bare", [False, True], ids=["container", "bare"])
def test_big_scans_go_from_file_to_file_in_pieces(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], bare: bool
) -> None:
    monkeypatch.chdir(tmp_path)
    big, scans = 12 << 20, tuple(Scan(f"s{i}", f"{i}.bmp") for i in range(3))
    data = bilevel(big)
    design = replace(SAMPLE, scans=scans)
    source = Path("a.json" if bare else "a.sternpost")
    write(source, design, {scan.file: data for scan in scans})
    # ``refit`` reads and writes by the same two functions.
    status, most = most_taken(["plug", str(source), "--at", "180", "--length", "35", "-o", "new.sternpost"])
    assert status == 0, capsys.readouterr().err
    # Beside a bare design each is opened as a picture before it is packed, one after the other.
    assert most < (2.2 if bare else 0.4) * big
    assert dict(read(Path("new.sternpost")).pictures) == {scan.file: data for scan in scans}


def bilevel(size: int) -> bytes:
    """A bitmap of one bit a pixel and about ``size`` bytes (its header as Windows' documentation has it)."""
    wide = 8192
    high = size * 8 // wide
    pixels = wide * high // 8
    head = struct.pack("<2sIHHI", b"BM", 62 + pixels, 0, 0, 62)
    info = struct.pack("<IiiHHIIiiII", 40, wide, high, 1, 1, 0, pixels, 0, 0, 2, 0)
    return head + info + b"\0\0\0\0\xff\xff\xff\0" + bytes(pixels)
