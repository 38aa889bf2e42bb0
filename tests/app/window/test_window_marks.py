"""The CG and the aim: marked, dragged and typed."""

from __future__ import annotations

from pathlib import Path

import pytest
from driving import CTRL, FREE, LEFT, SHIFT, Driver, bare_sample, drag_to, fresh_readings
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest

from app.work.selection import Selection
from core.design_file import encode, read
from core.units import format_length

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")

BAR_Y = 41


@pytest.fixture
def marsh(driver: Driver) -> Driver:
    driver.open_outlines(bare_sample())
    return driver


def rule_px(driver: Driver, fraction: float) -> QPoint:
    readings = fresh_readings(driver.design)
    assert readings.cg is not None and readings.fin_centre is not None
    station = readings.cg.x + fraction * (readings.fin_centre[0] - readings.cg.x)
    return QPoint(round(driver.canvas.view.to_px(station, 0.0)[0]), BAR_Y)


def rule_fraction(driver: Driver, at: QPoint) -> float:
    readings = fresh_readings(driver.design)
    assert readings.cg is not None and readings.fin_centre is not None
    station, _ = driver.canvas.view.to_mm(at.x(), 0.0)
    return (station - readings.cg.x) / (readings.fin_centre[0] - readings.cg.x)


def pull_rule(
    driver: Driver, start: QPoint, end: QPoint, held: Qt.KeyboardModifier = FREE, drop: bool = True
) -> None:
    rule = driver.window.arm_rule
    drag_to(rule, start, Qt.MouseButton.NoButton, held)
    QTest.mousePress(rule, LEFT, held, start)
    for i in (1, 2, 3, 4):
        drag_to(rule, start + (end - start) * i / 4, LEFT, held)
    if drop:
        QTest.mouseRelease(rule, LEFT, held, end)


def aim_of(driver: Driver) -> tuple[float, float, float]:
    aim = driver.design.aim
    return aim.low, aim.cla_fraction, aim.high


# The CG


def test_the_cg_is_marked_by_a_click_and_moves_all_that_hangs_on_it(marsh: Driver) -> None:
    before = fresh_readings(marsh.design).value("cla_fraction")
    marsh.take("g")
    marsh.click((370, 5))
    mark = marsh.design.cg_mark
    assert mark is not None and (mark.x, mark.z) == pytest.approx(marsh.spot((370, 5)))
    after = fresh_readings(marsh.design).value("cla_fraction")
    # The CG goes aft: the CLA lies less far behind it.
    assert before is not None and after is not None and after < before
    assert marsh.window.answer.shown.figure == f"{100 * after:.1f} %"
    assert marsh.window.document.undo_name == "mark CG"
    marsh.key(Qt.Key.Key_Z, CTRL)
    assert marsh.design.cg_mark == bare_sample().cg_mark


def test_a_press_held_drags_the_mark_with_the_figure_beside_it(marsh: Driver) -> None:
    marsh.take("g")
    marsh.drag((300, 0), (350, 20), drop=False)
    mark = marsh.design.cg_mark
    assert mark is not None
    units = marsh.design.display_units
    assert marsh.figure == f"CG {format_length(mark.x, units)}, {format_length(mark.z, units)}"
    marsh.key(Qt.Key.Key_Escape)
    assert marsh.design.cg_mark == bare_sample().cg_mark and not marsh.window.document.dirty
    marsh.release((350, 20))
    assert not marsh.window.document.dirty


def test_the_mark_is_dragged_by_the_editing_hand_too(marsh: Driver) -> None:
    start = marsh.design.cg_mark
    assert start is not None
    end = (start.x + 40, start.z + 25)
    one, other = marsh.spot((start.x, start.z)), marsh.spot(end)
    marsh.drag((start.x, start.z), end)
    mark = marsh.design.cg_mark
    assert mark is not None
    assert (mark.x, mark.z) == pytest.approx((start.x + other[0] - one[0], start.z + other[1] - one[1]))
    assert marsh.window.document.undo_name == "move CG mark"
    # Shift holds it level.
    marsh.drag((mark.x, mark.z), (mark.x + 30, mark.z + 4), SHIFT)
    assert marsh.design.cg_mark is not None and marsh.design.cg_mark.z == mark.z


