"""What is wrong in a design's JSON: one sentence each, with place, value and remedy; never a crash."""

from __future__ import annotations

import json
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from making import SOME, design_of, trainer

from core.design import EMPTY, NEWEST_FORMAT, Design, Node, Outline, Scan
from core.design_check import problems, safe_name
from core.design_file import DesignFileError, decode, encode, unpack
from core.kinds import KINDS

NEXT = NEWEST_FORMAT + 1


def faults(data: bytes) -> list[str]:
    with pytest.raises(DesignFileError) as caught:
        decode(data)
    return caught.value.sentences


def fault(data: bytes | str | dict[str, Any]) -> str:
    if isinstance(data, dict):
        data = json.dumps(data)
    sentences = faults(data if isinstance(data, bytes) else data.encode())
    assert len(sentences) == 1
    return sentences[0]


def outline_text(rest: str, kind: str = "fin") -> str:
    return '{"format":1,"title":"t","outlines":[{"id":"a","kind":"' + kind + '"' + rest + "}]}"


def with_page(page: str) -> str:
    return '{"format":1,"title":"t","scans":[{"id":"a","file":"a.png","page":' + page + "}]}"


def node_text(x: str) -> str:
    nodes = '[{"x":0,"z":0},{"x":9,"z":0},{"x":' + x + ',"z":9}]'
    return '{"format":1,"title":"t","outlines":[{"id":"a","kind":"fin","nodes":' + nodes + "}]}"


