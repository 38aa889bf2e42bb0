"""Pages of templates as PDFs: rasterised, their ink measured, their letters placed."""

from __future__ import annotations

import datetime
import math
from typing import Any

import numpy as np
import pypdfium2
import shapely
from numpy.typing import NDArray

from app.paper.pages import PAPERS, pdf
from app.paper.template import TemplateChoice, TemplatePlan, plan_template
from app.paper.template_page import MARK, template_sheet
from core.bench.tiling import Tile
from core.design import EMPTY, Design, Node, Outline

TODAY = datetime.date(2031, 3, 9)
DPI = 300
PER_MM = DPI / 25.4
Picture = NDArray[np.float64]

def traced(part_id: str, kind: Any, *corners: tuple[float, float], **more: Any) -> Outline:
    return Outline(part_id, kind, tuple(Node(x, z) for x, z in corners), **more)


def oval(part_id: str, x: float, z: float, long: float, high: float, **more: Any) -> Outline:
    a, b, k = long / 2, high / 2, 0.5523
    return Outline(part_id, "fuselage", (
        Node(x + a, z, (0, -k * b), (0, k * b)), Node(x, z + b, (k * a, 0), (-k * a, 0)),
        Node(x - a, z, (0, k * b), (0, -k * b)), Node(x, z - b, (-k * a, 0), (k * a, 0)),
    ), **more)


def planned(design: Design, paper: str = "a4", **asked: Any) -> TemplatePlan:
    return plan_template(design, TemplateChoice(PAPERS[paper], **asked), TODAY)


def pictures(plan: TemplatePlan) -> dict[Tile, Picture]:
    """The tiles' pages as grey pictures at DPI."""
    document = pypdfium2.PdfDocument(pdf(template_sheet(EMPTY, plan)))
    first = len(document) - len(plan.tiling.tiles)
    return {
        tile: document[first + i].render(scale=DPI / 72, grayscale=True).to_numpy().squeeze().astype(float)
        for i, tile in enumerate(plan.tiling.tiles)
    }


def text_of(plan: TemplatePlan) -> list[str]:
    document = pypdfium2.PdfDocument(pdf(template_sheet(EMPTY, plan)))
    return [" ".join(page.get_textpage().get_text_bounded().split()) for page in document]


def darkness(picture: Picture, at: NDArray[np.float64]) -> NDArray[np.float64]:
    """1 for black at places (..., 2) in pixels, (0, 0) the corner of the first; between pixels bilinear."""
    at = at - 0.5
    low = np.floor(at).astype(int)
    share = at - low
    x, y = np.clip(low[..., 0], 0, picture.shape[1] - 2), np.clip(low[..., 1], 0, picture.shape[0] - 2)
    sx, sy = share[..., 0], share[..., 1]
    found = (
        picture[y, x] * (1 - sx) * (1 - sy) + picture[y, x + 1] * sx * (1 - sy)
        + picture[y + 1, x] * (1 - sx) * sy + picture[y + 1, x + 1] * sx * sy
    )
    return np.asarray(1.0 - found / 255.0)


def mark_at(picture: Picture, x: float, y: float) -> NDArray[np.float64]:
    """The middle, in pixels, of the registration mark that is looked for near (x, y) mm of paper.

    Its two black quarters lie point-symmetric about its middle: the ink's centroid is the middle.
    """
    at = np.array((x, y)) * PER_MM
    for _ in range(3):
        r = 0.9 * MARK * PER_MM / math.sqrt(2)
        steps = np.linspace(-r, r, 81)
        grid = np.stack(np.meshgrid(steps, steps), axis=-1)
        ink = darkness(picture, at + grid)
        at = at + (grid * ink[..., None]).sum(axis=(0, 1)) / ink.sum()
    return at


