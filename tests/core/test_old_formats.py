"""A file of every released format is kept beside this test, made once and never made anew.

Opened with what each says written out here: a change that reads them otherwise breaks somebody's evening.
"""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest

from core.design import Bench, Mark, Material, Node, Propeller, Sure, Tone
from core.design_bench import Linkage, ScaleReading, Weighing
from core.design_build import Build, Ribs, Skin, Spar, Strip, Thickness
from core.design_file import decode, encode, read

FORMATS = Path(__file__).parent / "formats"


@pytest.mark.parametrize("version", [1, 2, 3, 4, 5])
def test_what_every_format_holds_opens(version: int) -> None:
    found = read(FORMATS / f"format-{version}.sternpost")
    design = found.design
    assert found.troubles == () and found.pictures["plan.png"][:4] == b"\x89PNG"
    assert design.display_units == "in64"
    assert [(o.id, o.kind, o.count, o.standing) for o in design.outlines] == [
        ("fuselage", "fuselage", 1, "joined"), ("fin", "fin", 1, "joined"), ("wheel", "wheel", 2, "clear"),
    ]
    assert design.outline("fin").nodes[1] == Node(800, 150, (-12, -30), (10, 4))
    assert (design.outline("fin").locked, design.outline("fin").grams_per_dm2) == (True, 2.5)
    scan = design.scans[0]
    assert (scan.scale_from, scan.opacity, scan.locked) == ("dpi", 0.5, False)
    assert scan.to_mm == ((0.1693, 0, -20.3), (0, -0.1693, 155.0), (0, 0, 1))
    assert [s.chord for s in design.wings[0].stations] == [220, 190]
    assert design.wings[0].section.camber == 0.03
    assert (design.tailplanes[0].elevator_chord_fraction, design.tailplanes[0].in_side_area) == (0.4, False)
    assert (design.cg_mark, design.cg_from, design.fuselage_width) == (Mark(318, 20), "weights", 75)
    assert (design.weights[0].grams, design.weights[0].y) == (185, 1)
    assert (design.aim.low, design.aim.fin_centre, design.flight.speed_m_s) == (0.2, "quarter_chord", 11)
    assert design.alternatives[0].label == "Taller fin" and len(design.alternatives[0].outlines) == 3


def test_what_came_with_format_5() -> None:
    design = read(FORMATS / "format-5.sternpost").design
    assert design.bench.pin == Mark(402.5, 61.0)
    assert design.materials == (Material("my-balsa", "Mine, weighed", 131.25),)
    assert design.builds == (
        Build(
            id="tail", of=("fin",), way="ribbed", thickness=Thickness(14, 9, "symmetric"),
            ribs=Ribs(every=None, at=(0, 35, 80), thick=2, material="my-balsa", holes=False, halves=False),
            leading_edge=Strip(wide=6, deep=4, material="balsa-hard"),
            trailing_edge=Strip(wide=8, deep=None, material="basswood"),
            spars=(
                Spar(chord_fraction=0.35, cap=(6, 3), web=1.5, material="spruce"),
                Spar(chord_fraction=0.6, cap=(3, 3), web=None, material="balsa-hard"),
            ),
            skin=Skin(thick=1.5, material="balsa-light"), covering_g_m2=60, glue=0.1, hinge_gap=0.7,
            hinge="round", tab=False, formers=(742.5, 810), holes=True, diagonals=False, label="New tail",
        ),
    )
    kept = design.alternatives[0]
    assert kept.builds == (
        Build(
            id="fin", of=("fin",), way="sheet", thickness=Thickness(4.8, 4.8, "flat"),
            skin=Skin(4.8, "birch-ply"),
        ),
    )
    assert kept.materials == ()


@pytest.mark.parametrize("version", [4, 5])
def test_what_came_with_format_4(version: int) -> None:
    design = read(FORMATS / f"format-{version}.sternpost").design
    assert design.flight.propeller == Propeller(diameter=254.0, x=-18.5)
    assert (design.left_out, design.guessed[-1]) == (("rudder",), "flight.propeller.x")
    # Kept where it means nothing too.
    assert (design.outline("wheel").apart, design.outline("fin").apart) == (230.0, None)
    kept = design.alternatives[0]
    assert kept.flight.propeller == Propeller(diameter=279.4, x=-20.0)
    assert [(o.count, o.apart) for o in kept.outlines if o.id == "fin"] == [(2, 310.5)]


@pytest.mark.parametrize("version", [3, 4, 5])
def test_what_came_with_format_3(version: int) -> None:
    design = read(FORMATS / f"format-{version}.sternpost").design
    assert design.left_out == (("rudder", "propeller") if version == 3 else ("rudder",))
    assert design.guessed[:2] == ("tailplanes[0].stations[0].z", "flight.speed_m_s")
    assert (design.counts_seen, design.sure) == (("wheel",), Sure(tracing_mm=0.4, cg_mm=2.5))
    assert design.scans[0].photograph
    kept = design.alternatives[0]
    assert (kept.left_out, kept.guessed, kept.counts_seen) == (
        ("wing",), ("wings[0].section.thickness",), ("wheel",)
    )


@pytest.mark.parametrize("version", [2, 3, 4, 5])
def test_what_came_with_format_2(version: int) -> None:
    design = read(FORMATS / f"format-{version}.sternpost").design
    assert design.scans[0].tone == Tone(level=True, invert=True, thicken=2)
    assert design.bench == Bench(
        linkages=(
            Linkage(
                id="rudder", servo_arm=12, horn=18, surface_chord=45, label="Rudder wires", moves="rudder",
                servo_travel_deg=40, crank_in=10, crank_out=14, horn_set_back=1.5, pull_pull=True,
            ),
        ),
        weighings=(Weighing("covered", (ScaleReading(210, 120), ScaleReading(55, 700)), "Covered"),),
        crossing=Mark(390, 30), pin=Mark(402.5, 61.0) if version == 5 else None,
    )


@pytest.mark.parametrize("version", [1, 2, 3, 4, 5])
def test_written_again_a_file_keeps_its_format_and_its_bytes(version: int) -> None:
    path = FORMATS / f"format-{version}.sternpost"
    found = read(path)
    assert f'"format": {version},'.encode() in encode(found.design)
    assert decode(encode(found.design)) == found.design
    with zipfile.ZipFile(path) as container:
        assert encode(found.design) == container.read("design.json")
