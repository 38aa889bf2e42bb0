"""SVG with <use>, <symbol>, nested drawings and document types: by hand, by a general library, hostile."""

from __future__ import annotations

import io
import math

import pytest
from green import exact_moments
from hypothesis import given, settings
from hypothesis import strategies as st
from svgelements import SVG, Shape  # type: ignore[import-untyped]
from svgelements import Path as SvgPath

from core.design import Outline
from core.exchange.faults import ExchangeError, UnseenError
from core.exchange.svg_reading import outlines_from_svg
from core.geometry.ring import ring_of

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
    'width="100mm" height="80mm" viewBox="0 0 100 80">'
)
RIB = '<defs><path id="rib" d="M0 0H30V20H10z"/></defs>'
"""Area 500; centroid of the trapezium: 20/3 · 70/50 up; turned over."""


def drawing(inside: str, before: str = "") -> bytes:
    return f"{before}{HEAD}{inside}</svg>".encode()


def moments(outline: Outline) -> tuple[float, float, float]:
    area, x, z = exact_moments(ring_of(outline.nodes))
    return abs(area), x / area, z / area


def all_of(inside: str) -> list[tuple[float, float, float]]:
    found = outlines_from_svg(drawing(inside))
    assert found.notes == (), found.notes
    return [moments(o) for o in found.outlines]


AREA, X, Z = 500, 52 / 3, -28 / 3


@pytest.mark.parametrize(("use", "wanted"), [
    ('<use href="#rib"/>', (AREA, X, Z)),
    ('<use xlink:href="#rib" x="7" y="9"/>', (AREA, X + 7, Z - 9)),
    # x and y come after the transform of the copy itself (SVG 1.1, 5.6).
    ('<use href="#rib" x="7" transform="scale(2)"/>', (4 * AREA, 2 * (X + 7), 2 * Z)),
    ('<g transform="translate(1 2)"><use href="#rib" transform="scale(-1 1)"/></g>', (AREA, 1 - X, Z - 2)),
])
def test_a_copy_lands_where_it_is_put(use: str, wanted: tuple[float, float, float]) -> None:
    assert all_of(RIB + use) == [pytest.approx(wanted, rel=1e-9)]
    assert all_of(use + RIB) == [pytest.approx(wanted, rel=1e-9)], "it may come before what it copies"


def test_copies_of_groups_of_copies() -> None:
    inside = (
        RIB + '<defs><g id="pair"><use href="#rib"/><use href="#rib" x="40"/></g></defs>'
        '<use href="#pair" y="10"/><use href="#pair" transform="scale(0.5)"/>'
    )
    assert sorted(all_of(inside)) == [pytest.approx(w) for w in sorted([
        (AREA, X, Z - 10), (AREA, X + 40, Z - 10), (AREA / 4, X / 2, Z / 2), (AREA / 4, (X + 40) / 2, Z / 2),
    ])]


@pytest.mark.parametrize(("inside", "wanted"), [
    # A box of 20 × 10 in a place of 40 × 40: twice as large, in the middle of what is left over.
    ('<symbol id="s" viewBox="0 0 20 10"><rect width="20" height="10"/></symbol>'
     '<use href="#s" x="5" width="40" height="40"/>', (800, 25, -20)),
    ('<symbol id="s" viewBox="0 0 20 10" preserveAspectRatio="xMaxYMin"><rect width="20" height="10"/>'
     '</symbol><use href="#s" x="5" width="40" height="40"/>', (800, 25, -10)),
    ('<symbol id="s" viewBox="0 0 20 10" preserveAspectRatio="none"><rect width="20" height="10"/>'
     '</symbol><use href="#s" width="40" height="40"/>', (1600, 20, -20)),
    # Without a size of its own it is as large as the drawing, 100 × 80.
    ('<symbol id="s" viewBox="0 0 20 10"><rect width="20" height="10"/></symbol><use href="#s"/>',
     (5000, 50, -40)),
    ('<symbol id="s"><rect x="1" width="20" height="10"/></symbol><use href="#s"/>', (200, 11, -5)),
    ('<svg x="10" y="20" width="30" height="30" viewBox="5 5 10 10">'
     '<rect x="5" y="5" width="10" height="10"/></svg>', (900, 25, -35)),
    ('<svg x="10" y="20"><rect width="10" height="10"/></svg>', (100, 15, -25)),
])
def test_symbols_and_nested_drawings_are_fitted(inside: str, wanted: tuple[float, float, float]) -> None:
    assert all_of(inside) == [pytest.approx(wanted, rel=1e-9)]


