"""Fin and rudder under the mouse: curves stay fair, the hinge is one line, a run of nudges one entry."""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np
import pytest
from driving import ALT, CTRL, FREE, SHIFT, Driver, Place, bare_sample
from msgspec.structs import replace
from PySide6.QtCore import Qt

from app.work.selection import Selection
from core.design import Design, Node
from core.design_file import encode, read
from core.geometry.ring import nearest_on, point_on, ring_of

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise)")


def meeting() -> Design:
    """The sample, its fin and rudder drawn with the same numbers at both ends of their hinge."""
    design = bare_sample()
    fin, rudder = design.outline("fin"), design.outline("rudder")
    top, foot = rudder.nodes[0], rudder.nodes[5]
    nodes = list(fin.nodes)
    nodes[3] = replace(nodes[3], x=top.x, z=top.z)
    nodes[4] = Node(foot.x, foot.z)
    changed = replace(fin, nodes=tuple(nodes))
    return replace(design, outlines=tuple(changed if o.id == "fin" else o for o in design.outlines))


def spot_of(driver: Driver, outline_id: str, index: int, on_edge: bool) -> Place:
    outline = driver.outline(outline_id)
    if on_edge:
        x, z = point_on(ring_of(outline.nodes), index, 0.5)
        return float(x), float(z)
    return outline.nodes[index].x, outline.nodes[index].z


@pytest.mark.parametrize("seed", [1, 2])
def test_after_fifty_random_drags_fin_and_rudder_share_their_hinge(driver: Driver, seed: int) -> None:
    driver.open_outlines(meeting())
    driver.zoom_to((930, 80), 2.0)
    draw = random.Random(seed)
    done = 0
    for _ in range(50):
        outline_id = draw.choice(("fin", "rudder"))
        index = draw.randrange(len(driver.outline(outline_id).nodes))
        start = spot_of(driver, outline_id, index, draw.random() < 0.5)
        end = start[0] + draw.uniform(-9, 9), start[1] + draw.uniform(-9, 9)
        before = driver.design
        driver.drag(start, end, draw.choice((FREE, FREE, CTRL, SHIFT)), steps=2)
        done += driver.design != before
        fin, rudder = driver.outline("fin").nodes, driver.outline("rudder").nodes
        ends = [(n.x, n.z) for n in (fin[3], fin[4])]
        assert ends[0] == (rudder[0].x, rudder[0].z), "the hinge's top"
        assert ends[1] == (rudder[-1].x, rudder[-1].z), "its foot"
        if draw.random() < 0.1:
            driver.do("undo")
    assert done > 35


def bends(driver: Driver, edges: tuple[int, ...]) -> set[float]:
    ring = ring_of(driver.outline("rudder").nodes)
    places = np.array([point_on(ring, e, t) for e in edges for t in np.linspace(0.0, 0.99, 100)])
    step = np.diff(places, axis=0)
    turn = step[:-1, 0] * step[1:, 1] - step[:-1, 1] * step[1:, 0]
    return set(np.sign(turn).tolist())


def test_a_curved_rudder_pulled_aft_keeps_its_bend_its_corners_and_its_hinge(driver: Driver) -> None:
    driver.open_outlines(bare_sample())
    driver.zoom_to((950, 60), 2.0)
    before = driver.outline("rudder").nodes
    assert bends(driver, (0, 1, 2, 3)) == {-1.0}
    start = spot_of(driver, "rudder", 2, True)
    driver.drag(start, (start[0] + 25, start[1]), CTRL, drop=False)
    assert driver.figure.startswith("rudder +")
    driver.release((start[0] + 25, start[1]), CTRL)
    after = driver.outline("rudder").nodes
    assert bends(driver, (0, 1, 2, 3)) == {-1.0}
    # The root's corner on the line of the root, level to 0.02 in 20 mm, the hinge where it was.
    assert after[4].z == pytest.approx(before[4].z, abs=0.02) and after[4].x > before[4].x + 5
    for i in (0, 5):
        assert (after[i].x, after[i].z) == (before[i].x, before[i].z)
    assert driver.outline("fin") == bare_sample().outline("fin")
    driver.key(Qt.Key.Key_Z, CTRL)
    assert driver.outline("rudder").nodes == before
    # Alone it bulges: bends both ways.
    driver.drag(start, (start[0] + 25, start[1]), ALT)
    assert bends(driver, (0, 1, 2, 3)) == {-1.0, 1.0}


def test_a_tip_dragged_with_alt_comes_off_and_a_press_of_undo_brings_it_back(driver: Driver) -> None:
    driver.open_outlines(meeting())
    driver.zoom_to((930, 120), 3.0)
    top = driver.outline("fin").nodes[3]
    driver.drag((top.x, top.z), (top.x, top.z + 15), ALT)
    moved = [o for o in ("fin", "rudder") if driver.outline(o) != meeting().outline(o)]
    assert len(moved) == 1
    driver.key(Qt.Key.Key_Z, CTRL)
    driver.drag((top.x, top.z), (top.x + 4, top.z + 15), CTRL)
    fin, rudder = driver.outline("fin").nodes[3], driver.outline("rudder").nodes[0]
    assert (fin.x, fin.z) == (rudder.x, rudder.z) != (top.x, top.z)


