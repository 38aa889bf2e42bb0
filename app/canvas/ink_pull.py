"""A line drawn loosely along ink, pulled on to it on the scan's own pixels, and made into nodes.

For a worker's thread, as ``ink_fit`` is: everything it looks at is handed in.
"""

from __future__ import annotations

from collections.abc import Sequence
from time import monotonic, sleep

import numpy as np
from numpy.typing import NDArray

from app.canvas.ink_fit import NO_SCAN, Asker, Ground
from app.canvas.ink_sheets import Lines, lines_along
from app.canvas.tools.inking import Point, Rounded
from app.scans.shapes import TOLERANCE_MM
from core.design import Outline
from core.ink.pulling import Choice, Pull, pull
from core.redesign.refit import CancelledError
from core.redesign.shared_edges import nodes_round, taken_first

Floats = NDArray[np.float64]

COARSE_MM = 0.4
"""Where pixels are no finer, a drawn line may have faded away."""
_COARSE = "the scan is there only coarsely as yet; when it is sharp, Escape and then undo look again"
BESIDE_MM = 12.0
"""So far beside the pen's line pixels are looked at: it need not be drawn any better than to 8 mm."""


def pull_round(
    ground: Ground, others: Sequence[Outline], line: Sequence[Point], asker: Asker
) -> Rounded | str:
    """A closed line of the pen on the ink, with the nodes of the outline; or why there is none, a clause.

    What lies along edges of ``others`` becomes their very nodes. CancelledError where ``asker`` has gone.
    """
    found = pulled_mm(ground, np.asarray(line, np.float64), asker, closed=True)
    if isinstance(found, str):
        return found
    return fit_round(others, taken_first(found, others), asker)


def fit_round(others: Sequence[Outline], found: Pull, asker: Asker) -> Rounded | str:
    """The same from where the line is on the ink already. ``found`` in mm."""
    if asker.gone():
        raise CancelledError
    try:
        nodes = nodes_round(found.points, others, TOLERANCE_MM)
    except ValueError:
        return "the line is too short"
    return Rounded(found, nodes)


def pulled_mm(ground: Ground, line: Floats, asker: Asker, *, closed: bool) -> Pull | str:
    """A line (N, 2) in mm on the ink that runs along it, in mm; or why there is none, as a clause."""
    lines = _when_sharp(ground, line, asker)
    if lines is None:
        return NO_SCAN
    found = pull(
        lines.grey, lines.px(line), closed=closed, mm_per_px=lines.mm_per_px, gone=asker.gone
    )
    if asker.gone():
        raise CancelledError
    if isinstance(found, str):
        return _COARSE if lines.mm_per_px > COARSE_MM else found
    return _in_mm(found, lines)


def _when_sharp(ground: Ground, line: Floats, asker: Asker) -> Lines | None:
    """The pixels along the line; of a scan that is still coming, when they are fine, or it takes too long."""
    until = monotonic() + ground.patience_s
    lines = lines_along(ground, line, BESIDE_MM, asker)
    while lines is not None and lines.mm_per_px > COARSE_MM and monotonic() < until:
        if asker.gone():
            raise CancelledError
        sleep(0.05)
        lines = lines_along(ground, line, BESIDE_MM, asker)
    return lines


def _in_mm(found: Pull, lines: Lines) -> Pull:
    choices = tuple(Choice(c.first, c.last, lines.mm(c.other)) for c in found.choices)
    return Pull(lines.mm(found.points), choices, found.bare)
