"""Tallow Twin: a twin-boom, twin-fin pusher of 1400 mm, its motor on a pylon over the wing."""

from __future__ import annotations

import math

import numpy as np
import shapely
from paper import ScanPlan
from plan_parts import Plan
from shapely import box
from shaping import Tracing, area_of, bare, corner, curve, disc, outline, section_points
from sheet import CENTRE, DASH, HEAVY, MEDIUM, THIN, Sheet

from core.design import Design, Flight, Mark, Propeller, Section, Station, Tailplane, Weight, Wing
from core.design_build import Build, Ribs, Skin, Spar, Strip, Thickness

LE, CHORD, WING_Z, INCIDENCE = 250.0, 205.0, 72.0, 2.0
HINGE = 910.0
WING_SECTION = Section(thickness=0.12, camber=0.03, camber_at=0.4)

POD = outline(
    "pod",
    "fuselage",
    [
        curve(0, -10, 90),
        curve(62, 33, 22),
        curve(140, 49.5, 6),
        corner(236, 56, into=3),
        corner(356, 53, out=-6),
        curve(452, 12, -90),
        curve(318, -46, 189),
        curve(200, -54, 180),
        curve(80, -46, 170),
    ],
    label="Pod",
    grams=38.0,
)

CANOPY = outline(
    "canopy",
    "canopy",
    [
        corner(76, 37, out=35),
        curve(124, 65, 22),
        curve(182, 80, 5),
        bare(corner(258, 77, into=-8)),
        bare(corner(258, 48)),
        bare(corner(88, 26)),
    ],
    label="Canopy",
    grams=16.0,
)

BOOM = outline(
    "booms",
    "other",
    [
        curve(236, 54, 90),
        corner(274, 68, into=0),
        corner(HINGE, 52),
        corner(HINGE, 38),
        corner(274, 40.5, out=180),
    ],
    label="Booms",
    grams=15.0,
    count=2,
    stance="clear",
)

PYLON = outline(
    "pylon",
    "pylon",
    [
        corner(312, 54.1),
        bare(corner(331, 119.4)),
        bare(corner(337, 130)),
        bare(corner(419, 130)),
        corner(416, 118.2),
        bare(corner(400, 45.6)),
        bare(corner(394, 36)),
        bare(corner(318, 44)),
    ],
    label="Pylon",
    grams=26.0,
)

NACELLE = outline(
    "motor-nacelle",
    "nacelle",
    [
        curve(304, 137, 90),
        curve(372, 160, 0),
        corner(458, 151, into=-9),
        corner(458, 123, out=189),
        curve(372, 117, 180),
    ],
    label="Motor nacelle",
    grams=28.0,
)

FIN = outline(
    "fins",
    "fin",
    [
        corner(796, 54.9),
        curve(832, 150, 70),
        curve(864, 177, 12),
        corner(HINGE, 181, into=4),
        bare(corner(HINGE, 45)),
        bare(corner(804, 45)),
    ],
    label="Fins",
    grams=7.0,
    count=2,
    apart=300.0,
    stance="clear",
)

RUDDER = outline(
    "rudders",
    "rudder",
    [
        corner(HINGE, 181, out=4),
        curve(936, 171, -48),
        curve(960, 78, -86),
        curve(953, 18, -112),
        corner(930, -6, into=184),
        corner(HINGE, -6),
    ],
    label="Rudders",
    grams=6.0,
    count=2,
    apart=300.0,
    stance="clear",
)

NOSE_LEG = outline(
    "nose-leg",
    "gear leg",
    [
        corner(76, -124),
        bare(corner(82, -46.3)),
        bare(corner(83, -36)),
        bare(corner(94, -36)),
        corner(93, -48.1),
        corner(85, -124),
    ],
    label="Nose leg",
    grams=55.0,
    stroke=0.6,
)

MAIN_LEG = outline(
    "main-leg",
    "gear leg",
    [
        corner(344, -124),
        bare(corner(316, -46.3)),
        bare(corner(312, -36)),
        bare(corner(346, -34)),
        corner(348, -40.2),
        corner(356, -124),
    ],
    label="Main legs",
    grams=55.0,
    count=2,
    stance="joined",
    stroke=0.6,
)

NOSE_WHEEL = disc("nose-wheel", 80, -124, 27, label="Nose wheel", grams=65.0)
MAIN_WHEEL = disc("main-wheels", 350, -122, 29, label="Main wheels", grams=65.0, count=2)

TRACINGS: tuple[Tracing, ...] = (
    POD,
    CANOPY,
    BOOM,
    PYLON,
    NACELLE,
    FIN,
    RUDDER,
    NOSE_LEG,
    NOSE_WHEEL,
    MAIN_LEG,
    MAIN_WHEEL,
)


