"""How the readings run when one thing is changed: fin size, nose length, place of the CG.

Pure and self-contained, so that they can be computed away from the drawing thread.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from itertools import pairwise
from typing import Literal

import numpy as np
from msgspec.structs import replace

from core.design import Aim, Design, Mark
from core.geometry.overlay import OverlayError
from core.geometry.ring import Array
from core.redesign.outline_edits import EditError
from core.redesign.plug import fuselage_span, plug
from core.redesign.probe import Probe, cla_fraction
from core.redesign.refit import lead_needed
from core.redesign.refit_ways import way_of
from core.stability.aeroplane import Aeroplane, Values
from core.stability.balance import cg_of
from core.stability.ballast import NO_WEIGHTS
from core.stability.lateral.yaw import yaw_values
from core.stability.readings import NO_SCALE, scale_known
from core.stability.surfaces import wing_form
from core.stability.volumes import tail_volume, vertical_tail

Over = Literal["fin", "nose", "cg"]
_COLUMNS = ("cla_fraction", "cn_beta", "cn_beta_low", "cn_beta_high", "fin_volume", "lead")
_APART = 10
# Part of a column's range; the lead is allowed more, for it is weighed out to a gram at best.
_FORETOLD = np.array((3e-4, 3e-4, 3e-4, 3e-4, 3e-4, 2e-3))
# A curve whose range is less than this hardly bends: CLA fraction, three times Cnβ, V_v, grams.
_LEAST = np.array((0.1, 0.05, 0.05, 0.05, 0.02, 10.0))
FIN_RANGE = (0.4, 1.8)
"""Linear scale of fin and rudder."""
NOSE_RANGE = (-0.2, 0.3)
"""Plug in the nose, as a part of the nose's length up to the wing's leading edge."""
CG_RANGE = (0.05, 0.60)
"""Of the MAC; widened to reach the present CG. Without a wing ± 0.15 of the fuselage's length."""


@dataclass(frozen=True, eq=False)
class CurveData:
    """The readings at each of ``x``; NaN where one is missing, ``missing`` saying why at first.

    ``x`` is the linear scale of fin and rudder (1: as now), mm let into the nose (0: as now), or the
    station of the CG in mm. Arrays have the shape (points,).
    """

    over: Over
    unit: Literal["×", "mm"]
    x: Array
    present: float
    """Where the design is now."""
    cla_fraction: Array
    cn_beta: Array
    cn_beta_low: Array
    cn_beta_high: Array
    fin_volume: Array
    lead: Array
    """g of lead in the nose that keep the CG where it is to be; below 0: so much may come out."""
    aim: Aim
    missing: dict[str, str]
    """By name of the array, the first reason for a gap."""


@dataclass(frozen=True)
class _Line:
    unit: Literal["×", "mm"]
    low: float
    high: float
    present: float
    make: Callable[[float], Design]
    seam: float | None = None
    """Where the curve may have a corner."""


def curve(
    design: Design, over: Over = "fin", points: int = 60, cancelled: Callable[[], bool] = lambda: False
) -> CurveData | None:
    """The curve over fin size, nose length or place of the CG; None when ``cancelled`` says so.

    EditError with the reason where there is no such curve. The lead holds the CG at the mark, or,
    where the weights give the CG, where they balance now. The nose is changed by a plug, and the
    curve ends where no more can be taken out. Points of smooth stretches are laid by cubics between
    computed ones (``filled``).
    """
    line = _line(design, over)
    x = np.linspace(line.low, line.high, max(points, 2))
    missing: dict[str, str] = {}
    probe, known = Probe(), scale_known(design)
    if known:
        probe.begin(design)

    def row(i: int) -> Array:
        """The readings at ``x[i]`` in the order of the columns; NaN where missing."""
        values = _values(design, line, float(x[i]), probe, known)
        for key in _COLUMNS:
            reading = values[key]
            if isinstance(reading, str):
                missing.setdefault(key, reading)
        return np.array([v if not isinstance(v, str) else np.nan for v in (values[k] for k in _COLUMNS)])

    # What is let in and what is taken out are two curves that meet at nothing: no cubic across it.
    seam = int(np.searchsorted(x, line.seam)) if line.seam is not None else 0
    runs = [
        filled(partial(_shifted, row, first), last - first, _FORETOLD, _LEAST, cancelled)
        for first, last in ((0, seam), (seam, len(x))) if last > first
    ]
    if any(run is None for run in runs):
        return None
    rows = np.concatenate([run for run in runs if run is not None])
    columns = {key: np.ascontiguousarray(rows[:, k]) for k, key in enumerate(_COLUMNS)}
    return CurveData(
        over=over, unit=line.unit, x=x, present=line.present, aim=design.aim, missing=missing, **columns
    )


def _shifted(row: Callable[[int], Array], first: int, i: int) -> Array:
    return row(first + i)


