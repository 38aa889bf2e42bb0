"""refit, plug and compare on the command line: what is written, exit status, one-line errors, no Qt."""

from __future__ import annotations

import json
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from msgspec.structs import replace
from plain_bench import box
from test_commands import BODY, FIN, ROOT, SOUND

from app.__main__ import main
from core.design import Design, Scan
from core.design_file import read, write
from core.stability.readings import ReadingsEngine

SAMPLES = sorted((ROOT / "sample_designs").glob("*.sternpost"))
PICTURE = b"\x89PNG\r\n\x1a\n, any bytes"


@pytest.fixture
def plank(tmp_path: Path) -> Path:
    """Body 1000 × 100 and fin 100 × 200, with a scan of which nothing but its bytes is known."""
    path = tmp_path / "plank.sternpost"
    scan = Scan("plan", "plan.png", scale_from="points")
    aim = replace(SOUND.aim, cla_fraction=0.5, high=0.6)
    write(path, replace(SOUND, scans=(scan,), aim=aim), {"plan.png": PICTURE})
    return path


def fraction(path: Path) -> float:
    value = ReadingsEngine().read(read(path).design).value("cla_fraction")
    assert value is not None
    return value


def box_of(design: Design, outline_id: str) -> tuple[float, float, float, float]:
    nodes = design.outline(outline_id).nodes
    xs, zs = [n.x for n in nodes], [n.z for n in nodes]
    return min(xs), min(zs), max(xs), max(zs)


def test_refit_by_height_gives_the_fin_that_moments_give(
    plank: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "new.sternpost"
    assert main(["refit", str(plank), "--by", "height", "-o", str(out)]) == 0
    # Centroid at x_CG + 0.5 arm = 300 + 0.5 · 650 = 625 of body and fin F: F (950 − 625) = BODY (625 − 500).
    area = BODY * (625 - 500) / (950 - 625)
    low, high = box_of(read(out).design, "fin")[1::2]
    assert (low, high - 50) == pytest.approx((50, area / 100), rel=1e-6)
    assert fraction(out) == pytest.approx(0.5, abs=1e-6)
    said, errors = capsys.readouterr()
    assert "Height of fin and rudder" in said and "The CLA fraction is then 50.0 %." in said and errors == ""


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda p: p.stem)
def test_refit_brings_every_sample_to_its_own_aim_and_keeps_the_scan(sample: Path, tmp_path: Path) -> None:
    out = tmp_path / "new.sternpost"
    assert main(["refit", str(sample), "--by", "scale", "-o", str(out)]) == 0
    assert fraction(out) == pytest.approx(read(sample).design.aim.cla_fraction, abs=1e-4)
    with zipfile.ZipFile(sample) as old, zipfile.ZipFile(out) as new:
        pictures = [n for n in old.namelist() if n != "design.json"]
        assert pictures and sorted(new.namelist()) == sorted(old.namelist())
        assert all(old.read(n) == new.read(n) for n in pictures)


def test_refit_takes_per_cent_and_cn_beta(tmp_path: Path) -> None:
    sample, out = ROOT / "sample_designs" / "marsh-harrow-52.sternpost", tmp_path / "new.sternpost"
    assert main(["refit", str(sample), "--by", "height", "--to", "23 %", "-o", str(out)]) == 0
    assert fraction(out) == pytest.approx(0.23, abs=1e-4)
    assert main(["refit", str(sample), "--by", "height", "--cn-beta", "0.06", "-o", str(out)]) == 0
    assert ReadingsEngine().read(read(out).design).value("cn_beta") == pytest.approx(0.06, abs=1e-4)


def test_refit_holds_both_witnesses_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sample, out = ROOT / "sample_designs" / "marsh-harrow-52.sternpost", tmp_path / "new.sternpost"
    words = ["refit", str(sample), "--by", "scale", "--to", "25 %", "--cn-beta", "0.05", "-o", str(out)]
    assert main(words) == 0
    readings = ReadingsEngine().read(read(out).design)
    got, firm = readings.value("cla_fraction"), readings.value("cn_beta")
    assert got is not None and 0.25 - 1e-6 <= got <= 0.28
    assert firm == pytest.approx(0.05, abs=1e-5)
    assert "The answer would be: within." in capsys.readouterr().out


