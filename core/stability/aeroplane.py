"""What the readings beyond the CLA are computed from: one design, already counted and balanced."""

from __future__ import annotations

from dataclasses import dataclass

from core.design import Design, Mark
from core.stability.side_area import SideArea

Values = dict[str, float | str]
"""By reading key, the figure, or the reason why it is missing: a short clause in lower case."""


@dataclass(frozen=True, eq=False)
class Aeroplane:
    """A design together with its counted side area, its CG and its fin centre; lengths in mm."""

    design: Design
    side: SideArea
    cg: Mark | None
    no_cg: str
    """Why the CG is missing; empty where there is one."""
    fin_centre: tuple[float, float] | None
    coarse: bool = False
    """True where figures that take long may be laid half as fine: under a moving hand, in a search."""
    carry: float = 1.0
    """What the coarse lattice is multiplied by: whole over coarse where that was last known."""