def test_typed_numbers_and_nudges_take_the_other_along_and_locked_ones_stay(driver: Driver) -> None:
    driver.open_outlines(meeting())
    driver.window.picked.set(Selection(("fin",), frozenset({("fin", 3)})))
    form = driver.window.outlines.form
    driver.type_into(form._x, "940 mm")
    assert driver.outline("fin").nodes[3].x == driver.outline("rudder").nodes[0].x == 940.0
    driver.canvas.setFocus()
    driver.key(Qt.Key.Key_Up, on=driver.canvas)
    driver.key(Qt.Key.Key_Up, SHIFT, on=driver.canvas)
    driver.key(Qt.Key.Key_Right, on=driver.canvas)
    fin, rudder = driver.outline("fin").nodes[3], driver.outline("rudder").nodes[0]
    assert (fin.x, fin.z) == (rudder.x, rudder.z)
    assert driver.window.document.busy
    driver.key(Qt.Key.Key_Z, CTRL, on=driver.canvas)
    assert driver.outline("fin").nodes[3].x == 940.0 and driver.window.document.undo_name == "place node"
    locked = tuple(replace(o, locked=True) if o.id == "rudder" else o for o in driver.design.outlines)
    driver.open_outlines(replace(driver.design, outlines=locked))
    driver.window.picked.set(Selection(("fin",), frozenset({("fin", 3)})))
    driver.key(Qt.Key.Key_Up, on=driver.canvas)
    assert driver.design.outline("rudder") == locked[[o.id for o in locked].index("rudder")]
    assert driver.outline("fin").nodes[3].z > fin.z - 30


def test_a_run_of_nudges_is_one_entry_until_a_press_a_key_or_the_focus_ends_it(
    driver: Driver, tmp_path: Path
) -> None:
    driver.open_outlines(meeting())
    document = driver.window.document
    made = [driver.design]
    endings = (
        lambda: driver.click((400, 300)),
        lambda: driver.key(Qt.Key.Key_Escape, on=driver.canvas),
        lambda: driver.window.outlines.form._label.setFocus(),
        lambda: document.save(tmp_path / "on the way.sternpost"),
        lambda: driver.window.picked.set(Selection(("fin",))),
    )
    for ending in endings:
        driver.window.picked.set(Selection(("rudder",)))
        driver.canvas.setFocus()
        for key in (Qt.Key.Key_Right, Qt.Key.Key_Right, Qt.Key.Key_Up):
            driver.key(key, on=driver.canvas)
        assert document.busy and document.committed.outlines == made[-1].outlines
        ending()
        assert not document.busy and document.undo_name == "nudge outline"
        made.append(driver.design)
    saved = read(tmp_path / "on the way.sternpost").design
    assert encode(replace(saved, title="")) in [encode(replace(d, title="")) for d in made]
    for state in reversed(made[:-1]):
        driver.do("undo")
        assert driver.design.outlines == state.outlines
    assert document.undo_name is None


def test_saving_in_the_midst_of_a_stretch_writes_what_is_committed(driver: Driver, tmp_path: Path) -> None:
    driver.open_outlines(meeting())
    before = driver.window.document.committed
    start = spot_of(driver, "rudder", 2, True)
    driver.drag(start, (start[0] + 12, start[1]), CTRL, drop=False)
    driver.window.document.save(tmp_path / "a.sternpost")
    assert read(tmp_path / "a.sternpost").design.outlines == before.outlines
    driver.key(Qt.Key.Key_Escape, on=driver.canvas)
    assert driver.design.outlines == before.outlines
    driver.release(start)


def test_the_whole_fin_takes_its_rudder_along(driver: Driver) -> None:
    driver.open_outlines(meeting())
    driver.zoom_to((930, 80), 2.0)
    driver.click((905, 90))
    driver.drag((905, 90), (905, 110))
    fin, rudder = driver.outline("fin").nodes, driver.outline("rudder").nodes
    assert (fin[3].x, fin[3].z) == (rudder[0].x, rudder[0].z)
    assert rudder[2].z > meeting().outline("rudder").nodes[2].z + 15
    # The sample as it is: the fin's foot lies on the rudder's longer line.
    driver.open_outlines(bare_sample())
    foot = driver.outline("fin").nodes[4]
    driver.drag((foot.x, foot.z), (foot.x - 6, foot.z), CTRL)
    foot = driver.outline("fin").nodes[4]
    assert foot.x < 935 and nearest_on(ring_of(driver.outline("rudder").nodes), foot.x, foot.z)[2] < 0.05
