"""Marsh Harrow 52: a high-wing cabin tail-dragger of 52 inches, its nose lengthened on the drawing board."""

from __future__ import annotations

import math

from paper import ScanPlan
from plan_parts import Plan
from shapely import box
from shaping import Tracing, area_of, bare, corner, curve, disc, outline, section_points
from sheet import CENTRE, DASH, HEAVY, MEDIUM, THIN, Sheet

from core.design import Design, Flight, Mark, Propeller, Section, Station, Tailplane, Weight, Wing
from core.design_build import Build, Ribs, Skin, Strip, Thickness

LE, CHORD, WING_Z, INCIDENCE = 275.0, 212.0, 109.0, 2.5
HINGE = 938.0
WING_SECTION = Section(thickness=0.13, camber=0.035, camber_at=0.4)

FUSELAGE = outline(
    "fuselage",
    "fuselage",
    [
        curve(0, 0, 90),
        corner(33, 24, into=12),
        corner(35, 35, out=38),
        curve(62, 49, 17),
        curve(130, 58, 4),
        curve(214, 60.5, 0),
        curve(520, 57, -1.8),
        corner(HINGE, 38, into=-3),
        corner(HINGE, 3, out=188.5),
        curve(600, -47, 188),
        curve(330, -70, 182),
        curve(150, -66, 174),
        curve(62, -50, 155),
        corner(35, -31, into=132),
        corner(33, -24, out=168),
    ],
    label="Fuselage",
    grams=25.0,
)

CABIN = outline(
    "cabin",
    "canopy",
    [
        corner(213, 60.5, out=36),
        corner(273, 104, into=34),
        corner(487, 94.5, out=-12),
        bare(corner(625, 54.5, into=-10)),
        bare(corner(615, 40)),
        bare(corner(225, 40)),
    ],
    label="Cabin",
    grams=12.0,
)

FIN = outline(
    "fin",
    "fin",
    [
        corner(826, 44.2, out=16),
        curve(880, 98, 57),
        curve(910, 143, 53),
        corner(HINGE, 157, into=3),
        bare(corner(HINGE, 16)),
        bare(corner(846, 22)),
    ],
    label="Fin",
    grams=7.0,
)

RUDDER = outline(
    "rudder",
    "rudder",
    [
        corner(HINGE, 157, out=3),
        curve(971, 143, -44),
        curve(995, 84, -88),
        curve(982, 26, -113),
        corner(958, -4, into=-160),
        corner(HINGE, -4),
    ],
    label="Rudder",
    grams=6.0,
)

LEG = outline(
    "gear-leg",
    "gear leg",
    [
        corner(270, -150),
        bare(corner(288, -69.5)),
        bare(corner(290, -56)),
        bare(corner(324, -56)),
        corner(325, -69.5),
        corner(282, -153),
    ],
    label="Main leg",
    grams=55.0,
    count=2,
    stance="joined",
    stroke=0.6,
)

WHEEL = disc("wheels", 276, -151, 35, label="Main wheels", grams=70.0, count=2)
TAIL_WHEEL = disc("tail-wheel", 934, -31, 14, label="Tail wheel", grams=110.0)

TRACINGS: tuple[Tracing, ...] = (FUSELAGE, CABIN, FIN, RUDDER, LEG, WHEEL, TAIL_WHEEL)


def inches(length: float) -> str:
    """To the sixteenth, as the plan has its dimensions."""
    sixteenths = round(length / 25.4 * 16)
    whole, part = divmod(sixteenths, 16)
    if not part:
        return f'{whole}"'
    shared = math.gcd(part, 16)
    return f'{whole} {part // shared}/{16 // shared}"'


