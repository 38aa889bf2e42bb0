"""Parts for a laser or a knife, read back by other means: closed once, nothing twice, true size, apart.

The DXF by ezdxf's own reader and its audit, the SVG by the standard library's XML and a path reader of a
few lines here; distances and areas by shapely. Nothing of the writer is used to check it.
"""

from __future__ import annotations

import io
import math
import os
import re
import subprocess
import sys
from collections import Counter
from pathlib import Path
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pytest
import shapely
import svgelements
from ezdxf.document import Drawing
from msgspec.structs import replace
from shapely import Polygon, box
from shapely.geometry import Point

from core.design import EMPTY, Build, Material, Scan
from core.design_build import BuildWay, Ribs, Skin, Spar, Strip, Thickness
from core.design_file import read
from core.exchange.faults import ExchangeError
from core.exchange.parts_out import laid_out, parts_dxf, parts_svg
from core.exchange.strokes import spelt, strokes, width
from core.parts.built import all_built
from core.parts.part import Array, Built, Drawn, Part, Role

SAMPLES = Path(__file__).resolve().parents[2] / "sample_designs"
SVG = "{http://www.w3.org/2000/svg}"
NO_GRAIN = math.nan
GAP = 3.0


def part(
    name: str, outline: Polygon, count: int = 1, *, role: Role = "rib", grain: float = 0.0,
    thick: float = 1.6, material: str = "balsa-light", engraved: tuple[Array, ...] = (),
) -> Part:
    low_u, low_v, high_u, high_v = outline.bounds
    return Part(
        f"tail-{name}", "tail", name, role, count, material, lambda: Drawn(outline, engraved),
        high_u - low_u, high_v - low_v, thick, grain, outline.area * thick, 0.0, 0.0, 0.0, (),
    )


def built(*parts: Part, faults: tuple[str, ...] = ()) -> Built:
    return Built(Build("tail", ("fin",)), parts, faults, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, None)


RIB = box(0, 0, 160, 20).difference(Point(50, 10).buffer(6)).difference(box(80, 0, 83, 3))
FIN = Polygon([(0, 0), (150, 0), (160, 180), (90, 200)])
MARK = np.array([(20.0, 10.0), (60.0, 10.0), (140.0, 10.0)])
PARTS = (
    part("Fin", FIN, role="sheet", grain=70.0, thick=3.0, engraved=(MARK, MARK[::-1], MARK[:2])),
    part("Rib 3, left", RIB, 5, material="balsa-medium", thick=2.4),
    part("Web", box(0, 0, 38, 9), 6, role="web", grain=90.0),
    part("Gusset", Polygon([(0, 0), (9, 0), (0, 9)]), 8, role="gusset", grain=NO_GRAIN),
    part("Skin", Polygon([(0, 0), (420, 0), (380, 160), (30, 160)]), 2, role="skin"),
    part("Cap", box(0, 0, 200, 6), 4, role="stick"),
)
COUNTS = {"tail-Fin": 1, "tail-Rib 3, left": 5, "tail-Web": 6, "tail-Gusset": 8, "tail-Skin": 2}
ALL = built(*PARTS)


def drawing_of(data: bytes) -> Drawing:
    found = ezdxf.read(io.StringIO(data.decode()))
    audit = found.audit()
    assert not audit.has_errors and not audit.has_fixes
    return found


def dxf_rings(data: bytes, what: str = "cut") -> list[tuple[str, str, bool, np.ndarray]]:
    """(part, copy's words, closed, points) of each line of that kind."""
    found = []
    for entity in drawing_of(data).modelspace():
        assert entity.dxftype() == "LWPOLYLINE"
        if entity.dxf.layer.startswith(f"{what}-"):
            ids, words = (value for code, value in entity.get_xdata("STERNPOST"))
            points = np.array([(x, y) for x, y, *_ in entity.get_points()])
            assert not any(point[4] for point in entity.get_points())  # no bulges
            found.append((ids, words, bool(entity.closed), points))
    return found


def svg_rings(data: bytes, what: str = "cut") -> list[tuple[str, str, bool, np.ndarray]]:
    root = ElementTree.fromstring(data)
    found = []
    for group in root.findall(f"{SVG}g"):
        if not group.attrib["id"].startswith(f"{what}-"):
            continue
        for path in group.findall(f"{SVG}path"):
            rest = path.attrib["d"]
            runs = re.findall(r"M ([^MZ]*?)( Z)?(?= M |$)", rest)
            # Everything in the data was read.
            assert " ".join(f"M {run}{end}" for run, end in runs) == rest
            for run, end in runs:
                points = np.array([[float(v) for v in p.split(",")] for p in run.split(" L ")])
                found.append((path.attrib["data-part"], path.attrib["data-copy"], end == " Z", points))
    return found


