"""The example worked by hand in ``sample_designs/worked-example.md``: the program says the same.

Source: this project's own document, worked with a calculator from the formulas it states. Design and
figures are taken from the document itself, so the two cannot drift apart; a figure agrees when the
program prints the same digits.
"""

from __future__ import annotations

import re
from itertools import pairwise
from math import atan, cos, degrees, log, pi, radians, sin, sqrt
from pathlib import Path

import msgspec
import pytest

from core.design import Design
from core.design_file import decode
from core.stability.ballast import Balance, Ballast, ballast, weighed
from core.stability.readings import Readings, ReadingsEngine
from core.stability.wording import figure, fin_change
from core.units import format_area, format_length, format_mass

TEXT = (Path(__file__).resolve().parents[2] / "sample_designs" / "worked-example.md").read_text("utf-8")
STEPS, TABLES = TEXT.split("## The figures in one table")
DRAWN_TABLE, TALLER_TABLE, OTHER_TABLE = re.split(r"^Fin taller by 70:|^Not readings", TABLES, flags=re.M)
ROW = re.compile(r"^\| `(\w+)` \| (.+?) \|$", re.M)
DRAWN, TALLER = ROW.findall(DRAWN_TABLE), ROW.findall(TALLER_TABLE)
LAID = re.search(r"side force of ([\d ]+) mm²\s+times the sideslip, acting at station ([\d.]+)\.", STEPS)
assert LAID, "the document says what the lattice finds"
OTHER = dict(re.findall(r"^\| ([^|`]+?) \| ([^|]*\d[^|]*?) \|$", OTHER_TABLE, re.M))


def as_drawn() -> Design:
    """The design that stands in the document."""
    found = re.search(r"```json\n(.*?)```", TEXT, re.S)
    assert found
    return decode(found.group(1).encode())


def taller(design: Design, by: float = 70.0) -> Design:
    """Fin and rudder drawn up by ``by`` mm."""
    outlines = tuple(
        msgspec.structs.replace(o, nodes=tuple(
            msgspec.structs.replace(n, z=n.z + by) if n.z > 100 else n for n in o.nodes
        )) if o.kind in ("fin", "rudder") else o
        for o in design.outlines
    )
    return msgspec.structs.replace(design, outlines=outlines)


@pytest.fixture(scope="module")
def drawn() -> Readings:
    return ReadingsEngine().read(as_drawn())


@pytest.fixture(scope="module")
def mended() -> Readings:
    return ReadingsEngine().read(taller(as_drawn()))


def test_the_tables_were_found() -> None:
    assert len(DRAWN) >= 8 and len(TALLER) >= 30 and len(OTHER) == 3


@pytest.mark.parametrize(("key", "shown"), DRAWN)
def test_the_figures_as_drawn(drawn: Readings, key: str, shown: str) -> None:
    """Steps 1 to 3."""
    assert figure(key, drawn, "mm") == shown


@pytest.mark.parametrize(("key", "shown"), TALLER)
def test_the_figures_with_the_taller_fin(mended: Readings, key: str, shown: str) -> None:
    """Steps 4 to 10."""
    assert figure(key, mended, "mm") == shown


@pytest.mark.parametrize("shown", sorted({*(s for _, s in DRAWN + TALLER), *OTHER.values()}))
def test_every_figure_of_the_tables_is_the_result_of_a_step(shown: str) -> None:
    assert f"**{shown}**" in STEPS


def test_every_result_of_a_step_stands_in_a_table() -> None:
    results = {r for r in re.findall(r"\*\*([^*]+)\*\*", STEPS) if re.match(r"[−\d]", r)}
    assert results == {*(s for _, s in DRAWN + TALLER), *OTHER.values()}


def test_the_lead(drawn: Readings) -> None:
    """Step 1: without the lead, and how much of it brings the CG to where it is with it."""
    design = as_drawn()
    bare = msgspec.structs.replace(design, weights=tuple(w for w in design.weights if w.id != "lead"))
    now, lead = weighed(bare), ballast(bare, 460.0, 20.0)
    assert isinstance(now, Balance) and isinstance(lead, Ballast)
    assert format_length(now.x, "mm") == OTHER["CG without the lead"]
    assert format_mass(lead.grams, "mm") == OTHER["Lead at station 20"]
    assert drawn.value("cg_x") == pytest.approx(460.0, abs=1e-9)


