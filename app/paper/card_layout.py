"""The card copy set on paper: rooms, labels and marks in mm, before anything is painted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from PySide6.QtCore import QRectF
from shapely.geometry.base import BaseGeometry

from app.paper.card_arm import arm_of
from app.paper.frame import ratio_words
from app.paper.ink import one_line
from app.paper.pages import PaperSize
from app.paper.placing import Room
from core.bench.card import (
    LEAST_RATIO,
    MOST_RATIO,
    Card,
    CardPiece,
    CardPlan,
    card_of,
    plan_card,
    plan_on_one,
    strip_for,
)
from core.bench.hanging import PIN_MARGIN, Hanging, PlumbLine, card_pins
from core.bench.tiling import Tiling, TilingError, tile_over
from core.design import Design
from core.geometry.overlay import common, lines_in, union
from core.geometry.regions import rings_of
from core.stability.readings import Readings
from core.units import parse_number

MARGIN, HEAD, BAND, FOOT = 10.0, 11.0, 51.5, 10.5
"""mm: edge of the paper, title, words under the first sheet, check bar under the others."""
LABEL, LABEL_TALL = 6.5, 3.4
"""Points, and mm of paper."""
_PER_LETTER = 0.53 * LABEL * 25.4 / 72
OVERLAP = 8.0
"""mm that neighbouring sheets of a tiled card share (our own choice)."""


@dataclass(frozen=True, eq=False)
class CardSheets:
    """Everything that is painted; ``wide`` × ``tall`` mm of paper, lying down."""

    design: Design
    readings: Readings
    paper: PaperSize
    plan: CardPlan
    hanging: Hanging | str
    labels: dict[int, tuple[float, float, float] | None]
    """By piece: middle x, middle y and width of its label, mm of paper in the piece's own place; None: no
    room for one."""
    tiling: Tiling | None = None
    """Where the pieces run over several sheets: how these cover the floor that they are laid on."""
    floor: tuple[float, float] = (0.0, 0.0)
    """Its width and height, mm."""

    @property
    def count(self) -> int:
        """How many sheets: with the one of words before those that pieces run over."""
        return self.plan.sheets if self.tiling is None else 1 + len(self.tiling.tiles)

    @property
    def wide(self) -> float:
        """The longer side of the paper."""
        return self.paper.height

    @property
    def tall(self) -> float:
        """The shorter side."""
        return self.paper.width

    @property
    def ratio(self) -> float:
        """mm of the design to the mm of card."""
        return self.plan.ratio

    @property
    def lines(self) -> tuple[PlumbLine, ...]:
        """The plumb lines, in mm of the design; none where no pins could be found."""
        return () if isinstance(self.hanging, str) else self.hanging.lines

    @property
    def scale_words(self) -> str:
        """ "1:4", or why there is none."""
        return ratio_words(self.ratio) if self.readings.scale_known else "no scale set"

    def room(self, sheet: int) -> QRectF:
        """Where pieces lie on a sheet, mm from the paper's upper left corner."""
        wide, tall = room_of(self.paper, sheet)
        return QRectF(MARGIN, MARGIN + HEAD, wide, tall)


def room_of(paper: PaperSize, sheet: int) -> tuple[float, float]:
    """Width and height in mm of what pieces may lie on."""
    words = BAND if sheet == 0 else FOOT
    return paper.height - 2 * MARGIN, paper.width - 2 * MARGIN - HEAD - words


def label_words(piece: CardPiece, layer: int) -> str:
    """What stands on a copy of a piece."""
    name = one_line(piece.name)[:60]
    return f"{piece.number}  {name}" + (f"  ·  layer {layer} of {piece.layers}" if piece.layers > 1 else "")


def nose_of(card: Card) -> tuple[float, float]:
    """The foremost point of the silhouette, mm of the design: what the crossing is measured from."""
    corners = shapely.get_coordinates(card.body.region)
    front = corners[corners[:, 0] <= corners[:, 0].min() + 1e-6]
    return float(front[0, 0]), float(0.5 * (front[:, 1].min() + front[:, 1].max()))


