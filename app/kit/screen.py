"""Whether there is a screen."""

from __future__ import annotations

import os
import sys


def no_screen() -> bool:
    """Whether a window would have nowhere to appear (Linux without a display)."""
    wanted = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
    return sys.platform.startswith("linux") and not any(os.environ.get(name) for name in wanted)
