"""Try spoiled files on every reader, many times, and print what came of it.

    python tests/endurance/fuzz.py CASES [SEED] [TARGET ...]

CASES are for all targets together. Exit status 1 with the shrunk case where a reader broke a rule.
"""

from __future__ import annotations

import os
import resource
import sys
import time
import warnings
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
sys.path.insert(0, str(Path(__file__).resolve().parent))

from fuzzing import STEPS, TARGETS, Target, try_one
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

# Of every hundred cases: readers of much, and readers of what is quick.
SHARES = {
    "container": 12, "design": 12, "scan": 10, "pdf": 2, "svg": 11, "dxf": 2, "units": 36,
    "words": 5, "beside": 5, "bombs": 5, "mending": 10,
}
MOST_MEMORY_GB = 1.0


def run(target: Target, cases: int, number: int) -> bool:
    """Whether so many cases were tried without a breach."""
    slowest = [0.0]

    @seed(number)
    @settings(
        max_examples=cases, database=None, deadline=None, phases=(Phase.generate, Phase.shrink),
        suppress_health_check=list(HealthCheck),
    )
    @given(st.integers(0, 99), st.integers(0, 99), STEPS)
    def attempt(which: int, graft: int, steps: list[tuple[str, float, float, int]]) -> None:
        begun = time.process_time()
        try_one(target, which, graft, steps)
        slowest[0] = max(slowest[0], time.process_time() - begun)

    begun = time.monotonic()
    try:
        attempt()
        fault = ""
    except Exception as error:
        import traceback

        fault = "".join(traceback.format_exception(error))[-1500:]
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    print(
        f"{target.name}: {cases} cases in {time.monotonic() - begun:.0f} s, the slowest {slowest[0]:.2f} s "
        f"of the processor, most memory of the process so far {memory:.2f} GB"
        f"{'' if not fault else ': ' + fault}",
        flush=True,
    )
    return not fault and memory < MOST_MEMORY_GB


def main() -> int:
    """Run the targets named, or all."""
    warnings.simplefilter("ignore")
    cases = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    number = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    names = sys.argv[3:] or list(TARGETS)
    whole = sum(SHARES[name] for name in names)
    good = [run(TARGETS[name], max(1, cases * SHARES[name] // whole), number) for name in names]
    return 0 if all(good) else 1


if __name__ == "__main__":
    from PySide6.QtGui import QGuiApplication

    application = QGuiApplication(sys.argv[:1])
    sys.exit(main())
