"""What the crossing of the plumb lines on a hung card copy says about the card.

A crossing off the CLA has many possible causes and gives two figures only: an explanation *fits*, it
is never proved. What is computed for each is exact for even card; how near counts as fitting is the
error of the crossing itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from core.bench.card import Card, CardPiece
from core.design import LIMIT
from core.geometry.regions import Moments
from core.stability.ballast import OUT_OF_REACH

Place = tuple[float, float]
"""(x, z) in mm of the design."""
Cause = Literal["scale", "less", "more", "card"]

_SCALES = (0.75, 1.3333)
_CARDS = (0.4, 2.5)
_MOST = 4


@dataclass(frozen=True)
class Explanation:
    """One cause that would bring the crossing to ``place``, ``off`` mm of the design from the one found.

    ``amount``: for ``scale`` the printed size over the right one, for ``card`` the weight by area of the
    glued pieces over that of the silhouette, else the number of layers too few or too many of ``piece``.
    """

    cause: Cause
    place: Place
    off: float
    amount: float
    piece: CardPiece | None = None


@dataclass(frozen=True)
class CrossingSays:
    """A measured crossing beside the computed CLA. Lengths in mm of the design."""

    computed: Place
    crossed: Place
    error: float
    """Within this of the CLA the crossing agrees with it."""
    explanations: tuple[Explanation, ...]
    """Those that fit, the nearest first; empty where it agrees."""

    @property
    def aft(self) -> float:
        """How far the crossing lies aft of the CLA."""
        return self.crossed[0] - self.computed[0]

    @property
    def above(self) -> float:
        """How far it lies above it."""
        return self.crossed[1] - self.computed[1]

    @property
    def off(self) -> float:
        """How far from it."""
        return math.hypot(self.aft, self.above)

    @property
    def agrees(self) -> bool:
        """Whether the difference is no more than the error of the crossing."""
        return self.off <= self.error


def what_it_says(
    card: Card, crossed: Place, error: float, *, origin: Place | None = None
) -> CrossingSays | str:
    """Compare the crossing found with the card's balance, and find which single causes fit.

    ``error`` in mm of the design: how far off the crossing may be by itself. ``origin``: the place the
    crossing was measured from, seen from which a wrongly scaled print puts it off in proportion; None
    leaves the scale out. str: why there is nothing to compare.
    """
    computed = card.balance
    if computed is None:
        return "trace an outline"
    if not (all(abs(v) <= LIMIT for v in crossed) and 0.0 < error <= LIMIT):
        return OUT_OF_REACH
    says = CrossingSays(computed, crossed, error, ())
    if says.agrees:
        return says
    # Each is one attempt to explain; what lies within the error of the crossing fits.
    tried = [*_layers(card, crossed), _glued_card(card, crossed)]
    if origin is not None:
        tried.append(_scaled(computed, crossed, origin))
    fitting = sorted((t for t in tried if t is not None and t.off <= error), key=lambda t: t.off)
    return CrossingSays(computed, crossed, error, tuple(fitting[:_MOST]))


def fraction_as_hung(crossed_x: float, cg_x: float, tail_arm: float) -> float | None:
    """The CLA fraction that a crossing at ``crossed_x`` mm gives; None without a tail arm."""
    return (crossed_x - cg_x) / tail_arm if tail_arm > 0.0 else None


def _explained(
    cause: Cause, moments: Moments, crossed: Place, amount: float, piece: CardPiece
) -> Explanation | None:
    place = moments.centroid()
    if place is None:
        return None
    return Explanation(cause, place, math.dist(place, crossed), amount, piece)


def _layers(card: Card, crossed: Place) -> list[Explanation | None]:
    """One to all layers of a piece too few, and one too many."""
    whole = card.moments
    found: list[Explanation | None] = []
    for piece in card.glued:
        for layers in range(1, piece.layers + 1):
            less = whole.plus(piece.moments, -layers)
            found.append(_explained("less", less, crossed, layers, piece))
        more = whole.plus(piece.moments, 1.0)
        found.append(_explained("more", more, crossed, 1, piece))
    return found


def _glued_card(card: Card, crossed: Place) -> Explanation | None:
    """All glued pieces of a card heavier or lighter than the silhouette's, glue included.

    With weight ratio t the balance is (A_S·c_S + t·A_g·c_g)/(A_S + t·A_g): a point of the line between
    the two centroids. The nearest such point to the crossing is taken.
    """
    glued = card.moments.plus(card.body.counted, -1.0)
    centre, own = glued.centroid(), card.body.moments.centroid()
    if centre is None or own is None:
        return None
    line = np.subtract(centre, own)
    length2 = float(line @ line)
    if length2 < 1e-12:
        return None
    part = float(np.subtract(crossed, own) @ line) / length2
    if not 0.0 < part < 1.0:
        return None
    t = part / (1.0 - part) * card.body.moments.area / glued.area
    if not _CARDS[0] <= t <= _CARDS[1]:
        return None
    place = (own[0] + part * float(line[0]), own[1] + part * float(line[1]))
    return Explanation("card", place, math.dist(place, crossed), t)


def _scaled(computed: Place, crossed: Place, origin: Place) -> Explanation | None:
    """The print k times its right size, so that what is measured from ``origin`` is k times too far."""
    arm = np.subtract(computed, origin)
    length2 = float(arm @ arm)
    if length2 < 1e-12:
        return None
    k = float(np.subtract(crossed, origin) @ arm) / length2
    if not _SCALES[0] <= k <= _SCALES[1]:
        return None
    place = (origin[0] + k * float(arm[0]), origin[1] + k * float(arm[1]))
    return Explanation("scale", place, math.dist(place, crossed), k)
