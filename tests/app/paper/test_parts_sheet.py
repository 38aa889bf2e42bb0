"""The parts sheet's PDF taken apart: every part its true size, apart from all others, named, counted."""

from __future__ import annotations

import dataclasses
import datetime
import math
from collections.abc import Iterator
from functools import cache

import numpy as np
import pypdfium2
import pytest
import shapely
from driving import bare_sample
from msgspec.structs import replace
from numpy.typing import NDArray
from pdf_paths import Drawn, characters, drawn, words_of
from shapely.geometry.base import BaseGeometry

from app.kit.cautions import CAUTIONS, WORKSHOP
from app.paper.pages import PAPERS, pdf
from app.paper.parts_frame import measuring
from app.paper.parts_layout import GAP, MARGIN, PEN, lay_pieces
from app.paper.parts_pieces import pieces_of
from app.paper.parts_sheet import parts_sheet, sheet_of
from app.paper.parts_words import joint_name, mass_words, size_words
from core.design import Alternative, Build, Scan
from core.design_build import Ribs, Skin, Spar, Strip, Thickness
from core.parts.built import all_built
from core.parts.part import Built
from core.redesign.alternatives import keep
from core.redesign.outline_edits import EditError
from tests.core import made_parts
from tests.core.made_parts import box, built, design, part, polygon

TODAY = datetime.date(2031, 3, 9)
WAYS = {
    "sheet": made_parts.sheet_build, "frame": made_parts.frame_build, "ribbed": made_parts.ribbed_build,
    "large": lambda: made_parts.ribbed_build(3.0),
}
Points = NDArray[np.float64]

pytestmark = pytest.mark.usefixtures("qapp")


def opened(one: Built, paper: str = "a4", units: str = "mm", kept: Alternative | None = None
           ) -> pypdfium2.PdfDocument:
    made = design(one.build, display_units=units)
    return pypdfium2.PdfDocument(pdf(sheet_of(made, [one], kept, paper=PAPERS[paper], today=TODAY)))


@cache
def pages_of(way: str, paper: str, units: str) -> tuple[pypdfium2.PdfDocument, tuple[tuple[Drawn, ...], ...]]:
    document = opened(WAYS[way](), paper, units)
    return document, tuple(tuple(drawn(page)) for page in document)


def cut_lines(paths: tuple[Drawn, ...]) -> list[Drawn]:
    """What is black and a quarter of a millimetre wide: nothing but what is cut."""
    return [p for p in paths if p.rgb == (0, 0, 0) and p.width > 0.2 and not p.filled]


def alike(points: Points, other: Points) -> float:
    """How far two rings of as many corners differ at most, mm, wherever and however turned they lie."""
    if len(points) != len(other):
        return math.inf
    # Distances between all corners do not depend on where a shape lies; nor does the way round.
    least = math.inf
    one = np.hypot(*(points[:, None] - points[None]).transpose(2, 0, 1))
    for ring in (other, other[::-1]):
        two = np.hypot(*(ring[:, None] - ring[None]).transpose(2, 0, 1))
        for shift in range(len(points)):
            least = min(least, float(np.abs(one - np.roll(two, (shift, shift), (0, 1))).max()))
    return least


def rings(shape: BaseGeometry) -> Iterator[Points]:
    for polygon_ in shapely.get_parts(shape):
        for ring in (polygon_.exterior, *polygon_.interiors) if not polygon_.is_empty else ():
            yield shapely.get_coordinates(ring)[:-1]


def squeezed(words: str) -> str:
    return words.replace(" ", "")


SHEETS = [(way, paper, units) for way in WAYS for paper, units in (("a4", "mm"), ("letter", "in"))]


@pytest.mark.parametrize(("way", "paper", "units"), SHEETS)
def test_every_shaped_part_is_drawn_once_at_its_true_size(way: str, paper: str, units: str) -> None:
    _, pages = pages_of(way, paper, units)
    lines = [line for page in pages for line in cut_lines(page) if line.closed]
    one = WAYS[way]()
    again = {
        piece.number: sum(shapely.box(*spread.tiling.window(tile)).intersects(shapely.box(*piece.room.bounds))
                          for tile in spread.tiling.tiles)
        for spread in lay(one, paper).spreads for piece in spread.pieces
    }
    for piece in pieces_of([one]):
        if piece.breaks:
            continue
        for ring in rings(piece.edge):
            found = [line for line in lines if alike(line.points, ring) < 0.01]
            # What runs over several pages is in each of their windows, clipped.
            assert len(found) == again.get(piece.number, 1), piece.name
            for line in found:
                lines.remove(line)
    assert lines == []


