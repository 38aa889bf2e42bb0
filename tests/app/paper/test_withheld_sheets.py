"""Everything that leaves the program while the figures cannot be told: none old, none wrong, the reason said.

Two ways of it: working out the readings fails, and the second count of the areas does not agree.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pypdfium2
import pytest
from driving import LEFT, Driver, bare_sample
from msgspec.structs import replace
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog, QPushButton

from app.side.outgoing import SheetFoot
from app.work.readout import UNREAD
from core.design import Design
from core.redesign.build_edits import new_build
from core.redesign.design_edits import set_cg
from core.stability import readings as engine
from core.stability.readings import Readings
from core.units import format_length

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support (propagateSizeHints|raise|grabbing)")
TWICE = "the areas cannot be told: counted in two ways the side area comes to two figures"
SHEETS = ("parts-sheet", "dimensioned", "bench-sheet", "gauges", "card", "template", "setting-up")
TELLS = {"bench-sheet", "card"}
"""The sheets with readings on them: they say why there are none."""


class BrokenError(RuntimeError):
    """What the engine is made to raise in the midst of its work."""


def fails(driver: Driver, patch: pytest.MonkeyPatch) -> str:
    """The CG is moved, and working out the readings fails from then on."""

    def fail(*_: object) -> object:
        raise BrokenError("no fin")

    patch.setattr(engine, "pitch_values", fail)
    mark = driver.design.cg_mark
    assert mark is not None
    with pytest.raises(BrokenError):
        driver.window.document.apply("CG", lambda design: set_cg(design, mark.x + 31.7, mark.z))
    return UNREAD


def withheld(driver: Driver, patch: pytest.MonkeyPatch) -> str:
    """The second count of the committed design does not agree, nor does any later one."""
    patch.setattr(engine, "recounted", lambda *_: TWICE)
    driver.window.readout.withhold(TWICE)
    return TWICE


def words_of(pdf: Path) -> str:
    document = pypdfium2.PdfDocument(pdf)
    words = " ".join(document[i].get_textpage().get_text_bounded() for i in range(len(document)))
    document.close()
    return " ".join(words.split())


def figures_of(readings: Readings) -> list[str]:
    """What depends on areas as sheets write it: the CLA fraction and where CLA and fin centre lie."""
    value = readings.value("cla_fraction")
    assert value is not None and readings.cla is not None and readings.fin_centre is not None
    lengths = [format_length(x, "mm") for x in (readings.cla[0], readings.fin_centre[0])]
    return [f"{100 * value:.1f} %", *lengths]


def said_in(words: str, text: str) -> bool:
    """True if ``words`` stand there, however they are broken into lines and hyphenated."""
    return re.sub(r"[\s.]", "", words).casefold()[:60] in re.sub(r"[\s.]", "", text).casefold()


@pytest.fixture
def opened(driver: Driver) -> Driver:
    design: Design = replace(bare_sample(), display_units="mm", builds=())
    driver.open_outlines(new_build(design, ("fin", "rudder"), "ribbed")[0])
    driver.until(lambda: not driver.window.recounter.busy)
    return driver


@pytest.fixture(params=[fails, withheld])
def happens(
    request: pytest.FixtureRequest, opened: Driver, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Callable[[], str]]:
    with monkeypatch.context() as patch:
        yield lambda: request.param(opened, patch)
        opened.window.side.close()


@pytest.mark.parametrize("which", SHEETS)
def test_no_sheet_says_what_cannot_be_told(
    which: str, opened: Driver, happens: Callable[[], str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "sheet.pdf"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_, **__: (str(out), ""))
    window = opened.window.side.show(which)
    foot = window.findChild(SheetFoot)
    assert foot is not None
    opened.until(lambda: foot.write_button.isEnabled())
    old = figures_of(opened.window.readout.readings)
    why = happens()
    # At once, as somebody does who has seen nothing yet; and again when all has settled.
    QTest.mouseClick(foot.write_button, LEFT)
    for _ in range(2):
        opened.until(lambda: not foot.worker.busy and foot.write_button.isEnabled())
        if out.exists():
            text = words_of(out)
            assert [figure for figure in old if figure in text] == []
            if which in TELLS:
                assert said_in(why, text), text
            out.unlink()
        QTest.mouseClick(foot.write_button, LEFT)
    opened.until(lambda: not foot.worker.busy)
    assert out.exists(), foot.said.text()


@pytest.mark.parametrize("to", ["csv", "png", "svg-picture"])
def test_no_export_holds_what_cannot_be_told(
    to: str, opened: Driver, happens: Callable[[], str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    window = opened.window
    out = tmp_path / f"out.{to.removesuffix('-picture')}"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_, **__: (str(out), ""))
    old = figures_of(window.readout.readings)
    why = happens()
    opened.do(f"export-{to}")
    data = out.read_bytes()
    if to == "csv":
        rows = [line for line in data.decode("utf-8-sig").splitlines() if line.startswith(("cla_", "side_"))]
        assert rows and all(",," in row and why in row for row in rows)
    elif to == "svg-picture":
        text = re.sub(r"<[^>]*>", " ", data.decode())
        assert [figure for figure in old if figure in text] == []
        assert said_in(why, text), text


def test_the_buttons_of_a_card_copy_wait_until_it_is_laid_anew(opened: Driver) -> None:
    window = opened.window.side.show("card")
    foot = window.findChild(SheetFoot)
    assert foot is not None
    opened.until(lambda: window.sheets is not None)
    mark = opened.design.cg_mark
    assert mark is not None
    opened.window.document.apply("CG", lambda design: set_cg(design, mark.x + 31.7, mark.z))
    button: QPushButton = foot.write_button
    assert not button.isEnabled(), "the card on view is that of the design before"
    opened.until(button.isEnabled)
    assert window.sheets.readings.cg.x == pytest.approx(mark.x + 31.7)
    opened.window.side.close()
