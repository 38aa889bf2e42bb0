"""What every window beside the window is made from."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtWidgets import QWidget

from app.canvas.canvas import Canvas
from app.kit.theme import Theme
from app.work.desk import Desk


@dataclass(frozen=True, eq=False)
class Beside:
    """The work in hand, the canvas to show it on, the colours, and the window it stands beside."""

    desk: Desk
    canvas: Canvas
    theme: Theme
    window: QWidget