PLACE = st.tuples(
    st.integers(-20, 20), st.integers(-20, 20),
    st.sampled_from(("", "rotate(30)", "scale(2 -1)", "skewX(20)")),
)


@settings(max_examples=40)
@given(st.lists(PLACE, min_size=1, max_size=4), PLACE)
def test_copies_lie_where_a_general_library_says(
    places: list[tuple[int, int, str]], outer: tuple[int, int, str]
) -> None:
    def use(of: str, place: tuple[int, int, str]) -> str:
        x, y, turn = place
        return f'<use href="#{of}" x="{x}" y="{y}" transform="{turn or "scale(1)"}"/>'

    inner = "".join(use("rib", p) for p in places)
    inside = RIB + f'<defs><g id="all">{inner}</g></defs>' + use("all", outer)
    theirs = []
    for shape in SVG.parse(io.StringIO(drawing(inside).decode()), ppi=25.4).elements():
        if isinstance(shape, Shape) and not isinstance(shape, SVG):
            box = abs(SvgPath(shape)).bbox()
            if box is not None:
                theirs.append(box)
    ours = []
    for outline in outlines_from_svg(drawing(inside)).outlines:
        x, y = [n.x for n in outline.nodes], [-n.z for n in outline.nodes]
        ours.append((min(x), min(y), max(x), max(y)))
    assert len(ours) == len(places)
    for mine in ours:
        # The library has an inch to six digits.
        assert any(mine == pytest.approx(box, rel=2e-6, abs=1e-4) for box in theirs), (mine, theirs)


def test_what_a_copy_is_called() -> None:
    found = outlines_from_svg(drawing(RIB + '<use id="Left" href="#rib"/><use href="#rib" y="40"/>'))
    assert [o.label for o in found.outlines] == ["rib", "rib"]
    found = outlines_from_svg(drawing(
        '<defs><g id="g"><path d="M0 0H30V20H10z"/></g></defs><use id="Left" href="#g"/>'
    ))
    assert [o.label for o in found.outlines] == ["Left"]
    found = outlines_from_svg(drawing(
        '<g><title>Ventral fin</title><rect width="9" height="9"/></g><rect id="Wheel" width="9" height="9"/>'
    ))
    assert [(o.label, o.kind) for o in found.outlines] == [("Ventral fin", "ventral fin"), ("Wheel", "wheel")]
    assert found.uncounted == ("ventral-fin", "wheel")


SOUND = '<rect width="9" height="9"/>'


@pytest.mark.parametrize(("inside", "words"), [
    ('<use href="/etc/passwd"/>', "copies from another file, and nothing is fetched"),
    ('<use href="http://127.0.0.1/a.svg#b"/>', "copies from another file, and nothing is fetched"),
    ('<use href="#nobody"/>', 'copies "#nobody", which the file does not hold'),
    ("<use/>", 'copies "", which the file does not hold'),
    ('<g id="g"><use href="#g"/></g>', "copies itself"),
    ('<use id="u" href="#u"/>', "copies itself"),
    ('<defs><g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g></defs><use href="#a"/>',
     "copies itself"),
    ("<defs>" + "".join(f'<g id="a{i}"><use href="#a{i + 1}"/></g>' for i in range(50)) + "</defs>"
     '<use href="#a0"/>', "more than 16 copies deep"),
])
def test_what_cannot_be_resolved_is_named(inside: str, words: str) -> None:
    found = outlines_from_svg(drawing(SOUND + inside))
    assert len(found.outlines) == 1 and any(words in note for note in found.notes), found.notes


LAUGHS = "<defs>" + "".join(
    f'<g id="a{i}">' + f'<use href="#a{i + 1}"/>' * 10 + "</g>" for i in range(12)
) + '<g id="a12"/></defs><use href="#a0"/>'