def ends_of_bar(picture: Picture, x: float, y: float, length: float) -> tuple[float, float]:
    """First and last ink, in mm, on the level of the upper edge of a check bar that begins at (x, y)."""
    steps = np.arange(x - 2.0, x + length + 2.0, 0.01)
    level = np.full_like(steps, y + 0.06)
    ink = darkness(picture, np.stack((steps, level), axis=-1) * PER_MM)
    dark = steps[ink > 0.25]
    return float(dark[0]), float(dark[-1])


def edge_samples(plan: TemplatePlan, piece: int = 0) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Points every 2 mm on the true outline in mm of the drawing, and its outward normals; both (N, 2)."""
    ring = shapely.LinearRing(plan.drawing.pieces[piece].corners)
    s = np.arange(0.0, ring.length, 2.0)
    points, ahead, back = (
        shapely.get_coordinates(shapely.line_interpolate_point(ring, (s + d) % ring.length))
        for d in (0.0, 0.2, -0.2)
    )
    along = ahead - back
    # Not at a corner, where there is no normal.
    straight = np.hypot(*along.T) > 0.399
    normal = np.column_stack((along[:, 1], -along[:, 0])) / np.hypot(*along.T)[:, None]
    inside = shapely.contains_xy(plan.drawing.pieces[piece].region, *(points + normal).T)
    normal[inside] *= -1.0
    return points[straight], normal[straight]


def clear(plan: TemplatePlan, points: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which points lie 2 mm and more from all else that is drawn."""
    lines = [shapely.LineString((r.start, r.end)) for r in plan.drawing.references]
    lines += [shapely.LineString((h.start, h.end)).buffer(9.0) for h in plan.drawing.hinges]
    lines += [shapely.LineString(r) for r in plan.drawing.roots]
    lines += [shapely.LinearRing(p.corners) for p in plan.drawing.pieces[1:]]
    for tile in plan.tiling.tiles:
        lines += [shapely.LineString((j.start, j.end)).buffer(2.0) for j in plan.tiling.joins(tile)]
        lines += [shapely.Point(m).buffer(MARK) for m in plan.tiling.marks(tile)]
        u0, _, _, v1 = plan.tiling.core(tile)
        lines.append(shapely.box(u0, v1 - 9.0, u0 + 14.0, v1))
    away = shapely.distance(shapely.points(points), shapely.union_all(lines)) if lines else np.inf
    # The words along the lines stand up to 4 mm off.
    return np.asarray(away > 4.5) & np.ones(len(points), dtype=bool)


def ink_along(
    picture: Picture, pixels: NDArray[np.float64], normal: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """(inmost, outmost) mm of the ink across the outline at every point, positive outwards."""
    steps = np.arange(-1.2, 1.2, 0.01)
    across = np.stack((normal[:, 0], -normal[:, 1]), axis=-1)
    ink = darkness(picture, pixels[:, None] + steps[None, :, None] * across[:, None] * PER_MM)
    dark = ink > 0.45
    assert dark.any(axis=1).all()
    return steps[dark.argmax(axis=1)], steps[len(steps) - 1 - dark[:, ::-1].argmax(axis=1)]


def letters_on(plan: TemplatePlan) -> dict[Tile, list[tuple[str, Any]]]:
    """Every printed letter in the drawing's window by tile, with its box in mm of paper, y down."""
    document = pypdfium2.PdfDocument(pdf(template_sheet(EMPTY, plan)))
    first, mm = len(document) - len(plan.tiling.tiles), 25.4 / 72
    foot = plan.window[1] + plan.window[3]
    found: dict[Tile, list[tuple[str, Any]]] = {}
    for i, tile in enumerate(plan.tiling.tiles):
        page = document[first + i].get_textpage()
        found[tile] = []
        for k in range(page.count_chars()):
            letter = page.get_text_range(k, 1)
            left, bottom, right, top = (side * mm for side in page.get_charbox(k))
            if letter.strip() and plan.height - bottom <= foot:
                box = shapely.box(left, plan.height - top, right, plan.height - bottom)
                found[tile].append((letter, box))
    return found
