"""Asking for a name by the dialogue that Qt draws and by its keys: nothing is replaced unasked."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from driving import Driver, bare_sample
from msgspec.structs import replace
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog, QLineEdit

from app.kit.asking_name import ask_name
from app.side.bench_sheet_window import BenchSheetWindow
from core.design_file import encode, read, write
from core.redesign.design_edits import set_cg

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support")
Typing = Callable[..., list[str]]


@pytest.fixture
def typing(driver: Driver) -> Iterator[Typing]:
    """Answers the file dialogues to come with the names given, one a dialogue; "" calls it off."""
    names: list[str] = []
    offered: list[str] = []
    timer = QTimer()
    timer.setInterval(5)

    def look() -> None:
        dialog = QApplication.activeModalWidget()
        line = dialog.findChild(QLineEdit) if isinstance(dialog, QFileDialog) else None
        if line is None or not dialog or not dialog.isVisible() or not names:
            return
        name = names.pop(0)
        offered.append(line.text())
        if name:
            line.selectAll()
            QTest.keyClicks(line, name)
            QTest.keyClick(line, Qt.Key.Key_Return)
        else:
            QTest.keyClick(dialog, Qt.Key.Key_Escape)

    timer.timeout.connect(look)
    timer.start()

    def types(*given: str) -> list[str]:
        names.extend(given)
        return offered

    yield types
    timer.stop()
    assert not names, "a dialogue was expected that never came"


@pytest.fixture
def at_work(driver: Driver, tmp_path: Path) -> Driver:
    """A design with a file, changed since; beside it lie another design, and a letter."""
    write(tmp_path / "mine.sternpost", bare_sample(), {})
    write(tmp_path / "other.sternpost", set_cg(bare_sample(), 111.0, 0.0), {})
    (tmp_path / "letter.sternpost").write_text("Dear Anna,\n")
    driver.window.filing.open_path(tmp_path / "mine.sternpost")
    driver.window.document.apply("mark CG", lambda d: set_cg(d, 400.0, 0.0))
    return driver


def test_another_design_is_replaced_only_after_the_question(
    at_work: Driver, typing: Typing, tmp_path: Path
) -> None:
    other = tmp_path / "other.sternpost"
    before = other.read_bytes()
    offered = typing("other", "")
    at_work.boxes.answer("Choose another name…")
    at_work.do("save-as")
    asked = "“other.sternpost” is there already: replace it? What is in it now is lost."
    assert at_work.boxes.seen == [asked]
    assert other.read_bytes() == before and at_work.window.document.dirty
    assert offered == ["mine.sternpost", "other.sternpost"], "the name is there again to be changed"
    typing("other")
    at_work.boxes.answer("Replace it")
    at_work.do("save-as")
    assert encode(read(other).design) == encode(at_work.design) and not at_work.window.document.dirty
    assert at_work.window.document.path == other


def test_a_file_that_is_no_design_is_never_replaced(at_work: Driver, typing: Typing, tmp_path: Path) -> None:
    typing("letter", "new")
    at_work.boxes.answer("OK")
    at_work.do("save-as")
    assert "what is there already is text, and a design would replace it" in at_work.boxes.seen[0].lower()
    assert (tmp_path / "letter.sternpost").read_text() == "Dear Anna,\n"
    assert at_work.window.document.path == tmp_path / "new.sternpost"


def test_a_version_in_the_name_is_no_ending(at_work: Driver, typing: Typing, tmp_path: Path) -> None:
    typing("nose v1.2")
    at_work.do("save-as")
    assert (tmp_path / "nose v1.2.sternpost").exists() and not (tmp_path / "nose v1.2").exists()
    typing("plan.pdf")
    at_work.do("save-as")
    assert read(tmp_path / "plan.pdf.sternpost").design == at_work.window.document.committed


@pytest.mark.parametrize(("title", "offers"), [
    ("Quarter 1/4 Meadow", "Quarter 1-4 Meadow"), ("Nose v1.2", "Nose v1.2"), ("aux", "aux-"),
])
def test_a_title_is_offered_as_a_plain_name(
    driver: Driver, typing: Typing, tmp_path: Path, title: str, offers: str
) -> None:
    driver.window.document.start(replace(bare_sample(), title=title))
    offered = typing("", "")
    driver.do("save-as")
    driver.do("export-svg")
    assert offered == [f"{offers}.sternpost", f"{offers}.svg"]


@pytest.mark.parametrize("to", ["svg", "dxf", "csv", "png", "svg-picture"])
def test_an_export_asks_before_it_replaces(
    at_work: Driver, typing: Typing, tmp_path: Path, to: str
) -> None:
    ending = to.removesuffix("-picture")
    out = tmp_path / f"plan.{ending}"
    command = {"png": "export-png", "svg-picture": "export-svg-picture"}.get(to, f"export-{to}")
    typing("plan")
    at_work.do(command)
    made = out.read_bytes()
    assert made and not at_work.boxes.seen
    at_work.window.document.apply("mark CG", lambda d: set_cg(d, 250.0, 0.0))
    typing("plan", "")
    at_work.boxes.answer("Choose another name…")
    at_work.do(command)
    assert out.read_bytes() == made and f"“plan.{ending}” is there already" in at_work.boxes.seen[0]
    (tmp_path / f"letter.{ending}").write_bytes((tmp_path / "other.sternpost").read_bytes())
    typing("letter", "")
    at_work.boxes.answer("OK")
    at_work.do(command)
    assert "what is there already is a design" in at_work.boxes.seen[-1].lower()
    assert read(tmp_path / "other.sternpost").design.cg_mark is not None


def test_a_sheet_asks_before_it_replaces(at_work: Driver, typing: Typing, tmp_path: Path) -> None:
    window = at_work.window.side.show("bench-sheet")
    assert isinstance(window, BenchSheetWindow)
    at_work.until(lambda: bool(window.preview.pages) and not window.worker.busy)
    plan = tmp_path / "plan.pdf"
    plan.write_bytes(b"%PDF-1.4\n/Creator (\xfe\xff\0S\0t\0e\0r\0n\0p\0o\0s\0t)\n")
    typing("plan", "")
    at_work.boxes.answer("Choose another name…")
    window.foot.write_button.click()
    assert "“plan.pdf” is there already: replace it?" in at_work.boxes.seen[0]
    assert len(plan.read_bytes()) < 100 and not window.foot.worker.busy
    typing("plan")
    at_work.boxes.answer("Replace it")
    window.foot.write_button.click()
    at_work.until(lambda: not window.foot.worker.busy)
    assert len(plan.read_bytes()) > 1000
    window.close()
    at_work.settle()


@pytest.mark.parametrize(("typed", "kind", "is_called"), [
    ("parts", "", "parts.svg"), ("parts", "DXF (*.dxf)", "parts.dxf"),
    ("parts.svg", "DXF (*.dxf)", "parts.dxf"),
    ("parts.dxf", "SVG (*.svg)", "parts.dxf"), ("fin 1.5", "DXF (*.dxf)", "fin 1.5.dxf"),
])
def test_the_kind_that_is_chosen_gives_the_ending(
    driver: Driver, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, typed: str, kind: str, is_called: str
) -> None:
    # Some systems' own dialogues leave the offered ending where another kind is chosen.
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(tmp_path / typed), kind))
    asked = ask_name(driver.window, "Write", tmp_path / "parts.svg", "SVG (*.svg);;DXF (*.dxf)")
    assert asked == (tmp_path / is_called, kind)
