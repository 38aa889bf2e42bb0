"""The ± of the CLA fraction on whole designs; its formulas are checked in ``tests/published``."""

from __future__ import annotations

from pathlib import Path

import msgspec
import numpy as np
import pytest
from hypothesis import given

from core.design import Aim, Design, Mark, Scan, Sure
from core.design_file import read
from core.stability.aeroplane import Aeroplane
from core.stability.answer import answer
from core.stability.readings import ERRORS, ReadingsEngine
from core.stability.uncertainty import NO_FRACTION, Errors, cla_fraction_errors
from tests.core.making import (
    FEW,
    SOME,
    curved_designs,
    curved_outline,
    design_of,
    drawn_out,
    sound_designs,
    trainer,
)

SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_designs").glob("*.sternpost"))


def found_of(design: Design) -> Errors | str:
    readings = ReadingsEngine().read(design)
    return cla_fraction_errors(
        Aeroplane(design, readings.side, readings.cg, "mark the CG", readings.fin_centre)
    )


def errors(design: Design) -> Errors:
    found = found_of(design)
    assert isinstance(found, Errors), found
    return found


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_samples_retraced_by_another_hand(path: Path) -> None:
    """Each outline drawn out or in as a whole by chance: the spread of a hundred recounts."""
    design = msgspec.structs.replace(read(path).design, guessed=())
    hand, engine, found = np.random.default_rng(20), ReadingsEngine(), []
    for _ in range(100):
        outlines = tuple(drawn_out(o, float(hand.normal(0.0, 0.5))) for o in design.outlines)
        found.append(engine.read(msgspec.structs.replace(design, outlines=outlines)).value("cla_fraction"))
    spread = float(np.std([f for f in found if f is not None], ddof=1))
    # A spread of a hundred is itself good to 1/√200 = 7 %: three times that.
    assert errors(design).tracing == pytest.approx(spread, rel=0.21)


def test_the_quarter_chord_as_the_tail_arm_s_end() -> None:
    design = read(SAMPLES[0]).design
    to_quarter = msgspec.structs.replace(design, aim=Aim(fin_centre="quarter_chord"))
    assert errors(to_quarter).tracing != pytest.approx(errors(design).tracing, rel=0.02)


def test_a_fin_alone_is_its_own_measure() -> None:
    """CLA and fin centre are the same point: 1 whatever is traced and wherever the CG lies."""
    design = design_of(curved_outline("fin", "fin", 500, 0, 120), cg_mark=Mark(0))
    assert errors(design).whole == pytest.approx(0.0, abs=1e-12)


def test_the_readings_hold_the_whole_and_its_parts() -> None:
    readings, found = ReadingsEngine().read(trainer()), errors(trainer())
    whole, cg, tracing, surfaces, photograph = (readings.value(key) for key in ERRORS)
    assert (whole, cg, tracing, surfaces) == (found.whole, found.cg, found.tracing, found.surfaces)
    assert photograph == found.photograph == 0.0
    assert cg is not None and tracing is not None and surfaces is not None
    assert whole == pytest.approx((cg**2 + tracing**2 + surfaces**2) ** 0.5)


@pytest.mark.parametrize(("shift", "by"), ((-437.3, 0.25), (512.9, 2.0)))
def test_shifted_turned_over_and_enlarged(shift: float, by: float) -> None:
    """The datum does not matter, nor which side is up; ``by`` times the size, and the error with it."""
    design = trainer(wings=(), tailplanes=())
    found = errors(design).whole

    def changed(sx: float, sz: float) -> Design:
        outlines = []
        for o in design.outlines:
            nodes = tuple(
                msgspec.structs.replace(
                    n, x=sx * n.x + shift, z=sz * n.z,
                    handle_in=n.handle_in and (sx * n.handle_in[0], sz * n.handle_in[1]),
                    handle_out=n.handle_out and (sx * n.handle_out[0], sz * n.handle_out[1]),
                )
                for n in o.nodes
            )
            outlines.append(msgspec.structs.replace(o, nodes=nodes))
        assert design.cg_mark is not None
        mark = Mark(sx * design.cg_mark.x + shift, sz * design.cg_mark.z)
        return msgspec.structs.replace(design, outlines=tuple(outlines), cg_mark=mark)

    # A sample that lies on another outline to the last bit may fall to either side of it.
    assert errors(changed(1, 1)).whole == pytest.approx(found, rel=1e-3)
    assert errors(changed(1, -1)).whole == pytest.approx(found, rel=1e-3)
    # The pieces by which covered edges are weighed are 60 mm long whatever the size.
    large = msgspec.structs.replace(changed(by, by), sure=Sure(0.5 * by, 3.0 * by))
    assert errors(large).whole == pytest.approx(found, rel=0.02)


