"""Files dropped anywhere on the window: scans by what is in them, designs, drawings, and everything else."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from driving import CTRL, FREE, LEFT, SAMPLES, Driver
from PIL import Image, ImageDraw
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDragMoveEvent, QDropEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QWidget

from app.panels.page_chooser import PageChooser
from app.scans.pdf_detail import stop_pdf
from core.design import EMPTY

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")

HEIC = Path(__file__).resolve().parents[1] / "scans" / "camera.heic"


@pytest.fixture(scope="module", autouse=True)
def _process_ends() -> Iterator[None]:
    yield
    stop_pdf()


def plan(kind: str, *, size: tuple[int, int] = (400, 160), **options: object) -> bytes:
    out = io.BytesIO()
    plan_image(size).save(out, kind, **options)
    return out.getvalue()


def drop(driver: Driver, *paths: Path, over: QWidget | None = None) -> bool:
    """As the system does it: told to the window's own handle, which looks for what lies under the mouse."""
    mime = QMimeData()
    mime.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    on = driver.canvas if over is None else over
    where = QPointF(on.mapTo(driver.window, on.rect().center()))
    copy, handle = Qt.DropAction.CopyAction, driver.window.windowHandle()
    for event in (
        QDragEnterEvent(where.toPoint(), copy, mime, LEFT, FREE),
        QDragMoveEvent(where.toPoint(), copy, mime, LEFT, FREE),
        QDropEvent(where, copy, mime, LEFT, FREE),
    ):
        QApplication.sendEvent(handle, event)
        if not event.isAccepted():
            return False
    return True


@pytest.mark.parametrize("name", ["plan.avif", "plan", "plan.txt", "plan.sternpost", "plan.json", "plan.svg"])
def test_a_picture_is_a_scan_whatever_it_is_called(driver: Driver, tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_bytes(plan("AVIF"))
    assert drop(driver, tmp_path / name)
    driver.until_decoded()
    (scan,) = driver.design.scans
    assert scan.file == name and driver.window.shelf.sizes(driver.design)[scan.id] == (400, 160)


def test_a_picture_dropped_on_a_field_is_a_scan_and_no_words(driver: Driver, tmp_path: Path) -> None:
    driver.window.filing.open_path(SAMPLES / "marsh-harrow-52.sternpost")
    driver.until_decoded()
    field = next(f for f in driver.window.findChildren(QLineEdit) if f.isVisible() and not f.isReadOnly())
    (tmp_path / "wing.jp2").write_bytes(plan("JPEG2000"))
    assert drop(driver, tmp_path / "wing.jp2", over=field)
    driver.until_decoded(len(driver.design.scans) + 1)
    assert driver.design.scans[-1].file == "wing.jp2" and "jp2" not in field.text()


def test_a_phone_s_photograph_is_taken_for_one_and_kept_as_it_is(driver: Driver, tmp_path: Path) -> None:
    (tmp_path / "IMG_0041.HEIC").write_bytes(HEIC.read_bytes())
    assert drop(driver, tmp_path / "IMG_0041.HEIC")
    driver.until_decoded()
    (scan,) = driver.design.scans
    assert (scan.file, scan.photograph, scan.scale_from) == ("IMG_0041.HEIC", True, "none")
    # Stored 32 x 24 and turned by the file's own ``irot``.
    assert driver.window.shelf.sizes(driver.design)[scan.id] == (24, 32)
    path = tmp_path / "with it.sternpost"
    driver.window.document.save(path)
    with zipfile.ZipFile(path) as container:
        assert container.read("IMG_0041.HEIC") == HEIC.read_bytes()
    driver.window.document.start(EMPTY)
    (tmp_path / "no ending").write_bytes(path.read_bytes())
    assert drop(driver, tmp_path / "no ending")
    driver.until_decoded()
    assert driver.design.scans[0].file == "IMG_0041.HEIC" and driver.window.document.path is not None


@pytest.mark.parametrize(("name", "content", "found"), [
    ("notes.txt", b"Length over all: 1320 mm\n", "found text"),
    ("plan.png", b"Length over all: 1320 mm\n", "found text"),
    ("flight.mov", b"\0\0\0\x14ftypqt  \0\0\0\0qt  ", "found a film"),
    ("empty.heic", b"", "found nothing, the file is empty"),
    ("broken.heic", HEIC.read_bytes()[:400], "the heic picture is damaged, cut short"),
    ("archive.zip", b"PK\x03\x04" + bytes(40), "is not a sternpost design"),
])
def test_anything_else_gets_one_sentence(
    driver: Driver, tmp_path: Path, name: str, content: bytes, found: str
) -> None:
    (tmp_path / name).write_bytes(content)
    driver.boxes.answer("OK")
    assert drop(driver, tmp_path / name)
    driver.until(lambda: not driver.boxes.waiting)
    (said,) = driver.boxes.seen
    assert said.startswith(f"{name} could not be opened.") and found in said.lower()
    assert driver.design == EMPTY and driver.window.document.pictures == {}


def pages(name: Path, kind: str) -> Path:
    """Three sheets of a TIFF, the second at 150 dpi, and a preview of the first between them."""
    sheets = [plan_image((400, 160)), plan_image((100, 40)), plan_image((300, 300)), plan_image((200, 500))]
    options = {"compression": "group4"} if kind == "1" else {}
    made = []
    for number, sheet in enumerate(sheets):
        held = sheet.convert("1") if kind == "1" else sheet
        held.encoderinfo = {"tiffinfo": {254: int(number == 1)}, "dpi": (150, 150) if number == 2 else None}
        made.append(held)
    made[0].save(name, "TIFF", save_all=True, append_images=made[1:], **options)
    return name


def plan_image(size: tuple[int, int]) -> Image.Image:
    image = Image.new("L", size, 240)
    ImageDraw.Draw(image).line([(5, 20), (size[0] - 9, 30)], fill=20, width=3)
    return image


@pytest.mark.parametrize("kind", ["L", "1"])
def test_pages_of_a_tiff_are_chosen_by_their_pictures(driver: Driver, tmp_path: Path, kind: str) -> None:
    assert drop(driver, pages(tmp_path / "plans.tif", kind))
    driver.until(lambda: driver.window.filing._pages is not None)
    choice = driver.window.filing._pages
    assert choice is not None
    driver.until(lambda: choice.dialogue is not None)
    found = choice.dialogue
    assert isinstance(found, PageChooser)
    driver.until(lambda: all("×" in found.list.item(i).text() for i in range(found.list.count())))
    assert [found.list.item(i).text() for i in range(found.list.count())] == [
        "Page 1\n400 × 160 pixels", "Page 2\n50.8 × 50.8 mm", "Page 3\n200 × 500 pixels"
    ]
    assert driver.design == EMPTY
    for row, held in ((1, FREE), (2, CTRL)):
        at = found.list.visualItemRect(found.list.item(row)).center()
        QTest.mouseClick(found.list.viewport(), LEFT, held, at)
    QTest.mouseClick(found.put_in, LEFT)
    driver.until_decoded(2)
    assert [(s.file, s.page, s.scale_from) for s in driver.design.scans] == [
        ("plans.tif", 2, "dpi"), ("plans.tif", 3, "none")
    ]
    sizes = driver.window.shelf.sizes(driver.design)
    assert [sizes[s.id] for s in driver.design.scans] == [(300, 300), (200, 500)]
    assert driver.design.scans[0].to_mm[0][0] == pytest.approx(25.4 / 150)
