"""The plot library, its errors told like our own; every plot takes the library from here."""

import pyqtgraph as pg

from app.kit.overrides import errors_told, tell_errors_of

__all__ = ["Axis", "StillBox", "pg"]

tell_errors_of("pyqtgraph")


class StillBox(pg.ViewBox):  # type: ignore[misc]
    """A view box that takes no mouse: the plot itself does."""


@errors_told
class Axis(pg.AxisItem):  # type: ignore[misc]
    """An axis whose minus is the one of all other figures."""

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:
        """The figures at the ticks."""
        return [text.replace("-", "−") for text in super().tickStrings(values, scale, spacing)]
