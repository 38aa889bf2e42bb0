"""Curves over fin size, nose length and place of the CG, against every point computed by itself."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from making import box, design_of, trainer
from msgspec.structs import replace

from core.design import Scan, Weight
from core.design_file import read
from core.redesign.curves import Over, curve, design_at, filled
from core.redesign.outline_edits import EditError
from core.redesign.refit import lead_needed
from core.stability.readings import ReadingsEngine

SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_designs").glob("*.sternpost"))
# Least ranges as in the curves; a thousandth of them cannot be seen, nor told apart in a table.
LEAST = {"cla_fraction": 0.1, "cn_beta": 0.05, "cn_beta_low": 0.05, "cn_beta_high": 0.05, "fin_volume": 0.02}


@pytest.mark.parametrize("over", ["fin", "nose", "cg"])
@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_every_point_is_what_its_design_reads(path: Path, over: Over) -> None:
    design = read(path).design
    data = curve(design, over)
    assert data is not None and data.x.shape == (60,) and not data.missing
    assert data.x[0] < data.present < data.x[-1]
    engine = ReadingsEngine()
    for i in range(0, 60, 7):
        changed = design_at(design, over, float(data.x[i]))
        readings = engine.read(changed)
        for key, least in LEAST.items():
            got, near = getattr(data, key), 1e-3 * max(np.ptp(getattr(data, key)), least)
            if key.startswith("cn_beta"):
                # The lattice is laid half as fine along a curve, and carried on from the present design.
                near += 0.012 * (readings.value("cn_beta_fin") or 0.0)
            assert got[i] == pytest.approx(readings.value(key), abs=near), key
        # Laid to two thousandths of its range; a weight in the piece taken out puts a corner into it.
        assert data.lead[i] == pytest.approx(lead_needed(design, changed), abs=0.5)


@pytest.mark.parametrize("over", ["fin", "nose", "cg"])
def test_the_present_design_lies_on_its_curve(over: Over) -> None:
    design = read(SAMPLES[0]).design
    data = curve(design, over, points=121)
    assert data is not None
    here = ReadingsEngine().read(design, quick=True).value("cla_fraction")
    assert float(np.interp(data.present, data.x, data.cla_fraction)) == pytest.approx(here, abs=2e-4)
    assert design_at(design, over, data.present).outlines == design.outlines


def test_the_curves_run_as_a_builder_knows() -> None:
    design = read(SAMPLES[1]).design
    fin, nose, cg = (curve(design, over) for over in ("fin", "nose", "cg"))  # type: ignore[arg-type]
    assert fin is not None and nose is not None and cg is not None
    # More fin: CLA aft, firmer in yaw. Longer nose or CG further aft: the fraction falls.
    assert np.all(np.diff(fin.cla_fraction) > 0) and np.all(np.diff(fin.fin_volume) > 0)
    assert np.all(np.diff(nose.cla_fraction) < 0) and np.all(np.diff(cg.cla_fraction) < 0)
    assert np.all(fin.cn_beta_low <= fin.cn_beta) and np.all(fin.cn_beta <= fin.cn_beta_high)
    # A longer nose carries the battery forward, a CG further aft wants less lead there.
    assert np.all(np.diff(nose.lead) < 0) and np.all(np.diff(cg.lead) < 0)


def test_it_can_be_cancelled() -> None:
    asked: list[int] = []

    def after(count: int) -> bool:
        asked.append(count)
        return len(asked) > 4

    assert curve(trainer(), "fin", cancelled=lambda: after(4)) is None
    assert len(asked) == 5


def test_gaps_are_told() -> None:
    bare = replace(trainer(), weights=(), wings=())
    data = curve(bare, "fin")
    assert data is not None
    assert np.all(np.isfinite(data.cla_fraction)) and np.all(np.isnan(data.cn_beta))
    assert data.missing["cn_beta"] == "enter the wing" and "enter" in data.missing["lead"]
    without_scale = replace(
        trainer(), weights=(Weight("all", 900, 300),), scans=(Scan("a", "a.png", scale_from="none"),)
    )
    data = curve(without_scale, "fin")
    assert data is not None and "scale" in data.missing["fin_volume"]
    with pytest.raises(EditError, match="no fin"):
        curve(design_of(box("body", "fuselage", 0, -30, 400, 40)), "fin")
    with pytest.raises(EditError, match="trace the fuselage"):
        curve(design_of(box("fin", "fin", 0, 0, 50, 50)), "nose")
    with pytest.raises(EditError, match="mark the CG"):
        curve(replace(trainer(), cg_mark=None), "cg")


def test_filled_calls_little_where_smooth_and_often_where_not() -> None:
    near, least = np.array((3e-4,)), np.array((1e-9,))
    calls: list[int] = []

    def smooth(i: int) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
        calls.append(i)
        return np.array((float(np.sin(i / 40)),))

    rows = filled(smooth, 60, near, least, lambda: False)
    assert rows is not None and len(calls) < 20
    assert np.abs(rows[:, 0] - np.sin(np.arange(60) / 40)).max() < 1e-4
    calls.clear()

    def stepped(i: int) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
        calls.append(i)
        return np.array((np.nan if i < 17 else float(i > 41) + i / 60,))

    rows = filled(stepped, 60, near, least, lambda: False)
    assert rows is not None and len(calls) < 60
    wanted = np.array([np.nan if i < 17 else float(i > 41) + i / 60 for i in range(60)])
    assert np.allclose(rows[:, 0], wanted, atol=1e-3, equal_nan=True)
