"""The window of tail parts: surfaces and sizes by hand, the drawing and the list that follow."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from driving import CTRL, LEFT, Driver, bare_sample
from msgspec.structs import replace
from PySide6.QtCore import QPoint, QRect, QSize, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QCheckBox, QFileDialog, QLabel

from app.kit.theme import DAY, NIGHT
from app.side.dimensioned_window import DimensionedWindow
from app.side.parts_cutting import CuttingFiles
from app.side.parts_fields import OWN, Choice, SizeField
from app.side.parts_materials import OwnMaterial
from app.side.parts_sheet_window import PartsSheetWindow
from app.side.parts_window import PartsWindow
from app.side.placing import place_of
from core.design import EMPTY, Design, Scan
from core.design_build import Build, BuildWay
from core.parts.built import built
from core.redesign.build_edits import add_material, new_build
from core.stability.side_area import form_of

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise|grabbing)")
Key = Qt.Key
FIN = ("fin", "rudder")


def plain(units: Any = "mm") -> Design:
    """A sample's outlines in mm, nothing built."""
    found = replace(bare_sample(), display_units=units, builds=(), materials=())
    return replace(found, outlines=tuple(replace(o, grams_per_dm2=None) for o in found.outlines))


def made(way: BuildWay, units: Any = "mm") -> Design:
    """The same with parts for fin and rudder."""
    return new_build(plain(units), FIN, way)[0]


