"""Prepared geometry belongs to one thread: two that ask the same one end the program."""

from __future__ import annotations

import re
from pathlib import Path
from threading import Event, Thread

import numpy as np
import shapely

from core.geometry.prepared import prepared

ROOT = Path(__file__).resolve().parents[2]
DOOR = ROOT / "core" / "geometry" / "prepared.py"


def wavy(k: int) -> shapely.Polygon:
    angle = np.linspace(0, 2 * np.pi, 4000, endpoint=False)
    reach = 1 + 0.1 * np.sin(9 * angle + k)
    return shapely.Polygon(np.stack((np.cos(angle) * reach, np.sin(angle)), axis=1))


def test_geometry_is_prepared_through_one_door_alone() -> None:
    used = [
        f"{path.relative_to(ROOT)}: {line.strip()}"
        for room in ("app", "core") for path in sorted((ROOT / room).rglob("*.py")) if path != DOOR
        for line in path.read_text("utf-8").splitlines()
        if re.search(r"shapely\.prepare\(|\bprep\(|shapely\.prepared", line)
    ]
    assert used == []


def test_what_is_shared_is_never_prepared_itself() -> None:
    region = wavy(0)
    mine = prepared(region)
    assert mine.equals_exact(region) and shapely.is_prepared(mine) and not shapely.is_prepared(region)
    assert prepared(region) is mine, "and its own thread has it once"
    found: list[object] = []
    other = Thread(target=lambda: found.append(prepared(region)))
    other.start()
    other.join()
    assert found[0] is not mine


def test_three_threads_may_ask_one_region() -> None:
    """With one prepared geometry for all of them this ended the whole run."""
    counts: list[int] = []
    for k in range(20):
        region, go = wavy(k), Event()

        def ask(seed: int, region: shapely.Polygon = region, go: Event = go) -> None:
            x = np.random.default_rng(seed).uniform(-1, 1, (500, 2))
            boxes = shapely.box(x[:, 0], x[:, 1], x[:, 0] + 0.05, x[:, 1] + 0.05)
            go.wait()
            inside = shapely.contains_properly(prepared(region), boxes)
            counts.append(int(inside.sum()) - int(sum(region.contains_properly(box) for box in boxes)))

        threads = [Thread(target=ask, args=(seed,)) for seed in range(3)]
        for thread in threads:
            thread.start()
        go.set()
        for thread in threads:
            thread.join()
    assert len(counts) == 60 and not any(counts)
