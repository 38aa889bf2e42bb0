"""The corners of photographed sheets, against pictures whose corners are known from their drawing."""

from __future__ import annotations

from dataclasses import replace

import drawn_photographs
import numpy as np
import pytest
from drawn_photographs import PHOTOGRAPHS
from drawn_scans import SCANS

from app.scans.opening import open_picture
from app.scans.picture import Picture
from app.scans.sheet_corners import sheet_in
from core.design import Tone


def drawn(name: str, seed: int, monkeypatch: pytest.MonkeyPatch) -> tuple[Picture, np.ndarray]:
    """A photograph opened, and where its drawing put the sheet's corners."""
    true = drawn_photographs.corners
    kept: list[np.ndarray] = []

    def spied(*given: object) -> np.ndarray:
        kept.append(true(*given))  # type: ignore[arg-type]
        return kept[-1]

    monkeypatch.setattr(drawn_photographs, "corners", spied)
    return open_picture(PHOTOGRAPHS[name](np.random.default_rng((7, seed))), name), kept[0]


@pytest.mark.parametrize("name", [
    "on boards", "on a grey table", "on dark cloth, close", "on tiles", "half in shadow",
    "on the wall, nearly square on",
])
@pytest.mark.parametrize("seed", [0, 4])
def test_corners_are_found_to_a_pixel_or_two_and_sides_between_them(
    name: str, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    picture, corners = drawn(name, seed, monkeypatch)
    assert picture.sheet is not None
    found = np.array(picture.sheet.corners)
    # As they come round the sheet, from whichever of them.
    starts = [np.roll(corners[::way], k, axis=0) for way in (1, -1) for k in range(4)]
    assert min(float(np.hypot(*(found - c).T).max()) for c in starts) < 2.5
    for k, side in enumerate(picture.sheet.sides):
        a, b = found[k], found[(k + 1) % 4]
        along, to = b - a, np.array(side) - a
        off = np.abs(along[0] * to[:, 1] - along[1] * to[:, 0]) / np.hypot(*along)
        part = to @ along / (along @ along)
        assert len(side) >= 4 and off.max() < 4.0 and (np.diff(part) > 0).all()
        assert part[0] > 0.0 and part[-1] < 1.0


def test_a_scan_or_another_tone_offers_no_sheet(monkeypatch: pytest.MonkeyPatch) -> None:
    data = next(iter(SCANS.values()))(np.random.default_rng(3))
    assert open_picture(data, "scan").sheet is None
    data = PHOTOGRAPHS["on boards"](np.random.default_rng((7, 1)))
    assert open_picture(data, "photo", tone=Tone(level=True)).sheet is None


def test_fewer_than_four_edges_and_tiny_pictures_offer_none() -> None:
    picture = open_picture(PHOTOGRAPHS["two or three edges seen"](np.random.default_rng((7, 1))), "photo")
    assert picture.sheet is None
    tiny = picture.levels[-1].scaled(40, 30)
    assert sheet_in((tiny,), (40, 30)) is None
    assert replace(picture, sheet=None) == picture
