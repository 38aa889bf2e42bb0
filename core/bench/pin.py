"""Where the pin stands that strings to the tips are measured from, and how it is found on the aeroplane."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from core.bench.from_wing import foremost_wing, root_of
from core.bench.setting_up import starboard_tip
from core.bench.taut import body_of, lines_of, runs_free
from core.design import Design, Mark, Outline
from core.geometry.memo import IdentityMemo
from core.geometry.ring import Array
from core.kinds import HULL, NOSE_TO_TAIL
from core.stability.side_area import form_of

BEHIND_WING = 10.0
"""mm between the trailing edge of the wing's root and the pin that is put behind it (our own choice)."""
_TRIES = 60
_LEVEL = 0.1
_AT_END = 0.5


@dataclass(frozen=True)
class PinPlace:
    """A pin by what a ruler reaches, mm; None where there is no wing, or no body beneath.

    ``behind_wing``: aft of the leading edge of the foremost wing's root. ``above_body``: over the
    body's upper line at its station, negative inside. ``end``: the end of the body that it stands at.
    """

    mark: Mark
    behind_wing: float | None
    above_body: float | None
    end: Literal["", "nose", "tail"] = ""


def pin_of(design: Design) -> Mark:
    """The pin as the builder placed it, or where it stands by itself (:func:`pin_by_itself`)."""
    return design.bench.pin or pin_by_itself(design)


def place_of(design: Design, pin: Mark) -> PinPlace:
    """Where ``pin`` is found on the aeroplane."""
    wing, body = foremost_wing(design), body_of(design)
    root = None if wing is None else root_of(wing)
    top = None if body is None else body.top_at(pin.x)
    end: Literal["", "nose", "tail"] = ""
    if body is not None and top is not None:
        low, high = float(body.top[0, 0]), float(body.top[-1, 0])
        end = "nose" if pin.x < low + _AT_END else "tail" if pin.x > high - _AT_END else ""
    return PinPlace(
        pin, None if root is None else pin.x - root.le_x, None if top is None else pin.z - top, end
    )


def nose_of(design: Design) -> Mark:
    """The foremost point of the fuselages; the datum without one."""
    forms = [form_of(outline) for outline in design.outlines if outline.kind in NOSE_TO_TAIL]
    # Asked after every edit: sorted by x, then z, since tuples of Python's own take ten times as long.
    corners = np.concatenate([form.corners for form in forms]) if forms else np.zeros((1, 2))
    foremost = np.lexsort((corners[:, 1], corners[:, 0]))[0]
    return Mark(float(corners[foremost, 0]), float(corners[foremost, 1]))


def tail_end_of(design: Design) -> Mark | None:
    """The aftmost point of the fuselages; None without one."""
    forms = [form_of(outline) for outline in design.outlines if outline.kind in NOSE_TO_TAIL]
    if not forms:
        return None
    corners = np.concatenate([form.corners for form in forms])
    last = corners[corners[:, 0] >= corners[:, 0].max() - 1e-6]
    return Mark(float(last[0, 0]), float(0.5 * (last[:, 1].min() + last[:, 1].max())))


_pins: IdentityMemo[Mark] = IdentityMemo(4)


def pin_by_itself(design: Design) -> Mark:
    """On top of the body behind the wing, or where strings to the tailplane's tips run freest else.

    The foremost place where nothing else stands on the centre line and the strings run free, if one
    lies in the front half of what is between wing and tailplane: a pin far ahead tells the most. Else
    the foremost place there, the strings lying on the body. Where the body ends under the wing, its
    end; where there is no tailplane behind that, the foremost place on top that is free, or the nose.
    """
    standing = tuple(o for o in design.outlines if o.count == 1 and o.standing == "joined")
    return _pins.get(
        (*standing, *design.surfaces), lambda: _found(design, standing),
        extra=(design.fuselage_width, len(standing)),
    )


_tops: IdentityMemo[Array | None] = IdentityMemo(64)


def _top_of(outline: Outline) -> Array | None:
    def made() -> Array | None:
        lines = lines_of([outline])
        return None if lines is None else lines[0]

    return _tops.get((outline,), made)


def _found(design: Design, standing: Sequence[Outline]) -> Mark:
    body = body_of(design)
    if body is None:
        return nose_of(design)
    tail = design.tailplanes[0] if design.tailplanes else None
    tip = "" if tail is None else starboard_tip(tail)
    low, high = float(body.top[0, 0]), float(body.top[-1, 0])
    front = min((s.le_x for s in tail.stations), default=high) if tail is not None else high
    until, behind = min(high, front), low
    for wing in design.wings:
        root = root_of(wing)
        if root is not None and root.le_x < until:
            behind = max(behind, root.le_x + root.chord + BEHIND_WING)
    others = [top for o in standing if o.kind not in HULL and (top := _top_of(o)) is not None]

    def places(start: float, end: float) -> list[Mark]:
        """On top of the body, where nothing stands higher."""
        x = np.linspace(start, end, _TRIES)
        top = np.interp(x, body.top[:, 0], body.top[:, 1])
        over = [np.interp(x, line[:, 0], line[:, 1], -np.inf, -np.inf) for line in others]
        bare = (np.max([top - _LEVEL, *over], axis=0) <= top) if over else np.ones(_TRIES, dtype=bool)
        return [Mark(float(a), float(b)) for a, b in zip(x[bare], top[bare], strict=True)]

    def free(tried: list[Mark]) -> Mark | None:
        return None if isinstance(tip, str) else next((p for p in tried if runs_free(body, p, tip)), None)

    if behind < until and (here := places(behind, until)):
        return free([p for p in here if p.x <= 0.5 * (behind + until)]) or here[0]
    if high < front and (end := tail_end_of(design)) is not None:
        return end
    return free(places(low, until) if low < until else []) or nose_of(design)
