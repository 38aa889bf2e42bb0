"""What was entered at the bench: linkages, weighings, where plumb lines crossed and the pin stands."""

from __future__ import annotations

from typing import Literal

from core.design_fields import FilePart, Grams, Length, Mark, QuarterTurn

Moves = Literal["rudder", "elevator", "aileron", "other"]
MOVES: tuple[Moves, ...] = ("rudder", "elevator", "aileron", "other")


class Linkage(FilePart, frozen=True):
    """What moves a control surface: servo arm, bell crank where there is one, horn.

    Arms and horn in mm from their pivots to the holes in use; ``surface_chord`` from the hinge line
    to the trailing edge where the throw is measured. ``horn_set_back``: how far the horn's holes lie
    aft of the hinge line. ``pull_pull``: a pair of wires, one to each side.
    """

    id: str
    servo_arm: Length
    horn: Length
    surface_chord: Length
    label: str = ""
    moves: Moves = "rudder"
    servo_travel_deg: QuarterTurn = 45.0
    crank_in: Length | None = None
    crank_out: Length | None = None
    horn_set_back: float = 0.0
    pull_pull: bool = False

    @property
    def name(self) -> str:
        """What the builder calls it: its label, or its id where it has none."""
        return self.label or self.id


class ScaleReading(FilePart, frozen=True):
    """What a scale under one support of the aeroplane reads, and the station of that support."""

    grams: Grams
    x: float


class Weighing(FilePart, frozen=True):
    """One weighing while the aeroplane grows: what it was then, and what each scale read."""

    id: str
    supports: tuple[ScaleReading, ...] = ()
    label: str = ""


class Bench(FilePart, frozen=True):
    """What was entered at the bench: linkages, weighings, and where the card copy's plumb lines crossed.

    ``crossing`` in mm of the design, whatever the scale of the card. ``pin``: where the pin stands that
    strings are measured from; None: where the setting-up sheet puts it.
    """

    linkages: tuple[Linkage, ...] = ()
    weighings: tuple[Weighing, ...] = ()
    crossing: Mark | None = None
    pin: Mark | None = None
