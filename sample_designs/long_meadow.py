"""Long Meadow 2000: a polyhedral motor glider of two metres, for evenings without wind."""

from __future__ import annotations

import shapely
from paper import ScanPlan
from plan_parts import Plan
from shapely import box
from shaping import Tracing, area_of, bare, corner, curve, disc, outline, section_points
from sheet import CENTRE, DASH, HEAVY, MEDIUM, THIN, Sheet

from core.design import Design, Flight, Mark, Propeller, Section, Station, Tailplane, Weight, Wing
from core.design_build import Build, Ribs, Skin, Spar, Strip, Thickness

LE, CHORD, WING_Z, INCIDENCE = 330.0, 205.0, 57.0, 2.5
HINGE = 1016.0
WING_SECTION = Section(thickness=0.1, camber=0.035, camber_at=0.4)

FUSELAGE = outline(
    "fuselage",
    "fuselage",
    [
        curve(0, 0, 90),
        curve(31, 19, 20),
        curve(110, 35, 8),
        curve(220, 45, 4),
        corner(322, 49, into=2),
        corner(528, 41, out=-6),
        curve(640, 32, -3.6),
        corner(HINGE, 16, into=-2),
        corner(HINGE, -8, out=181),
        curve(720, -16, 184),
        curve(500, -37, 187.5),
        curve(310, -53, 181),
        curve(150, -44, 170),
        curve(31, -19, 157),
    ],
    label="Fuselage",
    grams=28.0,
)

CANOPY = outline(
    "canopy",
    "canopy",
    [
        corner(106, 34.3, out=24),
        curve(160, 55, 16),
        curve(226, 66, 3),
        curve(280, 62, -10),
        bare(corner(334, 49.5, into=-14)),
        bare(corner(326, 34)),
        bare(corner(118, 24)),
    ],
    label="Canopy",
    grams=15.0,
)

FIN = outline(
    "fin",
    "fin",
    [
        corner(876, 23.6, out=8),
        curve(938, 58, 52),
        curve(970, 134, 70),
        corner(HINGE, 214, into=20),
        bare(corner(HINGE, 6)),
        bare(corner(900, 8)),
    ],
    label="Fin",
    grams=7.0,
)

RUDDER = outline(
    "rudder",
    "rudder",
    [
        corner(HINGE, 214, out=6),
        curve(1056, 202, -40),
        curve(1092, 128, -78),
        curve(1098, 62, -92),
        curve(1082, 2, -116),
        corner(1046, -26, into=-164),
        corner(HINGE, -20, into=174),
    ],
    label="Rudder",
    grams=6.0,
)

WHEEL = disc("wheel", 346, -56, 26, label="Wheel", grams=90.0, stance="joined")
SKID = outline(
    "tail-skid",
    "other",
    [
        corner(950, -10.2, out=-50),
        corner(978, -26, into=-8),
        corner(1000, -27),
        bare(corner(1006, -8.2)),
        bare(corner(1004, 0)),
        bare(corner(954, 0)),
    ],
    label="Tail skid",
    grams=20.0,
    stroke=0.5,
)

TRACINGS: tuple[Tracing, ...] = (FUSELAGE, CANOPY, FIN, RUDDER, WHEEL, SKID)


