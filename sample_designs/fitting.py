"""Fitting outlines to the ink of a scan, from nodes set by a hand that is a little off."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import msgspec
import numpy as np
import shapely
from numpy.typing import NDArray
from paper import Grey, place
from shaping import Points, Tracing, edge_points

from core.design import Node, Outline, Vector

SPACING = 1.2
SKIP_AT_CORNERS = 2.2
WINDOWS = (2.2, 1.8, 1.4, 1.1, 0.9, 0.9, 0.9)
"""Half-width of the search in mm, round by round."""


def hand_set(tracing: Tracing, rng: np.random.Generator, mm_per_px: float, px: float = 2.2) -> Outline:
    """The outline as set by hand: nodes and handles off by a few pixels."""
    off = px * mm_per_px
    nodes = []
    for node in tracing.outline.nodes:
        dx, dz = rng.normal(0.0, off, 2)
        bent = rng.normal(1.0, 0.06, 2)
        turn = rng.normal(0.0, math.radians(1.5))
        nodes.append(
            Node(
                node.x + float(dx),
                node.z + float(dz),
                _turned(node.handle_in, turn, float(bent[0])),
                _turned(node.handle_out, turn, float(bent[1])),
            )
        )
    made = tracing.outline
    return msgspec.structs.replace(made, nodes=tuple(nodes))


def _turned(handle: Vector | None, angle: float, grow: float) -> Vector | None:
    if handle is None:
        return None
    c, s = math.cos(angle) * grow, math.sin(angle) * grow
    return (handle[0] * c - handle[1] * s, handle[0] * s + handle[1] * c)


@dataclass
class _Layout:
    """Where each node keeps its numbers: x, z, then either (angle, in, out) or each handle's x and z."""

    smooth: list[bool]
    first: list[int]
    total: int


def _layout(nodes: Sequence[Node]) -> _Layout:
    smooth, first, total = [], [], 0
    for node in nodes:
        first.append(total)
        total += 2
        both = node.handle_in is not None and node.handle_out is not None
        if both and node.handle_in and node.handle_out:
            a, b = np.array(node.handle_in), np.array(node.handle_out)
            cosine = -float(a @ b) / float(np.hypot(*a) * np.hypot(*b))
            smooth.append(cosine > math.cos(math.radians(12.0)))
        else:
            smooth.append(False)
        total += 3 if smooth[-1] else 2 * ((node.handle_in is not None) + (node.handle_out is not None))
    return _Layout(smooth, first, total)


def _pack(nodes: Sequence[Node], layout: _Layout) -> Points:
    p = np.zeros(layout.total)
    for node, smooth, at in zip(nodes, layout.smooth, layout.first, strict=True):
        p[at : at + 2] = node.x, node.z
        if smooth and node.handle_in and node.handle_out:
            a, b = np.array(node.handle_in), np.array(node.handle_out)
            along = b / np.hypot(*b) - a / np.hypot(*a)
            p[at + 2 : at + 5] = math.atan2(along[1], along[0]), np.hypot(*a), np.hypot(*b)
            continue
        k = at + 2
        for handle in (node.handle_in, node.handle_out):
            if handle is not None:
                p[k : k + 2] = handle
                k += 2
    return p


def _unpack(p: Points, nodes: Sequence[Node], layout: _Layout) -> tuple[Node, ...]:
    made = []
    for node, smooth, at in zip(nodes, layout.smooth, layout.first, strict=True):
        x, z = float(p[at]), float(p[at + 1])
        if smooth:
            c, s = math.cos(p[at + 2]), math.sin(p[at + 2])
            back, on = float(p[at + 3]), float(p[at + 4])
            made.append(Node(x, z, (-back * c, -back * s), (on * c, on * s)))
            continue
        k = at + 2
        handles: list[Vector | None] = []
        for handle in (node.handle_in, node.handle_out):
            if handle is None:
                handles.append(None)
            else:
                handles.append((float(p[k]), float(p[k + 1])))
                k += 2
        made.append(Node(x, z, handles[0], handles[1]))
    return tuple(made)