class Bench:
    """The window over a design, and a person at it."""

    def __init__(self, driver: Driver, design: Design) -> None:
        driver.open_outlines(design)
        self.driver, self.document = driver, driver.window.document
        found = driver.window.side.show("parts")
        assert isinstance(found, PartsWindow)
        self.side = found
        found.activateWindow()
        driver.settle()

    @property
    def build(self) -> Build:
        (found,) = self.document.design.builds
        return found

    @property
    def names(self) -> list[str]:
        return [self.side.surfaces.item(n).text() for n in range(self.side.surfaces.count())]

    @property
    def undone(self) -> list[str]:
        return [name for name, _ in self.document._done]

    @property
    def said(self) -> str:
        return self.side.foot.said.text()

    @property
    def rows(self) -> list[list[str]]:
        return self.side.list.model.texts

    def field(self, key: str) -> SizeField:
        found = self.side.form.fields[key]
        assert isinstance(found, SizeField) and found.isVisible(), key
        return found

    def type(self, key: str, text: str) -> None:
        self.driver.type_into(self.field(key), text)
        self.driver.settle()

    def press(self, button: Any) -> None:
        # The box of a tick is at its left; the form scrolls to it first.
        self.side.form_room.ensureWidgetVisible(button)
        QApplication.processEvents()
        at = QPoint(9, button.height() // 2) if isinstance(button, QCheckBox) else button.rect().center()
        QTest.mouseClick(button, LEFT, Qt.KeyboardModifier.NoModifier, at)
        self.driver.settle()

    def choose(self, box: Choice, key: str) -> None:
        """As from the list that drops down, by keys."""
        box.setFocus()
        box.setCurrentIndex(box.findData(key))
        box.activated.emit(box.currentIndex())
        self.driver.settle()


@pytest.fixture
def bench(driver: Driver) -> Iterator[Callable[[Design], Bench]]:
    opened: list[Bench] = []

    def open_(design: Design) -> Bench:
        opened.append(Bench(driver, design))
        return opened[-1]

    yield open_
    for one in opened:
        one.side.close()
    driver.settle()


def test_a_way_makes_parts_another_changes_them_and_undo_takes_them_back(bench: Any) -> None:
    b = bench(plain())
    assert b.names == ["Fin and Rudder: no parts yet", "Tailplane: no parts yet"]
    assert b.side.way_head.text() == "Make parts for it as" and not b.side.form.isVisible()
    assert not b.side.list.table.isVisible() and not b.side.foot.cut_button.isEnabled()
    b.press(b.side.ways.buttons["sheet"])
    assert b.build.of == FIN and b.build.way == "sheet" and b.undone == ["make parts"]
    assert b.names == ["Fin and Rudder: sheet", "Tailplane: no parts yet"] and b.side.form.isVisible()
    assert b.rows and b.side.list.total.isVisible() and b.side.foot.cut_button.isEnabled()
    b.press(b.side.ways.buttons["ribbed"])
    assert b.build.way == "ribbed" and b.undone == ["make parts", "make it ribbed"]
    assert b.side.ways.buttons["ribbed"].isChecked() and not b.side.ways.buttons["sheet"].isChecked()
    for _ in range(2):
        QTest.keyClick(b.side, Key.Key_Z, CTRL)
    b.driver.settle()
    assert not b.document.design.builds and b.names[0].endswith("no parts yet")
    assert not any(button.isChecked() for button in b.side.ways.buttons.values())
    QTest.keyClick(b.side, Key.Key_Y, CTRL)
    b.driver.settle()
    assert b.build.way == "sheet" and b.side.ways.buttons["sheet"].isChecked()
    b.press(b.side.remove_button)
    assert not b.document.design.builds and b.document.undo_name == "remove parts"


def test_another_surface_is_chosen_by_the_arrow_keys(bench: Any) -> None:
    b = bench(made("frame"))
    assert b.side.focusWidget() is b.side.surfaces
    QTest.keyClick(b.side.surfaces, Key.Key_Down)
    b.driver.settle()
    assert b.side.build is None and "Choose at the left" in b.side.assembly._words
    b.press(b.side.ways.buttons["sheet"])
    assert [one.of for one in b.document.design.builds] == [FIN, ("tailplane",)]
    # Those with parts stand first; the surface that was chosen stays so.
    assert b.side.build == b.document.design.builds[1] and b.side.surfaces.currentRow() == 1


@pytest.mark.parametrize(("way", "key", "text", "read", "value"), [
    ("ribbed", "thickness.root", "1/2", lambda b: b.thickness.root, 12.7),
    ("ribbed", "ribs.every", "1 1/4 in", lambda b: b.ribs.every, 31.75),
    ("ribbed", "ribs.at", "0; 1; 2.5", lambda b: b.ribs.at, (0.0, 25.4, 63.5)),
    ("ribbed", "leading_edge.deep", "6 mm", lambda b: b.leading_edge.deep, 6.0),
    ("ribbed", "skin.thick", "1/16", lambda b: b.skin.thick, 1.5875),
    ("frame", "thickness", "1/4", lambda b: (b.thickness.root, b.thickness.tip, b.thickness.form),
     (6.35, 6.35, "flat")),
    ("sheet", "thickness", "3/16", lambda b: (b.thickness.tip, b.skin.thick), (4.7625, 4.7625)),
    ("sheet", "covering_g_m2", "45 g/m²", lambda b: b.covering_g_m2, 45.0),
    # An avoirdupois ounce is 28.349523125 g, a square foot 0.09290304 m²: 1 oz/sq ft is 305.15 g/m².
    ("sheet", "covering_g_m2", "0.9", lambda b: b.covering_g_m2, pytest.approx(30.5152, abs=1e-4)),
    ("sheet", "glue", "12 %", lambda b: b.glue, 0.12),
    ("sheet", "hinge_gap", "1/32", lambda b: b.hinge_gap, 0.79375),
    ("ribbed", "formers", "36; 38", lambda b: b.formers, (914.4, 965.2)),
])
def test_a_size_typed_in_inches_is_one_entry_of_undo(
    bench: Any, way: BuildWay, key: str, text: str, read: Callable[[Build], Any], value: Any
) -> None:
    b = bench(made(way, "in64"))
    before = b.document.design
    b.type(key, text)
    assert read(b.build) == (pytest.approx(value) if isinstance(value, float) else value)
    assert len(b.undone) == 1 and b.undone[0].startswith("set ") and b.said == ""
    assert not b.field(key).isModified()
    QTest.keyClick(b.side, Key.Key_Z, CTRL)
    assert b.document.design is before


def test_fields_speak_the_unit_of_the_design(bench: Any) -> None:
    b = bench(replace(made("ribbed", "in64"), builds=(replace(
        made("ribbed").builds[0], hinge_gap=25.4 / 32), )))
    assert b.field("hinge_gap").text() == "1/32 in"
    b.driver.window.edits.set_units("mm")
    b.driver.settle()
    assert b.field("hinge_gap").text() == "0.8 mm" and b.side.list.model.heads()[3] == "Size, mm"


def test_what_cannot_be_read_or_kept_is_said_and_loses_nothing(bench: Any) -> None:
    b = bench(made("ribbed"))
    before = b.document.design
    for text, words in (("thick", "is not a length"), ("-4", "never below nothing")):
        b.type("thickness.root", text)
        assert words in b.said and b.said.endswith("."), b.said
        assert b.document.design is before and b.field("thickness.root").text() == text
    b.side.form.fields["thickness.tip"].setFocus()
    b.driver.settle()
    # Leaving the field puts back what stood there.
    assert b.field("thickness.root").text() == f"{b.build.thickness.root:.1f} mm" and b.undone == []


def test_only_what_the_way_uses_is_shown(bench: Any) -> None:
    b = bench(made("sheet"))
    seen = {key for key, field in b.side.form.fields.items() if field.isVisible()}
    assert seen == {
        "thickness", "wood", "holes", "covering_g_m2", "glue", "hinge_gap", "hinge", "tab", "formers",
    }
    assert not b.side.form.spars.isVisible()
    b.press(b.side.ways.buttons["frame"])
    seen = {key for key, field in b.side.form.fields.items() if field.isVisible()}
    assert {"diagonals", "ribs.thick", "leading_edge.wide"} <= seen
    assert not {"ribs.halves", "thickness.form", "skin.thick", "leading_edge.deep", "wood"} & seen
    b.press(b.side.ways.buttons["ribbed"])
    seen = {key for key, field in b.side.form.fields.items() if field.isVisible()}
    assert {"ribs.halves", "thickness.form", "skin.thick", "leading_edge.deep"} <= seen


def test_a_tick_takes_a_part_out_and_puts_it_in_again(bench: Any) -> None:
    b = bench(made("ribbed"))
    b.press(b.side.form.ticks["skin"])
    assert b.build.skin is None and not b.side.form.fields["skin.thick"].isVisible()
    b.press(b.side.form.ticks["skin"])
    assert b.build.skin is not None and b.side.form.fields["skin.thick"].isVisible()
    assert b.undone == ["remove skin", "add skin"]
    b.press(b.side.form.fields["ribs.holes"])
    assert b.build.ribs is not None and b.build.ribs.holes is False


def test_ribs_at_places_of_their_own_and_evenly_again(bench: Any) -> None:
    b = bench(made("ribbed"))
    b.type("ribs.at", "80; 10; 45")
    assert b.build.ribs is not None and b.build.ribs.at == (10.0, 45.0, 80.0) and b.build.ribs.every is None
    assert b.field("ribs.at").text() == "10.0; 45.0; 80.0" and b.field("ribs.every").text() == ""
    b.type("ribs.every", "35")
    assert b.build.ribs.at is None and b.build.ribs.every == 35.0 and b.field("ribs.at").text() == ""


def test_spars_are_added_sized_and_taken_out(bench: Any) -> None:
    b = bench(made("ribbed"))
    spars = b.side.form.spars
    count = len(b.build.spars)
    b.press(spars.add_button)
    assert len(b.build.spars) == count + 1 == len(spars.rows)
    assert spars.rows[-1].fields["at"].hasFocus()
    b.driver.type_into(spars.rows[-1].fields["at"], "55 %")
    b.driver.type_into(spars.rows[-1].fields["wide"], "5")
    b.driver.type_into(spars.rows[-1].fields["web"], "")
    assert b.build.spars[-1].chord_fraction == pytest.approx(0.55)
    assert b.build.spars[-1].cap[0] == 5.0 and b.build.spars[-1].web is None
    b.choose(spars.rows[-1].wood, "spruce")
    assert b.build.spars[-1].material == "spruce"
    b.press(spars.rows[0].remove)
    assert len(b.build.spars) == count and b.build.spars[-1].chord_fraction == pytest.approx(0.55)


def test_another_wood_weighs_as_its_density(bench: Any) -> None:
    b = bench(made("sheet"))
    box = b.side.form.fields["wood"]
    b.choose(box, "balsa-light")
    light = b.side.built.wood_grams
    b.choose(box, "birch-ply")
    # 100 and 680 kg/m³.
    assert b.side.built.wood_grams == pytest.approx(6.8 * light, rel=1e-9)
    assert {row[2] for row in b.rows} == {"Birch ply"}


def test_a_sheet_that_was_weighed_becomes_a_material_and_is_used(bench: Any) -> None:
    b = bench(made("sheet"))
    b.choose(b.side.form.fields["wood"], OWN)
    (dialog,) = b.side.findChildren(OwnMaterial)
    QTest.keyClicks(dialog.name, "Dark stack")
    for key, text in (("grams", "36 g"), ("length", "1 m"), ("width", "100"), ("thick", "3")):
        QTest.keyClicks(dialog.sheet[key], text)
    # 36 g over 1000 × 100 × 3 mm = 300 cm³: 0.12 g/cm³.
    assert dialog.found.text() == "That sheet has 120 kg/m³." and dialog.density.text() == "120"
    QTest.mouseClick(dialog.do_button, LEFT)
    b.driver.settle()
    (own,) = b.document.design.materials
    assert (own.label, own.kg_m3) == ("Dark stack", pytest.approx(120.0))
    assert b.build.skin is not None and b.build.skin.material == own.id and b.undone == ["add material"]
    assert not b.side.findChildren(OwnMaterial)
    assert {row[2] for row in b.rows} == {"Dark stack"}


def test_own_materials_are_changed_refused_and_removed(bench: Any) -> None:
    design, own = add_material(made("sheet"), "Stack", 130.0)
    b = bench(design)
    box = b.side.form.fields["wood"]
    b.choose(box, own)
    b.choose(box, OWN)
    (dialog,) = b.side.findChildren(OwnMaterial)
    QTest.mouseClick(dialog.do_button, LEFT)
    assert dialog.said.text().startswith("The density in kg/m³") and not dialog.isHidden()
    dialog.which.setCurrentIndex(1)
    dialog.which.activated.emit(1)
    QTest.mouseClick(dialog.remove_button, LEFT)
    assert "is made of it" in dialog.said.text() and b.document.design.materials
    dialog.density.selectAll()
    QTest.keyClicks(dialog.density, "90")
    QTest.mouseClick(dialog.do_button, LEFT)
    b.driver.settle()
    assert b.document.design.materials[0].kg_m3 == 90.0 and b.document.undo_name == "change material"
    # Given up, nothing is done and the box shows the wood in force.
    b.choose(box, OWN)
    (dialog,) = b.side.findChildren(OwnMaterial)
    QTest.keyClick(dialog, Key.Key_Escape)
    b.driver.settle()
    assert box.currentData() == own


# The drawing and the list


@pytest.mark.parametrize("way", ["sheet", "frame", "ribbed"])
def test_a_click_on_a_part_chooses_its_row_and_draws_it(bench: Any, way: BuildWay) -> None:
    b = bench(made(way))
    assert b.side.list.part_id == b.side.built.parts[0].id
    for part in b.side.built.parts:
        at = b.side.assembly.at(part.id)
        if at is None or b.side.assembly.part_at(at).id != part.id:
            continue
        QTest.mouseClick(b.side.assembly, LEFT, Qt.KeyboardModifier.NoModifier, at.toPoint())
        under = b.side.assembly.part_at(at.toPoint().toPointF())
        assert b.side.list.part_id == under.id and b.side.part_view._part is under
        assert b.side.assembly._chosen == under.id and under.name in b.side.part_view._head
        break
    else:
        raise AssertionError("no part could be clicked")


def test_rows_are_chosen_by_keys_and_sums_are_those_of_the_rows(bench: Any) -> None:
    b = bench(made("frame"))
    b.side.list.table.setFocus()
    QTest.keyClick(b.side.list.table, Key.Key_Down)
    assert b.side.part_view._part is b.side.built.parts[1]
    # Each row is rounded to a hundredth of a gram.
    total = sum(float(row[5]) for row in b.rows)
    assert total == pytest.approx(b.side.built.wood_grams, abs=0.005 * len(b.rows) + 1e-6)
    whole = b.side.built.wood_grams + b.side.built.covering_grams + b.side.built.glue_grams
    assert f"{whole:.2f} g in all" in b.side.list.total.text()
    assert f"centroid at station {b.side.built.x:.1f} mm" in b.side.list.total.text()


@pytest.mark.parametrize("way", ["sheet", "frame", "ribbed"])
def test_list_and_drawing_follow_the_drag_of_an_edge(bench: Any, way: BuildWay) -> None:
    b = bench(made(way))
    driver = b.driver
    ring = form_of(driver.outline("rudder")).ring
    end = int(np.argmax(ring.p0[:, 0]))
    start = (float(ring.p0[end][0]), float(ring.p0[end][1]))
    driver.window.activateWindow()
    driver.canvas.take_hand("edit")
    chosen = b.side.list.part_id
    grams, scale = [b.side.built.grams], b.side.assembly._frame.per_mm
    driver.press(start)
    for by in (6.0, 12.0, 18.0):
        driver.move((start[0] + by, start[1]), button=LEFT)
        grams.append(b.side.built.grams)
        assert b.side.built is built(b.document.edited, b.document.edited.builds[0])
        assert b.side.list.model.things == b.side.built.parts
    assert b.document.busy and grams == sorted(grams) and grams[0] < grams[1] < grams[-1]
    assert b.side.list.part_id == chosen and b.side.assembly._frame.per_mm == scale
    assert b.undone == []
    driver.key(Key.Key_Escape, on=driver.canvas)
    driver.settle()
    assert b.side.built.grams == grams[0] and b.undone == []


def test_what_it_weighed_before_and_what_that_does_to_the_balance(bench: Any) -> None:
    design = plain()
    design = replace(design, outlines=tuple(
        replace(o, grams_per_dm2=5.0 if o.id in FIN else None) for o in design.outlines
    ))
    b = bench(new_build(design, FIN, "sheet")[0])
    area = sum(form_of(o).patch.moments.area for o in design.outlines if o.id in FIN) / 1e4
    assert f"By area (5 g/dm²) it weighed {5.0 * area:.1f} g" in b.side.list.before.text()
    assert "CG by the weights" in b.side.list.before.text()
    b.document.start(made("sheet"))
    b.driver.settle()
    assert b.side.list.before.text().startswith("Without parts it weighed nothing in the balance, now")
    # Somebody may have weighed the whole airframe.
    assert "take it off there" in b.side.list.before.text()


def test_what_cannot_be_made_is_said_over_the_list(bench: Any) -> None:
    design = made("frame")
    b = bench(replace(design, outlines=tuple(o for o in design.outlines if o.id != "rudder")))
    (fault,) = b.side.built.faults
    assert b.side.list.faults.isVisible() and b.side.list.faults.text() == fault and "rudder" in fault
    assert not b.rows and "stands over the list" in b.side.assembly._words
    assert not b.side.part_view.isVisible()
    b.press(b.side.foot.cut_button)
    (dialog,) = b.side.findChildren(CuttingFiles)
    QTest.mouseClick(dialog.write_button, LEFT)
    assert "no part to cut" in dialog.said.text()
    dialog.reject()
    b.driver.settle()


def test_without_a_scale_it_is_said_that_sizes_mean_nothing(bench: Any) -> None:
    design = made("sheet")
    b = bench(replace(design, scans=(Scan("plan", "plan.png", scale_from="none"),)))
    assert b.side.list.faults.isVisible() and "scale" in b.side.list.faults.text()
    b.document.start(design)
    b.driver.settle()
    assert "scale" not in b.side.list.faults.text()


def test_nothing_to_make_parts_for(bench: Any) -> None:
    b = bench(EMPTY)
    assert b.names == [] and "trace the fin" in b.side.assembly._words
    assert not b.side.ways.isVisible() and not b.side.foot.outline_button.isEnabled()
    b.document.start(made("ribbed"))
    b.driver.settle()
    assert b.names[0] == "Fin and Rudder: ribbed" and b.rows


# What leaves it


@pytest.mark.parametrize(("ending", "begins"), [("svg", b"<?xml"), ("dxf", b"  0")])
def test_cutting_files_are_written_where_a_kerf_can_be_read(
    bench: Any, own_home: Path, monkeypatch: pytest.MonkeyPatch, ending: str, begins: bytes
) -> None:
    b = bench(made("ribbed", "in"))
    path = own_home / f"parts.{ending}"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(path), ""))
    b.press(b.side.foot.cut_button)
    (dialog,) = b.side.findChildren(CuttingFiles)
    for text, words in (("wide", "is not a length"), ("1 ft", "between 0 and 5 mm")):
        b.driver.type_into(dialog.kerf, text)
        assert words in dialog.said.text() and not path.exists()
    dialog.kerf.clear()
    QTest.keyClicks(dialog.kerf, "0.2 mm")
    QTest.mouseClick(dialog.write_button, LEFT)
    b.driver.settle()
    assert path.read_bytes().startswith(begins) and path.name in b.said
    assert not b.side.findChildren(CuttingFiles) and b.undone == []


