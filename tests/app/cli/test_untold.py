"""What the command line prints and writes where the areas of a design cannot be told."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from msgspec.structs import replace

from app.__main__ import main as run
from core.design import Design, Node, Outline, Weight
from core.design_file import read, write
from core.stability import readings as engine
from core.stability.balance import cg_of

pytestmark = pytest.mark.usefixtures("qapp")
SAMPLE = Path(__file__).resolve().parents[3] / "sample_designs" / "marsh-harrow-52.sternpost"
TWICE = "the areas cannot be told: counted in two ways the side area comes to two figures"
TANGLE = "crosses itself at more than"


def star(points: int = 99) -> Outline:
    """Crosses itself at nearly every pair of edges."""
    turn = 2 * np.pi * (points // 2) / points * np.arange(points)
    return Outline("star", "other", tuple(
        Node(float(500 + 400 * np.cos(a)), float(400 * np.sin(a))) for a in turn
    ), label="Star")


def tangled(design: Design, _: pytest.MonkeyPatch) -> tuple[Design, str]:
    return replace(design, outlines=(*design.outlines, star())), TANGLE


def twice(design: Design, patch: pytest.MonkeyPatch) -> tuple[Design, str]:
    patch.setattr(engine, "recounted", lambda *_: TWICE)
    return design, TWICE


Untold = Callable[[Design, pytest.MonkeyPatch], tuple[Design, str]]


@pytest.fixture(params=[tangled, twice])
def untold(
    request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> tuple[str, str]:
    """(the file, why its areas cannot be told)."""
    design, why = request.param(replace(read(SAMPLE).design, scans=()), monkeypatch)
    path = tmp_path / "untold.sternpost"
    write(path, design, {})
    return str(path), why


def squeezed(text: str) -> str:
    return "".join(text.split())


def test_readings_are_blank_and_say_why(untold: tuple[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    path, why = untold
    assert run(["readings", path]) == 0
    said = capsys.readouterr().out
    assert why in said and " % " not in said.split("Outlines and surfaces")[0]
    assert run(["readings", path, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["answer"]["state"] == "missing" and told["answer"]["cla_fraction"] is None
    assert all(told["readings"][key]["value"] is None for key in ("side_area", "cla_fraction", "fin_area"))
    assert all(outline["counted_area"] is None for outline in told["outlines"])
    (of_star,) = [o for o in told["outlines"] if o["id"] == "star"] or [None]
    assert of_star is None or of_star["area"] is None, "not nought: it cannot be told"


def test_compare_has_no_figure_of_it(untold: tuple[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    path, why = untold
    assert run(["compare", path, path, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["readings"]["cla_fraction"]["a"] is None and why in told["untold"]["a"]
    assert run(["compare", path, path]) == 0
    assert why in capsys.readouterr().out


def test_no_refit_is_written(
    untold: tuple[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, why = untold
    out = tmp_path / "new.sternpost"
    assert run(["refit", path, "--by", "scale", "-o", str(out)]) == 1
    told = capsys.readouterr()
    assert not out.exists() and told.out == "" and why in told.err


@pytest.mark.parametrize("command", [["sheet"], ["card"]])
def test_sheets_say_why(untold: tuple[str, str], command: list[str], tmp_path: Path) -> None:
    path, why = untold
    out = tmp_path / "out.pdf"
    assert run([*command, path, "-o", str(out)]) == 0
    document = pypdfium2.PdfDocument(out)
    text = " ".join(page.get_textpage().get_text_bounded() for page in document)
    document.close()
    assert squeezed(why)[:40].casefold() in squeezed(text).casefold()
    assert "CLA fraction 2" not in text


@pytest.mark.parametrize("to", ["csv", "svg-picture"])
def test_exports_say_why(untold: tuple[str, str], to: str, tmp_path: Path) -> None:
    path, why = untold
    out = tmp_path / f"out.{to[:3]}"
    assert run(["export", path, "--to", to, "-o", str(out)]) == 0
    assert why in out.read_text("utf-8-sig")


def test_a_failing_engine_writes_and_prints_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(*_: object) -> object:
        raise RuntimeError("no fin")

    monkeypatch.setattr(engine, "pitch_values", fail)
    for command, name in (
        (["readings"], ""), (["readings", "--json"], ""), (["compare", str(SAMPLE)], ""),
        (["sheet"], "o.pdf"), (["card"], "o.pdf"), (["export", "--to", "csv"], "o.csv"),
        (["export", "--to", "png"], "o.png"),
        (["refit", "--by", "scale"], "o.sternpost"),
    ):
        out = tmp_path / name
        assert run([command[0], str(SAMPLE), *command[1:], *(["-o", str(out)] if name else [])]) == 70
        told = capsys.readouterr()
        assert told.out == "" and (not name or not out.exists())
        first, *where = told.err.splitlines()
        assert first == (
            "sternpost: this failed in a way that nobody foresaw (RuntimeError: no fin); where it did:"
        )
        assert where[-1].startswith("  test_untold.py, line ") and str(tmp_path) not in told.err


def test_what_cannot_be_told_weighs_no_aeroplane() -> None:
    """Its area by which it weighs is not nought: the CG would lie elsewhere."""
    heavy = replace(star(), grams_per_dm2=10.0)
    design = replace(
        read(SAMPLE).design, scans=(), cg_from="weights", weights=(Weight("w-1", 50.0, 0.0, label="Battery"),)
    )
    assert cg_of(design)[0] is not None
    cg, why = cg_of(replace(design, outlines=(*design.outlines, heavy)))
    assert cg is None and TANGLE in why and "Star" in why
