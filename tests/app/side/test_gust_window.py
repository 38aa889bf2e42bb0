"""After a gust beside the window: flown as the hand draws, a kept state beside it, played and stopped."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import pytest
from driving import CTRL, LEFT, Driver, bare_sample, sample
from gust_desk import Clock, away, drawn, flown_by, kept_smaller, opened, pick, shows
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel, QWidget

from app.kit.inks import mixed
from app.kit.theme import DAY, NIGHT
from app.side.gust_figures import FIGURES, figure_words
from app.side.gust_window import NOTHING_KEPT, GustWindow
from core.design import Design, Mark
from core.geometry.ring import point_on, ring_of
from core.redesign.alternatives import delete, keep
from core.redesign.curves import design_at
from core.stability.lateral.gust import Flown, Kick, after_a_gust, gust_values
from core.stability.readings import NO_SCALE, ReadingsEngine

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise)")
Key = Qt.Key


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def gust(driver: Driver, clock: Clock) -> Iterator[GustWindow]:
    window = opened(driver, clock)
    yield window
    away(window)


def _edge(driver: Driver, outline_id: str, edge: int) -> tuple[float, float]:
    x, z = point_on(ring_of(driver.outline(outline_id).nodes), edge, 0.5)
    return float(x), float(z)


# What it shows


def test_it_opens_from_the_menu_and_shows_what_the_core_says(driver: Driver) -> None:
    driver.open_outlines(bare_sample())
    driver.do("gust")
    window = driver.window.side._open["gust"]
    assert isinstance(window, GustWindow) and window.windowTitle() == "After a gust"
    flown = flown_by(driver.design)
    assert shows(window, flown) and len(flown.seconds) > 100
    assert f"{window.sentence.text()} {window.more.text()}" == flown.sentence
    values = gust_values(driver.window.readout.readings.aeroplane)
    for key, name, *_ in FIGURES:
        assert window.figures.now[key].text() == figure_words(key, values) != "–"
        assert name in window.figures.now[key].accessibleName()
    away(window)


def test_figures_in_their_units() -> None:
    values = {"wag_period_s": 1.234, "wag_damping": 0.256, "spiral_upright_share": 0.84, "roll_time_s": "no"}
    shown = {key: figure_words(key, values) for key, *_ in FIGURES}
    assert shown == {
        "wag_period_s": "1.23 s", "wag_damping": "0.26", "spiral_upright_share": "8 of 10",
        "roll_time_s": "–", "wag_half_time_s": "–",
    }


def test_it_follows_a_drag_of_the_mouse(gust: GustWindow, driver: Driver) -> None:
    document, before = driver.window.document, drawn(gust, "heading")[1][1].copy()
    start = _edge(driver, "rudder", 2)
    driver.drag(start, (start[0] + 25.0, start[1]), CTRL, steps=6, drop=False)
    assert document.busy
    driver.until(lambda: not np.allclose(drawn(gust, "heading")[1][1], before, atol=1e-3))
    driver.until(lambda: not gust._soon.isActive())
    assert document.busy and not gust.playing
    # Half as fine while the hand has it, and not far from the whole.
    aeroplane = driver.window.readout.readings.aeroplane
    assert aeroplane.coarse and aeroplane.design is document.design
    under_way, whole = after_a_gust(aeroplane), flown_by(document.design)
    assert isinstance(under_way, Flown) and shows(gust, under_way)
    assert np.allclose(under_way.heading.middle, whole.heading.middle, atol=0.25)
    driver.release((start[0] + 25.0, start[1]), CTRL)
    assert not document.busy
    driver.until(lambda: not gust._soon.isActive())
    assert shows(gust, flown_by(document.committed))
    driver.window.undoing.undo()
    driver.until(lambda: not gust._soon.isActive())
    assert np.allclose(drawn(gust, "heading")[1][1], before, atol=1e-6)


def test_under_a_drag_it_is_flown_at_most_once_in_a_while(
    gust: GustWindow, driver: Driver, monkeypatch: pytest.MonkeyPatch
) -> None:
    flights: list[int] = []
    fly = gust.fly
    gust._soon.timeout.disconnect()
    gust._soon.timeout.connect(lambda: (flights.append(1), fly()))
    document = driver.window.document
    document.begin("scale")
    for step in range(1, 30):
        document.preview(design_at(document.committed, "fin", 1.0 + 0.01 * step))
    assert not flights and gust._soon.isActive()
    driver.until(lambda: bool(flights))
    assert len(flights) == 1
    document.abort()
    driver.until(lambda: not gust._soon.isActive())


def test_where_flying_takes_long_the_hand_keeps_most_of_the_time(
    gust: GustWindow, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert gust._soon.interval() == 40

    def slow(*_: object) -> str:
        clock.now += 0.15
        return "slow"

    monkeypatch.setattr("app.side.gust_trip.after_a_gust", slow)
    gust.fly()
    assert gust._soon.interval() == 300


def test_an_axis_grows_under_the_hand_and_shrinks_only_afterwards(gust: GustWindow, driver: Driver) -> None:
    document, plot = driver.window.document, gust.plots["heading"]
    document.begin("scale")
    document.preview(design_at(document.committed, "fin", 1.6))
    gust.fly()
    tall = plot.ends
    document.preview(design_at(document.committed, "fin", 1.0))
    gust.fly()
    assert plot.ends == tall, "no jump under the hand"
    document.abort()
    gust.fly()
    assert plot.ends[1] < tall[1]


@pytest.mark.parametrize("kick", ["gust", "rudder"])
def test_the_axis_holds_lines_and_bands(gust: GustWindow, driver: Driver, kick: Kick) -> None:
    small = replace(driver.design.flight, rudder_throw_deg=3.0)
    driver.window.document.apply("throw", lambda d: replace(d, flight=small))
    gust.choose_kick(kick)
    for name, plot in gust.plots.items():
        low, high = plot.ends
        every = np.concatenate([y for _, y in drawn(gust, name)])
        assert low < 0.0 < high and (low <= every).all() and (every <= high).all()


def test_choosing_a_kick_flies_that_one_from_the_beginning(gust: GustWindow, driver: Driver) -> None:
    gust.go_to(3.0)
    QTest.mouseClick(gust.kicks["rudder"], LEFT)
    flown = flown_by(driver.design, "rudder")
    assert shows(gust, flown) and not shows(gust, flown_by(driver.design))
    assert f"{gust.sentence.text()} {gust.more.text()}" == flown.sentence
    assert gust.playing and gust.second == 0.0
    assert gust.kicks["rudder"].isChecked() and not gust.kicks["gust"].isChecked()
    QTest.keyClick(gust.kicks["gust"], Key.Key_Space)
    assert gust.kick == "gust" and shows(gust, flown_by(driver.design))


def test_nothing_moves_up_and_down_under_the_hand(gust: GustWindow, driver: Driver) -> None:
    """What is said may take more lines while a hand draws, and does not give them back before it lets go."""
    document, places = driver.window.document, []
    document.begin("scale")
    for size in (1.0, 0.5, 1.3, 0.5, 1.6):
        document.preview(design_at(document.committed, "fin", size))
        gust.fly()
        driver.settle()
        places.append(gust.above.y())
    assert places == sorted(places)
    document.abort()


def test_a_proposal_is_called_one(gust: GustWindow, driver: Driver) -> None:
    document = driver.window.document
    document.propose(design_at(document.committed, "fin", 1.3), "scale the fin")
    driver.until(lambda: gust.sentence.text().startswith("If the proposal is done: After the gust"))
    assert shows(gust, flown_by(document.design))
    document.withdraw()
    driver.until(lambda: gust.sentence.text().startswith("After the gust"))


# A kept state beside it


def test_nothing_kept_says_how_to_keep(gust: GustWindow) -> None:
    assert not gust.beside_it.isEnabled() and gust.beside_it.toolTip() == NOTHING_KEPT
    assert gust.other.isHidden() and not gust.plots["heading"]._ends["now"].isVisible()


def test_a_kept_state_is_flown_beside_it(gust: GustWindow, driver: Driver) -> None:
    driver.window.document.start(kept_smaller())
    driver.until(lambda: gust.beside_it.isEnabled())
    pick(gust, 1)
    kept, now = flown_by(bare_sample()), flown_by(driver.design)
    assert shows(gust, now) and shows(gust, kept, "kept")
    assert gust.other.isVisible() and kept.sentence in gust.other.text() and "as drawn" in gust.other.text()
    for plot in gust.plots.values():
        # Told apart by more than the colour: by dashes, and by a name at the end of each line.
        styles = {whose: plot._lines[whose][1].opts["pen"].style() for whose in ("now", "kept")}
        assert styles == {"now": Qt.PenStyle.SolidLine, "kept": Qt.PenStyle.DashLine}
        names = {whose: plot._ends[whose] for whose in ("now", "kept")}
        assert all(name.isVisible() for name in names.values())
        assert [names[w].toPlainText() for w in ("now", "kept")] == ["now", "as drawn"]
        boxes = [name.mapRectToScene(name.boundingRect()) for name in names.values()]
        assert not boxes[0].adjusted(0, 3, 0, -3).intersects(boxes[1])
    gust.go_to(0.4)
    assert gust.above.kept is not None and gust.above.now is not None
    assert gust.above.kept.heading == pytest.approx(np.interp(0.4, kept.seconds, kept.heading.middle))
    assert "as drawn: heading" in gust.above.accessibleDescription()
    assert f"- - {gust.above.kept.heading:.1f}°" in gust.plots["heading"].figures.text()
    values = gust_values(ReadingsEngine().read(bare_sample()).aeroplane)
    assert figure_words("wag_period_s", values) in gust.figures.kept["wag_period_s"].text()
    pick(gust, 0)
    assert gust.kept is None and gust.other.isHidden() and gust.above.kept is None
    assert all(len(seconds) == 0 for seconds, _ in drawn(gust, "heading", "kept"))


def test_a_line_that_leaves_its_axis_is_named_where_it_leaves(gust: GustWindow, driver: Driver) -> None:
    """Full rudder held for half a second turns it round before five seconds are over."""
    driver.window.document.start(kept_smaller())
    driver.until(lambda: gust.beside_it.isEnabled())
    pick(gust, 1)
    gust.choose_kick("rudder")
    plot = gust.plots["heading"]
    assert plot.now is not None and plot.now.band.middle[-1] > plot.ends[1]
    leaves = float(np.interp(plot.ends[1], plot.now.band.middle[40:], plot.now.seconds[40:]))
    assert plot._ends["now"].pos().x() == pytest.approx(leaves, abs=0.05)


def test_a_figure_that_most_draws_have_not_says_why(gust: GustWindow) -> None:
    gust.figures.show_values({"wag_period_s": "it swaps ends", "roll_time_s": 0.1}, None)
    assert gust.figures.now["wag_period_s"].text() == "–"
    assert [label.text() for label in gust.figures.findChildren(QLabel)].count("it swaps ends") == 1


def test_a_kept_state_that_is_taken_away_is_flown_no_more(gust: GustWindow, driver: Driver) -> None:
    driver.window.document.start(kept_smaller())
    driver.until(lambda: gust.beside_it.isEnabled())
    pick(gust, 1)
    driver.window.document.apply("delete", lambda d: delete(d, d.alternatives[0].id))
    driver.until(lambda: gust.kept is None)
    assert gust.beside_it.currentText() == "nothing" and not gust.beside_it.isEnabled()


def test_a_kept_state_that_cannot_be_flown_says_why(gust: GustWindow, driver: Driver) -> None:
    heavy = bare_sample()
    driver.window.document.start(
        replace(keep(replace(heavy, weights=()), "bare"), weights=heavy.weights)
    )
    driver.until(lambda: gust.beside_it.isEnabled())
    pick(gust, 1)
    assert gust.other.text() == "- - bare: Not given: enter the weights."
    assert shows(gust, flown_by(driver.design)) and gust.above.wind_deg is not None


# What is missing


def test_without_weights_it_says_so(gust: GustWindow, driver: Driver) -> None:
    document = driver.window.document
    document.apply("weights", lambda d: replace(d, weights=()))
    driver.until(lambda: gust.sentence.text() == "Not yet: enter the weights.")
    assert gust.more.text() == "" and not gust.playing
    assert not gust.play_button.isEnabled() and not gust.slider.isEnabled()
    assert all(len(seconds) == 0 for seconds, _ in drawn(gust, "bank"))
    assert all(label.text() == "–" for label in gust.figures.now.values())
    assert not [label for label in gust.figures.findChildren(QLabel) if "enter the weights" in label.text()]
    # It stands there, and nothing blows.
    assert gust.above.now is not None and gust.above.now.heading == 0.0 and gust.above.wind_deg is None
    document.undo()
    driver.until(lambda: gust.slider.isEnabled())
    assert shows(gust, flown_by(document.committed))


def test_all_that_is_lacking_is_listed(gust: GustWindow, driver: Driver) -> None:
    still = replace(driver.design.flight, speed_m_s=0.0)
    driver.window.document.apply("bare", lambda d: replace(d, weights=(), flight=still, cg_mark=None))
    driver.until(lambda: gust.sentence.text().startswith("Not yet: "))
    assert gust.more.text() == "In all it needs the CG, the weights and a flight speed above zero."
    gust.grab()


def test_without_a_rudder_the_gust_can_still_be_chosen(gust: GustWindow, driver: Driver) -> None:
    QTest.mouseClick(gust.kicks["rudder"], LEFT)
    driver.window.document.apply(
        "no throw", lambda d: replace(d, flight=replace(d.flight, rudder_throw_deg=0.0))
    )
    driver.until(lambda: gust.sentence.text().startswith("Not yet: "))
    assert "throw" in gust.sentence.text()
    QTest.mouseClick(gust.kicks["gust"], LEFT)
    assert shows(gust, flown_by(driver.design))


def test_without_a_scale_no_length_is_believed(gust: GustWindow, driver: Driver) -> None:
    scans = tuple(replace(scan, scale_from="none") for scan in sample().design.scans)
    driver.window.document.apply("scan", lambda d: replace(d, scans=scans))
    driver.until(lambda: gust.sentence.text() == f"Not yet: {NO_SCALE}.")


def test_areas_that_cannot_be_told_are_not_flown_by(gust: GustWindow, driver: Driver) -> None:
    driver.window.readout.withhold("the areas differ")
    driver.until(lambda: gust.sentence.text() == "Not yet: the areas differ.")


def test_an_empty_sheet_and_a_cg_far_off(gust: GustWindow, driver: Driver) -> None:
    for design in (
        Design(format=1, title="empty"), replace(bare_sample(), cg_mark=Mark(9e5, 0.0)),
        replace(bare_sample(), wings=(), tailplanes=(), outlines=()),
    ):
        driver.window.document.apply("other", lambda _, d=design: d)
        gust.fly()
        gust.grab()
        assert gust.sentence.text()


# How it looks


@pytest.mark.parametrize("theme", [DAY, NIGHT], ids=["day", "night"])
def test_it_is_painted_in_the_colours_of_the_window(gust: GustWindow, theme: object) -> None:
    gust.set_theme(theme)
    gust.go_to(1.0)
    for part in (gust.above, gust.plots["bank"].field):
        picture = part.grab().toImage()
        assert picture.pixelColor(picture.width() - 3, picture.height() - 3) == QColor(theme.paper)


def test_everything_has_a_name_for_a_screen_reader(gust: GustWindow) -> None:
    parts: list[QWidget] = [
        gust.slider, gust.beside_it, gust.above, *(plot.field for plot in gust.plots.values()), gust.sentence,
        gust.more, gust.other, *gust.figures.now.values(),
    ]
    assert all(part.accessibleName() for part in parts)
    assert all(button.text() and button.accessibleDescription() for button in gust.kicks.values())


def test_nothing_is_cut_off_when_it_is_small(gust: GustWindow, driver: Driver) -> None:
    driver.window.document.start(kept_smaller())
    driver.until(lambda: gust.beside_it.isEnabled())
    pick(gust, 1)
    gust.resize(gust.minimumSize())
    driver.settle()
    assert gust.height() <= 560 and gust.width() <= 1000
    for label in gust.findChildren(QLabel):
        if label.isVisible() and label.wordWrap():
            assert label.height() >= label.heightForWidth(label.width()), label.text()
    for plot in gust.plots.values():
        assert plot.field.height() >= plot.field.minimumHeight()


def test_the_aeroplane_is_drawn_at_its_heading(gust: GustWindow) -> None:
    """The axis of what is painted in the body's colour, by its moments, against the angle that is said."""
    for second in (0.35, 0.6, 1.5):
        gust.go_to(second)
        now = gust.above.now
        assert now is not None and gust.above.times > 1
        wanted = gust.above.times * now.heading
        picture = gust.above.grab().toImage()
        body = mixed(DAY.body, DAY.paper, 0.75).rgb()
        spots = np.array([
            (x, y) for x in range(picture.width()) for y in range(picture.height())
            if picture.pixel(x, y) == body
        ], dtype=float)
        across, down = (spots - spots.mean(axis=0)).T
        lean = 0.5 * math.atan2(2.0 * (across * down).sum(), (across**2 - down**2).sum())
        # From the picture's x axis to a heading: clockwise from straight up.
        heading = math.degrees(lean) + 90.0
        heading -= 180.0 if heading > 90.0 else 0.0
        assert heading == pytest.approx(wanted, abs=1.0)
