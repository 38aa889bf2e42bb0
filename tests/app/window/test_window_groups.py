"""The groups of readings in the window: what each says it needs is what it lacks."""

from __future__ import annotations

import pytest
from driving import Driver, bare_sample
from msgspec.structs import replace

from core.design import EMPTY
from core.redesign.design_edits import with_outlines
from core.stability.wording import figure

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")


def says(driver: Driver, group: str) -> str:
    """What stands under a group's heading of what it lacks; empty where nothing is seen."""
    label = driver.window.readings.groups[group]._needs
    return "" if label.isHidden() else label.text()


def test_the_pitch_group_asks_for_the_width_when_that_is_what_it_lacks(driver: Driver) -> None:
    driver.open_outlines(replace(bare_sample(), fuselage_width=None))
    group = driver.window.readings.groups["pitch"]
    assert says(driver, "pitch") == (
        "Tells whether the CG is safe, and the tailplane's incidence. Needs the fuselage width."
    )
    assert not group.heading.isChecked()
    driver.type_into(driver.window.readings._inputs["width"], "4 in")
    assert says(driver, "pitch") == "" and not group.heading.isChecked()
    assert not group._words.isHidden() and group._words.text().startswith("The CG lies")
    assert driver.reading("static_margin") != "–"


def test_an_empty_sheet_says_what_each_group_needs_and_the_words_follow(driver: Driver) -> None:
    driver.open_outlines(EMPTY)
    driver.window.begin_blank()
    driver.settle()
    wanted = {
        "side": "Needs an outline.", "tail": "Needs a fin or rudder.", "wing": "Needs a wing.",
        "yaw": "Needs the fuselage, a fin or rudder, a wing and the CG.",
        "rudder": "Needs the fuselage, a rudder, a wing and the CG.",
        "gust": "Needs the fuselage, a fin or rudder, a wing, the CG and the weights.",
        "spiral": "Needs a fin or rudder, a wing, the CG and the weights.",
        "pitch": "Needs the fuselage, a wing, a tailplane, the CG and the fuselage width.",
        "weight": "Needs the weights.",
    }
    for group, words in wanted.items():
        assert says(driver, group).endswith(words), group
    for at in ((100, 0), (500, 0), (500, 60)):
        driver.click(at)
    driver.key("\r", on=driver.canvas)
    heading = driver.window.readings.groups["side"].heading
    heading.click()
    assert says(driver, "side") == "The empty rows need the CG."
    heading.click()
    assert says(driver, "yaw").endswith("Needs a fin or rudder, a wing and the CG.")
    driver.do("undo")
    assert says(driver, "side").endswith("Needs an outline.")


def test_a_group_that_is_opened_before_its_time_still_says_what_it_needs(driver: Driver) -> None:
    driver.open_outlines(replace(bare_sample(), fuselage_width=None))
    heading = driver.window.readings.groups["pitch"].heading
    heading.click()
    assert heading.isChecked() and says(driver, "pitch").endswith("Needs the fuselage width.")
    # The window is shared: it is left as it was found.
    heading.click()


def test_the_sentences_with_figures_follow_a_drag(driver: Driver) -> None:
    window = driver.window
    window.document.start(bare_sample())
    group, rudder = window.readings.groups["tail"], driver.design.outline("rudder")
    driver.until(lambda: group._words.isVisible())
    before = group._words.text()
    window.document.begin("stretch the rudder")
    wider = replace(rudder, nodes=tuple(replace(n, x=938.0 + 1.5 * (n.x - 938.0)) for n in rudder.nodes))
    window.document.preview(with_outlines(window.document.edited, {rudder.id: wider}))
    driver.until(lambda: group._words.text() != before)
    assert figure("fin_area", window.readout.readings, "in") in group._words.text()
    window.document.abort("test")
    driver.until(lambda: group._words.text() == before)