SENTENCES = {
    node_text(
        '"12mm"'
    ): 'outlines[0].nodes[2].x: expected a number, found "12mm"; give millimetres without a unit',
    node_text(
        "null"
    ): "outlines[0].nodes[2].x: expected a number, found null; give millimetres without a unit",
    node_text(
        "true"
    ): "outlines[0].nodes[2].x: expected a number, found true; give millimetres without a unit",
    node_text("[1]"): "outlines[0].nodes[2].x: expected a number, found [1]; give millimetres without a unit",
    node_text("NaN"): "NaN: not a number that a design can hold; give a finite number",
    node_text("-Infinity"): "-Infinity: not a number that a design can hold; give a finite number",
    node_text("1e999"): "outlines[0].nodes[2].x: expected a number, found inf; give a finite number",
    node_text("1000001"): "outlines[0].nodes[2].x: 1e+06 is out of reach; keep within ±1 000 000",
    '{"title":"t"}': "format: expected 1, found nothing; this is not a design of ours",
    '{"format":"1","title":"t"}': 'format: expected 1, found "1"; this is not a design of ours',
    '{"format":true,"title":"t"}': "format: expected 1, found true; this is not a design of ours",
    '{"format":1.0,"title":"t"}': "format: expected 1, found 1.0; this is not a design of ours",
    '{"format":0,"title":"t"}': "format: found 0; formats count from 1",
    f'{{"format":{NEXT},"title":"t","new":[]}}': (
        f"format: found {NEXT}, this Sternpost reads up to {NEWEST_FORMAT}; "
        f"open it with a version that knows format {NEXT}"
    ),
    '{"format":2,"title":"t","left_out":["wing"],"scans":[{"id":"a","file":"a.png","photograph":true}]}': (
        "format: found 2, but left_out and scans[].photograph need 3; write that, or take them out"
    ),
    '{"format":3,"title":"t","left_out":["keel"]}': (
        'left_out[0]: found "keel", which is not a word allowed here; '
        "use one of: wing, tailplane, rudder, propeller"
    ),
    '{"format":3,"title":"t","sure":{"cg_mm":-1}}': (
        "sure.cg_mm: found -1 mm; keep between 0 and 1000 mm"
    ),
    '{"format":3,"title":"t","flight":{"propeller":{"diameter":254,"x":0}}}': (
        "format: found 3, but flight.propeller needs 4; write that, or take them out"
    ),
    '{"format":4,"title":"t","flight":{"propeller":{"diameter":-254,"x":0}}}': (
        "flight.propeller.diameter: found -254 mm; keep between 0 and 1e+06 mm"
    ),
    '{"format":4,"title":"t","flight":{"propeller":{"diameter":254,"x":"nose"}}}': (
        'flight.propeller.x: expected a number, found "nose"; give millimetres without a unit'
    ),
    '{"format":4,"title":"t","flight":{"propeller":{"diameter":254}}}': "flight.propeller.x: missing; add it",
    outline_text(',"apart":-1,"nodes":[{"x":0,"z":0},{"x":1,"z":0},{"x":0,"z":1}]').replace(
        '"format":1', '"format":4'
    ): "outlines[0].apart: found -1 mm; keep between 0 and 1e+06 mm",
    '{"format":1,"title":"t","bench":{"crossing":{"x":1}}}': (
        "format: found 1, but bench needs 2; write that, or take them out"
    ),
    '{"format":2,"title":"t","bench":{"linkages":[{"id":"r","servo_arm":-1,"horn":2,"surface_chord":3}]}}': (
        "bench.linkages[0].servo_arm: found -1 mm; keep between 0 and 1e+06 mm"
    ),
    '{"format":2,"title":"t","scans":[{"id":"a","file":"a.png","tone":{"thicken":9}}]}': (
        "scans[0].tone.thicken: found 9; give a whole number from 0 to 4"
    ),
    '{"format":1}': "title: missing; add it",
    '{"format":1,"title":5}': "title: expected text, found 5; put it in quotation marks",
    '{"format":1,"title":"t","notez":""}': "notez: unknown key; check its spelling or take it out",
    '{"format":1,"title":"t","aim":{"lo":0.2}}': "aim.lo: unknown key; check its spelling or take it out",
    '{"format":1,"title":"t","aim":[]}': "aim: expected an object, found []; put it in curly brackets",
    '{"format":1,"title":"t","scans":{}}': "scans: expected a list, found {}; put it in square brackets",
    '{"format":1,"title":"","title":""}': '"title": this key is there twice in one object; keep one of them',
    outline_text(""): "outlines[0].nodes: missing; add it",
    outline_text(
        ',"nodes":[]', "keel"
    ): 'outlines[0].kind: found "keel", which is not a word allowed here; use one of: ' + ", ".join(KINDS),
    '{"format":1,"title":"t","display_units":"cm"}': (
        'display_units: found "cm", which is not a word allowed here; use one of: mm, in, in64'
    ),
    outline_text(
        ',"count":1.5,"nodes":[]'
    ): "outlines[0].count: expected a whole number, found 1.5; give it without quotation marks or decimals",
    outline_text(
        ',"locked":1,"nodes":[]'
    ): "outlines[0].locked: expected true or false, found 1; write one of the two",
    outline_text(
        ',"nodes":[{"x":0,"z":0,"in":[1]}]'
    ): "outlines[0].nodes[0].in: expected a list of 2, found [1]; give just as many",
    '{"format":1,"title":"t","cg_mark":7}': "cg_mark: expected an object, found 7; put it in curly brackets",
    "[]": "expected an object at the top, found []; this is not a design",
    "null": "expected an object at the top, found null; this is not a design",
    "": "line 1, column 1: Expecting value; this is not valid JSON",
    '{"format":1,\n "title":}': "line 2, column 10: Expecting value; this is not valid JSON",
}


@pytest.mark.parametrize("text", SENTENCES, ids=lambda text: text[-40:])
def test_each_fault_has_its_sentence(text: str) -> None:
    assert fault(text) == SENTENCES[text]


def test_bytes_that_are_no_text() -> None:
    assert fault(b'{"format":1,"title":"\xff"}') == "byte 21: not UTF-8 text; this is not a design"