def test_arrow_keys_move_the_mark_in_the_hand(marsh: Driver) -> None:
    marsh.take("g")
    start = marsh.design.cg_mark
    assert start is not None
    marsh.key(Qt.Key.Key_Right)
    marsh.key(Qt.Key.Key_Up, SHIFT)
    mark = marsh.design.cg_mark
    # A sixteenth of an inch where inches are shown; ten of them with Shift.
    assert mark is not None
    assert (mark.x, mark.z) == pytest.approx((start.x + 25.4 / 16, start.z + 254 / 16))


@pytest.mark.parametrize(
    ("typed", "mm"),
    [("12 1/2 in", 317.5), ("318 mm", 318.0), ("31.8 cm", 318.0), ("13", 330.2), ("1 ft 1 in", 330.2)],
)
def test_the_cg_is_typed_in_any_unit(marsh: Driver, typed: str, mm: float) -> None:
    marsh.type_into(marsh.window.readings._inputs["cg_x"], typed)
    mark, was = marsh.design.cg_mark, bare_sample().cg_mark
    assert mark is not None and was is not None
    assert (mark.x, mark.z) == (pytest.approx(mm), was.z)
    assert marsh.window.readings._inputs["cg_x"].text() == format_length(mm, "in")


@pytest.mark.parametrize(
    ("key", "typed", "words"),
    [
        ("cg_x", "twelve", "is not a length"), ("cg_x", "12 parsecs", "unknown unit"),
        ("cg_z", "", "No length stands here"), ("cg_x", "1e99", "more than"),
        ("low", "a fifth", "is not a fraction"), ("cla_fraction", "25 mm", "unknown unit"),
    ],
)
def test_what_cannot_be_taken_is_said_and_changes_nothing(
    marsh: Driver, key: str, typed: str, words: str
) -> None:
    before = encode(marsh.design)
    field = marsh.window.readings._inputs[key]
    shown = field.text()
    marsh.type_into(field, typed)
    assert words in marsh.said and marsh.said.endswith(".")
    assert encode(marsh.design) == before and not marsh.window.document.dirty
    assert field.text() == shown, "the field shows again what holds"


# The aim


@pytest.mark.parametrize(
    ("typed", "fraction"), [("30 %", 0.30), ("0.3", 0.30), ("30", 0.30), ("1", 0.01), ("2", 0.02)]
)
def test_the_aim_is_typed_as_a_part_or_in_per_cent(marsh: Driver, typed: str, fraction: float) -> None:
    marsh.type_into(marsh.window.readings._inputs["high"], typed)
    assert aim_of(marsh) == pytest.approx((min(0.22, fraction), min(0.25, fraction), fraction))
    assert marsh.window.document.undo_name == "set the aim"
    read_as = {"0.3": "30.0 %", "30": "30.0 %", "1": "1.0 %", "2": "2.0 %"}
    said = marsh.window.strip._said.text()
    assert typed == "30 %" or f"was read as {read_as[typed]}" in said


def test_an_aim_out_of_range_is_refused_and_stays_as_it_was(marsh: Driver) -> None:
    before = aim_of(marsh)
    marsh.type_into(marsh.window.readings._inputs["high"], "360")
    assert aim_of(marsh) == before and marsh.window.document.undo_name != "set the aim"


def test_a_limit_typed_past_the_others_takes_them_along(marsh: Driver) -> None:
    marsh.type_into(marsh.window.readings._inputs["low"], "35 %")
    assert aim_of(marsh) == pytest.approx((0.35, 0.35, 0.35))
    assert marsh.window.answer.shown.state == "below"


@pytest.mark.parametrize(
    ("grip", "to", "which"), [("low", 0.15, 0), ("cla_fraction", 0.265, 1), ("high", 0.40, 2)]
)
def test_the_aim_and_its_limits_are_dragged_on_the_rule(
    marsh: Driver, grip: str, to: float, which: int
) -> None:
    before = aim_of(marsh)
    start, end = rule_px(marsh, getattr(marsh.design.aim, grip)), rule_px(marsh, to)
    wanted = round(rule_fraction(marsh, end) * 200) / 200
    pull_rule(marsh, start, end)
    after = aim_of(marsh)
    assert after[which] == pytest.approx(wanted)
    assert abs(wanted - to) < 0.01
    assert [v for i, v in enumerate(after) if i != which] == [v for i, v in enumerate(before) if i != which]
    assert marsh.window.document.undo_name == "drag the aim"
    marsh.do("undo")
    assert aim_of(marsh) == before and marsh.window.menus.actions["redo"].text() == "&Redo drag the aim"


