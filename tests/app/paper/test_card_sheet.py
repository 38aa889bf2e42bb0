"""The card copy on paper: its pieces weighed by pixel, its bar measured, everything on the sheet."""

from __future__ import annotations

import datetime
import itertools
import re
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest
import shapely
from driving import bare_sample
from msgspec.structs import replace
from numpy.typing import NDArray
from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter

from app.__main__ import main
from app.kit.cautions import CAUTIONS
from app.paper.card_layout import MARGIN, CardSheets, lay_card, nose_of
from app.paper.card_sheet import card_copy, paint_card_sheet
from app.paper.card_words import HOW_TO, crossing_words, read_crossing, should_appear
from app.paper.frame import ratio_words
from app.paper.pages import PAPERS, pdf
from core.bench.card import GAP
from core.bench.crossing import CrossingSays, Place
from core.bench.hanging import Hanging
from core.design import Design, Scan
from core.design_file import write
from core.redesign.refit import refit
from core.stability.readings import ReadingsEngine
from tests.core.hinges import LOST
from tests.core.interval_count import count_by_intervals
from tests.core.making import box, design_of

TODAY = datetime.date(2031, 3, 9)
SLUGS = ("long-meadow-2000", "marsh-harrow-52", "tallow-twin")
PX = 8
"""Pixels to the mm of paper when weighing: half the cut line is one pixel."""

pytestmark = pytest.mark.usefixtures("qapp")


def laid(design: Design, paper: str = "a4", ratio: float | None = None) -> CardSheets:
    found = lay_card(design, ReadingsEngine().read(design), PAPERS[paper], ratio)
    assert isinstance(found, CardSheets), found
    return found


@cache
def sample_sheets(slug: str, paper: str = "a4", ratio: float | None = None) -> CardSheets:
    return laid(bare_sample(slug), paper, ratio)


def pdf_of(sheets: CardSheets) -> pypdfium2.PdfDocument:
    return pypdfium2.PdfDocument(pdf(card_copy(sheets, today=TODAY)))


def text_of(document: pypdfium2.PdfDocument, page: int = 0) -> str:
    return " ".join(document[page].get_textpage().get_text_bounded().split())


def black(document: pypdfium2.PdfDocument, page: int) -> NDArray[np.bool_]:
    """Where the page is black and nothing else: its cut lines."""
    picture = document[page].render(scale=PX * 25.4 / 72, no_smoothpath=True, no_smoothtext=True).to_numpy()
    return np.asarray((picture[..., :3] == 0).all(axis=2))


def flooded(walls: NDArray[np.bool_], row: int, column: int) -> NDArray[np.bool_]:
    """What is reached from one pixel without crossing ``walls``, sweeping along rows and columns in turn."""
    reached = np.zeros_like(walls)
    reached[row, column] = True
    count = 0
    while count < int(reached.sum()):
        count = int(reached.sum())
        for turned in (False, True):
            wall, here = (walls.T, reached.T) if turned else (walls, reached)
            edge = np.ones((wall.shape[0], 1), dtype=bool)
            runs = np.cumsum(np.hstack((edge, wall)), axis=None).reshape(wall.shape[0], -1)[:, 1:]
            met = np.bincount(runs[here], minlength=int(runs.max()) + 1) > 0
            here |= met[runs] & ~wall
    return reached


