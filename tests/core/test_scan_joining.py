"""Sheets joined by points that both show: a plan torn in two, laid askew, and put together again."""

from __future__ import annotations

import math

import numpy as np
import pytest
from cameras import Array, pairs
from making import box, design_of
from msgspec.structs import replace

from core.design import Design, Mark, Scan
from core.geometry.plane import mapped
from core.redesign import scan_plane as planes
from core.redesign.outline_edits import EditError
from core.redesign.scan_edits import matrix_of, similarity


def torn(turn: float, factor: float, scale_from: str) -> tuple[Design, Array]:
    """Two sheets of one plan, "left" in its place, "right" lying askew below; and the map that set it so.

    On the plan "right" covers x 180 to 400; a fin at (300..340, 60..110) was traced on it where it lies.
    """
    set_so = similarity(factor, turn, (300.0, 100.0))
    set_so[1, 2] -= 400.0
    place = ((0.1, 0.0, 180.0), (0.0, -0.1, 150.0), (0.0, 0.0, 1.0))
    left = Scan("left", "left.png", to_mm=((0.1, 0, 0.0), (0, -0.1, 150.0), (0, 0, 1)), scale_from="dpi")
    right = Scan(
        "right", "right.png", to_mm=matrix_of(set_so @ np.array(place)), locked=False,
        scale_from=scale_from,  # type: ignore[arg-type]
    )
    nodes = mapped(set_so, np.array(((300.0, 60.0), (340.0, 60.0), (340.0, 110.0))))
    fin = replace(box("fin", "fin", 0, 0, 1, 1), nodes=tuple(
        replace(n, x=float(x), z=float(z))
        for n, (x, z) in zip(box("fin", "fin", 0, 0, 1, 1).nodes, nodes, strict=False)
    ))
    body = box("body", "fuselage", 20, 40, 150, 90)
    return design_of(body, fin, scans=(left, right), cg_mark=Mark(60, 3000)), set_so


SHEETS = {"left": (2200.0, 1500.0), "right": (2200.0, 1500.0)}
SHARED = np.array(((195.0, 20.0), (205.0, 130.0)))


@pytest.mark.parametrize(("scale_from", "factor"), [("dpi", 1.0), ("none", 2.54), ("none", 0.3)])
@pytest.mark.parametrize("turn", [0.0, -4.0, 175.0])
def test_a_sheet_joined_by_two_shared_points_lies_where_it_was_torn_off(
    scale_from: str, factor: float, turn: float
) -> None:
    before, set_so = torn(turn, factor, scale_from)
    given = tuple(zip(pairs(mapped(set_so, SHARED)), pairs(SHARED), strict=True))
    done = planes.join(before, "right", "left", given, SHEETS)
    right = done.design.scan("right")
    assert np.array(right.to_mm) == pytest.approx(
        np.array(((0.1, 0.0, 180.0), (0.0, -0.1, 150.0), (0.0, 0.0, 1.0))), abs=1e-9
    )
    assert right.locked and right.scale_from == "dpi" and done.misfit == pytest.approx(0, abs=1e-9)
    assert done.design.scan("left") == before.scan("left")
    fin = [(n.x, n.z) for n in done.design.outline("fin").nodes]
    assert np.array(fin) == pytest.approx(np.array(((300, 60), (340, 60), (340, 110))), abs=1e-9)
    # What lies on the other sheet, or on none, stays where it is.
    assert done.design.outline("body") is before.outline("body") and done.design.cg_mark == before.cg_mark


def test_a_sheet_keeps_its_own_scale_and_the_misfit_is_said() -> None:
    before, set_so = torn(12.0, 1.0, "points")
    far = SHARED + np.array(((0.0, -0.4), (0.0, 0.4)))
    given = tuple(zip(pairs(mapped(set_so, SHARED)), pairs(far), strict=True))
    done = planes.join(before, "right", "left", given, SHEETS)
    matrix = np.array(done.design.scan("right").to_mm)
    assert np.hypot(*matrix[:2, :2]) == pytest.approx((0.1, 0.1)), "a rigid turn and shift"
    assert done.misfit == pytest.approx(math.dist(*far) - math.dist(*SHARED))
    assert done.design.scan("right").scale_from == "points"


@pytest.mark.parametrize(
    ("case", "why"),
    [
        ("one pair", "one more pair"), ("same sheet", "both points lie on one sheet"),
        ("together", "fall together"), ("no scale there", "set its scale first"),
        ("tiny", "ten thousandfold"),
    ],
)
def test_a_join_that_cannot_be_is_refused(case: str, why: str) -> None:
    before, set_so = torn(0.0, 1.0, "none" if case == "tiny" else "dpi")
    given = tuple(zip(pairs(mapped(set_so, SHARED)), pairs(SHARED), strict=True))
    onto = "right" if case == "same sheet" else "left"
    if case == "one pair":
        given = given[:1]
    elif case == "together":
        given = (given[0], given[0])
    elif case == "tiny":
        given = (given[0], ((given[0][0][0] + 1e-4, given[0][0][1]), given[1][1]))
    elif case == "no scale there":
        before = replace(before, scans=(replace(before.scans[0], scale_from="none"), before.scans[1]))
    with pytest.raises(EditError, match=why):
        planes.join(before, "right", onto, given, SHEETS)
