"""The design: one aeroplane as the builder has it now.

Everything is frozen: an edit is a function from one design to the next, and what did not change
is shared between the two, which makes undo cheap and lets results be kept by identity.

Lengths in millimetres, masses in grams, angles in degrees. x runs aft from the datum, z up, y to
starboard. ``core.design_check.problems`` says what is wrong with a design's values.
"""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from core.design_bench import Bench as Bench
from core.design_build import Build as Build
from core.design_build import Material as Material
from core.design_fields import LIMIT as LIMIT
from core.design_fields import LIMIT_WORDS as LIMIT_WORDS
from core.design_fields import MOST_COUNT as MOST_COUNT
from core.design_fields import MOST_PAGES as MOST_PAGES
from core.design_fields import MOST_PARTS as MOST_PARTS
from core.design_fields import MOST_TEXT as MOST_TEXT
from core.design_fields import MOST_THICKENED as MOST_THICKENED
from core.design_fields import Angle, FilePart, Fraction, Grams, Length, QuarterTurn, Share
from core.design_fields import Mark as Mark
from core.design_fields import Range as Range
from core.design_fields import Vector as Vector
from core.design_fields import range_of as range_of
from core.design_fields import starting_value as starting_value
from core.kinds import ALWAYS_CLEAR, TABLE, VERTICAL_TAIL, Kind

Stance = Literal["joined", "clear"]
DisplayUnits = Literal["mm", "in", "in64"]
ScaleFrom = Literal["points", "dpi", "none"]
Matrix = tuple[tuple[float, float, float], tuple[float, float, float], tuple[float, float, float]]

LeftOut = Literal["wing", "tailplane", "rudder", "propeller"]

FORMAT = 1
"""What ``Design.format`` is in memory, and in every file that needs nothing newer."""
class Node(FilePart, frozen=True):
    """A corner of an outline; ``handle_in`` and ``handle_out`` are offsets from it in mm."""

    x: float
    z: float
    handle_in: Vector | None = msgspec.field(default=None, name="in")
    handle_out: Vector | None = msgspec.field(default=None, name="out")


class Outline(FilePart, frozen=True):
    """A closed traced edge. ``stance`` None means the default of its kind and count."""

    id: str
    kind: Kind
    nodes: tuple[Node, ...]
    label: str = ""
    count: Annotated[int, Range(1, MOST_COUNT, whole=True)] = 1
    stance: Stance | None = None
    locked: bool = False
    hidden: bool = False
    grams_per_dm2: Annotated[float, Range(0, LIMIT, " g/dm2")] | None = None
    apart: Length | None = None
    """Of a count of two: how far the middles of the two stand from each other, across the aeroplane."""

    @property
    def name(self) -> str:
        """What the builder calls it: its label, or its id where it has none."""
        return self.label or self.id

    @property
    def standing(self) -> Stance:
        """The stance in force, the default of the counting rule filled in."""
        return self.stance or default_stance(self.kind, self.count)


def default_stance(kind: Kind, count: int) -> Stance:
    """Stance of an outline that names none (counting rule in ``DEVELOPERS.md``)."""
    if kind in ALWAYS_CLEAR or (kind in VERTICAL_TAIL and count >= 2):
        return "clear"
    return "joined"


class Tone(FilePart, frozen=True):
    """How a scan is shown, its file untouched: the paper's shading levelled, light lines on dark
    turned dark on light, faint lines thickened by so many pixels each way.
    """

    level: bool = False
    invert: bool = False
    thicken: Annotated[int, Range(0, MOST_THICKENED, whole=True)] = 0


class Lens(FilePart, frozen=True):
    """The radial bend of a photograph: straight, its pixel p lies at c + (p − c)(1 + k r²/R²).

    c = (``u``, ``v``), r = |p − c|, R = ``radius``, in pixels; beyond R the map goes straight on.
    """

    k: Annotated[float, Range(-0.25, 0.25)]
    u: float
    v: float
    radius: Annotated[float, Range(1, LIMIT, " pixels")]


