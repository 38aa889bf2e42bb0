"""A whole sample traced along the ink of its own scan, against the aeroplane that was drawn there."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from msgspec.structs import replace

TESTS = Path(__file__).resolve().parents[1]
for _folder in (TESTS / "bench", TESTS.parent / "sample_designs"):
    if str(_folder) not in sys.path:
        sys.path.append(str(_folder))

from bench_ink import sample_picture, traced_outline  # noqa: E402
from make_samples import cla_fraction  # noqa: E402
from plans import TRUE_PLANS  # noqa: E402


def test_the_cla_fraction_of_a_sample_traced_wholly_by_ink_is_within_0_3_points() -> None:
    """All seven outlines by clicks 2 px off their nodes; edges that are not drawn join the ends of ink."""
    slug = "marsh-harrow-52"
    plan = TRUE_PLANS[slug]
    picture = sample_picture(slug, plan)
    rng = np.random.default_rng(plan.scan.seed)
    outlines = []
    for tracing in plan.tracings:
        outline, error, _, nodes = traced_outline(tracing, picture, plan.scan.dpi, rng)
        assert nodes > 2, tracing.outline.id
        assert np.median(error) < 0.08
        outlines.append(outline)
    ours = cla_fraction(replace(plan.bare, outlines=tuple(outlines)))
    true = cla_fraction(replace(plan.bare, outlines=tuple(plan.outlines)))
    assert abs(ours - true) < 0.003
