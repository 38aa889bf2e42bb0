"""Pictures of six megapixels opened and taken out again in the real window, and the memory that stays.

    xvfb-run -a python tests/endurance/scans_come_and_go.py [MINUTES] [noisy|plain] [keep|new] [grey|colour]

For 60 minutes unless told otherwise, on a real screen or the one that Xvfb makes. A round is a minute of
opening one picture after the other: with ``keep`` each is taken out of the same design, so that undo can
bring it back until the round ends with a new design; ``new`` begins one after each picture. ``noisy``
pictures are as large as files as they are in memory, ``plain`` ones are drawn lines. A line a round: the
resident memory at the end of the round and with the new design, the memory of the X server where it can be
told, and who holds what. Ends with 1 where the last round leaves over a tenth more than the first one did.
"""

from __future__ import annotations

import gc
import os
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
if os.environ.get("DISPLAY"):
    # Before anything of the tests is imported, which ask for no screen.
    os.environ.setdefault("QT_QPA_PLATFORM", "xcb")

import numpy as np

WIDE, HIGH = 3000, 2000
MOST_GROWN = 1.1


def picture(path: Path, number: int, noisy: bool, colour: bool) -> Path:
    """A sheet with lines at a place of its own, in a file of its own."""
    from PySide6.QtGui import QImage

    draw = np.random.default_rng(number)
    shape = (HIGH, WIDE, 3) if colour else (HIGH, WIDE)
    pixels = draw.integers(150, 256, shape, dtype=np.uint8) if noisy else np.full(shape, 240, np.uint8)
    pixels[200 + number :: 400] = 20
    pixels[:, 100 + number :: 500] = 20
    kind = QImage.Format.Format_RGB888 if colour else QImage.Format.Format_Grayscale8
    image = QImage(pixels.tobytes(), WIDE, HIGH, pixels.strides[0], kind)
    image.setDotsPerMeterX(11811)
    image.setDotsPerMeterY(11811)
    image.save(str(path))
    return path


def resident_mb(what: str = "Rss", process: str = "self") -> float:
    """Memory of a process in MB: Rss or Pss."""
    for line in Path(f"/proc/{process}/smaps_rollup").read_text().splitlines():
        if line.startswith(what + ":"):
            return int(line.split()[1]) / 1024
    return float("nan")


def server_mb() -> float:
    """The resident memory of the X server that this display belongs to; NaN where it cannot be told."""
    display = os.environ.get("DISPLAY", "")
    for place in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            words = place.read_bytes().split(b"\0")
            if b"Xvfb" in words[0] and display.split(".")[0].encode() in words:
                return resident_mb("Rss", place.parent.name)
        except OSError:
            continue
    return float("nan")


def main(minutes: float, noisy: bool, keep: bool, colour: bool) -> int:
    """Print a line a round, and the verdict."""
    with tempfile.TemporaryDirectory() as folder:
        from desk import own_home

        own_home(Path(folder))
        from msgspec.structs import replace
        from PySide6.QtTest import QTest

        from app.window.window import Window, application
        from core.design import EMPTY

        app = application()
        window = Window()
        window.resize(1360, 820)
        window.show()

        def wait(done: Callable[[], bool], most: float = 60.0) -> bool:
            end = time.monotonic() + most
            while not done() and time.monotonic() < end:
                # Not processEvents: outside of the program's own loop that deletes nothing which is to be
                # deleted later, and every card of a scan that is gone would stay (0.3 MB each).
                QTest.qWait(3)
            return done()

        def rest(seconds: float) -> None:
            begun = time.monotonic()
            wait(lambda: time.monotonic() > begun + seconds)

        rest(0.5)
        print(f"{app.platformName()}; {minutes:g} minutes, noisy {noisy}, keep {keep}, colour {colour}; MB")
        print(f"{'minute':>7}{'pictures':>9}{'RSS':>7}{'undo':>7}{'shelf':>7}{'new: RSS':>10}{'PSS':>7}"
              f"{'X server':>9}", flush=True)
        begun, number, left = time.monotonic(), 0, list[float]()
        path = Path(folder) / "scan.png"
        while (now := time.monotonic()) < begun + 60 * minutes:
            round_ends = min(begun + 60 * (len(left) + 1), begun + 60 * minutes)
            while now < round_ends:
                number += 1
                window.filing.open_scan_path(picture(path, number % 400, noisy, colour))
                if not wait(lambda: len(window.document.committed.scans) == 1):
                    print(f"picture {number} did not come within a minute")
                    return 1
                window.canvas.fit()
                rest(0.25)
                if keep:
                    window.document.apply("remove scan", lambda design: replace(design, scans=()))
                else:
                    window.document.start(EMPTY)
                rest(0.1)
                now = time.monotonic()
            window.keeper.recovery.flush()
            full, shelf = resident_mb(), window.shelf.memory_bytes / 1e6
            held = sum(map(len, window.document.pictures.values())) / 1e6
            window.document.start(EMPTY)
            rest(0.5)
            window.keeper.recovery.flush()
            gc.collect()
            left.append(resident_mb())
            print(f"{(time.monotonic() - begun) / 60:>7.1f}{number:>9}{full:>7.0f}{held:>7.0f}{shelf:>7.0f}"
                  f"{left[-1]:>10.0f}{resident_mb('Pss'):>7.0f}{server_mb():>9.0f}", flush=True)
        window.close()
        grown = left[-1] / left[0]
        verdict = "within a tenth" if grown <= MOST_GROWN else "MORE THAN A TENTH OVER IT"
        print(f"{number} pictures; {left[-1]:.0f} MB are left, {left[0]:.0f} after the first round, at most "
              f"{max(left):.0f}: {grown:.2f} of it, {verdict}")
        return int(grown > MOST_GROWN)


if __name__ == "__main__":
    given = sys.argv[1:]
    length = next((float(word) for word in given if word.replace(".", "", 1).isdigit()), 60.0)
    sys.exit(main(length, "plain" not in given, "new" not in given, "colour" in given))
