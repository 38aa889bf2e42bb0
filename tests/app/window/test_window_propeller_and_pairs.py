"""The propeller typed among the flight figures, the distance of a pair in the outline's form, by keyboard."""

from __future__ import annotations

import numpy as np
import pytest
from driving import LEFT, Driver, bare_sample, sample
from msgspec.structs import replace
from numpy.typing import NDArray
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit

from app.canvas.frame import moving_px
from app.kit.marks import disc_ends
from app.work.selection import Selection
from core.design import Design, Flight, Propeller
from core.redesign.design_edits import change_outlines
from core.stability.guesses import PROPELLER_STATION

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")


@pytest.fixture
def twin(driver: Driver) -> Driver:
    """A twin-boom aeroplane in mm, nothing entered of its propeller or how far its fins stand apart."""
    plain = replace(sample("tallow-twin").design, scans=(), left_out=(), guessed=())
    bare = change_outlines(plain, [o.id for o in plain.outlines], apart=None)
    driver.open_outlines(replace(bare, display_units="mm", flight=replace(bare.flight, propeller=None)))
    return driver


def field(driver: Driver, key: str) -> QLineEdit:
    return driver.window.readings._inputs[key]


def apart(driver: Driver) -> QLineEdit:
    return driver.window.outlines.form._apart


def pick(driver: Driver, *ids: str) -> None:
    driver.window.picked.set(Selection(outlines=ids))
    driver.settle()


def notes(driver: Driver) -> list[str]:
    return [note.words for note in driver.window.answer.shown.notes]


# The propeller


def test_a_diameter_stands_at_the_nose_in_grey_until_a_station_is_typed(twin: Driver) -> None:
    diameter, disc = field(twin, "propeller"), field(twin, "disc")
    assert diameter.text() == "" and diameter.placeholderText() == '"10 in" or "none"'
    assert disc.isReadOnly() and disc.placeholderText() == "–"
    twin.type_into(diameter, "9 in")
    propeller = twin.design.flight.propeller
    assert propeller is not None and diameter.text() == "228.6 mm" and not disc.isReadOnly()
    assert disc.text() == "" and disc.placeholderText() == "a guess: −0.3 mm"
    assert "Propeller: its station as the program put it." in notes(twin)
    twin.type_into(disc, "466")
    assert twin.design.flight.propeller == Propeller(228.6, 466.0)
    assert disc.text() == "466.0 mm" and PROPELLER_STATION not in twin.design.guessed
    assert not any("ropeller" in words for words in notes(twin))
    twin.type_into(disc, "")
    assert disc.text() == "" and PROPELLER_STATION in twin.design.guessed
    twin.type_into(diameter, "")
    assert twin.design.flight.propeller is None and disc.isReadOnly() and twin.design.guessed == ()
    assert "Propeller: not entered, so left out of the handbook's figure." in notes(twin)


def test_in_inches_it_reads_as_it_is_sold(driver: Driver) -> None:
    driver.open_outlines(replace(bare_sample(), flight=Flight()))
    for typed, shown in (("10", "10 in"), ("10 1/2", "10.5 in"), ("254 mm", "10 in"), ("9.75 in", "9.75 in")):
        driver.type_into(field(driver, "propeller"), typed)
        assert field(driver, "propeller").text() == shown
    driver.window.document.apply("units", lambda d: replace(d, display_units="in64"))
    assert field(driver, "propeller").text() == "9 3/4 in"


def test_none_is_typed_or_chosen_and_a_diameter_takes_it_back(twin: Driver) -> None:
    diameter = field(twin, "propeller")
    twin.type_into(diameter, "10 in")
    twin.type_into(diameter, "none")
    assert twin.design.left_out == ("propeller",) and twin.design.flight.propeller is None
    assert diameter.text() == "none" and "No propeller: left out by you." in notes(twin)
    twin.type_into(diameter, "10 in")
    assert twin.design.left_out == () and diameter.text() == "254 mm"
    twin.do("no-propeller")
    assert diameter.text() == "none" and twin.design.guessed == ()
    twin.do("undo")
    assert diameter.text() == "254 mm" and twin.design.guessed == (PROPELLER_STATION,)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("9", 'Type "9 in"'), ("-254", "more than nothing"), ("0 mm", "more than nothing"),
        ("two blades", "is not a length"), ("1e9", "more than"),
    ],
)
def test_what_cannot_be_a_propeller_is_said_and_changes_nothing(twin: Driver, typed: str, words: str) -> None:
    before = twin.design
    twin.type_into(field(twin, "propeller"), typed)
    assert words in twin.said and twin.design == before and field(twin, "propeller").text() == ""


def test_nine_millimetres_can_be_meant(twin: Driver) -> None:
    twin.type_into(field(twin, "propeller"), "9 mm")
    assert twin.design.flight.propeller is not None and twin.design.flight.propeller.diameter == 9.0


# Pairs