def test_refit_says_the_state_of_its_result_and_stop_on_standard_error(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sample, out = ROOT / "sample_designs" / "tallow-twin.sternpost", tmp_path / "new.sternpost"
    assert main(["refit", str(sample), "--by", "cg", "--to", "25 %", "-o", str(out)]) == 0
    said, errors = capsys.readouterr()
    assert "The answer would be: stop." in said
    assert errors.count("\n") == 1 and "do not fly it so" in errors and "neutral point" in errors
    assert main(["refit", str(sample), "--by", "scale", "--to", "25 %", "-o", str(out)]) == 0
    assert capsys.readouterr().err == ""


def test_refit_takes_the_length_of_an_added_fin(tmp_path: Path) -> None:
    sample, out = ROOT / "sample_designs" / "marsh-harrow-52.sternpost", tmp_path / "new.sternpost"
    words = ["refit", str(sample), "--by", "ventral", "--to", "0.22", "--length", "4 in", "-o", str(out)]
    assert main(words) == 0
    (added,) = (o for o in read(out).design.outlines if o.kind == "ventral fin")
    xs = [n.x for n in added.nodes]
    assert max(xs) - min(xs) == pytest.approx(4 * 25.4, abs=1e-6)


def test_a_refit_that_cannot_be_says_how_near_it_came_and_writes_nothing(
    plank: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "new.sternpost"
    # With ever more fin at x 950 the fraction tends to 1 and never passes it.
    assert main(["refit", str(plank), "--by", "height", "--to", "1.2", "-o", str(out)]) == 1
    said, errors = capsys.readouterr()
    assert said == "" and errors.count("\n") == 1 and "The nearest is" in errors and str(plank) in errors
    assert not out.exists()


def test_a_plug_lengthens_the_body_and_keeps_the_scan(
    plank: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "new.sternpost"
    assert main(["plug", str(plank), "--at", "180", "--length", "35", "-o", str(out)]) == 0
    made = read(out)
    # The CG mark at 300 stays with what lies behind the cut.
    assert box_of(made.design, "body") == (-35, -50, 1000, 50)
    assert made.design.outline("fin") == SOUND.outline("fin") and made.design.cg_mark == SOUND.cg_mark
    assert made.pictures == {"plan.png": PICTURE}
    assert "35.0 mm let in at 180.0 mm" in capsys.readouterr().out


def test_a_plug_keeps_the_part_named_and_can_write_over_its_own_file(plank: Path) -> None:
    words = ["plug", str(plank), "--at", "7 in", "--length", "1 3/8 in", "--keep", "front", "-o", str(plank)]
    assert main(words) == 0
    made = read(plank)
    long = 1.375 * 25.4
    assert box_of(made.design, "body") == pytest.approx((0, -50, 1000 + long, 50))
    assert box_of(made.design, "fin")[0] == pytest.approx(900 + long)
    assert made.pictures == {"plan.png": PICTURE}


@pytest.mark.parametrize("length", ["-35", "-35 mm", "-1.5in"])
def test_a_piece_is_taken_out_however_its_length_is_written(plank: Path, tmp_path: Path, length: str) -> None:
    out = tmp_path / "new.json"
    assert main(["plug", str(plank), "--at", "400", "--length", length, "-o", str(out)]) == 0
    taken = 1.5 * 25.4 if length.endswith("in") else 35.0
    low, _, high, _ = box_of(read(out).design, "body")
    assert high - low == pytest.approx(1000 - taken)


@pytest.mark.parametrize(
    "words",
    [
        ["plug", "--at", "2000", "--length", "35"], ["plug", "--at", "180", "--length", "-2000"],
        ["refit", "--by", "arm"], ["refit", "--by", "height", "--cn-beta", "0.06"],
    ],
)
def test_what_the_design_does_not_allow_is_one_line_and_exit_1(
    words: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, out = tmp_path / "plank.json", tmp_path / "new.json"
    bare = Design(1, "Bare", outlines=(box("body", "fuselage", 0, -50, 1000, 50),))
    write(path, bare, {})
    assert main([words[0], str(path), *words[1:], "-o", str(out)]) == 1
    said, errors = capsys.readouterr()
    assert said == "" and errors.count("\n") == 1 and str(path) in errors
    assert len(errors) > len(str(path)) + 20
    assert not out.exists()


@pytest.mark.parametrize(
    "words",
    [
        ["plug"], ["plug", "A"], ["plug", "A", "--at", "1", "--length", "35"],
        ["plug", "A", "--at", "here", "--length", "35", "-o", "B"],
        ["plug", "A", "--at", "180", "--length", "0", "-o", "B"],
        ["plug", "A", "--at", "180", "--length", "3/8", "-o", "B"],
        ["plug", "A", "--at", "180", "--length", "35", "--keep", "tail", "-o", "B"],
        ["plug", "A", "--at", "180", "--length", "35", "-o", "."],
        ["plug", "A", "--at", "180", "--length", "35", "-o", "nowhere/B"],
        ["plug", "nowhere", "--at", "180", "--length", "35", "-o", "B"],
        ["refit", "A", "-o", "B"], ["refit", "A", "--by", "weight", "-o", "B"],
        ["refit", "A", "--by", "height"], ["refit", "A", "--by", "height", "--to", "much", "-o", "B"],
        ["refit", "A", "--by", "height", "--cn-beta", "60", "-o", "B"],
        ["refit", "A", "--by", "height", "--length", "40", "-o", "B"],
        ["compare", "A"], ["compare", "A", "A", "A"], ["compare", "A", "nowhere"],
    ],
)
def test_a_fault_of_the_command_line_is_one_line_and_exit_2(
    words: list[str], plank: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    plank.rename(tmp_path / "A")
    assert main(words) == 2
    said, errors = capsys.readouterr()
    assert said == "" and errors.count("\n") == 1 and len(errors) > 20
    assert [p.name for p in tmp_path.iterdir()] == ["A"]


def test_compare_gives_both_and_the_difference(
    plank: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "new.sternpost"
    main(["plug", str(plank), "--at", "180", "--length", "100", "-o", str(out)])
    capsys.readouterr()
    assert main(["compare", str(plank), str(out), "--json"]) == 0
    table = json.loads(capsys.readouterr().out)
    assert list(table) == ["titles", "untold", "readings"] and table["untold"] == {"a": None, "b": None}
    assert table["titles"] == {"a": "Plain Plank", "b": "Plain Plank"}
    assert list(table["readings"]) == list(ReadingsEngine().read(SOUND).table)
    area = table["readings"]["side_area"]
    # Depth × length of what was let in.
    assert area["unit"] == "mm2" and area["a"] == pytest.approx(BODY + FIN)
    assert area["difference"] == pytest.approx(100 * 100)
    assert area["b"] == pytest.approx(BODY + FIN + 100 * 100)
    assert table["readings"]["wing_area"] == {"unit": "mm2", "a": None, "b": None, "difference": None}
    assert main(["compare", str(plank), str(out)]) == 0
    rows = {line.split("  ")[1].strip(): line.split() for line in capsys.readouterr().out.splitlines()[4:]}
    assert rows["Side area"][2:] == ["12.00", "dm²", "13.00", "dm²", "+1.00", "dm²"]
    assert rows["Wing area"][2:] == ["–", "–", "–"]


def test_the_commands_import_no_qt(plank: Path, tmp_path: Path) -> None:
    code = (
        "import sys; from app.__main__ import main; status = main(sys.argv[1:]); "
        "sys.exit(status or (9 if any(n.startswith('PySide6') for n in sys.modules) else 0))"
    )
    out = str(tmp_path / "new.sternpost")
    for words in (
        ["plug", str(plank), "--at", "180", "--length", "35", "-o", out],
        ["refit", str(plank), "--by", "height", "-o", out], ["compare", str(plank), out],
    ):
        done = subprocess.run(
            [sys.executable, "-c", code, *words], capture_output=True, cwd=ROOT, timeout=60, check=False
        )
        assert (done.returncode, done.stderr) == (0, b"")
