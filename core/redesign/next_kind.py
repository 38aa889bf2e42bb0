"""Which kind of outline comes next: read off what is there, so that undo and deletion are followed too."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from core.design import Design, Outline
from core.kinds import ALWAYS, FLOATS, ON_FLOATS, ON_WHEELS, OTHER, TOGETHER, WHEELS, Kind


def kind_to_trace(outlines: Collection[Outline], left_out: Collection[str] = ()) -> Kind:
    """The kind to offer for the next outline; none of ``left_out``, which the builder says is not there.

    First the rudder of a fin and the fin of a rudder, then what is always there; then what comes after
    the last of those that are there, then what was passed over; OTHER where all is there. Order of
    work: common practice, no source.
    """
    here = {*(outline.kind for outline in outlines), *left_out}
    for one, other in TOGETHER:
        if one in here and other not in here:
            return other
    for kind in ALWAYS:
        if kind not in here:
            return kind
    order = ON_FLOATS if here & FLOATS and not here & WHEELS else ON_WHEELS
    last = max((at for at, kind in enumerate(order) if kind in here), default=-1)
    coming = [kind for kind in (*order[last + 1 :], *order) if kind not in here]
    return coming[0] if coming else OTHER


@dataclass(frozen=True)
class Choice:
    """The kind that the builder chose, which goes before the rule: for one outline.

    Chosen for the outline after as well it ``stays`` for all to come, until another is chosen: three
    wheels are two choices. It holds again while the outline it was chosen for is undone or deleted.
    """

    kind: Kind
    outline: str | None = None
    """The outline that was traced by it; None before there is one."""
    stays: bool = False


def chosen(design: Design, choice: Choice | None, kind: Kind) -> Choice:
    """The choice after the builder chose ``kind``."""
    again = choice is not None and choice.kind == kind and (choice.stays or not _open(design, choice))
    return Choice(kind, stays=again)


def traced(design: Design, choice: Choice | None, outline_id: str) -> Choice | None:
    """The choice after the outline of that id came into ``design``."""
    if choice is None or choice.stays:
        return choice
    if choice.outline not in (None, outline_id) and any(o.id == choice.outline for o in design.outlines):
        return None
    return Choice(choice.kind, outline_id)


def next_kind(design: Design, choice: Choice | None) -> Kind:
    """What the next outline is: the builder's choice while it holds, else what the rule says."""
    if choice is not None and (choice.stays or _open(design, choice)):
        return choice.kind
    return kind_to_trace(design.outlines, design.left_out)


def kind_after(design: Design, kind: Kind) -> Kind:
    """What the rule offers once an outline of ``kind`` is there too."""
    return kind_to_trace((*design.outlines, Outline(id="", kind=kind, nodes=())), design.left_out)


def _open(design: Design, choice: Choice) -> bool:
    return choice.outline is None or all(o.id != choice.outline for o in design.outlines)
