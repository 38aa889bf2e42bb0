"""Edits of wings and tailplanes: by the builder's measures, panel by panel, station by station.

Each returns a new surface. Stations are taken outwards from the centreline, whatever the
order in which a file holds them, and are kept in that order from the first edit on. Lengths in mm,
angles in degrees, parts of a chord as fractions.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Literal, TypeVar

from msgspec.structs import replace

from core.design import LIMIT, Station, Tailplane, Wing
from core.redesign.outline_edits import EditError

Surface = Wing | Tailplane
S = TypeVar("S", Wing, Tailplane)
Measure = Literal[
    "span", "root_chord", "tip_chord", "tip_offset", "sweep_deg", "tip_rise", "dihedral_deg",
    "root_x", "root_z", "incidence_deg", "thickness", "camber", "camber_at", "elevator",
]
PanelMeasure = Literal["span", "tip_chord", "offset", "dihedral_deg"]
StationMeasure = Literal["y", "le_x", "chord", "z"]

STEEPEST = 80.0
MOST_THICKNESS = 0.5
MOST_CAMBER = 0.2
_SECTION: dict[str, tuple[str, float, float]] = {
    "thickness": ("section thickness", 0.0, MOST_THICKNESS),
    "camber": ("section camber", -MOST_CAMBER, MOST_CAMBER),
    "camber_at": ("place of greatest camber", 0.0, 1.0),
}


@dataclass(frozen=True)
class Panel:
    """What lies between two neighbouring stations, as it is measured on the bench; mm and degrees."""

    span: float
    tip_chord: float
    offset: float
    """How far the leading edge lies aft at the panel's tip against its root."""
    rise: float

    @property
    def dihedral_deg(self) -> float | None:
        """atan(rise / span); None for a panel without span."""
        return math.degrees(math.atan2(self.rise, self.span)) if self.span > 0 else None


def noun(surface: Surface) -> str:
    """What the trade calls it: "wing" or "tailplane"."""
    return "wing" if isinstance(surface, Wing) else "tailplane"


def stations_of(surface: Surface) -> tuple[Station, ...]:
    """Its stations from the centreline outwards."""
    return tuple(sorted(surface.stations, key=lambda s: s.y))


# The builder's measures


def measure(surface: Surface, key: Measure) -> float | None:
    """A measure as the builder takes it; None where the stations do not give it.

    ``span`` runs from tip to tip; ``tip_offset`` is how far aft the tip's leading edge lies of the
    root's, ``tip_rise`` how far above. ``sweep_deg`` is the angle of the straight line from the
    root's quarter chord to the tip's, ``dihedral_deg`` that from root to tip, whatever the stations
    between them do; the mean sweep and effective dihedral are in ``core.stability.surfaces``.
    ``thickness``, ``camber``, ``camber_at`` and ``elevator`` are parts of the chord. Exact.
    """
    if key == "incidence_deg":
        return surface.incidence_deg
    if key in _SECTION:
        return float(getattr(surface.section, key))
    if key == "elevator":
        return surface.elevator_chord_fraction if isinstance(surface, Tailplane) else None
    stations = stations_of(surface)
    if len(stations) < 2:
        return None
    root, tip = stations[0], stations[-1]
    run = tip.y - root.y
    quarter = tip.le_x - root.le_x + 0.25 * (tip.chord - root.chord)
    flat: dict[str, float] = {
        "span": 2.0 * tip.y, "root_chord": root.chord, "tip_chord": tip.chord,
        "tip_offset": tip.le_x - root.le_x, "tip_rise": tip.z - root.z,
        "root_x": root.le_x, "root_z": root.z,
    }
    if key in flat:
        return flat[key]
    if not run > 0:
        return None
    return math.degrees(math.atan2(quarter if key == "sweep_deg" else tip.z - root.z, run))


