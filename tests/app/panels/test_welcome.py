from __future__ import annotations

import re
import zipfile
from itertools import combinations
from pathlib import Path

import pytest
import shapely
from PySide6.QtCore import QPoint, QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QImage, QPainter, QTransform
from PySide6.QtWidgets import QApplication, QLabel, QScrollArea, QWidget
from pytestqt.qtbot import QtBot

from app.kit.cautions import CAUTIONS
from app.kit.theme import DAY, NIGHT, Theme, data_folder
from app.panels import welcome as module
from app.panels.welcome import Welcome, samples
from app.panels.welcome_parts import Entry, Paint, Picture
from app.panels.welcome_pictures import PULL_MM, example, hang_turn, paint_card, paint_change, paint_rule
from core.design import Design, Outline
from core.design_file import write

# Without a screen Qt cannot tell a window manager how small a window may be, and says so.
pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")
SIZES = [(480, 420), (640, 480), (699, 500), (700, 420), (900, 560), (1600, 1000)]


@pytest.fixture
def welcome(qtbot: QtBot) -> Welcome:
    widget = Welcome(DAY)
    qtbot.addWidget(widget)
    widget.resize(900, 560)
    widget.show()
    qtbot.waitUntil(lambda: len(entries(widget)) > 3)
    return widget


def entries(widget: QWidget) -> list[Entry]:
    return [entry for entry in widget.findChildren(Entry) if entry.isVisible()]


def entry(widget: QWidget, text: str) -> Entry:
    (found,) = (e for e in entries(widget) if e.text().startswith(text))
    return found


def grabbed(widget: QWidget) -> QImage:
    return widget.grab().toImage()


def settle() -> None:
    """Let requests for a new layout rise from the parts to the page."""
    for _ in range(5):
        QApplication.processEvents()


# What it offers


@pytest.mark.parametrize("key", [Qt.Key.Key_Return, Qt.Key.Key_Space, None])
@pytest.mark.parametrize(
    ("text", "signal"),
    [("Open a scan", "scan_wanted"), ("Draw from nothing", "blank_wanted"), ("Open a design", "open_wanted")],
)
def test_the_ways_to_begin(
    welcome: Welcome, qtbot: QtBot, text: str, signal: str, key: Qt.Key | None
) -> None:
    with qtbot.waitSignal(getattr(welcome, signal), timeout=1000):
        if key is None:
            qtbot.mouseClick(entry(welcome, text), Qt.MouseButton.LeftButton)
        else:
            qtbot.keyClick(entry(welcome, text), key)


def test_every_sample_is_offered_by_its_title(welcome: Welcome, qtbot: QtBot) -> None:
    there = samples(data_folder("sample_designs"))
    assert len(there) == len(list(data_folder("sample_designs").glob("*.sternpost"))) > 0
    for sample in there:
        with qtbot.waitSignal(welcome.sample_wanted, timeout=1000) as caught:
            qtbot.mouseClick(entry(welcome, sample.title), Qt.MouseButton.LeftButton)
        assert caught.args == [str(sample.path)]


def test_a_damaged_sample_is_left_out(tmp_path: Path) -> None:
    write(tmp_path / "b.sternpost", Design(format=1, title="Alder"), {})
    write(tmp_path / "a.sternpost", Design(format=1, title="Birch"), {})
    (tmp_path / "text.sternpost").write_text("not a container")
    (tmp_path / "empty.sternpost").touch()
    (tmp_path / "folder.sternpost").mkdir()
    with zipfile.ZipFile(tmp_path / "other.sternpost", "w") as container:
        container.writestr("design.json", '{"format": 1, "title": 7}')
    assert [(s.title, s.path.name) for s in samples(tmp_path)] == [
        ("Alder", "b.sternpost"), ("Birch", "a.sternpost"),
    ]
    assert samples(tmp_path / "nowhere") == []


