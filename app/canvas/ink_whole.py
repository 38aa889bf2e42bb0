"""The outer outline of what a loop was drawn round on a scan. For a worker's thread."""

from __future__ import annotations

from collections.abc import Sequence
from time import monotonic, sleep

import numpy as np

from app.canvas.ink_fit import Asker, around
from app.canvas.tools.inking import Point, Whole
from app.scans.ink_window import InkWindow, ink_window, want_sharp
from app.scans.picture import Picture
from app.scans.shapes import TOLERANCE_MM
from core.design import Node, Scan
from core.ink.enclosed import Enclosed, Unclosed, enclosed
from core.ink.fitting import closed_joints
from core.redesign.refit import CancelledError

_FINEST_MM = 0.09
_COARSEST_MM = 0.2
_ACROSS_PX = 6000.0
_MOST_PIXELS = 9_000_000
_PATIENCE_S = 2.5
_SURE = 0.97
"""Of the outline, what lies on ink where nothing has to be said."""


def whole_within(scan: Scan, picture: Picture, loop: Sequence[Point], gap: float, asker: Asker) -> Whole:
    """What is drawn within ``loop`` (mm), gaps of ``gap`` mm bridged.

    CancelledError where ``asker`` has gone.
    """
    box = around(loop, 1.0)
    across = max(box[2] - box[0], box[3] - box[1])
    wanted = min(max(across / _ACROSS_PX, _FINEST_MM), _COARSEST_MM)
    until = monotonic() + _PATIENCE_S
    while want_sharp(scan, picture, box, wanted, _MOST_PIXELS) and monotonic() < until:
        if asker.gone():
            raise CancelledError
        sleep(0.02)
    window = ink_window(scan, picture, box, wanted, most_pixels=_MOST_PIXELS)
    if window is None:
        return Whole((), "no scan that is shown lies here")
    found = enclosed(window.grey, window.px(loop), gap=gap / window.mm_per_px, gone=asker.gone)
    if asker.gone():
        raise CancelledError
    if isinstance(found, Unclosed):
        return Whole((), found.reason, _place(window, found.at))
    joints = closed_joints(window.mm(found.boundary), TOLERANCE_MM)
    nodes = tuple(Node(x=j.x, z=j.z, handle_in=j.handle_in, handle_out=j.handle_out) for j in joints)
    return Whole(nodes, _remark(found), _place(window, found.open_at))


def _place(window: InkWindow, at: tuple[float, float] | None) -> Point | None:
    if at is None:
        return None
    (mm,) = window.mm(np.array([at]))
    return float(mm[0]), float(mm[1])


def _remark(found: Enclosed) -> str:
    """What to look at, in sentences; empty where nothing has to be said."""
    told = []
    if found.open_at is not None:
        told.append("Look at the marked place: its line is open, and what lies behind it was left out.")
    if found.sure < _SURE:
        told.append(f"{100 * (1 - found.sure):.0f} % of the outline lies beside the ink: look it over.")
    if found.others:
        more = "Another large piece" if found.others == 1 else f"{found.others} more large pieces"
        lies = "lies" if found.others == 1 else "lie"
        told.append(f"{more} {lies} within the loop: only the largest was taken.")
    return " ".join(told)