def _structure(sheet: Sheet) -> None:
    room = sheet.inset(FUSELAGE, 6.3, box(96, -200, 932, 200))
    whole = area_of(FUSELAGE)
    lower = room
    for i, (x, thick) in enumerate(((90, 6.0), (150, 3.2), (214, 3.2), (275, 3.2), (352, 3.2), (484, 3.2))):
        sheet.upright(whole.buffer(-0.8), x, thick, f"F{i + 1}", 34 if i != 4 else -46)
    bays = [560, 630, 700, 770, 840, 905]
    for x in bays:
        sheet.strip(lower, (x, -200), (x, 200), 6.3)
    tops = [(x, 52 - (x - 487) * 0.036) for x in [487, *bays]]
    lows = [(x, -58 + (x - 487) * 0.136) for x in [487, *bays]]
    for i in range(len(bays)):
        start, end = (lows[i], tops[i + 1]) if i % 2 == 0 else (tops[i], lows[i + 1])
        sheet.strip(lower, (start[0] + 5, start[1]), (end[0] - 5, end[1]), 6.3)
    sheet.within(whole.buffer(-0.8), [(35, 0), (92, 0)], THIN, CENTRE)
    for z in (-22, 22):
        sheet.line([(62, z - 8), (90, z - 8), (90, z + 8), (62, z + 8), (62, z - 8)], MEDIUM)
    sheet.loop([(46, -17), (88, -17), (88, 17), (46, 17)], MEDIUM, DASH)
    sheet.line([(33, -24), (33, 24)], MEDIUM)
    sheet.window([(238, 66), (264, 84), (276, 97), (338, 94), (338, 66)], 6)
    sheet.window([(350, 66), (350, 93.5), (430, 90), (430, 66)], 6)
    sheet.window([(370, -60), (370, 55), (436, 55), (436, -60)], 5, THIN, DASH)
    sheet.loop([(101, -56), (146, -56), (146, -22), (101, -22)], MEDIUM, DASH)
    sheet.text("BATTERY", 123.5, -39, 4)
    for x in (392, 418):
        sheet.loop([(x - 11, -32), (x + 11, -32), (x + 11, -10), (x - 11, -10)], MEDIUM, DASH)
    sheet.line([(429, -20), (700, 8), (930, 26)], THIN, DASH)
    frame = sheet.inset(FIN, 9.0, box(800, 47, 940, 200))
    for z in (72, 104):
        sheet.strip(frame, (820, z), (940, z + 4), 4.8)
    flap = sheet.inset(RUDDER, 9.0)
    for z in (22, 58, 94, 128):
        sheet.strip(flap, (930, z), (1010, z + 3), 4.8)


def _draw() -> Sheet:
    sheet = Sheet()
    _structure(sheet)
    for tracing in TRACINGS:
        sheet.tracing(tracing)
    section = section_points((LE, WING_Z), CHORD, INCIDENCE, 0.13, 0.035, 0.4)
    sheet.loop(section, MEDIUM, DASH)
    sheet.line(
        [
            (LE - 8, WING_Z + 0.35),
            (LE + CHORD + 12, WING_Z - (CHORD + 12) * math.tan(math.radians(INCIDENCE))),
        ],
        THIN,
        CENTRE,
    )
    sheet.loop(section_points((281, 147.8), 192, 1.0, 0.12, 0.03, 0.4), THIN, DASH)
    sheet.text("TIP SECTION", 375, 177, 3.6)
    tail = section_points((806, 43), 132, 0, 0.048, 0.0, 0.4)
    sheet.loop(tail, MEDIUM, DASH)
    for x, z, radius in ((276, -151, 35), (934, -31, 14)):
        sheet.circle(x, z, radius * 0.52)
        sheet.circle(x, z, radius * 0.12)
        sheet.line([(x - radius * 0.4, z), (x + radius * 0.4, z)], THIN)
        sheet.line([(x, z - radius * 0.4), (x, z + radius * 0.4)], THIN)
    for shift in (0.0, 2.4):
        sheet.line([(880 + shift, -2), (914 + shift, -12), (934, -31)], MEDIUM)
    sheet.line([(12, 135), (16, 70), (17, 0), (16, -70), (12, -135)], THIN, DASH)
    sheet.line([(22, 135), (18, 70), (17, 0), (18, -70), (22, -135)], THIN, DASH)
    sheet.line([(-40, 0), (1040, 0)], THIN, CENTRE)
    sheet.text("DATUM", -28, 5, 4)
    sheet.cg_sign(339, 14)
    sheet.leader("C.G. 30 % OF CHORD", 400, -104, (343, 4))
    sheet.line([(-30, -186), (700, -186)], MEDIUM)
    sheet.text("GROUND LINE, LEVEL", 560, -181, 3.8)
    sheet.dimension((0, 0), (995, 84), 218, inches(995))
    sheet.dimension((0, 0), (LE, WING_Z), 196, inches(LE))
    sheet.dimension((LE, WING_Z), (LE + CHORD, 100), 196, inches(CHORD))
    sheet.dimension((LE + CHORD, 100), (HINGE, 157), 196, inches(HINGE - LE - CHORD))
    sheet.dimension((HINGE, 157), (HINGE, -4), 1026, inches(161), upright=True)
    sheet.dimension((276, -151), (339, -70), -202, inches(63))
    sheet.leader("DURAL 3/32 IN.", 176, -104, (283, -104))
    sheet.leader('WHEELS 2 3/4"', 176, -150, (241, -150))
    sheet.leader("1/4 SQ. LONGERONS", 640, 92, (600, 51.5))
    sheet.leader("WING SECTION AT ROOT", 530, 128, (455, 104))
    sheet.leader("TAILPLANE 1/4 SHEET, 0°", 770, 108, (824, 47))
    sheet.leader("11 IN. AIRSCREW", 48, 126, (13, 118))
    sheet.leader("NOSE LET OUT 1 3/8 IN. FOR THE LIGHT MOTOR", 128, 150, (112, 58.5))
    sheet.grain(908, 84, 30, 70)
    sheet.title_block(
        716,
        -212,
        300,
        "MARSH HARROW 52",
        [
            ("SPAN", '52"'),
            ("SHEET", "1 OF 2, SIDE"),
            ("AREA", "429 SQ. IN."),
            ("SCALE", "FULL SIZE"),
            ("WEIGHT", "3 LB 3 1/2 OZ"),
            ("DRAWN", "A. FEN"),
        ],
        14,
    )
    sheet.scale_bar(420, -158, 25.4, 8, ["0", "1", "2", "3", "4", "5", "6", "7", "8"], "IN.")
    sheet.line([(-52, 232), (1050, 232)], HEAVY)
    sheet.line([(-52, -218), (1050, -218)], HEAVY)
    return sheet


