"""What dimension lines close off beside a drawing: paper behind thin straight lines, taken away again."""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray

from core.ink.darkness import Array, Dark
from core.ink.flood import Mask, around, boxes, grown, parts, shrunk

_THIN = 0.65
"""A line with less ink for its length than this part of a drawing's main lines is a thin one."""
_HEAVY = 0.8
"""And one with more than this part is one of those."""
_LEAST_CELLS = 10
_SMALL_CELLS = 80
"""What is smaller is told by its lines' weight alone: it has no straight stretches to speak of."""
_CLOSE = 2
"""Cells within which its lines are looked for, lest those beyond it be taken for them."""
_BENT_DEG = 50.0
"""Where straight lines meet they turn by more; a polyline along a curve turns by less."""
_BOWED_DEG = 10.0
"""And so much in all may be in the lines themselves."""
_DEEP = 25
"""Cells that a ground line lies below an aeroplane at least; a strip of sheeting by a datum line is less."""
_SPUR = 3
_ON_CELLS, _ON_LEAST = 90, 14
"""So far past its ends a ground line is looked for, and so much of it must be there."""
_SLACK = 1.5
_SHORT = 6.0


def without_pockets(whole: Mask, ink: Mask, weight: Dark, radius: int) -> Mask:
    """``whole`` without the enclosed paper that only thin straight lines part from the outside.

    ``whole``: what ink encloses with gaps closed by ``radius`` cells on either side, itself included.
    ``weight`` grows with how much ink a line has for its length. One behind the other is taken too, as rows
    of dimension lines lie.
    """
    label, size = parts(whole & ~grown(ink, radius))
    bays = [n for n in range(1, len(size)) if size[n] >= _LEAST_CELLS]
    if len(bays) < 2:
        return whole
    far = radius + 3
    peak = _peaks(weight)
    main = _main_weight(ink & whole, peak)
    free = ink & ~grown(shrunk(whole, _SPUR), _SPUR + 1)
    places = _roomy(label, len(size), far + 2)
    while True:
        close = grown(~whole, _CLOSE)
        outside = grown(close, far - _CLOSE)
        near = np.zeros(len(size), dtype=bool)
        near[label[grown(outside, far)]] = True
        taken = []
        for n in bays:
            beyond, reach = (outside, far) if size[n] > _SMALL_CELLS else (close, _CLOSE)
            if near[n] and (
                _is_pocket(label, n, places[n], beyond, reach, ink, peak, main)
                or _on_the_ground(label, n, places[n], outside, free, int(size[n]), far)
            ):
                taken.append(n)
        if not taken:
            return whole
        bays = [n for n in bays if n not in taken]
        pockets = grown(np.isin(label, taken), radius + 1, ~ink | ~whole)
        # The lines that closed them off are left sticking out, to be cut off as such.
        whole = whole & ~pockets
        if not bays:
            return whole


def heavy(rim: Mask, ink: Mask, weight: Dark) -> bool:
    """Whether what ink there is along ``rim`` is a main line's; ``weight`` as for ``without_pockets``."""
    peak = _peaks(weight)
    values = peak[rim]
    return bool(len(values)) and float(np.median(values)) > _HEAVY * _main_weight(ink, peak)


def _peaks(weight: Dark) -> Dark:
    """Of each cell the most of its eight neighbours and itself."""
    wide = np.pad(weight, 1, mode="edge")
    rows = np.maximum(np.maximum(wide[:-2], wide[1:-1]), wide[2:])
    return np.maximum(np.maximum(rows[:, :-2], rows[:, 1:-1]), rows[:, 2:])


def _main_weight(ink: Mask, peak: Dark) -> float:
    """That of the heavier lines."""
    values = peak[ink]
    return float(np.quantile(values, 0.6)) if len(values) else 0.0


_Box = tuple[slice, slice]


def _roomy(label: NDArray[np.int32], count: int, room: int) -> list[_Box]:
    """Of each part the rows and columns that hold it with ``room`` cells around."""
    box = boxes(label, count)
    low, high = np.maximum(box[:, ::2] - room, 0), box[:, 1::2] + room
    return [
        (slice(int(low[n, 0]), int(high[n, 0])), slice(int(low[n, 1]), int(high[n, 1]))) for n in range(count)
    ]


