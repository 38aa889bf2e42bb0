"""What one invented aeroplane consists of, before it becomes a scan and a design."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from paper import ScanPlan
from shaping import Tracing
from sheet import Sheet

from core.design import Design, Outline


@dataclass(frozen=True)
class Plan:
    """True geometry: ``bare`` is the design without outlines and scans."""

    slug: str
    bare: Design
    tracings: tuple[Tracing, ...]
    sheet: Sheet
    scan: ScanPlan

    @property
    def outlines(self) -> list[Outline]:
        """The true outlines, in mm."""
        return [tracing.outline for tracing in self.tracings]

    @property
    def mm_to_px(self) -> NDArray[np.float64]:
        """True 3×3 from (x, z, 1) in mm to (u, v, 1) in pixels of the scan."""
        return self.scan.mm_to_px

    @cached_property
    def px_to_mm(self) -> NDArray[np.float64]:
        """The inverse."""
        return np.asarray(np.linalg.inv(self.scan.mm_to_px))

    def tracing(self, outline_id: str) -> Tracing:
        """The tracing of that id; KeyError where there is none."""
        for tracing in self.tracings:
            if tracing.outline.id == outline_id:
                return tracing
        raise KeyError(outline_id)