def lay(one: Built, paper: str):  # type: ignore[no-untyped-def]
    with measuring() as ink:
        size = PAPERS[paper]
        return lay_pieces(pieces_of([one]), design(one.build), size.width, size.height,
                          lambda text, points, bold: ink.width(text, points, bold=bold))


@pytest.mark.parametrize(("way", "paper", "units"), SHEETS)
def test_parts_keep_apart_and_off_the_margins(way: str, paper: str, units: str) -> None:
    document, pages = pages_of(way, paper, units)
    for page, paths in zip(document, pages, strict=True):
        # The page itself is rounded to whole points.
        wide, tall = PAPERS[paper].width, PAPERS[paper].height
        inner = shapely.box(MARGIN, MARGIN, wide - MARGIN, tall - MARGIN)
        clipped = "large parts" in words_of(page)
        for path in paths:
            if not clipped:
                # Half a pen lies beside the line, and is within the margins too.
                assert inner.buffer(0.01).contains(path.line.buffer(path.width / 2 + 1e-4, cap_style="flat"))
        for sign, ink in characters(page):
            # A letter may lean a little out of its line.
            assert inner.buffer(0.35).contains(ink), sign
        shapes = [shapely.Polygon(line.points) for line in cut_lines(paths) if line.closed]
        outer = [s for i, s in enumerate(shapes) if not any(
            other.contains(s) for j, other in enumerate(shapes) if i != j
        )]
        for i, shape in enumerate(outer):
            for other in outer[i + 1:]:
                assert shape.distance(other) >= GAP - 0.001


@pytest.mark.parametrize(("way", "paper", "units"), SHEETS)
def test_no_letter_lies_on_a_line(way: str, paper: str, units: str) -> None:
    document, pages = pages_of(way, paper, units)
    for page, paths in zip(document, pages, strict=True):
        cut = shapely.union_all([line.line.buffer(PEN / 2) for line in cut_lines(paths)])
        marked = shapely.union_all([
            path.line for path in paths if not path.filled and 0.1 < path.width < 0.13
        ])
        for sign, ink in characters(page):
            assert not cut.intersects(ink), (sign, ink.bounds)
            assert not marked.intersects(ink), (sign, ink.bounds)


REAL: dict[str, Build] = {
    "ribbed": Build("t", (), "ribbed", Thickness(14.0, 9.0), Ribs(), Strip(6.0, None, "balsa-hard"),
                    Strip(8.0), (Spar(0.35, (6.0, 3.0), 1.5),), Skin(), 60.0),
    "frame": Build("t", (), "frame", Thickness(6.0, 6.0, "flat"), Ribs(thick=5.0), Strip(6.0), Strip(6.0),
                   (Spar(0.4, (8.0, 6.0), None, "balsa-hard"),)),
    "sheet": Build("t", (), "sheet", Thickness(6.0, 6.0, "flat"), skin=Skin(6.0, "balsa-medium"), holes=True),
}


@pytest.mark.parametrize("slug", ["long-meadow-2000", "marsh-harrow-52", "tallow-twin"])
@pytest.mark.parametrize("way", list(REAL))
def test_the_samples_tails_come_out_whole_and_legible(slug: str, way: str) -> None:
    sample = bare_sample(slug)
    ids = tuple(o.id for o in sample.outlines if o.kind in ("fin", "rudder"))
    made = replace(sample, builds=(replace(REAL[way], of=ids),), materials=())
    sheet = parts_sheet(made, paper=PAPERS["letter"], today=TODAY)
    lines = []
    for page in pypdfium2.PdfDocument(pdf(sheet)):
        paths = tuple(drawn(page))
        cut = shapely.union_all([line.line.buffer(PEN / 2) for line in cut_lines(paths)])
        assert not [sign for sign, ink in characters(page) if cut.intersects(ink)]
        lines += [line for line in cut_lines(paths) if line.closed]
    drawn_areas = sorted(shapely.Polygon(line.points).area for line in lines)
    (one,) = all_built(made)
    pieces = pieces_of([one])
    assert sum(piece.count for piece in pieces) == sum(p.count for p in one.parts) > 0
    wanted = sorted(
        shapely.Polygon(ring).area for piece in pieces if not piece.breaks for ring in rings(piece.edge)
    )
    # Nothing here is larger than a page.
    assert drawn_areas == pytest.approx(wanted, rel=1e-3, abs=0.05)


