"""What stands on a template beside its outlines, measured in the PDF: words, shared edges, seats, turns."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import shapely
from msgspec.structs import replace
from template_pages import (
    PER_MM,
    clear,
    edge_samples,
    ink_along,
    letters_on,
    pictures,
    planned,
    text_of,
    traced,
)

from app.paper.template import PEN, TemplateError, TemplatePlan
from app.paper.template_page import HOLDS, frame_of
from app.paper.template_signs import box_corners
from app.paper.template_words import about
from core.bench.tiling import Tile
from core.design import Design, Mark, Node, Outline, Station, Tailplane, Wing

pytestmark = pytest.mark.usefixtures("qapp")


def wing(le_x: float, z: float, chord: float, angle: float) -> Wing:
    return Wing("wing", (Station(0, le_x, chord, z), Station(900, le_x + 30, 0.7 * chord, z + 40)),
                incidence_deg=angle)


def stab(le_x: float, z: float, chord: float, angle: float) -> Tailplane:
    return Tailplane("stab", (Station(0, le_x, chord, z), Station(250, le_x + 25, 0.6 * chord, z)),
                     incidence_deg=angle)


TEE = Design(1, "Slanting Tee", outlines=(
    traced("pod", "fuselage", (-120, 0), (-60, 45), (60, 60), (800, 25), (810, -5), (60, -50), (-60, -40),
           label="Pod and boom"),
    traced("fin", "fin", (640, 20), (700, 190), (790, 190), (740, 22), label="Fin"),
    traced("rudder", "rudder", (740, 22), (790, 190), (850, 188), (830, -10), (741, 10), label="Rudder"),
), wings=(wing(80, 55, 180, 1.0),), tailplanes=(stab(690, 192, 120, -0.5),), cg_mark=Mark(140, 20),
    display_units="in")
GNAT = Design(1, "Gnat", outlines=(
    traced("stick", "fuselage", (-70, 0), (-40, 12), (60, 10), (110, 3), (110, -3), (0, -12), label="Stick"),
    traced("fin", "fin", (80, 2), (98, 46), (104, 46), (104, 2), label="Fin"),
    traced("rudder", "rudder", (104, 2), (104, 46), (114, 44), (118, 2), label="Rudder"),
), tailplanes=(stab(70, 20, 45, 0),), cg_mark=Mark(0, 0))
LONG = Design(1, "Four Metres", outlines=(
    Outline("hull", "fuselage", (
        Node(0, 0, (0, -60), (0, 110)), Node(700, 210, (-350, 0), (300, 0)), Node(3900, 60, (-800, 20), None),
        Node(3900, 10, None, (-900, -20)), Node(700, -190, (400, 0), (-350, 0))), label="Hull"),
    traced("fin", "fin", (3500, 45), (3700, 560), (3830, 560), (3800, 40), label="Fin"),
    traced("rudder", "rudder", (3800, 40), (3830, 560), (4000, 540), (4020, -5), (3805, 12), label="Rudder"),
), wings=(wing(900, 190, 320, 2.0),), tailplanes=(stab(3560, 300, 200, -1.5),), cg_mark=Mark(1010, 60))
TALL = Design(1, "Long Tip", outlines=(
    traced("fin", "fin", (0, 0), (90, 275), (130, 275), (150, 0), label="Tall fin"),))
LEG = Design(1, "Slant", outlines=(
    traced("leg", "gear leg", (0, 0), (20, 0), (205, 230), (185, 230), label="Leg"),))
STRUTS = Design(1, "Slim", outlines=(
    traced("a", "strut", (0, 0), (160, 4), (160, 8), (0, 4), label="Lift strut", count=2),
    traced("b", "strut", (0, -20), (160, -16), (160, -12), (0, -16), label="Jury strut", count=2)))


@pytest.mark.parametrize(("design", "asked"), [
    (TEE, {}), (TEE, {"outlines": ("fin", "rudder")}), (TEE, {"mirror": True, "landscape": False}),
    (GNAT, {}), (GNAT, {"outlines": ("fin", "rudder")}), (TALL, {}), (LEG, {}), (STRUTS, {}),
    (LONG, {"scale": 0.25}), (LONG, {"outlines": ("fin", "rudder"), "line": "inner"}),
])
def test_no_letter_touches_an_outline_or_a_hinge(design: Design, asked: dict[str, Any]) -> None:
    plan = planned(design, **asked)
    drawing, seen = plan.drawing, 0
    for tile, letters in letters_on(plan).items():
        frame = frame_of(plan, tile)
        lines = [[(frame.x(u), frame.y(v)) for u, v in piece.closed] for piece in drawing.pieces]
        edges = shapely.MultiLineString(lines)
        hinges = [
            shapely.LinearRing([(frame.x(u), frame.y(v)) for u, v in box_corners(h, middle)])
            for h in drawing.hinges for middle in h.hinges
        ]
        for letter, box in letters:
            assert edges.distance(box) > 1.0, (tile.name, letter, box.bounds)
            assert all(hinge.distance(box) > 0.1 for hinge in hinges), (tile.name, letter, box.bounds)
        seen += len(letters)
    assert seen > 10
    # Letters that run upwards are read one by one.
    text = "".join(text_of(plan)).replace(" ", "")
    for piece in drawing.pieces:
        assert piece.name.replace(" ", "") in text
    for hinge in drawing.hinges:
        assert "hingeline" in text and all(f"H{i + 1}" in text for i in range(len(hinge.hinges)))


@pytest.mark.parametrize(("line", "low", "high"), [
    # From the shared edge towards the rudder: its line lies in it, in the fin, or astride.
    ("outer", 0.0, PEN), ("inner", -PEN, 0.0), ("middle", -PEN / 2, PEN / 2),
])
def test_the_edge_that_fin_and_rudder_share_is_drawn_once_and_true(
    line: Any, low: float, high: float
) -> None:
    plan = planned(TEE, outlines=("fin", "rudder"), line=line, turn=0.0, paper="a3")
    (tile,) = plan.tiling.tiles
    frame, picture = frame_of(plan, tile), pictures(plan)[tile]
    start, end = np.array((740.0, 22.0)), np.array((790.0, 190.0))
    ahead = (end - start) / math.dist(start, end)
    towards_rudder = np.array((ahead[1], -ahead[0]))
    (hinge,) = plan.drawing.hinges
    points = start + np.arange(2.0, math.dist(start, end) - 2.0, 0.5)[:, None] * ahead
    off = [np.abs((points - middle) @ ahead) > hinge.along / 2 + 1.0 for middle in hinge.hinges]
    stations = [shapely.LineString((r.start, r.end)) for r in plan.drawing.references]
    off += [shapely.distance(shapely.points(points), station) > 2.5 for station in stations]
    points = points[np.all(off, axis=0)]
    assert len(points) > 100
    pixels = np.array([(frame.x(u), frame.y(v)) for u, v in points]) * PER_MM
    inmost, outmost = ink_along(picture, pixels, np.tile(towards_rudder, (len(points), 1)))
    assert np.abs(inmost - low).max() < 0.1 and np.abs(outmost - high).max() < 0.1
    assert "share is drawn once" in text_of(plan)[0]


@pytest.mark.parametrize("piece", [0, 1])
def test_all_other_edges_of_both_are_as_they_were(piece: int) -> None:
    plan = planned(TEE, outlines=("fin", "rudder"), turn=0.0, paper="a3")
    (tile,) = plan.tiling.tiles
    frame, picture = frame_of(plan, tile), pictures(plan)[tile]
    points, normal = edge_samples(plan, piece)
    shared = shapely.LineString(((740, 22), (790, 190)))
    drawing = plan.drawing
    lines = [shapely.LineString((r.start, r.end)) for r in drawing.references]
    lines += [shapely.LineString(root) for root in drawing.roots]
    lines += [shapely.LineString((s.leading, s.trailing)).buffer(8.0) for s in drawing.seats]
    # Where two lines meet, more is inked.
    lines.append(shapely.MultiPoint(drawing.pieces[piece].corners))
    away = shapely.distance(shapely.points(points), shapely.union_all(lines)) > 3.0
    free = away & (shapely.distance(shapely.points(points), shared) > 2.0)
    assert free.sum() > 60
    pixels = np.array([(frame.x(u), frame.y(v)) for u, v in points[free]]) * PER_MM
    inmost, outmost = ink_along(picture, pixels, normal[free])
    assert np.abs(outmost).max() < 0.1 and np.abs(inmost + PEN).max() < 0.1


def one_page_measured(plan: TemplatePlan) -> None:
    """The true outline, by its ink, on the only page; and none of it off the page's window."""
    (tile,) = plan.tiling.tiles
    frame, picture = frame_of(plan, tile), pictures(plan)[tile]
    points, normal = edge_samples(plan)
    free = clear(plan, points)
    assert free.sum() > 0.6 * len(points)
    pixels = np.array([(frame.x(u), frame.y(v)) for u, v in points]) * PER_MM
    _, outmost = ink_along(picture, pixels[free], normal[free])
    assert np.abs(outmost).max() < 0.1
    left, top, wide, tall = plan.window
    inside = (pixels / PER_MM >= (left, top)) & (pixels / PER_MM <= (left + wide, top + tall))
    assert inside.all()