def lay_card(
    design: Design, readings: Readings, paper: PaperSize, ratio: float | None = None, *,
    tiled: bool = False, stop: Callable[[], None] = lambda: None,
) -> CardSheets | str:
    """The card copy on its sheets, at 1 : ``ratio`` or, None, at what fits; or the reason why not.

    ``tiled``: pieces run over several sheets, full size where no ratio is given. ``stop`` is called now
    and then, and may raise.
    """
    card = card_of(design)
    if isinstance(card, str):
        return card
    fitter = _Fitter(design, readings, card)
    if tiled:
        return _tiled(fitter, design, readings, paper, card, 1.0 if ratio is None else ratio)
    plan = plan_card(
        card, lambda sheet: room_of(paper, sheet), fitter.reserve, ratio, neat=False, stop=stop,
    )
    if isinstance(plan, str):
        return plan
    labels = {piece.number: fitter.label(piece, plan.ratio) for piece in plan.card.pieces}
    return CardSheets(design, readings, paper, plan, fitter.hanging(plan.ratio), labels)


def _tiled(
    fitter: _Fitter, design: Design, readings: Readings, paper: PaperSize, card: Card, ratio: float
) -> CardSheets | str:
    """The pieces on one floor, and the sheets that cover it."""
    wide, tall = room_of(paper, 1)
    found = plan_on_one(card, wide, fitter.reserve, ratio)
    if isinstance(found, str):
        return found
    plan, floor = found
    strokes = []
    for copy in plan.copies:
        taken = copy.laid.move(fitter.reserve(copy.piece, ratio))
        strokes += [ring for ring, _ in rings_of(taken)]
        low_x, low_y, high_x, high_y = taken.bounds
        # What lies wholly within a piece is paper to cut out as well.
        for y in np.arange(low_y + 0.3 * tall, high_y, 0.3 * tall):
            across = lines_in(shapely.LineString(((low_x - 1, y), (high_x + 1, y))), taken)
            strokes += [shapely.get_coordinates(line) for line in shapely.get_parts(across)]
    try:
        tiling = tile_over(strokes, wide, tall, OVERLAP)
    except TilingError as error:
        return str(error)
    labels = {piece.number: fitter.label(piece, ratio) for piece in plan.card.pieces}
    return CardSheets(design, readings, paper, plan, fitter.hanging(ratio), labels, tiling, floor)


def _under(region: BaseGeometry, wide: float) -> tuple[float, float]:
    """The middle of a label right under the piece, where that reaches up highest; mm of paper."""
    low_x, low_y, high_x, high_y = region.bounds
    middle = 0.5 * (low_x + high_x)
    if high_x - low_x <= wide:
        return middle, low_y - 0.8 - 0.5 * LABEL_TALL
    found = []
    for x in np.linspace(low_x + 0.5 * wide, high_x - 0.5 * wide, 15):
        column = shapely.box(x - 0.5 * wide, low_y - 1.0, x + 0.5 * wide, high_y + 1.0)
        above = common(region, column)
        if not above.is_empty:
            found.append((round(above.bounds[1], 1), -abs(float(x) - middle), float(x)))
    height, _, x = max(found)
    return x, height - 0.8 - 0.5 * LABEL_TALL