def test_labels_lie_apart_from_each_other_and_from_the_grain() -> None:
    for way in WAYS:
        layout = lay(WAYS[way](), "a4")
        for number in range(layout.sheets):
            taken = []
            for piece, laid in layout.whole:
                if laid.sheet == number:
                    assert piece.label is not None
                    taken.append(laid.move(piece.label.box))
                    if piece.arrow is not None:
                        taken.append(laid.move(shapely.LineString(piece.arrow).buffer(0.7)))
            assert not any(a.intersects(b) for i, a in enumerate(taken) for b in taken[i + 1:])
        for spread in layout.spreads:
            assert all(piece.label is not None for piece in spread.pieces)


@pytest.mark.parametrize(("way", "paper", "units"), SHEETS)
def test_every_page_has_its_bar_and_cautions(way: str, paper: str, units: str) -> None:
    document, pages = pages_of(way, paper, units)
    for number, (page, paths) in enumerate(zip(document, pages, strict=True), 1):
        text = words_of(page)
        foot = words_of(page, left=MARGIN + 105.0, top=PAPERS[paper].height - MARGIN - 14.0)
        # Where a line is turned, the blank between its words may be lost on reading.
        assert squeezed(foot) == squeezed(" ".join(WORKSHOP))
        assert f"page {number} of {len(document)}" in text and "9 March 2031" in text and "…" not in text
        length = 100.0 if units == "mm" else 101.6
        bars = [p for p in paths if p.closed and p.width > 0.0 and p.points[:, 1].min() > 250.0]
        reach = max(float(np.ptp(p.points[:, 0])) + p.width for p in bars)
        assert reach == pytest.approx(length, abs=0.01)
        assert ("100 mm long" if units == "mm" else "4 in long") in text
    assert all(caution in words_of(document[0]) for caution in CAUTIONS)
    size = PAPERS[paper]
    found = [side * 25.4 / 72 for side in document[0].get_size()]
    assert found == pytest.approx((size.width, size.height), abs=0.2)


def test_parts_are_named_counted_and_found_by_their_page() -> None:
    document, _ = pages_of("ribbed", "a4", "mm")
    first, second = (words_of(page) for page in document)
    for words in ("1 Rib 1 · cut 2", "14 Skin of the fin cut 2 · Balsa, light 1.6 mm",
                  "7 Spar cap cut 2 · Spruce 6 × 3 mm 184 mm long, ends 69.9° and 69.9°"):
        assert squeezed(words) in squeezed(second)
    assert "Rib 7 is shorter than its notches: leave it out." in first
    assert "8 Leading edge 1 Balsa, hard 195 × 12 × 6 mm 4.89 g 2" in first
    assert "1.6 mm Balsa, light Skin of the fin" in first and "Rib 1–6" in first
    assert "Ply and foam come in boards of many sizes" in first
    document, _ = pages_of("frame", "a4", "mm")
    # A stick without a shape has a line in the list and no drawing.
    assert "2 Hinge post 2 Balsa, hard 180 × 10 × 6 mm 4.75 g –" in words_of(document[0])
    assert "Hinge post" not in words_of(document[1])


def test_equal_parts_are_drawn_once_with_their_count() -> None:
    web = [part(f"Web {i}", "web", box(30.0, 12.0), 1.5, grain=90.0) for i in (1, 2, 3)]
    other = part("Web 4", "web", box(30.0, 12.1), 1.5, grain=90.0)
    marked = part("Web 5", "web", box(30.0, 12.0), 1.5, grain=90.0, engraved=(((2, 2), (20, 9)),))
    one = built(Build("tail", ("fin",)), *web, other, marked)
    found = pieces_of([one])
    assert [(p.number, p.name, p.count) for p in found] == [
        (1, "Web 1–3", 3), (2, "Web 4", 1), (3, "Web 5", 1),
    ]
    (page,) = list(opened(one))[1:]
    assert len([p for p in cut_lines(tuple(drawn(page))) if p.closed]) == 3
    thin = [p for p in drawn(page) if p.width == pytest.approx(0.12, abs=0.005) and len(p.points) == 2]
    assert [round(float(np.hypot(*np.ptp(p.points, axis=0))), 2) for p in thin] == [
        round(math.hypot(18, 7), 2)
    ]


