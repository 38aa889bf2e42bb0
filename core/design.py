"""The design: one aeroplane as the builder has it now.

Everything is frozen: an edit is a function from one design to the next, and what did not change
is shared between the two, which makes undo cheap and lets results be kept by identity.

Lengths in millimetres, masses in grams, angles in degrees. x runs aft from the datum, z up, y to
starboard. ``core.design_check.problems`` says what is wrong with a design's values.
"""

from __future__ import annotations

from typing import Literal

import msgspec

Kind = Literal[
    "fuselage", "canopy", "fin", "rudder", "ventral fin", "pylon", "nacelle", "wing", "tailplane",
    "gear leg", "wheel", "float", "strut", "tip plate", "other",
]
KINDS: tuple[Kind, ...] = (
    "fuselage", "canopy", "fin", "rudder", "ventral fin", "pylon", "nacelle", "wing", "tailplane",
    "gear leg", "wheel", "float", "strut", "tip plate", "other",
)
Moves = Literal["rudder", "elevator", "aileron", "other"]
MOVES: tuple[Moves, ...] = ("rudder", "elevator", "aileron", "other")
Stance = Literal["joined", "clear"]
DisplayUnits = Literal["mm", "in", "in64"]
ScaleFrom = Literal["points", "dpi", "none"]
Matrix = tuple[tuple[float, float, float], tuple[float, float, float], tuple[float, float, float]]
Vector = tuple[float, float]

FORMAT = 1
"""What ``Design.format`` is in memory, and in every file that needs nothing newer."""
NEWEST_FORMAT = 2
"""Format 2 adds ``scans[].tone`` and ``bench``; a file says 2 only where it uses them."""
LIMIT = 1_000_000.0
MOST_COUNT = 8
ALWAYS_CLEAR: frozenset[str] = frozenset({"wing", "tailplane", "wheel", "float", "tip plate"})
VERTICAL_TAIL: frozenset[str] = frozenset({"fin", "rudder"})


class _Part(msgspec.Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True, weakref=True):
    """Common ground of everything that stands in a design file."""


class Node(_Part, frozen=True):
    """A corner of an outline; ``handle_in`` and ``handle_out`` are offsets from it in mm."""

    x: float
    z: float
    handle_in: Vector | None = msgspec.field(default=None, name="in")
    handle_out: Vector | None = msgspec.field(default=None, name="out")


class Outline(_Part, frozen=True):
    """A closed traced edge. ``stance`` None means the default of its kind and count."""

    id: str
    kind: Kind
    nodes: tuple[Node, ...]
    label: str = ""
    count: int = 1
    stance: Stance | None = None
    locked: bool = False
    hidden: bool = False
    grams_per_dm2: float | None = None

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


class Tone(_Part, frozen=True):
    """How a scan is shown, its file untouched: the paper's shading levelled, light lines on dark
    turned dark on light, faint lines thickened by so many pixels each way.
    """

    level: bool = False
    invert: bool = False
    thicken: int = 0


class Scan(_Part, frozen=True):
    """A picture of a paper plan. ``to_mm`` maps (u right, v down, 1) in pixels to (x, z, 1) in mm.

    ``scale_from`` tells where the scale comes from: two ``points`` and a typed distance, the
    picture's own ``dpi`` (a plan drawn full size is assumed), or ``none``: lengths mean nothing yet.
    """

    id: str
    file: str
    page: int = 0
    to_mm: Matrix = ((0.254, 0.0, 0.0), (0.0, -0.254, 0.0), (0.0, 0.0, 1.0))
    opacity: float = 0.6
    locked: bool = True
    hidden: bool = False
    scale_from: ScaleFrom = "points"
    tone: Tone = Tone()


class Station(_Part, frozen=True):
    """One chord of a wing or tailplane: leading edge at (le_x, y, z), ``chord`` aft of it."""

    y: float
    le_x: float
    chord: float
    z: float = 0.0


class Section(_Part, frozen=True):
    """A wing section: thickness, camber and the place of greatest camber, as parts of the chord."""

    thickness: float = 0.12
    camber: float = 0.0
    camber_at: float = 0.4


class Wing(_Part, frozen=True):
    """A lifting surface given by the stations of its starboard half."""

    id: str
    stations: tuple[Station, ...]
    label: str = ""
    incidence_deg: float = 0.0
    section: Section = Section()
    in_side_area: bool = True

    @property
    def name(self) -> str:
        """What the builder calls it: its label, or its id where it has none."""
        return self.label or self.id


