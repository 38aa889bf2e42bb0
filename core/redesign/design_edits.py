"""Edits of the design's lists: putting in, taking out, ordering, naming."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from typing import Any

from msgspec.structs import replace

from core.design import LIMIT_WORDS, Aim, Design, Mark, Outline, Scan, range_of
from core.kinds import Kind
from core.redesign.outline_edits import EditError, change_kind, translate
from core.stability.counts import comes_twice
from core.stability.touching import apart_of, has_apart, pairs


def fresh_id(design: Design, stem: str, also: Collection[str] = ()) -> str:
    """An id made from ``stem`` that no outline, scan, surface or weight of the design has yet."""
    base = re.sub(r"[^a-z0-9]+", "-", stem.lower()).strip("-")[:40] or "part"
    taken = {
        part.id
        for parts in (design.outlines, design.scans, design.wings, design.tailplanes, design.weights)
        for part in parts
    } | set(also)
    if base not in taken:
        return base
    number = 2
    while f"{base}-{number}" in taken:
        number += 1
    return f"{base}-{number}"


def with_outlines(design: Design, changed: Mapping[str, Outline]) -> Design:
    """The design with those outlines, by id, in place of its own."""
    return replace(design, outlines=tuple(changed.get(o.id, o) for o in design.outlines))


def change_outlines(design: Design, ids: Collection[str], **fields: Any) -> Design:
    """Fields of several outlines set alike, for example ``count=2``."""
    return replace(
        design,
        outlines=tuple(replace(o, **fields) if o.id in ids else o for o in design.outlines),
    )


def set_count(design: Design, ids: Collection[str], count: int) -> Design:
    """The count of several outlines set by hand, which settles whether they come twice.

    One that becomes a pair stands as far apart as the pair that it touches. How far apart it stood
    is kept with any other count, and used with none.
    """
    seen = [i for i in design.counts_seen if i not in ids]
    if count == 1:
        seen += [o.id for o in design.outlines if o.id in ids and comes_twice(o.kind)]
    return _as_the_rest(replace(change_outlines(design, ids, count=count), counts_seen=tuple(seen)), ids)


def set_apart(design: Design, ids: Collection[str], apart: float | None) -> Design:
    """How far the two of a pair stand from each other, middle to middle, in mm; None: not known.

    What belongs to the same pair, as a fin and its rudder that touch, is set alike. Outlines that are
    no upright pair are left as they are. EditError for a distance of nothing, or out of reach.
    """
    most = range_of(Outline, "apart").high
    if apart is not None and not 0.0 < apart <= most:
        raise EditError(
            f"the two of a pair stand apart: give more than nothing, up to {LIMIT_WORDS} mm, or count 1"
        )
    return with_outlines(design, {
        outline.id: replace(outline, apart=apart)
        for pair in pairs(design) if any(o.id in ids for o in pair) for outline in pair
    })


def _as_the_rest(design: Design, ids: Collection[str]) -> Design:
    """Those of ``ids`` that name no distance apart given the one of the pair that they touch."""
    if not any(o.id in ids and o.apart is None and has_apart(o) for o in design.outlines):
        return design
    return with_outlines(design, {
        outline.id: replace(outline, apart=apart_of(pair))
        for pair in pairs(design) for outline in pair if outline.id in ids and outline.apart is None
    })


def change_kinds(design: Design, ids: Collection[str], kind: Kind) -> Design:
    """Those outlines made ones of another kind; labels that the program gave follow."""
    for outline_id in ids:
        others = {o.name for o in design.outlines if o.id != outline_id}
        changed = change_kind(design.outline(outline_id), kind, others)
        design = with_outlines(design, {outline_id: changed})
    return _as_the_rest(design, ids)


def add_outline(design: Design, outline: Outline) -> Design:
    """The design with one more outline, on top of the others."""
    return replace(design, outlines=(*design.outlines, outline))


def delete_outlines(design: Design, ids: Collection[str]) -> Design:
    """The design without those outlines."""
    return replace(
        design,
        outlines=tuple(o for o in design.outlines if o.id not in ids),
        counts_seen=tuple(i for i in design.counts_seen if i not in ids),
    )


def move_outline(design: Design, outline_id: str, index: int) -> Design:
    """The outline put at ``index`` of the list, clamped to its ends."""
    outline = design.outline(outline_id)
    others = [o for o in design.outlines if o.id != outline_id]
    others.insert(min(max(index, 0), len(others)), outline)
    return replace(design, outlines=tuple(others))


def paste_outlines(
    design: Design, outlines: Iterable[Outline], dx: float, dz: float
) -> tuple[Design, list[str]]:
    """(design with copies of ``outlines`` moved by (dx, dz) mm, the copies' new ids).

    The copy of an outline whose count was looked at is not asked about again.
    """
    ids: list[str] = []
    copies: list[Outline] = []
    seen: list[str] = []
    for outline in outlines:
        new_id = fresh_id(design, re.sub(r"-\d+$", "", outline.id), ids)
        ids.append(new_id)
        if outline.id in design.counts_seen and outline in design.outlines:
            seen.append(new_id)
        copies.append(translate(replace(outline, id=new_id, locked=False, hidden=False), dx, dz))
    pasted = replace(
        design, outlines=(*design.outlines, *copies), counts_seen=(*design.counts_seen, *seen)
    )
    return pasted, ids


def set_cg(design: Design, x: float, z: float) -> Design:
    """The CG marked by hand at (x, z) mm."""
    return replace(design, cg_mark=Mark(x=x, z=z), cg_from="mark")


def set_aim(design: Design, low: float, cla_fraction: float, high: float) -> Design:
    """The aim's three figures, put in rising order and within what a file may hold."""
    a, b, c = (min(max(v, -2.0), 2.0) for v in sorted((low, cla_fraction, high)))
    return replace(design, aim=Aim(cla_fraction=b, low=a, high=c, fin_centre=design.aim.fin_centre))


def change_scan(design: Design, scan_id: str, **fields: Any) -> Design:
    """Fields of one scan set, for example ``opacity=0.4``."""
    return replace(
        design, scans=tuple(replace(s, **fields) if s.id == scan_id else s for s in design.scans)
    )


def change_tone(design: Design, scan_id: str, **fields: Any) -> Design:
    """Fields of one scan's tone set, for example ``level=True``."""
    return change_scan(design, scan_id, tone=replace(design.scan(scan_id).tone, **fields))


def add_scan(design: Design, scan: Scan) -> Design:
    """The design with one more scan, on top of the others."""
    return replace(design, scans=(*design.scans, scan))


def delete_scan(design: Design, scan_id: str) -> Design:
    """The design without that scan; what was traced on it stays."""
    return replace(design, scans=tuple(s for s in design.scans if s.id != scan_id))