@pytest.mark.parametrize("title", (r"\ud800", r"a\udfffb", r"\udc00\ud800"))
def test_half_a_character_is_refused_on_reading_not_on_saving(title: str) -> None:
    """A lone surrogate is valid JSON and no text: it could never be written again."""
    assert "half a character" in fault('{"format":1,"title":"' + title + '"}')
    assert "half a character" in fault('{"format":1,"title":"t","' + title + '":1}')


@pytest.mark.parametrize("digits", (30, 400, 4299, 5000, 100_000))
def test_absurdly_long_numbers(digits: int) -> None:
    number = "9" * digits
    for text in (node_text(number), '{"format":' + number + ',"title":"t"}', with_page(number)):
        for sentence in faults(text.encode()):
            assert len(sentence) < 300
            assert "is out of reach" in sentence or "keep within ±1 000 000" in sentence
            assert "sys." not in sentence, "advice for programmers is no advice"


def test_brackets_nested_at_every_depth() -> None:
    for depth in (*range(50, 1500, 50), *range(930, 1000), 20_000, 500_000):
        for text in ("[" * depth, "[" * depth + "]" * depth, '{"a":' * depth + "1" + "}" * depth):
            for start in ("", '{"format":1,"title":', '{"format":1,"title":"t","scans":'):
                for sentence in faults((start + text + "}" * bool(start)).encode()):
                    assert len(sentence) < 300


@pytest.mark.parametrize("page", (100_000, 10**17))
def test_a_page_that_no_plan_has(page: int) -> None:
    assert fault(with_page(str(page))) == f"scans[0].page: found {page}; give a whole number from 0 to 99999"


def test_every_sentence_is_one_printable_line() -> None:
    for key in (r"a\nb", r"a\u001b[2Jb", r"a\u2028b"):
        for text in (
            '{"format":1,"title":"t","%s":1}',
            '{"format":1,"title":"t","%s":1,"%s":2}',
            '{"%s":1,"%s":2}',
        ):
            sentence = fault(text.replace("%s", key))
            assert sentence.isprintable()


def test_more_than_can_be_a_design(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("core.design_file.MOST_JSON", 1 << 20)
    assert fault(b" " * ((1 << 20) + 1)).startswith("the design is over 1 MB")


@SOME
@given(st.binary(max_size=200) | st.text(max_size=200).map(lambda text: text.encode("utf-8", "replace")))
def test_any_bytes_are_a_design_or_a_sentence(data: bytes) -> None:
    for reader in (decode, unpack):
        try:
            reader(data)
        except DesignFileError as error:
            assert str(error) == error.sentences[0]


JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)
PLACES = (
    ("title",),
    ("notes",),
    ("format",),
    ("scans",),
    ("scans", 0),
    ("scans", 0, "to_mm"),
    ("scans", 0, "to_mm", 1),
    ("scans", 0, "file"),
    ("scans", 0, "opacity"),
    ("outlines", 0),
    ("outlines", 0, "nodes"),
    ("outlines", 0, "nodes", 0),
    ("outlines", 0, "nodes", 0, "x"),
    ("outlines", 0, "nodes", 0, "in"),
    ("outlines", 0, "count"),
    ("outlines", 0, "id"),
    ("wings",),
    ("wings", 0, "stations", 0),
    ("wings", 0, "section"),
    ("cg_mark",),
    ("aim",),
    ("aim", "low"),
    ("flight", "speed_m_s"),
    ("alternatives",),
    ("alternatives", 0, "outlines"),
)