def test_apart_is_asked_of_upright_pairs_alone_in_place_of_the_coordinates(twin: Driver) -> None:
    form = twin.window.outlines.form
    for ids, asked in (
        (("fins",), True), (("fins", "rudders"), True), (("main-wheels",), False), (("pod",), False),
        (("fins", "pod"), False), ((), False),
    ):
        pick(twin, *ids)
        assert apart(twin).isHidden() != asked and form._x.isHidden() == asked, ids
    pick(twin, "fins")
    form._count.setFocus()
    QTest.keyClick(form._count, Qt.Key.Key_Down)
    assert twin.outline("fins").count == 1 and apart(twin).isHidden() and not form.fin.isHidden()


def test_a_node_takes_its_coordinates_back(twin: Driver) -> None:
    form = twin.window.outlines.form
    pick(twin, "fins")
    node = twin.outline("fins").nodes[0]
    twin.click((node.x, node.z))
    assert apart(twin).isHidden() and not form._x.isHidden() and form._x.isEnabled()


def test_typed_for_the_fins_it_holds_for_their_rudders_and_is_said(twin: Driver) -> None:
    pick(twin, "fins")
    assert apart(twin).placeholderText() == "the two, middle to middle"
    assert any("their distance apart is not entered" in words for words in notes(twin))
    twin.type_into(apart(twin), "13 in")
    assert twin.outline("fins").apart == twin.outline("rudders").apart == pytest.approx(330.2)
    assert twin.said == "The same goes for rudders, of the same pair."
    assert apart(twin).text() == "330.2 mm" and not any("distance apart" in words for words in notes(twin))
    pick(twin, "rudders")
    assert apart(twin).text() == "330.2 mm"
    twin.do("undo")
    assert twin.outline("fins").apart is None and twin.outline("rudders").apart is None
    twin.do("redo")
    twin.type_into(apart(twin), "")
    assert twin.outline("fins").apart is None and twin.outline("rudders").apart is None


@pytest.mark.parametrize(("typed", "words"), [("0", "stand apart"), ("-3", "stand apart"), ("far", "length")])
def test_a_distance_that_cannot_be_is_said_and_changes_nothing(twin: Driver, typed: str, words: str) -> None:
    pick(twin, "fins")
    before = twin.design
    twin.type_into(apart(twin), typed)
    assert words in twin.said and twin.design == before and apart(twin).text() == ""


def test_what_differs_says_so(twin: Driver) -> None:
    twin.window.document.apply("x", lambda d: change_outlines(d, ["fins"], apart=300.0))
    pick(twin, "fins", "rudders")
    assert (apart(twin).text(), apart(twin).placeholderText()) == ("", "several")
    twin.type_into(apart(twin), "310")
    assert {twin.outline(i).apart for i in ("fins", "rudders")} == {310.0}


# On the canvas


def grabbed(driver: Driver) -> NDArray[np.int16]:
    driver.settle()
    image = driver.canvas.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine() // 4, 4)
    return rows[:, : image.width(), :3].astype(np.int16)


def with_disc(design: Design, at: float) -> Design:
    return replace(design, flight=replace(design.flight, propeller=Propeller(200.0, at)))


def test_the_disc_is_drawn_at_its_station_and_nowhere_else(twin: Driver) -> None:
    without = grabbed(twin)
    twin.window.document.apply("x", lambda d: with_disc(d, 620.0))
    ends = disc_ends(twin.design, twin.window.readout.readings)
    assert ends is not None
    top, bottom = twin.px(ends[0]), twin.px(ends[1])
    changed = np.argwhere(np.abs(grabbed(twin) - without).max(axis=2) > 8)
    # Line and bars, and the name over them.
    assert abs(changed[:, 0].max() - bottom.y()) <= 3 and top.y() - 26 <= changed[:, 0].min() < top.y()
    assert abs(changed[:, 1] - top.x()).max() <= 40
    line = changed[changed[:, 0] > top.y() + 3]
    assert abs(line[:, 1] - top.x()).max() <= 6
    assert len(np.unique(line[:, 0])) > 0.5 * (bottom.y() - top.y())


def test_a_nose_that_is_dragged_has_its_disc_painted_anew(twin: Driver) -> None:
    twin.window.document.apply("x", lambda d: with_disc(d, -30.0))
    pick(twin, "pod")
    inside, before = twin.px((150.0, 0.0)), disc_ends(twin.design, twin.window.readout.readings)
    QTest.mousePress(twin.canvas, LEFT, Qt.KeyboardModifier.NoModifier, inside)
    for step in range(1, 7):
        QTest.mouseMove(twin.canvas, inside + QPoint(0, -8 * step))
    readings = twin.window.readout.readings
    after = disc_ends(twin.design, readings)
    assert before is not None and after is not None and after[0][1] > before[0][1] + 20
    region = moving_px(twin.design, readings, twin.canvas.view, frozenset(("pod",)), QPointF(0, 0))
    assert all(region.contains(twin.px(end)) for end in after)
    twin.window.document.abort()
