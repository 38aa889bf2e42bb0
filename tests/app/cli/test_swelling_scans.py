"""Four scans that unpack to more together than a design may hold: no command and no window takes them."""

from __future__ import annotations

import io
import tracemalloc
import zipfile
from pathlib import Path

import pytest
from msgspec.structs import replace

from app.__main__ import main
from app.work.document import Opening
from core import design_scans
from core.design import EMPTY, Node, Outline, Scan
from core.design_file import DesignFileError, encode

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


def test_check_says_what_is_too_much_and_unpacks_none(
    swelling: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, most = most_taken(["check", str(swelling)])
    assert status != 0 and most < CAP / 2
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