@SOME
@given(st.sampled_from(PLACES), JSON)
def test_anything_in_any_place_is_a_design_or_a_sentence(place: tuple[str | int, ...], value: object) -> None:
    raw: Any = json.loads(encode(trainer(scans=(Scan("plan", "plan.png"),))))
    raw["alternatives"] = [{"id": "first", "outlines": raw["outlines"]}]
    raw["aim"], raw["flight"], raw["wings"][0]["section"] = {}, {}, {}
    raw["scans"][0]["to_mm"] = [[1, 0, 0], [0, -1, 0], [0, 0, 1]]
    *way, last = place
    part = raw
    for step in way:
        part = part[step]
    part[last] = value
    try:
        design = decode(json.dumps(raw).encode())
    except DesignFileError as error:
        for sentence in error.sentences:
            # Place, what was found, what to do: and all of it can be printed.
            assert len(sentence) < 400
            sentence.encode()
    else:
        assert decode(encode(design)) == design


def test_problems_name_place_value_and_remedy() -> None:
    three = (Node(0, 0), Node(1, 0), Node(0, 1))
    design = Design(
        1,
        "t",
        outlines=(
            Outline("A", "fin", three),
            Outline("b", "fin", three[:2], count=9),
            Outline("b", "fin", three),
            Outline("c", "fin", (Node(0, 0, None, (1, 2_000_000)), *three[:2]), grams_per_dm2=-1),
        ),
        scans=(Scan("s", "../up.png", -1, ((1, 0, 0), (2, 0, 0), (0, 0, 1)), 1.5),),
    )
    assert problems(design) == [
        "scans[0].page: found -1; give a whole number from 0 to 99999",
        "scans[0].opacity: found 1.5; keep between 0 and 1",
        'scans[0].file: "../up.png" is not a plain file name; name a file inside the design',
        "scans[0].to_mm: the matrix folds the picture to nothing; place the scan anew",
        'outlines[0].id: found "A"; use small letters, digits and hyphens',
        'outlines[2].id: "b" is there twice; give each its own id',
        "outlines[1].count: found 9; give a whole number from 1 to 8",
        "outlines[1].nodes: found 2; an outline needs at least three nodes, or two with handles",
        "outlines[3].nodes[0].out[1]: 2e+06 is out of reach; keep within ±1 000 000",
        "outlines[3].grams_per_dm2: found -1 g/dm2; keep between 0 and 1e+06 g/dm2",
    ]


def test_two_nodes_with_a_handle_are_an_outline() -> None:
    lens = Outline("lens", "other", (Node(0, 0, None, (5, 9)), Node(20, 0)))
    assert problems(design_of(lens)) == []


def test_the_aim_must_lie_between_its_limits() -> None:
    aim = msgspec.convert({"cla_fraction": 0.3, "low": 0.2, "high": 0.25}, type(EMPTY.aim))
    assert problems(msgspec.structs.replace(EMPTY, aim=aim)) == [
        "aim: 0.3 does not lie between low 0.2 and high 0.25; put the three in rising order"
    ]


def test_faults_in_alternatives_are_found() -> None:
    raw = json.loads(encode(EMPTY))
    raw["alternatives"] = [{"id": "a", "cg_mark": {"x": 1e7}}, {"id": "a"}]
    assert faults(json.dumps(raw).encode()) == [
        'alternatives[1].id: "a" is there twice; give each its own id',
        "alternatives[0].cg_mark.x: 1e+07 is out of reach; keep within ±1 000 000",
    ]


@pytest.mark.parametrize(
    "name",
    (
        "",
        ".",
        "..",
        "../a.png",
        "a/../../b",
        "/etc/a.png",
        "C:\\a.png",
        "a\\b.png",
        "a\0.png",
        "a//b.png",
        "./a.png",
        "a/",
        "design.json",
        "x" * 201,
        "c:a.png",
        "a\n.png",
        "\x1b[2J.png",
        "a/..",
        "Design.JSON",
    ),
)
def test_names_that_might_lead_elsewhere_are_refused(name: str) -> None:
    assert not safe_name(name)


@pytest.mark.parametrize(
    "name", ("a.png", "side view.jpg", "scans/plan 2.png", "Flügel.pdf", "..a.png", "a..b")
)
def test_plain_names_are_taken(name: str) -> None:
    assert safe_name(name)