def test_a_tip_that_would_take_a_page_of_its_own_is_turned_on_to_the_first() -> None:
    assert len(planned(TALL, turn=0.0).tiling.tiles) == 2
    plan = planned(TALL)
    assert plan.pages == 1 and abs(plan.turn) == 90.0
    one_page_measured(plan)
    (text,) = text_of(plan)
    assert "turned 90° anticlockwise" in text and "datum line, height 0" in text
    assert any(n.startswith("turned 90° anticlockwise so that it takes fewer sheets") for n in plan.notes)
    assert "all of it measures 150.0 mm by 275.0 mm" in plan.notes
    # As drawn the grain runs along the leading edge, 90 aft on 275 up, and the datum line level.
    (piece,) = plan.drawing.pieces
    rise = math.hypot(90, 275)
    assert piece.grain == pytest.approx((-275 / rise, 90 / rise), abs=1e-3)
    station, height = plan.drawing.references
    assert height.start[0] == height.end[0] and station.start[1] == station.end[1]


def test_a_free_angle_is_taken_where_no_quarter_does() -> None:
    assert {len(planned(LEG, turn=turn).tiling.tiles) for turn in (0.0, 90.0)} == {2}
    plan = planned(LEG)
    assert plan.pages == 1 and 0 < abs(plan.turn) < 90
    one_page_measured(plan)
    a = math.radians(plan.turn)
    _, height = plan.drawing.references
    along = np.array(height.end) - height.start
    assert along / np.hypot(*along) == pytest.approx((math.cos(a), math.sin(a)))
    assert f"turned {abs(plan.turn):g}° " in text_of(plan)[0]


