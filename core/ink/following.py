"""Following a drawn line from one place on it to another: the cheapest way, where ink is cheap.

A heap search (Dijkstra, "A note on two problems in connexion with graphs", Numerische Mathematik 1,
1959; with the goal's distance added for a single way: Hart, Nilsson and Raphael, 1968) over cells of
about a third of the stroke. Paper costs ten times what ink does, so that gaps are bridged and detours are
not worth it; ink that runs across the way counts little. To leave a line that goes on, or to join one that
came by, costs as much as a long piece of line, so that neither a bar across a bend nor a rib that ends in a
tip is a short cut; at a corner, where neither is so, to turn costs nothing.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from heapq import heappop, heappush

import numpy as np
from numpy.typing import NDArray

from core.ink.darkness import Array, Dark, Darkness, Grey, blurred, noise, reduced, stroke_at
from core.ink.directions import ACROSS, DOWN, FALLING, RISING, directions, ink_along
from core.ink.second_line import longest_beside

BASE = 0.15
"""Cost of a cell of full ink."""
_PAPER = 1.35
"""What bare paper costs more."""
_LEAN = 2.0
"""How much dearer a step at right angles to the heading is, in cells: gaps are crossed straight."""
_FRESH = 0.5
"""How much each step along ink that shows its direction turns the heading towards that."""
_OTHER = 10.0
"""Cost of each of the first steps after leaving a line that goes on, or joining one that came by."""
_BACK = 10
"""Cells: the heading so long ago tells a turn. Where lines cross their directions run into one another."""
_SAME = 0.24
"""So far (√(1 - cos), 20°) from the heading ink has the same direction still: lines bend, paper has grain."""
_ON = (8, 10, 12, 14)
"""Cells from there at which it is seen whether a line goes on."""
_SOME, _MUCH = 0.35, 0.75
"""Mean ink there that begins to count as a line, and that is one."""
_KNOWN = 0.5
"""A direction less sure than this is none."""
_GAIN = 1.15
"""Along a line that runs between two of the four ways a mean holds paper of its sides."""
_FAINTEST = 0.35
"""A way whose ink is lighter than this in the mean, as a part of that at its start, follows nothing."""
_MOST_CELLS = 200_000
_LOOK_UP = 256
_BARE = 0.35
"""Cells with less ink than this are paper."""
_STROKE_CELLS = 3.0
_COARSE_SPAN = 90.0
"""Pixels: longer ways are sought on cells of two pixels even along thin lines."""


class Follower:
    """Ways from one start over one picture, kept between calls: moving the goal reuses what is known."""

    def __init__(self, grey: Grey) -> None:
        """``grey``: the picture or a window of it, best under 1500 × 1500 pixels."""
        self._grey = np.ascontiguousarray(grey)
        self._tree: _Tree | None = None

    def begin(self, start: tuple[float, float]) -> None:
        """Begin anew at ``start`` (pixels): the line under it says how dark and wide a line is meant."""
        self._tree = _Tree(self._grey, start, None)

    def to(self, goal: tuple[float, float], *, gone: Callable[[], bool] | None = None) -> Array | None:
        """Points (N, 2) along the line from the start to ``goal``; None where no line leads there.

        ``gone`` is asked now and then; where it says True, None is given back early.
        """
        if self._tree is None:
            raise ValueError("no start: call begin(start) first")
        return self._tree.way(goal, gone, aimed=False)

    @property
    def held(self) -> float:
        """The mean ink along the way found last, 0 to 1."""
        return self._tree.held if self._tree is not None else 0.0

    @property
    def bare_px(self) -> float:
        """The longest part of the way found last that runs over paper, in pixels."""
        return self._tree.bare_px if self._tree is not None else 0.0

    def beside_px(self, reach_px: float) -> float:
        """How far another line runs along the way found last, within ``reach_px`` of it; in pixels."""
        return self._tree.beside_px(reach_px) if self._tree is not None else 0.0


def follow(
    grey: Grey, start: tuple[float, float], goal: tuple[float, float], *,
    gone: Callable[[], bool] | None = None,
) -> Array | None:
    """Points (N, 2) in pixels along the drawn line from ``start`` to ``goal``; None where none leads there.

    Only a window around both is looked at. ``gone`` is asked now and then; True ends the search (None).
    """
    span = math.dist(start, goal)
    margin = max(48.0, 0.6 * span)
    height, width = grey.shape
    left = max(0, int(min(start[0], goal[0]) - margin))
    top = max(0, int(min(start[1], goal[1]) - margin))
    right = min(width, int(max(start[0], goal[0]) + margin) + 1)
    bottom = min(height, int(max(start[1], goal[1]) + margin) + 1)
    if right - left < 2 or bottom - top < 2:
        return None
    tree = _Tree(
        grey[top:bottom, left:right], (start[0] - left, start[1] - top), (goal[0] - left, goal[1] - top)
    )
    way = tree.way((goal[0] - left, goal[1] - top), gone, aimed=True)
    return None if way is None else way + np.array([left, top], dtype=np.float64)


class _Tree:
    """The cells reached so far from one start, each with its cost, heading, and the cell before it."""

    def __init__(self, grey: Grey, start: tuple[float, float], goal: tuple[float, float] | None) -> None:
        self._start = start
        dark = self._stroke(grey, start, goal)
        rows, columns = dark.shape
        self._wide = columns + 2
        self._rows, self._columns = rows, columns
        self._ink = dark
        self._prices = [
            self._flat(BASE + _PAPER * np.square(1.0 - np.minimum(_GAIN * ink, 1.0)), np.inf)
            for ink in ink_along(dark)
        ]
        ways = directions(dark)
        self._u, self._v, self._sure = (self._flat(a, 0.0) for a in (ways.u, ways.v, ways.sure))
        self._held = self._flat(dark, 0.0)
        total = len(self._sure)
        self._cost: list[float] = [math.inf] * total
        self._done = bytearray(total)
        self._from: list[int] = [-1] * total
        self._hx: list[float] = [0.0] * total
        self._hy: list[float] = [0.0] * total
        first = self._cell(start)
        self._cost[first] = 0.0
        self._heap: list[tuple[float, int]] = [(0.0, first)]
        self._reached = 0
        self.held, self.bare_px = 0.0, 0.0
        self._cells: Array = np.zeros((0, 2))

    def _flat(self, values: Dark, beside: float) -> memoryview[float]:
        """The values with ``beside`` around them, one after the other.

        A list of them would be read a little faster, and takes longer to make than the search lasts.
        """
        framed = np.full((self._rows + 2, self._wide), beside, dtype=np.float32)
        framed[1:-1, 1:-1] = values
        flat: memoryview[float] = framed.ravel().data.cast("B").cast("f")
        return flat

    def _stroke(self, grey: Grey, start: tuple[float, float], goal: tuple[float, float] | None) -> Dark:
        """Settle the size of a cell, and say how much ink of the start's kind each cell holds, 0 to 1."""
        near = _window(grey, start, 80)
        _, width = stroke_at(Darkness(near[0], lines=True), near[1])
        if goal is not None:
            other = _window(grey, goal, 80)
            width = min(width, stroke_at(Darkness(other[0], lines=True), other[1])[1])
        k = max(1, int(width / _STROKE_CELLS))
        if goal is None or math.dist(start, goal) > _COARSE_SPAN:
            k = max(k, 2)
        self._k = k
        light = reduced(grey, k)
        darkness = Darkness(light, lines=True)
        dark = blurred(darkness.darkness())
        most = float(np.quantile(dark[::2, ::2], 0.998))
        cell, _ = stroke_at(darkness, (start[0] / k, start[1] / k), 2.0, 1.0)
        least = max(3.0 * noise(light), 0.12 * most, 4.0)
        level = min(max(cell, least), max(most, least))
        return np.asarray(np.minimum(dark / np.float32(level), np.float32(1.0)), dtype=np.float32)

    def _cell(self, at: tuple[float, float]) -> int:
        column = min(max(int(at[0] / self._k), 0), self._columns - 1)
        row = min(max(int(at[1] / self._k), 0), self._rows - 1)
        return int((row + 1) * self._wide + column + 1)

    def way(self, goal: tuple[float, float], gone: Callable[[], bool] | None, *, aimed: bool) -> Array | None:
        """See ``Follower.to``; ``aimed`` leans the search towards the goal, which spoils it for others."""
        last = self._cell(goal)
        if not self._done[last] and not self._grow(last, gone, aimed):
            return None
        cells = [last]
        while (before := self._from[cells[-1]]) >= 0:
            cells.append(before)
        index = np.array(cells[::-1])
        row, column = index // self._wide - 1, index % self._wide - 1
        ink = self._ink[row, column]
        self.held, self.bare_px = float(ink.mean()), float(_longest(ink < _BARE) * self._k)
        if self.held < _FAINTEST:
            return None
        self._cells = np.stack((column + 0.5, row + 0.5), axis=1)
        points = self._cells * self._k
        if len(points) == 1:
            return np.array([self._start, goal], dtype=np.float64)
        points[0], points[-1] = self._start, goal
        return np.asarray(points, dtype=np.float64)

    def beside_px(self, reach_px: float) -> float:
        """See ``Follower.beside_px``."""
        return longest_beside(self._ink, self._cells, reach_px / self._k) * self._k

    def _grow(self, last: int, gone: Callable[[], bool] | None, aimed: bool) -> bool:
        """Reach on until ``last`` is settled; False where it is not to be had."""
        cost, done, back = self._cost, self._done, self._from
        hx, hy, heap, wide = self._hx, self._hy, self._heap, self._wide
        u, v, sure, root = self._u, self._v, self._sure, math.sqrt
        half = math.sqrt(0.5)
        across, down = self._prices[ACROSS], self._prices[DOWN]
        falling, rising = self._prices[FALLING], self._prices[RISING]
        steps = [
            (1, 1.0, 0.0, 1.0, across), (-1, -1.0, 0.0, 1.0, across),
            (wide, 0.0, 1.0, 1.0, down), (-wide, 0.0, -1.0, 1.0, down),
            (wide + 1, half, half, 2 * half, falling), (-wide - 1, -half, -half, 2 * half, falling),
            (1 - wide, half, -half, 2 * half, rising), (wide - 1, -half, half, 2 * half, rising),
        ]
        goal_y, goal_x = divmod(last, wide)
        pull = BASE if aimed else 0.0
        count = 0
        while heap:
            _, i = heappop(heap)
            if done[i]:
                continue
            done[i] = 1
            count += 1
            here, fx, fy = cost[i], hx[i], hy[i]
            headed = fx != 0.0 or fy != 0.0
            ago, bx, by = -1, 0.0, 0.0
            for offset, dx, dy, length, price in steps:
                j = i + offset
                if done[j]:
                    continue
                new = here + price[j] * (length + _LEAN * (1.0 - fx * dx - fy * dy))
                if new >= cost[j]:
                    continue
                gx, gy = fx, fy
                if sure[j] > _KNOWN:
                    ox, oy = u[j], v[j]
                    if ox * dx + oy * dy < 0.0:
                        ox, oy = -ox, -oy
                    if headed:
                        if ago < 0:
                            ago = self._ago(i)
                            bx, by = hx[ago], hy[ago]
                        off = 1.0 - bx * ox - by * oy
                        if off > _SAME * _SAME:
                            new += _OTHER * (root(off) - _SAME) * self._parting(ago, bx, by, j, ox, oy)
                            if new >= cost[j]:
                                continue
                        gx, gy = fx + _FRESH * (ox - fx), fy + _FRESH * (oy - fy)
                    else:
                        gx, gy = ox, oy
                cost[j] = new
                back[j] = i
                hx[j] = gx
                hy[j] = gy
                if pull:
                    y, x = divmod(j, wide)
                    heappush(heap, (new + pull * math.hypot(x - goal_x, y - goal_y), j))
                else:
                    heappush(heap, (new, j))
            if i == last:
                self._reached += count
                return True
            if count % _LOOK_UP == 0 and gone is not None and gone():
                break
            if self._reached + count > _MOST_CELLS:
                break
        self._reached += count
        return False


    def _ago(self, i: int) -> int:
        """The cell that lies so many cells before i on its way, or the first that has a heading."""
        back, hx, hy = self._from, self._hx, self._hy
        for _ in range(_BACK):
            before = back[i]
            if before < 0 or not (hx[before] or hy[before]):
                break
            i = before
        return i

    def _parting(self, i: int, fx: float, fy: float, j: int, ox: float, oy: float) -> float:
        """Whether the line along (fx, fy) through i goes on, or that along (ox, oy) to j came by, 0 to 1.

        At a corner neither does: to turn there is no parting.
        """
        held, wide, total = self._held, self._wide, len(self._held)
        most = 0.0
        for cell, x, y in ((i, fx, fy), (j, -ox, -oy)):
            row, column = divmod(cell, wide)
            ink = 0.0
            for far in _ON:
                v, u = row + far * y + 0.5, column + far * x + 0.5
                best = 0.0
                for aside in (-1, 0, 1):
                    spot = int(v + aside * x) * wide + int(u - aside * y)
                    if 0 <= spot < total and held[spot] > best:
                        best = held[spot]
                ink += best
            most = max(most, ink / len(_ON))
        return min(max((most - _SOME) / (_MUCH - _SOME), 0.0), 1.0)


def _longest(flags: NDArray[np.bool_]) -> int:
    """The longest run of flags that are set."""
    change = np.flatnonzero(np.diff(np.concatenate(([False], flags, [False])).astype(np.int8)))
    return int((change[1::2] - change[::2]).max(initial=0))


def _window(grey: Grey, at: tuple[float, float], reach: int) -> tuple[Grey, tuple[float, float]]:
    """The picture within ``reach`` of ``at``, and ``at`` in it."""
    left, top = max(0, int(at[0]) - reach), max(0, int(at[1]) - reach)
    return grey[top : int(at[1]) + reach + 1, left : int(at[0]) + reach + 1], (at[0] - left, at[1] - top)
