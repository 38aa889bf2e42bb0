"""Pictures of six megapixels opened and taken out again in the real window, and the memory that stays.

    xvfb-run -a python tests/endurance/scans_come_and_go.py [TIMES] [noisy|plain] [keep|new] [grey|colour]

On a real screen, or the one that Xvfb makes. ``noisy`` pictures are as large as files as they are in
memory, ``plain`` ones are drawn lines; ``keep`` takes each out of the same design, so that undo can bring
it back, ``new`` begins a new design each time. Prints the resident memory, the memory of the X server
where it can be told, and who holds what; ends with 1 where memory grew by more than a tenth after the
first fifth, but for what undo holds by name.
"""

from __future__ import annotations

import gc
import os
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np

WIDE, HIGH = 3000, 2000


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


def main(times: int, noisy: bool, keep: bool, colour: bool) -> int:
    """Print a line every few pictures."""
    with tempfile.TemporaryDirectory() as folder:
        from desk import own_home

        own_home(Path(folder))
        from PySide6.QtWidgets import QApplication

        from app.window.window import Window, application
        from core.design import EMPTY

        app = application()
        window = Window()
        window.resize(1360, 820)
        window.show()

        def wait(done: object, most: float = 60.0) -> None:
            end = time.monotonic() + most
            while not done() and time.monotonic() < end:  # type: ignore[operator]
                QApplication.processEvents()
                time.sleep(0.003)

        def rest(seconds: float) -> None:
            begun = time.monotonic()
            wait(lambda: time.monotonic() > begun + seconds)

        rest(0.5)
        print(f"{app.platformName()}; {times} pictures, noisy {noisy}, keep {keep}, colour {colour}")
        print(f"{'picture':>8}{'RSS':>9}{'PSS':>9}{'X server':>9}{'shelf':>9}{'files in undo':>15}")
        rows: list[tuple[float, float]] = []
        path = Path(folder) / "scan.png"
        for number in range(times + 1):
            if number:
                window.filing.open_scan_path(picture(path, number, noisy, colour))
                wait(lambda: len(window.document.committed.scans) == 1)
                window.canvas.fit() if hasattr(window.canvas, "fit") else None
                rest(0.25)
                if keep:
                    from msgspec.structs import replace

                    window.document.apply("remove scan", lambda d: replace(d, scans=()))
                else:
                    window.document.start(EMPTY)
                rest(0.1)
            if number in (0, 1) or number % 5 == 0 or number == times:
                window.keeper.recovery.flush()
                gc.collect()
                held = sum(map(len, window.document.pictures.values())) / 1e6
                rows.append((resident_mb(), held))
                print(f"{number:>8}{rows[-1][0]:>9.0f}{resident_mb('Pss'):>9.0f}{server_mb():>9.0f}"
                      f"{window.shelf.memory_bytes / 1e6:>9.1f}{held:>15.1f}", flush=True)
        window.document.start(EMPTY)
        rest(0.5)
        gc.collect()
        print(f"   a new design:{resident_mb():>9.0f}")
        window.close()
        early, late = rows[max(1, len(rows) // 5)], rows[-1]
        grown = (late[0] - late[1]) / (early[0] - early[1])
        print(f"grown to {grown:.2f} of what it was after the first fifth, undo's files left out")
        return int(grown > 1.1)


if __name__ == "__main__":
    given = sys.argv[1:]
    count = next((int(a) for a in given if a.isdigit()), 56)
    sys.exit(main(count, "plain" not in given, "new" not in given, "colour" in given))