@pytest.mark.parametrize("turn", [-35.0, 90.0, 180.0])
def test_everything_turns_along_as_asked(turn: float) -> None:
    as_drawn, plan = (planned(TEE, scale=0.4, mirror=True, turn=t).drawing for t in (0.0, turn))
    a = math.radians(turn)
    way = np.array(((math.cos(a), math.sin(a)), (-math.sin(a), math.cos(a))))
    for one, other in zip(as_drawn.pieces, plan.pieces, strict=True):
        assert other.corners == pytest.approx(one.corners @ way)
        assert other.grain == pytest.approx(np.array(one.grain) @ way)
    (hinge,), (turned,) = as_drawn.hinges, plan.hinges
    assert np.array(turned.hinges) == pytest.approx(np.array(hinge.hinges) @ way)
    for seat, other_seat in zip(as_drawn.seats, plan.seats, strict=True):
        assert other_seat.leading == pytest.approx(np.array(seat.leading) @ way)
        assert other_seat.words == seat.words
    assert as_drawn.cg is not None and plan.cg == pytest.approx(np.array(as_drawn.cg) @ way)


def test_a_turn_out_of_range_is_refused() -> None:
    with pytest.raises(TemplateError, match="a turn must lie between"):
        planned(TALL, turn=181.0)


def test_seats_and_cg_stand_on_the_side_and_where_they_touch_a_piece() -> None:
    side = planned(TEE, turn=0.0)
    one, other = side.drawing.seats
    assert one.leading == (80, 55)
    # 180 cos 1° and 180 sin 1°.
    assert one.trailing == pytest.approx((80 + 179.9726, 55 - 3.1414), abs=1e-3)
    assert other.words == "tailplane seat: root chord 4.724 in, incidence −0.5°"
    assert side.drawing.cg == (140, 20)
    text = " ".join(text_of(side))
    for words in ("wing seat: root chord 7.087 in, incidence 1.0°", "leading edge", "trailing edge"):
        assert words in text
    # The tee's tailplane sits on the fin, the wing does not; the rudder alone has neither, nor the CG.
    assert [s.words[:9] for s in planned(TEE, outlines=("fin",)).drawing.seats] == ["tailplane"]
    assert planned(TEE, outlines=("fin",)).drawing.cg is None
    assert [s.words[:4] for s in planned(TEE, outlines=("pod",)).drawing.seats] == ["wing"]


