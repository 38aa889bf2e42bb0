"""The outline of a shape that is drawn on a scan, from a place inside it. For a worker's thread."""

from __future__ import annotations

from typing import Protocol

from app.scans.ink_window import InkWindow, ink_window
from app.scans.picture import Picture
from core.design import Node, Scan
from core.ink.fitting import closed_joints
from core.ink.region import Region, region
from core.redesign.refit import CancelledError

TOLERANCE_MM = 0.12
_OPEN = "the shape is open: the line around it has wider gaps than those that are bridged"
_WIDER = 2.5
_FINEST_MM = 0.05
_COARSEST_MM = 0.35
_MOST_PIXELS = 9_000_000


class Wanted(Protocol):
    """Whoever asked."""

    def gone(self) -> bool:
        """Whether nobody waits any more."""


def shape_around(
    scan: Scan, picture: Picture, at: tuple[float, float], gap: float, reach: float, asker: Wanted
) -> tuple[Node, ...] | str:
    """The nodes of the closed outline around ``at`` (mm), or a clause that says why there is none.

    Gaps of ``gap`` mm are bridged. It is looked for within ``reach`` mm, then further and further, to the
    edges of the scan: a small shape is found quickly and on the finest pixels. CancelledError where
    ``asker`` has gone.
    """
    reason = "no scan that is shown lies here"
    whole: tuple[int, int] | None = None
    while True:
        if asker.gone():
            raise CancelledError
        box = (at[0] - reach, at[1] - reach, at[0] + reach, at[1] + reach)
        wanted = min(max(reach / 700.0, _FINEST_MM), _COARSEST_MM)
        window = ink_window(scan, picture, box, wanted, most_pixels=_MOST_PIXELS)
        if window is None:
            return reason
        found = _shape_in(window, at, gap, asker)
        if not isinstance(found, str):
            return found
        if asker.gone():
            raise CancelledError
        reason = found
        rows, columns = window.grey.shape
        covered = (round(rows * window.mm_per_px), round(columns * window.mm_per_px))
        if covered == whole:
            # The scan was seen to all its edges.
            return reason
        whole = covered
        reach *= _WIDER


def _shape_in(
    window: InkWindow, at: tuple[float, float], gap: float, asker: Wanted
) -> tuple[Node, ...] | str:
    (seed,) = window.px([at])
    found = region(
        window.grey, (float(seed[0]), float(seed[1])), gap=gap / window.mm_per_px, gone=asker.gone
    )
    if not isinstance(found, Region):
        # It counts its gaps in pixels, which mean nothing to a builder.
        return _OPEN if found.startswith(_OPEN[:17]) else found
    joints = closed_joints(window.mm(found.boundary), TOLERANCE_MM)
    return tuple(Node(x=j.x, z=j.z, handle_in=j.handle_in, handle_out=j.handle_out) for j in joints)
