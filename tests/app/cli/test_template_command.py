"""The command that writes templates, by its real ``main``."""

from __future__ import annotations

from pathlib import Path

import pypdfium2
import pytest
from driving import SAMPLES, bare_sample
from msgspec.structs import replace

from app.__main__ import main
from core.design import Design, Node, Outline, Scan
from core.design_file import write
from core.redesign.alternatives import keep

HARROW = str(SAMPLES / "marsh-harrow-52.sternpost")

pytestmark = pytest.mark.usefixtures("qapp")


def test_the_tail_on_letter_paper(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "tail.pdf"
    assert main(["template", HARROW, "-o", str(out), "--outline", "fin", "rudder", "--paper", "letter"]) == 0
    document = pypdfium2.PdfDocument(out)
    assert [round(side) for side in document[0].get_size()] == [612, 792]
    assert capsys.readouterr().out.splitlines()[0] == "1 page."
    assert "Marsh Harrow 52" in document[0].get_textpage().get_text_bounded()


def test_every_option_reaches_the_page(tmp_path: Path) -> None:
    source, out = tmp_path / "kept.sternpost", tmp_path / "t.pdf"
    write(source, keep(bare_sample(), "as drawn"), {})
    assert main([
        "template", str(source), "-o", str(out), "--outline", "fin", "--outline", "rudder", "--paper", "A3",
        "--landscape", "--scale", "1:2", "--overlap", "0", "--margin", "1/2 in", "--mirror", "--beside",
        "as-drawn", "--line", "inner",
    ]) == 0
    document = pypdfium2.PdfDocument(out)
    assert [round(side * 25.4 / 72) for side in document[0].get_size()] == [420, 297]
    text = " ".join(document[0].get_textpage().get_text_bounded().split())
    for words in ("scale 1:2", "mirrored", "dashed: as drawn", "its inner edge is the true outline"):
        assert words in text
    assert "turned" not in text
    assert main(["template", str(source), "-o", str(out), "--turn", "-30", "--outline", "fin"]) == 0
    assert "turned 30° clockwise" in pypdfium2.PdfDocument(out)[0].get_textpage().get_text_bounded()
    assert main(["template", str(source), "-o", str(out), "--paper", "roll:24 in"]) == 0
    assert pypdfium2.PdfDocument(out)[0].get_size()[1] == pytest.approx(24 * 72, abs=1.0)


def test_unasked_it_takes_the_fewest_pages_and_holds_long_rows_together(tmp_path: Path) -> None:
    corners = ((0, 0), (2700, 0), (2700, 420), (0, 420))
    hull = Outline("hull", "fuselage", tuple(Node(x, z) for x, z in corners))
    source, out = tmp_path / "long.sternpost", tmp_path / "t.pdf"
    write(source, Design(1, "Long", outlines=(hull,)), {})

    def pages(*options: str) -> int:
        assert main(["template", str(source), "-o", str(out), *options]) == 0
        return len(pypdfium2.PdfDocument(out))

    # One page with the map. As drawn 15 × 2 windows of 194 × 249.7 mm, or lying 10 × 3 of 281 × 167.7, of
    # which 8 have no ink, and 2 of those hold the others together.
    assert pages("--portrait", "--turn", "0") == 1 + 30
    assert pages("--landscape", "--turn", "0", "--blank", "none") == 1 + 30 - 8
    assert pages("--landscape", "--turn", "0") == 1 + 30 - 8 + 2
    assert pages("--landscape", "--turn", "0", "--blank", "all") == 1 + 30
    assert pages() == min(pages("--portrait"), pages("--landscape")) == 1 + 24


@pytest.mark.parametrize(("options", "words"), [
    (["--outline", "nose"], "no outline “nose”"), (["--paper", "b4"], "--paper: found 'b4'"),
    (["--paper", "roll:"], "--paper: No length"), (["--paper", "roll:9"], "the roll must be"),
    (["--scale", "0"], "--scale: Scale"), (["--overlap", "x"], "--overlap: “x”"),
    (["--turn", "far"], "--turn: “far”"), (["--turn", "200"], "a turn must lie"),
    (["--landscape", "--portrait"], "not allowed"), (["--blank", "some"], "argument --blank"),
    (["--line", "left"], "argument --line"), (["--beside", "old"], "no alternative “old”"),
])
def test_a_command_line_at_fault_is_told_in_one_line(
    options: list[str], words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["template", HARROW, "-o", str(tmp_path / "t.pdf"), *options]) == 2
    told = capsys.readouterr().err.splitlines()
    assert len(told) == 1 and words in told[0] and not list(tmp_path.iterdir())


def test_a_design_without_a_scale_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = tmp_path / "bare.json"
    write(source, replace(bare_sample(), scans=(Scan("p", "p.png", scale_from="none"),)), {})
    assert main(["template", str(source), "-o", str(tmp_path / "t.pdf")]) == 1
    told = capsys.readouterr().err.splitlines()
    assert len(told) == 1 and "set the scale of the scan" in told[0] and "bare.json" in told[0]


def test_the_design_is_never_written_over(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = tmp_path / "a.sternpost"
    write(source, bare_sample(), {})
    before = source.read_bytes()
    assert main(["template", str(source), "-o", str(source)]) == 2
    assert "name another" in capsys.readouterr().err and source.read_bytes() == before
