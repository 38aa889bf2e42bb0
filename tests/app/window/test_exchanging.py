"""Export and import from the menus."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from driving import Driver, bare_sample
from green import exact_moments
from PySide6.QtCore import QMimeData, QUrl
from PySide6.QtWidgets import QDialog, QFileDialog, QInputDialog

from app.window.asking_counts import CountsDialogue
from core.geometry.ring import ring_of

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")

ENTRIES = {
    "export-svg": ("harrow.svg", b"<?xml"), "export-dxf": ("harrow.dxf", b"  0\nSECTION"),
    "export-csv": ("harrow.csv", b"\xef\xbb\xbfkey,"), "export-png": ("harrow.png", b"\x89PNG"),
    "export-svg-picture": ("picture.svg", b"<?xml"),
}


@pytest.fixture
def marsh(driver: Driver) -> Driver:
    driver.window.document.start(bare_sample())
    return driver


def choose(monkeypatch: pytest.MonkeyPatch, save: Path | None = None, open_: Path | None = None) -> None:
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(save or ""), ""))
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(open_ or ""), ""))


def areas(driver: Driver) -> dict[str, float]:
    return {o.label: abs(exact_moments(ring_of(o.nodes))[0]) for o in driver.design.outlines}


@pytest.mark.parametrize("entry", sorted(ENTRIES))
def test_every_way_out_writes_its_file_and_says_where(
    marsh: Driver, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, entry: str
) -> None:
    name, begins = ENTRIES[entry]
    choose(monkeypatch, save=tmp_path / name)
    marsh.do(entry)
    assert (tmp_path / name).read_bytes().startswith(begins)
    assert name in marsh.said and not marsh.window.document.dirty


def test_an_ending_is_given_where_none_was_typed_and_nothing_happens_on_cancel(
    marsh: Driver, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    before = sorted(tmp_path.rglob("*.svg"))
    choose(monkeypatch)
    marsh.do("export-svg")
    assert sorted(tmp_path.rglob("*.svg")) == before and "written" not in marsh.said
    choose(monkeypatch, save=tmp_path / "plain")
    marsh.do("export-svg")
    assert (tmp_path / "plain.svg").exists()


def test_a_place_that_cannot_be_written_is_said(
    marsh: Driver, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    choose(monkeypatch, save=tmp_path / "nowhere" / "x.dxf")
    marsh.boxes.answer("OK")
    marsh.do("export-dxf")
    assert "x.dxf was not written. It could not be written: there is no such file" in marsh.boxes.seen[0]


def test_an_empty_design_has_nothing_to_export(
    driver: Driver, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    choose(monkeypatch, save=tmp_path / "x.svg")
    driver.boxes.answer("OK")
    driver.do("export-svg")
    assert not (tmp_path / "x.svg").exists() and "trace an outline" in driver.boxes.seen[0]


@pytest.mark.parametrize("ending", ["svg", "dxf"])
def test_outlines_come_back_in_one_edit_with_their_areas(
    marsh: Driver, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, ending: str
) -> None:
    path = tmp_path / f"harrow.{ending}"
    choose(monkeypatch, save=path, open_=path)
    marsh.do(f"export-{ending}")
    before, kinds = areas(marsh), {o.label: (o.kind, o.count) for o in marsh.design.outlines}
    driver = marsh
    driver.window.document.start(bare_sample().__class__(format=1, title="Empty"))
    driver.do("import")
    assert driver.window.document.undo_name == "import outlines"
    assert {o.label: (o.kind, o.count) for o in driver.design.outlines} == kinds
    for label, area in areas(driver).items():
        assert area == pytest.approx(before[label], rel=1e-6), label
    assert set(driver.window.picked.now.outlines) == {o.id for o in driver.design.outlines}
    driver.do("undo")
    assert driver.design.outlines == ()


def test_a_drawing_without_a_scale_asks_for_it(
    driver: Driver, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    path = tmp_path / "square.svg"
    path.write_text('<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0H2V2H0Z"/></svg>', encoding="utf-8")
    asked: list[str] = []

    def answer(_parent: object, _title: str, words: str, **_: object) -> tuple[str, bool]:
        asked.append(words)
        return "25.4", True

    monkeypatch.setattr(QInputDialog, "getText", answer)
    mime = QMimeData()
    mime.setUrls([QUrl.fromLocalFile(str(path))])
    assert driver.window.filing.take_mime(mime), "a drawing that is dropped is imported"
    assert len(asked) == 1 and "one unit of square.svg" in asked[0]
    (outline,) = driver.design.outlines
    assert abs(exact_moments(ring_of(outline.nodes))[0]) == pytest.approx((2 * 25.4) ** 2, rel=1e-9)


def test_a_damaged_drawing_changes_nothing(
    marsh: Driver, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    path = tmp_path / "cut.dxf"
    path.write_bytes(b"nothing like a drawing")
    before = marsh.design
    choose(monkeypatch, open_=path)
    marsh.boxes.answer("OK")
    marsh.do("import")
    assert marsh.design is before and "cut.dxf was not imported" in marsh.boxes.seen[0]


def test_a_table_with_decimal_commas_is_one_of_the_kinds(
    marsh: Driver, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    offered: list[str] = []

    def ask(_window: object, _caption: str, _start: str, kinds: str, *_: object) -> tuple[str, str]:
        offered.extend(kinds.split(";;"))
        return str(tmp_path / "table.csv"), offered[1]

    monkeypatch.setattr(QFileDialog, "getSaveFileName", ask)
    marsh.do("export-csv")
    assert len(offered) == 2 and "commas" in offered[1]
    assert (tmp_path / "table.csv").read_bytes().startswith(b"\xef\xbb\xbfkey;reading;")


HIDDEN = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" viewBox="0 0 90 90">{}'
    '<g display="none"><rect width="9" height="9"/></g></svg>'
)


@pytest.mark.parametrize(("seen", "button", "count"), [
    ('<rect width="5" height="5"/>', "Leave them out", 1),
    ('<rect width="5" height="5"/>', "Bring them in", 2),
    ("", "Leave them out", 0), ("", "Bring them in", 1),
])
def test_what_is_switched_off_in_a_drawing_is_asked_about(
    driver: Driver, tmp_path: Path, seen: str, button: str, count: int
) -> None:
    path = tmp_path / "old.svg"
    path.write_text(HIDDEN.format(seen), encoding="utf-8")
    driver.boxes.answer(button)
    driver.window.exchange.import_path(path)
    assert len(driver.design.outlines) == count
    assert ("1 of 2 outlines in it are" if seen else "All outlines in it are") in driver.boxes.seen[0]
    if count:
        assert "does not say how often" in driver.said


def test_counts_that_another_program_dropped_are_asked_for(
    marsh: Driver, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    path = tmp_path / "back.svg"
    choose(monkeypatch, save=path)
    marsh.do("export-svg")
    bare = re.sub(r' (data-[a-z]+|id)="(?!sternpost)[^"]*"', "", path.read_text(encoding="utf-8"))
    path.write_text(bare, encoding="utf-8")
    before = marsh.design
    said: list[bool] = []

    def refuse(dialogue: CountsDialogue) -> int:
        said.append(dialogue.take_button.isEnabled())
        return QDialog.DialogCode.Rejected

    monkeypatch.setattr(CountsDialogue, "exec", refuse)
    marsh.window.exchange.import_path(path)
    assert said == [False] and marsh.design is before

    def answer(dialogue: CountsDialogue) -> int:
        first = next(iter(dialogue.counts))
        dialogue.counts[first].setValue(2)
        dialogue.kinds[first].setCurrentText("pylon")
        assert not dialogue.take_button.isEnabled(), "a count that is not said is not taken for one"
        dialogue.rest_button.click()
        assert dialogue.take_button.isEnabled() and not dialogue.rest_button.isEnabled()
        return QDialog.DialogCode.Accepted

    monkeypatch.setattr(CountsDialogue, "exec", answer)
    marsh.window.exchange.import_path(path)
    new = marsh.design.outlines[len(before.outlines):]
    assert len(new) == len(before.outlines)
    assert (new[0].kind, new[0].count) == ("pylon", 2) and {o.count for o in new[1:]} == {1}
    assert "how often" not in marsh.said
