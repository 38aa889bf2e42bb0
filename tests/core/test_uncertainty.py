"""The error of the CLA fraction against a full recount of re-traced designs."""

from __future__ import annotations

from pathlib import Path

import msgspec
import numpy as np
import pytest
from hypothesis import given

from core.design import Aim, Design, Mark
from core.design_file import read
from core.stability.aeroplane import Aeroplane
from core.stability.readings import ReadingsEngine
from core.stability.uncertainty import NO_FRACTION, cla_fraction_error
from tests.core.making import (
    FEW,
    SOME,
    box,
    curved_designs,
    curved_outline,
    design_of,
    sound_designs,
    trainer,
)

SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_designs").glob("*.sternpost"))
HAND = 0.5
RUNS = 300


def aeroplane(design: Design) -> Aeroplane:
    readings = ReadingsEngine().read(design)
    return Aeroplane(design, readings.side, readings.cg, "mark the CG", readings.fin_centre)


def error(design: Design, *args: float) -> float:
    found = cla_fraction_error(aeroplane(design), *args)
    assert isinstance(found, float), found
    return found


def retraced(design: Design, hand: np.random.Generator, by: float) -> Design:
    outlines = []
    for outline in design.outlines:
        off = hand.normal(0.0, by, (len(outline.nodes), 2))
        nodes = tuple(
            msgspec.structs.replace(n, x=n.x + float(dx), z=n.z + float(dz))
            for n, (dx, dz) in zip(outline.nodes, off, strict=True)
        )
        outlines.append(msgspec.structs.replace(outline, nodes=nodes))
    return msgspec.structs.replace(design, outlines=tuple(outlines))


def spread(design: Design, by: float = HAND) -> float:
    """Standard deviation of the fraction over ``RUNS`` re-tracings, each counted anew."""
    hand = np.random.default_rng(20)
    engine = ReadingsEngine()
    found = [engine.read(retraced(design, hand, by)).value("cla_fraction") for _ in range(RUNS)]
    return float(np.std([f for f in found if f is not None], ddof=1))


# A spread of 300 runs is itself good to 1/√600 = 4 %; twice that, and the share of edges that two
# outlines have in common, where the area is not smooth.
AGREES = 0.1


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_samples(path: Path) -> None:
    design = read(path).design
    assert error(design) == pytest.approx(spread(design), rel=AGREES)


def test_the_quarter_chord_as_the_tail_arm_s_end() -> None:
    design = read(SAMPLES[0]).design
    to_quarter = msgspec.structs.replace(design, aim=Aim(fin_centre="quarter_chord"))
    assert error(to_quarter) == pytest.approx(spread(to_quarter), rel=AGREES)
    assert error(to_quarter) != pytest.approx(error(design), rel=0.02)


def test_pairs_half_hidden_and_outlines_buried() -> None:
    buried = box("buried", "other", 400, -30, 520, 30)
    design = trainer(outlines=(*trainer().outlines, buried))
    assert error(design) == pytest.approx(spread(design), rel=AGREES)
    assert error(design) == pytest.approx(error(trainer()), rel=1e-12)


def test_fins_that_share_their_edges() -> None:
    """Fin and rudder on one hinge line, both standing exactly on the fuselage."""
    design = design_of(
        box("f", "fuselage", 0, -40, 700, 40), box("fin", "fin", 560, 40, 640, 200),
        box("rudder", "rudder", 640, 40, 700, 200), cg_mark=Mark(250),
    )
    assert error(design) == pytest.approx(spread(design), rel=0.15)


def test_a_cg_that_weighs_what_is_traced() -> None:
    design = trainer(cg_from="weights")
    outlines = tuple(msgspec.structs.replace(o, grams_per_dm2=10.0) for o in design.outlines)
    design = msgspec.structs.replace(design, outlines=outlines)
    assert error(design, HAND, 0.0) == pytest.approx(spread(design), rel=AGREES)


def test_a_fin_alone_is_its_own_measure() -> None:
    """CLA and fin centre are the same point: 1 whatever is traced."""
    design = design_of(curved_outline("fin", "fin", 500, 0, 120), cg_mark=Mark(0))
    assert error(design) == pytest.approx(0.0, abs=1e-12)


def test_no_error_and_a_greater_one() -> None:
    body, fin = curved_outline("f", "fuselage", 300, 0, 500), box("t", "fin", 600, 0, 700, 150)
    apart = design_of(body, fin, cg_mark=Mark(200))
    assert error(apart, 0.0, 0.0) == 0.0
    assert error(apart, 1.0) == pytest.approx(2 * error(apart, 0.5), rel=1e-9)


@pytest.mark.parametrize(("shift", "by"), ((-437.3, 0.25), (512.9, 2.0)))
def test_shifted_turned_over_and_enlarged(shift: float, by: float) -> None:
    """The datum does not matter, nor which side is up; ``by`` times the size, and the error with it."""
    design = trainer(wings=(), tailplanes=())
    found = error(design)

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
    assert error(changed(1, 1)) == pytest.approx(found, rel=1e-3)
    assert error(changed(1, -1)) == pytest.approx(found, rel=1e-3)
    # The pieces by which covered edges are weighed are 60 mm long whatever the size.
    assert error(changed(by, by), HAND * by) == pytest.approx(found, rel=0.02)


def test_what_is_missing_says_so() -> None:
    assert cla_fraction_error(aeroplane(trainer(cg_mark=None))) == NO_FRACTION
    assert cla_fraction_error(aeroplane(trainer(cg_mark=Mark(2000)))) == NO_FRACTION
    assert cla_fraction_error(aeroplane(trainer(outlines=()))) == NO_FRACTION
    assert "node error" in str(cla_fraction_error(aeroplane(trainer()), -1.0))
    assert "node error" in str(cla_fraction_error(aeroplane(trainer()), float("nan")))
    assert "scale" in str(cla_fraction_error(aeroplane(trainer()), 0.5, float("inf")))


@SOME
@given(curved_designs())
def test_whatever_crosses_itself(design: Design) -> None:
    found = cla_fraction_error(aeroplane(design))
    assert isinstance(found, str) or (np.isfinite(found) and found >= 0.0)


@FEW
@given(sound_designs)
def test_the_far_fetched(design: Design) -> None:
    found = cla_fraction_error(aeroplane(design))
    assert isinstance(found, str) or (np.isfinite(found) and found >= 0.0)
