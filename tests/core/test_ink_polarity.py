"""Dark on light or light on dark, told by what is thin, on drawings whose polarity is known."""

from __future__ import annotations

import numpy as np
import pytest
from drawn_ink import Spoiling, drawn, fuselage, picture_of, spoilt

from core.ink.polarity import light_on_dark


def faded(seed: int) -> np.ndarray:
    """A blueprint that stood in the sun: lines of about 175 on a ground of about 132, shaded and grainy."""
    picture = picture_of(fuselage(seed), 100.0, "clean", seed, clutter=True)
    ink = (235.0 - picture.grey) / 205.0
    rng = np.random.default_rng(seed)
    width = ink.shape[1]
    shade = 142.0 - 25.0 * np.arange(width)[None, :] / width + rng.normal(0.0, 5.0, ink.shape)
    return np.asarray(np.clip(np.round(shade + 43.0 * ink), 0, 255), dtype=np.uint8)


@pytest.mark.parametrize("seed", [1, 2])
def test_a_faded_blueprint_is_light_on_dark_and_its_negative_is_not(seed: int) -> None:
    grey = faded(seed)
    assert 120 < np.median(grey) < 145
    assert light_on_dark(grey) is True
    assert light_on_dark(255 - grey) is False


@pytest.mark.parametrize("how", ["clean", "noisy", "jpeg 30", "one bit", "pencil"])
def test_ink_on_paper_is_dark_on_light(how: Spoiling) -> None:
    assert light_on_dark(picture_of(fuselage(3), 120.0, how, 3).grey) is False


def test_bare_paper_tells_nothing_and_a_filled_shape_does_not_make_paper_dark() -> None:
    assert light_on_dark(spoilt(np.zeros((200, 200)), "noisy", 1)) is None
    square = np.array([[0.0, 0.0], [40.0, 0.0], [40.0, 40.0], [0.0, 40.0]])
    half, _ = drawn([], 100.0, (40.0, 40.0), filled=[square])
    assert light_on_dark(spoilt(half, "clean", 1)) is not True
    assert light_on_dark(np.zeros((10, 300), np.uint8)) is None
