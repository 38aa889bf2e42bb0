"""The first scan is seen while it is still being opened; until it is open, the design knows nothing of it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from driving import Driver
from PIL import Image

from app.scans import decoding
from core.design import EMPTY

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support propagateSizeHints")


@pytest.fixture(autouse=True)
def every_scan_is_big(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setattr(decoding, "BIG_FROM_PIXELS", 0)
    yield


def jpeg(tmp_path: Path, *, whole: bool = True) -> Path:
    values = np.random.default_rng(1).integers(60, 200, (500, 1100), dtype=np.uint8)
    path = tmp_path / "plan.jpg"
    Image.fromarray(values).save(path, dpi=(150, 150))
    if not whole:
        path.write_bytes(path.read_bytes()[:-30_000])
    return path


def watched(driver: Driver, monkeypatch: pytest.MonkeyPatch) -> list[tuple[Any, ...]]:
    """What is seen with every picture of the guest: (design, view, shown page, a grab of the canvas)."""
    seen: list[tuple[Any, ...]] = []
    shelf = driver.window.shelf

    def look() -> None:
        if shelf.guest is not None:
            grab = driver.canvas.grab().toImage().pixelColor(driver.canvas.rect().center())
            seen.append((driver.design, driver.canvas.view, driver.window.middle.currentIndex(), grab))

    shelf.guest_changed.connect(look)
    return seen


def test_it_lies_where_it_will_lie(driver: Driver, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    seen = watched(driver, monkeypatch)
    driver.window.filing.open_scan_path(jpeg(tmp_path))
    driver.until_decoded()
    assert driver.window.shelf.guest is None
    (scan,) = driver.design.scans
    assert scan.id == "plan" and scan.scale_from == "dpi"
    assert len(seen) == 1
    design, _, page, _ = seen[0]
    assert design == EMPTY, "it is no part of the design yet"
    assert page == 1, "the sheet is seen, not the welcome"
    driver.do("undo")
    assert driver.design == EMPTY


def test_what_fails_after_all_leaves_nothing(
    driver: Driver, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown: list[object] = []
    driver.window.shelf.guest_changed.connect(lambda: shown.append(driver.window.shelf.guest))
    driver.boxes.answer("OK")
    monkeypatch.setattr("app.scans.opening.open_preview", preview_of(jpeg(tmp_path)))
    driver.window.filing.open_scan_path(jpeg(tmp_path, whole=False))
    driver.until(lambda: bool(driver.boxes.seen))
    driver.settle()
    assert shown[0] is not None and shown[-1] is None
    assert driver.design == EMPTY and not driver.window.document.dirty
    assert driver.window.shelf.guest is None and driver.window.middle.currentIndex() == 0
    assert driver.window.document.pictures == {}


def preview_of(path: Path) -> Any:
    """A first picture that is there even though the rest is not."""
    from app.scans.opening import open_preview

    coarse = open_preview(path.read_bytes(), path.name)
    assert coarse is not None
    return lambda *_, **__: coarse