READERS = [pytest.param(parts_dxf, dxf_rings, id="dxf"), pytest.param(parts_svg, svg_rings, id="svg")]


def pieces_of(rings: list) -> dict[tuple[str, str], Polygon]:
    """Each piece as a polygon: its largest ring round all others, which are holes."""
    grouped: dict[tuple[str, str], list[Polygon]] = {}
    for ids, copy, closed, points in rings:
        assert closed
        # Closed by the flag or Z alone: the first place is not there twice.
        assert np.hypot(*(points[0] - points[-1])) > 1e-6
        ring = Polygon(points)
        assert ring.is_valid and ring.area > 0.0
        grouped.setdefault((ids, copy), []).append(ring)
    found = {}
    for key, several in grouped.items():
        # Holes come first: a piece that is cut free may shift.
        *holes, edge = several
        assert all(edge.contains(hole) for hole in holes)
        found[key] = Polygon(edge.exterior, [hole.exterior for hole in holes])
    return found


@pytest.mark.parametrize(("write", "read"), READERS)
def test_every_piece_is_there_as_often_as_needed_at_its_true_size(write, read) -> None:
    pieces = pieces_of(read(write(EMPTY, (ALL,))))
    assert Counter(ids for ids, _ in pieces) == COUNTS
    wanted = {p.id: p.outline for p in PARTS}
    for (ids, _), piece in pieces.items():
        assert piece.area == pytest.approx(wanted[ids].area, rel=1e-8)
        assert piece.length == pytest.approx(wanted[ids].length, rel=1e-8)
        assert len(piece.interiors) == len(wanted[ids].interiors)


@pytest.mark.parametrize(("write", "read"), READERS)
@pytest.mark.parametrize("kerf", [0.0, 0.3])
def test_pieces_are_apart_and_no_line_is_there_twice(write, read, kerf: float) -> None:
    data = write(EMPTY, (ALL,), kerf=kerf)
    shapes = list(pieces_of(read(data)).values())
    near = [shapely.distance(one, other) for i, one in enumerate(shapes) for other in shapes[:i]]
    assert min(near) >= GAP - 1e-6
    edges: Counter = Counter()
    for what in ("cut", "engrave"):
        for _, _, closed, points in read(data, what):
            ring = np.vstack((points, points[:1])) if closed else points
            for a, b in zip(ring[:-1].round(4).tolist(), ring[1:].round(4).tolist(), strict=True):
                edges[tuple(sorted((tuple(a), tuple(b))))] += 1
    assert set(edges.values()) == {1}


@pytest.mark.parametrize(("write", "read"), READERS)
def test_what_is_engraved_lies_within_its_piece_and_meets_no_cut(write, read) -> None:
    data = write(EMPTY, (ALL,))
    pieces = pieces_of(read(data))
    marked = set()
    for ids, copy, closed, points in read(data, "engrave"):
        assert not closed
        line = shapely.LineString(points)
        assert pieces[ids, copy].contains(line)
        assert pieces[ids, copy].boundary.distance(line) > 0.04
        marked.add((ids, copy))
    assert marked == set(pieces)
    # The fin's mark stands there once, though it was asked for three times.
    long = [p for ids, _, _, p in read(data, "engrave") if ids == "tail-Fin" and np.ptp(p, axis=0).max() > 30]
    assert sum(shapely.LineString(p).length for p in long) == pytest.approx(120.0)


@pytest.mark.parametrize(("write", "read"), READERS)
def test_the_kerf_grows_edges_and_shrinks_holes_by_half(write, read) -> None:
    plain = box(0, 0, 60, 40).difference(box(10, 10, 20, 16))
    one = built(part("Plate", plain, grain=NO_GRAIN))
    (piece,) = pieces_of(read(write(EMPTY, (one,), kerf=0.4))).values()
    outer, hole = Polygon(piece.exterior), Polygon(piece.interiors[0])
    # Corners stay corners: exact rectangles.
    assert outer.area == pytest.approx(60.4 * 40.4, rel=1e-9) and len(piece.exterior.coords) == 5
    assert hole.area == pytest.approx(9.6 * 5.6, rel=1e-9)
    # What is left when the beam has gone along the line is the part.
    left = piece.buffer(-0.2, join_style="mitre")
    assert left.area == pytest.approx(plain.area, rel=1e-9)


