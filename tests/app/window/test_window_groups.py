"""The groups of readings in the window: what each says it needs is what it lacks."""

from __future__ import annotations

import pytest
from driving import Driver, bare_sample
from msgspec.structs import replace

from core.design import EMPTY

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
    assert says(driver, "pitch") == "" and group.heading.isChecked()
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
    assert says(driver, "side") == "The empty rows need the CG."
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
