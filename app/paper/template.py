"""Templates: what is drawn full size to cut from, and how it is laid over sheets of paper.

``plan_template`` settles everything that does not need a painter; pages are painted from the plan
by ``app.paper.template_page``, the preview in the window by ``app.side.template_view``.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from app.paper.ink import one_line
from app.paper.pages import PaperSize, date_words
from app.paper.template_labels import Placed, place_labels
from app.paper.template_pieces import Drawing, Extent, draw_up, extent_of
from core.bench.bridges import Blank, with_bridges
from core.bench.from_wing import cg_from_wing_words
from core.bench.tiling import Tiling, TilingError, tile_over
from core.bench.turning import fewest
from core.design import Alternative, Design
from core.redesign.alternatives import same_state, state_of
from core.redesign.outline_edits import EditError
from core.stability.readings import NO_SCALE, scale_known
from core.units import UnitError, format_fine, parse_number

LineEdge = Literal["outer", "inner", "middle"]
"""Which edge of the drawn line is the true outline."""
LINE_EDGES: tuple[LineEdge, ...] = ("outer", "inner", "middle")

PEN = 0.4
MARGIN, OVERLAP = 8.0, 10.0
LEAST_SCALE, MOST_SCALE = 0.02, 20.0
LEAST_ROLL, MOST_ROLL = 180.0, 1600.0
MOST_OVERLAP, MOST_MARGIN = 60.0, 40.0
MOST_TURN = 180.0
_LONGEST_ROLL = 5000.0
"""A PDF page may be 14 400 points, 5080 mm, long (ISO 32000-1, annex C)."""
_LEAST_WIDE = 210.0
_NARROW, _ONE_LINE = 240.0, 360.0
_STRIP_NARROW, _STRIP_WIDE, _STRIP_ONE_LINE = 29.8, 24.8, 19.8
STRIP_PITCH = 2.7
_GAP = 1.5


class TemplateError(EditError):
    """No template can be made; ``str`` is one sentence for the person.

    ``in_design``: the design is at fault, not what was asked of it.
    """

    def __init__(self, sentence: str, *, in_design: bool = False) -> None:
        super().__init__(sentence)
        self.in_design = in_design


@dataclass(frozen=True)
class TemplateChoice:
    """What the builder asks for. Lengths in mm of paper; ``scale`` is mm of paper per mm.

    ``outlines``: ids, none for the whole side view. ``roll``: the width of a roll, in place of
    ``paper``. ``landscape`` None: whichever way takes fewer sheets; a roll always runs along the
    aeroplane. ``beside``: the id of the alternative that is dashed beneath. ``line``: which edge of
    the drawn line is true. ``turn``: degrees anticlockwise by which the drawing is turned, None for what
    takes fewest sheets. ``blank``: which sheets with nothing to cut are printed.
    """

    paper: PaperSize
    outlines: tuple[str, ...] = ()
    roll: float | None = None
    landscape: bool | None = None
    scale: float = 1.0
    overlap: float = OVERLAP
    margin: float = MARGIN
    mirror: bool = False
    beside: str | None = None
    line: LineEdge = "outer"
    turn: float | None = None
    blank: Blank = "needed"


@dataclass(frozen=True, eq=False)
class TemplatePlan:
    """A template ready to be painted: page ``width`` × ``height`` mm, its tiles, what is drawn."""

    choice: TemplateChoice
    width: float
    height: float
    strip: float
    drawing: Drawing
    tiling: Tiling
    labels: tuple[Placed, ...]
    title: str
    state: str
    beside: str
    day: str
    notes: tuple[str, ...]
    turn: float
    cg_words: str

    @property
    def window(self) -> tuple[float, float, float, float]:
        """(left, top, width, height) of the drawing's window on every page, in mm of paper."""
        return self.choice.margin, self.choice.margin, self.tiling.wide, self.tiling.tall

    @property
    def landscape(self) -> bool:
        """Whether the pages lie down."""
        return self.width > self.height

    @property
    def wide_strip(self) -> bool:
        """Whether the strip at the foot has the room of a wide page."""
        return self.width - 2 * self.choice.margin >= _NARROW

    @property
    def has_map_page(self) -> bool:
        """Whether a page with the map of the tiles comes first: the strip's own is too small for many."""
        return len(self.tiling.tiles) > 6

    @property
    def pages(self) -> int:
        """How many sheets of paper it takes."""
        return len(self.tiling.tiles) + self.has_map_page

    @property
    def pieces_words(self) -> str:
        """The outlines by name, those of a pair with how often to cut them."""
        if self.choice.outlines == () and len(self.drawing.pieces) > 3:
            return "the whole side view"
        names = [
            one_line(p.name[:80]) + (f" ({cut_words(p.count)})" if p.count > 1 else "")
            for p in self.drawing.pieces
        ]
        return ", ".join(names) if len(names) <= 6 else f"{len(names)} outlines"


def cut_words(count: int) -> str:
    """What stands on a piece that is there more than once: "cut 2"."""
    return f"cut {count}"