def weighed(sheets: CardSheets) -> tuple[float, Place]:
    """Area (mm²) and centroid (mm) of the card by its pixels, every copy put in its place in the design."""
    document = pdf_of(sheets)
    walls = [black(document, page) for page in range(sheets.plan.sheets)]
    whole, first = 0.0, np.zeros(2)
    for copy in sheets.plan.copies:
        room = sheets.room(copy.laid.sheet)
        seed = copy.piece.region.representative_point()
        x, y = sheets.plan.points(copy, np.array(((seed.x, seed.y),)))[0]
        low_x, low_y, high_x, high_y = sheets.plan.shape(copy, copy.piece.region).bounds
        left, top = room.left() + low_x - 1.0, room.bottom() - high_y - 1.0
        i0, j0 = int(top * PX), int(left * PX)
        wall = walls[copy.laid.sheet][i0 : i0 + int((high_y - low_y + 2) * PX) + 1,
                                      j0 : j0 + int((high_x - low_x + 2) * PX) + 1]
        inside = flooded(wall, int((room.bottom() - y) * PX) - i0, int((room.left() + x) * PX) - j0)
        # The middle of the line is the edge: half of it, one pixel, is put back.
        grown = inside.copy()
        for _ in range(PX // 8):
            inside = grown.copy()
            grown[1:] |= inside[:-1]
            grown[:-1] |= inside[1:]
            grown[:, 1:] |= inside[:, :-1]
            grown[:, :-1] |= inside[:, 1:]
        rows, columns = np.nonzero(grown)
        up = room.bottom() - (rows.mean() + i0 + 0.5) / PX
        on = (columns.mean() + j0 + 0.5) / PX - room.left()
        placed = np.array((on - copy.laid.dx, up - copy.laid.dy))
        if copy.laid.quarter:
            placed = np.array((placed[1], -placed[0]))
        area = len(rows) / PX**2 * sheets.ratio**2
        whole += area
        first += area * placed * sheets.ratio
    x, z = first / whole
    return whole, (float(x), float(z))


@pytest.mark.parametrize(
    ("slug", "paper", "ratio"),
    [("long-meadow-2000", "letter", None), ("marsh-harrow-52", "a4", None), ("tallow-twin", "a4", 4.0)],
)
def test_the_printed_pieces_balance_where_the_sheet_says(slug: str, paper: str, ratio: float | None) -> None:
    """Cut out of the PDF by flooding to the cut lines, weighed by pixel: within 0.1 mm of card."""
    sheets = sample_sheets(slug, paper, ratio)
    area, place = weighed(sheets)
    readings = sheets.readings
    assert readings.cla is not None
    assert np.hypot(*np.subtract(place, readings.cla)) / sheets.ratio < 0.1
    # A rim of a tenth of a pixel all round is half a per cent of the smallest pieces.
    assert area == pytest.approx(readings.side.moments.area, rel=0.01)


def test_a_rudder_behind_a_slanting_hinge_is_printed_after_a_refit() -> None:
    """By pixels of the print against level lines through the nodes: neither knows of any overlay."""
    made = refit(LOST, "height", "cla_fraction", 0.25).design
    area, cla, _, _ = count_by_intervals(made)
    sheets = laid(made)
    printed, place = weighed(sheets)
    assert printed == pytest.approx(area, rel=0.01)
    assert abs(place[0] - cla) / sheets.ratio < 0.1


@pytest.mark.parametrize("paper", list(PAPERS))
@pytest.mark.parametrize("slug", SLUGS)
def test_pieces_keep_to_the_paper_and_apart(slug: str, paper: str) -> None:
    sheets = sample_sheets(slug, paper)
    assert sheets.plan.sheets == 1
    shapes = [sheets.plan.shape(c, c.piece.region) for c in sheets.plan.copies]
    room = sheets.room(0)
    free = shapely.box(0, 0, room.width(), room.height()).buffer(1e-6)
    assert room.left() >= MARGIN and room.right() <= sheets.wide - MARGIN + 1e-9
    assert all(free.contains(s) for s in shapes)
    assert all(a.distance(b) >= GAP for a, b in itertools.combinations(shapes, 2))
    document = pdf_of(sheets)
    # A4 and the like are rounded to whole points.
    assert document[0].get_size() == pytest.approx(
        (sheets.wide * 72 / 25.4, sheets.tall * 72 / 25.4), abs=0.51
    )


def test_a_larger_scale_takes_more_sheets_each_with_its_bar_and_cautions() -> None:
    sheets = sample_sheets("tallow-twin", "a4", 4.0)
    assert sheets.plan.sheets == 2
    document = pdf_of(sheets)
    assert len(document) == 2
    for page in range(2):
        text = text_of(document, page)
        assert f"sheet {page + 1} of 2" in text and "This bar must be 100 mm long" in text
        assert all(caution in text for caution in CAUTIONS)


@pytest.mark.parametrize(("slug", "long"), [("tallow-twin", 100.0), ("marsh-harrow-52", 101.6)])
def test_the_check_bar_is_true_on_every_sheet(slug: str, long: float) -> None:
    sheets = sample_sheets(slug, "a4", 4.0)
    document = pdf_of(sheets)
    for page in range(sheets.plan.sheets):
        image = QImage(10, 10, QImage.Format.Format_RGB32)
        painter = QPainter(image)
        paper = QRectF(0, 0, sheets.wide, sheets.tall)
        bar = paint_card_sheet(painter, paper, sheets, page, today=TODAY)
        painter.end()
        assert bar.width() == long
        dots = 300 / 25.4
        grey = document[page].render(scale=300 / 72).to_numpy()[..., :3].mean(axis=2)
        # The lower edge of the bar, which is one line from end to end.
        row = grey[int((bar.bottom() - 0.05) * dots), : int((bar.right() + 3) * dots)]
        dark = np.nonzero(row < 128)[0]
        assert (dark[-1] - dark[0] + 1) / dots == pytest.approx(long, abs=0.1)
        assert dark[0] / dots == pytest.approx(MARGIN, abs=0.1)


def test_what_is_said_on_the_sheet() -> None:
    sheets = sample_sheets("marsh-harrow-52")
    text = text_of(pdf_of(sheets))
    for words in ("Marsh Harrow 52", f"scale {ratio_words(sheets.ratio)}", "9 March 2031"):
        assert words in text
    for step in HOW_TO:
        assert step in text
    for said in should_appear(sheets):
        assert said in text
    for copy in sheets.plan.copies:
        if copy.piece.layers > 1:
            assert f"layer {copy.layer} of {copy.piece.layers}" in text
    assert all(piece.name in text for piece in sheets.plan.card.pieces)
    assert all(caution in text for caution in CAUTIONS)
    # Both are marked, and both pins.
    assert {"CLA", "CG", "A", "B"} <= set(text.split())


def test_the_place_of_the_cla_is_given_from_the_nose() -> None:
    """By hand: body 600 × 80 alone, at 1:n its centroid lies 300/n aft of the nose and level with it."""
    sheets = laid(design_of(box("body", "fuselage", 0, 0, 600, 80)))
    assert nose_of(sheets.plan.card) == (0.0, 40.0)
    first = should_appear(sheets)[0]
    assert f"{300 / sheets.ratio:.1f} mm aft of the nose and 0.0 mm above it" in first


def test_the_error_of_a_line_is_given_on_the_card_full_size_and_in_points() -> None:
    sheets = sample_sheets("long-meadow-2000")
    hanging = sheets.hanging
    assert isinstance(hanging, Hanging)
    arm = sheets.readings.value("tail_arm")
    assert arm is not None
    one = hanging.crossing_error
    full = one * sheets.ratio
    assert should_appear(sheets)[1] == (
        f"One line 1 mm off at the CLA moves the crossing up to {one:.1f} mm on the card, {full:.1f} mm full "
        f"size, {100 * full / arm:.1f} points of the CLA fraction."
    )
    # The pins keep 5 mm of card, whatever the scale.
    card = sheets.plan.card.body.region
    for line in hanging.lines:
        assert card.boundary.distance(shapely.Point(line.pin)) / sheets.ratio >= 5.0 - 1e-6


def test_in_grey_the_cut_line_is_by_far_the_darkest() -> None:
    """On a printer without colour a cut line must not be mistaken for a place."""
    sheets = sample_sheets("tallow-twin")
    grey = pdf_of(sheets)[0].render(scale=4, grayscale=True).to_numpy()
    values = grey[int((MARGIN + 12) / 25.4 * 288) : int(140 / 25.4 * 288)]
    assert values.min() < 10
    wash = np.bincount(values.ravel(), minlength=256)
    # Paper and two washes, all light; everything drawn over them stays legible.
    assert {int(v) for v in np.argsort(wash)[-3:]} <= set(range(220, 256))


def test_a_design_without_scale_fits_the_paper_and_says_so() -> None:
    design = replace(
        bare_sample("long-meadow-2000"), scans=(Scan("plan", "plan.png", scale_from="none"),)
    )
    sheets = laid(design)
    text = text_of(pdf_of(sheets))
    assert "no scale set" in text and "full size" not in text and "on the card" in text


def test_nothing_to_cut_has_a_reason() -> None:
    design = design_of()
    found = lay_card(design, ReadingsEngine().read(design), PAPERS["a4"])
    assert "trace the fuselage" in str(found)


def test_words_of_the_builder_keep_to_their_room() -> None:
    long = "A very long name for a piece " * 6
    outlines = [box("body", "fuselage", 0, 0, 600, 80)] + [
        box(f"w{i}", "wheel", 30 * i, -60, 30 * i + 20, -40, count=2, label=f"{long}{i}") for i in range(14)
    ]
    design = replace(design_of(*outlines), title="T" * 400)
    sheets = laid(design)
    text = text_of(pdf_of(sheets))
    assert "…" in text and re.search(r"and \d+ more: see their labels", text)


# What the crossing says, in words


def said(crossed: Place, origin: Place | None = None, sheets: CardSheets | None = None) -> str:
    sheets = sheets or sample_sheets("long-meadow-2000")
    says = read_crossing(sheets, crossed, origin)
    assert isinstance(says, CrossingSays)
    first, rest = crossing_words(sheets, says)
    return " ".join([first, *rest])


def test_a_crossing_at_the_cla_agrees() -> None:
    sheets = sample_sheets("long-meadow-2000")
    assert sheets.readings.cla is not None
    words = said(sheets.readings.cla)
    assert "It agrees" in words and "CLA fraction as hung 23.6 %; computed 23.6 %" in words


def test_a_wing_left_out_is_named() -> None:
    sheets = sample_sheets("long-meadow-2000")
    card = sheets.plan.card
    wing = next(p for p in card.pieces if p.name == "Wing")
    without = card.moments.plus(wing.moments, -2).centroid()
    assert without is not None
    assert "Fits Wing left out altogether." in said(without)
    one = card.moments.plus(wing.moments, -1).centroid()
    assert one is not None
    assert "Fits Wing with 1 of its 2 layers." in said(one)
    three = card.moments.plus(wing.moments, 1).centroid()
    assert three is not None
    assert "Fits Wing glued on once too often: 3 layers in place of 2." in said(three)


def test_a_shrunken_print_is_named_with_what_the_bar_would_measure() -> None:
    sheets = sample_sheets("long-meadow-2000")
    nose, cla = nose_of(sheets.plan.card), sheets.readings.cla
    assert cla is not None
    shrunk = nose[0] + 0.94 * (cla[0] - nose[0]), nose[1] + 0.94 * (cla[1] - nose[1])
    words = said(shrunk, nose)
    assert "Fits a print at 94.0 % of its scale: the bar of 100 mm would measure 94.0 mm." in words


def test_what_nothing_fits_is_said_plainly() -> None:
    assert "No single cause looked for fits" in said((200.0, 500.0))


# The command line


def saved(tmp_path: Path) -> Path:
    path = tmp_path / "meadow.sternpost"
    write(path, bare_sample("long-meadow-2000"), {})
    return path


def test_the_command_writes_the_sheets(tmp_path: Path, capsys: Any) -> None:
    path, out = saved(tmp_path), tmp_path / "card.pdf"
    assert main(["card", str(path), "-o", str(out), "--paper", "a3"]) == 0
    assert capsys.readouterr().out == "1:2.75, 1 sheet of A3\n"
    document = pypdfium2.PdfDocument(out)
    assert len(document) == 1
    assert document[0].get_size() == pytest.approx((420 * 72 / 25.4, 297 * 72 / 25.4), abs=0.51)
    document.close()
    assert main(["card", str(path), "-o", str(out), "--scale", "1:6"]) == 0
    assert capsys.readouterr().out == "1:6, 1 sheet of A4\n"


@pytest.mark.parametrize(
    ("more", "status", "words"),
    [
        (["--scale", "2"], 1, "choose 1:4 or smaller, or larger paper"),
        (["--scale", "big"], 2, "sternpost card: --scale: Scale"),
        (["--scale", "0"], 2, "lies outside"),
        (["--paper", "a5"], 2, "invalid choice"),
    ],
)
def test_what_cannot_be_done_is_one_line(
    tmp_path: Path, capsys: Any, more: list[str], status: int, words: str
) -> None:
    assert main(["card", str(saved(tmp_path)), "-o", str(tmp_path / "x.pdf"), *more]) == status
    error = capsys.readouterr().err
    assert words in error and error.count("\n") == 1
    assert not (tmp_path / "x.pdf").exists()


def test_the_design_itself_is_not_overwritten(tmp_path: Path, capsys: Any) -> None:
    path = saved(tmp_path)
    assert main(["card", str(path), "-o", str(path)]) == 2
    assert "this is the file that is read" in capsys.readouterr().err
