"""Big blocks in pages of their own, as glibc itself counts them."""

from __future__ import annotations

import platform
import subprocess
import sys
from pathlib import Path

import pytest

from app.kit import heap

ROOT = Path(__file__).resolve().parents[3]
# mallinfo2(3): hblkhd, bytes in blocks that lie in pages of their own.
_MEASURE = """
import ctypes, sys
from app.kit.heap import keep_pictures_apart
if sys.argv[1] == "apart":
    assert keep_pictures_apart()
libc = ctypes.CDLL(None)
libc.malloc.restype, libc.malloc.argtypes = ctypes.c_void_p, [ctypes.c_size_t]
libc.free.argtypes = [ctypes.c_void_p]

class Info(ctypes.Structure):
    _fields_ = [(name, ctypes.c_size_t) for name in (
        "arena", "ordblks", "smblks", "hblks", "hblkhd",
        "usmblks", "fsmblks", "uordblks", "fordblks", "keepcost",
    )]

libc.mallinfo2.restype = Info
scan = libc.malloc(30_000_000)
libc.free(scan)
before = libc.mallinfo2().hblkhd
window = libc.malloc(1_600_000)
print(libc.mallinfo2().hblkhd - before)
libc.free(window)
"""


def _in_pages_of_its_own(way: str) -> int:
    command = [sys.executable, "-c", _MEASURE, way]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=60, check=True)
    return int(done.stdout)


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="of glibc")
def test_after_a_scan_was_let_go_a_picture_still_lies_apart() -> None:
    assert _in_pages_of_its_own("as it is") == 0
    assert _in_pages_of_its_own("apart") >= 1_600_000


def test_elsewhere_nothing_is_done(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "platform", "win32")
    assert not heap.keep_pictures_apart()


def test_another_c_library_is_left_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setattr(heap.ctypes, "CDLL", lambda _: object())
    assert not heap.keep_pictures_apart()