def test_sheets_open_on_what_is_shown_and_follow(bench: Any) -> None:
    b = bench(new_build(made("sheet"), ("tailplane",), "frame")[0])
    b.side.surfaces.setCurrentRow(1)
    b.press(b.side.foot.sheet_button)
    b.press(b.side.foot.outline_button)
    b.press(b.side.foot.gauges_button)
    names = ("parts-sheet", "dimensioned", "gauges")
    sheet, outline, gauges = (b.driver.window.side._open[name] for name in names)
    assert isinstance(sheet, PartsSheetWindow) and isinstance(outline, DimensionedWindow)
    builds = b.document.design.builds
    assert sheet.ids == (builds[1].id,) and outline.ids == ("tailplane",)
    for window in (sheet, outline):
        b.driver.until(lambda w=window: bool(w.preview.pages) and not w.worker.busy)
        assert window.paper.findData("a3") >= 0 and window.foot.write_button.isEnabled()
    pages = len(outline.preview.pages)
    sheet.surface.setCurrentIndex(0)
    sheet.surface.activated.emit(0)
    assert sheet.ids == tuple(one.id for one in builds)
    outline.full_size.click()
    b.driver.until(lambda: not outline.worker.busy and len(outline.preview.pages) > pages)
    # What has gone is no longer offered; without any parts there is nothing to write.
    b.document.start(plain())
    b.driver.until(lambda: not sheet._soon.isActive() and not sheet.worker.busy)
    assert not sheet.foot.write_button.isEnabled() and sheet.preview.paper.words.endswith(".")
    assert sheet._settled() is None and sheet.foot.said.text() == sheet.preview.paper.words
    assert outline.surface.count() == 2
    for window in (sheet, outline, gauges):
        window.close()