SCAN = ScanPlan(
    file="marsh-harrow-52-side.png",
    make="grey png",
    dpi=150.0,
    turn_deg=0.7,
    left=-46.0,
    right=1046.0,
    bottom=-228.0,
    top=240.0,
    seed=5201,
    folds_x=(226.0, 498.0, 770.0),
    folds_z=(-98.0,),
    stain=(620.0, 170.0, 38.0),
)

BARE = Design(
    format=1,
    title="Marsh Harrow 52",
    notes="A cabin tail-dragger that came out tail-heavy with a light motor, so its nose was let out "
    "by an inch and three eighths to bring the battery forward. Since then it wanders in yaw: "
    "the longer nose has taken the side area forward, and the fin has not grown with it.",
    display_units="in",
    counts_seen=("tail-wheel",),
    wings=(
        Wing(
            "wing",
            (
                Station(0.0, LE, CHORD, WING_Z),
                Station(590.0, LE, CHORD, 145.1),
                Station(635.0, 281.0, 192.0, 147.8),
                Station(660.4, 300.0, 140.0, 149.4),
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
                Station(0.0, 806.0, 132.0, 43.0),
                Station(190.0, 816.0, 118.0, 43.0),
                Station(228.0, 832.0, 86.0, 43.0),
            ),
            label="Tailplane",
            section=Section(thickness=0.048),
            elevator_chord_fraction=0.36,
        ),
    ),
    cg_mark=Mark(339.0, 14.0),
    weights=(
        Weight("motor", 166, 66, 0, 0, "Motor, airscrew and spinner"),
        Weight("battery", 204, 123.5, 0, -39, "Battery"),
        Weight("controller", 38, 190, 0, -30, "Controller"),
        Weight("fuselage", 140, 395, 0, -35, "Firewall, floor and fittings"),
        Weight("wing", 372, 372, 0, 118, "Wing with servos"),
        Weight("gear", 36, 280, 0, -92, "Axles and gear fittings"),
        Weight("servos", 48, 392, 0, -21, "Rudder and elevator servos"),
        Weight("receiver", 14, 330, 0, -25, "Receiver"),
        Weight("tail", 23, 931, 0, 75, "Hinges, horns and tail fittings"),
        Weight("tail-wheel", 7, 918, 0, -21, "Spring of the tail wheel"),
    ),
    builds=(
        Build(
            "fin", ("fin", "rudder"), "frame", Thickness(6.35, 6.35, "flat"),
            Ribs(34.0, None, 4.8, "balsa-medium", False, False), Strip(9.5), Strip(6.4, None, "balsa-hard"),
            covering_g_m2=45.0, hinge_gap=0.8,
        ),
        Build(
            "tailplane", ("tailplane",), "sheet", Thickness(6.35, 6.35, "flat"),
            skin=Skin(6.35, "balsa-medium"), covering_g_m2=45.0, glue=0.03, hinge_gap=0.8,
        ),
    ),
    cg_from="mark",
    fuselage_width=92.0,
    flight=Flight(speed_m_s=12.5, propeller=Propeller(254.0, -6.0)),
)

MARSH_HARROW = Plan("marsh-harrow-52", BARE, TRACINGS, _draw(), SCAN)