def test_the_change_of_the_fin(drawn: Readings, mended: Readings) -> None:
    """Step 4: 8453 mm² are asked for, 120 × 70 = 8400 mm² are glued on, and the verdict turns."""
    change = fin_change(drawn, 0.25)
    assert change is not None
    assert format_area(change, "mm") == OTHER["Fin to add for 25 %"]
    assert (drawn["cla_fraction"].verdict, mended["cla_fraction"].verdict) == ("below", "within")


def test_the_steps_to_more_digits(mended: Readings) -> None:
    """The formulas of steps 7 to 10 as they stand in the document, written out: digits beyond those shown.

    The strips are 400 to a body and the tail 400 slices, 1e-5 and better for boxes; the lattice's force and
    station stand in the document to six digits.
    """
    slope = 2 * pi * 1.55 * 2.25 / (2 + sqrt(4 + (1.55 * 2.25) ** 2))
    wash = 0.724 + 3.06 * (26400 / 240000) / 2 + 0.4 * -0.6 + 0.009 * 6
    lift = 1.150 * 9.80665 / (0.5 * 1.225 * 12**2 * 0.24)
    # What only a computer can do is taken from the document: force and station as they stand there.
    side, station = (float(n.replace(" ", "")) for n in LAID.groups())
    book, lattice = wash * slope * 32400 * 450 / 2.88e8, 0.76 * 0.95 * side * (station - 460) / 2.88e8
    fin, body, wing = (book + lattice) / 2, -1.3 * pi / 4 * 1e7 / 2.88e8, lift**2 / (4 * pi * 6)
    propeller = 0.09 * pi * 125**2 / 240000 * -460 / 1200
    yaw = fin + body + propeller + wing
    phi = pi - 2 * atan(sqrt((1 - 0.2) / (1 + 0.2)))
    assert cos(phi) == pytest.approx(2 * 0.4 - 1)
    tau = (pi - phi + sin(phi)) / pi
    rudder = -0.9 * 0.8 * tau * (slope * 32400 * 450 + 0.95 * side * (station - 460)) / 2 / 2.88e8
    across = (1.02 * 1e5 * 40 + 0.15 * 32000 * 40 + 0.15 * 2880 * 480) / 2.88e8
    volume, held = 26400 * 450 / (240000 * 1200), mended.value("sideslip_full_rudder_deg")
    assert held is not None and held < 15 + 25 / (1.55 * 2.25)
    b = radians(held)
    assert yaw * sin(b) * cos(b) + across * sin(b) ** 2 == pytest.approx(-rudder * radians(15), rel=1e-4)
    spiral = 450 / 1200 * degrees(atan(0.1)) / lift
    k_a, k_h = 1 / 6 - 1 / (1 + 6**1.7), (1 - 90 / 1200) / (2 * 460 / 1200) ** (1 / 3)
    down = 4.44 * (k_a * k_h) ** 1.19
    a_w, a_t = 12 * pi / (2 + sqrt(40)), 2 * pi * 10 / 3 / (2 + sqrt(4 + (10 / 3) ** 2))
    strips = 400 + a_w / (2 * pi) * 100 * log(9) + (1 - down) * (310 / 2 + 90)
    on_wing, on_tail = 240000 * a_w, 0.9 * 48000 * a_t * (1 - down)
    neutral = (on_wing * 450 + on_tail * 910 - pi / 2 * 6400 * strips) / (on_wing + on_tail)
    expected = {
        "fin_lift_slope": slope, "sidewash_factor": wash, "fin_volume": volume, "lift_coefficient": lift,
        "cn_beta_fin_handbook": book, "cn_beta_fin_lattice": lattice, "cn_beta_fin": fin,
        "cn_beta_body": body, "cn_beta_propeller": propeller, "cn_beta": yaw,
        "rudder_effectiveness": tau, "cn_rudder": rudder, "spiral_parameter": spiral,
        "roll_coupling": spiral * volume, "downwash_slope": down, "neutral_point_x": neutral,
        "static_margin": (neutral - 460) / 200,
    }
    found = {key: mended.value(key) for key in expected}
    assert found == pytest.approx(expected, rel=2e-5)


def test_the_steps_are_numbered_in_order() -> None:
    numbers = [int(n) for n in re.findall(r"^## (\d+)\. ", STEPS, re.M)]
    assert all(b == a + 1 for a, b in pairwise(numbers)) and numbers[0] == 1