def scale_words(scale: float) -> str:
    """ "full size", "1:2" or "2:1"."""
    if abs(scale - 1.0) < 1e-9:
        return "full size"
    return f"scale 1:{1 / scale:.6g}" if scale < 1.0 else f"scale {scale:.6g}:1"


def line_words(line: LineEdge) -> str:
    """Which edge of the line is true, and how to cut."""
    where = {
        "outer": "drawn inside: its outer edge is the true outline; cut there, the line stays on the piece",
        "inner": "drawn outside: its inner edge is the true outline; cut there, the line away",
        "middle": "its middle is the true outline; cut along the middle",
    }[line]
    return f"The line is {PEN:.1f} mm wide, {where}."


def plan_template(design: Design, choice: TemplateChoice, today: datetime.date) -> TemplatePlan:
    """Lay the chosen outlines over sheets. TemplateError where that cannot be done."""
    if not scale_known(design):
        raise TemplateError(NO_SCALE, in_design=True)
    _check(choice)
    beside: Alternative | None = None
    if choice.beside is not None:
        known = [a for a in design.alternatives if a.id == choice.beside]
        if not known:
            raise TemplateError(
                f"no alternative “{one_line(choice.beside[:80])}” is kept in this design: choose one of it"
            )
        beside = known[0]
    if not design.outlines:
        raise TemplateError("no outline is traced yet: trace one first", in_design=True)
    ids = [o.id for o in design.outlines]
    for wanted in choice.outlines:
        if wanted not in ids:
            raise TemplateError(
                f"no outline “{one_line(wanted[:80])}” is in this design: choose among {', '.join(ids[:20])}"
            )
    chosen = tuple(o for o in design.outlines if not choice.outlines or o.id in choice.outlines)
    before = state_of(design, choice.beside) if beside is not None else None
    extent = extent_of(design, chosen, before, scale=choice.scale, mirror=choice.mirror)
    if not extent.regions:
        raise TemplateError(
            "the chosen outlines have no area: trace them again, or choose others", in_design=True
        )
    cg_words = one_line(cg_from_wing_words(design)[:200])
    turn, page, tiling = _laid(extent, choice, more_lines=bool(cg_words) + (len(extent.regions) > 1))
    drawing = draw_up(design, chosen, before, scale=choice.scale, mirror=choice.mirror, turn=turn)
    state = next((a.label or a.id for a in design.alternatives if same_state(design, a)), "as it is now")
    plan = TemplatePlan(
        choice, page.width, page.height, page.strip, drawing, tiling, (),
        one_line(design.title[:300]) or "Untitled", one_line(state),
        one_line((beside.label or beside.id)[:200]) if beside is not None else "",
        date_words(today), _notes(design, drawing, choice, turn, extent), turn, cg_words,
    )
    return _with_labels(plan)


def _with_labels(plan: TemplatePlan) -> TemplatePlan:
    small = (plan.title, f"{plan.state}, {scale_words(plan.choice.scale)}", plan.day)
    heads = {}
    for piece in plan.drawing.pieces:
        said = [cut_words(piece.count)] if piece.count > 1 else []
        said += ["mirrored"] if plan.choice.mirror else []
        heads[piece.id] = one_line(piece.name[:80]), " · ".join(said)
    return replace(plan, labels=place_labels(plan.drawing, plan.tiling, heads, small))


def _check(choice: TemplateChoice) -> None:
    if not LEAST_SCALE <= choice.scale <= MOST_SCALE:
        raise TemplateError(
            f"a scale must lie between 1:{1 / LEAST_SCALE:g} and {MOST_SCALE:g}:1: choose another"
        )
    if not 0.0 <= choice.overlap <= MOST_OVERLAP:
        raise TemplateError(f"the overlap must lie between 0 and {MOST_OVERLAP:g} mm: choose another")
    if not 0.0 <= choice.margin <= MOST_MARGIN:
        raise TemplateError(f"the printer's margin must lie between 0 and {MOST_MARGIN:g} mm: choose another")
    if choice.turn is not None and not -MOST_TURN <= choice.turn <= MOST_TURN:
        raise TemplateError(f"a turn must lie between −{MOST_TURN:g}° and {MOST_TURN:g}°: choose another")
    if choice.roll is not None and not LEAST_ROLL <= choice.roll <= MOST_ROLL:
        raise TemplateError(
            f"the roll must be {LEAST_ROLL:g} to {MOST_ROLL:g} mm wide: give its width in mm, such as 610"
        )


@dataclass(frozen=True)
class _Page:
    """A sheet of paper, the height of the strip at its foot, and the drawing's window on it, mm."""

    width: float
    height: float
    strip: float
    window: tuple[float, float]


