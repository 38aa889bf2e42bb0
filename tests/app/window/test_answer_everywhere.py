"""Each state of the answer, the same in the window, on the bench sheet and on the command line."""

from __future__ import annotations

import datetime
import json
from pathlib import Path

import pypdfium2
import pytest
from driving import Driver, bare_sample
from msgspec.structs import replace

from app.__main__ import main
from app.paper.bench_sheet import bench_sheet
from app.paper.pages import pdf
from core.design import EMPTY, Aim, Design
from core.design_file import write
from core.redesign.refit import refit
from core.stability.answer import AnswerState, answer
from core.stability.readings import ReadingsEngine


def designs() -> dict[AnswerState, Design]:
    """One design for every state, each made from a sample."""
    glider, harrow, twin = (
        bare_sample(name) for name in ("long-meadow-2000", "marsh-harrow-52", "tallow-twin")
    )
    return {
        "missing": replace(glider, cg_mark=None, cg_from="mark"),
        "stop": refit(twin, "cg", "cla_fraction", 0.25).design,
        "incomplete": replace(glider, wings=(), tailplanes=()),
        "doubt": replace(harrow, aim=Aim(0.19, 0.15, 0.24)),
        "below": harrow,
        "above": twin,
        "within": glider,
    }


STATES: tuple[AnswerState, ...] = ("missing", "stop", "incomplete", "doubt", "below", "above", "within")


def plain(text: str) -> str:
    """Without line breaks, which a page has where it wraps."""
    return "".join(text.split())


@pytest.mark.parametrize("state", STATES)
def test_a_state_is_the_same_wherever_it_is_said(
    driver: Driver, tmp_path: Path, capsys: pytest.CaptureFixture[str], state: AnswerState
) -> None:
    design = designs()[state]
    engine = ReadingsEngine()
    readings = engine.read(design)
    said = answer(design, readings)
    assert said.state == state
    driver.open_outlines(design)
    shown = driver.window.answer.shown
    assert (shown.state, shown.words, shown.notes) == (state, said.words, said.notes)
    assert all(words in driver.window.answer.accessibleDescription() for words in said.words)

    path = tmp_path / "it.sternpost"
    write(path, design, {})
    assert main(["readings", str(path), "--json"]) == 0
    table = json.loads(capsys.readouterr().out)["answer"]
    assert table["state"] == state and tuple(table["words"]) == said.words
    assert table["left_out"] == [note.words for note in said.left_out]
    assert table["at_odds"] == [note.words for note in said.at_odds]
    assert main(["readings", str(path)]) == 0
    out = capsys.readouterr().out
    assert all(words in out for words in (said.sentence, said.meaning, said.advice, said.sure))

    sheet = bench_sheet(
        design, readings, engine.counted_areas(design), paper="a4", today=datetime.date(2026, 1, 2)
    )
    page = pypdfium2.PdfDocument(pdf(sheet))[0]
    text = plain(page.get_textpage().get_text_bounded())
    for words in (said.sentence, said.state_words, said.meaning, said.advice, said.sure):
        assert plain(words) in text, words
    nothing = "Nothing needs to be done"
    assert (nothing in out) == (state == "within") == (plain(nothing) in text)


def test_an_empty_sheet_says_the_first_step(driver: Driver) -> None:
    driver.window.document.start(EMPTY)
    driver.settle()
    assert driver.window.answer.shown.state == "missing"
