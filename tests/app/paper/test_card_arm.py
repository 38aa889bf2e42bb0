"""The tail arm and the aim on the card, the card as large as it goes, and over several sheets: measured."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest
import shapely
from driving import bare_sample
from msgspec.structs import replace
from numpy.typing import NDArray

from app.__main__ import main
from app.paper.card_arm import arm_of, arm_words
from app.paper.card_layout import MARGIN, CardSheets, lay_card, room_of
from app.paper.card_sheet import card_copy
from app.paper.card_words import should_appear
from app.paper.pages import PAPERS, pdf
from core.bench.card import card_of, cut_shape
from core.design import Aim, Design, Mark
from core.design_file import write
from core.geometry.regions import rings_of
from core.stability.readings import ReadingsEngine
from tests.core.making import box, design_of

pytestmark = pytest.mark.usefixtures("qapp")
TODAY = datetime.date(2031, 3, 9)
PX = 8
# A body 1000 long, its CG at 300, and a fin whose middle stands at 900: 600 mm of arm.
PLANK = replace(
    design_of(box("body", "fuselage", 0, -80, 1000, 80), box("fin", "fin", 850, 80, 950, 300)),
    cg_mark=Mark(300.0, -30.0), aim=Aim(0.25, 0.20, 0.30),
)
SAMPLES = ("long-meadow-2000", "marsh-harrow-52", "tallow-twin")


def laid(design: Design, paper: str = "a4", ratio: float | None = None, *, tiled: bool = False) -> CardSheets:
    found = lay_card(design, ReadingsEngine().read(design), PAPERS[paper], ratio, tiled=tiled)
    assert isinstance(found, CardSheets), found
    return found


def document_of(sheets: CardSheets) -> pypdfium2.PdfDocument:
    return pypdfium2.PdfDocument(pdf(card_copy(sheets, today=TODAY)))


def picture(document: pypdfium2.PdfDocument, page: int = 0) -> NDArray[np.uint8]:
    shown: NDArray[np.uint8] = document[page].render(
        scale=PX * 25.4 / 72, no_smoothpath=True, no_smoothtext=True
    ).to_numpy()[..., :3]
    return shown


def test_the_aim_stands_where_it_lies_on_the_arm() -> None:
    """Its wash across the body: from 300 + 0.2 × 600 to 300 + 0.3 × 600, in mm of the design."""
    sheets = laid(PLANK, "a4", 4.0)
    shown = picture(document_of(sheets))[..., ::-1].astype(int)
    wash = (np.abs(shown - (0xEB, 0xE1, 0xCC)) <= 2).all(axis=2)
    (copy,) = (c for c in sheets.plan.copies if c.piece.number == 1)
    origin = sheets.room(0).left() + sheets.plan.points(copy, np.zeros((1, 2)))[0, 0]
    columns = np.nonzero(wash.sum(axis=0) > 20)[0]
    ends = (np.array((columns[0], columns[-1] + 1)) / PX - origin) * 4.0
    assert ends == pytest.approx((300 + 120, 300 + 180), abs=1.0)


def test_the_arm_in_figures_tells_the_fraction_by_a_ruler() -> None:
    sheets = laid(PLANK, "a4", 4.0)
    arm = arm_of(PLANK, sheets.readings)
    assert arm is not None and arm.cg == (300, -30) and arm.fin[0] == pytest.approx(900)
    assert arm.station(0.25) == pytest.approx(450)
    (said,) = arm_words(PLANK, sheets.readings, 4.0)
    assert "100 % of the tail arm, is 150.0 mm on the card" in said
    assert "20–30 %, lies 30.0 mm to 45.0 mm behind the CG" in said
    assert said in should_appear(sheets)
    bare = replace(PLANK, cg_mark=None)
    assert arm_of(bare, ReadingsEngine().read(bare)) is None


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("slug", SAMPLES)
def test_words_are_whole_and_the_card_is_as_large_as_it_goes(slug: str, paper: str) -> None:
    """Four in a hundred larger, the pieces no longer go on one sheet, or are wider than it."""
    sheets = laid(bare_sample(slug), paper)
    text = "".join("".join(p.get_textpage().get_text_bounded().split()) for p in document_of(sheets))
    for words in should_appear(sheets):
        assert "".join(words.split()) in text, words
    assert "100%" in text and "aim22–28%" in text
    larger = lay_card(bare_sample(slug), sheets.readings, PAPERS[paper], sheets.ratio / 1.04)
    assert isinstance(larger, str) or larger.plan.sheets > 1


def test_over_sheets_every_cut_line_comes_out_at_full_size() -> None:
    """The sheets cut at their joins and laid together: every 2 mm of every line to cut is black there."""
    sheets = laid(bare_sample("marsh-harrow-52"), "a3", tiled=True)
    tiling, document = sheets.tiling, document_of(sheets)
    assert tiling is not None and sheets.ratio == 1.0
    assert len(document) == sheets.count == 1 + len(tiling.tiles) > 4
    black = {}
    for number, tile in enumerate(tiling.tiles, 1):
        black[tile] = (picture(document, number) == 0).all(axis=2)
    left, top = sheets.room(1).left(), sheets.room(1).top()
    for copy in sheets.plan.copies:
        edge = shapely.transform(cut_shape(copy.piece, 1.0), lambda p, c=copy: sheets.plan.points(c, p))
        for ring, _ in rings_of(edge):
            line = shapely.LineString(ring)
            for far in np.arange(0.0, line.length, 2.0):
                spot = line.interpolate(far)
                seen = [t for t in tiling.tiles if within(spot, tiling.core(t))]
                assert seen, "no sheet shows it"
                for tile in seen:
                    u0, _, _, v1 = tiling.window(tile)
                    x, y = left + spot.x - u0, top + v1 - spot.y
                    around = black[tile][int(y * PX) - 3 : int(y * PX) + 4, int(x * PX) - 3 : int(x * PX) + 4]
                    assert around.any(), (tile.name, spot)


def within(spot: Any, rect: tuple[float, float, float, float]) -> bool:
    u0, v0, u1, v1 = rect
    return bool(u0 <= spot.x <= u1 and v0 <= spot.y <= v1)


def test_neighbours_share_their_marks_and_are_named() -> None:
    sheets = laid(bare_sample("tallow-twin"), "a4", 2.0, tiled=True)
    tiling, document = sheets.tiling, document_of(sheets)
    assert tiling is not None
    for number, tile in enumerate(tiling.tiles, 1):
        text = document[number].get_textpage().get_text_bounded()
        shown = picture(document, number)
        u0, _, _, v1 = tiling.window(tile)
        for join in tiling.joins(tile):
            assert join.neighbour.name in text
            shared = set(tiling.marks(tile)) & set(tiling.marks(join.neighbour))
            assert len(shared) >= 2
        for u, v in tiling.marks(tile):
            x, y = MARGIN + u - u0, sheets.room(1).top() + v1 - v
            assert (shown[int(y * PX) - 2 : int(y * PX) + 3, int(x * PX) - 2 : int(x * PX) + 3] < 90).any()
    map_text = document[0].get_textpage().get_text_bounded()
    assert all(tile.name in map_text for tile in tiling.tiles)


def test_what_is_too_large_to_tile_is_said() -> None:
    design = design_of(box("body", "fuselage", 0, 0, 60_000, 9_000))
    found = lay_card(design, ReadingsEngine().read(design), PAPERS["a4"], tiled=True)
    assert "choose a smaller scale" in str(found)
    assert room_of(PAPERS["a4"], 1)[0] == 277 and not isinstance(card_of(design), str)


def test_the_command_tiles(tmp_path: Path, capsys: Any) -> None:
    path = tmp_path / "meadow.sternpost"
    write(path, bare_sample("long-meadow-2000"), {})
    out = tmp_path / "card.pdf"
    assert main(["card", str(path), "-o", str(out), "--paper", "a3", "--scale", "2", "--tiled"]) == 0
    count = len(pypdfium2.PdfDocument(out))
    assert capsys.readouterr().out == f"1:2, {count} sheets of A3\n" and count > 2