def test_what_the_kerf_closes_is_named() -> None:
    plain = box(0, 0, 60, 40).difference(box(10, 10, 20, 10.3)).difference(box(30, 20, 30.3, 40))
    notes = laid_out(EMPTY, (built(part("Plate", plain)),), 0.4).notes
    assert [n.split(",")[0] for n in notes] == [
        "Plate: a hole is narrower than the kerf of 0.40 mm and not cut",
        "Plate: a notch or gap is narrower than the kerf of 0.40 mm and not cut",
    ]
    assert laid_out(EMPTY, (built(part("Plate", plain)),), 0.2).notes == ()
    ((_, _, _, points),) = dxf_rings(parts_dxf(EMPTY, (built(part("Plate", plain)),), kerf=0.4))
    assert Polygon(points).area == pytest.approx(60.4 * 40.4)


def test_a_pointed_rib_is_no_fault_of_the_kerf() -> None:
    pointed = Polygon([(0, 0), (150, 6), (0, 30)]).difference(Polygon([(0, 10), (60, 11), (0, 20)]))
    assert laid_out(EMPTY, (built(part("Wedge", pointed)),), 0.5).notes == ()


def test_sticks_and_faults_are_told_in_the_result_and_in_the_files() -> None:
    one = built(*PARTS, faults=("Rib 9 is shorter than its notches",))
    notes = laid_out(EMPTY, (one,)).notes
    assert notes == ("left out, cut from stick: 4 × Cap", "Rib 9 is shorter than its notches")
    described = ElementTree.fromstring(parts_svg(EMPTY, (one,))).findtext(f"{SVG}desc") or ""
    told = dict(drawing_of(parts_dxf(EMPTY, (one,))).header.custom_vars)
    for at, note in enumerate(notes, 1):
        assert note in described and told[f"Note {at}"] == note


def test_layers_say_material_thickness_and_what_to_do() -> None:
    one = built(*PARTS, part("Odd", box(0, 0, 30, 30), material="Föhre <A>", thick=0.5))
    design = replace(EMPTY, materials=(Material("Föhre <A>", "Föhre", 500.0),))
    wanted = {
        f"{what}-{name}" for what in ("cut", "engrave", "notes")
        for name in ("balsa-light-1.6mm", "balsa-light-3mm", "balsa-medium-2.4mm", "Fohre-A-0.5mm")
    }
    drawing = drawing_of(parts_dxf(design, (one,)))
    layers = {layer.dxf.name: layer for layer in drawing.layers}
    assert wanted <= set(layers)
    assert all(layers[name].dxf.plot == (not name.startswith("notes")) for name in wanted)
    assert {e.dxf.layer for e in drawing.modelspace()} == wanted
    root = ElementTree.fromstring(parts_svg(design, (one,)))
    assert {g.attrib["id"] for g in root.findall(f"{SVG}g")} == wanted
    # A colour for each kind.
    assert len({(g.attrib["id"].split("-")[0], g.attrib["stroke"]) for g in root.findall(f"{SVG}g")}) == 3


def test_units_and_extents_are_declared() -> None:
    drawing = drawing_of(parts_dxf(EMPTY, (ALL,)))
    assert drawing.header["$INSUNITS"] == 4 and drawing.header["$MEASUREMENT"] == 1
    points = np.array([p[:2] for e in drawing.modelspace() for p in e.get_points()])
    assert drawing.header["$EXTMIN"][:2] == pytest.approx(points.min(axis=0))
    assert drawing.header["$EXTMAX"][:2] == pytest.approx(points.max(axis=0))
    root = ElementTree.fromstring(parts_svg(EMPTY, (ALL,)))
    left, top, wide, high = map(float, root.attrib["viewBox"].split())
    assert (root.attrib["width"], root.attrib["height"]) == (f"{wide:g}mm", f"{high:g}mm")
    for _, _, _, ring in svg_rings(parts_svg(EMPTY, (ALL,))):
        assert (ring > (left, top)).all() and (ring < (left + wide, top + high)).all()


def test_the_same_design_gives_the_same_bytes() -> None:
    for write in (parts_dxf, parts_svg):
        assert write(EMPTY, (ALL,), kerf=0.15) == write(EMPTY, (ALL,), kerf=0.15)