def test_an_explosion_of_copies_is_one_sentence() -> None:
    with pytest.raises(ExchangeError, match="more than 20000 elements come out of copies") as caught:
        outlines_from_svg(drawing(SOUND + LAUGHS))
    assert len(str(caught.value)) < 150
    with pytest.raises(ExchangeError, match="more than 200000 elements"):
        outlines_from_svg(drawing("<g/>" * 200_001))


def test_what_is_long_is_read_once_however_often_it_is_copied() -> None:
    """Read anew in each of 9 000 copies, these would take many minutes."""
    long = "translate(0) " * 20_000
    inside = (
        f'<defs><g id="g" transform="{long}" style="{"a:b;" * 50_000}">'
        f'<path d="{"M0 0 " * 50_000}"/></g></defs>'
        + '<use href="#g"/>' * 9_000
    )
    assert len(outlines_from_svg(drawing(SOUND + inside)).outlines) == 1


PUBLIC = (
    '<?xml version="1.0" standalone="no"?>\n<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN"\n'
    ' "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">\n'
)


@pytest.mark.parametrize("before", [
    PUBLIC, '<!DOCTYPE svg SYSTEM "svg.dtd">', "<!DOCTYPE svg>", "<!-- <!DOCTYPE a> --><!DOCTYPE svg >",
])
def test_the_standard_document_type_is_passed_over(before: str) -> None:
    (outline,) = outlines_from_svg(drawing(SOUND, before)).outlines
    assert moments(outline)[0] == pytest.approx(81)
    head = before.replace("?>", "?>", 1) if before.startswith("<?xml") else '<?xml version="1.0"?>' + before
    for encoding in ("utf-16", "utf-8-sig", "latin-1"):
        named = head.replace("?>", f' encoding="{encoding.replace("-sig", "")}"?>', 1)
        named = named.replace(' standalone="no" encoding', " encoding")
        if "standalone" in named:
            continue
        assert len(outlines_from_svg(drawing(SOUND, named).decode().encode(encoding)).outlines) == 1


@pytest.mark.parametrize("before", [
    "<!DOCTYPE svg []>", '<!DOCTYPE svg [<!ENTITY a "M0 0H9V9z">]>', "<!DOCTYPE svg [<!ELEMENT svg ANY>]>",
    '<!DOCTYPE svg SYSTEM "svg.dtd" [<!ENTITY % more SYSTEM "file:///etc/passwd"> %more;]>',
])
def test_declarations_of_its_own_are_refused(before: str) -> None:
    with pytest.raises(ExchangeError, match="document type"):
        outlines_from_svg(drawing(SOUND, before))


def test_an_entity_that_the_standard_document_type_might_define_is_a_fault_and_not_a_gap() -> None:
    for inside in (SOUND + "<title>&nbsp;</title>", '<path d="M0 0 &more; H9V9z"/>'):
        with pytest.raises(ExchangeError, match="undefined entity"):
            outlines_from_svg(drawing(inside, PUBLIC))


def test_what_is_not_displayed_is_left_out_and_said_unless_asked_for() -> None:
    inside = (
        '<g display="none"><rect width="5" height="5"/><rect visibility="visible" width="5" height="5"/></g>'
        '<g style="visibility:hidden"><rect width="5" height="5"/>'
        '<rect style="visibility: visible" width="9" height="9"/></g>'
    )
    found = outlines_from_svg(drawing(inside))
    assert [moments(o)[0] for o in found.outlines] == [pytest.approx(81)] and found.unseen == 3
    assert "3 shapes were left out, not being displayed there" in found.notes
    every = outlines_from_svg(drawing(inside), unseen=True)
    assert len(every.outlines) == 4 and every.notes == () and every.unseen == 0
    with pytest.raises(UnseenError, match="--hidden"):
        outlines_from_svg(drawing('<g display="none"><rect width="5" height="5"/></g>'))


def test_a_circle_in_a_copy_stays_round() -> None:
    ((area, _, _),) = all_of('<defs><circle id="c" r="20"/></defs><use href="#c" x="30" y="30"/>')
    assert area == pytest.approx(math.pi * 400, rel=1e-5)
