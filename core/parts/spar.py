"""Spars: an upper and a lower cap that run straight from rib to rib, and webs between the ribs.

A cap lies in notches of the ribs, flush with them. Where the section runs out it tapers, so that the
ribs keep a fifth of their depth between the caps (our own choice). Webs stand between the caps, their
grain across them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from core.design_build import Spar
from core.parts.bays import Bays
from core.parts.cut import SAW_CUT, Piece
from core.parts.edging import laid
from core.parts.part import Array, Drawn
from core.parts.said import Remark, length
from core.parts.section import Cuts, pair

KEPT = 0.2
"""Of its half depth, what a rib keeps beside the middle plane under a cap."""
BESIDE = 2.0
"""mm of a rib that stay beside a notch (our own choice)."""
Bools = NDArray[np.bool_]
_ALONG = np.linspace(0.0, 1.0, 33)
# Simpson's rule over these.
_SIMPSON = np.array([1.0, *([4.0, 2.0] * 15), 4.0, 1.0]) / 96.0


@dataclass(frozen=True, eq=False)
class Run:
    """A spar in one panel: through the ribs ``first`` to ``last``, on the line c = ``c0`` + ``slope`` s."""

    spar: Spar
    first: int
    last: int
    c0: float
    slope: float

    def at(self, s: Array) -> Array:
        """Its middle in c."""
        return self.c0 + self.slope * s

    def levels(self, cuts: Cuts, skin: float) -> tuple[Array, Array]:
        """(upper face above the middle plane, depth of a cap) at each section."""
        middle = self.at(cuts.s)
        sides = middle[:, None] + 0.5 * self.spar.cap[0] * np.array((-1.0, 1.0))
        top = inner_half(cuts, sides, skin).min(axis=1)
        return top, np.minimum(self.spar.cap[1], (1.0 - KEPT) * top)


def inner_half(cuts: Cuts, c: Array, skin: float) -> Array:
    """Half the depth under the skin, which lies square to the surface, at each ``c`` (K, N)."""
    half = cuts.half(c)
    return half - skin * np.sqrt(1.0 + cuts.slope(c) ** 2) if skin > 0.0 else half


def percent(spar: Spar) -> str:
    """How a spar is called."""
    return f"spar at {100.0 * spar.chord_fraction:.0f} %"


def runs_of(
    bays: Bays, stretches: Array, made: Bools, skin: float
) -> tuple[list[Run], list[str], frozenset[int]]:
    """(spars of a panel, what cannot be made, which of the build's spars were its business).

    ``stretches`` (K, 2): from where to where each rib has depth; ``made`` (K,): which ribs there are.
    """
    ribs = bays.ribs
    runs: list[Run] = []
    faults: list[str] = []
    owned: set[int] = set()
    good = np.nonzero(made)[0]
    if len(good) == 0:
        return runs, faults, frozenset()
    for number, spar in enumerate(bays.surface.plan.build.spars):
        place = ribs.lead + spar.chord_fraction * ribs.chord
        here = (place > ribs.front) & (place < ribs.rear)
        if 2 * int(here[good].sum()) < len(good):
            continue
        owned.add(number)
        name = f"The {percent(spar)} of {bays.panel.name}"
        first, last = int(good[0]), int(good[-1])
        span = float(ribs.s[last] - ribs.s[first])
        slope = float(place[last] - place[first]) / span if span > 0.0 else 0.0
        run = Run(spar, first, last, float(place[first] - slope * ribs.s[first]), slope)
        # Measured along the chord, a cap that slants is narrower than it says.
        if min(spar.cap[0] / math.hypot(1.0, slope), spar.cap[1]) < SAW_CUT:
            faults.append(f"{name} is thinner than a saw cut: enter a larger cap.")
            continue
        clear = _clear(ribs, run, stretches, runs) & made
        top, deep = run.levels(ribs, skin)
        fits = clear & (deep >= SAW_CUT)
        first, last = _longest(fits)
        if last <= first:
            faults.append(
                f"{name} finds no room in two ribs beside one another: the ribs are shorter than its notch or"
                " thinner than its caps; move it, or make its caps smaller."
            )
            continue
        if top[first] < spar.cap[1]:
            faults.append(
                f"{name} is deeper than the section: two caps of {length(spar.cap[1])} in"
                f" {length(2.0 * top[first])}; enter thinner caps."
            )
            continue
        if last < good[-1]:
            faults.append(Remark(
                f"{name} ends at rib {last + 1}: the ribs beyond are shorter than its notch or thinner."
            ))
        runs.append(Run(spar, first, last, run.c0, run.slope))
    return runs, faults, frozenset(owned)


def _clear(ribs: Cuts, run: Run, stretches: Array, others: list[Run]) -> Bools:
    """Which ribs have wood on both sides of a notch, and no other notch in the way."""
    middle, half = run.at(ribs.s), 0.5 * run.spar.cap[0]
    clear = (middle - half >= stretches[:, 0] + BESIDE) & (middle + half <= stretches[:, 1] - BESIDE)
    for other in others:
        apart = np.abs(other.at(ribs.s) - middle) - half - 0.5 * other.spar.cap[0]
        clear &= apart >= BESIDE
    return np.asarray(clear)


def _longest(fits: Bools) -> tuple[int, int]:
    """(first, last) of the longest run of ribs that are true; (0, -1) where none is."""
    best, start = (0, -1), 0
    for k, fit in enumerate(fits.tolist()):
        if not fit:
            start = k + 1
        elif k - start > best[1] - best[0]:
            best = (start, k)
    return best


def spar_pieces(bays: Bays, run: Run, skin: float, thick: float) -> tuple[list[Piece], list[str]]:
    """The caps and webs of one spar in a panel; ``thick`` is that of the ribs."""
    ribs, spar = bays.ribs, run.spar
    low = float(ribs.s[run.first]) - 0.5 * thick
    high = float(ribs.s[run.last]) + 0.5 * thick
    rows = np.arange(run.first, run.last)
    ends = np.concatenate((ribs.s[rows] + 0.5 * thick, ribs.s[rows + 1] - 0.5 * thick))
    every = np.concatenate((low + (high - low) * _ALONG, ends))
    levels = run.levels(bays.surface.cuts(bays.index, every), skin)
    # Along the caps, and at the ends of each web.
    s, (top, deep) = every[:len(_ALONG)], (level[:len(_ALONG)] for level in levels)
    heights = (2.0 * (levels[0] - levels[1]))[len(_ALONG):].reshape(2, -1)
    wide = spar.cap[0]
    weights = _SIMPSON * (high - low)
    volume = wide * float(weights @ deep)
    middle = run.at(s)
    where = pair(middle, s)
    name = f"{bays.panel.name} {percent(spar)}"
    key = f"{bays.panel.id}-spar-{100.0 * spar.chord_fraction:g}"
    side = 0.5 * wide
    plan = np.array((
        (middle[0] - side, low), (middle[-1] - side, high), (middle[-1] + side, high), (middle[0] + side, low)
    ))
    flat, (_, width), _ = laid(plan, plan[1] - plan[0])
    # Seen square to the surface a cap that falls towards the tip looks shorter than it is.
    seen = math.hypot(high - low, float(middle[-1] - middle[0]))
    flat = flat * np.array((math.hypot(seen, float(top[-1] - top[0])) / seen, 1.0))
    # A share is the same in every unit: the name is engraved, listed and kept.
    left = 100.0 * float(deep[-1] / deep[0])
    taper = f", tapers to {left:.0f} % of its depth" if deep[0] - deep[-1] > 0.05 else ""
    pieces = [Piece(
        f"{key}-cap", f"{name}, cap{taper}", "stick", spar.material, lambda: Drawn(shapely.Polygon(flat)),
        (float(np.ptp(flat[:, 0])), width, float(deep.max())), volume, where,
        (np.vstack((plan, plan[:1])),), count=2, shares=weights * deep,
    )]
    if spar.web is None:
        return pieces, []
    if spar.web < SAW_CUT:
        return pieces, [f"The webs of the {percent(spar)} of {bays.panel.name} are thinner than a saw cut."]
    missing: list[int] = []
    ends = ends.reshape(2, -1)
    stretch = math.hypot(1.0, run.slope)
    for k, (start, end, one, other) in enumerate(zip(*ends, *heights, strict=True)):
        if min(one, other) < SAW_CUT or end - start < SAW_CUT:
            missing.append(k)
            continue
        long = stretch * (end - start)
        outline = np.array((
            (0.0, 0.5 * (max(one, other) - one)), (long, 0.5 * (max(one, other) - other)),
            (long, 0.5 * (max(one, other) + other)), (0.0, 0.5 * (max(one, other) + one)),
        ))
        pieces.append(_web(
            run, f"{key}-web-{k + 1}", f"{name}, web {k + 1}", outline, (start, end), (one, other)
        ))
    faults = []
    if missing:
        faults.append(
            f"Between the caps of the {percent(spar)} of {bays.panel.name} there is no room for"
            f" {len(missing)} of {len(rows)} webs."
        )
    return pieces, faults


def _web(
    run: Run, key: str, name: str, outline: Array, ends: tuple[float, float], heights: tuple[float, float]
) -> Piece:
    """One web from s to s, its heights there."""
    (start, end), (one, other) = ends, heights
    web = run.spar.web or 0.0
    # The middle of a trapezium along its length.
    s = start + (end - start) * (one + 2.0 * other) / (3.0 * (one + other))
    across = 0.5 * web * math.hypot(1.0, run.slope)
    line = run.at(np.array(ends))
    plan = np.array((
        (line[0] - across, start), (line[1] - across, end), (line[1] + across, end), (line[0] + across, start)
    ))
    (long, wide), area = outline.max(axis=0).tolist(), 0.5 * float(one + other) * float(outline[1, 0])
    return Piece(
        key, name, "web", run.spar.material, lambda: Drawn(shapely.Polygon(outline)),
        (long, wide, web), area * web,
        np.array(((run.c0 + run.slope * s, s),)), (np.vstack((plan, plan[:1])),), grain=90.0,
    )