def test_both_files_say_the_same() -> None:
    """SVG's y runs down, DXF's up."""
    one, other = dxf_rings(parts_dxf(EMPTY, (ALL,))), svg_rings(parts_svg(EMPTY, (ALL,)))
    by_svg = sorted((ids, *np.abs(p).sum(axis=0).round(3)) for ids, _, _, p in other)
    assert sorted((ids, *np.abs(p).sum(axis=0).round(3)) for ids, _, _, p in one) == by_svg


def test_the_grain_runs_along_the_sheet() -> None:
    """A long slender part whose grain lies across it comes to stand upright, one along it lies."""
    along, across = part("Along", box(0, 0, 80, 10)), part("Across", box(0, 0, 80, 10), grain=90.0)
    slant = Polygon([(0, 0), (40, 40), (35, 45), (-5, 5)])
    pieces = pieces_of(dxf_rings(parts_dxf(EMPTY, (built(along, across, part("Slant", slant, grain=45.0)),))))
    sides = {ids: np.ptp(np.array(p.exterior.coords), axis=0) for (ids, _), p in pieces.items()}
    assert sides["tail-Along"] == pytest.approx((80, 10)) and sides["tail-Across"] == pytest.approx((10, 80))
    assert sides["tail-Slant"] == pytest.approx((40 * 2**0.5, 5 * 2**0.5))


def test_nothing_is_mirrored() -> None:
    """An L seen from its front: going round anticlockwise, its inner corner follows the long arm's end."""
    ell = Polygon([(0, 0), (60, 0), (60, 10), (10, 10), (10, 30), (0, 30)])
    (_, _, _, points), = dxf_rings(parts_dxf(EMPTY, (built(part("Ell", ell, grain=30.0)),)))
    ring = points if Polygon(points).exterior.is_ccw else points[::-1]
    edges = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
    assert np.roll(edges, -int(np.argmax(edges))) == pytest.approx([60, 10, 50, 20, 10, 30])


def test_a_name_too_long_or_in_other_letters_becomes_a_number_that_the_notes_explain() -> None:
    small = part("Gusset with a long name", box(0, 0, 12, 12), 2)
    other = part("翼", box(0, 0, 60, 60))
    laid = laid_out(EMPTY, (built(small, other),))
    assert len(laid.blocks) == 1
    for number, piece in ((1, small), (2, other)):
        drawn = [p for p in laid.blocks[0].pieces if p.part is piece]
        assert all(len(p.marks) == len(strokes(str(number), 0, 0, 1)) for p in drawn)


def test_a_piece_too_thin_for_a_number_has_it_beside_itself_clear_of_all_pieces() -> None:
    thin = part("Rib with a long name", box(0, 0, 60, 1.4), 40, material="balsa-medium")
    plate = part("Plate", box(0, 0, 80, 60), 2, material="balsa-medium")
    (block,) = laid_out(EMPTY, (built(thin, plate),)).blocks
    plates = [shapely.Polygon(p.rings[-1]) for p in block.pieces]
    assert [len(p.marks) > 0 for p in block.pieces].count(False) == 40
    _, *notes = block.notes
    inside = [line for line in notes if line[:, 1].max() < block.box[3]]
    # The figure 1 is two strokes.
    assert len(inside) == 2 * 40
    for figure in zip(inside[::2], inside[1::2], strict=True):
        near = sorted(shapely.MultiLineString(list(figure)).distance(plate) for plate in plates)
        assert near[0] == pytest.approx(0.5) and near[1] > 0.5


def test_faults_are_one_sentence() -> None:
    stick = part("Cap", box(0, 0, 200, 6), role="stick")
    with pytest.raises(ExchangeError, match="no part that is cut from sheet"):
        parts_svg(EMPTY, (built(stick),))
    with pytest.raises(ExchangeError, match="trace the fin"):
        parts_svg(EMPTY, (built(faults=("trace the fin",)),))
    with pytest.raises(ExchangeError, match="kerf: found 9 mm"):
        parts_dxf(EMPTY, (ALL,), kerf=9.0)
    with pytest.raises(ExchangeError, match="kerf"):
        parts_dxf(EMPTY, (ALL,), kerf=math.nan)
    with pytest.raises(ExchangeError, match="no full size without a scale"):
        parts_dxf(replace(EMPTY, scans=(Scan("plan", "plan.png", scale_from="none"),)), (ALL,))
    with pytest.raises(ExchangeError, match="found 3000 pieces"):
        parts_dxf(EMPTY, (built(part("Rib", RIB, 3000)),))