def _structure(sheet: Sheet) -> None:
    whole = area_of(FUSELAGE).buffer(-0.8)
    room = sheet.inset(FUSELAGE, 4.0, box(34, -200, 1012, 200))
    stations = (
        (32, 3.0),
        (104, 3.0),
        (176, 3.0),
        (252, 3.0),
        (322, 4.0),
        (430, 3.0),
        (528, 4.0),
        (620, 2.0),
        (720, 2.0),
        (820, 2.0),
        (888, 3.0),
        (960, 2.0),
    )
    for i, (x, thick) in enumerate(stations):
        sheet.upright(whole, x, thick, str(i + 1), -13 if i < 8 else -6)
    sheet.within(room, [(36, 12), (260, 22), (640, 14), (1010, 8)])
    glass = area_of(CANOPY).buffer(-3.0).intersection(box(116, 44, 320, 90))
    sheet.line(shapely.get_coordinates(glass), MEDIUM)
    sheet.within(area_of(CANOPY), [(212, 40), (216, 80)])
    sheet.line([(31, -19), (31, 19)], MEDIUM)
    sheet.loop([(40, -15), (72, -15), (72, 15), (40, 15)], MEDIUM, DASH)
    sheet.loop([(184, -40), (246, -40), (246, -16), (184, -16)], MEDIUM, DASH)
    sheet.text("3S BATTERY", 215, -28, 4)
    for x in (274, 299):
        sheet.loop([(x - 11, -30), (x + 11, -30), (x + 11, -12), (x - 11, -12)], MEDIUM, DASH)
    sheet.line([(300, -16), (620, 2), (1030, 0)], THIN, DASH)
    sheet.line([(300, -24), (620, 8), (950, 12)], THIN, DASH)
    frame = sheet.inset(FIN, 8.0, box(880, 24, HINGE - 6, 220))
    for z in (58, 92, 126, 162):
        sheet.strip(frame, (900, z - 4), (1020, z), 4.0)
    flap = sheet.inset(RUDDER, 8.0)
    for z in (16, 58, 92, 126, 162):
        sheet.strip(flap, (1010, z), (1100, z - 3), 4.0)
    for low, high in ((16, 58), (58, 92), (92, 126)):
        sheet.strip(flap, (1020, low), (1092, high), 2.6)
    for points in (
        [(14, 8), (9, 60), (11, 110), (18, 140)],
        [(20, 10), (25, 60), (24, 110), (18, 140)],
        [(24, -18), (66, -35), (118, -47), (166, -50)],
        [(166, -50), (170, -47.5)],
    ):
        sheet.line(points, THIN, DASH)


def _dimensions(sheet: Sheet) -> None:
    sheet.dimension((0, 0), (1098, 62), 240, "1098")
    sheet.dimension((0, 0), (LE, WING_Z), 220, "330")
    sheet.dimension((LE, WING_Z), (LE + CHORD, 48), 220, "205")
    sheet.dimension((LE + CHORD, 48), (HINGE, 214), 220, "481")
    sheet.dimension((HINGE, 214), (1046, -26), 1112, "240", upright=True)
    sheet.cg_sign(398, 34, 8)
    sheet.leader("C.G. 33 % MAC", 440, -92, (401, 24))
    sheet.leader("FOLDING PROPELLER 280 x 150", 64, 108, (25, 96))
    sheet.leader("CANOPY, BLUE TINT", 250, 112, (212, 66.5))
    sheet.leader("WHEEL 52 mm, HALF SUNK", 250, -104, (328, -74))
    sheet.leader("TAILPLANE ON THE DECK, 0°", 760, 92, (872, 26))
    sheet.leader("SPRUCE 3 x 8", 700, -66, (650, -19))
    sheet.leader("PLY 1.5 mm", 920, -66, (966, -22))
    sheet.leader("TIP PANEL", 600, 176, (483, 169))
    sheet.grain(982, 74, 26, 74)
    sheet.grain(1060, 34, 26, 84)


def _draw() -> Sheet:
    sheet = Sheet()
    _structure(sheet)
    for tracing in TRACINGS:
        sheet.tracing(tracing)
    sheet.loop(section_points((LE, WING_Z), CHORD, INCIDENCE, 0.1, 0.035, 0.4), MEDIUM, DASH)
    sheet.loop(section_points((344, 140.8), 168, 1.5, 0.1, 0.035, 0.4), THIN, DASH)
    sheet.loop(section_points((360, 168.4), 124, 0.5, 0.1, 0.035, 0.4), THIN, DASH)
    sheet.loop(section_points((868, 22), 130, 0, 0.07, 0.0, 0.4), MEDIUM, DASH)
    sheet.text("ROOT", 430, 82, 3.8)
    sheet.text("BREAK", 415, 132, 3.8)
    sheet.circle(346, -56, 13)
    sheet.circle(346, -56, 3.2)
    sheet.line([(334, -56), (358, -56)], THIN)
    sheet.line([(346, -68), (346, -44)], THIN)
    sheet.line([(-40, 0), (1120, 0)], THIN, CENTRE)
    sheet.text("DATUM", -26, 5, 4.2)
    _dimensions(sheet)
    sheet.title_block(
        -28,
        -172,
        300,
        "LONG MEADOW 2000",
        [
            ("SPAN", "2000 mm"),
            ("SHEET", "1 / 3"),
            ("AREA", "37 sq dm"),
            ("SCALE", "1 : 1"),
            ("WEIGHT", "1180 g"),
            ("DRAWN", "J. WREN"),
        ],
        15,
    )
    sheet.scale_bar(780, -150, 25, 8, ["0", "", "50", "", "100", "", "150", "", "200"], "mm")
    sheet.text("ALL WOOD BALSA UNLESS MARKED.  COVER WITH TISSUE, THREE COATS OF DOPE.", 560, -146, 4.4)
    sheet.text("SET THE TAILPLANE BY THE DATUM, NOT BY THE DECK.", 502, -156, 4.4)
    sheet.line([(-60, 256), (1140, 256)], HEAVY)
    return sheet


