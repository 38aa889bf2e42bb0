"""Dragging the tail's edges: every place that shows a figure shows the same one, while the mouse moves."""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from driving import ALT, CTRL, FREE, ROOT, SAMPLES, SHIFT, Driver, Place, bare_sample, fresh_readings, sample
from msgspec.structs import replace
from PySide6 import QtPrintSupport
from PySide6.QtCore import Qt
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtWidgets import QFileDialog

from app.panels.reading_group import difference
from app.side.bench_sheet_window import BenchSheetWindow
from core.design import Design
from core.design_file import encode, read, write
from core.geometry.ring import point_on, ring_of
from core.redesign.design_edits import set_cg
from core.stability.answer import answer
from core.stability.readings import Readings
from core.stability.wording import figure

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise)")

SAMPLE = SAMPLES / "marsh-harrow-52.sternpost"
# The rudder's trailing edge, from its hindmost node down.
RUDDER_EDGE = ("rudder", 2)
FIN_TIP = ("fin", 2)
KEYS = (
    "side_area", "cla_x", "cla_z", "cla_aft_of_cg", "cla_above_cg", "fin_area", "fin_centre_x",
    "fin_centre_z", "tail_arm",
)


def middle(design: Design, outline_id: str, edge: int) -> Place:
    x, z = point_on(ring_of(design.outline(outline_id).nodes), edge, 0.5)
    return float(x), float(z)


def out_of(design: Design, outline_id: str, edge: int) -> Place:
    """The unit normal of an edge's chord, outwards for an outline that is drawn clockwise as seen."""
    nodes = design.outline(outline_id).nodes
    a, b = nodes[edge], nodes[(edge + 1) % len(nodes)]
    length = math.hypot(b.x - a.x, b.z - a.z)
    return -(b.z - a.z) / length, (b.x - a.x) / length


def pull(
    driver: Driver, edge: tuple[str, int], distance: float, drop: bool = True,
    held: Qt.KeyboardModifier = FREE,
) -> float:
    """Drag an edge out by about ``distance`` mm; returns by how much the mouse's own pixels say."""
    start = middle(driver.design, *edge)
    normal = out_of(driver.design, *edge)
    end = (start[0] + normal[0] * distance, start[1] + normal[1] * distance)
    one, other = driver.spot(start), driver.spot(end)
    driver.drag(start, end, held, steps=6, drop=drop)
    return (other[0] - one[0]) * normal[0] + (other[1] - one[1]) * normal[1]


def check_window(driver: Driver, readings: Readings) -> None:
    """Every place in the window that shows a figure, against ``readings``."""
    window, design = driver.window, driver.design
    view = driver.canvas.view
    fraction = readings.value("cla_fraction")
    assert fraction is not None and readings.cg is not None and readings.fin_centre is not None
    shown, wanted = window.answer.shown, answer(design, readings)
    assert shown.figure.startswith(f"{100 * fraction:.1f}")
    assert (shown.sentence, shown.state_words) == (wanted.sentence, wanted.state_words)
    if not window.document.busy:
        # While a hand drags, the band beside the figure stands as it was.
        # The same but for the last bits of what is kept from one state to the next.
        assert (shown.words, shown.notes, shown.sure) == (wanted.words, wanted.notes, wanted.sure)
        assert shown.cla_fraction == pytest.approx(wanted.cla_fraction)
    for key in KEYS:
        assert driver.reading(key) == figure(key, readings, design.display_units), key
    # The rule's pointer, by the rule's own sum and by the ink on it.
    x, _ = view.to_px(readings.cg.x + fraction * (readings.fin_centre[0] - readings.cg.x), 0.0)
    assert window.arm_rule._x(fraction) == pytest.approx(x, abs=1e-6)
    assert pointer_ink(driver) == pytest.approx(x, abs=0.5)
    # The area band looks at the same stations, and what it draws balances at the CLA.
    band = window.area_band
    for px in (0.0, 100.0, band.width() / 2, float(band.width())):
        assert band.station_at(px) == pytest.approx(view.to_mm(px, 0.0)[0], abs=0.5 / view.scale)
    cla_x = readings["cla_x"].value
    # To the grid of the overlay: what is kept from one state to the next was rounded another way.
    driver.until(lambda: band._cla.value() == pytest.approx(cla_x, abs=1e-6))
    stations, depths = band._whole.getData()
    assert float((stations * depths).sum() / depths.sum()) == pytest.approx(cla_x, abs=1.0)
    assert float(depths.sum() * (stations[1] - stations[0])) == pytest.approx(
        readings["side_area"].value, rel=0.01
    )