def test_letters_are_lines_apart_and_no_two_alike() -> None:
    text = spelt("Träger–Rippe 3½ “links”")
    assert text == 'TRAGER-RIPPE 31/2 "LINKS"'
    assert spelt("翼") is None and spelt(" ") is None
    letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-.,:;/()×+'°=&#%_!?\""
    drawn = set()
    for letter in letters:
        lines = strokes(letter, 0.0, 0.0, 6.0)
        points = np.vstack(lines)
        assert points.min() >= 0.0 and points[:, 0].max() <= 4.0 and points[:, 1].max() <= 6.0
        segments = [
            tuple(sorted((tuple(a), tuple(b)))) for line in lines
            for a, b in zip(line[:-1].tolist(), line[1:].tolist(), strict=True)
        ]
        assert len(set(segments)) == len(segments)
        drawn.add(tuple(sorted(segments)))
    assert len(drawn) == len(letters)
    assert width("AB", 6.0) == 10.0


def test_another_run_writes_the_same_bytes() -> None:
    """Sets are gone through in another order in every process."""
    code = (
        "import sys; sys.path[:0] = ['tests/core']; import hashlib; import test_exchange_parts as t;"
        "print(hashlib.sha256(t.parts_dxf(t.EMPTY, (t.ALL,)) + t.parts_svg(t.EMPTY, (t.ALL,))).hexdigest())"
    )
    root = Path(__file__).resolve().parents[2]
    told = {
        subprocess.run(
            [sys.executable, "-c", code], env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(root)},
            capture_output=True, text=True, check=True, timeout=60, cwd=root,
        ).stdout for seed in ("1", "2")
    }
    assert len(told) == 1


@pytest.mark.parametrize("slug", ["marsh-harrow-52", "tallow-twin", "long-meadow-2000"])
@pytest.mark.parametrize("way", ["sheet", "frame", "ribbed"])
def test_the_samples_tails_are_there_whole_and_apart(slug: str, way: BuildWay) -> None:
    design = read(SAMPLES / f"{slug}.sternpost").design
    ids = tuple(o.id for o in design.outlines if o.kind in ("fin", "rudder"))
    one = Build(
        "tail", ids, way, Thickness(14.0, 9.0, "symmetric" if way == "ribbed" else "flat"), Ribs(),
        Strip(6.0), Strip(8.0), (Spar(0.35, (6.0, 3.0), 1.5),), Skin(1.6), holes=True,
    )
    design = replace(design, builds=(one, replace(one, id="level", of=(design.tailplanes[0].id,))))
    made = all_built(design)
    plates = {p.id: p for b in made for p in b.parts if p.role != "stick"}
    if not plates:
        with pytest.raises(ExchangeError, match="no part that is cut from sheet"):
            parts_dxf(design, made)
        return
    pieces = pieces_of(dxf_rings(parts_dxf(design, made)))
    assert Counter(ids for ids, _ in pieces) == {name: part.count for name, part in plates.items()}
    for (name, _), piece in pieces.items():
        assert piece.area == pytest.approx(plates[name].outline.area, rel=1e-7)
    shapes = list(pieces.values())
    tree = shapely.STRtree(shapes)
    near = tree.query(shapes, "dwithin", GAP - 1e-6)
    assert (near[0] == near[1]).all()


def test_another_library_sees_the_same_size() -> None:
    """svgelements heeds width, height and viewBox: at 25.4 pixels to the inch a pixel is a millimetre."""
    seen = svgelements.SVG.parse(io.BytesIO(parts_svg(EMPTY, (ALL,))), ppi=25.4)
    cut = [
        sub for group in seen.select(lambda e: isinstance(e, svgelements.Group))
        if str(group.values.get("id", "")).startswith("cut-")
        for path in group.select(lambda e: isinstance(e, svgelements.Path)) for sub in path.as_subpaths()
    ]
    wanted = sorted(
        Polygon(ring).area for p in PARTS if p.role != "stick"
        for ring in (p.outline.exterior, *p.outline.interiors) for _ in range(p.count)
    )
    assert all(isinstance(list(sub)[-1], svgelements.Close) for sub in cut)
    areas = sorted(Polygon([(p.x, p.y) for p in (s.end for s in sub)]).area for sub in cut)
    # Its millimetre is 0.0393701 in, half a millionth too long.
    assert areas == pytest.approx(wanted, rel=2e-6)
