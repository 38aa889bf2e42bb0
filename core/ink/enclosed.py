"""The outer outline of a drawing that a loop was drawn round: flooded inwards until ink stops it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from core.ink.centring import centred, edged
from core.ink.darkness import Array, Dark, Darkness, Grey, blurred, noise, reduced
from core.ink.flood import Mask, around, boxes, component, grown, parts, shrunk, within
from core.ink.pockets import heavy, without_pockets
from core.ink.region import pooled

_MOST_CELLS = 1250
"""Cells along the longer side of the loop that are flooded; finer pictures are pooled first."""
_THICK = 3.6
"""Cells: of wider lines fewer would tell as much, and what is thin beside them would not be told."""
_FEWEST_CELLS = 300
_LEAST_PART = 0.06
"""Of what the loop goes round: less than that is no drawing one would go round so widely."""
_OTHER_PART = 0.1
"""Of the largest piece: what is smaller is lettering, a loose mark or a detail."""
_DOUBTED_PART = 0.003
"""Of the largest piece: what wider closed gaps would add, and is worth a look."""
_RIMMED = 0.6
_GAINED = 1.03
"""A fainter drawing is taken for the whole where it holds so much more."""
_LETTER_PART = 0.014
"""Of the loop's longer side: a mark by itself that is no larger is a letter or a speck."""
_SAME = 0.008
"""And less than that is what wide closed gaps leave in notches."""
_FURTHEST = 16
"""Cells that gaps are closed by at most when it is looked for where the line is open."""


@dataclass(frozen=True, eq=False)
class Enclosed:
    """``boundary`` (N, 2) in pixels goes round once, the first point not repeated.

    It runs along the middle of the outermost line, or along the edge of what is ``filled``. ``sure`` is the
    part of it that lies on ink. ``bridged``: the widest gap in pixels that was closed, 0 for none.
    ``others``: how many more large pieces the loop holds. ``open_at``: where a further part is open, or None.
    """

    boundary: Array
    filled: bool
    sure: float
    bridged: float
    others: int
    open_at: tuple[float, float] | None


@dataclass(frozen=True)
class Unclosed:
    """``reason``, a clause, why there is none; ``at`` which pixel, where it is a place that is at fault."""

    reason: str
    at: tuple[float, float] | None = None


def enclosed(
    grey: Grey, loop: Array, *, gap: float = 12.0, gone: Callable[[], bool] | None = None
) -> Enclosed | Unclosed:
    """The outline of the largest drawn piece within ``loop`` (N, 2) pixels, closed by itself.

    Ink on paper of either tone: what differs from the paper is told by what the loop holds. Gaps up to
    ``gap`` pixels are closed, no more than is needed. Lines that lead out, and what thin straight lines
    close off beside the drawing, are not part of it. ``gone`` is asked now and then; True gives back
    "no longer wanted".
    """
    loop = np.asarray(loop, dtype=np.float64)
    height, width = grey.shape
    low = np.clip(np.floor(loop.min(axis=0)).astype(int), 0, (width, height))
    high = np.clip(np.ceil(loop.max(axis=0)).astype(int), 0, (width, height))
    if (high - low < 12).any():
        return Unclosed("the loop is too small or lies beside the picture: draw it round the whole drawing")
    piece = grey[low[1] : high[1], low[0] : high[0]]
    found = _Search(piece, loop - low, gap, gone).found()
    if isinstance(found, Unclosed):
        return found if found.at is None else Unclosed(found.reason, _moved(found.at, low))
    open_at = None if found.open_at is None else _moved(found.open_at, low)
    return Enclosed(found.boundary + low, found.filled, found.sure, found.bridged, found.others, open_at)


def _moved(at: tuple[float, float], by: Array) -> tuple[float, float]:
    return at[0] + float(by[0]), at[1] + float(by[1])


@dataclass(frozen=True, eq=False)
class _Piece:
    """The largest piece that a mask of ink encloses."""

    mask: Mask
    cells: int
    others: int


