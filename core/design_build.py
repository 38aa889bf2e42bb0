"""How a surface is made: the sizes that its parts are drawn and weighed by.

All sizes in mm. What a way of building does not use is left out, and asked by nobody.
"""

from __future__ import annotations

from typing import Annotated, Literal

from core.design_fields import LIMIT, FilePart, Length, Range, Share

BuildWay = Literal["sheet", "frame", "ribbed"]
BUILD_WAYS: tuple[BuildWay, ...] = ("sheet", "frame", "ribbed")
Form = Literal["flat", "symmetric"]
FORMS: tuple[Form, ...] = ("flat", "symmetric")
Density = Annotated[float, Range(1, 25_000, " kg/m3")]


class Thickness(FilePart, frozen=True):
    """How thick a surface is at root and tip, straight between; ``flat``, or ``symmetric``: a section."""

    root: Length
    tip: Length
    form: Form = "symmetric"


class Ribs(FilePart, frozen=True):
    """Ribs across the span: one ``every`` so many mm, or ``at`` these distances from the root.

    ``holes`` lighten them; ``halves``: split on the middle plane, for a surface built in two halves.
    In a frame they are sticks, ``thick`` wide as the frame is seen, and ``halves`` means nothing.
    """

    every: Length | None = 40.0
    at: tuple[Length, ...] | None = None
    thick: Length = 2.4
    material: str = "balsa-medium"
    holes: bool = True
    halves: bool = True


class Strip(FilePart, frozen=True):
    """A leading or trailing edge: ``wide`` along the chord, ``deep`` across it (None: as the section is)."""

    wide: Length
    deep: Length | None = None
    material: str = "balsa-medium"


class Spar(FilePart, frozen=True):
    """A spar along a part of the chord: two caps (wide along the chord, deep across it) and a web between.

    In a frame one stick, ``cap[0]`` wide. ``web`` None: no web.
    """

    chord_fraction: Share
    cap: tuple[Length, Length]
    web: Length | None = None
    material: str = "spruce"


class Skin(FilePart, frozen=True):
    """Sheet over both sides; of a surface cut from solid sheet its wood."""

    thick: Length = 1.6
    material: str = "balsa-light"


class Build(FilePart, frozen=True):
    """How the surfaces ``of`` (ids of outlines, or of one tailplane) are made into parts.

    ``glue``: its weight as a share of the wood's. ``hinge_gap``: between fin and rudder. ``hinge``: how the
    moving part's leading edge makes room for the throw. ``tab``: the root goes on into the body, down
    to its centre line, or between the ``formers`` at these stations. ``holes`` lighten solid sheet;
    ``diagonals`` brace a frame.
    """

    id: str
    of: tuple[str, ...]
    way: BuildWay = "sheet"
    thickness: Thickness = Thickness(6.0, 6.0, "flat")
    ribs: Ribs | None = None
    leading_edge: Strip | None = None
    trailing_edge: Strip | None = None
    spars: tuple[Spar, ...] = ()
    skin: Skin | None = None
    covering_g_m2: Annotated[float, Range(0, 10_000, " g/m2")] | None = None
    glue: Share = 0.08
    hinge_gap: Length = 0.5
    hinge: Literal["bevel", "round"] = "bevel"
    tab: bool = True
    formers: tuple[Annotated[float, Range(-LIMIT, LIMIT, " mm")], ...] = ()
    holes: bool = False
    diagonals: bool = True
    label: str = ""

    @property
    def materials(self) -> tuple[tuple[str, str], ...]:
        """(place in the build, id) of every material that it names."""
        parts = (
            ("ribs", self.ribs), ("leading_edge", self.leading_edge), ("trailing_edge", self.trailing_edge),
            *((f"spars[{i}]", spar) for i, spar in enumerate(self.spars)), ("skin", self.skin),
        )
        return tuple((f"{where}.material", part.material) for where, part in parts if part is not None)


class Material(FilePart, frozen=True):
    """A material of the builder's own, or the density of a sheet that was weighed."""

    id: str
    label: str
    kg_m3: Density

    @property
    def name(self) -> str:
        """What the builder calls it."""
        return self.label or self.id
