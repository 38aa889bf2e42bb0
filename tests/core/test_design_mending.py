"""What is read of a spoiled design: each part is broken in turn, and everything else survives."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from core import design_check, design_mending
from core.design import Alternative, Build, Design, Mark, Material, Weight
from core.design_bench import Bench, Linkage, ScaleReading, Weighing
from core.design_build import Ribs
from core.design_check import problems
from core.design_file import DesignFileError, compact, decode, encode, read
from core.design_mending import mended

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = read(ROOT / "sample_designs/tallow-twin.sternpost", pictures=False).design
FULL = replace(
    SAMPLE, notes="A long ash skid.", fuselage_width=62.0, left_out=("propeller",),
    materials=(Material("reed", "Reed", 210.0), Material("sedge", "Sedge", 190.0)),
    builds=(
        Build("fin-build", (SAMPLE.outlines[0].id,), "ribbed", ribs=Ribs(material="reed")),
        Build("other", (SAMPLE.outlines[1].id,)),
    ),
    weights=(Weight("one", 100.0, 5.0), Weight("two", 50.0, 9.0, label="Pack")),
    bench=Bench(
        (Linkage("rudder", 12.0, 20.0, 60.0), Linkage("elevator", 10.0, 20.0, 50.0)),
        (Weighing("first", (ScaleReading(700.0, 30.0), ScaleReading(500.0, 700.0))), Weighing("second")),
        Mark(301.0, 4.0), Mark(20.0, -8.0),
    ),
    alternatives=(
        Alternative(
            id="was", label="As it was", outlines=SAMPLE.outlines[:3], weights=(Weight("one", 90.0, 5.0),)
        ),
        Alternative(id="shorter", outlines=SAMPLE.outlines[1:4]),
    ),
)
BROKEN: dict[str, dict[str, Any]] = {
    # By list: one required field each, and what nothing may be.
    "outlines": {"nodes": [{"x": 3e6, "z": 0}, {"x": 0, "z": 0}, {"x": 0, "z": 9}], "kind": "sail"},
    "wings": {"stations": [{"y": 0, "le_x": 0, "chord": -4}]},
    "tailplanes": {"stations": "three"},
    "weights": {"grams": -5, "x": 4e7},
    "scans": {"file": "../../etc/passwd"},
    "builds": {"of": []},
    "materials": {"kg_m3": 0},
}


def raw(design: Design = FULL) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(encode(design))
    return found


def mend(spoiled: Any) -> tuple[Design, tuple[str, ...]]:
    return mended(json.dumps(spoiled).encode())


def breaches() -> Iterator[tuple[str, int, str, Any]]:
    for name, fields in BROKEN.items():
        for i in range(len(getattr(FULL, name))):
            for key, value in fields.items():
                yield name, i, key, value


def without(design: Design, name: str, i: int) -> Design:
    entries = getattr(design, name)
    return replace(design, **{name: (*entries[:i], *entries[i + 1:])})


def test_a_sound_design_comes_whole() -> None:
    assert problems(FULL) == [] and FULL.scans and FULL.wings and FULL.tailplanes
    assert mended(encode(FULL)) == mended(compact(FULL)) == (FULL, ())


@pytest.mark.parametrize(("name", "i", "key", "value"), list(breaches()))
def test_one_broken_part_is_left_out_and_named(name: str, i: int, key: str, value: Any) -> None:
    spoiled = raw()
    spoiled[name][i][key] = value
    with pytest.raises(DesignFileError):
        decode(json.dumps(spoiled).encode())
    design, words = mend(spoiled)
    wanted = without(FULL, name, i)
    if name == "materials" and i == 0:
        # What was to be made of it cannot be.
        wanted = replace(wanted, builds=(replace(FULL.builds[0], ribs=None), FULL.builds[1]))
        assert words[1].startswith("“ribs” of build “fin-build”")
        words = words[:1]
    if name in ("wings", "tailplanes"):
        design, wanted = replace(design, guessed=()), replace(wanted, guessed=())
    assert design == wanted and len(words) == 1
    part = spoiled[name][i]
    assert f"“{part.get('label') or part.get('file') or part['id']}”" in words[0]


@pytest.mark.parametrize(("name", "value", "wanted"), [
    ("cg_mark", {"x": 2e6}, {"cg_mark": None}),
    ("aim", {"low": 0.5, "cla_fraction": 0.2, "high": 0.3}, {"aim": Design(format=1, title="").aim}),
    ("flight", "fast", {"flight": Design(format=1, title="").flight}),
    ("fuselage_width", -3, {"fuselage_width": None}),
    ("left_out", ["propeller", "engine"], {}),
    ("display_units", "cubit", {"display_units": "mm"}),
    ("sails", [1, 2], {}),
    ("notes", "y" * 100_003, {"notes": "y" * 100_000}),
    ("title", "z" * 100_003, {"title": "z" * 100_000}),
    ("title", 7, {"title": "Untitled"}),
])
def test_one_broken_figure_leaves_the_rest(name: str, value: Any, wanted: dict[str, Any]) -> None:
    design, words = mend({**raw(), name: value})
    assert design == replace(FULL, **wanted) and len(words) == 1


@pytest.mark.parametrize(("key", "value", "wanted"), [
    ("count", 9, {"count": 1}), ("stance", "leaning", {"stance": None}), ("apart", -1, {"apart": None}),
    ("label", 4, {"label": ""}), ("locked", "yes", {"locked": False}), ("hue", "green", {}),
])
def test_a_broken_field_that_has_a_start_value_does_not_cost_the_outline(
    key: str, value: Any, wanted: dict[str, Any]
) -> None:
    spoiled = raw()
    spoiled["outlines"][0][key] = value
    design, words = mend(spoiled)
    assert design == replace(FULL, outlines=(replace(FULL.outlines[0], **wanted), *FULL.outlines[1:]))
    assert len(words) == 1 and "of outline" in words[0]


def test_the_bench_is_taken_apart_too() -> None:
    spoiled = raw()
    spoiled["bench"]["linkages"][0]["horn"] = "long"
    spoiled["bench"]["weighings"][0]["supports"][1]["grams"] = -4
    spoiled["bench"]["pin"] = [1]
    design, words = mend(spoiled)
    first, second = FULL.bench.weighings
    wanted = replace(
        FULL.bench, pin=None, linkages=FULL.bench.linkages[1:],
        weighings=(replace(first, supports=()), second),
    )
    assert design == replace(FULL, bench=wanted) and len(words) == 3


def test_a_kept_state_is_taken_apart_too() -> None:
    spoiled = raw()
    spoiled["alternatives"][0]["outlines"][1]["nodes"] = []
    spoiled["alternatives"][0]["weights"][0]["grams"] = "heavy"
    design, words = mend(spoiled)
    was = FULL.alternatives[0]
    wanted = replace(was, outlines=(was.outlines[0], was.outlines[2]), weights=())
    assert design == replace(FULL, alternatives=(wanted, FULL.alternatives[1]))
    assert len(words) == 2 and all(one.startswith("in kept state “As it was”: ") for one in words)


def test_an_id_that_is_there_twice_costs_the_id_alone() -> None:
    spoiled = raw()
    spoiled["outlines"][1]["id"] = spoiled["outlines"][0]["id"]
    spoiled["weights"][0]["id"] = "Ä!"
    design, words = mend(spoiled)
    assert len(design.outlines) == len(FULL.outlines) and len(design.weights) == len(FULL.weights)
    assert len(words) == 2 and all(one.startswith("the id of ") for one in words)


def test_a_key_that_nobody_knows_in_every_node_is_one_thing_left_out() -> None:
    spoiled = raw()
    for node in spoiled["outlines"][0]["nodes"]:
        node["weight"] = 3
    design, words = mend(spoiled)
    assert design == FULL and len(words) == 1


def test_guessed_figures_stay_with_their_surface() -> None:
    tails = FULL.tailplanes
    several = replace(
        FULL, tailplanes=(tails[0], replace(tails[0], id="second")),
        guessed=("tailplanes[0].stations[0].z", "tailplanes[1].stations[0].z", "tailplanes[1].incidence_deg"),
    )
    spoiled = raw(several)
    spoiled["tailplanes"][0]["stations"] = 4
    assert mend(spoiled)[0].guessed == ("tailplanes[0].stations[0].z", "tailplanes[0].incidence_deg")


def test_too_many_nodes_cost_the_outlines_at_the_end(monkeypatch: pytest.MonkeyPatch) -> None:
    most = sum(len(outline.nodes) for outline in FULL.outlines) - 1
    for module in (design_check, design_mending):
        monkeypatch.setattr(module, "MOST_NODES", most)
    design, words = mended(encode(FULL))
    assert design == replace(FULL, outlines=FULL.outlines[:-1]) and len(words) == 1


def test_a_newer_format_is_read_as_far_as_it_is_known() -> None:
    spoiled = {**raw(), "format": 41, "floats": [{"id": "port"}]}
    spoiled["wings"][0]["flaps"] = {"chord": 4}
    design, words = mend(spoiled)
    assert design == FULL and len(words) == 3 and words[0].startswith("what format 41 has beyond ")


@pytest.mark.parametrize("write", [encode, compact])
def test_cut_short_anywhere_what_came_before_is_there(write: Any) -> None:
    data, before = write(FULL), 0
    for end in range(200, len(data) - 2, 211):
        try:
            design, words = mended(data[:end])
        except DesignFileError:
            assert before == 0, "what was read of less is not read of more"
            continue
        assert words[0] == "all that came after: its file is cut short"
        # Builds come before the materials that they may name.
        assert all(word.startswith("“ribs” of build") for word in words[1:])
        # Whole outlines alone: one with half its nodes would be another.
        assert design.outlines == FULL.outlines[: len(design.outlines)]
        assert design.cg_mark in (FULL.cg_mark, None)
        assert design.aim in (FULL.aim, Design(format=1, title="").aim)
        assert len(design.outlines) >= before
        before = len(design.outlines)
    assert before == len(FULL.outlines)


@pytest.mark.parametrize("data", [
    b"", b"{", b"[]", b"null", b"{}", bytes(9000), b"\xff" * 99, b'{"title":"Only a name"}',
    b'{"outlines":[{}]}', b'{"outlines":' + b"[" * 50_000,
])
def test_where_nothing_can_be_read_that_is_said(data: bytes) -> None:
    with pytest.raises(DesignFileError, match="nothing of it can be read"):
        mended(data)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(0, 1), st.binary(min_size=0, max_size=4)), min_size=1, max_size=4))
def test_whatever_is_spoiled_what_is_read_keeps_the_rules(spoils: list[tuple[float, bytes]]) -> None:
    data = bytearray(compact(FULL))
    for where, put in spoils:
        at = int(where * len(data))
        data[at : at + len(put)] = put
    try:
        design, _ = mended(bytes(data))
    except DesignFileError:
        return
    assert problems(design) == [] and decode(encode(design)) == design


@pytest.mark.parametrize("name", ["guessed", "left_out"])
@pytest.mark.parametrize("stranger", [{"id": "x"}, ["x"], 7, {}])
def test_what_is_no_word_among_words_costs_itself_alone(name: str, stranger: Any) -> None:
    raw = json.loads(encode(FULL))
    raw["guessed"] = ["wings[0].stations[0].z"]
    raw[name] = [stranger, *raw[name]]
    found, without = mended(json.dumps(raw).encode())
    assert getattr(found, name) == tuple(raw[name][1:]) and len(without) == 1
    assert found.outlines == FULL.outlines and problems(found) == []
