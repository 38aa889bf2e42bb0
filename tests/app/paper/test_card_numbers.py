"""The numbers on a card copy's silhouette: none over the line that is cut along."""

from __future__ import annotations

from typing import Any

import numpy as np
import pypdfium2
import pytest
import shapely
from template_pages import TODAY, traced

from app.paper.card_drawing import CUT_WIDTH
from app.paper.card_layout import CardSheets, lay_card
from app.paper.card_sheet import card_copy
from app.paper.pages import PAPERS, pdf
from core.design import Design, Mark, Station, Tailplane
from core.stability.readings import ReadingsEngine

pytestmark = pytest.mark.usefixtures("qapp")


@pytest.mark.parametrize("high", [150.0, 176.0, 180.0, 186.0])
def test_the_number_of_a_tailplane_on_the_tail_stands_clear_of_the_cut_line(high: float) -> None:
    """Its digit's middle is the disc's, 1.9 mm in radius; the fin ends at z 180, and so does the card."""
    design = Design(1, "Slanting Tee", outlines=(
        traced("pod", "fuselage", (-120, 0), (-60, 45), (60, 60), (800, 25), (810, -5), (60, -50)),
        traced("fin", "fin", (640, 20), (700, 180), (850, 180), (830, -10), (741, 10)),
    ), tailplanes=(
        Tailplane("tee", (Station(0, 690, 120, high), Station(300, 705, 100, high))),
    ), cg_mark=Mark(140, 20))
    sheets = lay_card(design, ReadingsEngine().read(design), PAPERS["a4"])
    assert isinstance(sheets, CardSheets)
    page = pypdfium2.PdfDocument(pdf(card_copy(sheets, today=TODAY)))[0]
    text, mm = page.get_textpage(), 25.4 / 72
    boxes = [
        np.array(text.get_charbox(k)) * mm for k in range(text.count_chars())
        if text.get_text_range(k, 1) == "2"
    ]
    tall = page.get_size()[1] * mm
    (copy,) = (c for c in sheets.plan.copies if c.piece.number == 1)
    room = sheets.room(0)

    def on_paper(region: Any) -> Any:
        points = sheets.plan.points(copy, shapely.get_coordinates(region.boundary))
        return shapely.LineString(np.column_stack((room.left() + points[:, 0], room.bottom() - points[:, 1])))

    cut, (place,) = on_paper(copy.piece.region), map(on_paper, (p.region for p in sheets.plan.card.glued))
    discs = [shapely.Point((b[0] + b[2]) / 2, tall - (b[1] + b[3]) / 2) for b in boxes]
    # Others stand in the list and on the pieces.
    disc = min(discs, key=place.distance)
    assert place.distance(disc) < 6.0 and cut.distance(disc) > 1.9 + CUT_WIDTH / 2
