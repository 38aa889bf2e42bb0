"""The design file: round trips, what it holds, and scans beside a bare design."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from making import SOME, box, design_of, sound_designs, trainer

from core.design import EMPTY, Design, Mark, Node, Scan
from core.design_check import problems
from core.design_file import decode, encode, pack, read, unpack, write

PICTURES = {
    "plan.png": b"\x89PNG\r\n\x1a\n not really" * 50, "side view.jpg": b"\xff\xd8\xff" + bytes(range(256)),
}
SCANS = (Scan("plan", "plan.png"), Scan("side", "side view.jpg"), Scan("again", "plan.png", page=1))


@SOME
@given(sound_designs)
def test_a_sound_design_comes_back_the_same_to_the_byte(design: Design) -> None:
    assert problems(design) == []
    once = encode(design)
    back = decode(once)
    assert back == design
    assert encode(back) == once


@SOME
@given(sound_designs)
def test_a_container_gives_back_design_and_pictures(design: Design) -> None:
    pictures = {scan.file: scan.id.encode() * 9 for scan in design.scans}
    held = pack(design, pictures)
    back = unpack(held)
    assert (back.design, dict(back.pictures), back.troubles) == (design, pictures, ())
    assert pack(back.design, back.pictures) == held


def test_the_example_of_the_format_reads() -> None:
    """Short by hand, every part once; what is left out takes its default."""
    design = decode(
        b"""{"format": 1, "title": "Reed Bunting", "display_units": "in64",
        "scans": [{"id": "plan", "file": "plan.png",
                   "to_mm": [[0.1693, 0, -20.3], [0, -0.1693, 155.0], [0, 0, 1]]}],
        "outlines": [{"id": "fin", "kind": "fin", "nodes": [{"x": 760, "z": 40},
            {"x": 800, "z": 150, "in": [-12, -30], "out": [10, 4]}, {"x": 850, "z": 40}]}],
        "wings": [{"id": "wing", "stations": [{"y": 0, "le_x": 250, "chord": 220}]}],
        "tailplanes": [{"id": "tail", "stations": [], "elevator_chord_fraction": 0.4}],
        "cg_mark": {"x": 318}, "weights": [{"id": "battery", "grams": 185, "x": 95}],
        "aim": {"cla_fraction": 0.3, "low": 0.2, "high": 0.35}, "flight": {"speed_m_s": 9}}"""
    )
    fin = design.outline("fin")
    assert (fin.count, fin.standing, fin.hidden) == (1, "joined", False)
    assert fin.nodes[1] == Node(800, 150, (-12, -30), (10, 4))
    assert design.cg_mark is not None and design.cg_mark.z == 0
    assert design.flight.air_density_kg_m3 == 1.225
    assert design.aim.fin_centre == "centroid"
    assert design.scan("plan").opacity == 0.6


def test_only_format_and_title_are_needed() -> None:
    assert decode(b'{"format":1,"title":""}') == Design(1, "")


def test_a_byte_order_mark_is_taken() -> None:
    assert decode(b"\xef\xbb\xbf" + encode(EMPTY)) == EMPTY


def test_parts_are_found_by_id_or_not_at_all() -> None:
    design = trainer()
    assert design.outline("rudder").kind == "rudder"
    for find in (design.outline, design.scan):
        with pytest.raises(KeyError):
            find("nowhere")


def test_a_whole_pair_of_escapes_is_a_character() -> None:
    assert decode(rb'{"format":1,"title":"\ud83d\udee9"}').title == "\N{SMALL AIRPLANE}"


def test_a_whole_number_in_the_place_of_a_float_is_written_as_one() -> None:
    whole, point = design_of(cg_mark=Mark(320, 10)), design_of(cg_mark=Mark(320.0, 10.0))
    assert encode(whole) == encode(point)
    assert encode(decode(encode(whole))) == encode(whole)


def test_a_bare_design_with_its_scans_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "glider.json"
    write(path, trainer(scans=SCANS), PICTURES)
    assert path.read_bytes() == encode(trainer(scans=SCANS))
    found = read(path)
    assert (found.design, dict(found.pictures), found.troubles) == (trainer(scans=SCANS), PICTURES, ())


def test_a_missing_scan_does_not_keep_the_outlines_from_opening(tmp_path: Path) -> None:
    bare, held = tmp_path / "a.json", tmp_path / "a.sternpost"
    bare.write_bytes(encode(trainer(scans=SCANS)))
    held.write_bytes(pack(trainer(scans=SCANS), {"plan.png": b"1"}))
    found = read(bare)
    assert found.design == trainer(scans=SCANS)
    assert found.troubles == (
        'scans[0].file: "plan.png" could not be opened: it is not there; put it beside the design',
        'scans[1].file: "side view.jpg" could not be opened: it is not there; put it beside the design',
        'scans[2].file: "plan.png" could not be opened: it is not there; put it beside the design',
    )
    assert read(held).design == trainer(scans=SCANS)
    assert len(read(held).troubles) == 1


def test_a_link_beside_a_bare_design_does_not_lead_out_of_its_folder(tmp_path: Path) -> None:
    (tmp_path / "secret.png").write_bytes(b"secret")
    folder = tmp_path / "designs"
    folder.mkdir()
    (folder / "plan.png").symlink_to(tmp_path / "secret.png")
    (folder / "a.json").write_bytes(encode(trainer(scans=SCANS[:1])))
    found = read(folder / "a.json")
    assert dict(found.pictures) == {} and len(found.troubles) == 1


def test_two_designs_alike_give_equal_bytes() -> None:
    assert pack(trainer(scans=SCANS), PICTURES) == pack(decode(encode(trainer(scans=SCANS))), dict(PICTURES))


def test_defaults_are_not_written() -> None:
    assert json.loads(encode(design_of(box("a", "fin", 0, 0, 1, 1)))).keys() == {
        "format",
        "title",
        "outlines",
    }
