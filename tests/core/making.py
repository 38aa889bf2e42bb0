"""Small designs for tests, and hypothesis strategies that make them up."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec
import shapely
from hypothesis import settings
from hypothesis import strategies as st

from core.design import (
    Aim,
    Alternative,
    Design,
    Flight,
    Mark,
    Node,
    Outline,
    Propeller,
    Scan,
    Section,
    Stance,
    Station,
    Tailplane,
    Weight,
    Wing,
)
from core.geometry.ring import flatten, ring_of
from core.kinds import KINDS

Corners = Sequence[tuple[float, float]]

MANY, SOME, FEW = settings(max_examples=120), settings(max_examples=24), settings(max_examples=12)


def traced(part_id: str, kind: Any, corners: Corners, **more: Any) -> Outline:
    """A straight-edged outline through ``corners`` (x, z) in mm."""
    return Outline(part_id, kind, tuple(Node(float(x), float(z)) for x, z in corners), **more)


def box(part_id: str, kind: Any, x0: float, z0: float, x1: float, z1: float, **more: Any) -> Outline:
    """A rectangle between two opposite corners, in mm."""
    return traced(part_id, kind, ((x0, z0), (x1, z0), (x1, z1), (x0, z1)), **more)


def design_of(*outlines: Outline, **more: Any) -> Design:
    """A design of these outlines."""
    return Design(format=1, title="A test", outlines=outlines, **more)


def curved_outline(part_id: str, kind: Any, x: float, z: float, across: float, **more: Any) -> Outline:
    """Four nodes and four curves round (x, z), nearly an ellipse ``across`` mm long and half as high."""
    a, b, k = across / 2, across / 4, 0.55
    nodes = (
        Node(x + a, z, (0.0, -k * b), (0.0, k * b)),
        Node(x, z + b, (k * a, 0.0), (-k * a, 0.0)),
        Node(x - a, z, (0.0, k * b), (0.0, -k * b)),
        Node(x, z - b, (-k * a, 0.0), (k * a, 0.0)),
    )
    return Outline(part_id, kind, nodes, **more)


def drawn_out(outline: Outline, by: float) -> Outline:
    """The outline drawn ``by`` mm too far out all round, corners kept sharp."""
    region = shapely.Polygon(flatten(ring_of(outline.nodes))).buffer(by, join_style="mitre", mitre_limit=50)
    return traced(
        outline.id, outline.kind, shapely.get_coordinates(region.exterior)[:-1], count=outline.count,
        stance=outline.stance, grams_per_dm2=outline.grams_per_dm2,
    )


def trainer(**more: Any) -> Design:
    """Fuselage, fin, rudder, clear wheels over a leg, a joined pair half hidden, wing, tailplane."""
    outlines = (
        curved_outline("fuselage", "fuselage", 450, 0, 900),
        traced("fin", "fin", ((700, 20), (760, 180), (820, 180), (820, 10))),
        box("rudder", "rudder", 820, 0, 870, 180),
        box("leg", "gear leg", 300, -200, 320, -60, count=2),
        curved_outline("wheel", "wheel", 310, -200, 90, count=2),
        box("nacelle", "nacelle", 200, -140, 420, -90, count=2),
    )
    wing = Wing("wing", (Station(0, 250, 220, 70), Station(660, 262, 190, 105)))
    tailplane = Tailplane(
        "tailplane", (Station(0, 780, 120, 40), Station(250, 800, 80, 40)), section=Section(0.08)
    )
    made = design_of(*outlines, wings=(wing,), tailplanes=(tailplane,), cg_mark=Mark(320, 10))
    return msgspec.structs.replace(made, **more) if more else made


def _rounded(low: float, high: float) -> st.SearchStrategy[float]:
    """Multiples of 1/64 mm: short in print, exact in binary."""
    return st.integers(round(low * 64), round(high * 64)).map(lambda n: n / 64)


def handles(reach: float) -> st.SearchStrategy[tuple[float, float] | None]:
    """A handle offset in mm, or none."""
    return st.none() | st.tuples(_rounded(-reach, reach), _rounded(-reach, reach))


def nodes(low: float = -300, high: float = 300, reach: float = 80) -> st.SearchStrategy[Node]:
    """A node with or without handles."""
    return st.builds(Node, _rounded(low, high), _rounded(low, high), handles(reach), handles(reach))


STANCES: st.SearchStrategy[Stance | None] = st.sampled_from((None, "joined", "clear"))


@st.composite
def square_cornered(draw: st.DrawFn, part_id: str, wide: int, high: int) -> Outline:
    """An outline of level and upright edges on whole millimetres; it may cross or retrace itself."""
    pairs = draw(st.integers(2, 4))
    xs = draw(st.lists(st.integers(0, wide), min_size=pairs, max_size=pairs))
    zs = draw(st.lists(st.integers(0, high), min_size=pairs, max_size=pairs))
    corners: list[tuple[float, float]] = []
    for i in range(pairs):
        corners += [(xs[i], zs[i]), (xs[(i + 1) % pairs], zs[i])]
    return traced(
        part_id,
        draw(st.sampled_from(KINDS)),
        corners,
        count=draw(st.sampled_from((1, 1, 1, 2, 2, 3, 8))),
        stance=draw(STANCES),
    )


@st.composite
def square_designs(draw: st.DrawFn, wide: int = 24, high: int = 16) -> Design:
    """A design whose every edge, wings included, lies on whole millimetres."""
    outlines = [draw(square_cornered(f"o{i}", wide, high)) for i in range(draw(st.integers(0, 7)))]
    wings: list[Wing] = []
    for i in range(draw(st.integers(0, 2))):
        le_x, chord = draw(st.integers(0, wide - 4)), draw(st.integers(1, 4))
        zs = draw(st.lists(st.integers(1, high - 1), min_size=1, max_size=3))
        # Thickness 2 / chord: the section box is one millimetre up and one down.
        wings.append(
            Wing(
                f"w{i}",
                tuple(Station(100.0 * k, le_x, chord, z) for k, z in enumerate(zs)),
                section=Section(thickness=2 / chord),
                in_side_area=draw(st.booleans()),
            )
        )
    tailplanes = tuple(
        Tailplane(w.id, w.stations, section=w.section, in_side_area=w.in_side_area) for w in wings[1:]
    )
    return design_of(*outlines, wings=tuple(wings[:1]), tailplanes=tailplanes)


@st.composite
def curved_designs(draw: st.DrawFn, most: int = 6) -> Design:
    """Slanted and curved outlines, crossing themselves as they please, with wings and a CG."""
    outlines = tuple(
        Outline(
            f"o{i}",
            draw(st.sampled_from(KINDS)),
            tuple(draw(st.lists(nodes(), min_size=3, max_size=6))),
            count=draw(st.sampled_from((1, 1, 1, 2, 2, 4))),
            stance=draw(STANCES),
        )
        for i in range(draw(st.integers(1, most)))
    )
    stations = st.lists(
        st.builds(Station, _rounded(0, 600), _rounded(-200, 200), _rounded(0, 150), _rounded(-100, 100)),
        min_size=0,
        max_size=3,
    ).map(tuple)
    wings = tuple(Wing(f"w{i}", draw(stations)) for i in range(draw(st.integers(0, 2))))
    return design_of(*outlines, wings=wings, cg_mark=Mark(draw(_rounded(-300, 300)), draw(_rounded(-50, 50))))


_ids = st.from_regex(r"[a-z0-9-]{1,12}", fullmatch=True)
_text = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
_lengths = st.floats(-1e6, 1e6)
_vectors = st.none() | st.tuples(_lengths, _lengths)
_stations = st.lists(st.builds(Station, _lengths, _lengths, st.floats(0, 1e6), _lengths), max_size=3).map(
    tuple
)
_sections = st.builds(Section, st.floats(0, 1), st.floats(-0.5, 0.5), st.floats(0, 1))
_any_outline = st.builds(
    Outline,
    _ids,
    st.sampled_from(KINDS),
    st.lists(st.builds(Node, _lengths, _lengths, _vectors, _vectors), min_size=3, max_size=5).map(tuple),
    _text,
    st.integers(1, 8),
    STANCES,
    st.booleans(),
    st.booleans(),
    st.none() | st.floats(0, 1e6),
    st.none() | st.floats(0, 1e6),
)
_names = st.from_regex(r"[A-Za-z0-9 _é-]{1,20}\.(png|jpg|pdf)", fullmatch=True)
_scans = st.builds(
    Scan,
    _ids,
    _names,
    st.integers(0, 9),
    opacity=st.floats(0, 1),
    locked=st.booleans(),
    hidden=st.booleans(),
    scale_from=st.sampled_from(("points", "dpi", "none")),
)
_aims = (
    st.lists(st.floats(-2, 2), min_size=3, max_size=3)
    .map(sorted)
    .flatmap(
        lambda v: st.builds(
            Aim, st.just(v[1]), st.just(v[0]), st.just(v[2]), st.sampled_from(("centroid", "quarter_chord"))
        )
    )
)


_propellers = st.none() | st.builds(Propeller, st.floats(0, 1e6), _lengths)


def _each_once(parts: st.SearchStrategy[Any]) -> st.SearchStrategy[tuple[Any, ...]]:
    return st.lists(parts, max_size=3, unique_by=lambda part: part.id).map(tuple)


_state = {
    "outlines": _each_once(_any_outline),
    "wings": _each_once(
        st.builds(Wing, _ids, _stations, _text, st.floats(-90, 90), _sections, st.booleans())
    ),
    "tailplanes": _each_once(
        st.builds(
            Tailplane, _ids, _stations, _text, st.floats(-90, 90), _sections, st.floats(0, 1), st.booleans()
        )
    ),
    "cg_mark": st.none() | st.builds(Mark, _lengths, _lengths),
    "weights": _each_once(st.builds(Weight, _ids, st.floats(0, 1e6), _lengths, _lengths, _lengths, _text)),
    "cg_from": st.sampled_from(("mark", "weights")),
    "fuselage_width": st.none() | st.floats(0, 1e6),
    "aim": _aims,
    "flight": st.builds(Flight, st.floats(0, 400), st.floats(0, 10), st.floats(0, 90), _propellers),
}
sound_designs: st.SearchStrategy[Design] = st.builds(
    Design,
    st.just(1),
    _text,
    notes=_text,
    display_units=st.sampled_from(("mm", "in", "in64")),
    scans=_each_once(_scans),
    **_state,
    alternatives=_each_once(st.builds(Alternative, _ids, _text, **_state)),
)
"""Any design that breaks no rule of the format, far-fetched values included."""