class _Fitter:
    """What each piece takes of the paper, with its label and, about the silhouette, the places of all."""

    def __init__(self, design: Design, readings: Readings, card: Card) -> None:
        self._design, self._readings, self._card = design, readings, card
        self._hangings: dict[float, Hanging | str] = {}
        self._labels: dict[tuple[str, int, float], tuple[float, float, float] | None] = {}

    def hanging(self, ratio: float) -> Hanging | str:
        """The pins, the margin as it is on the card."""
        if self._readings.untold is not None:
            return self._readings.untold
        if ratio not in self._hangings:
            self._hangings[ratio] = card_pins(self._design, self._readings.side, PIN_MARGIN * ratio)
        return self._hangings[ratio]

    def label(self, piece: CardPiece, ratio: float) -> tuple[float, float, float] | None:
        """Inside the piece where it fits, else under it; of the silhouette inside or not at all."""
        key = (piece.name, piece.number, ratio)
        if key not in self._labels:
            self._labels[key] = self._find_label(piece, ratio)
        return self._labels[key]

    def _find_label(self, piece: CardPiece, ratio: float) -> tuple[float, float, float] | None:
        region = shapely.transform(piece.region, lambda p: p / ratio)
        wide = min(len(label_words(piece, piece.layers)) * _PER_LETTER, 70.0)
        drawn = self._drawn(piece, ratio)
        low_x, low_y, high_x, high_y = region.bounds
        box = QRectF(low_x, low_y, high_x - low_x, high_y - low_y)
        place = Room(box, drawn, region).inside(shapely.buffer(region, -0.4), wide + 1.0, LABEL_TALL)
        if place is not None:
            return place.rect.center().x(), place.rect.center().y(), wide
        if piece.number == 1:
            return None
        return (*_under(region, wide), wide)

    def _drawn(self, piece: CardPiece, ratio: float) -> BaseGeometry:
        """Lines and signs that a label keeps off, in mm of paper in their own place."""
        kept: list[BaseGeometry] = []
        hanging = self.hanging(ratio)
        if not isinstance(hanging, str):
            for line in hanging.lines:
                ends = np.array((line.pin, line.end)) / ratio
                kept.append(shapely.buffer(shapely.LineString(ends), 0.6))
                kept.append(shapely.Point(ends[0]).buffer(4.5))
        for sign in (self._readings.cla, self._readings.cg and (self._readings.cg.x, self._readings.cg.z)):
            if sign:
                kept.append(shapely.Point(np.array(sign) / ratio).buffer(6.0))
        arm = arm_of(self._design, self._readings)
        if arm is not None:
            kept += [shapely.transform(s.buffer(0.8 * ratio), lambda p: p / ratio) for s in arm.shapes(ratio)]
        if piece.number == 1:
            nose = nose_of(self._card)[1] / ratio
            low_x, _, high_x, _ = np.array(piece.region.bounds) / ratio
            kept.append(shapely.box(low_x, nose - 0.6, high_x, nose + 0.6))
            for other in self._card.glued:
                edge = shapely.transform(other.region, lambda p: p / ratio)
                kept += [shapely.buffer(edge.boundary, 0.5), edge.representative_point().buffer(3.5)]
        return union(kept)

    def reserve(self, piece: CardPiece, ratio: float) -> BaseGeometry:
        """Of the paper: the piece, its label, and about the silhouette the places, strips and lines."""
        shapes = [piece.region]
        if piece.number == 1:
            card = self._card.at(ratio)
            shapes += [p.region for p in card.glued]
            shapes += [s for p in card.glued if (s := strip_for(card, p, ratio)) is not None]
            hanging = self.hanging(ratio)
            if not isinstance(hanging, str):
                ends = [shapely.LineString((line.pin, line.end)) for line in hanging.lines]
                shapes += [shapely.buffer(line, 0.3 * ratio) for line in ends]
                shapes.append(shapely.Point(hanging.cla).buffer(4.0 * ratio))
            arm = arm_of(self._design, self._readings)
            if arm is not None:
                shapes += [s.buffer(0.5 * ratio) for s in arm.shapes(ratio)]
        whole = shapely.transform(union(shapes), lambda p: p / ratio)
        label = self.label(piece, ratio)
        if label is not None:
            x, y, wide = label
            half = 0.5 * LABEL_TALL
            whole = union((whole, shapely.box(x - wide / 2, y - half, x + wide / 2, y + half)))
        return whole


def ratio_of(text: str) -> float | None:
    """The n of 1 : n; None for "fit" and for nothing. UnitError says what is wrong."""
    words = " ".join(text.split()).casefold()
    if words in ("", "fit", "fit the paper"):
        return None
    first, colon, second = words.partition(":")
    if not colon:
        return parse_number(words, low=LEAST_RATIO, high=MOST_RATIO, what="Scale, the n of 1:n")
    paper = parse_number(first, low=1.0, high=1.0 / LEAST_RATIO, what="Scale, before the colon")
    return parse_number(second, low=LEAST_RATIO, high=MOST_RATIO, what="Scale, after the colon") / paper