def pointer_ink(driver: Driver) -> float:
    """Where on the arm rule, in logical pixels, the pointer's line is drawn through the bar."""
    image = driver.window.arm_rule.grab().toImage()
    colours = [image.pixelColor(x, 41) for x in range(image.width())]
    # The CLA's colour is the one red on the rule: paper, ink and aim are as green as they are red.
    redness = np.array([max(c.red() - c.green() - 12.0, 0.0) for c in colours])
    places = np.flatnonzero(redness)
    assert len(places) and places[-1] - places[0] <= 4
    return float((redness * (np.arange(len(redness)) + 0.5)).sum() / redness.sum())


def test_what_is_left_of_the_last_change_does_not_end_in_the_midst_of_the_next(driver: Driver) -> None:
    driver.open(SAMPLE)
    fade = driver.window.readings._fade
    pull(driver, RUDDER_EDGE, 12.0)
    assert fade.isActive() and driver.reading("fin_area", "change").startswith("+")
    between = fresh_readings(driver.design)
    pull(driver, RUDDER_EDGE, -20.0, drop=False)
    assert not fade.isActive()
    reading, units = fresh_readings(driver.design)["fin_area"], driver.design.display_units
    assert driver.reading("fin_area", "change") == difference(reading, between, units) != ""
    driver.release((0, 0))
    assert fade.isActive()
    driver.window.document.start(driver.design)
    assert not fade.isActive() and driver.reading("fin_area", "change") == ""


def test_all_places_agree_while_the_rudder_grows_and_after(driver: Driver, tmp_path: Path) -> None:
    driver.open(SAMPLE)
    before = encode(driver.design)
    first = fresh_readings(driver.design)
    check_window(driver, first)

    moved = pull(driver, RUDDER_EDGE, 30.0, drop=False)
    assert moved > 25
    # The chord grows level, the mouse went along the edge's normal.
    grown = middle(driver.design, *RUDDER_EDGE)[0] - middle(sample().design, *RUDDER_EDGE)[0]
    assert driver.figure.startswith("rudder +") and driver.figure.endswith(" in")
    assert float(driver.figure.split()[1]) == pytest.approx(grown / 25.4, abs=0.02)
    assert grown > moved
    assert driver.window.document.busy and driver.window.document.undo_name is None
    assert encode(driver.window.document.committed) == before
    during = fresh_readings(driver.design)
    assert during.value("cla_fraction") > first.value("cla_fraction") + 0.005
    check_window(driver, during)
    # The panel says by how much it moved, in the row that moved.
    change = driver.reading("fin_area", "change")
    assert change.startswith("+") and change.endswith("sq in")

    driver.release((0, 0))
    assert driver.figure == "" and not driver.window.document.busy
    assert driver.window.document.undo_name == "drag rudder edge"
    assert driver.window.menus.actions["undo"].text() == "&Undo drag rudder edge"
    check_window(driver, fresh_readings(driver.design))
    after = encode(driver.design)

    path = tmp_path / "bigger.sternpost"
    driver.window.document.save(path)
    back = read(path)
    assert encode(back.design) == after
    check_window(driver, fresh_readings(back.design))

    driver.key(Qt.Key.Key_Z, CTRL)
    assert encode(driver.design) == before
    assert driver.window.menus.actions["redo"].text() == "&Redo drag rudder edge"
    check_window(driver, first)
    driver.key(Qt.Key.Key_Z, CTRL | SHIFT)
    assert encode(driver.design) == after


def test_with_alt_the_nodes_of_one_edge_go_where_the_mouse_went(driver: Driver) -> None:
    driver.open_outlines(bare_sample())
    before = driver.outline("rudder")
    normal = out_of(driver.design, *RUDDER_EDGE)
    moved = pull(driver, RUDDER_EDGE, 15.0, held=ALT)
    for i, (old, new) in enumerate(zip(before.nodes, driver.outline("rudder").nodes, strict=True)):
        by = moved if i in (2, 3) else 0.0
        assert (new.x, new.z) == pytest.approx((old.x + by * normal[0], old.z + by * normal[1]), abs=1e-9)
        assert (new.handle_in, new.handle_out) == (old.handle_in, old.handle_out)


def test_in_inches_the_figure_is_in_inches(driver: Driver) -> None:
    driver.open_outlines(bare_sample())
    assert driver.design.display_units == "in"
    driver.take("u")
    assert driver.design.display_units == "in64"
    pull(driver, FIN_TIP, 9.0, drop=False)
    assert driver.figure.startswith("fin and rudder, height +") and driver.figure.endswith(" in")
    assert "/" in driver.figure
    driver.key(Qt.Key.Key_Escape)
    assert driver.figure == "" and driver.window.document.undo_name == "change units"
    driver.release((0, 0))
    assert driver.window.document.undo_name == "change units", "an abandoned drag leaves no trace"


