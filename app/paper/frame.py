"""Where the aeroplane lies on the paper: its extents, a round scale, and the way from mm to mm."""

from __future__ import annotations

import math
from dataclasses import dataclass

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainterPath, QTransform
from shapely.geometry.base import BaseGeometry

from app.kit.paths import ring_path, shape_path
from app.kit.round_steps import nice_step
from core.design import Design, DisplayUnits
from core.geometry.ring import Ring, around
from core.stability.readings import Readings
from core.stability.side_area import form_of, surface_patch
from core.units import MM_PER_IN

Extents = tuple[float, float, float, float]
_STEPS = (1.0, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0)
_LARGER = (1.0, 2.0, 2.5, 4.0, 5.0)
_LEAST = 1e-6


def extents_of(design: Design, readings: Readings) -> Extents | None:
    """(x low, z low, x high, z high) in mm of all that is drawn; None where there is nothing.

    A CG mark far off the outlines is left out: it would shrink them to a speck.
    """
    boxes = [form_of(o).patch.box for o in design.outlines]
    boxes += [surface_patch(wing).box for wing in design.wings]
    boxes += [surface_patch(tailplane).box for tailplane in design.tailplanes]
    box = around(boxes)
    if box is None:
        return None
    low_x, low_z, high_x, high_z = box
    cg = readings.cg
    reach = 0.5 * max(high_x - low_x, high_z - low_z)
    if cg is not None and (
        low_x - reach <= cg.x <= high_x + reach and low_z - reach <= cg.z <= high_z + reach
    ):
        low_x, high_x = min(low_x, cg.x), max(high_x, cg.x)
        low_z, high_z = min(low_z, cg.z), max(high_z, cg.z)
    return low_x, low_z, high_x, high_z


def round_ratio(most: float) -> float:
    """The n of the largest scale 1:n, out of 1, 2, 2.5, 3, 4, 5, 6, 8 times a power of ten, up to ``most``.

    ``most`` is in mm of paper for a mm of aeroplane. n below 1 enlarges: 1, 2, 2.5, 4 or 5 times a power
    of ten to one.
    """
    if most >= 1.0:
        power = 10.0 ** math.floor(math.log10(most))
        return 1.0 / max(step * power for step in _LARGER if step * power <= most * (1 + 1e-9))
    needed = 1.0 / max(most, 1e-12)
    power = 10.0 ** math.floor(math.log10(needed))
    for ten in (power, 10 * power):
        for step in _STEPS:
            if step * ten >= needed * (1 - 1e-9):
                return step * ten
    return 100 * power


def ratio_words(ratio: float) -> str:
    """ "1:4", or "2:1" where the drawing is larger than the aeroplane."""
    return f"1:{ratio:.10g}" if ratio >= 1 else f"{1 / ratio:.4g}:1"


@dataclass(frozen=True)
class Frame:
    """The drawing's place: ``area`` in mm of paper, (``x_mid``, ``z_mid``) in mm at its middle."""

    area: QRectF
    x_mid: float
    z_mid: float
    per_mm: float
    ratio: float | None

    def x(self, x: float) -> float:
        """Paper x, mm, of a station."""
        return self.area.center().x() + (x - self.x_mid) * self.per_mm

    def y(self, z: float) -> float:
        """Paper y, mm, of a height."""
        return self.area.center().y() - (z - self.z_mid) * self.per_mm

    def station(self, x: float) -> float:
        """Station in mm at paper x."""
        return self.x_mid + (x - self.area.center().x()) / self.per_mm

    def height(self, y: float) -> float:
        """Height in mm at paper y."""
        return self.z_mid - (y - self.area.center().y()) / self.per_mm

    @property
    def transform(self) -> QTransform:
        """From mm to mm of paper; z up becomes y down."""
        return QTransform(self.per_mm, 0, 0, -self.per_mm, self.x(0.0), self.y(0.0))

    def curve(self, ring: Ring) -> QPainterPath:
        """The outline itself, its cubics kept."""
        return self.transform.map(ring_path(ring))

    def region(self, region: BaseGeometry) -> QPainterPath:
        """A filled region, holes and all."""
        return self.transform.map(shape_path(region))


def fit(extents: Extents, width: float, height: float, *, known: bool) -> tuple[float, float | None]:
    """(mm of paper per mm, ratio) of the drawing that fits ``width`` × ``height`` mm of paper."""
    wide, tall = extents[2] - extents[0], extents[3] - extents[1]
    most = min(width / max(wide, _LEAST), height / max(tall, _LEAST))
    if not known:
        return most, None
    ratio = round_ratio(most)
    return 1.0 / ratio, ratio


def station_step(frame: Frame, units: DisplayUnits) -> tuple[float, float]:
    """(mm between labelled stations, mm between the lines of the grid), 18 mm of paper apart or more."""
    unit = 1.0 if units == "mm" else MM_PER_IN
    least = 18.0 / frame.per_mm / unit
    step = nice_step(least)
    # Half of it is round but for 5, of which a fifth is.
    part = 5 if f"{step:e}".startswith("5") else 2
    return step * unit, step * unit / part


def station_words(x: float, units: DisplayUnits) -> str:
    """A station on the rule below the drawing, without its unit."""
    if units == "mm":
        return f"{round(x, 3) + 0.0:g}".replace("-", "−")
    return f"{round(x / MM_PER_IN, 3) + 0.0:g}".replace("-", "−")
