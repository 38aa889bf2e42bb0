"""A count is given up from inside, overlay by overlay, and leaves nothing half done behind."""

from __future__ import annotations

from pathlib import Path
from threading import Thread

import pytest
from msgspec.structs import replace

from core.design import Design, Node, Outline
from core.design_file import read
from core.geometry import overlay
from core.geometry.stopping import may_stop, stopped_by
from core.stability.readings import SPECS, ReadingsEngine

SAMPLE = Path(__file__).resolve().parents[2] / "sample_designs" / "marsh-harrow-52.sternpost"


class GivenUpError(Exception):
    """What the question raises in these tests."""


def crowded(aside: float = 0.0) -> Design:
    """A sample, its tail and wing, over a row of squares; new objects, of which nothing is known yet."""
    base = read(SAMPLE).design
    squares = tuple(
        Outline(f"o-{i}", "other", tuple(
            Node(20.0 * i + x + aside, z) for x, z in ((0.0, 0.0), (30.0, 0.0), (30.0, 30.0), (0.0, 30.0))
        )) for i in range(40)
    )
    return replace(base, outlines=(*base.outlines, *squares), scans=())


def test_it_is_asked_before_every_overlay(monkeypatch: pytest.MonkeyPatch) -> None:
    asked, since = [0], [0]
    longest = [0]
    holds = overlay.holds

    def ask() -> None:
        asked[0] += 1
        since[0] = 0

    def counted(*given: object) -> bool:
        since[0] += 1
        longest[0] = max(longest[0], since[0])
        return holds(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(overlay, "holds", counted)
    engine, design = ReadingsEngine(), crowded()
    with stopped_by(ask):
        engine.read(design)
        engine.counted_areas(design)
    assert asked[0] > 100 and longest[0] == 1


@pytest.mark.parametrize("at", [1, 3, 10, 40, 90, 150, 200])
def test_an_engine_that_was_stopped_counts_as_one_that_was_not(at: int) -> None:
    engine, left = ReadingsEngine(), [at]

    def ask() -> None:
        left[0] -= 1
        if left[0] == 0:
            raise GivenUpError

    design = crowded(0.5)
    with pytest.raises(GivenUpError), stopped_by(ask):
        engine.read(design)
        engine.counted_areas(design)
    for again in (design, crowded(3.0)):
        found, wanted = engine.read(again), ReadingsEngine().read(crowded(0.5 if again is design else 3.0))
        for key in SPECS:
            assert found[key].missing == wanted[key].missing
            if wanted[key].value is not None:
                assert found.value(key) == pytest.approx(wanted.value(key), rel=1e-9, abs=1e-9)


def test_only_the_thread_that_said_so_is_asked_and_only_meanwhile() -> None:
    asked: list[str] = []
    with stopped_by(lambda: asked.append("here")):
        other = Thread(target=may_stop)
        other.start()
        other.join()
        assert asked == []
        with stopped_by(lambda: asked.append("within")):
            may_stop()
        may_stop()
    may_stop()
    assert asked == ["within", "here"]