def test_without_samples_there_is_no_heading(
    qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(module, "data_folder", lambda name: tmp_path)
    widget = Welcome(DAY)
    qtbot.addWidget(widget)
    widget.show()
    widget.look_for_samples()
    assert {label.text() for label in widget.findChildren(QLabel) if label.isVisible()}.isdisjoint(
        {"Look at a sample", "Opened before"}
    )


def test_recent_files_come_and_go(welcome: Welcome, qtbot: QtBot) -> None:
    path = Path("/somewhere/teal.sternpost")
    welcome.set_recent([path, Path("/somewhere/plan.json")])
    assert entry(welcome, "plan.json").accessibleDescription() == "/somewhere"
    with qtbot.waitSignal(welcome.recent_wanted, timeout=1000) as caught:
        qtbot.mouseClick(entry(welcome, "teal"), Qt.MouseButton.LeftButton)
    assert caught.args == [str(path)]
    welcome.set_recent([])
    assert not [e for e in entries(welcome) if e.text().startswith("teal")]


def test_the_caution_is_on_the_sheet(welcome: Welcome) -> None:
    assert CAUTIONS[0] in {label.text() for label in welcome.findChildren(QLabel) if label.isVisible()}


# Where it stands


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("recents", [0, 8])
def test_nothing_overlaps_or_is_cut_off(
    welcome: Welcome, qtbot: QtBot, size: tuple[int, int], recents: int
) -> None:
    welcome.set_recent([Path(f"/a/long/way/{'down/' * 20}design-{i}.sternpost") for i in range(recents)])
    welcome.resize(*size)
    settle()
    page = welcome.findChild(QScrollArea).widget()
    parts = [
        part for part in (*entries(welcome), *welcome.findChildren(Picture), *welcome.findChildren(QLabel))
        if part.isVisible()
    ]
    boxes = [QRect(part.mapTo(page, QPoint(0, 0)), part.size()) for part in parts]
    view = welcome.findChild(QScrollArea).viewport().width()
    for part, box in zip(parts, boxes, strict=True):
        assert box.left() >= 0 and box.right() < view, part
        assert box.top() >= 0 and box.bottom() < page.height(), part
        if isinstance(part, QLabel):
            assert part.height() >= part.heightForWidth(part.width()), part.text()
    for (one, a), (other, b) in combinations(zip(parts, boxes, strict=True), 2):
        assert not a.intersects(b), (one, other)


def test_it_shrinks_to_the_smallest_canvas(welcome: Welcome) -> None:
    assert welcome.minimumSizeHint().width() <= 480
    assert welcome.minimumSizeHint().height() <= 420
    welcome.resize(480, 420)
    assert (welcome.width(), welcome.height()) == (480, 420)


# By keyboard, by ear


def test_tab_reaches_every_entry_and_brings_it_into_view(welcome: Welcome, qtbot: QtBot) -> None:
    welcome.set_recent([Path(f"/x/{i}.sternpost") for i in range(8)])
    welcome.resize(480, 420)
    settle()
    welcome.activateWindow()
    qtbot.waitUntil(welcome.isActiveWindow)
    entry(welcome, "Open a scan").setFocus()
    viewport = welcome.findChild(QScrollArea).viewport()
    reached = []
    for _ in range(len(entries(welcome))):
        now = QApplication.focusWidget()
        assert isinstance(now, Entry)
        reached.append(now.text())
        box = QRect(now.mapTo(viewport, QPoint(0, 0)), now.size())
        assert viewport.rect().contains(box), now.text()
        qtbot.keyClick(now, Qt.Key.Key_Tab)
    downwards = sorted(entries(welcome), key=lambda e: e.mapTo(welcome, QPoint()).y())
    assert reached == [e.text() for e in downwards]
    assert len(set(reached)) == len(reached) == 3 + 8 + len(samples(data_folder("sample_designs")))


@pytest.mark.parametrize("text", ["Open a scan", "Marsh Harrow"])
def test_the_focus_is_seen(welcome: Welcome, qtbot: QtBot, text: str) -> None:
    welcome.activateWindow()
    qtbot.waitUntil(welcome.isActiveWindow)
    other = entry(welcome, "Open a design")
    other.setFocus()
    without = grabbed(entry(welcome, text))
    entry(welcome, text).setFocus()
    assert grabbed(entry(welcome, text)) != without


def test_everything_has_a_name(welcome: Welcome) -> None:
    assert welcome.accessibleName()
    for part in (*entries(welcome), *welcome.findChildren(Picture)):
        assert part.accessibleName()
    for picture in welcome.findChildren(Picture):
        assert picture.accessibleDescription()


# The pictures


def area_and_centre(outlines: tuple[Outline, ...]) -> tuple[float, float]:
    """Σ count × area and its centroid's x, by shapely on edges cut into 200 chords each.

    Independent of the counting under test but for the rule: single outlines united, doubled ones outside.
    """

    def ring(outline: Outline) -> shapely.Polygon:
        points = []
        nodes = outline.nodes
        for a, b in zip(nodes, nodes[1:] + nodes[:1], strict=True):
            out, into = a.handle_out or (0.0, 0.0), b.handle_in or (0.0, 0.0)
            p = [(a.x, a.z), (a.x + out[0], a.z + out[1]), (b.x + into[0], b.z + into[1]), (b.x, b.z)]
            if a.handle_out is None and b.handle_in is None:
                points.append(p[0])
                continue
            for i in range(200):
                t = i / 200
                w = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
                points.append(tuple(sum(w[k] * p[k][d] for k in range(4)) for d in (0, 1)))
        return shapely.Polygon(points)

    single = shapely.union_all([ring(o) for o in outlines if o.count == 1])
    # A wheel stands clear of the fuselage, a gear leg does not; where the two cover each other counts once.
    legs = shapely.union_all([ring(o) for o in outlines if o.kind == "gear leg"]).difference(single)
    pair = shapely.union(legs, shapely.union_all([ring(o) for o in outlines if o.kind == "wheel"]))
    area = single.area + 2 * pair.area
    return area, (single.area * single.centroid.x + 2 * pair.area * pair.centroid.x) / area


@pytest.mark.parametrize("which", ["design", "pulled"])
def test_the_figures_in_the_pictures_are_those_of_the_aeroplane(which: str) -> None:
    shown = example()
    design = shown.design if which == "design" else shown.pulled
    readings = shown.readings if which == "design" else shown.pulled_readings
    _, x = area_and_centre(design.outlines)
    assert readings.cla is not None
    # Flattening to 0.01 mm moves the centroid by less than that.
    assert readings.cla[0] == pytest.approx(x, abs=0.01)


def test_the_pull_brings_it_from_below_into_the_aim() -> None:
    shown = example()
    assert shown.readings["cla_fraction"].verdict == "below"
    assert shown.pulled_readings["cla_fraction"].verdict == "within"
    fin, pulled = shown.design.outline("fin"), shown.pulled.outline("fin")
    moved = [round(b.x - a.x, 9) for a, b in zip(fin.nodes, pulled.nodes, strict=True)]
    assert sorted(moved) == [0, 0, 0, PULL_MM, PULL_MM]


@pytest.mark.parametrize("pin", [(400.0, 80.0), (420.0, 80.0), (300.0, -5.0)])
def test_the_card_hangs_with_its_cla_straight_below_the_pin(pin: tuple[float, float]) -> None:
    cla = (411.0, 18.0)
    arm = QPointF(cla[0] - pin[0], -(cla[1] - pin[1]))
    hung = QTransform().rotate(hang_turn(pin, cla)).map(arm)
    assert hung.x() == pytest.approx(0, abs=1e-9)
    assert hung.y() > 0


@pytest.mark.parametrize("paint", [paint_card, paint_rule, paint_change])
@pytest.mark.parametrize("theme", [DAY, NIGHT], ids=["day", "night"])
@pytest.mark.parametrize("size", [(416, 116), (480, 120), (900, 236)])
def test_a_picture_stays_inside_its_place(
    qapp: QApplication, paint: Paint, theme: Theme, size: tuple[int, int]
) -> None:
    margin = 30
    image = QImage(size[0] + 2 * margin, size[1] + 2 * margin, QImage.Format.Format_RGB32)
    image.fill(theme.paper)
    blank = image.copy()
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    paint(painter, QRectF(margin, margin, *size), theme)
    painter.end()
    assert image != blank
    # A label's rim of paper does not show on paper; four pixels are left for lines and twins.
    inside = QRect(margin, margin, *size).adjusted(-4, -4, 4, 4)
    for box in (
        QRect(0, 0, image.width(), inside.top()), QRect(0, inside.bottom() + 1, image.width(), 26),
        QRect(0, 0, inside.left(), image.height()), QRect(inside.right() + 1, 0, 26, image.height()),
    ):
        assert image.copy(box) == blank.copy(box), box


def test_it_follows_the_theme(welcome: Welcome) -> None:
    welcome.set_recent([Path("/x/teal.sternpost")])
    by_day = {part: grabbed(part) for part in (*entries(welcome), *welcome.findChildren(Picture))}
    welcome.set_theme(NIGHT)
    for part, day in by_day.items():
        assert grabbed(part) != day
    welcome.set_theme(DAY)
    for part, day in by_day.items():
        assert grabbed(part) == day


def test_its_words_are_ours(welcome: Welcome) -> None:
    said = " ".join(
        [label.text() for label in welcome.findChildren(QLabel)]
        + [e.text() + " " + e.accessibleDescription() for e in entries(welcome)]
    ).lower()
    assert not re.search(r"\b(project|model|layer|background|airplane|center|target|vertex|shape)s?\b", said)
