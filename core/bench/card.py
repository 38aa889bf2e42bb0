"""The card copy: which pieces it is cut from, how often, at what scale and where on the sheets.

The pieces follow the counting rule (DEVELOPERS.md): the silhouette once; of each region that is counted
n times, n layers glued on in its place. So the glued card balances at the CLA (exact, for card and
glue that are even). Everything is in mm of the design until it is scaled.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.bench.nesting import CELL, Laid, Room, lay_out
from core.design import Design, Outline
from core.geometry.overlay import OverlayError, common, union, without
from core.geometry.regions import NO_MOMENTS, Moments, moments_of
from core.geometry.ring import Array
from core.stability.side_area import form_of, silhouette, surface_patch

GAP = 3.0
"""mm of paper between two pieces: room for the knife (our own choice)."""
SMALLEST = 0.8
"""mm of card: what is narrower everywhere cannot be cut, and is left out (our own choice)."""
SLIT = 0.3
"""mm of card: a gap narrower than this is not cut open (our own choice)."""
STRIP = 3.0
"""mm of paper: width of a strip that joins a piece which stands off (our own choice)."""
_STEPS = (1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0, 6.0, 7.0, 8.0)
_WORTH = 1.5
LEAST_RATIO, MOST_RATIO = 0.01, 10_000.0
MOST_CELLS = 8_000
"""Of the floor that a tiled card is laid on, either way: 12 m of paper (our own choice)."""

Reserve = Callable[["CardPiece", float], BaseGeometry]
"""What a copy of a piece at a ratio takes of the paper, mm of paper, in its own place: label included."""


@dataclass(frozen=True, eq=False)
class CardPiece:
    """One piece to cut: its region in its place, in mm of the design, and how many layers of it."""

    number: int
    """1 is the silhouette."""
    name: str
    region: BaseGeometry
    layers: int
    moments: Moments
    """Of one layer."""

    @property
    def counted(self) -> Moments:
        """Of all layers."""
        return NO_MOMENTS.plus(self.moments, self.layers)


@dataclass(frozen=True, eq=False)
class Card:
    """The pieces of a card copy. ``crumbs``: what is too small to be cut at the scale, with its layers."""

    pieces: tuple[CardPiece, ...]
    crumbs: tuple[CardPiece, ...] = ()

    @property
    def body(self) -> CardPiece:
        """The silhouette, on which all others are glued."""
        return self.pieces[0]

    @property
    def glued(self) -> tuple[CardPiece, ...]:
        """All but the silhouette."""
        return self.pieces[1:]

    @property
    def moments(self) -> Moments:
        """Of the whole card, every layer counted."""
        total = NO_MOMENTS
        for piece in self.pieces:
            total = total.plus(piece.counted)
        return total

    @property
    def balance(self) -> tuple[float, float] | None:
        """Where the card balances, (x, z) in mm of the design; None without area."""
        return self.moments.centroid()

    def at(self, ratio: float) -> Card:
        """The card without what cannot be cut at 1 : ``ratio``; numbered anew."""
        kept: list[CardPiece] = [self.body]
        crumbs = list(self.crumbs)
        for piece in self.glued:
            thin = shapely.buffer(piece.region, -0.5 * SMALLEST * ratio).is_empty
            (crumbs if thin else kept).append(piece)
        if len(kept) == len(self.pieces):
            return self
        return Card(tuple(_numbered(kept)), tuple(crumbs))


def _numbered(pieces: Sequence[CardPiece]) -> list[CardPiece]:
    return [
        CardPiece(number, p.name, p.region, p.layers, p.moments) for number, p in enumerate(pieces, 1)
    ]


def card_of(design: Design) -> Card | str:
    """The pieces of a design's card copy, the largest first after the silhouette; or why there are none.

    Outlines of one count that meet make one piece, as they are counted; what falls apart makes several.
    """
    try:
        return _card_of(design)
    except OverlayError as error:
        return str(error)


def _card_of(design: Design) -> Card | str:
    body = silhouette(design)
    if body.is_empty or not body.area > 0.0:
        return "trace the fuselage: the card needs a silhouette to glue the rest on"
    found = [CardPiece(1, "Silhouette", body, 1, moments_of(body))]
    for count in sorted({o.count for o in design.outlines}):
        here: list[tuple[Outline, BaseGeometry]] = []
        for outline in design.outlines:
            if outline.count != count or (outline.standing == "joined" and count == 1):
                continue
            region = form_of(outline).patch.region
            here.append((outline, without(region, body) if outline.standing == "joined" else region))
        found += _pieces(here, count)
    for surface in design.surfaces:
        if surface.in_side_area:
            region = surface_patch(surface).region
            if region.area > 0.0:
                found.append(CardPiece(0, surface.name, region, 2, moments_of(region)))
    glued = sorted(found[1:], key=lambda p: -p.moments.area)
    return Card(tuple(_numbered([found[0], *glued])))


def _pieces(here: Sequence[tuple[Outline, BaseGeometry]], count: int) -> list[CardPiece]:
    """The parts of the region counted ``count`` times, each named for the outlines it shows."""
    parts = [p for p in shapely.get_parts(union(r for _, r in here)) if p.area > 0.0]
    names = []
    for part in parts:
        shown = [(o.name, common(r, part).area) for o, r in here if r.intersects(part)]
        names.append(" + ".join(name for name, area in shown if area > 1e-9) or here[0][0].name)
    made = []
    for at, (part, name) in enumerate(zip(parts, names, strict=True)):
        if names.count(name) > 1:
            name = f"{name}, part {names[: at + 1].count(name)}"
        made.append(CardPiece(0, name, part, count, moments_of(part)))
    return made


def cut_shape(piece: CardPiece, ratio: float) -> BaseGeometry:
    """The piece as it is cut, in mm of the design: without slits and holes that no knife could follow.

    Gaps narrower than SLIT on the card, as between two outlines traced side by side, are closed.
    """
    reach = 0.5 * SLIT * ratio
    grown = shapely.buffer(piece.region, reach, join_style="mitre")
    return shapely.buffer(grown, -reach, join_style="mitre")


def strip_for(card: Card, piece: CardPiece, ratio: float) -> BaseGeometry | None:
    """The strip that joins a piece to what is there before it, in mm of the design.

    None where it lies on that well enough to be glued. STRIP wide on the card, and reaching over either
    side of the joint by about as much.
    """
    base = union(p.region for p in card.pieces if p.number < piece.number)
    over = common(piece.region, base)
    if over.area >= 0.25 * piece.region.area or not shapely.buffer(over, -STRIP * ratio).is_empty:
        return None
    # What comes within a strip's width of the rest is as good as touching it.
    shared = common(piece.region, shapely.buffer(base, STRIP * ratio))
    centre = piece.region.centroid
    if shared.is_empty:
        start, end = shapely.get_coordinates(shapely.shortest_line(piece.region, base))
        middle, way = 0.5 * (start + end), end - start
    else:
        # A long seam is bridged where it is nearest to the piece's middle, a short one in its own.
        low_x, low_z, high_x, high_z = shared.bounds
        long_seam = max(high_x - low_x, high_z - low_z) > 5.0 * STRIP * ratio
        nearest = shapely.get_coordinates(shapely.shortest_line(centre, shared))[-1]
        middle = nearest if long_seam else shapely.get_coordinates(shapely.centroid(shared))[0]
        way = middle - shapely.get_coordinates(centre)[0]
    long = float(np.hypot(*way))
    unit = way / long if long > 1e-9 else np.array((0.0, 1.0))
    reach = (0.5 * shapely.distance(piece.region, base) + 2.0 * STRIP * ratio) * unit
    line = shapely.LineString((middle - reach, middle + reach))
    return shapely.buffer(line, 0.5 * STRIP * ratio, cap_style="flat")


@dataclass(frozen=True, eq=False)
class Copy:
    """One copy of a piece on the sheets: the ``layer``-th of its layers, from 1."""

    piece: CardPiece
    layer: int
    laid: Laid


@dataclass(frozen=True, eq=False)
class CardPlan:
    """The card copy on its sheets. ``ratio``: mm of the design to the mm of card."""

    card: Card
    ratio: float
    copies: tuple[Copy, ...]
    sheets: int

    def points(self, copy: Copy, points: Array) -> Array:
        """Points (M, 2) of the design in mm of the room of the copy's sheet, up from its lower left."""
        return copy.laid.points(points / self.ratio)

    def shape(self, copy: Copy, region: BaseGeometry) -> BaseGeometry:
        """A region of the design on the copy's sheet, likewise."""
        return shapely.transform(region, lambda p: self.points(copy, p))