class Scan(FilePart, frozen=True):
    """A picture of a paper plan. ``to_mm`` maps (u right, v down, 1) in pixels to (x, z, 1) in mm.

    Pixels with the ``lens`` taken out, where there is one: ``core.scan_map`` goes both ways.
    ``residual_mm``: how far what was known of it lay off when it was straightened, root mean square.
    ``scale_from`` tells where the scale comes from: two ``points`` and a typed distance, the
    picture's own ``dpi`` (a plan drawn full size is assumed), or ``none``: lengths mean nothing yet.
    ``photograph``: it looks like one, and was neither straightened nor declared flat.
    """

    id: str
    file: str
    page: Annotated[int, Range(0, MOST_PAGES - 1, whole=True)] = 0
    to_mm: Matrix = ((0.254, 0.0, 0.0), (0.0, -0.254, 0.0), (0.0, 0.0, 1.0))
    opacity: Share = 0.6
    locked: bool = True
    hidden: bool = False
    scale_from: ScaleFrom = "points"
    tone: Tone = Tone()
    photograph: bool = False
    lens: Lens | None = None
    residual_mm: Length | None = None


class Station(FilePart, frozen=True):
    """One chord of a wing or tailplane: leading edge at (le_x, y, z), ``chord`` aft of it."""

    y: float
    le_x: float
    chord: Length
    z: float = 0.0


class Section(FilePart, frozen=True):
    """A wing section: thickness, camber and the place of greatest camber, as parts of the chord."""

    thickness: Share = 0.12
    camber: Annotated[float, Range(-0.5, 0.5)] = 0.0
    camber_at: Share = 0.4


class Wing(FilePart, frozen=True):
    """A lifting surface given by the stations of its starboard half."""

    id: str
    stations: tuple[Station, ...]
    label: str = ""
    incidence_deg: Angle = 0.0
    section: Section = Section()
    in_side_area: bool = True

    @property
    def name(self) -> str:
        """What the builder calls it: its label, or its id where it has none."""
        return self.label or self.id


class Tailplane(FilePart, frozen=True):
    """The horizontal tail, given like a wing."""

    id: str
    stations: tuple[Station, ...]
    label: str = ""
    incidence_deg: Angle = 0.0
    section: Section = Section()
    elevator_chord_fraction: Share = 0.35
    in_side_area: bool = True

    @property
    def name(self) -> str:
        """What the builder calls it: its label, or its id where it has none."""
        return self.label or self.id


class Weight(FilePart, frozen=True):
    """Something that weighs, at a point."""

    id: str
    grams: Grams
    x: float
    y: float = 0.0
    z: float = 0.0
    label: str = ""

    @property
    def name(self) -> str:
        """What the builder calls it: its label, or its id where it has none."""
        return self.label or self.id


class Aim(FilePart, frozen=True):
    """The CLA fraction the builder wants, its limits, and where the tail arm ends."""

    cla_fraction: Fraction = 0.25
    low: Fraction = 0.22
    high: Fraction = 0.28
    fin_centre: Literal["centroid", "quarter_chord"] = "centroid"


class Propeller(FilePart, frozen=True):
    """The propeller: its diameter in mm and the station of its disc."""

    diameter: Length
    x: float


class Flight(FilePart, frozen=True):
    """The flight condition that the speed-dependent readings are for; ``propeller`` None: not entered."""

    speed_m_s: Annotated[float, Range(0, 400, " m/s")] = 12.0
    air_density_kg_m3: Annotated[float, Range(0, 10, " kg/m3")] = 1.225
    rudder_throw_deg: QuarterTurn = 25.0
    propeller: Propeller | None = None


class Sure(FilePart, frozen=True):
    """How well the builder works, one standard deviation in mm: tracing, and finding the CG.

    Both starting values are common practice, no source.
    """

    tracing_mm: Annotated[float, Range(0, 100, " mm")] = 0.5
    cg_mm: Annotated[float, Range(0, 1000, " mm")] = 3.0


