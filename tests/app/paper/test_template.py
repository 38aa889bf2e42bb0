"""Templates as PDFs, rasterised and measured: check bars, the outline across joins, which edge is true."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest
import shapely
from driving import bare_sample
from msgspec.structs import replace
from PySide6.QtGui import QPageSize
from PySide6.QtPrintSupport import QPrinter
from template_pages import (
    PER_MM,
    clear,
    edge_samples,
    ends_of_bar,
    ink_along,
    mark_at,
    oval,
    pictures,
    planned,
    text_of,
    traced,
)

from app.kit.cautions import CAUTIONS
from app.paper.pages import pdf, print_sheet
from app.paper.template import (
    PEN,
    TemplateError,
    cut_words,
    parse_scale,
    scale_words,
)
from app.paper.template_page import MARK, for_paper, frame_of, template_sheet
from core.bench.tiling import Tile
from core.design import EMPTY, Design, Scan
from core.redesign.alternatives import keep
from core.units import UnitError

pytestmark = pytest.mark.usefixtures("qapp")

BODY = oval("body", 160, 10, 300, 182, label="Body")
FIN = traced("fin", "fin", (720, 20), (780, 160), (850, 160), (850, 20), label="Fin")
RUDDER = traced("rudder", "rudder", (850, -20), (850, 160), (900, 150), (900, -20), label="Rudder")
WHEELS = oval("wheels", 300, -80, 50, 50, label="Wheels", count=2)
HULL = traced("hull", "fuselage", (0, -40), (860, -40), (860, 40), (0, 40), label="Hull")
PLANE = Design(1, "Plain Plank", outlines=(HULL, FIN, RUDDER, WHEELS))


@pytest.mark.parametrize(("paper", "landscape", "tiles"), [
    ("a4", False, 2), ("a4", True, 3), ("letter", False, 2), ("letter", True, 3),
])
def test_tiles_cut_at_their_marks_and_joined_give_the_outline(
    paper: str, landscape: bool, tiles: int
) -> None:
    plan = planned(Design(1, "Joined", outlines=(BODY,)), paper, landscape=landscape, turn=0.0)
    assert len(plan.tiling.tiles) == tiles and plan.landscape == landscape
    points, normal = edge_samples(plan)
    used = 0
    free = clear(plan, points)
    for tile, picture in pictures(plan).items():
        frame = frame_of(plan, tile)
        # Those that the outline does not run through.
        ring = shapely.LinearRing(plan.drawing.pieces[0].corners)
        marks = [m for m in plan.tiling.marks(tile) if ring.distance(shapely.Point(m)) > MARK + 1.0]
        assert len(marks) >= 2
        found = np.array([mark_at(picture, frame.x(u), frame.y(v)) for u, v in marks])
        true = np.array([(u, -v) for u, v in marks]) * PER_MM
        # The marks lie as far apart as they should; where they are says where the page lies.
        shift = (found - true).mean(axis=0)
        assert np.abs(found - true - shift).max() / PER_MM < 0.1
        u0, v0, u1, v1 = plan.tiling.core(tile)
        mine = free & (points >= (u0, v0)).all(axis=1) & (points <= (u1, v1)).all(axis=1)
        pixels = points[mine] * np.array((1, -1)) * PER_MM + shift
        inmost, outmost = ink_along(picture, pixels, normal[mine])
        # The line lies inside: its outer edge is the outline.
        assert np.abs(outmost).max() < 0.1, tile.name
        assert np.abs(inmost + PEN).max() < 0.1, tile.name
        used += int(mine.sum())
        # And the extremes as they lie on the paper itself, the raster's corner being the paper's.
        box = plan.drawing.pieces[0].box
        for extreme, axis in ((box[0], 0), (box[2], 0), (box[1], 1), (box[3], 1)):
            near = mine & (np.abs(points[:, axis] - extreme) < 0.05)
            if near.any():
                paper_at = np.column_stack((
                    [frame.x(u) for u in points[near, 0]], [frame.y(v) for v in points[near, 1]]
                )) * PER_MM
                assert np.abs(ink_along(picture, paper_at, normal[near])[1]).max() < 0.1
        # Both check bars, and nothing on the printer's margins.
        left, top = 8.0, plan.height - 8.0 - plan.strip + 1.5
        for y, length in ((top, 100.0), (top + 5.7, 101.6)):
            start, end = ends_of_bar(picture, left, y, length)
            assert end - start == pytest.approx(length, abs=0.1) and start == pytest.approx(left, abs=0.1)
        # A letter like "J" leans a quarter of a millimetre out of its line.
        edge = round(7.6 * PER_MM)
        rim = np.ones(picture.shape, dtype=bool)
        rim[edge:-edge, edge:-edge] = False
        assert picture[rim].min() > 250
    assert used > 0.7 * len(points)


@pytest.mark.parametrize(("line", "inner", "outer"), [
    ("outer", -PEN, 0.0), ("inner", 0.0, PEN), ("middle", -PEN / 2, PEN / 2),
])
def test_the_edge_of_the_line_that_is_said_to_be_true_is(line: Any, inner: float, outer: float) -> None:
    plan = planned(Design(1, "Edge", outlines=(oval("o", 0, 0, 120, 70),)), line=line)
    (tile,) = plan.tiling.tiles
    picture = pictures(plan)[tile]
    frame = frame_of(plan, tile)
    points, normal = edge_samples(plan)
    free = clear(plan, points)
    assert free.sum() > 0.7 * len(points)
    pixels = np.array([(frame.x(u), frame.y(v)) for u, v in points[free]]) * PER_MM
    inmost, outmost = ink_along(picture, pixels, normal[free])
    assert np.abs(inmost - inner).max() < 0.1 and np.abs(outmost - outer).max() < 0.1
    words = {"outer": "its outer edge is the true outline", "inner": "its inner edge is the true outline",
             "middle": "its middle is the true outline"}
    assert words[line] in text_of(plan)[0] and "The line is 0.4 mm wide" in text_of(plan)[0]


@pytest.mark.parametrize(("scale", "mirror"), [(0.5, False), (2.0, True)])
def test_scale_and_mirror_are_those_asked_for(scale: float, mirror: bool) -> None:
    plan = planned(Design(1, "M", outlines=(FIN,)), scale=scale, mirror=mirror, line="middle")
    u0, v0, u1, v1 = plan.drawing.box
    assert (u1 - u0, v1 - v0) == pytest.approx((130 * scale, 140 * scale))
    # The slanting leading edge: at the foot it is at the nose's side, which is the left unless mirrored.
    low = plan.drawing.pieces[0].corners[0]
    assert low[0] == pytest.approx(u1 if mirror else u0)
    text = " ".join(text_of(plan))
    assert ("scale 1:2" if scale < 1 else "scale 2:1") in text
    assert ("mirrored" in text) == mirror


def test_everything_that_is_needed_at_the_bench_stands_on_the_page() -> None:
    design = keep(PLANE, "as drawn")
    higher = traced("fin", "fin", (720, 20), (780, 180), (850, 180), (850, 20), label="Fin", count=1)
    design = replace(design, outlines=(HULL, higher, RUDDER, WHEELS))
    plan = planned(design, outlines=("fin", "rudder"), beside=design.alternatives[0].id)
    (text,) = text_of(plan)
    for words in ("Plain Plank", "Fin, Rudder", "as it is now", "dashed: as drawn", "9 March 2031",
                  "full size", "hinge line", "H1", "H2", "H3", "root line", "grain", "station 800.0",
                  "datum line, height 0", "100 mm", "4 in", "A1", "1 of 1", "common practice, no source",
                  *CAUTIONS):
        assert words in text, words
    # What was, lower than what is: both are on the page.
    assert [p.box[3] for p in plan.drawing.before if p.id == "fin"] == [160.0]
    assert plan.drawing.box[3] == 180.0 and "…" not in text


def test_a_state_that_is_kept_goes_by_its_name_and_pairs_are_cut_twice() -> None:
    plan = planned(keep(PLANE, "light tail"), outlines=("wheels",))
    (text,) = text_of(plan)
    assert "light tail · full size" in text and "Wheels (cut 2)" in text and cut_words(2) in text
    (label,) = plan.labels
    assert [line.text for line in label.lines[:2]] == ["Wheels", "cut 2"]


def test_blank_pages_are_left_out_and_the_map_shows_all() -> None:
    square = traced("s", "other", (0, 0), (700, 0), (700, 700), (0, 700), label="Square")
    plan = planned(Design(1, "Big", outlines=(square,)), landscape=False)
    tiling = plan.tiling
    blank = tiling.rows * tiling.columns - len(tiling.tiles)
    assert (tiling.columns, tiling.rows, blank) == (4, 3, 2)
    texts = text_of(plan)
    assert len(texts) == plan.pages == 1 + len(tiling.tiles)
    assert "10 pages, overlapping by 10 mm; 2 that would be blank are left out" in texts[0]
    for tile, text in zip(tiling.tiles, texts[1:], strict=True):
        assert tile.name in texts[0]
        for join in tiling.joins(tile):
            assert f"{join.neighbour.name} joins here" in text
        assert all(caution in text for caution in CAUTIONS)


def test_labels_lie_inside_their_piece_on_one_page_and_clear_of_each_other() -> None:
    plan = planned(replace(PLANE, outlines=(HULL, FIN, RUDDER, WHEELS, BODY)))
    boxes = []
    regions = {p.id: p.region for p in plan.drawing.pieces}
    for label in plan.labels:
        tall = sum(line.pitch for line in label.lines)
        box = shapely.box(label.u - label.room / 2, label.v - tall / 2, label.u + label.room / 2,
                          label.v + tall / 2)
        assert regions[label.piece].contains(box), label.piece
        assert sum(shapely.box(*plan.tiling.core(t)).contains(box) for t in plan.tiling.tiles) == 1
        assert label.arrow is not None and regions[label.piece].contains(shapely.LineString(label.arrow))
        boxes += [box, shapely.LineString(label.arrow)]
    assert not any(a.intersects(b) for i, a in enumerate(boxes) for b in boxes[i + 1:])


def test_a_roll_is_one_long_page() -> None:
    plan = planned(PLANE, roll=610.0)
    document = pypdfium2.PdfDocument(pdf(template_sheet(EMPTY, plan)))
    assert len(document) == 1
    wide, tall = (side * 25.4 / 72 for side in document[0].get_size())
    assert tall == pytest.approx(610.0, abs=0.2) and 900 + 16 < wide < 900 + 40
    assert plan.tiling.tiles == (Tile(0, 0),)
    # Longer than a PDF page may be: equal pages.
    long = planned(replace(PLANE, outlines=(HULL,)), roll=1000.0, scale=8.0)
    assert long.tiling.columns == 2 and long.width < 5080


def test_the_way_that_takes_fewer_sheets_is_taken() -> None:
    low = Design(1, "Low", outlines=(traced("b", "other", (0, 0), (270, 0), (270, 100), (0, 100)),))
    assert planned(low).landscape and planned(low).turn == 0.0 and len(planned(low).tiling.tiles) == 1
    assert len(planned(low, landscape=False, turn=0.0).tiling.tiles) == 2


def test_what_cannot_be_done_is_said_in_a_sentence() -> None:
    unscaled = replace(PLANE, scans=(Scan("plan", "plan.png", scale_from="none"),))
    flat = Design(1, "", outlines=(traced("flat", "other", (0, 0), (10, 0), (20, 0)),))
    for design, asked, words, in_design in (
        (unscaled, {}, "set the scale of the scan", True), (Design(1, ""), {}, "trace one first", True),
        (flat, {}, "have no area", True), (PLANE, {"outlines": ("nose",)}, "no outline “nose”", False),
        (PLANE, {"beside": "old"}, "no alternative “old”", False),
        (PLANE, {"scale": 0.001}, "a scale", False),
        (PLANE, {"overlap": 100.0}, "the overlap", False), (PLANE, {"margin": 99.0}, "margin", False),
        (PLANE, {"roll": 20.0}, "the roll must be", False), (PLANE, {"margin": 33.0}, "too small", False),
        (PLANE, {"scale": 20.0, "overlap": 60.0}, "sheets, more than", False),
    ):
        with pytest.raises(TemplateError, match=words) as caught:
            planned(design, **asked)  # type: ignore[arg-type]
        assert caught.value.in_design is in_design, words


def test_pieces_without_area_and_pieces_that_were_not_there_are_named() -> None:
    flat = traced("flat", "other", (0, 0), (10, 0), (20, 0), label="Flat")
    design = keep(replace(PLANE, outlines=(HULL,)), "bare")
    design = replace(design, outlines=(*PLANE.outlines, flat))
    plan = planned(design, outlines=("fin", "flat"), beside="bare")
    assert "left out, without any area: Flat" in plan.notes
    assert any(note.startswith("not in the alternative: Fin") for note in plan.notes)


def test_hostile_names_do_no_harm() -> None:
    bad = traced("fin", "fin", (0, 0), (80, 160), (150, 160), (150, 0), label="\n\x1b<b>" + "W" * 3000)
    design = Design(1, "a\x00\u202e" + "M" * 900, outlines=(bad,))
    (text,) = text_of(planned(design))
    assert "<b>WWW" in text


@pytest.mark.parametrize(("text", "scale"), [
    ("1", 1.0), ("1:1", 1.0), ("1:2", 0.5), ("2:1", 2.0), ("0.5", 0.5), ("50 %", 0.5), ("Full  size", 1.0),
])
def test_scales_as_they_are_typed(text: str, scale: float) -> None:
    assert parse_scale(text) == pytest.approx(scale)


@pytest.mark.parametrize("text", ["", "1:", "1:0", "0", "1:99", "big", "1:2:3", "-1", "9999 %"])
def test_scales_that_cannot_be_taken(text: str) -> None:
    with pytest.raises(UnitError, match=r"^Scale: "):
        parse_scale(text)


def test_scales_as_they_are_said() -> None:
    assert [scale_words(s) for s in (1.0, 0.5, 2.0, 1 / 3)] == [
        "full size", "scale 1:2", "scale 2:1", "scale 1:3"]


@pytest.mark.parametrize(("scale", "mirror"), [(1.0, False), (0.5, True)])
def test_the_lines_beside_the_outline_lie_where_the_design_has_them(scale: float, mirror: bool) -> None:
    drawing = planned(PLANE, outlines=("fin", "rudder"), scale=scale, mirror=mirror).drawing
    way = -scale if mirror else scale
    (hinge,) = drawing.hinges
    assert hinge.start == pytest.approx((850 * way, 20 * scale), abs=3.1 * scale)
    assert hinge.end == pytest.approx((850 * way, 160 * scale), abs=0.1)
    assert len(hinge.hinges) == 3
    station, height = drawing.references
    assert (station.words, height.words) == ("station 800.0 mm", "datum line, height 0")
    assert station.start[0] == station.end[0] == pytest.approx(800 * way)
    assert height.start[1] == height.end[1] == 0.0 and height.start[0] < height.end[0]
    (root,) = drawing.roots
    # The leading edge rises 140 on 60 from (720, 20): at the hull's top, 40, it is at 720 + 60 · 20/140.
    assert sorted((root[0, 0], root[-1, 0])) == pytest.approx(
        sorted((way * (720 + 60 * 20 / 140), way * 850)), abs=0.5)
    assert root[:, 1] == pytest.approx(40 * scale)


def test_a_printers_paper_of_another_size_is_laid_anew(qapp: object, tmp_path: Path) -> None:
    design = bare_sample()
    plan = planned(design, outlines=("fin", "rudder"), turn=0.0)
    assert plan.pages == 1 and for_paper(design, plan, plan.width, plan.height) is plan
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(tmp_path / "small.pdf"))
    printer.setPageSize(QPageSize(QPageSize.PageSizeId.B5))
    print_sheet(printer, template_sheet(design, plan))
    document = pypdfium2.PdfDocument(tmp_path / "small.pdf")
    wide, tall = (side * 25.4 / 72 for side in document[0].get_size())
    assert sorted((wide, tall)) == pytest.approx([176.0, 250.0], abs=0.3) and len(document) > 1