class Tailplane(_Part, frozen=True):
    """The horizontal tail, given like a wing."""

    id: str
    stations: tuple[Station, ...]
    label: str = ""
    incidence_deg: float = 0.0
    section: Section = Section()
    elevator_chord_fraction: float = 0.35
    in_side_area: bool = True

    @property
    def name(self) -> str:
        """What the builder calls it: its label, or its id where it has none."""
        return self.label or self.id


class Mark(_Part, frozen=True):
    """A point of the side view, in mm."""

    x: float
    z: float = 0.0


class Weight(_Part, frozen=True):
    """Something that weighs, at a point."""

    id: str
    grams: float
    x: float
    y: float = 0.0
    z: float = 0.0
    label: str = ""

    @property
    def name(self) -> str:
        """What the builder calls it: its label, or its id where it has none."""
        return self.label or self.id


class Aim(_Part, frozen=True):
    """The CLA fraction the builder wants, its limits, and where the tail arm ends."""

    cla_fraction: float = 0.25
    low: float = 0.22
    high: float = 0.28
    fin_centre: Literal["centroid", "quarter_chord"] = "centroid"


class Flight(_Part, frozen=True):
    """The flight condition that the speed-dependent readings are for."""

    speed_m_s: float = 12.0
    air_density_kg_m3: float = 1.225
    rudder_throw_deg: float = 25.0


class Linkage(_Part, frozen=True):
    """What moves a control surface: servo arm, bell crank where there is one, horn.

    Arms and horn in mm from their pivots to the holes in use; ``surface_chord`` from the hinge line
    to the trailing edge where the throw is measured. ``horn_set_back``: how far the horn's holes lie
    aft of the hinge line. ``pull_pull``: a pair of wires, one to each side.
    """

    id: str
    servo_arm: float
    horn: float
    surface_chord: float
    label: str = ""
    moves: Moves = "rudder"
    servo_travel_deg: float = 45.0
    crank_in: float | None = None
    crank_out: float | None = None
    horn_set_back: float = 0.0
    pull_pull: bool = False

    @property
    def name(self) -> str:
        """What the builder calls it: its label, or its id where it has none."""
        return self.label or self.id


class ScaleReading(_Part, frozen=True):
    """What a scale under one support of the aeroplane reads, and the station of that support."""

    grams: float
    x: float


class Weighing(_Part, frozen=True):
    """One weighing while the aeroplane grows: what it was then, and what each scale read."""

    id: str
    supports: tuple[ScaleReading, ...] = ()
    label: str = ""


class Bench(_Part, frozen=True):
    """What was entered at the bench: linkages, weighings, and where the card copy's plumb lines crossed.

    ``crossing`` in mm of the design, whatever the scale of the card.
    """

    linkages: tuple[Linkage, ...] = ()
    weighings: tuple[Weighing, ...] = ()
    crossing: Mark | None = None


class Alternative(_Part, frozen=True):
    """A kept state of the design, to compare with and to take back."""

    id: str
    label: str = ""
    outlines: tuple[Outline, ...] = ()
    wings: tuple[Wing, ...] = ()
    tailplanes: tuple[Tailplane, ...] = ()
    cg_mark: Mark | None = None
    weights: tuple[Weight, ...] = ()
    cg_from: Literal["mark", "weights"] = "mark"
    fuselage_width: float | None = None
    aim: Aim = Aim()
    flight: Flight = Flight()


class Design(_Part, frozen=True):
    """One aeroplane: outlines, scans, surfaces, weights, aim."""

    format: int
    title: str
    notes: str = ""
    display_units: DisplayUnits = "mm"
    scans: tuple[Scan, ...] = ()
    outlines: tuple[Outline, ...] = ()
    wings: tuple[Wing, ...] = ()
    tailplanes: tuple[Tailplane, ...] = ()
    cg_mark: Mark | None = None
    weights: tuple[Weight, ...] = ()
    cg_from: Literal["mark", "weights"] = "mark"
    fuselage_width: float | None = None
    aim: Aim = Aim()
    flight: Flight = Flight()
    alternatives: tuple[Alternative, ...] = ()
    bench: Bench = Bench()

    @property
    def format_needed(self) -> int:
        """The lowest format that can hold this design."""
        newer = self.bench != Bench() or any(scan.tone != Tone() for scan in self.scans)
        return NEWEST_FORMAT if newer else FORMAT

    @property
    def surfaces(self) -> tuple[Wing | Tailplane, ...]:
        """Wings and tailplanes, in that order."""
        return (*self.wings, *self.tailplanes)

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


EMPTY = Design(format=FORMAT, title="Untitled")