def bilinear(picture: Grey, px: Points) -> NDArray[np.float64]:
    """Darkness at points given in pixels (0 at the left edge of the first), clamped at the border."""
    height, width = picture.shape
    u = np.clip(px[..., 0] - 0.5, 0, width - 1.001)
    v = np.clip(px[..., 1] - 0.5, 0, height - 1.001)
    i, j = u.astype(int), v.astype(int)
    fu, fv = u - i, v - j
    top = picture[j, i] * (1 - fu) + picture[j, i + 1] * fu
    below = picture[j + 1, i] * (1 - fu) + picture[j + 1, i + 1] * fu
    return np.asarray(top * (1 - fv) + below * fv, dtype=np.float64)


def stroke_offsets(
    picture: Grey,
    mm_to_px: NDArray[np.float64],
    points: Points,
    normals: Points,
    window: float,
    stroke: float,
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Offset (mm) along the normals to the darkness-weighted middle of the stroke, and where it is clear."""
    step = 0.06
    reach = window + 1.6 * stroke
    n = np.arange(-reach, reach + step / 2, step)
    track = points[:, None, :] + normals[:, None, :] * n[None, :, None]
    dark = bilinear(picture, place(mm_to_px, track.reshape(-1, 2))).reshape(len(points), len(n))
    dark = dark - np.percentile(dark, 20, axis=1, keepdims=True)
    box = max(3, round(stroke * 0.9 / step)) | 1
    smooth = np.apply_along_axis(lambda row: np.convolve(row, np.ones(box) / box, "same"), 1, dark)
    prior = 1.0 - 0.35 * (n / window) ** 2
    score = np.where(np.abs(n) <= window, smooth * prior[None, :], -1.0)
    peak = np.argmax(score, axis=1)
    near = np.abs(n[None, :] - n[peak][:, None]) <= stroke * 0.95
    weight = np.clip(dark - 0.12 * dark.max(axis=1, keepdims=True), 0.0, None) * near
    total = weight.sum(axis=1)
    offset = (weight * n[None, :]).sum(axis=1) / np.maximum(total, 1e-9)
    beside = np.abs(np.abs(n[None, :] - offset[:, None]) - stroke * 1.35) < stroke * 0.25
    worst_beside = np.where(beside, dark, 0.0).max(axis=1)
    top = smooth[np.arange(len(points)), peak]
    clear = (top > 0.25) & (worst_beside < 0.45 * top)
    return offset, clear


def fit(picture: Grey, mm_to_px: NDArray[np.float64], begin: Outline, tracing: Tracing) -> Outline:
    """The outline moved onto the ink by repeated least squares; corners stay corners, 0.01 mm."""
    nodes = begin.nodes
    layout = _layout(nodes)
    free = _free(layout, tracing.inked)
    for window in WINDOWS:
        points, normals, edges, ts = _samples(nodes, tracing)
        offset, clear = stroke_offsets(picture, mm_to_px, points, normals, window, tracing.stroke)
        p = _pack(nodes, layout)
        jacobian = _jacobian(p, nodes, layout, edges, ts, normals)
        spread = max(1.4826 * float(np.median(np.abs(offset[clear]))), 0.05)
        weight = np.where(clear, np.minimum(1.0, 1.5 * spread / np.maximum(np.abs(offset), 1e-9)), 0.0)
        hold = np.where(free, 0.03, 1e3)
        for smooth, at in zip(layout.smooth, layout.first, strict=True):
            if smooth:
                hold[at + 2] = 2.0
        lhs = np.vstack([jacobian * weight[:, None], np.diag(hold)])
        rhs = np.concatenate([offset * weight, np.zeros(layout.total)])
        change = np.linalg.lstsq(lhs, rhs, rcond=None)[0]
        nodes = _unpack(p + np.clip(change, -3.0, 3.0), nodes, layout)
    rounded = tuple(_rounded(node, tracing.inked, i) for i, node in enumerate(nodes))
    return msgspec.structs.replace(begin, nodes=rounded)


def _free(layout: _Layout, inked: Sequence[bool]) -> NDArray[np.bool_]:
    """Which numbers may move: those of nodes with an inked edge."""
    free = np.zeros(layout.total, dtype=bool)
    ends = [*layout.first[1:], layout.total]
    for i, (start, end) in enumerate(zip(layout.first, ends, strict=True)):
        free[start:end] = inked[i] or inked[i - 1]
    return free


def _rounded(node: Node, inked: Sequence[bool], index: int) -> Node:
    """To 0.01 mm; a node that stands on no ink is set by eye to the half millimetre."""
    if not (inked[index] or inked[index - 1]):
        return Node(round(node.x * 2) / 2, round(node.z * 2) / 2)

    def two(v: Vector | None) -> Vector | None:
        return None if v is None else (round(v[0], 2), round(v[1], 2))

    return Node(round(node.x, 2), round(node.z, 2), two(node.handle_in), two(node.handle_out))


def _samples(nodes: Sequence[Node], tracing: Tracing) -> tuple[Points, Points, NDArray[np.int_], Points]:
    points, normals, edges, ts = [], [], [], []
    fine = np.linspace(0.0, 1.0, 65)
    for i, is_inked in enumerate(tracing.inked):
        if not is_inked:
            continue
        drawn = edge_points(nodes, i, fine)
        along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(drawn, axis=0).T))])
        length = float(along[-1])
        skip = min(SKIP_AT_CORNERS, length / 4)
        number = max(6, int((length - 2 * skip) / SPACING))
        t = np.interp(np.linspace(skip, length - skip, number), along, fine)
        ahead = edge_points(nodes, i, np.minimum(t + 1e-4, 1.0)) - edge_points(
            nodes, i, np.maximum(t - 1e-4, 0.0)
        )
        ahead /= np.hypot(ahead[:, 0], ahead[:, 1])[:, None]
        points.append(edge_points(nodes, i, t))
        normals.append(np.column_stack([-ahead[:, 1], ahead[:, 0]]))
        edges.append(np.full(number, i))
        ts.append(t)
    return np.vstack(points), np.vstack(normals), np.concatenate(edges), np.concatenate(ts)


def _jacobian(
    p: Points, nodes: Sequence[Node], layout: _Layout, edges: NDArray[np.int_], ts: Points, normals: Points
) -> Points:
    """Movement of each sample along its normal per number, by differences."""

    def at(q: Points) -> Points:
        moved = _unpack(q, nodes, layout)
        return np.vstack([edge_points(moved, i, ts[edges == i]) for i in dict.fromkeys(edges.tolist())])

    base, h = at(p), 1e-4
    columns = []
    for k in range(layout.total):
        q = p.copy()
        q[k] += h
        columns.append((((at(q) - base) / h) * normals).sum(axis=1))
    return np.column_stack(columns)


def residuals(tracing: Tracing, fitted: Outline, clearance: float = 2.0) -> NDArray[np.float64]:
    """Distances (mm) from points every half millimetre of the true inked edges to the fitted outline.

    The last ``clearance`` mm beside an edge that is not inked are left out: there the ink ends.
    """
    t = np.linspace(0.0, 1.0, 257)
    closed = shapely.LinearRing(
        np.vstack([edge_points(fitted.nodes, i, t)[:-1] for i in range(len(fitted.nodes))])
    )
    distances = []
    total = len(tracing.inked)
    for i, is_inked in enumerate(tracing.inked):
        if not is_inked:
            continue
        drawn = edge_points(tracing.outline.nodes, i, t)
        along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(drawn, axis=0).T))])
        begin = 0.0 if tracing.inked[i - 1] else clearance
        end = along[-1] - (0.0 if tracing.inked[(i + 1) % total] else clearance)
        spots = np.arange(begin, end, 0.5)
        xs, zs = np.interp(spots, along, drawn[:, 0]), np.interp(spots, along, drawn[:, 1])
        distances.append(shapely.distance(shapely.points(xs, zs), closed))
    return np.concatenate(distances)