def test_the_span_is_dragged_as_a_whole_and_the_verdict_follows(marsh: Driver) -> None:
    assert fresh_readings(marsh.design).value("cla_fraction") < 0.28
    start, end = rule_px(marsh, 0.265), rule_px(marsh, 0.465)
    pull_rule(marsh, start, end, drop=False)
    low, aim, high = aim_of(marsh)
    assert (high - low, aim - low) == pytest.approx((0.06, 0.03))
    assert low == pytest.approx(0.42, abs=0.01)
    assert marsh.window.answer.shown.state == "below"
    QTest.mouseRelease(marsh.window.arm_rule, LEFT, FREE, end)
    assert marsh.window.document.undo_name == "drag the aim"


def test_escape_lets_go_of_the_aim(marsh: Driver) -> None:
    before = aim_of(marsh)
    pull_rule(marsh, rule_px(marsh, 0.28), rule_px(marsh, 0.5), drop=False)
    assert aim_of(marsh) != before
    marsh.key(Qt.Key.Key_Escape)
    assert aim_of(marsh) == before and not marsh.window.document.busy
    QTest.mouseRelease(marsh.window.arm_rule, LEFT, FREE, rule_px(marsh, 0.5))
    assert not marsh.window.document.dirty


def test_a_click_beside_the_bar_does_nothing(marsh: Driver) -> None:
    QTest.mouseClick(marsh.window.arm_rule, LEFT, FREE, rule_px(marsh, 0.8))
    QTest.mouseClick(marsh.window.arm_rule, LEFT, FREE, QPoint(rule_px(marsh, 0.25).x(), 5))
    assert not marsh.window.document.dirty and marsh.window.document.undo_name is None


# What else may come in the middle of a drag


def pulling(marsh: Driver, where: str) -> None:
    """In the middle of a drag of one of the things that can be dragged."""
    marsh.window.picked.set(Selection(("rudder",)))
    mark = marsh.window.document.committed.cg_mark
    assert mark is not None
    if where == "rule":
        pull_rule(marsh, rule_px(marsh, 0.28), rule_px(marsh, 0.5), drop=False)
    else:
        if where == "cg hand":
            marsh.take("g")
        start = {"edge": (938.0, 5.0), "mark": (mark.x, mark.z), "cg hand": (400.0, 0.0)}[where]
        marsh.drag(start, (start[0] + 40, start[1] + 9), drop=False)
    assert marsh.window.document.busy


def pulled_on(marsh: Driver, where: str) -> None:
    """The mouse goes on, and lets go."""
    widget = marsh.window.arm_rule if where == "rule" else marsh.canvas
    for x in (500, 520, 540):
        drag_to(widget, QPoint(x, BAR_Y), LEFT, FREE)
    QTest.mouseRelease(widget, LEFT, FREE, QPoint(540, BAR_Y))
    assert not marsh.window.document.busy and marsh.figure == ""


@pytest.mark.parametrize("meanwhile", ["units", "undo", "duplicate"])
@pytest.mark.parametrize("where", ["edge", "mark", "cg hand", "rule"])
def test_a_key_in_the_middle_of_a_drag_ends_it_and_nothing_breaks(
    marsh: Driver, where: str, meanwhile: str, tmp_path: Path
) -> None:
    document = marsh.window.document
    document.save(tmp_path / "a.sternpost")
    committed = document.committed
    pulling(marsh, where)
    marsh.do(meanwhile)
    assert not document.busy
    held = document.design
    pulled_on(marsh, where)
    assert document.design == held
    if meanwhile == "undo":
        assert document.design == committed


@pytest.mark.parametrize("where", ["edge", "mark", "cg hand", "rule"])
def test_saving_in_the_middle_of_a_drag_leaves_it_in_the_hand(
    marsh: Driver, where: str, tmp_path: Path
) -> None:
    document = marsh.window.document
    path = tmp_path / "a.sternpost"
    document.save(path)
    committed = document.committed
    pulling(marsh, where)
    marsh.do("save")
    assert document.busy and read(path).design == committed is document.committed
    pulled_on(marsh, where)
    assert document.committed != committed and document.dirty
    marsh.do("save")
    assert read(path).design == document.committed
    document.undo()
    assert document.committed == committed
