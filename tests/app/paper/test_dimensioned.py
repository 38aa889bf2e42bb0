"""The dimensioned outline read back from its PDF: what is said is what is drawn, at the scale said."""

from __future__ import annotations

import datetime
import math
import re

import numpy as np
import pypdfium2
import pytest
import shapely
from driving import bare_sample
from msgspec.structs import replace
from pdf_paths import Drawn, characters, drawn, words_of

from app.kit.cautions import WORKSHOP
from app.paper.dimensioned import dimensioned_sheet
from app.paper.dimensioned_drawing import EDGE_PEN
from app.paper.pages import PAPERS, pdf
from app.paper.parts_layout import MARGIN
from core.design import Build, Design, Scan, Station, Tailplane
from core.redesign.alternatives import keep
from core.redesign.outline_edits import EditError
from tests.core.made_parts import design, outline

TODAY = datetime.date(2031, 3, 9)
TALLER = (
    outline("fin", "fin", (-15, 0), (70, 205), (150, 205), (150, 0), label="Fin"),
    outline("rudder", "rudder", (150, 0), (150, 205), (205, 190), (218, 0), label="Rudder"),
)

pytestmark = pytest.mark.usefixtures("qapp")


def grown(**more: object) -> Design:
    """A design whose tail has grown since a state of it was kept."""
    kept = keep(design(Build("tail", ("fin", "rudder"), hinge_gap=0.0)), "as drawn")
    return replace(kept, outlines=(kept.outlines[0], *TALLER), **more)


def opened(made: Design, *ids: str, paper: str = "a4", **more: object) -> pypdfium2.PdfDocument:
    sheet = dimensioned_sheet(made, ids or ("fin", "rudder"), paper=PAPERS[paper], today=TODAY, **more)  # type: ignore[arg-type]
    return pypdfium2.PdfDocument(pdf(sheet))


def edges(page: pypdfium2.PdfPage) -> list[Drawn]:
    """The panels' own edges, by their pen."""
    return [p for p in drawn(page) if p.closed and p.width == pytest.approx(EDGE_PEN, abs=0.005)]


def ratio_of(text: str) -> float:
    found = re.search(r"scale 1:([0-9.]+)", text)
    return float(found.group(1)) if found else 1.0


@pytest.mark.parametrize(("paper", "units"), [
    ("a4", "mm"), ("letter", "in"), ("letter", "in64"), ("a3", "mm"),
])
def test_the_drawing_measures_what_its_figures_say(paper: str, units: str) -> None:
    (page,) = opened(grown(display_units=units), paper=paper)
    text = words_of(page)
    ratio = ratio_of(text)
    fin, rudder = sorted(edges(page), key=lambda p: p.points[:, 0].min())
    # Of the fixture: the body's top lies 2 mm above the fin's foot, and hides that much.
    slope = 85.0 / 205.0
    expected = {"height": 203.0, "root": 165.0 - 2 * slope, "tip": 80.0}
    assert np.ptp(fin.points[:, 1]) * ratio == pytest.approx(expected["height"], abs=0.01 * ratio)
    assert np.ptp(fin.points[:, 0]) * ratio == pytest.approx(expected["root"], abs=0.01 * ratio)
    assert np.ptp(rudder.points[:, 1]) * ratio == pytest.approx(205.0, abs=0.01 * ratio)
    # Apart: nothing of one over the other, and room for the figures of the hinges between.
    assert rudder.points[:, 0].min() - fin.points[:, 0].max() > 30.0
    if units == "mm":
        # The kept fin rises 180 over 70: its root is 0.4 mm further in at 2 mm, as this one's is 0.8.
        added = 15.0 + 2 * (70 / 180 - slope)
        for words in ("203.0 mm (+25.0)", f"{expected['root']:.1f} mm (+{added:.1f})", "80.0 mm", "H1 29.0",
                      "H2 101.5", "H3 174.0", f"{math.degrees(math.atan(slope)):.1f}°"):
            assert words.replace(" ", "") in text.replace(" ", ""), words
        assert "Fin now 203.0 mm" in text and "before 178.0 mm" in text and "added +25.0 mm" in text
    if units == "in":
        assert f"{203 / 25.4:.3f}in(+{25 / 25.4:.3f})" in text.replace(" ", "")
    if units == "in64":
        # 203 mm are 511.5 sixty-fourths, which round to 512 or to 511; 25 mm are 63.
        assert "763/64in(+63/64)" in text.replace(" ", "") or "8in(+63/64)" in text.replace(" ", "")
    foot = words_of(page, left=MARGIN + 105.0, top=page.get_height() * 25.4 / 72 - MARGIN - 13.0)
    assert foot.replace(" ", "") == " ".join(WORKSHOP).replace(" ", "")
    assert "9 March 2031" in text and "…" not in text


