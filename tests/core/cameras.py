"""Known cameras that look at a flat plan: where its points come to lie in the photograph."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
PICTURE = (4000.0, 3000.0)


@dataclass(frozen=True)
class Camera:
    """A pinhole: ``focal`` in pixels, turned by ``tilt`` (about the plan's x) and ``pan`` (about its z)
    and ``roll`` in degrees, ``away`` mm from the point (``x``, ``z``) of the plan, which is in the middle.
    """

    focal: float = 3600.0
    tilt: float = 18.0
    pan: float = -14.0
    roll: float = 4.0
    away: float = 1300.0
    x: float = 420.0
    z: float = 300.0
    barrel: float = 0.0
    """By what part of the half diagonal its lens draws the picture's corners inwards."""

    def pixels(self, plan: Array) -> Array:
        """Pixels (u right, v down) of points (x aft, z up) of the plan in mm, both shape (N, 2).

        Point by point through the pinhole, without any matrix of a plane: turned, moved away, divided.
        """
        plan = np.asarray(plan, np.float64).reshape(-1, 2)
        return self.looks_at(np.column_stack((plan, np.zeros(len(plan)))))

    def looks_at(self, space: Array) -> Array:
        """The same of points (x, z, height above the table), shape (N, 3)."""
        a, b, c = np.radians((self.tilt, self.pan, self.roll))
        about_x = np.array(((1, 0, 0), (0, np.cos(a), -np.sin(a)), (0, np.sin(a), np.cos(a))))
        about_z = np.array(((np.cos(b), 0, np.sin(b)), (0, 1, 0), (-np.sin(b), 0, np.cos(b))))
        about_axis = np.array(((np.cos(c), -np.sin(c), 0), (np.sin(c), np.cos(c), 0), (0, 0, 1)))
        flat = np.asarray(space, np.float64) * (1, 1, -1) - (self.x, self.z, 0)
        seen = flat @ (about_axis @ about_x @ about_z).T + (0, 0, self.away)
        u = PICTURE[0] / 2 + self.focal * seen[:, 0] / seen[:, 2]
        v = PICTURE[1] / 2 - self.focal * seen[:, 1] / seen[:, 2]
        return self._through_the_lens(np.column_stack((u, v)))

    def _through_the_lens(self, straight: Array) -> Array:
        """The lens bends by its own kind of number: from where a point should be, to where it is seen.

        The program's runs the other way, so that neither is the other's formula.
        """
        middle, half = np.array(PICTURE) / 2, float(np.hypot(*PICTURE)) / 2
        at = (straight - middle) / half
        return np.asarray(middle + half * at * (1 - self.barrel * (at**2).sum(axis=1))[:, None])


CAMERAS = (
    Camera(),
    Camera(tilt=-25, pan=10, roll=-7, away=1500),
    Camera(focal=2900, tilt=8, pan=28, roll=2, away=1150),
    Camera(focal=6000, tilt=3, pan=2, roll=0, away=2200),
)


def pairs(points: Array) -> tuple[tuple[float, float], ...]:
    """Points, shape (N, 2), as the design keeps them."""
    return tuple((float(x), float(y)) for x, y in points)