def test_grain_is_drawn_as_it_runs_though_the_part_was_turned() -> None:
    slant = part("Piece", "sheet", polygon((0, 0), (190, 0), (190, 60), (0, 90)), 3.0, grain=30.0)
    (page,) = list(opened(built(Build("tail", ("fin",)), slant)))[1:]
    paths = tuple(drawn(page))
    (edge,) = (p for p in cut_lines(paths) if p.closed)
    shaft = max((p for p in paths if p.width == pytest.approx(0.2, abs=0.01) and len(p.points) == 2
                 and p.points[:, 1].max() < 250), key=lambda p: p.line.length)
    sides = np.roll(edge.points, -1, axis=0) - edge.points
    base = sides[np.argmin(np.abs(np.hypot(*sides.T) - 190.0))]
    along = np.diff(shaft.points, axis=0)[0]
    angle = math.degrees(math.acos(abs(float(base @ along)) / np.linalg.norm(base) / np.linalg.norm(along)))
    assert angle == pytest.approx(30.0, abs=0.01)


def test_a_long_stick_shows_both_ends_and_its_length() -> None:
    corners = ((0.0, 0.0), (420.0, 0.0), (417.0, 6.0), (10.0, 6.0))
    stick = part("Post", "stick", polygon(*corners), 6.0, width=6.0)
    (page,) = list(opened(built(Build("tail", ("fin",)), stick)))[1:]
    ends = [p for p in cut_lines(tuple(drawn(page))) if not p.closed]
    assert len(ends) == 2
    for end, (low, high) in zip(sorted(ends, key=lambda p: p.points[:, 0].min()), (
        (corners[0], corners[3]), (corners[1], corners[2])
    ), strict=True):
        # Two long edges of 40 mm and the bevel between them.
        assert np.ptp(end.points[:, 0]) == pytest.approx(40.0, abs=0.01)
        sides = np.diff(end.points, axis=0)
        bevel = sides[np.abs(np.hypot(*sides.T) - math.dist(low, high)).argmin()]
        assert np.abs(bevel) == pytest.approx(np.abs(np.subtract(high, low)), abs=0.01)
    assert "420 mm long, ends 31.0° and 63.4°" in words_of(page)


def test_pages_of_large_parts_meet_at_their_marks() -> None:
    document, pages = pages_of("large", "a4", "mm")
    layout = lay(WAYS["large"](), "a4")
    first = len(document) - len(layout.tile_pages())
    seen = 0
    for spread in layout.spreads:
        tiles = [tile for other, tile in layout.tile_pages() if other is spread]
        by_tile = {tile: pages[first + i] for i, (other, tile) in enumerate(layout.tile_pages())
                   if other is spread}
        for tile in tiles:
            for join in spread.tiling.joins(tile):
                if join.neighbour < tile:
                    continue
                one, other = by_tile[tile], by_tile[join.neighbour]
                mine, theirs = (
                    np.array([p.points.mean(axis=0) for p in page if p.closed and len(p.points) == 4
                              and p.width > 0.0 and np.ptp(p.points[:, 0]) == pytest.approx(6.0, abs=0.01)])
                    for page in (one, other)
                )
                # What runs over the join says how the pages lie to each other, and the diamonds agree.
                both = [
                    (a.points, b.points) for a in cut_lines(one) for b in cut_lines(other)
                    if len(a.points) == len(b.points) and alike(a.points, b.points) < 0.01
                ]
                shift = both[0][0][0] - both[0][1][0]
                assert all(np.abs(a - b - shift).max() < 0.01 for a, b in both)
                (u0, v0), (u1, v1) = join.start, join.end
                crossing = [piece for piece in spread.pieces
                            if shapely.LineString(((u0, v0), (u1, v1))).intersects(piece.edge)]
                assert len(both) >= len(crossing) > 0
                assert sum((np.hypot(*(theirs + shift - m).T) < 0.01).any() for m in mine) >= 2
                seen += 1
                name = f"{spread.name}{join.neighbour.name} joins here"
                assert name in words_of(document[first + layout.tile_pages().index((spread, tile))])
    assert seen >= 3


def test_large_parts_share_their_pages() -> None:
    # Five ribs of up to 450 mm and a skin of 570 by 180: by themselves two to three pages each.
    layout = lay(WAYS["large"](), "a4")
    assert sum(len(spread.pieces) for spread in layout.spreads) >= 5
    assert len(layout.tile_pages()) <= 5
    for spread in layout.spreads:
        for i, piece in enumerate(spread.pieces):
            assert all(piece.edge.distance(other.edge) > 3.0 for other in spread.pieces[i + 1:])


