"""The aeroplane from above: its figure in mm against the design, and what of it is drawn where."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from driving import bare_sample
from msgspec.structs import replace
from PySide6.QtCore import QPointF
from PySide6.QtGui import QColor, QImage, QPainterPath
from PySide6.QtWidgets import QApplication

from app.kit.inks import mixed
from app.kit.theme import DAY
from app.side.from_above import FromAbove, Standing, times_as_large
from app.side.plan_form import PlanForm, plan_form
from core.design import Design, Mark, Node, Outline
from core.stability.surfaces import surface_form

CG = Mark(400.0, 0.0)


def _box(id: str, kind: str, x: float, z: float, long: float, high: float, **more: object) -> Outline:
    corners = ((x, z), (x, z + high), (x + long, z + high), (x + long, z))
    return Outline(id=id, kind=kind, nodes=tuple(Node(*c) for c in corners), **more)


def _area(path: QPainterPath) -> float:
    """mm², by the shoelace formula over the path's own polygons."""
    total = 0.0
    for polygon in path.toSubpathPolygons():
        x, y = np.array([(p.x(), p.y()) for p in polygon]).T
        total += 0.5 * abs(float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum()))
    return total


@pytest.mark.parametrize("slug", ["marsh-harrow-52", "tallow-twin", "long-meadow-2000"])
def test_surfaces_have_their_area_span_and_station(slug: str) -> None:
    design = bare_sample(slug)
    form = plan_form(design, CG)
    forms = [surface_form(s) for s in design.surfaces]
    assert _area(form.surfaces) == pytest.approx(sum(f.area for f in forms), rel=1e-6)
    box = form.surfaces.boundingRect()
    assert box.width() == pytest.approx(max(f.span for f in forms))
    front = min(s.le_x for surface in design.surfaces for s in surface.stations)
    assert box.top() == pytest.approx(front - CG.x)
    assert form.surfaces.contains(QPointF(20.0, design.wings[0].stations[0].le_x + 20.0 - CG.x))


def test_a_body_is_as_wide_as_it_is_deep_unless_its_width_is_known() -> None:
    design = Design(format=1, title="box", outlines=(_box("b", "fuselage", 0.0, -50.0, 900.0, 80.0),))
    body = plan_form(design, CG).bodies.boundingRect()
    assert (body.left(), body.right(), body.top(), body.bottom()) == pytest.approx((-40, 40, -400, 500))
    wide = plan_form(replace(design, fuselage_width=120.0), CG)
    assert wide.bodies.boundingRect().width() == pytest.approx(120.0)
    assert wide.nose == pytest.approx(400.0) and wide.reach == pytest.approx(500.0)


def test_a_pair_stands_where_its_distance_says() -> None:
    fin = _box("f", "fin", 1000.0, 0.0, 90.0, 120.0, count=2, apart=360.0)
    boom = _box("t", "other", 300.0, 0.0, 700.0, 20.0, count=2)
    form = plan_form(Design(format=1, title="pair", outlines=(fin, boom)), CG)
    box = form.fins.boundingRect()
    assert (box.left(), box.right(), box.top(), box.bottom()) == pytest.approx((-180, 180, 600, 690))
    booms = form.bodies.boundingRect()
    assert (booms.left(), booms.right()) == pytest.approx((-190, 190)), "under the fins, 20 mm thick"


def test_without_a_distance_the_tail_of_a_pair_stands_at_the_tips_of_the_tailplane() -> None:
    design = bare_sample("tallow-twin")
    design = replace(design, outlines=tuple(replace(o, apart=None) for o in design.outlines))
    tips = max(s.y for s in design.tailplanes[0].stations)
    box = plan_form(design, CG).fins.boundingRect()
    assert (box.left(), box.right()) == pytest.approx((-tips, tips))
    bare = plan_form(replace(design, tailplanes=()), CG)
    assert bare.fins.isEmpty(), "nobody can tell where"


def test_nothing_is_there_where_nothing_is_drawn() -> None:
    form = plan_form(Design(format=1, title="empty"), CG)
    assert form.surfaces.isEmpty() and form.bodies.isEmpty() and form.fins.isEmpty() and form.reach == 1.0


# What is drawn