def set_measure(surface: S, key: Measure, value: float) -> S:
    """The surface with one of the builder's measures set; what ``measure`` then reads is ``value``.

    On a surface of many stations the whole is changed alike, so that its shape is kept. With t
    running from 0 at the root to 1 at the tip along y:

    - ``span`` scales every y; chords, leading edges and heights stay, so the angles follow.
    - ``root_chord`` and ``tip_chord`` add to the chords what is wanted at that end, running straight
      along t to nothing at the other: a straight taper stays straight. Leading edges stay.
    - ``tip_offset`` and ``sweep_deg`` shear the leading edges, ``tip_rise`` and ``dihedral_deg`` the
      heights: a straight addition along t. The root stays.
    - ``root_x`` and ``root_z`` carry the whole surface.

    Whatever was set can be set back. EditError for a span or root chord not above 0, a negative tip
    chord, a station in between left without one, an angle past ±80°, a section out of reach, or a
    surface that has no such measure.
    """
    what = noun(surface)
    if not math.isfinite(value):
        raise EditError(f"the {what} needs a number here: type one")
    if key == "incidence_deg":
        _angle(f"incidence of the {what}", value)
        return replace(surface, incidence_deg=value)
    if key in _SECTION:
        words, low, high = _SECTION[key]
        _part(f"{words} of the {what}", value, low, high)
        section: Any = replace(surface.section, **{key: value})
        return replace(surface, section=section)
    if key == "elevator":
        if not isinstance(surface, Tailplane):
            raise EditError("a wing has no elevator: enter it on the tailplane")
        _part("elevator's part of the chord", value, 0.0, 1.0)
        return replace(surface, elevator_chord_fraction=value)
    stations = stations_of(surface)
    if len(stations) < 2:
        raise EditError(f"the {what} has fewer than two stations: add a station first")
    if key == "span":
        return _with(surface, _spanned(stations, value, what))
    if key in ("root_x", "root_z"):
        dx = value - stations[0].le_x if key == "root_x" else 0.0
        dz = value - stations[0].z if key == "root_z" else 0.0
        return _with(surface, [replace(s, le_x=s.le_x + dx, z=s.z + dz) for s in stations])
    return _with(surface, _shaped(stations, key, value, what))


def _spanned(stations: tuple[Station, ...], value: float, what: str) -> list[Station]:
    if not value > 0:
        raise EditError(f"the span of the {what} must be more than nothing: measure it from tip to tip")
    tip = stations[-1].y
    if tip > 0:
        made = [replace(s, y=s.y * (0.5 * value / tip)) for s in stations[:-1]]
        return [*made, replace(stations[-1], y=0.5 * value)]
    last = len(stations) - 1
    return [replace(s, y=0.5 * value * i / last) for i, s in enumerate(stations)]


def _shaped(stations: tuple[Station, ...], key: str, value: float, what: str) -> list[Station]:
    root, tip = stations[0], stations[-1]
    run = tip.y - root.y
    if not run > 0:
        if len(stations) > 2 or key in ("sweep_deg", "dihedral_deg"):
            raise EditError(f"the {what} has no span: give it one first")
        along = [0.0, 1.0]
    else:
        along = [(s.y - root.y) / run for s in stations]
    if key in ("root_chord", "tip_chord"):
        at_root = key == "root_chord"
        if at_root and not value > 0:
            raise EditError(f"the root chord of the {what} must be more than nothing: measure it again")
        if value < 0:
            raise EditError(f"the tip chord of the {what} cannot be negative: give 0 for a pointed tip")
        end = root if at_root else tip
        share = [1.0 - t if at_root else t for t in along]
        more = value - end.chord
        grown = [s.chord + more * k for s, k in zip(stations, share, strict=True)]
        for i, chord in enumerate(grown[1:-1], start=2):
            if not chord > 0:
                raise EditError(
                    f"station {i} of the {what} would be left without a chord: type its own chord first"
                )
        grown[0 if at_root else -1] = value
        return [replace(s, chord=c) for s, c in zip(stations, grown, strict=True)]
    if key in ("sweep_deg", "dihedral_deg"):
        _angle(("sweep" if key == "sweep_deg" else "dihedral") + f" of the {what}", value)
        value = run * math.tan(math.radians(value))
        if key == "sweep_deg":
            value -= 0.25 * (tip.chord - root.chord)
    if key in ("sweep_deg", "tip_offset"):
        more = value - (tip.le_x - root.le_x)
        return [replace(s, le_x=s.le_x + more * t) for s, t in zip(stations, along, strict=True)]
    more = value - (tip.z - root.z)
    return [replace(s, z=s.z + more * t) for s, t in zip(stations, along, strict=True)]


# Panel by panel


def panels_of(surface: Surface) -> tuple[Panel, ...]:
    """The panels of one half from the root outwards: one fewer than there are stations."""
    stations = stations_of(surface)
    return tuple(
        Panel(b.y - a.y, b.chord, b.le_x - a.le_x, b.z - a.z)
        for a, b in pairwise(stations)
    )


