"""Scans that look like photographs: what is measured on them as they lie is not to be relied on."""

from __future__ import annotations

from core.design import Design, Scan

HOW_TO_STRAIGHTEN = "straighten it by four corners, or say that it is flat"


def unstraightened(design: Design) -> tuple[Scan, ...]:
    """The scans that look like photographs and were neither straightened nor declared flat.

    Hidden ones count as well: what was traced on them is in the design. A scale from two points does
    not make a photograph flat.
    """
    return tuple(scan for scan in design.scans if scan.photograph)


def left_over(design: Design) -> float:
    """What straightening left of the worst photograph, one standard deviation in mm; 0 where none is known.

    A file does not say on which scan an outline was traced.
    """
    return max((scan.residual_mm or 0.0 for scan in design.scans), default=0.0)