@pytest.fixture
def view(qapp: QApplication) -> Iterator[FromAbove]:
    view = FromAbove(DAY)
    view.resize(360, 400)
    yield view
    view.deleteLater()


def _form() -> PlanForm:
    return plan_form(bare_sample(), CG)


def _standing(heading: float, spread: float = 0.0, name: str = "now") -> Standing:
    return Standing(_form(), heading, heading - spread, heading + spread, name)


def _spots(picture: QImage, colour: QColor) -> np.ndarray:
    """(N, 2) pixels of just that colour."""
    wanted = colour.rgb()
    places = ((x, y) for x in range(picture.width()) for y in range(picture.height()))
    return np.array([at for at in places if picture.pixel(*at) == wanted], dtype=float).reshape(-1, 2)


def _shown(view: FromAbove, now: Standing, kept: Standing | None = None, wind: float | None = None) -> QImage:
    view.show_standing(now, kept, wind, 1, now.form.reach)
    return view.grab().toImage()


@pytest.mark.parametrize("heading", [-120.0, -30.0, 0.0, 45.0, 170.0])
def test_the_nose_points_where_the_heading_says(view: FromAbove, heading: float) -> None:
    """The body's longer part, ahead or aft of the wing, tells which end is which."""
    form = plan_form(replace(bare_sample(), tailplanes=()), CG)
    picture = _shown(view, Standing(form, heading, heading, heading, "now"))
    wing = _spots(picture, mixed(DAY.tail, DAY.paper, 0.55))
    along = np.array([np.sin(np.radians(heading)), -np.cos(np.radians(heading))])
    body = _spots(picture, mixed(DAY.body, DAY.paper, 0.75))
    middle = wing.mean(axis=0)
    across = (body - middle) @ np.array([-along[1], along[0]])
    forward = (body - middle) @ along
    assert np.abs(across).max() < 14.0, "all of the body lies along the heading"
    assert forward.max() < -forward.min(), "and its tail is the longer end"


def test_a_kept_state_is_dashed_and_not_filled(view: FromAbove) -> None:
    alone = _shown(view, _standing(0.0))
    both = _shown(view, _standing(0.0), _standing(90.0, name="as drawn"))
    dashes = _spots(both, QColor(DAY.pick))
    assert len(_spots(alone, QColor(DAY.pick))) == 0 and len(dashes) > 40
    assert len(_spots(both, mixed(DAY.body, DAY.paper, 0.75))) == len(
        _spots(alone, mixed(DAY.body, DAY.paper, 0.75))
    )


@pytest.mark.parametrize(("wind", "side"), [(20.0, 1.0), (-20.0, -1.0)])
def test_the_wind_stands_on_the_side_that_it_comes_from(view: FromAbove, wind: float, side: float) -> None:
    ink = _spots(_shown(view, _standing(0.0), wind=wind), QColor(DAY.ink_soft))
    # Of the ticks as many stand on either side; the arrow makes the difference.
    assert float((side * (ink[:, 0] - 179.5) > 0).sum()) > 60 + float((side * (ink[:, 0] - 179.5) < 0).sum())
    assert view.accessibleDescription() == (
        f"heading straight ahead, wind from 20.0° to the {'right' if side > 0 else 'left'}"
    )


def test_the_fan_is_as_wide_as_the_band(view: FromAbove) -> None:
    paper = QColor(DAY.paper).rgb()
    narrow, wide = (_shown(view, _standing(0.0, spread), wind=45.0) for spread in (5.0, 20.0))

    def painted(picture: QImage, degrees: float) -> bool:
        """Ahead of the nose, some 130 px from the CG, which lies in the middle."""
        angle = np.radians(degrees)
        at = round(180.0 - 130.0 * np.sin(angle)), round(200.0 - 130.0 * np.cos(angle))
        return bool(picture.pixel(*at) != paper)

    assert [painted(narrow, a) for a in (2.0, 10.0, 17.0, 30.0)] == [True, False, False, False]
    assert [painted(wide, a) for a in (2.0, 10.0, 17.0, 30.0)] == [True, True, True, False]


def test_small_angles_are_drawn_larger_and_large_ones_as_they_are() -> None:
    assert [times_as_large(a) for a in (0.0, 7.0, 13.0, -15.0, 20.0, 30.0, 90.0)] == [4, 4, 4, 3, 2, 1, 1]