def filled(
    row: Callable[[int], Array], count: int, near: Array, least: Array, cancelled: Callable[[], bool]
) -> Array | None:
    """``row(i)`` for 0 ≤ i < ``count``, shape (count, K), with as few calls as the curves allow.

    Every tenth is computed, and the middle of each stretch. Where a cubic through its neighbours
    foretold the middle to ``near`` (K,) of each column's range (of ``least`` (K,), where that is
    more), the rest of the stretch is laid by cubics through what is computed; else each half is
    treated alike, down to every point.
    None when ``cancelled``.
    """
    known: dict[int, Array] = {}

    def at(i: int) -> Array:
        if i not in known:
            known[i] = row(i)
        return known[i]

    parts = max(3, round(count / _APART))
    coarse = sorted({round(k * (count - 1) / parts) for k in range(parts + 1)})
    for i in coarse:
        if cancelled():
            return None
        at(i)
    stretches = list(pairwise(coarse))
    smooth: list[tuple[int, int]] = []
    while stretches:
        if cancelled():
            return None
        low, high = stretches.pop()
        if high - low < 2:
            continue
        middle = (low + high) // 2
        told = _cubic(known, middle)
        off = np.abs(at(middle) - told)
        every = np.array([v for v in known.values() if np.isfinite(v).all()] or [np.zeros(len(told))])
        reach = np.maximum(np.ptp(every, axis=0), least)
        gaps = np.isnan(at(middle)) & np.isnan(at(low)) & np.isnan(at(high))
        if high - low > 2 and np.all((off <= near * reach) | gaps):
            smooth.append((low, high))
        else:
            stretches += [(low, middle), (middle, high)]
    made = np.full((count, len(known[0])), np.nan)
    for i, values in known.items():
        made[i] = values
    for low, high in smooth:
        for i in range(low + 1, high):
            if i not in known:
                made[i] = _cubic(known, i)
    return made


def _cubic(known: dict[int, Array], at: int) -> Array:
    """The value at ``at`` of the cubic through the four known rows nearest to it."""
    near = sorted(sorted(known, key=lambda i: (abs(i - at), i))[:4])
    total = np.zeros(len(known[near[0]]))
    for i in near:
        weight = 1.0
        for j in near:
            if j != i:
                weight *= (at - j) / (i - j)
        total = total + weight * known[i]
    return total


def _values(design: Design, line: _Line, x: float, probe: Probe, known: bool) -> Values:
    try:
        changed = line.make(x)
        a = probe.near(changed) if known else probe.aeroplane(changed)
    except (EditError, OverlayError) as error:
        return dict.fromkeys(_COLUMNS, str(error))
    found: Values = dict.fromkeys(_COLUMNS, NO_SCALE)
    found["cla_fraction"] = cla_fraction(a)
    if known:
        yaw = yaw_values(a)
        found.update((key, yaw[key]) for key in ("cn_beta", "cn_beta_low", "cn_beta_high"))
        found["fin_volume"] = _fin_volume(a)
        lead = lead_needed(design, changed)
        found["lead"] = NO_WEIGHTS if lead is None else lead
    return found


def _fin_volume(a: Aeroplane) -> float | str:
    tail, wing = vertical_tail(a), wing_form(a.design.wings)
    if isinstance(tail, str):
        return tail
    if isinstance(wing, str):
        return wing
    if a.cg is None:
        return a.no_cg
    return tail_volume(tail.area, tail.quarter_chord_x - a.cg.x, wing.area, wing.span)


def design_at(design: Design, over: Over, x: float) -> Design:
    """The design at one point of its curve, for dragging along it. EditError where there is none."""
    return _line(design, over).make(x)


def _line(design: Design, over: Over) -> _Line:
    if over == "fin":
        way = way_of(design, "scale")
        return _Line("×", *FIN_RANGE, 1.0, way.make)
    return _nose(design) if over == "nose" else _place_of_cg(design)


def _nose(design: Design) -> _Line:
    span = fuselage_span(design)
    wing, cg = wing_form(design.wings), cg_of(design)[0]
    if span is None:
        raise EditError("there is no nose to lengthen: trace the fuselage first")
    if isinstance(wing, str) and cg is None:
        raise EditError("where the nose ends is not known: enter the wing, or mark the CG")
    end = wing.root_le_x if not isinstance(wing, str) else cg.x if cg else span[1]
    end = min(end, span[1])
    length = end - span[0]
    if not length > 1.0:
        raise EditError("no fuselage lies ahead of the wing: there is no nose to lengthen")
    station, least = _nose_cut(design, span[0], length)

    def make(let_in: float) -> Design:
        return plug(design, station, let_in, keep="aft") if abs(let_in) > 1e-9 else design

    return _Line("mm", least, NOSE_RANGE[1] * length, 0.0, make, 0.0)


def _nose_cut(design: Design, front: float, length: float) -> tuple[float, float]:
    """(station ahead of the wing where most can be taken out, how much as a negative length), mm."""
    best: tuple[float, float] | None = None
    why = ""
    for share in (0.7, 0.85, 0.55, 0.4):
        station = front + share * length
        try:
            plug(design, station, 1.0, keep="aft")
        except EditError as error:
            why = why or str(error)
            continue
        least = 0.0
        for part in (1.0, 0.75, 0.5, 0.25):
            try:
                plug(design, station, part * NOSE_RANGE[0] * length, keep="aft")
            except EditError:
                continue
            least = part * NOSE_RANGE[0] * length
            break
        if best is None or least < best[1]:
            best = (station, least)
        if least == NOSE_RANGE[0] * length:
            break
    if best is None:
        raise EditError(why)
    return best


def _place_of_cg(design: Design) -> _Line:
    cg, why = cg_of(design)
    if cg is None:
        raise EditError(f"there is no CG to move: {why}")
    here = cg
    wing, span = wing_form(design.wings), fuselage_span(design)
    if not isinstance(wing, str):
        low, high = (wing.mac_le_x + part * wing.mac for part in CG_RANGE)
    else:
        reach = 0.15 * (span[1] - span[0]) if span else 100.0
        low, high = here.x - reach, here.x + reach
    low, high = min(low, here.x), max(high, here.x)

    def make(x: float) -> Design:
        return replace(design, cg_mark=Mark(x, here.z), cg_from="mark")

    return _Line("mm", low, high, here.x, make)
