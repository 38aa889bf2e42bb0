"""Pictures leave no holes in memory when they are let go."""

from __future__ import annotations

import ctypes
import sys

# M_MMAP_THRESHOLD of malloc.h; mallopt(3) of the Linux man-pages.
_MMAP_THRESHOLD = -3
APART_FROM_BYTES = 128 * 1024
"""What glibc begins with."""


def keep_pictures_apart() -> bool:
    """Have blocks from 128 KB on lie in pages of their own, given back whole; whether that was possible.

    With glibc alone. It does so at first, but the freeing of one big block moves its limit up to that
    size, 32 MB at most (mallopt(3)). After the first scan, pictures of every size would lie between the
    small blocks of the edits, and leave holes there in an evening that nothing fits into.
    """
    if not sys.platform.startswith("linux"):
        return False
    try:
        mallopt = ctypes.CDLL(None).mallopt
    except (OSError, AttributeError):
        return False  # another C library
    return bool(mallopt(_MMAP_THRESHOLD, APART_FROM_BYTES))