def test_a_part_too_thin_for_words_has_them_beside_it() -> None:
    strip = part("Strip", "sheet", polygon((0, 0), (420, 3), (420, 7), (0, 4)), 3.0)
    (spread,) = lay(built(Build("tail", ("fin",)), strip), "a4").spreads
    (piece,) = spread.pieces
    assert piece.label is not None and not piece.label.box.intersects(piece.edge)
    assert piece.label.box.distance(piece.edge) < 12.0


def test_old_grams_stand_beside_the_new() -> None:
    one = WAYS["sheet"]()
    made = design(one.build)
    weighed = replace(made, outlines=tuple(
        replace(o, grams_per_dm2=5.0) if o.id != "hull" else o for o in made.outlines
    ))
    kept = keep(weighed, "as drawn").alternatives[0]
    text = words_of(opened(one, kept=replace(kept, builds=()))[0])
    before = 5.0 * sum(shapely.Polygon(ring).area for ring in (made_parts.FIN, made_parts.RUDDER)) / 1e4
    assert f"38.1 g {before:.1f} g +{one.grams - before:.1f} g" in text and "Before: “as drawn”." in text
    plain = words_of(opened(one, kept=keep(replace(made, builds=()), "bare").alternatives[0])[0])
    assert "Fin, Rudder: the kept state gives it no weight." in plain


def test_a_long_list_goes_on_under_its_heading() -> None:
    parts = [part(f"Web {i}", "web", box(20.0 + i / 10, 9.0), 1.5) for i in range(1, 91)]
    document = opened(built(Build("tail", ("fin",)), *parts))
    lists = [words_of(page) for page in document if "cutting list" in words_of(page)]
    assert len(lists) >= 2 and all("no. part cut material" in text for text in lists)


def test_what_cannot_be_drawn_is_said_in_a_sentence() -> None:
    nothing = design()
    with pytest.raises(EditError, match="no surface has a build yet"):
        parts_sheet(nothing, paper=PAPERS["a4"], today=TODAY)
    made = design(Build("tail", ("fin",)))
    with pytest.raises(EditError, match="no build “wing” is in this design: choose among tail"):
        parts_sheet(made, ["wing"], paper=PAPERS["a4"], today=TODAY)
    unscaled = replace(made, scans=(Scan("plan", "plan.png", scale_from="none"),))
    with pytest.raises(EditError, match="scale"):
        parts_sheet(unscaled, paper=PAPERS["a4"], today=TODAY)
    faulty = built(made.builds[0], faults=("nothing stands out of the body",))
    with pytest.raises(EditError, match="nothing stands out of the body"):
        sheet_of(made, [faulty], None, paper=PAPERS["a4"], today=TODAY)
    huge = built(made.builds[0], part("Hangar", "sheet", box(9000.0, 9000.0), 3.0))
    with pytest.raises(EditError, match="pages"):
        opened(huge)


def test_sizes_and_names_as_they_are_spoken() -> None:
    assert size_words((120.0, 2.4, 1.625), "mm") == "120 × 2.4 × 1.62 mm"
    assert size_words((25.4, 3.175), "in64") == "1 × 1/8 in" and size_words((2.54,), "in") == "0.100 in"
    assert joint_name(["Rib 2"]) == "Rib 2" and joint_name(["Rib 2", "Rib 4"]) == "Rib 2, 4"
    assert joint_name(["Rib 2, half", "Rib 3, half", "Rib 4, half"]) == "Rib 2–4, half"
    assert joint_name(["Skin", "Web 2"]) == "Skin, Web 2"
    assert mass_words(0.241, "mm") == "0.24 g" and mass_words(28.35, "in") == "1.00 oz"
    assert mass_words(0.241, "in") == "0.009 oz" and mass_words(185.0, "mm") == "185 g"


def test_two_of_one_outline_of_which_one_is_bevelled_stay_two() -> None:
    square = part("Fin post", "stick", box(100.0, 9.5), 6.4, width=9.5)
    bevelled = dataclasses.replace(square, name="Rudder post", volume=0.9 * square.volume)
    tip = dataclasses.replace(square, name="Tip post")
    one = built(Build("tail", ("fin", "rudder")), square, tip, bevelled)
    assert [(piece.name, piece.count) for piece in pieces_of([one])] == [
        ("Fin post, Tip post", 2), ("Rudder post", 1),
    ]