def test_what_is_missing_says_so() -> None:
    assert found_of(trainer(cg_mark=None)) == NO_FRACTION
    assert found_of(trainer(cg_mark=Mark(2000))) == NO_FRACTION
    assert found_of(trainer(outlines=())) == NO_FRACTION


@SOME
@given(curved_designs())
def test_whatever_crosses_itself(design: Design) -> None:
    found = found_of(design)
    assert isinstance(found, str) or all(np.isfinite(part) and part >= 0.0 for part in found)


@FEW
@given(sound_designs)
def test_the_far_fetched(design: Design) -> None:
    found = found_of(design)
    assert isinstance(found, str) or all(np.isfinite(part) and part >= 0.0 for part in found)


def photographed(*left: float | None, **more: object) -> Design:
    scans = tuple(Scan(f"s{i}", f"s{i}.jpg", residual_mm=mm) for i, mm in enumerate(left))
    return msgspec.structs.replace(trainer(), scans=scans, **more)  # type: ignore[arg-type]


def test_what_a_photograph_leaves_counts_as_outlines_so_far_out_or_in() -> None:
    """Twice what tracing is off by leaves twice its part, and the whole is the root of the squares."""
    plain, found = errors(trainer()), errors(photographed(1.0))
    assert trainer().sure.tracing_mm == 0.5
    assert found.photograph == pytest.approx(2 * plain.tracing) and found.tracing == plain.tracing
    assert found.whole == pytest.approx((plain.whole**2 + (2 * plain.tracing) ** 2) ** 0.5)
    # The worst of several; a scan that was never straightened adds nothing.
    assert errors(photographed(0.2, None, 1.0)) == found and errors(photographed(None)) == plain
    # Whoever traces without fault has the photograph's part all the same.
    faultless = errors(photographed(1.0, sure=Sure(tracing_mm=0.0)))
    assert faultless.tracing == 0.0 and faultless.photograph == pytest.approx(found.photograph, rel=0.02)


def test_a_photograph_retraced_over_and_over_spreads_as_much() -> None:
    """Each outline a millimetre out or in by chance, counted anew: not by the boundary integral."""
    hand, engine, found = np.random.default_rng(4), ReadingsEngine(), []
    design = photographed(1.0)
    for _ in range(100):
        outlines = tuple(drawn_out(o, float(hand.normal(0.0, 1.0))) for o in design.outlines)
        found.append(engine.read(msgspec.structs.replace(design, outlines=outlines)).value("cla_fraction"))
    spread = float(np.std([f for f in found if f is not None], ddof=1))
    assert errors(design).photograph == pytest.approx(spread, rel=0.21)


def test_the_answer_names_the_photograph_where_it_is_the_largest_part() -> None:
    design = photographed(4.0, sure=Sure(cg_mm=0.1))
    said = answer(design, ReadingsEngine().read(design)).sure
    assert "its largest part is the photograph (± 4.0 mm after straightening)" in said
    tracing = photographed(0.1, sure=Sure(cg_mm=0.1))
    said = answer(tracing, ReadingsEngine().read(tracing)).sure
    assert "its largest part is" in said and "photograph" not in said
