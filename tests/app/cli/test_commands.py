"""The command line, by its contract: exit status, one-line errors, the shape of the JSON, no Qt."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from msgspec.structs import replace

from app.__main__ import COMMANDS, main
from core.design import Design, Flight, Mark, Node, Outline, Propeller, Scan, Station, Tailplane, Weight, Wing
from core.design_file import encode, write
from core.stability.catalogue import GROUPS
from core.stability.in_place import in_place_of
from core.stability.readings import ReadingsEngine
from core.stability.wording import figure, instead

ROOT = Path(__file__).resolve().parents[3]


def box(outline_id: str, kind: str, x0: float, z0: float, x1: float, z1: float, count: int = 1) -> Outline:
    corners = ((x0, z0), (x1, z0), (x1, z1), (x0, z1))
    return Outline(outline_id, kind, tuple(Node(x, z) for x, z in corners), count=count)  # type: ignore[arg-type]


# Body 1000 × 100 at (500, 0); fin 100 × 200 at (950, 150), touching it.
SOUND = Design(
    1, "Plain Plank",
    outlines=(box("body", "fuselage", 0, -50, 1000, 50), box("fin", "fin", 900, 50, 1000, 250)),
    cg_mark=Mark(300, 10),
)
BODY, FIN = 1000 * 100, 100 * 200
CLA_X = (BODY * 500 + FIN * 950) / (BODY + FIN)
FRACTION = (CLA_X - 300) / (950 - 300)


@pytest.fixture
def sound(tmp_path: Path) -> Path:
    path = tmp_path / "plank.sternpost"
    write(path, SOUND, {})
    return path


def run(*arguments: str, cwd: Path = ROOT) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8"}
    return subprocess.run(
        [sys.executable, *arguments], capture_output=True, encoding="utf-8", cwd=cwd, env=environment,
        timeout=60, check=False,
    )


def test_readings_prints_the_answer_the_table_and_the_outlines(
    sound: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["readings", str(sound)]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    figure = f"The CLA lies {100 * FRACTION:.1f} % of the tail arm behind the CG"
    assert f"{figure}, without wing and tailplane. Not complete." in out
    assert "Left out: Wing: not entered yet." in out
    rows = {line.split("  ")[1].strip(): line for line in out.splitlines() if line.startswith("  ")}
    assert rows["Tail arm"].split() == ["Tail", "arm", "650.0", "mm"]
    assert rows["CLA fraction"].endswith("above")
    # 20 000 mm² = 2 dm², a sixth of the whole.
    assert "2.00 dm²" in rows["fin"] and "16.7 %" in rows["fin"]


def test_columns_of_the_table_line_up(sound: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["readings", str(sound)])
    lines = capsys.readouterr().out.split("Readings\n")[1].split("Not given")[0].splitlines()
    ends = {line.index(" mm") for line in lines if line.endswith(" mm")}
    assert len(ends) == 1


# All that the further readings need.
WHOLE = replace(
    SOUND,
    outlines=(*SOUND.outlines, box("rudder", "rudder", 1000, 50, 1040, 250)),
    wings=(Wing("wing", (Station(0, 300, 200, 60), Station(600, 300, 200, 120))),),
    tailplanes=(Tailplane("tail", (Station(0, 900, 120), Station(200, 900, 120))),),
    weights=(Weight("all", 1150, 345),), cg_from="weights", fuselage_width=80.0,
    flight=Flight(propeller=Propeller(250, -20)),
)


@pytest.mark.parametrize("design", [WHOLE, SOUND, Design(1, "Bare")], ids=["whole", "outlines", "bare"])
def test_readings_are_printed_by_groups(
    design: Design, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "design.json"
    path.write_bytes(encode(design))
    assert main(["readings", str(path)]) == 0
    out = capsys.readouterr().out
    readings = ReadingsEngine().read(design)
    blocks = {block.splitlines()[0]: block.splitlines()[1:] for block in out.split("\n\n")}
    for group in GROUPS:
        title = f"{group.title}: {group.tells}"
        known = [key for key in group.readings if readings.value(key) is not None]
        if not known:
            assert title not in blocks
            (line,) = [li for li in blocks["Not given"] if li.split("  ")[1] == group.title]
            assert line.endswith(f"{group.tells}: {readings[group.readings[0]].missing}")
            continue
        rows = blocks[title]
        assert len(rows) == len(group.readings)
        for key, row in zip(group.readings, rows, strict=True):
            reading = readings[key]
            said = instead(reading) or figure(key, readings, "mm")
            assert row.startswith(f"  {reading.label}  ") and f" {said}" in row
            assert row.endswith(reading.verdict or reading.missing or figure(key, readings, "mm"))
    for reading in readings.table.values():
        if reading.value is not None:
            assert f"  {reading.label}  " in out
    assert ("Not given" in blocks) == (design is not WHOLE)


# The keys that the command line promises, with their units.
KEYS = {
    "mm": "cla_x cla_z cg_x cg_z fin_centre_x fin_centre_z tail_arm cla_aft_of_cg cla_above_cg wing_span mac "
          "mac_le_x fin_exposed_height fin_mac fin_quarter_chord_x fin_arm yaw_neutral_x tailplane_arm "
          "neutral_point_x",
    "mm2": "side_area fin_area wing_area tailplane_area",
    "g": "tail_load_g mass",
    "s": "wag_period_s wag_half_time_s roll_time_s",
    "deg": "dihedral_deg sideslip_full_rudder_deg trim_incidence_deg yaw_reversal_deg yaw_reversal_low_deg "
           "yaw_reversal_high_deg",
    "1/rad": "fin_lift_slope cn_beta_fin cn_beta_fin_handbook cn_beta_fin_lattice cn_beta_body "
             "cn_beta_propeller cn_beta cn_beta_low cn_beta_high cy_beta cn_rudder",
    "1": "cla_fraction aspect_ratio fin_aspect_ratio fin_volume sidewash_factor rudder_fraction "
         "rudder_effectiveness spiral_parameter roll_coupling tailplane_volume downwash_slope static_margin "
         "lift_coefficient cla_fraction_error cla_fraction_error_cg cla_fraction_error_tracing "
         "cla_fraction_error_surfaces cla_fraction_error_photograph wag_damping spiral_upright_share",
}


def test_json_has_every_key_with_its_unit(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "design.json"
    path.write_bytes(encode(WHOLE))
    assert main(["readings", str(path), "--json"]) == 0
    table = json.loads(capsys.readouterr().out)["readings"]
    units = {key: unit for unit, keys in KEYS.items() for key in keys.split()}
    assert {key: reading["unit"] for key, reading in table.items()} == units
    assert [key for key, r in table.items() if r["value"] is None and not in_place_of(r["missing"])] == []


def test_json_has_the_shape_of_the_contract(sound: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["readings", str(sound), "--json"]) == 0
    table = json.loads(capsys.readouterr().out)
    assert list(table) == ["title", "answer", "readings", "outlines", "warnings"]
    assert table["title"] == "Plain Plank" and table["warnings"] == []
    answered = table["answer"]
    assert list(answered) == [
        "state", "words", "left_out", "guessed", "at_odds", "cla_fraction", "plus_minus", "cn_beta",
    ]
    assert (answered["state"], answered["cn_beta"]) == ("incomplete", None)
    assert answered["cla_fraction"] == table["readings"]["cla_fraction"]["value"]
    assert answered["plus_minus"] == table["readings"]["cla_fraction_error"]["value"]
    assert answered["left_out"][0] == "Wing: not entered yet."
    for reading in table["readings"].values():
        assert set(reading) == {"value", "unit", "verdict", "missing"}
        assert (reading["value"] is None) == (reading["missing"] is not None)
    wanted = {
        "side_area": BODY + FIN, "cla_x": CLA_X, "cla_z": FIN * 150 / (BODY + FIN), "cg_x": 300, "cg_z": 10,
        "fin_centre_x": 950, "fin_centre_z": 150, "tail_arm": 650, "cla_fraction": FRACTION,
        "cla_aft_of_cg": CLA_X - 300, "cla_above_cg": FIN * 150 / (BODY + FIN) - 10, "fin_area": FIN,
    }
    for key, value in wanted.items():
        assert table["readings"][key]["value"] == pytest.approx(value, rel=1e-9), key
    assert table["readings"]["side_area"]["unit"] == "mm2"
    assert table["readings"]["cla_fraction"]["unit"] == "1"
    assert table["readings"]["cla_fraction"]["verdict"] == "above"
    fin = table["outlines"][1]
    assert set(fin) == {"id", "area", "counted_area", "centroid_x", "centroid_z"}
    assert fin["id"] == "fin" and fin["area"] == fin["counted_area"] == pytest.approx(FIN)
    assert (fin["centroid_x"], fin["centroid_z"]) == pytest.approx((950, 150))


def test_json_says_why_a_reading_is_missing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "bare.json"
    path.write_text('{"format": 1, "title": "Bare"}', encoding="utf-8")
    assert main(["readings", str(path), "--json"]) == 0
    table = json.loads(capsys.readouterr().out)
    assert table["readings"]["cla_fraction"] == {
        "value": None, "unit": "1", "verdict": None, "missing": "trace an outline"
    }
    assert table["outlines"] == []


def test_a_missing_scan_is_a_warning_for_readings_and_a_fault_for_check(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "design.json"
    design = Design(1, "Scanless", scans=(Scan("plan", "plan.png"),), outlines=SOUND.outlines)
    path.write_bytes(encode(design))
    assert main(["readings", str(path), "--json"]) == 0
    assert any("plan.png" in text for text in json.loads(capsys.readouterr().out)["warnings"])
    assert main(["check", str(path)]) == 1
    out = capsys.readouterr().out
    assert "scans[0].file" in out and "not yet: mark the CG" in out and "nothing wrong" not in out


def test_check_is_content_with_what_is_merely_not_entered(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], sound: Path
) -> None:
    assert main(["check", str(sound)]) == 0
    assert capsys.readouterr().out == f"{sound}: nothing wrong\n"
    path = tmp_path / "bare.json"
    path.write_text('{"format": 1, "title": "Bare"}', encoding="utf-8")
    assert main(["check", str(path)]) == 0
    out = capsys.readouterr().out
    for text in ("not yet: trace an outline", "not yet: trace the fin", "not yet: mark the CG"):
        assert text in out
    assert "nothing wrong" in out


def test_check_names_every_fault(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bow = Outline("bow", "other", (Node(0, 0), Node(10, 10), Node(10, 0), Node(0, 10)), label="Bow\ntie")
    flat = Outline("flat", "other", (Node(0, 0), Node(10, 0), Node(20, 0)))
    path = tmp_path / "design.sternpost"
    write(path, Design(1, "Faulty", scans=(Scan("plan", "plan.png"),), outlines=(bow, flat)),
          {"plan.png": b"\x89PNG\r\n\x1a\n, cut short"})
    assert main(["check", str(path)]) == 1
    lines = capsys.readouterr().out.splitlines()
    faults = [line for line in lines if "not yet" not in line]
    assert all(line.startswith(f"{path}: ") for line in lines)
    assert len(faults) == 3
    assert "plan.png" in faults[0]
    assert 'outlines[0] "Bow tie": crosses itself near x 5.0 mm, z 5.0 mm' in faults[1]
    assert 'outlines[1] "flat": has no area' in faults[2]


def test_check_opens_the_scans(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from io import BytesIO

    from PIL import Image

    held = BytesIO()
    Image.new("L", (40, 30), 255).save(held, "PNG")
    path = tmp_path / "design.sternpost"
    write(path, Design(1, "Scanned", scans=(Scan("plan", "plan.png"),), outlines=SOUND.outlines),
          {"plan.png": held.getvalue()})
    assert main(["check", str(path)]) == 0
    assert "nothing wrong" in capsys.readouterr().out


FAULTY = '{"format": 1, "title": "x", "aim": {"low": "22"}, "fuselage_width": 75}'


@pytest.mark.parametrize("command", ["readings", "check", "sheet"])
def test_a_fault_of_content_is_one_line_and_exit_1(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "bad.json"
    path.write_text(FAULTY, encoding="utf-8")
    more = ["-o", str(tmp_path / "out.pdf")] if command == "sheet" else []
    assert main([command, str(path), *more]) == 1
    out, err = capsys.readouterr()
    assert out == "" and err.count("\n") == 1
    assert str(path) in err and "aim.low" in err and "expected a number" in err
    assert not (tmp_path / "out.pdf").exists()


def test_several_faults_are_one_line_for_readings_and_one_each_for_check(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "bad.json"
    text = '{"format": 1, "title": "x", "fuselage_width": -1, "flight": {"speed_m_s": -3}}'
    path.write_text(text, encoding="utf-8")
    assert main(["readings", str(path)]) == 1
    err = capsys.readouterr().err
    assert err.count("\n") == 1 and "1 more" in err
    assert main(["check", str(path)]) == 1
    err = capsys.readouterr().err
    assert err.count("\n") == 2 and "fuselage_width" in err and "flight.speed_m_s" in err


@pytest.mark.parametrize(
    "arguments",
    [
        ["readings"], ["readings", "nowhere.sternpost"], ["readings", "."], ["check", "nowhere\n.json"],
        ["sheet", "nowhere.sternpost"], ["sheet", "nowhere.sternpost", "-o", "x.pdf", "--paper", "a5"],
        ["--bogus"], ["one.sternpost", "two.sternpost"], ["nowhere.sternpost"], ["readings", "x", "--jso"],
        [""],
    ],
)
def test_a_fault_of_the_command_line_is_one_line_and_exit_2(
    arguments: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(arguments) == 2
    out, err = capsys.readouterr()
    assert out == "" and err.count("\n") == 1 and len(err) > 20


@pytest.mark.usefixtures("qapp")
def test_a_sheet_that_cannot_be_written_is_exit_2(
    sound: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for out in (tmp_path / "none" / "x.pdf", tmp_path, sound):
        before = sound.read_bytes()
        assert main(["sheet", str(sound), "-o", str(out)]) == 2
        assert capsys.readouterr().err.count("\n") == 1
        assert sound.read_bytes() == before


def test_version_and_help(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--version"]) == 0
    assert capsys.readouterr().out.startswith("sternpost 0.")
    for arguments in (["--help"], ["readings", "--help"]):
        assert main(arguments) == 0
        out = capsys.readouterr().out
        assert "Examples:" in out and "sternpost sheet" in out and "--paper a4|letter" in out


def test_a_file_that_bears_a_commands_name_opens_by_its_path(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import types

    opened: list[Path | None] = []

    def run_window(path: Path | None) -> int:
        opened.append(path)
        return 0

    window = types.ModuleType("app.window.running")
    window.run = run_window  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "app.window.running", window)
    monkeypatch.setenv("QT_QPA_PLATFORM", "offscreen")
    monkeypatch.chdir(tmp_path)
    Path("check").write_text("{}", encoding="utf-8")
    Path("plan.png").write_bytes(b"")
    for arguments in (["./check"], ["--", "check"], ["plan.png"], []):
        assert main(arguments) == 0
    assert opened == [Path("check"), Path("check"), Path("plan.png"), None]


def test_without_a_screen_the_window_is_refused_in_one_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(sys, "platform", "linux")
    assert main([]) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_readings_and_check_import_no_qt(sound: Path) -> None:
    code = (
        "import sys; from app.__main__ import main; "
        "status = main(sys.argv[1:]); "
        "sys.exit(status or (9 if any(n.startswith('PySide6') for n in sys.modules) else 0))"
    )
    for arguments in (["readings", str(sound)], ["readings", str(sound), "--json"], ["check", str(sound)]):
        assert run("-c", code, *arguments).returncode == 0


def test_a_reader_that_leaves_early_causes_no_complaint(sound: Path) -> None:
    code = (
        "import os, sys; read, write = os.pipe(); os.dup2(write, 1); os.close(write); os.close(read); "
        "from app.__main__ import main; sys.exit(main(sys.argv[1:]))"
    )
    done = run("-c", code, "readings", str(sound))
    assert (done.returncode, done.stderr) == (0, "")


def test_an_interruption_is_quiet(
    sound: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def interrupted(*_: object, **__: object) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr("app.cli.readings.print_readings", interrupted)
    assert main(["readings", str(sound)]) == 130
    assert capsys.readouterr() == ("", "")


def test_a_terminal_without_the_signs_gets_escapes_not_a_traceback(tmp_path: Path) -> None:
    path = tmp_path / "plank.json"
    path.write_bytes(encode(Design(1, "Möwe −1", outlines=SOUND.outlines, cg_mark=Mark(-3, 0))))
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "ascii"}
    for more in ([], ["--json"]):
        done = subprocess.run(
            [sys.executable, "-m", "app", "readings", str(path), *more], capture_output=True, cwd=ROOT,
            env=environment, timeout=60, check=False,
        )
        assert done.returncode == 0 and done.stderr == b""
    assert json.loads(done.stdout)["title"] == "Möwe −1"


def test_an_inch_design_is_printed_in_inches(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    wing = Wing("wing", (Station(0, 250, 200, 60), Station(500, 250, 200, 60)))
    path = tmp_path / "inch.json"
    path.write_bytes(encode(Design(1, "Inches", display_units="in", outlines=SOUND.outlines,
                                   cg_mark=Mark(300, 0), wings=(wing,))))
    assert main(["readings", str(path)]) == 0
    out = capsys.readouterr().out
    assert f"{650 / 25.4:.2f} in" in out
    # The wing's piece is 200 × 24 mm, counted twice.
    assert f"{2 * 200 * 24 / 25.4**2:.1f} sq in" in out


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_stands_in_the_help_and_says_what_it_lacks(
    command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["--help"]) == 0
    assert f"\n  sternpost {command} " in capsys.readouterr().out
    assert main([command]) == 2
    assert f"sternpost {command}: the following arguments are required" in capsys.readouterr().err