# The window itself


def test_cautions_stand_in_it(bench: Any) -> None:
    words = bench(plain()).side.cautions.text()
    for word in ("Blades", "dust", "fumes", "Cyanoacrylate", "not been calculated for strength"):
        assert word in words


def test_the_smallest_window_holds_it_and_colours_follow(bench: Any) -> None:
    b = bench(made("ribbed"))
    b.side.resize(900, 560)
    b.driver.window.side.set_theme(NIGHT)
    b.driver.settle()
    assert (b.side.width(), b.side.height()) == (900, 560)
    assert NIGHT.paper in b.side.list.table.styleSheet() and b.side.assembly._theme is NIGHT
    lines = [b.side.list.table, b.side.list.total, b.side.list.before, b.side.cautions, b.side.foot]
    tops = [QRect(part.mapTo(b.side, QPoint()), part.size()) for part in lines]
    for upper, lower in pairwise(tops):
        assert upper.bottom() < lower.top()
    for label in b.side.findChildren(QLabel):
        if label.isVisible() and label.wordWrap():
            assert label.height() >= label.heightForWidth(label.width()), label.text()
    assert tops[-1].bottom() < 560
    b.driver.window.side.set_theme(DAY)


def test_everything_has_a_name_for_who_cannot_see_it(bench: Any) -> None:
    form = bench(made("ribbed")).side.form
    fields = [*form.fields.values(), *(f for row in form.spars.rows for f in row.fields.values())]
    assert len({field.accessibleName() for field in fields}) == len(fields) and all(
        field.accessibleName() for field in fields
    )