def set_panel(surface: S, index: int, key: PanelMeasure, value: float) -> S:
    """One measure of one panel set, its other measures and those of all other panels kept.

    What lies further out is carried along. A changed span keeps the panel's dihedral angle, not its
    rise. EditError for a span not above 0, a chord that only a tip may have, an angle past ±80°.
    """
    stations, panels = stations_of(surface), panels_of(surface)
    panel, where = panels[index], f"panel {index + 1} of the {noun(surface)}"
    if not math.isfinite(value):
        raise EditError(f"{where} needs a number here: type one")
    if key == "span":
        if not value > 0:
            raise EditError(f"the span of {where} must be more than nothing: delete its station instead")
        rise = panel.rise / panel.span * value if panel.span > 0 else panel.rise
        changed = Panel(value, panel.tip_chord, panel.offset, rise)
    elif key == "tip_chord":
        _chord(f"the tip chord of {where}", value, index == len(panels) - 1)
        changed = Panel(panel.span, value, panel.offset, panel.rise)
    elif key == "offset":
        changed = Panel(panel.span, panel.tip_chord, value, panel.rise)
    else:
        _angle(f"dihedral of {where}", value)
        if not panel.span > 0:
            raise EditError(f"{where} has no span: give it one first")
        changed = Panel(
            panel.span, panel.tip_chord, panel.offset, panel.span * math.tan(math.radians(value))
        )
    dy, dx, dz = changed.span - panel.span, changed.offset - panel.offset, changed.rise - panel.rise
    made = list(stations[: index + 1])
    made += [replace(s, y=s.y + dy, le_x=s.le_x + dx, z=s.z + dz) for s in stations[index + 1 :]]
    made[index + 1] = replace(made[index + 1], chord=changed.tip_chord)
    return _with(surface, made)


# Station by station


def set_station(surface: S, index: int, key: StationMeasure, value: float) -> S:
    """One number of one station set, everything else kept. EditError where it cannot stand there."""
    stations = list(stations_of(surface))
    where, last = f"station {index + 1} of the {noun(surface)}", len(stations) - 1
    if not math.isfinite(value):
        raise EditError(f"{where} needs a number here: type one")
    if key == "chord":
        _chord(f"the chord of {where}", value, index == last)
    if key == "y":
        if value < 0:
            raise EditError(f"{where} cannot lie at a negative y: one half is given, from the centreline out")
        inner = stations[index - 1].y if index else 0.0
        if value < inner or (index < last and value > stations[index + 1].y):
            raise EditError(f"{where} would change places with its neighbour: keep it between them")
        if index == last and index and not value > stations[0].y:
            raise EditError(f"{where} would leave no span: put it further out than the root")
    changed: Any = {key: value}
    stations[index] = replace(stations[index], **changed)
    return _with(surface, stations)


def insert_station(surface: S, index: int) -> S:
    """One more station outboard of station ``index``.

    Inside it stands half way to the next one, on the straight lines between them, so that the shape
    stays what it was; after the last it adds a panel half as wide as the last one, its tip chord
    that of the old tip, with leading edge and height running straight on.
    """
    stations = list(stations_of(surface))
    if not stations:
        return _with(surface, [Station(y=0.0, le_x=0.0, chord=200.0)])
    a = stations[index]
    if index + 1 < len(stations):
        b = stations[index + 1]
        between = Station(
            y=(a.y + b.y) / 2, le_x=(a.le_x + b.le_x) / 2, chord=(a.chord + b.chord) / 2, z=(a.z + b.z) / 2
        )
    elif index:
        b = stations[index - 1]
        between = Station(
            y=a.y + (a.y - b.y) / 2, le_x=a.le_x + (a.le_x - b.le_x) / 2, chord=a.chord,
            z=a.z + (a.z - b.z) / 2,
        )
        if a.chord == 0:
            raise EditError(f"the {noun(surface)} ends in a point: give its tip a chord first")
    else:
        between = replace(a, y=a.y + 3.0 * max(a.chord, 1.0))
    stations.insert(index + 1, between)
    return _with(surface, stations)


def delete_station(surface: S, index: int) -> S:
    """Without that station; its neighbours are joined by straight lines. EditError where two are left."""
    stations = list(stations_of(surface))
    what = noun(surface)
    if len(stations) <= 2:
        raise EditError(f"a {what} needs two stations, root and tip: delete the whole {what} instead")
    if index == 0:
        raise EditError(f"the root of the {what} has to stay: type other numbers for it instead")
    del stations[index]
    return _with(surface, stations)


def _with(surface: S, stations: list[Station]) -> S:
    if not all(abs(v) <= LIMIT for s in stations for v in (s.y, s.le_x, s.chord, s.z)):
        raise EditError(
            f"that would carry the {noun(surface)} past what a file can hold: check the number and its unit"
        )
    return replace(surface, stations=tuple(stations))


def _chord(what: str, value: float, tip: bool) -> None:
    if value < 0:
        raise EditError(f"{what} cannot be negative: measure it from leading to trailing edge")
    if value == 0 and not tip:
        raise EditError(f"{what} must be more than nothing: only the tip may run out to a point")


def _angle(what: str, value: float) -> None:
    if abs(value) > STEEPEST:
        raise EditError(f"the {what} is too steep: keep it between −{STEEPEST:g}° and {STEEPEST:g}°")


def _part(what: str, value: float, low: float, high: float) -> None:
    if not low <= value <= high:
        hint = '; for one per cent write "1 %"' if value == 1.0 else ""
        lowest = f"{100 * low:g}".replace("-", "−")
        raise EditError(
            f"the {what} came to {100 * value:.4g} % of the chord: "
            f"keep it between {lowest} and {100 * high:g} %{hint}"
        )
