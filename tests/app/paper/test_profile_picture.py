from __future__ import annotations

from xml.etree import ElementTree

from test_bench_sheet import PLANK

from app.paper.profile_picture import svg_picture

SVG = "{http://www.w3.org/2000/svg}"


def test_hatches_are_clipped_in_svg_too() -> None:
    """The writer's older profile of SVG knows no clip: hatches ran out of their outlines."""
    root = ElementTree.fromstring(svg_picture(PLANK))
    clips = {each.get("id") for each in root.iter(f"{SVG}clipPath")}
    drawn_in = {inner: group for group in root.iter(f"{SVG}g") for inner in group}
    hatches = [each for each in root.iter(f"{SVG}g") if each.get("stroke-width") == "0.09" and len(each)]
    assert len(hatches) >= 3, "wheels, wing, tailplane"
    for hatch in hatches:
        assert drawn_in[hatch].get("clip-path", "").removeprefix("url(#").removesuffix(")") in clips