def _is_pocket(
    label: NDArray[np.int32], n: int, box: _Box, outside: Mask, far: int, ink: Mask, peak: Dark, main: float
) -> bool:
    bay = label[box] == n
    beyond = outside[box]
    wall = grown(bay, far) & beyond & ink[box]
    if int(wall.sum()) < 4:
        return False
    small = int(bay.sum()) <= _SMALL_CELLS
    # Where two thin lines cross they weigh twice, and of a small one's lines that is a large part.
    if float(np.quantile(peak[box][wall], 0.3 if small else 0.5)) > _THIN * main:
        return False
    return small or _straight(around(bay), beyond)


def _on_the_ground(
    label: NDArray[np.int32], n: int, box: _Box, outside: Mask, free: Mask, cells: int, far: int
) -> bool:
    """Whether one straight line parts it from the outside that runs on freely past both of its ends.

    A ground line under two wheels does, of whatever weight. ``free`` is the ink that leads away.
    """
    if cells < _DEEP * _DEEP:
        return False
    stretches = _facing(around(label[box] == n), outside[box])
    if len(stretches) != 1 or cells < _DEEP * len(stretches[0]):
        return False
    line = shapely.get_coordinates(shapely.LineString(stretches[0]).simplify(2.0 * _SLACK))
    length = np.hypot(*np.diff(line, axis=0).T)
    longest = int(np.argmax(length))
    if length[longest] < 0.7 * length.sum():
        return False
    ends = line[[longest, longest + 1]] + (box[1].start, box[0].start)
    along = (ends[1] - ends[0]) / length[longest]
    return _leads_on(free, ends[1], along, far) and _leads_on(free, ends[0], -along, far)


def _leads_on(free: Mask, end: Array, along: Array, beside: int) -> bool:
    t = np.arange(_ON_CELLS)[:, None, None]
    across = np.arange(-beside, beside + 1)[None, :, None] * np.array([-along[1], along[0]])
    at = np.floor(end + t * along + across).astype(int)
    height, width = free.shape
    inside = (at >= 0).all(axis=2) & (at[..., 0] < width) & (at[..., 1] < height)
    found = free[np.clip(at[..., 1], 0, height - 1), np.clip(at[..., 0], 0, width - 1)] & inside
    return int(found.any(axis=1).sum()) >= _ON_LEAST


def _straight(path: Array, beyond: Mask) -> bool:
    """Whether the stretches of a way round that face the outside are straight lines that meet at corners."""
    stretches = [stretch for stretch in _facing(path, beyond) if len(stretch) > 2 * _SHORT]
    return bool(stretches) and all(_corners_only(stretch) for stretch in stretches)


def _facing(path: Array, beyond: Mask) -> list[Array]:
    """The stretches of a way round that lie in ``beyond``."""
    height, width = beyond.shape
    columns = np.clip(path[:, 0].astype(int), 0, width - 1)
    rows = np.clip(path[:, 1].astype(int), 0, height - 1)
    faces = beyond[rows, columns]
    if faces.all():
        return [np.vstack((path, path[:1]))]
    begin = int(np.flatnonzero(~faces)[0])
    path, faces = np.roll(path, -begin, axis=0), np.roll(faces, -begin)
    change = np.flatnonzero(np.diff(np.concatenate((faces, [False])).astype(np.int8)))
    return [path[a + 1 : b + 1] for a, b in zip(change[::2], change[1::2], strict=True) if b > a + 1]


def _corners_only(stretch: Array) -> bool:
    line = shapely.get_coordinates(shapely.LineString(stretch).simplify(_SLACK))
    steps = np.diff(line, axis=0)
    length = np.hypot(*steps.T)
    long = length >= _SHORT
    if length[long].sum() < 0.85 * length.sum():
        return False
    steps = steps[long]
    angle = np.arctan2(steps[:, 1], steps[:, 0])
    turns = np.degrees(np.abs((np.diff(angle) + math.pi) % (2 * math.pi) - math.pi))
    gentle = turns[turns <= _BENT_DEG]
    return bool(gentle.sum() <= _BOWED_DEG)
