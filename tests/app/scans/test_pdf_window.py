"""PDFs in the window: pages chosen by mouse and keys, their size, their files, and what fails."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from driving import CTRL, FREE, LEFT, Driver
from pdf_files import PT, box, encrypted, pages_pdf, square
from PySide6.QtCore import QMimeData, QPoint, Qt, QUrl
from PySide6.QtGui import QImage
from PySide6.QtTest import QTest

from app.cli.check import check
from app.panels.page_chooser import PageChooser
from app.scans import pdf as pdf_module
from app.scans.pdf_detail import stop_pdf
from app.scans.pdf_reader import shared_reader
from app.window.window import Window
from core.design import EMPTY
from core.redesign.scan_edits import corners_of

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")

SIZES = ((210, 148), (300, 200), (148, 210))
THREE = pages_pdf(*((box(w * PT, h * PT), square(20, 20, 20 + 10 * i)) for i, (w, h) in enumerate(SIZES)))


@pytest.fixture(scope="module", autouse=True)
def _windows() -> Iterator[set[Window]]:
    """The windows that were driven: their threads, and the process, end with this file of tests."""
    driven: set[Window] = set()
    yield driven
    for window in driven:
        if window.filing._pages is not None:
            window.filing._pages.stop()
        window.filing._loader.stop()
        window.shelf.stop()
    stop_pdf()


@pytest.fixture(autouse=True)
def _remembered(request: pytest.FixtureRequest, _windows: set[Window]) -> None:
    if "driver" in request.fixturenames:
        _windows.add(request.getfixturevalue("driver").window)


@pytest.fixture(autouse=True)
def _coarser(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pdf_module, "MOST_COARSE_PIXELS", 600_000)


def three(tmp_path: Path) -> Path:
    path = tmp_path / "plans.pdf"
    path.write_bytes(THREE)
    return path


def chooser(driver: Driver) -> PageChooser:
    """The dialogue, with the thumbnails of all pages there."""
    def there() -> PageChooser | None:
        return driver.window.filing._pages.dialogue if driver.window.filing._pages else None

    driver.until(lambda: there() is not None)
    found = there()
    assert found is not None
    driver.until(lambda: all("×" in found.list.item(i).text() for i in range(found.list.count())))
    driver.settle()
    return found


def press_page(found: PageChooser, page: int, held: Qt.KeyboardModifier = FREE) -> None:
    at = found.list.visualItemRect(found.list.item(page)).center()
    QTest.mouseClick(found.list.viewport(), LEFT, held, at)


def size_mm(driver: Driver, scan: int) -> tuple[float, float]:
    one = driver.design.scans[scan]
    corners = corners_of(one, driver.window.shelf.sizes(driver.design)[one.id])
    wide, high = corners.max(axis=0) - corners.min(axis=0)
    return float(wide), float(high)


def test_the_second_page_of_three_is_chosen_by_mouse_and_is_as_large_as_it_is(
    driver: Driver, tmp_path: Path
) -> None:
    driver.window.filing.open_path(three(tmp_path))
    found = chooser(driver)
    assert [found.list.item(i).text() for i in range(3)] == [
        "Page 1\n210.0 × 148.0 mm", "Page 2\n300.0 × 200.0 mm", "Page 3\n148.0 × 210.0 mm"
    ]
    assert driver.design == EMPTY
    press_page(found, 1)
    assert found.put_in.text() == "Put in page 2"
    QTest.mouseClick(found.put_in, LEFT)
    driver.until_decoded()
    (scan,) = driver.design.scans
    assert (scan.file, scan.page, scan.scale_from) == ("plans.pdf", 1, "dpi")
    assert scan.to_mm[0][0] == -scan.to_mm[1][1] == 25.4 / 300
    assert size_mm(driver, 0) == pytest.approx((300, 200), abs=25.4 / 300)
    assert driver.window.document.pictures == {"plans.pdf": THREE}
    assert "by its own dpi" in driver.window.strip._note.text()
    driver.do("undo")
    assert driver.design.scans == ()


def test_several_pages_come_in_order_and_share_the_file(driver: Driver, tmp_path: Path) -> None:
    driver.window.filing.open_path(three(tmp_path))
    found = chooser(driver)
    press_page(found, 2)
    press_page(found, 0, CTRL)
    assert found.put_in.text() == "Put in 2 pages"
    QTest.mouseClick(found.put_in, LEFT)
    driver.until_decoded(2)
    assert [(s.file, s.page) for s in driver.design.scans] == [("plans.pdf", 0), ("plans.pdf", 2)]
    assert size_mm(driver, 1) == pytest.approx((148, 210), abs=25.4 / 300)
    # One more page, later: still the same bytes under the same name.
    driver.window.filing.open_path(three(tmp_path))
    found = chooser(driver)
    press_page(found, 1)
    QTest.mouseClick(found.put_in, LEFT)
    driver.until_decoded(3)
    assert {s.file for s in driver.design.scans} == {"plans.pdf"}
    path = tmp_path / "three.sternpost"
    driver.window.document.save(path)
    with zipfile.ZipFile(path) as container:
        assert sorted(container.namelist()) == ["design.json", "plans.pdf"]
        assert container.read("plans.pdf") == THREE
    driver.window.document.start(EMPTY)
    driver.open(path)
    assert [s.page for s in driver.design.scans] == [0, 2, 1]
    assert size_mm(driver, 2) == pytest.approx((300, 200), abs=25.4 / 300)


def test_pages_are_chosen_by_keys_and_escape_leaves_all_as_it_was(driver: Driver, tmp_path: Path) -> None:
    driver.window.filing.open_path(three(tmp_path))
    found = chooser(driver)
    QTest.keyClick(found.list, Qt.Key.Key_Escape)
    driver.settle()
    assert driver.design == EMPTY and not driver.window.document.dirty
    assert driver.window.document.pictures == {} and not driver.window.filing._incoming
    assert not driver.window.status._words.isVisible()
    driver.window.filing.open_path(three(tmp_path))
    found = chooser(driver)
    assert found.list.hasFocus() and found.pages == [0]
    QTest.keyClick(found.list, Qt.Key.Key_Right)
    QTest.keyClick(found.list, Qt.Key.Key_Right, Qt.KeyboardModifier.ShiftModifier)
    assert found.pages == [1, 2]
    QTest.keyClick(found.list, Qt.Key.Key_Return)
    driver.until_decoded(2)
    assert [s.page for s in driver.design.scans] == [1, 2]


def test_a_page_that_cannot_be_shown_says_so_and_the_others_come_in(driver: Driver, tmp_path: Path) -> None:
    path = tmp_path / "two.pdf"
    path.write_bytes(pages_pdf(("/MediaBox[0 0 0 800]", ""), (box(200 * PT, 100 * PT), square(0, 0, 50))))
    driver.window.filing.open_path(path)
    driver.until(lambda: driver.window.filing._pages is not None)
    driver.until(lambda: driver.window.filing._pages.dialogue is not None)  # type: ignore[union-attr]
    found = driver.window.filing._pages.dialogue  # type: ignore[union-attr]
    assert found is not None
    driver.until(lambda: "no size" in found.list.item(0).toolTip() and "×" in found.list.item(1).text())
    driver.boxes.answer("OK")
    found.list.selectAll()
    QTest.mouseClick(found.put_in, LEFT)
    driver.until_decoded()
    assert driver.boxes.seen[0].startswith("two.pdf could not be opened. Page 1 has no size")
    assert driver.design.scans[0].page == 1
    assert size_mm(driver, 0) == pytest.approx((200, 100), abs=25.4 / 300)


def test_one_page_is_not_asked_about_and_a_dropped_file_comes_in(driver: Driver, tmp_path: Path) -> None:
    path = tmp_path / "one.PDF"
    path.write_bytes(pages_pdf((box(297 * PT, 210 * PT), square(30, 30))))
    mime = QMimeData()
    mime.setUrls([QUrl.fromLocalFile(str(path))])
    assert driver.window.filing.take_mime(mime)
    driver.until_decoded()
    assert size_mm(driver, 0) == pytest.approx((297, 210), abs=25.4 / 300)
    assert driver.window.filing._pages is not None and driver.window.filing._pages.dialogue is None


def test_one_that_is_locked_is_said_and_changes_nothing(driver: Driver, tmp_path: Path) -> None:
    (tmp_path / "locked.pdf").write_bytes(encrypted())
    driver.boxes.answer("OK")
    driver.window.filing.open_path(tmp_path / "locked.pdf")
    driver.until(lambda: bool(driver.boxes.seen))
    driver.settle()
    assert driver.boxes.seen[0].startswith("locked.pdf could not be opened. The PDF asks for a password; ")
    assert driver.design == EMPTY and not driver.window.filing._incoming


def test_a_page_gets_sharp_where_it_is_looked_at(driver: Driver, tmp_path: Path) -> None:
    path = tmp_path / "one.pdf"
    path.write_bytes(pages_pdf((box(600 * PT, 400 * PT), square(300, 150))))
    driver.window.filing.open_path(path)
    driver.until_decoded()
    # The square's left top corner: paper and ink meet in one pixel once the sharp part is there.
    corner = (300.0, 250.0)
    driver.zoom_to(corner, 30.0)
    picture = driver.window.shelf.picture_of(driver.design.scans[0])
    assert picture is not None and picture.detail is not None and picture.shrunk == 8

    def steps() -> np.ndarray:
        at = driver.px((corner[0], corner[1] - 3))
        shown = driver.canvas.grab().toImage().convertToFormat(QImage.Format.Format_Grayscale8)
        return np.array([shown.pixelColor(at + QPoint(i, 0)).lightness() for i in range(-8, 9)])

    def is_sharp() -> bool:
        row = steps()
        return int(((row > row.min() + 15) & (row < row.max() - 15)).sum()) <= 1

    driver.until(is_sharp)
    row = steps()
    assert abs(int((row > (int(row.min()) + int(row.max())) / 2).sum()) - 8) <= 1


def test_check_reads_a_design_with_pages(
    driver: Driver, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from msgspec.structs import replace

    from core.design import Scan
    from core.design_file import write

    scans = (Scan(id="one", file="plans.pdf"), Scan(id="two", file="plans.pdf", page=2))
    good, bad = tmp_path / "good.sternpost", tmp_path / "bad.sternpost"
    write(good, replace(EMPTY, scans=scans), {"plans.pdf": THREE})
    assert check(str(good)) == 0
    write(bad, replace(EMPTY, scans=(replace(scans[0], page=7),)), {"plans.pdf": THREE})
    assert check(str(bad)) == 1
    assert "page 8 is wanted, but the file has 3 pages" in capsys.readouterr().out


def test_the_process_ends_with_the_window(new_window: object, tmp_path: Path) -> None:
    driver: Driver = new_window()  # type: ignore[operator]
    driver.window.filing.open_path(three(tmp_path))
    # Closed in the midst of it: nothing waits for the pages.
    driver.until(lambda: shared_reader().process_id is not None)
    driver.window.document.start(EMPTY)
    driver.window.close()
    assert shared_reader().process_id is None