def neat_ratios(least: float) -> list[float]:
    """The neat n of scales 1 : n from ``least`` up, the largest card first, down to about a tenth of it."""
    power = 10.0 ** math.floor(math.log10(max(least, 1e-9)))
    return [s * ten for ten in (power, 10 * power) for s in _STEPS if s * ten >= least * (1 - 1e-9)]


def plan_card(
    card: Card, room: Callable[[int], Room], reserve: Reserve, ratio: float | None = None, *,
    neat: bool = True, stop: Callable[[], None] = lambda: None,
) -> CardPlan | str:
    """The card on as few sheets as it takes; ``ratio`` None finds the scale that fits.

    It is the largest at which all lies on one sheet, to within one in a hundred (a neat one where ``neat``
    is true); several sheets are taken only where one sheet would cost more than a third of the size.
    ``stop`` is called between attempts and may raise.
    """
    if ratio is not None:
        if not LEAST_RATIO <= ratio <= MOST_RATIO:
            return "give a scale from 1:0.01 to 1:10000"
        return _planned(card.at(ratio), room, reserve, ratio, 40) or _too_large(card, room, ratio)
    low_x, low_z, high_x, high_z = union(p.region for p in card.pieces).bounds
    wide, tall = room(0)
    if not (wide > 0.0 and tall > 0.0):
        return "the paper is too small for a card copy: choose a larger one"
    least = max((high_x - low_x) / wide, (high_z - low_z) / tall, LEAST_RATIO)
    ratios = neat_ratios(least) if neat else [_rounded(least * 1.05**k) for k in range(60)]
    spread: CardPlan | None = None
    for at, n in enumerate(ratios):
        stop()
        if n > MOST_RATIO or (spread is not None and n > _WORTH * spread.ratio * (1 + 1e-9)):
            break
        planned = _planned(card.at(n), room, reserve, n, 40 if spread is None else 1)
        if planned is not None and planned.sheets == 1:
            larger = ratios[at - 1] if at and not neat else n
            return _refined(card, room, reserve, planned, larger, stop)
        spread = spread or planned
    return spread or "it does not fit on this paper: choose a larger one"


