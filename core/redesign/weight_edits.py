"""Edits of the weights: what is in the aeroplane, where it lies, and the lead that moves the CG."""

from __future__ import annotations

import math
import re
from collections.abc import Collection
from typing import Literal

from msgspec.structs import replace

from core.design import LIMIT, LIMIT_WORDS, MOST_PARTS, Design, Outline, Weight
from core.kinds import NOSE_TO_TAIL
from core.redesign.design_edits import change_outlines, fresh_id
from core.redesign.outline_edits import EditError
from core.stability.ballast import Ballast, ballast, weighed
from core.stability.body import mid_depth
from core.stability.side_area import form_of

LEAD = "Lead"
NEW = "Weight"
SAME_PLACE = 0.05
"""mm: lead nearer than this to a station lies at it."""
_MOST_CALLED = 28


def weight_of(design: Design, weight_id: str) -> Weight:
    """The weight of that id; KeyError where there is none."""
    for weight in design.weights:
        if weight.id == weight_id:
            return weight
    raise KeyError(weight_id)


def called(part: Weight | Outline) -> str:
    """What to call it in the middle of a sentence or in a menu: "battery", "LiPo", never long."""
    # An ampersand would become a key of the menu.
    words = " ".join(part.name.replace("&", "and").split()) or part.id
    if len(words) > _MOST_CALLED:
        words = words[: _MOST_CALLED - 1].rstrip() + "…"
    first = words.split(" ")[0]
    return words if first[1:] != first[1:].lower() else words[:1].lower() + words[1:]


def add_weight(
    design: Design, label: str, grams: float, x: float, z: float, y: float = 0.0
) -> tuple[Design, str]:
    """(design with one more weight, its id); grams and mm. EditError for a number that cannot be."""
    if len(design.weights) >= MOST_PARTS:
        raise EditError(f"{MOST_PARTS} weights are the most a design can hold; put some together")
    made = Weight(fresh_id(design, label or NEW), grams, x, y, z, label)
    _check(made)
    return replace(design, weights=(*design.weights, made)), made.id


def change_weight(
    design: Design, weight_id: str, *, label: str | None = None, grams: float | None = None,
    x: float | None = None, y: float | None = None, z: float | None = None,
) -> Design:
    """One weight's label, grams, or place in mm set; what is None stays.

    EditError for a mass below zero, or for a number that is not finite or past ±1 000 000.
    """
    now = weight_of(design, weight_id)
    changed = Weight(
        now.id, now.grams if grams is None else grams, now.x if x is None else x,
        now.y if y is None else y, now.z if z is None else z, now.label if label is None else label,
    )
    _check(changed)
    return _with(design, changed)


def move_weight(design: Design, weight_id: str, dx: float, dz: float) -> Design:
    """One weight moved by (dx, dz) mm, never past ±1 000 000."""
    now = weight_of(design, weight_id)
    x, z = (min(max(v, -LIMIT), LIMIT) for v in (now.x + dx, now.z + dz))
    return _with(design, replace(now, x=x, z=z))


def duplicate_weight(design: Design, weight_id: str) -> tuple[Design, str]:
    """(design with a copy right behind the weight in the list, the copy's id).

    A weight off the centreline is copied to the other side, as a pair lies; any other to its own place.
    """
    if len(design.weights) >= MOST_PARTS:
        raise EditError(f"{MOST_PARTS} weights are the most a design can hold; put some together")
    now = weight_of(design, weight_id)
    copy = replace(now, id=fresh_id(design, re.sub(r"-\d+$", "", now.id)), y=-now.y + 0.0)
    at = design.weights.index(now) + 1
    return replace(design, weights=(*design.weights[:at], copy, *design.weights[at:])), copy.id


def delete_weights(design: Design, ids: Collection[str]) -> Design:
    """The design without those weights."""
    return replace(design, weights=tuple(w for w in design.weights if w.id not in ids))


def set_cg_from(design: Design, source: Literal["mark", "weights"]) -> Design:
    """The CG taken from the mark or from the weights; the mark stays where it is."""
    return replace(design, cg_from=source)


def set_area_weight(design: Design, ids: Collection[str], grams_per_dm2: float | None) -> Design:
    """What those outlines weigh by their area in g/dm²; None, or nothing: they weigh nothing by area."""
    if grams_per_dm2 is not None and not 0.0 <= grams_per_dm2 <= LIMIT:
        raise EditError(f"a weight by area is not below zero, nor more than {LIMIT_WORDS} g/dm²")
    return change_outlines(design, ids, grams_per_dm2=grams_per_dm2 or None)


def nose_x(design: Design) -> float | None:
    """Station of the nose in mm: the smallest x of the fuselage, or of all outlines where there is none."""
    traced = [o for o in design.outlines if o.nodes]
    hull = [o for o in traced if o.kind in NOSE_TO_TAIL] or traced
    found = [form_of(o).box[0] for o in hull]
    lows = [low for low in found if math.isfinite(low)]
    return min(lows) if lows else None


def inside_z(design: Design, x: float) -> float:
    """Height in mm at which something put in at station ``x`` would lie: the fuselage's mid-depth there.

    Where no fuselage reaches ``x``: the height of the CG by the weights, of the mark, or 0.
    """
    for outline in design.outlines:
        if outline.kind in NOSE_TO_TAIL and outline.nodes:
            low, _, high, _ = form_of(outline).box
            if low <= x <= high:
                return mid_depth(form_of(outline).patch, x)
    now = weighed(design)
    if not isinstance(now, str):
        return now.z
    return design.cg_mark.z if design.cg_mark else 0.0


def lead_at(design: Design, x: float) -> Weight | None:
    """The weight that was put in as lead at station ``x`` in mm, where there is one."""
    for weight in design.weights:
        if weight.label == LEAD and abs(weight.x - x) <= SAME_PLACE:
            return weight
    return None


def lead_needed(design: Design, wanted_x: float, lead_x: float) -> Ballast | str:
    """All the lead at ``lead_x`` for a CG by the weights at ``wanted_x`` (mm), or why none there can do it.

    Lead that lies there already is part of it: see ``core.stability.ballast.ballast``.
    """
    there = lead_at(design, lead_x)
    bare = delete_weights(design, (there.id,)) if there else design
    return ballast(bare, wanted_x, there.x if there else lead_x)


def put_lead(design: Design, wanted_x: float, lead_x: float) -> tuple[Design, str]:
    """(design with the lead at ``lead_x`` that brings the CG by the weights to ``wanted_x``, its id); mm.

    Lead that lies there already is made heavier or lighter. EditError with the reason where no lead
    there can do it, or none is needed.
    """
    needed = lead_needed(design, wanted_x, lead_x)
    if isinstance(needed, str):
        raise EditError(needed)
    if not needed.grams > 0.0:
        raise EditError("the weights balance there without lead: none is needed")
    there = lead_at(design, lead_x)
    if there is not None:
        return change_weight(design, there.id, grams=needed.grams), there.id
    return add_weight(design, LEAD, needed.grams, lead_x, inside_z(design, lead_x))


def _with(design: Design, changed: Weight) -> Design:
    return replace(design, weights=tuple(changed if w.id == changed.id else w for w in design.weights))


def _check(weight: Weight) -> None:
    if weight.grams < 0.0:
        raise EditError("a weight cannot weigh less than nothing; give zero or more")
    for value in (weight.grams, weight.x, weight.y, weight.z):
        if not abs(value) <= LIMIT:
            raise EditError(f"a number of the weight is out of reach; keep within ±{LIMIT_WORDS}")