def test_tab_goes_down_the_form(bench: Any) -> None:
    b = bench(made("ribbed"))
    b.side.surfaces.setFocus()
    names = []
    for _ in range(14):
        QTest.keyClick(b.side.focusWidget(), Key.Key_Tab)
        names.append(b.side.focusWidget().accessibleName() or b.side.focusWidget().text())
    first = names.index("Thickness: at the root")
    assert all(name.split(":")[0] in ("Sheet", "Frame", "Ribbed") for name in names[:first]) and first
    assert names[first + 1 : first + 4] == ["Thickness: at the tip", "Thickness: section", "Ribs"]
    b.side.form.fields["trailing_edge.material"].setFocus()
    for wanted in ("Add a spar", "Spar 1: at", "Spar 1: wide", "Spar 1: deep", "Spar 1: web", "Spar 1: wood",
                   "Remove spar 1", "Skin"):
        QTest.keyClick(b.side.focusWidget(), Key.Key_Tab)
        now = b.side.focusWidget()
        assert (now.accessibleName() or now.text()) == wanted


def test_it_stands_beside_where_the_screen_has_room() -> None:
    room, size = QRect(0, 0, 2560, 1400), QSize(1100, 760)
    assert place_of(size, QRect(0, 40, 1360, 820), room) == QPoint(1368, 40)
    assert place_of(size, QRect(1200, 700, 1360, 700), room) == QPoint(92, 640)
    # Nowhere beside it: at the lower left, where the nose is.
    assert place_of(size, QRect(600, 0, 1400, 1000), room) == QPoint(0, 640)
