"""A panel divided by its ribs: where they stand, and its sections there and between."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from core.design_build import Build, Ribs
from core.parts.cut import SAW_CUT
from core.parts.part import Array
from core.parts.plan import Panel
from core.parts.section import Chords, Cuts, Surface

MOST_RIBS = 200
"""In one panel."""
END_CHORD = 0.2
"""The end rib stands where ribs are still this part of the panel's mean (our own choice)."""
_FOUR, _ONE = np.polynomial.legendre.leggauss(4), np.polynomial.legendre.leggauss(1)
_NUDGE = 1e-7


@dataclass(frozen=True, eq=False)
class Bays:
    """One panel of a surface, its ribs at ``stations`` (K,) in s: their middles, rising."""

    surface: Surface
    index: int
    chords: Chords
    stations: Array

    @property
    def panel(self) -> Panel:
        """The panel itself."""
        return self.surface.plan.panels[self.index]

    @cached_property
    def steps(self) -> tuple[Array, Array]:
        """(low, high) of the stretches of s in which every edge is straight, split at the ribs too."""
        low, high = self.chords.low, self.chords.high
        levels = np.concatenate((low, high, self.stations, self._narrows()))
        levels = np.unique(levels)
        levels = levels[np.concatenate(([True], np.diff(levels) > 1e-6))]
        start, end = levels[:-1], levels[1:]
        middle = 0.5 * (start + end)
        row = self.chords.row(middle)
        there = (middle > low[row]) & (middle < high[row])
        return start[there], end[there]

    def _narrows(self) -> Array:
        """Where the sticks of both edges meet, and where a saw cut is left between them."""
        free = self.chords.rear - self.chords.front - edges_wide(self.surface.plan.build)
        found = []
        for left in (0.0, SAW_CUT):
            meets = (free[:, 0] - left) * (free[:, 1] - left) < 0.0
            share = (left - free[meets, 0]) / (free[meets, 1] - free[meets, 0])
            low, high = self.chords.low[meets], self.chords.high[meets]
            found.append(low + share * (high - low))
        return np.concatenate(found)

    @cached_property
    def quadrature(self) -> tuple[Array, Array]:
        """(s, weights) that integrate along the span, the same number in each step."""
        low, high = self.steps
        # Few steps are long and may bend within; many follow a curve closely.
        nodes, weights = _FOUR if len(low) < 20 else _ONE
        long = (high - low)[:, None]
        return (low[:, None] + long * (0.5 + 0.5 * nodes)).ravel(), (0.5 * long * weights).ravel()

    @cached_property
    def _all(self) -> Cuts:
        low, high = self.steps
        step = _NUDGE * (high - low)
        return self.surface.cuts(
            self.index, np.concatenate((low + step, high - step, self.quadrature[0], self.stations))
        )

    @cached_property
    def ends(self) -> Cuts:
        """At the lower end of each step, then at the upper end of each."""
        return self._all.of(slice(0, 2 * len(self.steps[0])))

    @cached_property
    def between(self) -> Cuts:
        """At the places of the quadrature."""
        count = 2 * len(self.steps[0])
        return self._all.of(slice(count, count + len(self.quadrature[0])))

    @cached_property
    def ribs(self) -> Cuts:
        """At the stations."""
        return self._all.of(slice(len(self._all.s) - len(self.stations), None))


def edges_wide(build: Build) -> float:
    """How much of the chord the sticks of both edges take, mm."""
    return sum(strip.wide for strip in (build.leading_edge, build.trailing_edge) if strip is not None)


def rib_stations(
    chords: Chords, ribs: Ribs, slots: list[tuple[float, float]], wide: float = 0.0
) -> Array:
    """Where a panel's ribs stand, in s: one at each end, and every so many mm from the root between.

    An end rib stands as far out as it is still long enough beside edges so ``wide``; a rib nearer to it
    than a third of the spacing is left out. None stands in a slot (low, high in s): it moves beside it.
    """
    low, high = chords.ends
    half = 0.5 * ribs.thick
    if high - low < ribs.thick:
        return np.zeros(0)
    if ribs.at is not None:
        wanted = np.array([s for s in sorted(set(ribs.at)) if low <= s <= high])
    else:
        wanted = _every(chords, ribs.every or 0.0, half, wide)
    wanted = np.clip(wanted, low + half, high - half)
    for bottom, top in slots:
        inside = (wanted > bottom - half) & (wanted < top + half)
        # To the nearer side of the slot, unless the panel ends there.
        below = (wanted[inside] < 0.5 * (bottom + top)) & (bottom - half >= low + half)
        below |= top + half > high - half
        wanted[inside] = np.where(below, bottom - half, top + half)
    wanted = np.unique(wanted[(wanted >= low + half) & (wanted <= high - half)])
    if not len(wanted):
        return wanted
    return wanted[np.concatenate(([True], np.diff(wanted) >= ribs.thick))][:MOST_RIBS]


def _every(chords: Chords, every: float, half: float, wide: float) -> Array:
    low, high = chords.ends
    long = chords.rear - chords.front
    free = np.maximum(0.5 * (long[:, 0] + long[:, 1]) - wide, 0.0)
    mean = float(free @ (chords.high - chords.low)) / (high - low)
    tries = np.linspace(0.0, 1.0, 65)

    def end(start: float, inward: float) -> float:
        places = start + inward * tries * 0.5 * (high - low)
        # As long as that at both of its faces, where the panel's end slants.
        front, rear = chords.at(np.concatenate((places - half, places + half)))
        free = rear.reshape(2, -1).min(axis=0) - front.reshape(2, -1).max(axis=0) - wide
        enough: NDArray[np.bool_] = free >= END_CHORD * mean
        return float(places[int(enough.argmax())]) if enough.any() else start

    # The root may fall away under s = 0 with the body; that is no reason for a rib below it.
    hangs = low < -0.5 * every
    first = half if low <= 0.0 and not hangs and high > half else end(low + half, 1.0)
    last = end(high - half, -1.0)
    if last - first < 2.0 * half or not every > 2.0 * half:
        return np.unique((first, max(first, last)))
    count = min(int((high - low) / every) + 2, 2 * MOST_RIBS)
    regular = every * (np.ceil(first / every) + np.arange(count))
    regular[regular == 0.0] = half
    gap = every / 3.0
    return np.concatenate(([first], regular[(regular > first + gap) & (regular < last - gap)], [last]))