def test_alt_and_shift_bend_an_edge_of_a_run_and_leaves_its_nodes(driver: Driver) -> None:
    driver.open_outlines(bare_sample())
    start = middle(driver.design, "rudder", 2)
    before = driver.outline("rudder").nodes
    one, other = driver.spot(start), driver.spot((start[0] + 12, start[1]))
    driver.drag(start, (start[0] + 12, start[1]), ALT | SHIFT)
    after = driver.outline("rudder").nodes
    assert [(n.x, n.z) for n in after] == [(n.x, n.z) for n in before]
    now = middle(driver.design, "rudder", 2)
    # Taken hold of at the pixel beside the middle, the edge follows to within that pixel's share.
    assert now[0] - start[0] == pytest.approx(other[0] - one[0], abs=1.0)
    assert driver.window.document.undo_name == "bend rudder edge"


def test_several_drags_are_taken_back_one_at_a_time_to_the_byte(driver: Driver) -> None:
    driver.open_outlines(bare_sample())
    states = [encode(driver.design)]
    for edge, distance in ((RUDDER_EDGE, 12.0), (FIN_TIP, 6.0), (RUDDER_EDGE, -20.0)):
        pull(driver, edge, distance)
        states.append(encode(driver.design))
    assert len(set(states)) == 4
    for state in reversed(states[:-1]):
        driver.key(Qt.Key.Key_Z, CTRL)
        assert encode(driver.design) == state
    assert not driver.window.document.dirty
    for state in states[1:]:
        driver.do("redo")
        assert encode(driver.design) == state


def test_the_grip_scales_from_the_root_and_a_click_alone_changes_nothing(driver: Driver) -> None:
    driver.open_outlines(bare_sample())
    driver.zoom_to((938, 80), 2.0)
    driver.click((905, 90))
    assert driver.window.picked.now.outlines == ("fin",) and not driver.window.document.dirty
    nodes, root = driver.outline("fin").nodes, middle(driver.design, "fin", 4)
    top = (max(n.x for n in nodes), max(n.z for n in nodes))
    x, y = driver.canvas.view.to_px(*top)
    grip = driver.canvas.view.to_mm(x + 16, y - 16)
    area = fresh_readings(driver.design).side.tail_moments.area
    driver.drag(grip, (grip[0] + 20, grip[1] + 20), drop=False)
    assert driver.figure.endswith("% from the root")
    driver.release((grip[0] + 20, grip[1] + 20))
    assert driver.window.document.undo_name == "scale from the root"
    assert fresh_readings(driver.design).side.tail_moments.area > area
    assert middle(driver.design, "fin", 4) == pytest.approx(root, abs=1e-9), "the middle of the root stays"


# On paper


@pytest.mark.parametrize(("paper", "width_mm"), [("a4", 297.0), ("letter", 279.4)])
def test_the_bench_sheet_holds_the_figures_of_the_window(
    driver: Driver, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, paper: str, width_mm: float
) -> None:
    driver.open_outlines(bare_sample())
    pull(driver, RUDDER_EDGE, 25.0)
    offered: list[str] = []

    def ask(_parent: object, _title: str, start: str, _kinds: str, *_: object) -> tuple[str, str]:
        offered.append(start)
        return str(tmp_path / "sheet"), ""

    monkeypatch.setattr(QFileDialog, "getSaveFileName", ask)
    driver.do("sheet")
    window = driver.window.side.show("bench-sheet")
    assert isinstance(window, BenchSheetWindow)
    window.paper.setCurrentIndex(window.paper.findData(paper))
    driver.until(lambda: bool(window.preview.pages) and not window.worker.busy)
    window.foot.write_button.click()
    driver.until(lambda: not window.foot.worker.busy)
    window.close()
    driver.settle()
    assert Path(offered[0]).name == f"{driver.design.title} bench sheet.pdf"
    assert driver.said.startswith("The bench sheet is in sheet.pdf, in the folder ")
    with pypdfium2.PdfDocument(tmp_path / "sheet.pdf") as pdf:
        assert len(pdf) == 1
        page = pdf[0]
        assert page.get_size()[0] / 72 * 25.4 == pytest.approx(width_mm, abs=0.2)
        text = " ".join(page.get_textpage().get_text_bounded().split())
    shown = driver.window.answer.shown
    for words in (shown.figure, shown.sentence, shown.state_words, driver.design.title):
        assert words in text, words
    for key in KEYS:
        label = driver.window.readout.readings[key].label
        assert f"{label} {driver.reading(key)}" in text, key