def test_what_was_kept_is_dashed_with_its_hinge_on_this_one() -> None:
    (page,) = opened(grown())
    ratio = ratio_of(words_of(page))
    fin = min(edges(page), key=lambda p: p.points[:, 0].min())
    kept = [p for p in drawn(page) if p.closed and p.width == pytest.approx(0.18, abs=0.005)]
    before = min(kept, key=lambda p: p.points[:, 0].min())
    assert np.ptp(before.points[:, 1]) * ratio == pytest.approx(178.0, abs=0.02)
    # The hinge is the aft edge of both; the root, their foot.
    assert before.points[:, 0].max() == pytest.approx(fin.points[:, 0].max(), abs=0.01)
    assert before.points[:, 1].max() == pytest.approx(fin.points[:, 1].max(), abs=0.01)
    assert "“as drawn”" in words_of(page)


def test_a_tail_moved_bodily_has_nothing_added() -> None:
    kept = keep(design(), "as drawn")
    moved = replace(kept, outlines=tuple(
        replace(o, nodes=tuple(replace(n, x=n.x + 35.0) for n in o.nodes)) for o in kept.outlines
    ))
    text = words_of(opened(moved)[0])
    assert "(+" not in text and "(−" not in text
    assert "added 0.0 mm 0.0 mm 0.0 mm 0.0° 0.000 dm²" in text


def test_no_letter_lies_on_an_edge_or_off_the_page() -> None:
    samples = [bare_sample(slug) for slug in ("long-meadow-2000", "marsh-harrow-52", "tallow-twin")]
    for made in (grown(), *samples):
        ids = tuple(o.id for o in made.outlines if o.kind in ("fin", "rudder"))
        for paper in ("a4", "letter"):
            (page,) = opened(made, *ids, paper=paper)
            lines = shapely.union_all([p.line.buffer(0.05) for p in edges(page)])
            wide, tall = (side * 25.4 / 72 for side in page.get_size())
            inner = shapely.box(MARGIN, MARGIN, wide - MARGIN, tall - MARGIN).buffer(0.35)
            signs = characters(page)
            assert not [sign for sign, box in signs if lines.intersects(box)]
            assert all(inner.contains(box) for _, box in signs)


def test_full_size_is_full_size_and_fits_a_page_by_itself() -> None:
    document = opened(grown(), full_size=True)
    assert len(document) == 3 and "scale 1:2" in words_of(document[0])
    for page, height in zip(list(document)[1:], (203.0, 205.0), strict=True):
        (edge,) = edges(page)
        assert np.ptp(edge.points[:, 1]) == pytest.approx(height, abs=0.01)
        assert "full size" in words_of(page)
    small = design()
    small = replace(small, outlines=(small.outlines[0], outline(
        "fin", "fin", (100, 0), (120, 60), (150, 60), (150, 0), label="Fin"
    )))
    # What fits a page at its own size is not drawn twice.
    (page,) = opened(small, "fin", full_size=True)
    assert "full size" in words_of(page) and "not to measure from" not in words_of(page)


def test_full_size_of_a_large_one_is_joined() -> None:
    large = replace(grown(), outlines=(grown().outlines[0], outline(
        "fin", "fin", (-200, 0), (70, 400), (150, 400), (150, 0), label="Fin"
    )))
    document = opened(large, "fin", full_size=True)
    assert len(document) >= 4
    texts = [words_of(page) for page in document]
    assert all("joins here" in text for text in texts[1:])
    for page in list(document)[1:]:
        assert np.ptp(edges(page)[0].points[:, 1]) == pytest.approx(398.0, abs=0.01)


def test_a_tailplane_is_half_of_it_with_its_elevator() -> None:
    tail = Tailplane("tailplane", (Station(0.0, 700.0, 120.0), Station(220.0, 730.0, 80.0)), "Tailplane")
    text = words_of(opened(design(tailplanes=(tail,)), "tailplane")[0])
    assert "220.0 mm" in text and "elevator" in text and "half span" in text


def test_why_a_state_is_not_drawn_and_what_cannot_be() -> None:
    bare = replace(design(), outlines=design().outlines[:1])
    kept = keep(bare, "without a tail")
    text = words_of(opened(replace(kept, outlines=design().outlines))[0])
    assert "Not drawn as kept in “without a tail”" in text
    unscaled = replace(design(), scans=(Scan("plan", "plan.png", scale_from="none"),))
    with pytest.raises(EditError, match="scale"):
        opened(unscaled)
    with pytest.raises(EditError, match="nose"):
        opened(design(), "nose")
    with pytest.raises(EditError, match="no longer there"):
        opened(design(), kept="gone")