def _structure(sheet: Sheet) -> None:
    whole = area_of(POD).buffer(-0.8)
    sheet.inset(POD, 5.0, box(62, -200, 405, 200))
    for i, (x, z) in enumerate(((58, -24), (126, 20), (214, -34), (262, -34), (400, -4))):
        sheet.upright(whole, x, 4.0, f"S{i + 1}", z)
    sheet.within(whole, [(0, -10), (450, -10)], THIN, CENTRE)
    sheet.loop([(138, -48), (206, -48), (206, -20), (138, -20)], MEDIUM, DASH)
    sheet.text("BATTERY", 172, -34, 4.2)
    sheet.text("RX", 238, 8, 4.2)
    sheet.loop([(226, 0), (252, 0), (252, 18), (226, 18)], MEDIUM, DASH)
    glass = area_of(CANOPY).buffer(-4.5).intersection(box(90, 49, 240, 120))
    sheet.line(shapely.get_coordinates(glass), MEDIUM)
    sheet.within(area_of(CANOPY), [(150, 44), (158, 100)])
    for x in (350, 366):
        sheet.line([(x, 58), (x + 15, 119)], MEDIUM, DASH)
    sheet.loop([(404, 122), (440, 124), (440, 150), (404, 153)], MEDIUM)
    sheet.loop([(440, 129), (457, 129), (457, 145), (440, 145)], MEDIUM)
    sheet.text("MOTOR", 422, 138, 3.8)
    sheet.line([(458, 137), (478, 137)], MEDIUM)
    sheet.line([(466, 132), (466, 142)], MEDIUM)
    for side in (-1, 1):
        bow = [(466 + 4 * math.sin(s * math.pi), 137 + side * 102 * s) for s in np.linspace(0.06, 1, 14)]
        sheet.line(bow, THIN, DASH)
        sheet.line([(2 * 466 - x, z) for x, z in bow], THIN, DASH)
    sheet.within(area_of(BOOM), [(240, 54), (HINGE - 2, 45)], THIN, CENTRE)
    for x in (274, 296, 440, 454, 790, 806):
        sheet.within(area_of(BOOM).buffer(-0.6), [(x, -10), (x, 100)])
    frame = sheet.inset(FIN, 7.0, box(780, 57, HINGE - 5, 220))
    for z in (84, 112, 140):
        sheet.strip(frame, (800, z), (900, z), 4.0)
    flap = sheet.inset(RUDDER, 7.0)
    for z in (26, 62, 98, 136):
        sheet.strip(flap, (HINGE - 2, z), (990, z), 4.0)
    sheet.loop([(HINGE + 8, 50), (HINGE + 18, 50), (HINGE + 14, 36), (HINGE + 8, 36)], MEDIUM)


def _dimensions(sheet: Sheet) -> None:
    sheet.dimension((0, -12), (960, 78), 262, "960")
    sheet.dimension((0, -12), (LE, WING_Z), 240, "250")
    sheet.dimension((LE, WING_Z), (LE + CHORD, 65), 240, "205")
    sheet.dimension((LE + CHORD, 65), (HINGE, 181), 240, f"{HINGE - LE - CHORD:.0f}")
    sheet.dimension((HINGE, 181), (HINGE, -6), 988, "187", upright=True)
    sheet.dimension((80, -124), (350, -122), -178, "270")
    sheet.cg_sign(312, 34)
    sheet.leader("CG", 300, -100, (310, 24), 5)
    sheet.leader("MOTOR LEVEL WITH DATUM", 530, 196, (450, 154))
    sheet.leader("PROPELLER 203 mm", 530, 214, (468, 205))
    sheet.leader("CARBON TUBE, 28 TO 14 mm", 620, 106, (580, 62))
    sheet.leader("TAILPLANE BETWEEN THE BOOMS", 690, 206, (846, 57))
    sheet.leader("PYLON 4 mm PLY", 200, 172, (330, 108))
    sheet.leader("LEG, PLY 9 mm WIDE", 150, -92, (90, -92))
    sheet.leader("HATCH", 60, 118, (128, 68))
    sheet.grain(872, 126, 22, 72)


