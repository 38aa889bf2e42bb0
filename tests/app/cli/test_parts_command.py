"""The command that lists and draws parts, by its real ``main``."""

from __future__ import annotations

import json
from pathlib import Path

import pypdfium2
import pytest
from msgspec.structs import replace
from pdf_paths import words_of

from app.__main__ import main
from app.kit.cautions import WORKSHOP
from core.design import Build, Design, Scan
from core.design_build import Ribs, Skin, Spar, Strip, Thickness
from core.design_file import write
from core.parts.built import built
from core.redesign.alternatives import keep
from tests.core.made_parts import design

RIBBED = Build(
    "tail", ("fin", "rudder"), "ribbed", Thickness(14.0, 9.0), Ribs(), Strip(6.0, None, "balsa-hard"),
    Strip(8.0), (Spar(0.35, (6.0, 3.0), 1.5),), Skin(), 60.0,
)
BARE = Build("none", ("hull",), "sheet", Thickness(6.0, 6.0, "flat"))

pytestmark = pytest.mark.usefixtures("qapp")


def saved(folder: Path, made: Design) -> str:
    path = folder / "plank.sternpost"
    write(path, made, {})
    return str(path)


def test_json_tells_every_part_and_build(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    made = design(RIBBED)
    assert main(["parts", saved(tmp_path, made), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    one = built(made, RIBBED)
    assert set(told) == {"parts", "builds"} and len(told["parts"]) == len(one.parts) > 10
    first = told["parts"][0]
    assert list(first) == ["id", "build", "name", "count", "material", "grams", "x", "z", "length", "width",
                           "thick"]
    assert [p["id"] for p in told["parts"]] == [p.id for p in one.parts]
    assert first["grams"] == pytest.approx(one.parts[0].grams)
    (row,) = told["builds"]
    assert list(row) == ["id", "wood_grams", "covering_grams", "glue_grams", "grams", "x", "z"]
    assert sum(p["grams"] for p in told["parts"]) == pytest.approx(row["wood_grams"])
    assert row["grams"] == pytest.approx(row["wood_grams"] + row["covering_grams"] + row["glue_grams"])


def test_without_either_a_table_is_printed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    made = replace(keep(design(), "bare"), builds=(RIBBED,))
    assert main(["parts", saved(tmp_path, made)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "Plain Plank" and lines[2] == "Fin, Rudder"
    ribs = [line for line in lines if line.startswith("  Fin rib 1")]
    assert len(ribs) == 1 and "cut 2" in ribs[0] and "Balsa, medium" in ribs[0]
    one = built(made, RIBBED)
    assert any(line.startswith(f"  wood {one.wood_grams:.1f} g, covering") for line in lines)
    assert "  before (bare): the kept state gives it no weight" in lines
    assert tuple(lines[-len(WORKSHOP) :]) == WORKSHOP
    buy = lines[lines.index("To buy, sticks and sheets 1 m long") + 1 :]
    assert any("stick 6 × 3 mm" in line and "Spruce" in line for line in buy)
    assert any("sheet 1.6 mm, 75 mm wide" in line and "or 1 × 100 mm wide" in line for line in buy)


def test_the_sheet_is_written_and_may_be_told_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "parts.pdf"
    name = saved(tmp_path, design(RIBBED))
    assert main(["parts", name, "-o", str(out), "--json", "--paper", "letter"]) == 0
    assert json.loads(capsys.readouterr().out)["builds"][0]["id"] == "tail"
    document = pypdfium2.PdfDocument(out)
    assert [round(side) for side in document[0].get_size()] == [612, 792]
    assert "Spruce" in words_of(document[0]) and "Fin skin" in " ".join(words_of(page) for page in document)


def test_what_cannot_be_made_is_told_a_line_each(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    name = saved(tmp_path, design(RIBBED, BARE))
    assert main(["parts", name]) == 1
    said = capsys.readouterr()
    assert "Fin, Rudder" in said.out
    assert said.err and all(line.startswith(f"{name}: ") for line in said.err.splitlines())
    assert main(["parts", saved(tmp_path, design(BARE)), "-o", str(tmp_path / "p.pdf")]) == 1
    assert not (tmp_path / "p.pdf").exists()


@pytest.mark.parametrize(("made", "options", "status", "words"), [
    (design(), [], 1, "no surface has a build yet"),
    (design(RIBBED, scans=(Scan("plan", "plan.png", scale_from="none"),)), [], 1, "scale"),
    (design(RIBBED), ["--beside", "old"], 2, "no alternative “old”"),
    (design(RIBBED), ["--paper", "b4"], 2, "--paper"),
    (design(RIBBED), ["-o", "."], 2, "this is a folder"),
])
def test_a_fault_is_told_in_one_line(
    made: Design, options: list[str], status: int, words: str, tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    path = tmp_path / "plank.sternpost"
    write(path, made, {"plan.png": b"not a picture"} if made.scans else {})
    assert main(["parts", str(path), *options]) == status
    told = capsys.readouterr().err.splitlines()
    assert len(told) == 1 and words in told[0]
