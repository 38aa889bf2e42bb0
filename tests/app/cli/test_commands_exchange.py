"""export and import, by the contract of the command line."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from green import exact_moments
from PIL import Image

from app.__main__ import main
from app.paper.ink import WASH
from core.design import Build, Design, Mark, Node, Outline, Scan, Station, Wing
from core.design_build import Skin, Thickness
from core.design_file import read, write
from core.geometry.ring import ring_of

FIN = Outline(
    "fin", "fin", (Node(760, 40), Node(800, 150, (-12, -30), (10, 4)), Node(850, 150), Node(850, 40))
)
WHEEL = Outline("wheel", "wheel", (Node(100, 0, (0, 30), (0, -30)), Node(150, 0, (0, -30), (0, 30))), count=2)


@pytest.fixture
def sound(tmp_path: Path) -> Path:
    path = tmp_path / "plank.sternpost"
    write(path, Design(1, "Plank", outlines=(FIN, WHEEL), cg_mark=Mark(300, 10)), {})
    return path


@pytest.mark.parametrize(("to", "begins"), [
    ("svg", b"<?xml"), ("svg-picture", b"<?xml"),
    ("dxf", b"  0\nSECTION"), ("csv", b"\xef\xbb\xbfkey,reading,value"),
])
def test_export_writes_the_file(
    to: str, begins: bytes, sound: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / f"out.{to.removesuffix('-picture')}"
    assert main(["export", str(sound), "--to", to, "-o", str(out)]) == 0
    assert capsys.readouterr() == ("", "")
    assert out.read_bytes().startswith(begins)


@pytest.mark.parametrize("more", [
    [], ["--to", "svg"], ["-o", "x.svg"], ["--to", "bmp", "-o", "x.bmp"],
    ["--to", "svg", "-o", "plank.sternpost"], ["--to", "svg", "-o", "."],
    ["--to", "svg", "-o", "nowhere/x.svg"], ["--to", "svg", "-o", ""],
])
def test_a_faulty_export_line_is_one_line_and_exit_2(
    more: list[str], sound: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(sound.parent)
    before = sound.read_bytes()
    assert main(["export", "plank.sternpost", *more]) == 2
    out, err = capsys.readouterr()
    assert out == "" and err.count("\n") == 1 and len(err) > 20
    assert sound.read_bytes() == before


def test_nothing_to_draw_is_exit_1(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bare = tmp_path / "bare.sternpost"
    write(bare, Design(1, "Bare"), {})
    out = tmp_path / "out.svg"
    assert main(["export", str(bare), "--to", "svg", "-o", str(out)]) == 1
    err = capsys.readouterr().err
    assert err.count("\n") == 1 and str(bare) in err and "trace an outline" in err and not out.exists()


@pytest.mark.usefixtures("qapp")
def test_the_picture_shows_the_profile_at_its_scale(tmp_path: Path) -> None:
    body = Outline("body", "fuselage", (Node(0, -50), Node(1000, -50), Node(1000, 50), Node(0, 50)))
    path, out = tmp_path / "body.sternpost", tmp_path / "body.png"
    write(path, Design(1, "Body", outlines=(body,)), {})
    assert main(["export", str(path), "--to", "png", "-o", str(out)]) == 0
    with Image.open(out) as picture:
        assert picture.size[0] == 240 * 8 and picture.info["dpi"][0] == pytest.approx(203.2, abs=0.01)
        pixels = np.asarray(picture.convert("RGB"))
    rows, columns = np.nonzero((pixels == (WASH.red(), WASH.green(), WASH.blue())).all(axis=2))
    # 1000 × 100 mm at 1:5 and 203 dots an inch; half of the 0.32 mm line covers the wash on each side,
    # its smoothed edge one pixel more, and from the first pixel to the last is one less than their number.
    for found, mm in ((columns, 200), (rows, 20)):
        assert np.ptp(found) == pytest.approx((mm - 0.32) * 203 / 25.4 - 2, abs=2)


@pytest.mark.usefixtures("qapp")
def test_a_picture_of_nothing_is_exit_1_and_of_a_bare_or_unscaled_design_is_drawn(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, out = tmp_path / "bare.sternpost", tmp_path / "bare.png"
    write(path, Design(1, "Bare"), {})
    assert main(["export", str(path), "--to", "png", "-o", str(out)]) == 1
    assert "trace an outline" in capsys.readouterr().err and not out.exists()
    loose = Scan("plan", "plan.png", scale_from="none")
    for design in (
        Design(1, "", outlines=(FIN,)), Design(1, "W" * 300, outlines=(WHEEL,), scans=(loose,)),
        Design(1, "Wing", wings=(Wing("wing", (Station(0, 250, 200, 60), Station(500, 250, 200, 60))),)),
    ):
        write(path, design, {})
        assert main(["export", str(path), "--to", "png", "-o", str(out)]) == 0
        assert out.read_bytes().startswith(b"\x89PNG")


def test_only_the_picture_imports_qt(sound: Path, tmp_path: Path) -> None:
    code = (
        "import sys; from app.__main__ import main; "
        "status = main(sys.argv[1:]); "
        "sys.exit(status or (9 if any(n.startswith('PySide6') for n in sys.modules) else 0))"
    )
    root = Path(__file__).resolve().parents[3]
    environment = {**os.environ, "PYTHONPATH": str(root)}
    drawing = str(tmp_path / "out.svg")
    for arguments in (
        ["export", str(sound), "--to", "svg", "-o", drawing],
        ["export", str(sound), "--to", "csv", "-o", str(tmp_path / "out.csv")],
        ["import", drawing, "-o", str(tmp_path / "new.sternpost")],
    ):
        done = subprocess.run(
            [sys.executable, "-c", code, *arguments], cwd=root, env=environment, timeout=60, check=False
        )
        assert done.returncode == 0


@pytest.mark.parametrize("to", ["svg", "dxf"])
def test_import_takes_back_what_export_wrote(
    to: str, sound: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    drawing, new = tmp_path / f"Marsh Plank.{to}", tmp_path / "new.sternpost"
    assert main(["export", str(sound), "--to", to, "-o", str(drawing)]) == 0
    assert main(["import", str(drawing), "-o", str(new)]) == 0
    assert capsys.readouterr() == ("2 outlines were read.\n", "")
    design = read(new).design
    assert design.title == "Marsh Plank"
    assert [(o.id, o.kind, o.count) for o in design.outlines] == [("fin", "fin", 1), ("wheel", "wheel", 2)]
    for ours, theirs in zip((FIN, WHEEL), design.outlines, strict=True):
        wanted = exact_moments(ring_of(ours.nodes))
        assert exact_moments(ring_of(theirs.nodes)) == pytest.approx(wanted, rel=1e-6)
    assert main(["import", str(drawing), "-o", str(new), "--kind", "tip plate", "--mm-per-unit", "2"]) == 0
    design = read(new).design
    assert {o.kind for o in design.outlines} == {"tip plate"}
    assert exact_moments(ring_of(design.outlines[0].nodes))[0] == pytest.approx(
        4 * exact_moments(ring_of(FIN.nodes))[0], rel=1e-6
    )


BARE = '<svg xmlns="http://www.w3.org/2000/svg"><rect width="9" height="9"/></svg>'


@pytest.mark.parametrize(("more", "words"), [
    (["plain.svg", "-o", "new.sternpost"], "--mm-per-unit"), (["plain.svg"], "-o"),
    (["plain.svg", "-o", "new.sternpost", "--kind", "keel"], "give one of fuselage"),
    (["plain.svg", "-o", "new.sternpost", "--mm-per-unit", "0"], "--mm-per-unit"),
    (["plain.svg", "-o", "new.sternpost", "--mm-per-unit", "wide"], "--mm-per-unit"),
    (["plain.svg", "-o", "plain.svg", "--mm-per-unit", "1"], "name another"),
    (["nowhere.svg", "-o", "new.sternpost"], "no such file"),
    (["plain.txt", "-o", "new.sternpost"], "name an .svg"),
])
def test_a_faulty_import_line_is_one_line_and_exit_2(
    more: list[str], words: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("plain.svg").write_text(BARE, encoding="utf-8")
    assert main(["import", *more]) == 2
    out, err = capsys.readouterr()
    assert out == "" and err.count("\n") == 1 and words in err
    assert not Path("new.sternpost").exists()
    assert Path("plain.svg").read_text(encoding="utf-8") == BARE


def test_a_hostile_drawing_is_exit_1(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file, new = tmp_path / "bad.svg", tmp_path / "new.sternpost"
    for text in ("<!DOCTYPE svg><svg/>", BARE.replace("9", "NaN"), "<svg", BARE.replace('"9"', '"2e7"')):
        file.write_text(text, encoding="utf-8")
        assert main(["import", str(file), "-o", str(new), "--mm-per-unit", "1"]) == 1
        out, err = capsys.readouterr()
        assert out == "" and err.count("\n") == 1 and str(file) in err and not new.exists()


# Parts


@pytest.fixture
def with_parts(tmp_path: Path) -> Path:
    path = tmp_path / "built.sternpost"
    build = Build("tail", ("fin",), "sheet", Thickness(4.0, 4.0, "flat"), skin=Skin(4.0))
    write(path, Design(1, "Plank", outlines=(FIN,), builds=(build,)), {})
    return path


@pytest.mark.parametrize("to", ["svg", "dxf"])
def test_parts_are_written_with_their_kerf(
    to: str, with_parts: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plain, wide = tmp_path / f"plain.{to}", tmp_path / f"wide.{to}"
    line = ["export", str(with_parts), "--to", to, "--parts", "-o"]
    assert main([*line, str(plain)]) == 0
    assert main([*line, str(wide), "--kerf", "0.2"]) == 0
    assert capsys.readouterr().err == ""
    assert b"balsa-light-4mm" in plain.read_bytes() and plain.read_bytes() != wide.read_bytes()


@pytest.mark.parametrize(("more", "status", "told"), [
    (["--to", "csv", "--parts"], 2, "--parts goes to svg or dxf, found csv"),
    (["--to", "svg", "--kerf", "0.2"], 2, "--kerf is for parts: give --parts too"),
    (["--to", "svg", "--parts", "--kerf", "wide"], 2, "--kerf"),
    (["--to", "svg", "--parts", "--kerf", "7"], 2, "kerf: found 7 mm; give one between 0 and 5 mm"),
])
def test_a_faulty_line_for_parts_is_said(
    more: list[str], status: int, told: str, with_parts: Path, tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["export", str(with_parts), "-o", str(tmp_path / "x.svg"), *more]) == status
    out, err = capsys.readouterr()
    assert out == "" and told in err and err.count("\n") == 1 and not (tmp_path / "x.svg").exists()


def test_a_design_without_builds_has_no_parts_to_export(
    sound: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["export", str(sound), "--to", "dxf", "--parts", "-o", str(tmp_path / "x.dxf")]) == 1
    assert "found no part that is cut from sheet; give a surface a build" in capsys.readouterr().err


TWO = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" viewBox="0 0 90 90"><rect id="wheel" width="9" '
    'height="9"/><rect id="fin" width="9" height="9"/><rect id="old" display="none" width="9" height="9"/>'
    "</svg>"
)


def test_import_says_which_counts_are_lacking_and_takes_them(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file, new = tmp_path / "two.svg", tmp_path / "new.sternpost"
    file.write_text(TWO, encoding="utf-8")
    assert main(["import", str(file), "-o", str(new)]) == 0
    out, err = capsys.readouterr()
    assert out.startswith("2 outlines were read.") and "1 shape was left out" in out
    assert "does not say how often these come: wheel, fin; each counts once; say it by --count" in err
    assert "--hidden brings it in" in err and err.count("\n") == 2
    more = ["--count", "wheel=2", "--count", "1", "--hidden"]
    assert main(["import", str(file), "-o", str(new), *more]) == 0
    out, err = capsys.readouterr()
    assert err == "" and [(o.id, o.count) for o in read(new).design.outlines] == [
        ("wheel", 2), ("fin", 1), ("old", 1)
    ]
    for bad, words in (
        ("keel=2", "lacks the count of: wheel, fin"), ("wheel=9", "from 1 to 8"), ("x", "wheel=2"),
    ):
        assert main(["import", str(file), "-o", str(new), "--count", bad]) == 2
        err = capsys.readouterr().err
        assert err.count("\n") == 1 and words in err


def test_a_table_for_spreadsheets_with_decimal_commas(
    sound: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out.csv"
    assert main(["export", str(sound), "--to", "csv", "--decimal", "comma", "-o", str(out)]) == 0
    assert out.read_bytes().startswith(b"\xef\xbb\xbfkey;reading;value")
    assert main(["export", str(sound), "--to", "svg", "--decimal", "comma", "-o", str(out)]) == 2
    assert "--decimal is for --to csv" in capsys.readouterr().err