class _Search:
    """Over the box of one loop. Cells are pooled pixels; there is one row and column of paper all around."""

    def __init__(self, grey: Grey, loop: Array, gap: float, gone: Callable[[], bool] | None) -> None:
        self._gone, self._gap = gone, gap
        self._k = max(1, math.ceil(max(grey.shape) / _MOST_CELLS))
        self._pool(grey, loop)
        thick = _thickness(self._dark > 0.45 * self._level) if self._level else 0.0
        if thick > _THICK:
            self._k = min(round(self._k * thick / 2.0), max(self._k, max(grey.shape) // _FEWEST_CELLS))
            self._pool(grey, loop)
        self._most = math.ceil(0.5 * gap / self._k)

    def _pool(self, grey: Grey, loop: Array) -> None:
        """The picture on cells of ``_k`` pixels."""
        k = self._k
        even = reduced(grey, k)
        self._held = np.pad(within(loop / k, (even.shape[0], even.shape[1])), 1)
        self._grey = 255 - grey if _light_on_dark(even, self._held[1:-1, 1:-1]) else grey
        if self._grey is not grey:
            even = np.float32(255.0) - even
        light = pooled(self._grey, k)
        self._dark = np.where(self._held, np.pad(Darkness(light).darkness(), 1), np.float32(0.0))
        # How much ink a line has for its length, whatever way it runs.
        self._weight = np.pad(blurred(Darkness(even).darkness(), 2), 1)
        self._grain = noise(light)
        strong = self._dark > 0.4 * float(self._dark.max())
        self._level = float(np.median(self._dark[strong])) if strong.any() else 0.0

    def found(self) -> Enclosed | Unclosed:
        if self._level < max(5.0 * self._grain, 12.0):
            return Unclosed("there is no ink here: nothing stands out from the paper within the loop")
        best: tuple[_Piece, int, Mask] | None = None
        for part in (0.45, 0.25, 0.13):
            limit = part * self._level
            if part < 0.4 and limit < 5.0 * self._grain:
                break
            ink = _lines(self._dark > limit)
            piece, radius = self._closed(ink)
            if self._stopped():
                return Unclosed("no longer wanted")
            if best is None or piece.cells > _GAINED * best[0].cells:
                best = piece, radius, ink
        assert best is not None
        piece, radius, ink = best
        if piece.cells < _LEAST_PART * float(self._held.sum()):
            return self._why_none(ink, radius)
        return self._outline(piece, radius, ink)

    def _stopped(self) -> bool:
        return self._gone is not None and self._gone()

    def _closed(self, ink: Mask) -> tuple[_Piece, int]:
        """The largest piece with gaps closed, and by how many cells on either side: as few as will do."""
        radii = [self._most, *dict.fromkeys(math.ceil(self._most * part) for part in (0.5, 0.25)), 0]
        best, least = self._piece(ink, self._most), self._most
        for radius in dict.fromkeys(radii[1:]):
            if self._stopped() or radius >= least:
                continue
            piece = self._piece(ink, radius)
            # Less: a gap is left open. More: something beside the drawing is closed off that was not before.
            differs = best.mask ^ piece.mask
            if differs.sum() > _SAME * best.cells or shrunk(differs, least + 1).any():
                break
            best, least = piece, radius
        return best, least

    def _piece(self, ink: Mask, radius: int) -> _Piece:
        # Beyond the loop all is free, or thick walls that cross it would bar the way round.
        outside = component(~(grown(ink, radius) & self._held), 0, 0)
        # Back as far as the wall was thick, and on into corners that the thick wall had rounded.
        whole = ~grown(outside, radius, ~ink)
        whole = without_pockets(whole, ink, self._weight, radius)
        if radius:
            # And those that are no wider than the gaps that were closed.
            whole = without_pockets(whole, ink, self._weight, 0)
        return _largest(_without_spurs(whole, ink, radius))

    def _why_none(self, ink: Mask, radius: int) -> Unclosed:
        least = _LEAST_PART * float(self._held.sum())
        wider = max(2 * radius, 2)
        while wider <= max(_FURTHEST, 3 * self._most):
            if self._stopped():
                return Unclosed("no longer wanted")
            piece = self._piece(ink, wider)
            if piece.cells > 2.0 * least:
                at = self._way_in(ink, radius, piece.mask)
                if at is not None:
                    return Unclosed("the line is open at the marked place", self._px(at))
            wider *= 2
        return Unclosed("no closed drawing was found within the loop: the lines are open in many places")

    def _way_in(self, ink: Mask, radius: int, inside: Mask) -> tuple[int, int] | None:
        """The cell (row, column) where a flood from outside first comes to ``inside``, past open ends."""
        outside = ~grown(inside, 2) & component(~(grown(ink, radius) & self._held), 0, 0)
        core = shrunk(inside, 2)
        for _ in range(4 * _FURTHEST):
            wide = grown(outside, 1, ~ink)
            met = wide & core
            if met.any():
                rows, columns = np.nonzero(met)
                middle = len(rows) // 2
                return int(rows[middle]), int(columns[middle])
            if bool((wide == outside).all()):
                return None
            outside = wide
        return None

    def _px(self, cell: tuple[int, int]) -> tuple[float, float]:
        return (cell[1] - 0.5) * self._k, (cell[0] - 0.5) * self._k

    def _outline(self, piece: _Piece, radius: int, ink: Mask) -> Enclosed | Unclosed:
        k = self._k
        path = (around(piece.mask) - 1.0) * k
        solid = float((piece.mask & ink).sum()) > 0.5 * piece.cells
        if solid:
            line = edged(self._grey, path, 0.5 * self._gap + k + 1.0)
        else:
            # From the outer edge of the ink on to it.
            line = centred(self._grey, path, closed=True)
        if self._stopped():
            return Unclosed("no longer wanted")
        at = (line / k + 0.5).astype(int)
        rows = np.clip(at[:, 1], 0, ink.shape[0] - 1)
        columns = np.clip(at[:, 0], 0, ink.shape[1] - 1)
        near = grown(ink, 1)
        sure = float(near[rows, columns].mean())
        return Enclosed(line, solid, sure, 2.0 * radius * k, piece.others, self._doubt(ink, radius, piece))

    def _doubt(self, ink: Mask, radius: int, piece: _Piece) -> tuple[float, float] | None:
        """Where wider closed gaps would add a part worth a look."""
        whole = self._piece(ink, 4 * self._most + 3).mask
        label, size = parts(shrunk(whole & ~piece.mask, 2))
        beyond, drawn = grown(~whole, 2), grown(ink, 1)
        for n in range(1, len(size)):
            if size[n] < _DOUBTED_PART * piece.cells or self._stopped():
                break
            rim = grown(label == n, 2, whole & ~piece.mask) & beyond
            # What is only a notch has paper there, a part with a gap in its line mostly ink.
            if (
                rim.any() and float(drawn[rim].mean()) > _RIMMED
                and heavy(rim & drawn, ink & piece.mask, self._weight)
            ):
                at = self._way_in(ink, radius, label == n)
                if at is not None:
                    return self._px(at)
        return None


def _light_on_dark(even: Dark, held: Mask) -> bool:
    """Whether the lines within the loop are lighter than their paper, as on a blueprint."""
    if not held.any():
        return False
    few = max(1, round(0.005 * float(held.sum())))
    dark, light = (
        float(np.mean(np.partition(values[held], -few)[-few:]))
        for values in (Darkness(even).darkness(), Darkness(np.float32(255.0) - even).darkness())
    )
    if max(dark, light) > 1.3 * min(dark, light):
        return light > dark
    # Something filled stands out both ways: the paper is what the loop runs over.
    ring = held & ~shrunk(np.pad(held, 1), 3)[1:-1, 1:-1]
    paper = float(np.median(even[ring]))
    low, high = np.quantile(even[held], (0.05, 0.95))
    return bool(high - paper > paper - low)


def _thickness(ink: Mask) -> float:
    """How many cells wide the lines are: their area over half of their edges' length.

    An edge that runs any way passes 4 / π times as many sides of cells as it is long.
    """
    sides = int((ink[:, 1:] != ink[:, :-1]).sum()) + int((ink[1:] != ink[:-1]).sum())
    return 8.0 / math.pi * float(ink.sum()) / max(sides, 1)


def _lines(ink: Mask) -> Mask:
    """Without specks and lettering: what is small and joined to nothing."""
    label, size = parts(ink)
    box = boxes(label, len(size))
    extent = np.maximum(box[:, 1] - box[:, 0], box[:, 3] - box[:, 2])
    kept = (extent > _LETTER_PART * max(ink.shape)) & (size >= 7)
    kept[0] = False
    return np.asarray(kept[label])


def _without_spurs(whole: Mask, ink: Mask, radius: int) -> Mask:
    """Without lines that lead away, and what is not wider than they.

    What opening takes off pointed ends comes back: paper that is enclosed between two lines.
    """
    far = max(2, radius + 1)
    opened = grown(shrunk(whole, far), far)
    label, size = parts(whole & ~ink)
    kept = np.zeros(len(size), dtype=bool)
    kept[label[opened]] = True
    kept[0] = False
    kept &= size >= 4
    body = opened | grown(kept[label], 3, whole)
    return grown(shrunk(body, 2), 2) | (opened & body)


def _largest(whole: Mask) -> _Piece:
    label, size = parts(whole)
    if len(size) < 2:
        return _Piece(whole, 0, 0)
    return _Piece(label == 1, int(size[1]), int((size[2:] >= _OTHER_PART * size[1]).sum()))
