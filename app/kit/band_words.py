"""Words of the area band, once for screen and paper."""

from __future__ import annotations

from core.design import DisplayUnits
from core.units import MM_PER_IN

ONCE, TWICE = "counted once", "counted twice or more"


def greatest_words(depth: float, units: DisplayUnits) -> str:
    """The greatest side area per length, ``depth`` in mm: "greatest 380 mm² per mm".

    Two figures: it is looked for at stations, and a narrow peak may stand between them.
    """
    value, unit = (depth, "mm² per mm") if units == "mm" else (depth / MM_PER_IN, "sq in per in")
    return f"greatest {float(f'{value:.2g}'):g} {unit}"
