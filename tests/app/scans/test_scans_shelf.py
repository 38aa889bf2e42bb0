"""The shelf: one picture for each file, page and tone, within a budget of memory."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from msgspec.structs import replace
from PIL import Image
from pytestqt.qtbot import QtBot

from app.scans import shelf as shelf_module
from app.scans.levels import grey_pixels
from app.scans.shelf import Key, Shelf, key_of
from core.design import EMPTY, Design, Scan, Tone


def tiff(*greys: int, size: tuple[int, int] = (1200, 1000)) -> bytes:
    pages = [Image.fromarray(np.full(size, grey, np.uint8)) for grey in greys]
    with io.BytesIO() as stream:
        pages[0].save(stream, "TIFF", save_all=True, append_images=pages[1:], compression="tiff_deflate")
        return stream.getvalue()


def design(*scans: Scan) -> Design:
    return replace(EMPTY, scans=scans)


@pytest.fixture
def shelf(qtbot: QtBot) -> Iterator[Shelf]:
    shelf = Shelf()
    yield shelf
    shelf.stop()


def opened(shelf: Shelf, qtbot: QtBot) -> None:
    qtbot.waitUntil(lambda: not shelf._loader._jobs, timeout=10_000)


def grey_of(shelf: Shelf, scan: Scan) -> int:
    picture = shelf.picture_of(scan)
    assert picture is not None
    return int(grey_pixels(picture.levels[-1])[3, 3])


def test_two_pages_of_one_file_are_two_pictures(qtbot: QtBot, shelf: Shelf) -> None:
    one, two = Scan(id="one", file="plan.tif", page=0), Scan(id="two", file="plan.tif", page=1)
    shelf.sync(design(one, two), {"plan.tif": tiff(60, 180, size=(40, 30))})
    opened(shelf, qtbot)
    assert [grey_of(shelf, scan) for scan in (one, two)] == [60, 180]
    assert set(shelf.sizes(design(one, two))) == {"one", "two"}
    shelf.sync(design(two), {"plan.tif": shelf._asked[key_of(two)]})
    assert list(shelf.pictures) == [Key("plan.tif", 1, Tone())]


def test_the_old_tone_is_shown_until_the_new_one_is_there(qtbot: QtBot, shelf: Shelf) -> None:
    held = {"plan.tif": tiff(60, size=(40, 30))}
    scan = Scan(id="one", file="plan.tif")
    shelf.sync(design(scan), held)
    opened(shelf, qtbot)
    inverted = replace(scan, tone=Tone(invert=True))
    shelf.sync(design(inverted), held)
    assert grey_of(shelf, inverted) == 60 and shelf.is_in_old_tone(inverted)
    assert shelf.sizes(design(inverted)) == {"one": (30.0, 40.0)}
    opened(shelf, qtbot)
    assert grey_of(shelf, inverted) == 195 and not shelf.is_in_old_tone(inverted)
    assert list(shelf.pictures) == [key_of(inverted)], "the old one is let go"
    # And back, as undo does; then twice in a row, faster than it can be worked out.
    shelf.sync(design(scan), held)
    assert grey_of(shelf, scan) == 195
    shelf.sync(design(replace(scan, tone=Tone(thicken=1))), held)
    shelf.sync(design(inverted), held)
    assert grey_of(shelf, inverted) == 195
    opened(shelf, qtbot)
    assert list(shelf.pictures) == [key_of(inverted)]


def test_another_file_of_the_same_name_is_not_taken_for_the_first(qtbot: QtBot, shelf: Shelf) -> None:
    scan = Scan(id="one", file="plan.tif")
    shelf.sync(design(scan), {"plan.tif": tiff(60, size=(40, 30))})
    opened(shelf, qtbot)
    shelf.sync(design(scan), {"plan.tif": tiff(70, size=(40, 30))})
    assert shelf.picture_of(scan) is None
    opened(shelf, qtbot)
    assert grey_of(shelf, scan) == 70


# The budget: a scan of 1200 x 1000 grey pixels and its pyramid are 1.6 MB

WHOLE = 1_600_000


@pytest.fixture
def five(qtbot: QtBot, shelf: Shelf, monkeypatch: pytest.MonkeyPatch) -> tuple[Scan, ...]:
    monkeypatch.setattr(shelf_module, "BUDGET_BYTES", 2 * WHOLE + 800_000)
    monkeypatch.setattr(shelf_module, "_COARSE_BYTES", 150_000)
    scans = tuple(Scan(id=f"scan-{i}", file=f"{i}.tif") for i in range(5))
    shelf.sync(design(*scans), {scan.file: tiff(10 * i + 10) for i, scan in enumerate(scans)})
    opened(shelf, qtbot)
    return scans


def finest(shelf: Shelf, scans: tuple[Scan, ...]) -> list[int]:
    pictures = [shelf.picture_of(scan) for scan in scans]
    return [picture.finest for picture in pictures if picture is not None]


def test_memory_is_bounded_whatever_the_number_of_scans(shelf: Shelf, five: tuple[Scan, ...]) -> None:
    assert shelf.memory_bytes <= shelf_module.BUDGET_BYTES
    assert len(finest(shelf, five)) == 5, "all are there, some of them coarse"
    assert max(finest(shelf, five)) > 1
    assert [grey_of(shelf, scan) for scan in five] == [10, 20, 30, 40, 50]


def test_what_is_looked_at_closely_becomes_sharp_and_another_coarse(
    qtbot: QtBot, shelf: Shelf, five: tuple[Scan, ...]
) -> None:
    for one in five:
        # From afar nothing is opened anew.
        shelf.looked_at(one, 16.0)
    assert not shelf._loader._jobs
    for closely in five:
        for scan in five:
            shelf.looked_at(scan, 1.0 if scan is closely else float("inf"))
        opened(shelf, qtbot)
        sharp = shelf.picture_of(closely)
        assert sharp is not None and sharp.finest == 1
        assert shelf.memory_bytes <= shelf_module.BUDGET_BYTES


def test_more_than_there_is_room_for_is_not_opened_over_and_over(
    qtbot: QtBot, shelf: Shelf, five: tuple[Scan, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    started: list[object] = []
    start = shelf._loader.start

    def start_and_count(key: Key, *rest: Any) -> None:
        started.append(key)
        start(key, *rest)

    monkeypatch.setattr(shelf._loader, "start", start_and_count)
    for _ in range(6):
        for scan in five:
            shelf.looked_at(scan, 1.0)
        opened(shelf, qtbot)
    assert len(started) <= 4, "all five are looked at closely, and two have room"
    assert shelf.memory_bytes <= shelf_module.BUDGET_BYTES
