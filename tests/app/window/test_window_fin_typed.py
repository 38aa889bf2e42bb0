"""A fin by typed numbers, in the real window: of the one selected, and a new one on the body."""

from __future__ import annotations

import pytest
from driving import CTRL, Driver, bare_sample
from msgspec.structs import replace
from PySide6.QtCore import Qt

from app.work.selection import NOTHING, Selection
from core.redesign.fin_sizes import FinSizes, sizes_of

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise)")
BOTH = ("fin", "rudder")


def test_height_chords_and_sweep_of_the_selected_fin_are_typed_each_one_edit(driver: Driver) -> None:
    driver.open_outlines(bare_sample())
    form = driver.window.outlines.form.fin
    assert form.isHidden()
    driver.window.picked.set(Selection(("rudder",)))
    assert form.isVisible() and form.fields["height"].text().endswith(" in")
    before = sizes_of(driver.design, BOTH)
    assert isinstance(before, FinSizes)
    driver.type_into(form.fields["height"], "6 1/2 in")
    now = sizes_of(driver.design, BOTH)
    assert isinstance(now, FinSizes) and now.height == pytest.approx(165.1, abs=0.01)
    assert (now.root, now.tip, now.sweep) == pytest.approx((before.root, before.tip, before.sweep), abs=0.02)
    assert driver.window.document.undo_name == "fin's height" and form.fields["height"].text() == "6.50 in"
    driver.type_into(form.fields["sweep"], "40")
    now = sizes_of(driver.design, BOTH)
    assert isinstance(now, FinSizes) and now.sweep == pytest.approx(40.0, abs=0.02)
    # Nonsense is told and loses nothing.
    design = driver.design
    driver.type_into(form.fields["tip"], "some")
    assert driver.said and driver.design is design
    driver.type_into(form.fields["root"], "0")
    assert "root chord" in driver.said and driver.design is design
    driver.canvas.setFocus()
    driver.key(Qt.Key.Key_Z, CTRL)
    driver.key(Qt.Key.Key_Z, CTRL)
    assert driver.design.outlines == bare_sample().outlines
    driver.window.picked.set(Selection(("fin",), frozenset({("fin", 2)})))
    assert form.isHidden()
    driver.window.picked.set(Selection(("fin", "fuselage")))
    assert form.isHidden()


def test_four_numbers_make_a_fin_on_a_body_without_one(driver: Driver) -> None:
    design = bare_sample()
    bare = replace(design, outlines=tuple(o for o in design.outlines if o.id not in BOTH))
    driver.open_outlines(bare)
    driver.window.picked.set(NOTHING)
    form = driver.window.outlines.form.fin
    assert form.isVisible() and form.new
    for key, text in (("height", "120 mm"), ("root", "110 mm"), ("tip", "60 mm"), ("sweep", "25")):
        assert driver.design.outlines == bare.outlines
        driver.type_into(form.fields[key], text)
    (made,) = (o for o in driver.design.outlines if o.kind == "fin")
    assert driver.window.picked.now.outlines == (made.id,)
    now = sizes_of(driver.design, (made.id,))
    assert isinstance(now, FinSizes)
    assert (now.height, now.root, now.tip, now.sweep) == pytest.approx((120, 110, 60, 25), abs=0.02)
    assert driver.window.document.undo_name == "new fin"
    driver.do("undo")
    assert driver.design.outlines == bare.outlines