def _refined(
    card: Card, room: Callable[[int], Room], reserve: Reserve, planned: CardPlan, larger: float,
    stop: Callable[[], None],
) -> CardPlan:
    """On one sheet, as large as it goes between a scale that is too large and that of ``planned``."""
    low, best = larger, planned
    while best.ratio > 1.01 * low:
        stop()
        n = _rounded(math.sqrt(low * best.ratio))
        found = _planned(card.at(n), room, reserve, n, 1)
        if found is None:
            low = n
        elif n < best.ratio:
            best = found
        else:
            break
    return best


def _rounded(ratio: float) -> float:
    """Up to three figures, so that it can be typed again."""
    step = 10.0 ** (math.floor(math.log10(ratio)) - 2)
    return round(math.ceil(ratio / step - 1e-9) * step, 6)


def plan_on_one(card: Card, wide: float, reserve: Reserve, ratio: float) -> tuple[CardPlan, Room] | str:
    """(the card on one sheet at least ``wide`` mm, to be cut into smaller ones; its size), or why not."""
    if not LEAST_RATIO <= ratio <= MOST_RATIO:
        return "give a scale from 1:0.01 to 1:10000"
    at = card.at(ratio)
    boxes = {p.number: reserve(p, ratio).bounds for p in at.pieces}
    spans = {n: (b[2] - b[0], b[3] - b[1]) for n, b in boxes.items()}
    room = max(wide, max(s[0] for s in spans.values())) + CELL, sum(
        at_piece.layers * (spans[at_piece.number][1] + GAP + CELL) for at_piece in at.pieces
    ) + CELL
    if max(room) / CELL > MOST_CELLS:
        return f"at 1:{ratio:.4g} the card is too large to be laid out: choose a smaller scale"
    plan = _planned(at, lambda _: room, reserve, ratio, 1)
    return "it could not be laid out: choose a smaller scale" if plan is None else (plan, room)


def _planned(
    card: Card, room: Callable[[int], Room], reserve: Reserve, ratio: float, most_sheets: int
) -> CardPlan | None:
    todo = [(piece, layer) for piece in card.pieces for layer in range(1, piece.layers + 1)]
    shapes = {piece.number: reserve(piece, ratio) for piece in card.pieces}
    laid = lay_out([shapes[p.number] for p, _ in todo], room, GAP, most_sheets=most_sheets, upright=1)
    if laid is None:
        return None
    copies = tuple(Copy(p, layer, where) for (p, layer), where in zip(todo, laid, strict=True))
    return CardPlan(card, ratio, copies, 1 + max(c.laid.sheet for c in copies))


def _too_large(card: Card, room: Callable[[int], Room], ratio: float) -> str:
    low_x, low_z, high_x, high_z = union(p.region for p in card.pieces).bounds
    wide, tall = room(0)
    least = max((high_x - low_x) / wide, (high_z - low_z) / tall, LEAST_RATIO)
    better = next((n for n in neat_ratios(least) if n > ratio), 2 * ratio)
    return (
        f"at 1:{ratio:.4g} a piece is larger than the paper: choose 1:{better:.4g} or smaller, "
        "or larger paper"
    )