SCAN = ScanPlan(
    file="long-meadow-2000.tif",
    make="bilevel tiff",
    dpi=200.0,
    turn_deg=0.5,
    left=-44.0,
    right=1126.0,
    bottom=-182.0,
    top=262.0,
    seed=2003,
    folds_x=(252.0, 545.0, 838.0),
    folds_z=(118.0,),
    stain=(720.0, 150.0, 41.0),
)

BARE = Design(
    format=1,
    title="Long Meadow 2000",
    notes="A two-metre motor glider on rudder and elevator, built for one climb and a long way home over "
    "hay fields. The fin was drawn large for the polyhedral and has been left as it is.",
    display_units="mm",
    counts_seen=("wheel",),
    wings=(
        Wing(
            "wing",
            (
                Station(0.0, LE, CHORD, WING_Z),
                Station(500.0, 332.0, 200.0, 88.5),
                Station(830.0, 344.0, 168.0, 140.8),
                Station(960.0, 360.0, 124.0, 168.4),
                Station(1000.0, 376.0, 88.0, 176.9),
            ),
            label="Wing",
            incidence_deg=INCIDENCE,
            section=WING_SECTION,
        ),
    ),
    tailplanes=(
        Tailplane(
            "tailplane",
            (
                Station(0.0, 868.0, 130.0, 22.0),
                Station(230.0, 882.0, 108.0, 22.0),
                Station(280.0, 902.0, 70.0, 22.0),
            ),
            label="Tailplane",
            section=Section(thickness=0.07),
            elevator_chord_fraction=0.33,
        ),
    ),
    cg_mark=Mark(398.0, 34.0),
    weights=(
        Weight("motor", 100, 48, 0, 0, "Motor, spinner and propeller"),
        Weight("battery", 160, 215, 0, -28, "Battery"),
        Weight("controller", 32, 152, 0, -4, "Controller"),
        Weight("servos", 26, 283, 0, -21, "Servos"),
        Weight("receiver", 12, 320, 0, -8, "Receiver"),
        Weight("fuselage", 75, 459, 0, -7, "Formers, firewall and fittings"),
        Weight("wheel", 9, 346, 0, -56, "Axle and its plate"),
        Weight("wing", 470, 428, 0, 92, "Wing"),
        Weight("tail", 39, 1015, 0, 70, "Rods, horns and hinges"),
    ),
    builds=(
        Build(
            "fin", ("fin", "rudder"), "ribbed", Thickness(15.0, 9.0, "symmetric"), Ribs(42.0, None, 2.0),
            Strip(8.0, None, "balsa-hard"), Strip(10.0), (Spar(0.3, (5.0, 2.0), 1.5),), Skin(1.0),
            covering_g_m2=30.0,
        ),
        Build(
            "tailplane", ("tailplane",), "ribbed", Thickness(11.0, 8.0, "symmetric"), Ribs(46.0, None, 2.0),
            Strip(6.0, None, "balsa-hard"), Strip(8.0), (Spar(0.3, (5.0, 1.5), 1.5),), Skin(0.8),
            covering_g_m2=30.0,
        ),
    ),
    cg_from="mark",
    fuselage_width=74.0,
    flight=Flight(speed_m_s=9.0, propeller=Propeller(254.0, -6.0)),
)

LONG_MEADOW = Plan("long-meadow-2000", BARE, TRACINGS, _draw(), SCAN)
