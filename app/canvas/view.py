"""Where the aeroplane lies on the screen. x is shared by the profile, the arm rule and the area band."""

from __future__ import annotations

from dataclasses import dataclass, replace

LEAST_SCALE = 0.002
MOST_SCALE = 400.0


@dataclass(frozen=True)
class View:
    """``scale`` logical pixels per mm; the point (``x``, ``z``) in mm lies at the widget's corner (0, 0)."""

    scale: float = 1.0
    x: float = -60.0
    z: float = 300.0

    def to_px(self, x: float, z: float) -> tuple[float, float]:
        """Logical pixels of a point in mm."""
        return (x - self.x) * self.scale, (self.z - z) * self.scale

    def to_mm(self, px: float, py: float) -> tuple[float, float]:
        """The point in mm under a pixel."""
        return self.x + px / self.scale, self.z - py / self.scale

    def panned(self, dpx: float, dpy: float) -> View:
        """The view after the paper was pushed by so many pixels."""
        return replace(self, x=self.x - dpx / self.scale, z=self.z + dpy / self.scale)

    def zoomed(self, factor: float, px: float, py: float) -> View:
        """The view scaled about the pixel (px, py), which keeps its point."""
        scale = min(max(self.scale * factor, LEAST_SCALE), MOST_SCALE)
        x, z = self.to_mm(px, py)
        return View(scale, x - px / scale, z + py / scale)


def fitted(box: tuple[float, float, float, float], width: float, height: float, margin: float = 36.0) -> View:
    """The view that shows ``box`` (x low, z low, x high, z high; mm) whole in so many pixels."""
    low_x, low_z, high_x, high_z = box
    wide, high = max(high_x - low_x, 1e-6), max(high_z - low_z, 1e-6)
    room_x, room_y = max(width - 2 * margin, 20.0), max(height - 2 * margin, 20.0)
    scale = min(max(min(room_x / wide, room_y / high), LEAST_SCALE), MOST_SCALE)
    return View(
        scale,
        (low_x + high_x) / 2 - width / 2 / scale,
        (low_z + high_z) / 2 + height / 2 / scale,
    )


def whole_step(step: float, ratio: float) -> float:
    """The step nearest to ``step`` logical pixels that is a whole number of the screen's own.

    ``ratio`` of those go to a logical one. What is drawn is scrolled by such a step as it is.
    """
    return round(step * ratio) / ratio
