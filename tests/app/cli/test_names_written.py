"""Every command that writes replaces a file of its own kind alone, under a name that says what it is."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from app.__main__ import COMMANDS, main
from core.design_file import read

SAMPLES = Path(__file__).resolve().parents[3] / "sample_designs"
HARROW, PARTS = str(SAMPLES / "marsh-harrow-52.sternpost"), str(SAMPLES / "tallow-twin.sternpost")
WRITING: dict[str, tuple[tuple[str, ...], str]] = {
    "sheet": ((HARROW,), ".pdf"),
    "template": ((HARROW, "--outline", "fin"), ".pdf"),
    "card": ((HARROW,), ".pdf"),
    "setting-up": ((HARROW,), ".pdf"),
    "gauges": ((PARTS,), ".pdf"),
    "parts": ((PARTS,), ".pdf"),
    "refit": ((HARROW, "--by", "height", "--to", "0.3"), ".sternpost"),
    "plug": ((HARROW, "--at", "180", "--length", "35"), ".sternpost"),
    "import": (("drawing.svg",), ".sternpost"),
    **{
        f"export {to}": ((HARROW, "--to", to), f".{to.removesuffix('-picture')}")
        for to in ("svg", "dxf", "csv", "png", "svg-picture")
    },
    "export --parts": ((PARTS, "--to", "dxf", "--parts"), ".dxf"),
}


def test_every_command_that_writes_is_here() -> None:
    rooms = SAMPLES.parent / "app" / "cli"
    assert {name.split()[0] for name in WRITING} == {
        name for name, module in COMMANDS.items() if '"-o"' in (rooms / f"{module}.py").read_text("utf-8")
    }


@pytest.fixture(autouse=True)
def drawing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("drawing.svg").write_text(
        "<svg xmlns='http://www.w3.org/2000/svg' width='90mm' viewBox='0 0 90 90'>"
        "<rect width='9' height='9'/></svg>"
    )


@pytest.mark.parametrize("command", WRITING)
def test_what_is_of_another_kind_stays(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    words, ending = WRITING[command]
    name = command.split()[0]
    # A scan of a plan, a letter, and a design (or, where a design is written, a drawing) under its ending.
    others = {
        "scan": b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "plan": b"%PDF-1.4\n<< /Creator (a scanner) >>\n",
        "design": Path(HARROW).read_bytes() if ending != ".sternpost" else Path("drawing.svg").read_bytes(),
    }
    for which, data in others.items():
        out = Path(f"{which}{ending}")
        out.write_bytes(data)
        assert main([name, *words, "-o", str(out)]) == 2
        told = capsys.readouterr()
        assert out.read_bytes() == data and told.out == ""
        assert told.err.startswith(f"{out}: what is there already is ") and told.err.count("\n") == 1


@pytest.mark.parametrize("command", WRITING)
def test_a_name_that_says_something_else_is_refused(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    words, ending = WRITING[command]
    for out, found in (
        ("plan", "the name has no ending"), ("nose v1.2", "the name ends in .2"),
        ("X.pdf" if ending == ".sternpost" else "X.sternpost", "the name ends in ."),
    ):
        assert main([command.split()[0], *words, "-o", out]) == 2
        assert capsys.readouterr().err.startswith(f"{out}: {found}")
        assert not Path(out).exists()


@pytest.mark.parametrize("command", WRITING)
def test_what_was_written_may_be_written_again(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    words, ending = WRITING[command]
    out = Path(f"out{ending}")
    for _ in range(2):
        assert main([command.split()[0], *words, "-o", str(out)]) == 0, capsys.readouterr().err
        assert out.stat().st_size > 100
        capsys.readouterr()


@pytest.mark.skipif(sys.platform != "linux", reason="file names are bytes on Linux only")
def test_a_drawing_whose_name_is_no_text_is_read(capsys: pytest.CaptureFixture[str]) -> None:
    odd = os.fsdecode(b"caf\xe9.svg")
    Path("drawing.svg").rename(odd)
    assert main(["import", odd, "-o", "out.sternpost"]) == 0
    assert read(Path("out.sternpost")).design.title == "caf\N{REPLACEMENT CHARACTER}"