@pytest.mark.parametrize(("paper", "landscape"), [
    ("a4", False), ("a4", True), ("a3", True), ("letter", False), ("tabloid", True),
])
def test_the_strip_says_all_of_it_cg_included_and_cuts_nothing(paper: str, landscape: bool) -> None:
    plan = planned(TEE, paper, landscape=landscape)
    for text in text_of(plan):
        # 140 less 80 are 60 mm.
        assert "CG 2.36 in behind the leading edge of the wing's root" in text and "…" not in text
        assert "common practice, no source" in text and "hold it before you fly." in text
    tiles = plan.tiling.tiles
    picture = pictures(plan)[tiles[-1]]
    assert picture[-round((plan.choice.margin - 0.5) * PER_MM):].min() > 250


def test_specks_do_no_harm() -> None:
    """A ring of half a millimetre that crosses itself: the library finds nothing within 1.4 mm of it."""
    corners = ((119.703, 197.296), (119.689, 197.752), (119.607, 197.199), (119.871, 197.607),
               (120.048, 197.354), (120.108, 197.447), (120.028, 197.481))
    ring = shapely.LinearRing(corners)
    assert about(ring, 1.4).contains(ring) and about(ring, 1.4).area > math.pi * 1.4**2
    speck = replace(TEE, outlines=(*TEE.outlines, traced("speck", "other", *corners)),
                    wings=(wing(200, 30, 1e-9, 3.0),), tailplanes=(stab(300, 20, 0.0, 0.0),))
    plan = planned(speck)
    assert [seat.words[:4] for seat in plan.drawing.seats] == ["wing"]
    assert "Pod and boom" in " ".join(text_of(plan))


def test_without_a_wing_no_line_speaks_of_it() -> None:
    assert not any("behind the leading edge" in text for text in text_of(planned(replace(TEE, wings=()))))


def test_the_long_side_hangs_together_and_takes_the_way_with_fewer_pages() -> None:
    plan, bare, every = (planned(LONG, blank=blank) for blank in ("needed", "none", "all"))
    ways = [
        len(planned(LONG, blank="needed", landscape=way, turn=turn).tiling.tiles)
        for way in (False, True) for turn in (0.0, 90.0)
    ]
    assert len(plan.tiling.tiles) == min(ways) < max(ways)
    tiling = plan.tiling
    assert tiling.bridges and not bare.tiling.bridges
    assert len(bare.tiling.tiles) < len(tiling.tiles) < len(every.tiling.tiles)
    for piece in plan.drawing.pieces:
        ring = shapely.LinearRing(piece.corners)
        own = {t for t in tiling.tiles if ring.intersects(shapely.box(*tiling.core(t)))}
        reached: set[Tile] = set()
        todo = [min(own)]
        while todo:
            tile = todo.pop()
            if tile not in reached:
                reached.add(tile)
                todo += [join.neighbour for join in tiling.joins(tile)]
        assert own <= reached
    texts = text_of(plan)
    assert f"{len(tiling.bridges)} with nothing to cut" in texts[0]
    for tile, text in zip(tiling.tiles, texts[1:], strict=True):
        assert (HOLDS in text) == (tile in tiling.bridges)
    # No letter of it, and the joins on the page say with whom it goes.
    bridge = tiling.bridges[0]
    assert {join.side for join in tiling.joins(bridge)} >= {"top", "bottom"}
    # Every sheet that the datum line runs over within the pieces' length is one of all.
    datum = every.drawing.references[1]
    line = shapely.LineString((datum.start, datum.end))
    printed = set(every.tiling.tiles)
    over = [
        Tile(r, c) for r in range(every.tiling.rows) for c in range(every.tiling.columns)
        if line.intersects(shapely.box(*every.tiling.core(Tile(r, c))))
    ]
    assert len(over) > 10 and set(over) <= printed
