"""Overlays whose edges share nodes but for their last bits, and refits over slanting and bent hinges.

    python tests/endurance/overlays.py [CASES] [SEED]

CASES pairs (10 000) drawn from SEED (1): what their areas must be is known from how they were cut
apart. Beside it, how often the library's plain overlay is wrong, and how often the door's own check
sees that. Then a fiftieth as many refits, read back by level lines. Ends with 1 where one was wrong.
"""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path
from time import process_time

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "core"))

import numpy as np
import shapely
from hinges import hinged, split_pair
from interval_count import count_by_intervals

from core.geometry.overlay import COARSER, areas_only, common, holds, union, without
from core.redesign.outline_edits import EditError
from core.redesign.refit import refit

PLAIN = {"union": shapely.union, "common": shapely.intersection, "without": shapely.difference}
DOOR = {"union": lambda a, b: union((a, b)), "common": common, "without": without}


def pairs(cases: int, seed: int) -> Counter[str]:
    """What came out of so many pairs."""
    rng = np.random.default_rng(seed)
    found: Counter[str] = Counter()
    for _ in range(cases):
        one, other = split_pair(rng)
        if not (one.is_valid and other.is_valid):
            found["not drawn: a part crosses itself"] += 1
            continue
        found["pairs"] += 1
        slack = 4 * COARSER * (one.length + other.length)
        true = {"union": one.area + other.area, "common": 0.0, "without": one.area}
        for what, area in true.items():
            if abs(DOOR[what](one, other).area - area) > slack:
                found[f"WRONG: {what}"] += 1
                print("wrong:", what, one.wkt, other.wkt, flush=True)
            plain = areas_only(PLAIN[what](one, other))
            wrong, refused = abs(plain.area - area) > slack, not holds(what, (one, other), plain)
            found[f"plain {what} wrong"] += wrong
            found[f"plain {what} wrong, seen by the check"] += wrong and refused
            found[f"plain {what} right, refused by the check"] += refused and not wrong
    return found


def refits(cases: int, seed: int) -> Counter[str]:
    """What came out of so many refits: every way that stretches, to several aims."""
    rng = np.random.default_rng(seed)
    found: Counter[str] = Counter()
    for k in range(cases):
        design = hinged(rng, (0.0, 0.0, 8.0, -12.0)[k % 4])
        way = ("height", "scale", "chord")[k % 3]
        try:
            made = refit(design, way, "cla_fraction", float(rng.choice((0.2, 0.25, 0.3))))  # type: ignore[arg-type]
        except EditError as error:
            found[f"refused: {error}"] += 1
            continue
        found["refits"] += 1
        _, cla, _, fin = count_by_intervals(made.design)
        if abs((cla - 300.0) / (fin - 300.0) - made.reached) > 5e-4:
            found["WRONG: refit"] += 1
            print("wrong:", way, made.design, flush=True)
    return found


def main(cases: int, seed: int) -> int:
    """Print the figures; 1 where anything was wrong."""
    start = process_time()
    found = pairs(cases, seed) + refits(max(cases // 50, 1), seed)
    for what, count in sorted(found.items()):
        print(f"{count:8}  {what}")
    print(f"{process_time() - start:.0f} s of the processor")
    return int(any(what.startswith("WRONG") for what in found))


if __name__ == "__main__":
    sys.exit(main(*(int(v) for v in sys.argv[1:3])) if len(sys.argv) > 2 else
             main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000, 1))
