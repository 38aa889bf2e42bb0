"""DXF written: read back by ezdxf, checked by its own auditor, areas by its own curves."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from ezdxf import path as dxf_path
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.entities.spline import Spline
from ezdxf.filemanagement import read as read_dxf
from green import exact_moments
from msgspec.structs import replace

from core.design import Design, Node, Outline
from core.design_file import read
from core.exchange.dxf import dxf_bytes
from core.exchange.faults import ExchangeError
from core.geometry.ring import ring_of

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = sorted((ROOT / "sample_designs").glob("*.sternpost"))
FIN = Outline(
    "fin", "fin", (Node(760, 40), Node(800, 150, (-12, -30), (10, 4)), Node(850, 150), Node(850, 40)),
    label="Fin\nÄ",
)
PLATE = Outline("plate", "tip plate", (Node(0, 0), Node(60, 0), Node(60, 40), Node(0, 40)), count=2)
PLAIN = Design(1, "Plain", outlines=(FIN, PLATE))


def area(points: np.ndarray) -> float:
    """Shoelace over (M, 2)."""
    x, y = points.T
    return float(abs(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))) / 2)


@pytest.mark.parametrize("design", [PLAIN, *(read(path).design for path in SAMPLES)], ids=lambda d: d.title)
def test_a_general_library_finds_the_areas(design: Design) -> None:
    drawing = read_dxf(io.StringIO(dxf_bytes(design).decode()))
    assert not drawing.audit().has_errors
    assert drawing.dxfversion == "AC1024" and drawing.header["$INSUNITS"] == 4  # R2010; millimetres
    entities = list(drawing.modelspace())
    layers = [e.dxf.layer for e in entities]
    for layer, outline in zip(layers, design.outlines, strict=True):
        assert layer.startswith(f"{outline.kind} x{outline.count} {outline.standing} {outline.id}")
    assert len(set(layers)) == len(layers) and set(layers) <= {layer.dxf.name for layer in drawing.layers}
    for entity, outline in zip(entities, design.outlines, strict=True):
        points = np.array([tuple(p)[:2] for p in dxf_path.make_path(entity).flattening(0.001, segments=64)])
        wanted, x, _ = exact_moments(ring_of(outline.nodes))
        assert area(points) == pytest.approx(abs(wanted), rel=1e-4), outline.id
        assert points[:, 0].min() < x / wanted < points[:, 0].max()


def test_curves_are_one_exact_spline_and_straight_outlines_a_closed_polyline() -> None:
    spline, plate = read_dxf(io.StringIO(dxf_bytes(PLAIN).decode())).modelspace()
    assert isinstance(spline, Spline) and isinstance(plate, LWPolyline)
    assert spline.dxf.degree == 3 and not spline.weights
    points = [tuple(p)[:2] for p in spline.control_points]
    assert len(points) == 3 * 4 + 1 and points[0] == points[-1] == (760, 40)
    assert points[3] == (800, 150) and points[2] == (788, 120) and points[4] == (810, 154)
    assert plate.closed and [tuple(p) for p in plate.get_points("xy")] == [(0, 0), (60, 0), (60, 40), (0, 40)]


def test_extents_and_closed_flags_are_set() -> None:
    drawing = read_dxf(io.StringIO(dxf_bytes(PLAIN).decode()))
    assert drawing.header["$EXTMIN"][:2] == pytest.approx((0, 0), abs=0.01)
    # The fin's top edge bulges above its corners: where its slope is nothing.
    t = np.linspace(0, 1, 100_001)
    top = max((1 - t)**3 * 150 + 3 * (1 - t)**2 * t * 154 + 3 * (1 - t) * t * t * 150 + t**3 * 150)
    assert drawing.header["$EXTMAX"][:2] == pytest.approx((850, top), abs=0.02)
    spline, plate = drawing.modelspace()
    assert spline.closed and plate.closed


def test_the_same_design_gives_the_same_bytes_in_every_run() -> None:
    code = (
        "import sys; from test_exchange_dxf import PLAIN, dxf_bytes\n"
        "sys.stdout.buffer.write(dxf_bytes(PLAIN))"
    )
    places = os.pathsep.join(map(str, (ROOT, ROOT / "tests", ROOT / "tests/core")))
    for lot in ("1", "2"):
        environment = {**os.environ, "PYTHONPATH": places, "PYTHONHASHSEED": lot}
        done = subprocess.run(
            [sys.executable, "-c", code], env=environment, check=True, capture_output=True, timeout=60
        )
        assert done.stdout == dxf_bytes(PLAIN)


def test_nothing_to_draw_is_one_sentence() -> None:
    with pytest.raises(ExchangeError, match="trace an outline"):
        dxf_bytes(replace(PLAIN, outlines=()))