def _page(choice: TemplateChoice, width: float, height: float, more_lines: int) -> _Page:
    inner = width - 2 * choice.margin
    strip = _STRIP_WIDE if inner < _ONE_LINE else _STRIP_ONE_LINE
    if inner < _NARROW:
        strip = _STRIP_NARROW + more_lines * STRIP_PITCH
    tall = height - 2 * choice.margin - strip - _GAP
    if inner < 150.0 or tall < 60.0:
        raise TemplateError("this paper is too small for a template: choose larger paper or a smaller margin")
    return _Page(width, height, strip, (inner, tall))


def _laid(extent: Extent, choice: TemplateChoice, *, more_lines: int) -> tuple[float, _Page, Tiling]:
    """(degrees turned, the page, the tiling): of all that may be chosen what takes the fewest sheets."""

    def over(turned: Extent, page: _Page) -> Tiling:
        tiling = tile_over(turned.strokes, *page.window, choice.overlap, reach=PEN)
        return with_bridges(tiling, turned.regions, turned.lines, choice.blank)

    try:
        if choice.roll is not None:
            turns = (0.0, 90.0) if choice.turn is None else (choice.turn,)
            rolled = []
            for turn in turns:
                turned = extent.turned(turn)
                page = _page(choice, _roll_length(turned, choice), choice.roll, more_lines)
                rolled.append((turn, page, over(turned, page)))
            return min(rolled, key=lambda found: len(found[2].tiles))
        low, high = sorted((choice.paper.width, choice.paper.height))
        ways = (False, True) if choice.landscape is None else (choice.landscape,)
        sizes = [(high, low) if landscape else (low, high) for landscape in ways]
        pages = [_page(choice, *size, more_lines) for size in sizes]
        if choice.turn is not None:
            turned = extent.turned(choice.turn)
            tilings = [over(turned, page) for page in pages]
            which = min(range(len(pages)), key=lambda i: len(tilings[i].tiles))
            return choice.turn, pages[which], tilings[which]
        turn, which, tiling = fewest(
            extent.strokes, [page.window for page in pages], PEN,
            lambda degrees, at: over(extent.turned(degrees), pages[at]),
        )
    except TilingError as error:
        raise TemplateError(str(error)) from None
    return turn, pages[which], tiling


def _roll_length(extent: Extent, choice: TemplateChoice) -> float:
    """As much of the roll as the drawing is long, in equal pages where it is too long for one."""
    every = np.concatenate(extent.strokes)
    needed = float(np.ptp(every[:, 0])) + 2 * PEN + 6.0
    most = _LONGEST_ROLL - 2 * choice.margin
    pages = 1
    while (needed - choice.overlap) / pages + choice.overlap > most:
        pages += 1
    each = (needed - choice.overlap) / pages + choice.overlap
    return max(_LEAST_WIDE, each + 2 * choice.margin)


def turn_words(turn: float) -> str:
    """How the drawing is turned: "turned 34° anticlockwise", empty where it is not."""
    if turn == 0.0:
        return ""
    return f"turned {abs(turn):g}° {'anticlockwise' if turn > 0.0 else 'clockwise'}"


def _notes(
    design: Design, drawing: Drawing, choice: TemplateChoice, turn: float, extent: Extent
) -> tuple[str, ...]:
    """What the person should know before printing; ``extent`` as it is before any turn."""
    found = []
    if drawing.without_area:
        found.append(f"left out, without any area: {_names(drawing.without_area)}")
    if choice.beside is not None and drawing.not_kept:
        found.append(f"not in the alternative: {_names(drawing.not_kept)}")
    if any(scan.scale_from == "dpi" for scan in design.scans):
        found.append("the scan's scale is its own dpi: check one length of the plan before cutting")
    if turn != 0.0:
        fewer = " so that it takes fewer sheets" if choice.turn is None else ""
        found.append(f"{turn_words(turn)}{fewer}; grain, datum and level lines are turned along")
    every = np.concatenate(extent.strokes)
    wide, tall = (format_fine(float(side), design.display_units) for side in np.ptp(every, axis=0))
    found.append(f"all of it measures {wide} by {tall}")
    return tuple(found)


def _names(names: tuple[str, ...]) -> str:
    return ", ".join(one_line(name[:60]) for name in names[:12])


def parse_scale(text: str) -> float:
    """mm of paper per mm from "1", "1:2", "0.5", "50 %" or "full size". UnitError says what is wrong."""
    words = " ".join(text.split()).lower()
    if words in ("full size", "full"):
        return 1.0
    what = "Scale"
    if words.endswith("%"):
        return parse_number(words[:-1], low=100 * LEAST_SCALE, high=100 * MOST_SCALE, what=what) / 100
    top, colon, bottom = words.partition(":")
    if not colon:
        return parse_number(top, low=LEAST_SCALE, high=MOST_SCALE, what=what)
    of = parse_number(bottom, low=1e-3, high=1e3, what=what)
    value = parse_number(top, low=1e-3, high=1e3, what=what) / of
    if not LEAST_SCALE <= value <= MOST_SCALE:
        raise UnitError(f"{what}: give one between 1:{1 / LEAST_SCALE:g} and {MOST_SCALE:g}:1.")
    return value
