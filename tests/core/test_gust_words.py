"""What is said of swings made up by hand: how often it wags, when it settles, what is not sure."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from core.geometry.ring import Array
from core.stability.lateral.gust_words import Traces, gust_sentence, wags


def swing(period: float, ratio: float, end: float = 5.0) -> tuple[Array, Array]:
    """5° cos ωt, each half-swing ``ratio`` of the last."""
    seconds = np.linspace(0, end, 201)
    return seconds, 5 * np.cos(2 * np.pi * seconds / period) * ratio ** (2 * seconds / period)


@pytest.mark.parametrize(("ratio", "count"), ((0.05, 0), (0.2, 1), (0.4, 2), (0.55, 3)))
def test_wags_by_hand(ratio: float, count: int) -> None:
    """Extremes follow each other as r, r², …, but for 1/cos of a start that is none: so many over a tenth."""
    seconds, sideslip = swing(0.8, ratio)
    found = wags(seconds, sideslip[None])
    assert found.count.tolist() == [count]
    below = np.nonzero(np.abs(sideslip) > 0.5)[0][-1]
    assert found.settled_s[0] == seconds[below + 1]


def test_what_does_not_settle_in_time() -> None:
    seconds, sideslip = swing(1.0, 0.99)
    found = wags(seconds, sideslip[None])
    assert np.isinf(found.settled_s[0]) and found.count[0] in (9, 10)


def said(traces: list[Array], seconds: Array, **more: Any) -> str:
    """The sentence of equal numbers of these traces."""
    n = len(traces)
    given: dict[str, Any] = {
        "kicked_to": None, "banks_to": 10.0, "swaps_ends": np.zeros(n, bool), "grows": np.zeros(n, bool),
        "loose": np.zeros(n, bool), "upright": 0.8, **more,
    }
    return gust_sentence(Traces(seconds=seconds, sideslip=np.array(traces), **given))


def test_sentences() -> None:
    seconds = np.linspace(0, 5, 201)
    quick, slow, dead = swing(0.8, 0.55)[1], swing(1.6, 0.3)[1], 5 * np.exp(-3 * seconds)
    assert said([quick] * 10, seconds) == (
        "After the gust it wags three times and settles in about 1.5 s. "
        "Left alone it stays upright by itself in 8 draws of 10."
    )
    assert "wags one to three times and settles in" in said([quick] * 5 + [slow] * 5, seconds)
    assert "swings back without wagging and settles in about 0.8 s" in said([dead] * 10, seconds)
    assert "is still wagging after 5 s" in said([swing(1.0, 0.99)[1]] * 10, seconds)
    some, most, all_ = (np.arange(10) < k for k in (3, 7, 10))
    lost = "swings off and does not come back"
    assert f"In 3 draws of 10 it {lost}." in said([quick] * 10, seconds, swaps_ends=some)
    assert f"After the gust it {lost} in 7 draws of 10." == said([quick] * 10, seconds, swaps_ends=most)
    assert f"After the gust it {lost}." == said([quick] * 10, seconds, swaps_ends=all_)
    assert "wags wider each time" in said([quick] * 10, seconds, swaps_ends=all_, grows=all_)
    assert "some 33° of sideslip" in said([quick] * 10, seconds, kicked_to=33.0)
    assert "of sideslip" not in said([quick] * 10, seconds, kicked_to=12.0)
    loose = said([quick] * 10, seconds, loose=some)
    assert "In 3 draws of 10 the fin is too weak to bring the nose back" in loose
    weak = said([quick] * 10, seconds, loose=most)
    assert weak.startswith("After the gust the fin is too weak to bring the nose back in 7 draws of 10, and")
    assert "do not count on that. With their help it wags three times and settles" in weak
    assert "steeper than these figures" in said([quick] * 10, seconds, banks_to=50.0)
    assert "in nearly all draws" in said([quick] * 10, seconds, upright=1.0)
    assert "in hardly any draw" in said([quick] * 10, seconds, upright=0.0)
