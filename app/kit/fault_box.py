"""The box that says what could not be done, and why."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QWidget

from app.kit.plain import Box
from app.kit.sentences import as_sentence

_MOST = 6


def fault_box(window: QWidget, title: str, sentences: Sequence[str]) -> None:
    """Say over ``window`` what failed (``title``, without a full stop) and why; waits until it is read."""
    shown = list(sentences[:_MOST])
    if len(sentences) > _MOST:
        shown.append(f"and {len(sentences) - _MOST} more; “sternpost check” lists them all")
    box = Box(window, Box.Icon.Warning, f"{title}.", "\n".join(map(as_sentence, shown)))
    box.exec()
    box.deleteLater()
