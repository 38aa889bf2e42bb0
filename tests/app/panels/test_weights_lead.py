"""How much lead, and where, in the panel; what weighs by area, in the form of an outline."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from msgspec.structs import replace
from plain_bench import small_aeroplane
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot
from weights_desk import BATTERY, MOTOR, Desk, enter, laden

from app.kit.theme import DAY
from app.panels.outline_form import OutlineForm
from app.panels.weight_table import GRAMS
from app.work.document import Document
from app.work.selection import Picked, Selection
from core.design import Design, Mark
from core.loading import (
    GRAMS_PER_DM2_IN_OZ_PER_SQ_FT,
    format_covering,
    format_loading,
    parse_covering,
    parse_loading,
)
from core.units import UnitError

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")

@pytest.fixture
def desk(qtbot: QtBot) -> Iterator[Callable[[Design], Desk]]:
    yield lambda design: Desk(qtbot, design)


# Lead


def test_the_lead_for_the_mark_at_the_nose_is_refused_where_it_would_go_the_wrong_way(
    desk: Callable[[Design], Desk],
) -> None:
    d = desk(laden())
    assert "has to move aft: put the lead behind" in d.panel.lead.answer.text()
    assert not d.panel.lead.button.isEnabled()


def test_the_lead_is_told_put_in_and_then_balances_where_wanted(desk: Callable[[Design], Desk]) -> None:
    d = desk(laden(cg_mark=Mark(140, 0)))
    # 400 g × (157.5 − 140) / (140 − 0) = 50 g at the nose, x 0.
    text = d.panel.lead.answer.text()
    assert text.startswith("50.0 g of lead at 0.0 mm brings the CG from 157.5 mm to 140.0 mm.")
    assert text.endswith("All up it then weighs 450 g.")
    QTest.mouseClick(d.panel.lead.button, Qt.MouseButton.LeftButton)
    lead = d.design.weights[-1]
    assert (lead.label, lead.x) == ("Lead", pytest.approx(0)) and lead.grams == pytest.approx(50)
    assert d.document.undo_name == "put lead in" and d.picked.now.weight == "lead"
    assert d.panel.lead.answer.text() == "The weights balance where the CG is wanted, at 140.0 mm."
    assert d.figure("balance") == "140.0 mm" and "at the mark" in d.panel.difference.text()
    assert not d.panel.lead.button.isEnabled()
    # The battery changes: what lies there is made heavier, not joined by more.
    d.type(0, GRAMS, "400")
    assert d.panel.lead.button.text() == "Change the lead"
    assert "instead of 50.0 g" in d.panel.lead.answer.text()
    d.panel.lead.button.click()
    assert len(d.design.weights) == 3 and d.figure("balance") == "140.0 mm"
    for _ in range(3):
        d.document.undo()
    assert d.design.weights == (BATTERY, MOTOR)


def test_stations_typed_for_the_lead_are_taken_in_any_unit_and_let_go_when_emptied(
    desk: Callable[[Design], Desk],
) -> None:
    d = desk(laden())
    d.enter("wanted", "6 in")
    d.enter("lead", "-20")
    # 400 × (157.5 − 152.4)/(152.4 + 20) = 11.83
    assert d.panel.lead.answer.text().startswith("11.8 g of lead at −20.0 mm")
    assert d.document.undo_name is None
    d.enter("lead", "far")
    assert "is not a length" in d.said[0]
    assert d.panel.lead.answer.text().startswith("11.8 g of lead at −20.0 mm")
    assert d.panel.lead._fields["lead"].text() == "−20.0 mm"
    d.enter("wanted", "")
    assert "can do it" in d.panel.lead.answer.text()
    d.enter("lead", "900")
    # Aft of the mark it can: 400 × (157.5 − 300)/(300 − 900) = 95 g.
    assert d.panel.lead.answer.text().startswith("95.0 g of lead at 900.0 mm")
    d.document.start(laden())
    assert d.panel.lead._fields["lead"].text() == "" and "can do it" in d.panel.lead.answer.text()


@pytest.mark.parametrize(("design", "words"), [
    (laden(cg_mark=None), "Mark the CG, or type"),
    (laden(outlines=()), "Trace the fuselage, or type"),
    (laden(weights=(replace(BATTERY, grams=0.0),)), "Enter what the aeroplane carries first"),
])
def test_the_lead_says_what_it_still_needs(
    desk: Callable[[Design], Desk], design: Design, words: str
) -> None:
    d = desk(design)
    assert words in d.panel.lead.answer.text() and not d.panel.lead.button.isEnabled()


# What weighs by area, in the form of the outline


@pytest.fixture
def form(qtbot: QtBot) -> tuple[OutlineForm, Document, Picked, list[str]]:
    document, picked, said = Document(small_aeroplane()), Picked(), list[str]()
    made = OutlineForm(document, picked, DAY, said.append)
    qtbot.addWidget(made)
    picked.listen(lambda _: made.refresh())
    document.listen(lambda _: made.refresh())
    made.show()
    qtbot.waitExposed(made)
    return made, document, picked, said


def test_an_outline_is_told_what_it_weighs_by_area(
    form: tuple[OutlineForm, Document, Picked, list[str]],
) -> None:
    made, document, picked, said = form
    field = made._weighs
    assert not field.isEnabled()
    picked.set(Selection(("fin",)))
    enter(field, "12.5")
    assert document.design.outline("fin").grams_per_dm2 == 12.5
    assert document.undo_name == "weigh fin by area" and field.text() == "12.5 g/dm²"
    enter(field, "light")
    assert said and said[0].startswith("Weight by area in g/dm²:")
    assert document.design.outline("fin").grams_per_dm2 == 12.5 and field.text() == "12.5 g/dm²"
    enter(field, "-1")
    assert "from 0 to" in said[1] and document.design.outline("fin").grams_per_dm2 == 12.5
    picked.set(Selection(("fin", "rudder")))
    enter(field, "4 oz/sq ft")
    # 4 oz on a square foot of 9.290304 dm².
    assert document.design.outline("rudder").grams_per_dm2 == pytest.approx(4 * 28.349523125 / 9.290304)
    assert document.undo_name == "weigh outlines by area"
    enter(field, "")
    assert all(o.grams_per_dm2 is None for o in document.design.outlines)
    for _ in range(3):
        document.undo()
    assert document.design == small_aeroplane()


def test_mass_by_area_is_read_and_written_in_both_units() -> None:
    assert pytest.approx(28.349523125 / 9.290304) == GRAMS_PER_DM2_IN_OZ_PER_SQ_FT
    for text, units, value in (
        ("12", "mm", 12.0), ("12 g/dm2", "in", 12.0), ("12g/dm²", "in64", 12.0), ("0", "mm", 0.0),
        ("2", "in", 2 * GRAMS_PER_DM2_IN_OZ_PER_SQ_FT), ("2 oz/ft²", "mm", 2 * GRAMS_PER_DM2_IN_OZ_PER_SQ_FT),
    ):
        assert parse_loading(text, units, "It") == pytest.approx(value)  # type: ignore[arg-type]
    for text in ("", "g/dm²", "12 g", "-1", "2000000", "1e99 oz/sq ft"):
        with pytest.raises(UnitError, match=r"^It in "):
            parse_loading(text, "mm", "It")
    assert format_loading(51.234, "mm") == "51.2 g/dm²" and format_loading(51.234, "in") == "16.8 oz/sq ft"
    assert format_loading(10.0, "mm", least_places=True) == "10 g/dm²"
    assert format_loading(12.25, "mm", least_places=True) == "12.25 g/dm²"
    assert format_loading(25.0, "in", least_places=True) == "8.19 oz/sq ft"
    # 1 oz/sq yd is 33.906 g/m² (from 28.3495 g and 0.836127 m², both exact by definition of pound and yard).
    assert parse_covering("1", "in", "It") == pytest.approx(28.349523125 / 0.83612736)
    assert parse_covering("30", "mm", "It") == parse_covering("30 g/m²", "in", "It") == 30.0
    assert parse_covering("1 oz/sq ft", "mm", "It") == pytest.approx(9 * 28.349523125 / 0.83612736)
    assert format_covering(30.0, "in64") == "0.88 oz/sq yd" and format_covering(30.0, "mm") == "30 g/m²"
    assert format_covering(parse_covering("1.25", "in", "It"), "in") == "1.25 oz/sq yd"
    with pytest.raises(UnitError, match=r"^It"):
        parse_covering("x", "in", "It")
