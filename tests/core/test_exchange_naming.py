"""Kind, count, stance and id in the names of layers and groups, when another program drops the rest."""

from __future__ import annotations

import io
import re

import pytest
from ezdxf.filemanagement import read as read_dxf
from hypothesis import given
from hypothesis import strategies as st

from core.design import MOST_COUNT, Design, Node, Outline
from core.exchange.dxf import APP_ID, dxf_bytes
from core.exchange.dxf_reading import outlines_from_dxf
from core.exchange.naming import group_id, layer_name, named_by
from core.exchange.svg import svg_bytes
from core.exchange.svg_reading import outlines_from_svg
from core.kinds import KINDS

NODES = (Node(0, 0), Node(60, 0), Node(60, 40), Node(0, 40))
ROUND = (Node(0, 0, (0, 30), (0, -30)), Node(50, 0, (0, -30), (0, 30)))
PARTS = (
    Outline("body", "fuselage", NODES), Outline("pylon-left", "pylon", ROUND, label="Pylon, left", count=2),
    Outline("vf", "ventral fin", NODES, label="Keel | fin: <2>", count=3, stance="joined"),
    Outline("leg", "gear leg", ROUND, count=2, stance="clear"),
)
DESIGN = Design(1, "Plank", outlines=PARTS)

OUTLINES = st.builds(
    Outline, st.from_regex(r"[a-z0-9]([a-z0-9-]{0,30}[a-z0-9])?", fullmatch=True), st.sampled_from(KINDS),
    st.just(NODES), label=st.text(max_size=30), count=st.integers(1, MOST_COUNT),
    stance=st.sampled_from((None, "joined", "clear")),
)


@given(OUTLINES)
def test_a_name_says_again_what_it_was_made_from(outline: Outline) -> None:
    for name in (layer_name(outline), group_id(outline)):
        said = named_by(name)
        assert said is not None
        assert (said.kind, said.count, said.stance, said.stem) == (
            outline.kind, str(outline.count), outline.standing, outline.id
        )
        # As releases of DXF before 2000 want it, and as some programs write all names.
        other = named_by(name.upper().replace(" ", "_"))
        assert other is not None
        assert (other.kind, other.count, other.stance) == (outline.kind, str(outline.count), outline.standing)
    assert re.fullmatch(r"[a-z][a-z0-9-]*", group_id(outline)), "a name of XML"
    assert len(layer_name(outline)) <= 255 and not set(layer_name(outline)) & set('<>/\\":;?*|=`')


@pytest.mark.parametrize(("text", "wanted"), [
    ("wheel x2", ("wheel", "2", "", "")), ("Gear Leg  X2", ("gear leg", "2", "", "")),
    ("wheel", None), ("wheel 2", None), ("x2", None), ("wheel x0", None), ("wheel x9", None),
    ("wheels x2", None), ("fin x2 left side", ("fin", "2", "", "left side")), ("wheel x22", None),
    ("fin x2 clear", ("fin", "2", "clear", "")), ("0", None), ("", None),
    ("fin x2 outer", ("fin", "2", "", "outer")),
])
def test_names_by_hand(text: str, wanted: tuple[str, ...] | None) -> None:
    said = named_by(text)
    assert (None if said is None else (said.kind, said.count, said.stance, said.stem)) == wanted


def told(outlines: tuple[Outline, ...]) -> list[tuple[str, str, int, str]]:
    return [(o.id, o.kind, o.count, o.standing) for o in outlines]


def without_extended_data(data: bytes, rename: bool) -> bytes:
    """As another program saves it again: the outlines and their layers, nothing beside."""
    drawing = read_dxf(io.StringIO(data.decode()))
    for entity in drawing.modelspace():
        entity.discard_xdata(APP_ID)
        if rename:
            entity.dxf.layer = "0"
    held = io.StringIO()
    drawing.write(held)
    return held.getvalue().encode()


def test_a_dxf_without_its_extended_data_still_says_what_comes_twice() -> None:
    back = outlines_from_dxf(without_extended_data(dxf_bytes(DESIGN), rename=False))
    assert told(back.outlines) == told(PARTS)
    assert [o.name for o in back.outlines] == ["body", "Pylon left", "Keel fin 2", "leg"]
    assert back.uncounted == () and back.ours and back.notes == ()


def test_an_svg_without_its_data_still_says_what_comes_twice() -> None:
    bare = re.sub(rb' data-[a-z]+="[^"]*"', b"", svg_bytes(DESIGN))
    back = outlines_from_svg(bare)
    assert told(back.outlines) == told(PARTS)
    assert [o.name for o in back.outlines] == [o.name for o in PARTS]
    assert back.uncounted == () and back.ours


def test_where_all_is_lost_nothing_is_said_to_come_once() -> None:
    back = outlines_from_dxf(without_extended_data(dxf_bytes(DESIGN), rename=True))
    assert back.ours and set(back.uncounted) == {o.id for o in back.outlines} and len(back.outlines) == 4
    bare = re.sub(rb' (data-[a-z]+|id)="(?!sternpost)[^"]*"', b"", svg_bytes(DESIGN))
    again = outlines_from_svg(bare)
    assert again.ours and len(again.uncounted) == 4
    foreign = outlines_from_svg(
        b'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" viewBox="0 0 9 9"><path d="M0 0H9V9z"/></svg>'
    )
    assert not foreign.ours and len(foreign.uncounted) == 1


def test_a_layer_of_two_outlines_that_count_twice_is_pointed_at() -> None:
    drawing = read_dxf(io.StringIO(dxf_bytes(DESIGN).decode()))
    for x in (0, 100):
        drawing.modelspace().add_circle((x, 500), 9, dxfattribs={"layer": "wheel x2"})
    held = io.StringIO()
    drawing.write(held)
    back = outlines_from_dxf(held.getvalue().encode())
    assert [o.count for o in back.outlines if o.kind == "wheel"] == [2, 2]
    assert "layer 'wheel x2' holds 2 outlines, each counted 2 times" in back.notes
