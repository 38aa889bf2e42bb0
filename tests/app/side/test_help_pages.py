"""The help's texts: links lead somewhere, pictures are there, every part of the window has a place."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest
from driving import ROOT, SAMPLES, Driver
from msgspec.structs import replace
from PySide6.QtGui import QImage

from app.canvas.tools.all_hands import all_hands
from app.canvas.tools.edit import EditHand
from app.kit.help_places import FIELDS, FIRST_PLACE, GROUPS, HANDS, PANELS, SIDE_WINDOWS, reading_place
from app.kit.theme import DAY, NIGHT
from app.side.help_drawings import DRAWINGS, READING_DRAWINGS, drawn
from app.side.help_pages import found_in, pages
from app.side.help_sketch import HIGH, WIDE
from app.side.help_text import Page, page, sections, spans
from app.side.help_view import picture_file
from core.design_file import read
from core.stability import catalogue
from core.stability.meanings import MEANINGS
from core.stability.readings import ReadingsEngine

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise)")


@pytest.fixture(scope="module")
def all_pages(qapp: object) -> dict[str, Page]:
    bench = None
    hands = all_hands(bench, EditHand(bench))  # type: ignore[arg-type]
    return {each.key: each for each in pages([], hands)}


@pytest.fixture(scope="module")
def places(all_pages: dict[str, Page]) -> set[str]:
    return {f"{each.key}/{section.key}" for each in all_pages.values() for section in each.sections}


def test_no_two_sections_have_the_same_place(all_pages: dict[str, Page], places: set[str]) -> None:
    assert len(places) == sum(len(each.sections) for each in all_pages.values()) > 120


def test_every_link_leads_to_a_section(all_pages: dict[str, Page], places: set[str]) -> None:
    links = {
        span.place for each in all_pages.values() for section in each.sections
        for block in section.blocks for span in block.spans if span.place
    }
    assert len(links) > 25
    assert links <= places


def test_every_part_of_the_window_has_a_place_that_is_there(places: set[str]) -> None:
    for known in (HANDS, SIDE_WINDOWS, GROUPS, FIELDS, PANELS):
        assert set(known.values()) <= places
    assert FIRST_PLACE in places
    assert {reading_place(key) for key in catalogue.TERMS} <= places
    assert {group.key for group in catalogue.GROUPS} == set(GROUPS)


def test_every_hand_and_every_side_window_is_named(all_pages: dict[str, Page]) -> None:
    bench = None
    assert set(all_hands(bench, EditHand(bench))) <= set(HANDS)  # type: ignore[arg-type]
    opened = set()
    for file in (ROOT / "app" / "side").glob("*_window.py"):
        kinds = (node for node in ast.parse(file.read_text("utf-8")).body if isinstance(node, ast.ClassDef))
        if any(kind.name.endswith("Window") for kind in kinds):
            opened.add(file.name.removesuffix("_window.py").replace("_", "-"))
    # What others are made of, and is opened by no name.
    assert opened - {"side", "sheet"} == set(SIDE_WINDOWS)


@pytest.mark.parametrize("theme", [DAY, NIGHT], ids=["day", "night"])
def test_every_picture_named_is_there_and_small(
    all_pages: dict[str, Page], theme: object, qapp: object
) -> None:
    named = {
        block.name for each in all_pages.values() for section in each.sections
        for block in section.blocks if block.what == "picture"
    }
    assert 6 <= len(named) <= 8
    for name in named:
        path = Path(picture_file(name, theme))  # type: ignore[arg-type]
        assert not QImage(str(path)).isNull(), path.name
        assert path.stat().st_size < 60_000, path.name


def test_the_script_makes_just_those_pictures(all_pages: dict[str, Page]) -> None:
    source = (ROOT / "tests" / "pictures" / "take_pictures.py").read_text("utf-8")
    made = next(
        ast.literal_eval(node.value) for node in ast.parse(source).body
        if isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == "HELP_PICTURES"
    )
    named = [
        block.name for section in all_pages["steps"].sections for block in section.blocks
        if block.what == "picture"
    ]
    assert list(made) == named
    files = {path.stem for path in (ROOT / "icons" / "help").iterdir()}
    assert files == {f"{name}-{light}" for name in named for light in ("day", "night")}


def test_every_word_has_a_drawing_and_every_drawing_is_drawn(qapp: object) -> None:
    terms = {section.key for section in page("words").sections}
    assert terms == set(DRAWINGS)
    assert set(READING_DRAWINGS) == set(catalogue.TERMS)
    blank = {}
    for theme in (DAY, NIGHT):
        for name in DRAWINGS:
            image = drawn(name, theme, 2.0)
            assert (image.width(), image.height()) == (2 * WIDE, 2 * HIGH)
            assert all(image != other for other in blank.values()), name
            blank[name, theme.dark] = image


def test_a_word_is_told_in_one_sentence() -> None:
    for section in page("words").sections:
        (block,) = section.blocks
        words = block.plain
        assert words[0].isupper() and words.endswith("."), section.key
        assert ". " not in words, section.key


def test_every_reading_has_a_meaning() -> None:
    assert set(MEANINGS) == set(catalogue.TERMS)
    for key, words in MEANINGS.items():
        assert words[0].isupper() and words.endswith(".") and "=" not in words, key


def test_search_finds_sections_with_all_words_headings_first(all_pages: dict[str, Page]) -> None:
    found = found_in(all_pages.values(), "TAIL arm")
    assert found[0][1].heading.casefold() == "tail arm"
    assert all("tail" in s.plain.casefold() and "arm" in s.plain.casefold() for _, s in found)
    assert ("words", "tail_arm") in {(p.key, s.key) for p, s in found}
    assert not found_in(all_pages.values(), "xyzzy")
    assert len(found_in(all_pages.values(), " ")) == sum(len(p.sections) for p in all_pages.values())


def test_what_is_said_of_the_samples_without_their_wings_holds(all_pages: dict[str, Page]) -> None:
    lost = []
    for path in sorted(SAMPLES.glob("*.sternpost")):
        design = read(path).design
        assert design.wings and design.tailplanes
        bare = replace(
            design, wings=tuple(replace(wing, in_side_area=False) for wing in design.wings),
            tailplanes=tuple(replace(tail, in_side_area=False) for tail in design.tailplanes),
        )
        shown, without = (ReadingsEngine().read(d).value("cla_fraction") for d in (design, bare))
        assert shown is not None and without is not None
        lost.append(round(100 * (without - shown)))
    twice = next(s for s in all_pages["method"].sections if s.key == "twice")
    assert f"read between {min(lost)} and {max(lost)} points less" in twice.plain and len(lost) == 3


def test_marks_of_a_text_are_read() -> None:
    text = "# T\n## a | A b\nGo [[words/cla|there]], *now* or **never**.\n- x\n= L | R\n~ cla\n! p | q\n"
    (one,) = sections(text)
    assert (one.key, one.heading) == ("a", "A b")
    assert [block.what for block in one.blocks] == ["words", "point", "row", "drawing", "picture"]
    assert [(s.words, s.place, s.stress) for s in one.blocks[0].spans] == [
        ("Go ", "", 0), ("there", "words/cla", 0), (", ", "", 0), ("now", "", 1), (" or ", "", 0),
        ("never", "", 2), (".", "", 0),
    ]
    assert one.blocks[2].plain == "L R"
    assert spans("<b>4 * 5</b> & so")[0].words == "<b>4 * 5</b> & so"


def test_the_keys_are_those_of_the_actions(driver: Driver) -> None:
    """Asked anew of the actions: changing one changes the page."""
    window = driver.window
    window.guidance.show("keys/hands")
    help_window = window.side.show("help")
    page_of_keys = help_window.pages["keys"]  # type: ignore[attr-defined]
    rows = {
        block.plain.rsplit(" ", 0)[0] for section in page_of_keys.sections for block in section.blocks
    }
    for name, action in window.menus.actions.items():
        for keys in action.shortcuts():
            text = keys.toString(keys.SequenceFormat.NativeText)
            assert any(text in row for row in rows), name
    for hand in driver.canvas.hands.values():
        if hand.letter:
            assert any(row.startswith(f"{hand.letter} {hand.label}") for row in rows)
    assert not any("Undo move" in row for row in rows)
    help_window.close()
