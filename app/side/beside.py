"""What every window beside the window is made from."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtWidgets import QWidget

from app.canvas.canvas import Canvas
from app.kit.theme import Theme
from app.work.desk import Desk


@dataclass(frozen=True, eq=False)
class Beside:
    """The work in hand, the canvas to show it on, the colours, and the window it stands beside.

    ``show`` opens another window beside it, by its name.
    """

    desk: Desk
    canvas: Canvas
    theme: Theme
    window: QWidget
    show: Callable[[str], QWidget]