class State(FilePart, frozen=True, kw_only=True):
    """What the aeroplane is: what a kept state holds and taking it back restores.

    ``left_out``: what the builder has said is not there or not counted. ``guessed``: places such as
    ``tailplanes[0].stations[0].z`` whose value the program put and nobody has confirmed.
    ``counts_seen``: ids of outlines whose count of one the builder has looked at. ``builds``: how
    surfaces are made, ``materials`` what the builder has beyond what everybody can get.
    """

    outlines: tuple[Outline, ...] = ()
    wings: tuple[Wing, ...] = ()
    tailplanes: tuple[Tailplane, ...] = ()
    cg_mark: Mark | None = None
    weights: tuple[Weight, ...] = ()
    cg_from: Literal["mark", "weights"] = "mark"
    fuselage_width: Length | None = None
    aim: Aim = Aim()
    flight: Flight = Flight()
    left_out: tuple[LeftOut, ...] = ()
    guessed: tuple[str, ...] = ()
    counts_seen: tuple[str, ...] = ()
    builds: tuple[Build, ...] = ()
    materials: tuple[Material, ...] = ()

    @property
    def surfaces(self) -> tuple[Wing | Tailplane, ...]:
        """Wings and tailplanes, in that order."""
        return (*self.wings, *self.tailplanes)


STATE: tuple[str, ...] = tuple(field.name for field in msgspec.structs.fields(State))
"""The fields of a state, in the order of the file."""


class Alternative(State, frozen=True):
    """A kept state of the design, to compare with and to take back."""

    id: str
    label: str = ""


class Design(State, frozen=True):
    """One aeroplane: its state, the scans it was traced from, kept states, what was entered at the bench."""

    format: int
    title: str
    notes: str = ""
    display_units: DisplayUnits = "mm"
    scans: tuple[Scan, ...] = ()
    alternatives: tuple[Alternative, ...] = ()
    bench: Bench = Bench()
    sure: Sure = Sure()

    @property
    def format_needed(self) -> int:
        """The lowest format that can hold this design."""
        return max((
            TABLE[part.kind].since if name == "kind" and isinstance(part, Outline)
            else SINCE[type(part)][name]
            for part, name in self.newer_parts()
        ), default=FORMAT)

    def newer_parts(self) -> list[tuple[FilePart, str]]:
        """(part, field) of everything in use that format 1 does not know."""
        states: tuple[State, ...] = (self, *self.alternatives)
        outlines = tuple(outline for state in states for outline in state.outlines)
        parts: tuple[FilePart, ...] = (
            *states, *self.scans, *outlines, *(state.flight for state in states), self.bench,
        )
        fields = [
            (part, name) for part in parts for name in SINCE[type(part)]
            if getattr(part, name) != starting_value(type(part), name)
        ]
        return [*fields, *((o, "kind") for o in outlines if TABLE[o.kind].since > FORMAT)]

    def outline(self, outline_id: str) -> Outline:
        """The outline of that id; KeyError where there is none."""
        for outline in self.outlines:
            if outline.id == outline_id:
                return outline
        raise KeyError(outline_id)

    def scan(self, scan_id: str) -> Scan:
        """The scan of that id; KeyError where there is none."""
        for scan in self.scans:
            if scan.id == scan_id:
                return scan
        raise KeyError(scan_id)


_STATE_SINCE = {"left_out": 3, "guessed": 3, "counts_seen": 3, "builds": 5, "materials": 5}
SINCE: dict[type[FilePart], dict[str, int]] = {
    Scan: {"tone": 2, "photograph": 3, "lens": 4, "residual_mm": 4},
    Outline: {"apart": 4},
    Flight: {"propeller": 4},
    Bench: {"pin": 5},
    Alternative: _STATE_SINCE,
    Design: {"bench": 2, "sure": 3, **_STATE_SINCE},
}
"""Fields that format 1 does not know, and the format that each came with.

A file says the lowest format that knows what it uses, so that older versions open what they can.
"""
NEWEST_FORMAT = max(
    *(number for fields in SINCE.values() for number in fields.values()),
    *(row.since for row in TABLE.values()),
)


EMPTY = Design(format=FORMAT, title="Untitled")
