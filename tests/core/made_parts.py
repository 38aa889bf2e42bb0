"""Parts made by hand for the sheets that show them: a solid fin, a frame, a ribbed one. mm, grams."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.design import Build, Design, Node, Outline
from core.materials import WOODS
from core.parts.part import Built, Drawn, Part, Role

FIN = ((0.0, 0.0), (70.0, 180.0), (150.0, 180.0), (150.0, 0.0))
RUDDER = ((150.0, 0.0), (150.0, 180.0), (200.0, 165.0), (210.0, 0.0))


def outline(part_id: str, kind: Any, *corners: tuple[float, float], **more: Any) -> Outline:
    return Outline(part_id, kind, tuple(Node(x + 700.0, z + 30.0) for x, z in corners), **more)


def design(*builds: Build, **more: Any) -> Design:
    outlines = (
        outline("hull", "fuselage", (-700, -60), (170, -60), (170, 2), (-700, 2), label="Hull"),
        outline("fin", "fin", *FIN, label="Fin"), outline("rudder", "rudder", *RUDDER, label="Rudder"),
    )
    return Design(1, "Plain Plank", outlines=outlines, builds=builds, **more)


def part(
    name: str, role: Role, edge: BaseGeometry, thick: float, *, count: int = 1,
    material: str = "balsa-medium",
    grain: float = 0.0, width: float | None = None, engraved: tuple[Any, ...] = (), build: str = "tail",
) -> Part:
    """A part whose volume is its area times its thickness; a stick's side view is ``width`` wide."""
    low_u, low_v, high_u, high_v = edge.bounds
    deep = width if role == "stick" and width is not None else thick
    volume = edge.area * deep
    return Part(
        f"{build}-{name.lower().replace(' ', '-')}", build, name, role, count, material,
        lambda: Drawn(edge, tuple(np.array(line, dtype=float) for line in engraved)),
        high_u - low_u, width if width is not None else high_v - low_v, thick, grain, volume,
        volume * count * WOODS[material].kg_m3 * 1e-6, 800.0, 100.0, (),
    )


def built(build: Build, *parts: Part, covering: float = 0.0, faults: tuple[str, ...] = ()) -> Built:
    wood = sum(p.grams for p in parts)
    glue = build.glue * wood
    return Built(build, parts, faults, wood, covering, glue, wood + covering + glue, 800.0, 100.0, 0.0, None)


def box(length: float, width: float) -> BaseGeometry:
    return shapely.box(0.0, 0.0, length, width)


def polygon(*corners: tuple[float, float]) -> BaseGeometry:
    return shapely.Polygon(corners)


def rib(chord: float, share: float, *, hole: bool = True) -> BaseGeometry:
    """The upper half of a symmetric section, a notch for a spar, a hole that lightens it."""
    x = (1 - np.cos(np.linspace(0, math.pi, 60))) / 2
    y = 5 * share * (0.2969 * np.sqrt(x) - 0.126 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1036 * x**4)
    form = shapely.Polygon(np.column_stack((x, y))[::1] * chord)
    cut = shapely.box(0.33 * chord, 0.5 * share * chord - 3.0, 0.33 * chord + 6.0, chord)
    form = form.difference(cut)
    if hole:
        form = form.difference(shapely.Point(0.55 * chord, 0.2 * share * chord).buffer(0.12 * share * chord))
    return form


def sheet_build() -> Built:
    made = Build("tail", ("fin", "rudder"), "sheet", covering_g_m2=60.0)
    fin = polygon((0, 0), (70, 180), (150, 180), (150, -30), (60, -30), (60, 0))
    fin = fin.difference(shapely.Point(110, 60).buffer(18))
    rudder = polygon((0, 0), (0, 180), (50, 165), (60, 0))
    mark = ((148.0, -28.0), (148.0, 178.0))
    return built(
        made, part("Fin", "sheet", fin, 6.0, grain=68.0, engraved=(mark,)),
        part("Rudder", "sheet", rudder, 6.0, grain=90.0), covering=7.2,
    )


def frame_build() -> Built:
    made = Build("tail", ("fin", "rudder"), "frame")
    parts = [
        part("Leading edge", "stick", polygon((0, 0), (193, 0), (190.6, 6), (2.3, 6)), 6.0, width=6.0),
        part("Hinge post", "stick", box(180, 6), 6.0, width=10.0, count=2, material="balsa-hard"),
        part("Root", "stick", box(150, 6), 6.0, width=6.0),
        part("Diagonal 1", "stick", polygon((4, 0), (90, 0), (84, 5), (0, 5)), 5.0, width=5.0, count=2),
        part("Gusset", "gusset", polygon((0, 0), (18, 0), (0, 18)), 1.5, count=8, grain=-45.0),
        part("Tip", "sheet", polygon((0, 0), (80, 0), (74, 8), (40, 12), (6, 9)), 6.0, grain=0.0),
    ]
    return built(made, *parts)


def ribbed_build(scale: float = 1.0) -> Built:
    made = Build("tail", ("fin", "rudder"), "ribbed", covering_g_m2=60.0)
    ribs = [
        part(f"Rib {i + 1}", "rib", rib(scale * (150 - 14 * i), 0.10), 2.4, count=2, grain=0.0)
        for i in range(6)
    ]
    skin = polygon((0, 0), (60, 0), (22, 190), (0, 190))
    skin = shapely.transform(skin, lambda p: np.asarray(p * scale))
    parts = [
        *ribs,
        part("Spar cap", "stick", polygon((0, 0), (184 * scale, 0), (182.9 * scale, 3), (1.1, 3)), 3.0,
             width=6.0, count=2, material="spruce"),
        part("Leading edge", "stick", polygon((0, 0), (195 * scale, 2.5), (195 * scale, 9.5), (0, 12)), 6.0,
             width=12.0, material="balsa-hard"),
        *(part(f"Web {i + 1}", "web", box(38, 12 - i), 1.5, grain=90.0) for i in range(5)),
        part("Skin of the fin", "skin", skin, 1.6, count=2, material="balsa-light", grain=101.3),
        part("Root tab", "tab", box(120, 31), 3.0, material="birch-ply", grain=0.0),
    ]
    return built(made, *parts, covering=6.1, faults=("rib 7 is shorter than its notches: leave it out",))