def test_the_print_entry_shows_the_sheet_and_prints_it(
    driver: Driver, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Chosen:
        def __init__(self, printer: QPrinter, parent: object) -> None:
            printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
            printer.setOutputFileName(str(tmp_path / "printed.pdf"))

        def exec(self) -> bool:
            return True

    driver.open_outlines(bare_sample())
    monkeypatch.setattr(QtPrintSupport, "QPrintDialog", Chosen)
    driver.do("print")
    window = driver.window.side.show("bench-sheet")
    assert isinstance(window, BenchSheetWindow)
    driver.until(lambda: not window.foot.worker.busy and not window.worker.busy)
    assert driver.said == "Sent to the printer: 1 page."
    window.close()
    driver.settle()


def test_the_bench_sheets_preview_follows_the_design_and_the_files_name(
    driver: Driver, tmp_path: Path
) -> None:
    design = replace(bare_sample(), title="Untitled")
    write(tmp_path / "Plank 40.sternpost", design, {})
    driver.window.filing.open_path(tmp_path / "Plank 40.sternpost")
    driver.settle()
    driver.do("sheet")
    window = driver.window.side.show("bench-sheet")
    assert isinstance(window, BenchSheetWindow)
    driver.until(lambda: bool(window.preview.pages) and not window.worker.busy)
    assert window._sheet().title == "Plank 40: bench sheet"
    before = window.preview.pages[0]
    driver.window.document.apply("mark CG", lambda d: set_cg(d, 300.0, 10.0))
    driver.until(lambda: window.preview.pages[0] is not before)
    assert window.preview.pages[0] != before
    window.close()
    driver.settle()


# Sharp screens

_AT_SCALE = """
import json, sys
from driving import Boxes, Driver, bare_sample
from test_window_dragging import RUDDER_EDGE, pull
from app.panels.reading_group import difference
from app.canvas.view import View
from app.window.window import Window, application
app = application()
window = Window()
window.resize(1360, 820)
window.show()
class Bot: pass
driver = Driver(window, Bot(), Boxes())
driver.open_outlines(bare_sample())
driver.settle()
driver.canvas.set_view(View(2.0, 700.0, 200.0))
pull(driver, RUDDER_EDGE, 12.0)
driver.settle()
ratio = driver.canvas.grab().toImage().width() / driver.canvas.width()
nodes = [(n.x, n.z) for n in driver.outline("rudder").nodes]
print(json.dumps({"ratio": ratio, "nodes": nodes}))
from core.design import EMPTY
window.document.start(EMPTY)
window.close()
"""


def at_scale(factor: int, home: Path) -> dict[str, object]:
    environment = dict(
        os.environ, QT_SCALE_FACTOR=str(factor), HOME=str(home), XDG_CONFIG_HOME=str(home),
        XDG_DATA_HOME=str(home), PYTHONPATH=os.pathsep.join(
            (str(ROOT), str(ROOT / "tests" / "app"), str(Path(__file__).parent))
        ),
    )
    done = subprocess.run(
        [sys.executable, "-c", _AT_SCALE], env=environment, capture_output=True, text=True, timeout=60,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert "Traceback" not in done.stderr, done.stderr
    return dict(json.loads(done.stdout.splitlines()[-1]))


def test_a_drag_on_a_sharp_screen_does_the_same_in_mm(tmp_path: Path, driver: Driver) -> None:
    fine = at_scale(2, tmp_path)
    assert fine["ratio"] == pytest.approx(2.0, abs=0.01)
    from app.canvas.view import View

    driver.open_outlines(bare_sample())
    driver.canvas.set_view(View(2.0, 700.0, 200.0))
    pull(driver, RUDDER_EDGE, 12.0)
    here = np.array([(n.x, n.z) for n in driver.outline("rudder").nodes])
    assert np.abs(np.array(fine["nodes"]) - here).max() <= 1 / 2.0
    moved = here - np.array([(n.x, n.z) for n in sample().design.outline("rudder").nodes])
    # Along the line of its root, which falls by 0.02 in 20 mm.
    assert np.abs(moved[2:4, 1]).max() < 0.02 and 11.5 < moved[2, 0] < 14.0
    # Stretched from the hinge line, at x = 937.965: each goes by its own part of the way.
    assert moved[3, 0] / moved[2, 0] == pytest.approx((982.24 - 937.965) / (994.97 - 937.965), abs=1e-3)