def _draw() -> Sheet:
    sheet = Sheet()
    _structure(sheet)
    for tracing in TRACINGS:
        sheet.tracing(tracing)
    sheet.loop(section_points((LE, WING_Z), CHORD, INCIDENCE, 0.12, 0.03, 0.4), MEDIUM, DASH)
    sheet.loop(section_points((266, 107.7), 160, 1.0, 0.12, 0.03, 0.4), THIN, DASH)
    sheet.loop(section_points((812, 47), 124, -1.0, 0.08, 0.0, 0.4), MEDIUM, DASH)
    for x, z, radius in ((80, -124, 27), (350, -122, 29)):
        sheet.circle(x, z, radius * 0.5)
        sheet.circle(x, z, radius * 0.13)
        sheet.line([(x - radius * 0.38, z), (x + radius * 0.38, z)], THIN)
        sheet.line([(x, z - radius * 0.38), (x, z + radius * 0.38)], THIN)
    sheet.line([(-30, 0), (1000, 0)], THIN, CENTRE)
    sheet.text("DATUM", 700, 5, 4.2)
    sheet.line([(-20, -151), (560, -151)], MEDIUM)
    _dimensions(sheet)
    sheet.title_block(
        640,
        -186,
        346,
        "TALLOW TWIN",
        [
            ("SPAN", "1400 mm"),
            ("SHEET", "2: SIDE VIEW"),
            ("AREA", "26 sq dm"),
            ("SCALE", "1 : 1"),
            ("WEIGHT", "1530 g"),
            ("DRAWN", "M. LARK"),
            ("PROFILE", "12 %, 3 % CAMBER"),
            ("REVISED", "RUDDERS ENLARGED"),
        ],
        17,
    )
    sheet.scale_bar(620, -100, 20, 10, ["0", "", "", "", "", "100", "", "", "", "", "200"], "mm")
    frame = [(-48, -196), (1010, -196), (1010, 276), (-48, 276)]
    sheet.loop(frame, HEAVY)
    return sheet


SCAN = ScanPlan(
    file="tallow-twin-side-view.jpg",
    make="colour jpeg",
    dpi=100.0,
    turn_deg=-1.2,
    left=-88.0,
    right=1050.0,
    bottom=-236.0,
    top=316.0,
    seed=1402,
    folds_x=(208.0, 480.0, 752.0),
    folds_z=(40.0,),
    bed=22.0,
    stain=(560.0, -62.0, 40.0),
)

BARE = Design(
    format=1,
    title="Tallow Twin",
    notes="A pusher built to carry a camera ahead of everything: the motor sits on a pylon so that the "
    "propeller turns clear of the pod and between the booms. After the first season both rudders were made "
    "larger, and now it holds its heading almost too well for tight circling.",
    display_units="mm",
    counts_seen=("nose-leg", "nose-wheel"),
    wings=(
        Wing(
            "wing",
            (
                Station(0.0, LE, CHORD, WING_Z),
                Station(150.0, LE, CHORD, WING_Z),
                Station(660.0, 266.0, 160.0, 107.7),
                Station(700.0, 280.0, 122.0, 110.5),
            ),
            label="Wing",
            incidence_deg=INCIDENCE,
            section=WING_SECTION,
        ),
    ),
    tailplanes=(
        Tailplane(
            "tailplane",
            (Station(0.0, 812.0, 124.0, 47.0), Station(150.0, 812.0, 124.0, 47.0)),
            label="Tailplane",
            incidence_deg=-1.0,
            section=Section(thickness=0.08),
            elevator_chord_fraction=0.3,
        ),
    ),
    cg_mark=Mark(312.0, 34.0),
    weights=(
        Weight("camera", 158, 44, 0, -4, "Camera"),
        Weight("battery", 262, 172, 0, -34, "Battery"),
        Weight("receiver", 16, 239, 0, 9, "Receiver"),
        Weight("controller", 42, 352, 0, 96, "Controller"),
        Weight("motor", 138, 440, 0, 137, "Motor and propeller"),
        Weight("nacelle", 26, 370, 0, 132, "Motor mount and bolts"),
        Weight("pod", 80, 177, 0, -3, "Formers, floor and fittings"),
        Weight("wing", 362, 352, 0, 84, "Wing with servos"),
        Weight("boom-left", 8, 613, -150, 56, "Left boom's sockets"),
        Weight("boom-right", 8, 613, 150, 56, "Right boom's sockets"),
        Weight("tail", 14, 868, 0, 90, "Hinges and horns"),
        Weight("tail-servos", 26, 792, 0, 50, "Tail servos"),
        Weight("gear", 15, 390, 0, -110, "Axles and collars"),
    ),
    builds=(
        Build(
            "fins", ("fins", "rudders"), "sheet", Thickness(4.8, 4.8, "flat"), skin=Skin(4.8, "balsa-medium"),
            covering_g_m2=30.0, glue=0.03,
        ),
        Build(
            "tailplane", ("tailplane",), "frame", Thickness(6.4, 6.4, "flat"),
            Ribs(38.0, None, 4.8, "balsa-medium", False, False), Strip(9.5), Strip(6.4, None, "balsa-hard"),
            (Spar(0.32, (9.5, 6.4), None, "balsa-hard"),), covering_g_m2=30.0,
        ),
    ),
    cg_from="mark",
    fuselage_width=96.0,
    flight=Flight(speed_m_s=13.0, propeller=Propeller(228.6, 466.0)),
)

TALLOW_TWIN = Plan("tallow-twin", BARE, TRACINGS, _draw(), SCAN)
