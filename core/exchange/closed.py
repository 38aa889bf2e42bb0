"""Closed rows of cubic pieces made into outlines of a design."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from msgspec import structs

from core.design import LIMIT, LIMIT_WORDS, MOST_COUNT, MOST_PARTS, Design, Node, Outline, Stance
from core.exchange.faults import ExchangeError, UnseenError
from core.geometry.ring import ring_of, signed_area
from core.kinds import KINDS, OTHER, Kind
from core.redesign.design_edits import fresh_id

Point = complex
"""x + i z, in mm."""
Piece = tuple[Point, Point, Point, Point]
"""One cubic: start, its two control points, end; straight where the control points lie on the ends."""

MOST_BYTES = 20_000_000
MOST_PIECES = 200_000
_SAME = 1e-6
"""mm: points nearer than this are one point."""
_NO_AREA = 1e-6
_OPEN = 0.01
_MOST_NOTES = 8


@dataclass(frozen=True)
class Named:
    """What a file says of an outline, apart from its form."""

    stem: str = ""
    label: str = ""
    kind: str = ""
    count: str = ""
    stance: str = ""


def must_be_small(data: bytes) -> None:
    """ExchangeError where a file is too large to be a drawing of outlines."""
    if len(data) > MOST_BYTES:
        raise ExchangeError(
            f"found {len(data) / 1e6:.0f} MB, more than {MOST_BYTES / 1e6:.0f}; "
            "leave pictures out and save it again"
        )


def nodes_of(pieces: Sequence[Piece]) -> tuple[Node, ...]:
    """Nodes round a closed row of pieces, each starting where the last ended; a gap is closed straight."""
    kept = [p for p in pieces if max(abs(p[i] - p[0]) for i in (1, 2, 3)) > _SAME]
    if not kept:
        return ()
    if abs(kept[-1][3] - kept[0][0]) > _SAME:
        end, start = kept[-1][3], kept[0][0]
        kept.append((end, end, start, start))
    nodes = []
    for before, after in zip((kept[-1], *kept[:-1]), kept, strict=True):
        at = after[0]
        nodes.append(Node(at.real, at.imag, _handle(before[2] - before[3]), _handle(after[1] - at)))
    return tuple(nodes)


def _handle(offset: complex) -> tuple[float, float] | None:
    return None if offset == 0 else (offset.real, offset.imag)


@dataclass(frozen=True)
class Imported:
    """The outlines of a file in mm, z up, and what was left out or guessed, one sentence each."""

    outlines: tuple[Outline, ...]
    notes: tuple[str, ...]
    uncounted: tuple[str, ...] = ()
    """Ids of those of which the file does not say how often they come: each has a count of 1."""
    ours: bool = False
    """True if the file was written here, whatever another program did to it since."""
    unseen: int = 0
    """Paths left out because their layer or they themselves are switched off there."""


def answered(found: Imported, answers: Mapping[str, tuple[Kind, int]]) -> Imported:
    """With what was asked about outlines, by their ids, of which the file does not say it: kind, count."""
    outlines = []
    for outline in found.outlines:
        if outline.id in answers:
            kind, count = answers[outline.id]
            outline = structs.replace(outline, kind=kind, count=count)
        outlines.append(outline)
    lacking = tuple(each for each in found.uncounted if each not in answers)
    return dataclasses.replace(found, outlines=tuple(outlines), uncounted=lacking)


def count_words(found: Imported) -> str:
    """What is to be said of the counts that are lacking, without a full stop."""
    whose = ", written here and changed by another program since," if found.ours else ""
    if len(found.uncounted) == 1:
        return f"the drawing{whose} does not say how often {found.uncounted[0]} comes: it counts once"
    which = ", ".join(found.uncounted[:6]) + (" …" if len(found.uncounted) > 6 else "")
    return f"the drawing{whose} does not say how often these come: {which}; each counts once"


def paths_were(count: int, what: str = "path") -> str:
    """So many paths, and their verb: "2 paths were"."""
    return f"1 {what} was" if count == 1 else f"{count} {what}s were"


class Gathering:
    """Outlines taken from a file one after another, and what was left out."""

    def __init__(self, kind: Kind | None) -> None:
        self._kind = kind
        self._pieces = 0
        self._ids = Design(1, "")
        self._taken: list[str] = []
        self.outlines: list[Outline] = []
        self.without_area = 0
        self.opened = 0
        self.notes: list[str] = []
        self.unseen = 0
        self.ours = False
        self._uncounted: list[str] = []

    def add(self, pieces: Sequence[Piece], named: Named, where: str) -> bool:
        """One row of joined pieces; whether it has area and became an outline.

        ExchangeError names ``where`` when a number is out of reach.
        """
        self._pieces += len(pieces)
        if self._pieces > MOST_PIECES:
            raise ExchangeError(f"{where}: more than {MOST_PIECES} edges in all; simplify the drawing")
        for piece in pieces:
            for p in piece:
                if not (math.isfinite(p.real) and math.isfinite(p.imag)):
                    raise ExchangeError(f"{where}: a point is not a finite number; draw it anew")
                if max(abs(p.real), abs(p.imag)) > LIMIT:
                    raise ExchangeError(
                        f"{where}: a point {max(abs(p.real), abs(p.imag)):g} mm away is out of reach; "
                        f"keep within ±{LIMIT_WORDS} mm"
                    )
        nodes = nodes_of(pieces)
        curved = any(node.handle_in or node.handle_out for node in nodes)
        if len(nodes) < (2 if curved else 3) or abs(signed_area(ring_of(nodes))) < _NO_AREA:
            self.without_area += 1
            return False
        if abs(pieces[-1][3] - pieces[0][0]) > _OPEN:
            self.opened += 1
        said: Kind = next((k for k in KINDS if k == named.kind.lower()), OTHER)
        kind = self._kind or said
        if len(self.outlines) >= MOST_PARTS:
            raise ExchangeError(f"{where}: more than {MOST_PARTS} outlines; keep to the side view")
        known = named.count.isdecimal() and named.count.isascii() and 1 <= int(named.count[:9]) <= MOST_COUNT
        stance: Stance | None = "joined" if named.stance == "joined" else None
        stance = "clear" if named.stance == "clear" else stance
        outline_id = fresh_id(self._ids, named.stem or named.label or kind, self._taken)
        self._taken.append(outline_id)
        if not known:
            self._uncounted.append(outline_id)
        self.outlines.append(Outline(
            outline_id, kind, nodes, label=named.label[:200], count=int(named.count) if known else 1,
            stance=stance if self._kind is None else None,
        ))
        return True

    def done(self) -> Imported:
        """All that was gathered; UnseenError where all of it is switched off, ExchangeError where there
        is no outline.
        """
        if not self.outlines:
            if self.unseen:
                raise UnseenError("all outlines in it are switched off or frozen; switch them on there, or "
                                  "give --hidden")
            raise ExchangeError(
                f"found no closed outline ({self.notes[0]})" if self.notes else
                "found no closed outline; turn what is to be read into closed paths"
            )
        notes = []
        if self.opened:
            notes.append(f"{paths_were(self.opened, 'open path')} closed by a straight edge; check them")
        if self.without_area:
            notes.append(f"{paths_were(self.without_area)} left out for having no area")
        notes += self.notes
        more = len(notes) - _MOST_NOTES
        if more > 0:
            notes[_MOST_NOTES:] = [f"{more} more remarks of the kind are left out"]
        return Imported(
            tuple(self.outlines), tuple(notes), tuple(self._uncounted), self.ours, self.unseen
        )
