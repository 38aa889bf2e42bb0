"""The sample designs: traced from their scans, and true to the lines drawn there."""

from __future__ import annotations

import io
import sys
import zipfile
from pathlib import Path

import numpy as np
import pytest
from msgspec.structs import replace
from PIL import Image

from core.design import Design
from core.design_build import BUILD_WAYS
from core.design_check import problems
from core.design_file import decode
from core.parts.built import built
from core.stability.balance import masses

SAMPLES = Path(__file__).resolve().parents[2] / "sample_designs"
if str(SAMPLES) not in sys.path:
    sys.path.append(str(SAMPLES))

import make_samples  # noqa: E402
from fitting import residuals  # noqa: E402
from paper import darkness, place  # noqa: E402
from plans import TRUE_PLANS  # noqa: E402
from shaping import runs  # noqa: E402

SLUGS = sorted(TRUE_PLANS)


def contents(path: Path) -> tuple[Design, bytes, list[zipfile.ZipInfo]]:
    with zipfile.ZipFile(path) as container:
        entries = container.infolist()
        design = decode(container.read("design.json"))
        return design, container.read(design.scans[0].file), entries


@pytest.fixture(params=SLUGS)
def slug(request: pytest.FixtureRequest) -> str:
    return str(request.param)


def test_container_holds_design_and_scan_stored(slug: str) -> None:
    design, picture, entries = contents(SAMPLES / f"{slug}.sternpost")
    assert [entry.filename for entry in entries] == ["design.json", design.scans[0].file]
    assert all(entry.compress_type == zipfile.ZIP_STORED for entry in entries)
    assert len(picture) < 2_500_000
    assert problems(design) == []


def test_outlines_lie_on_the_drawn_lines(slug: str) -> None:
    """Half a millimetre is the width of the thinner heavy stroke: the outline stays in the ink."""
    design, _, _ = contents(SAMPLES / f"{slug}.sternpost")
    plan = TRUE_PLANS[slug]
    assert [outline.id for outline in design.outlines] == [outline.id for outline in plan.outlines]
    for tracing in plan.tracings:
        off = residuals(tracing, design.outline(tracing.outline.id))
        assert len(off) > 20
        assert off.max() < 0.5, tracing.outline.id


def test_outlines_were_traced_and_not_copied(slug: str) -> None:
    design, _, _ = contents(SAMPLES / f"{slug}.sternpost")
    for true, drawn in zip(TRUE_PLANS[slug].outlines, design.outlines, strict=True):
        assert [(n.x, n.z) for n in true.nodes] != [(n.x, n.z) for n in drawn.nodes]


def test_scan_has_ink_where_the_true_matrix_says(slug: str) -> None:
    design, picture, _ = contents(SAMPLES / f"{slug}.sternpost")
    plan = TRUE_PLANS[slug]
    with Image.open(io.BytesIO(picture)) as opened:
        assert opened.size == plan.scan.size
        assert opened.info["dpi"][0] == pytest.approx(plan.scan.dpi, abs=0.1)
    to_mm = np.array(design.scans[0].to_mm)
    # Rounded to ten digits of coefficients that multiply up to 10 000 pixels.
    assert np.allclose(to_mm @ plan.mm_to_px, np.eye(3), atol=1e-6)
    dark = darkness(picture)
    for tracing in plan.tracings:
        points = np.vstack(runs(tracing))
        u, v = place(plan.mm_to_px, points).T
        inked = dark[
            np.clip(v.astype(int), 0, dark.shape[0] - 1), np.clip(u.astype(int), 0, dark.shape[1] - 1)
        ]
        assert np.mean(inked > np.median(dark) + 0.25) > 0.95, tracing.outline.id


def test_cg_of_the_weights_agrees_with_the_mark(slug: str) -> None:
    design, _, _ = contents(SAMPLES / f"{slug}.sternpost")
    assert design.cg_mark is not None
    weighed = np.array(masses(design))
    centre = weighed[:, 0] @ weighed[:, 1:] / weighed[:, 0].sum()
    assert centre == pytest.approx([design.cg_mark.x, design.cg_mark.z], abs=2.0)
    assert sum(weight.grams * weight.y for weight in design.weights) == 0.0
    assert {outline.grams_per_dm2 is None for outline in design.outlines} == {False}


def test_parts_of_every_way_stand_in_the_samples() -> None:
    ways = []
    for slug in SLUGS:
        design, _, _ = contents(SAMPLES / f"{slug}.sternpost")
        for build in design.builds:
            made = built(design, build)
            assert made.parts and made.grams > 5.0
            ways.append(build.way)
    assert set(ways) == set(BUILD_WAYS)


@pytest.mark.parametrize(
    ("slug", "low", "high"),
    [("marsh-harrow-52", 0.17, 0.20), ("tallow-twin", 0.29, 0.33), ("long-meadow-2000", 0.23, 0.27)],
    indirect=["slug"],
)
def test_each_tells_its_own_story(slug: str, low: float, high: float) -> None:
    design, _, _ = contents(SAMPLES / f"{slug}.sternpost")
    assert low <= make_samples.cla_fraction(design) <= high


def test_made_again_it_is_the_same(slug: str, tmp_path: Path) -> None:
    """Other versions of the font or of the picture codecs may move a fitted node by a hair."""
    kept, _, _ = contents(SAMPLES / f"{slug}.sternpost")
    again = make_samples.build(TRUE_PLANS[slug])
    path = tmp_path / f"{slug}.sternpost"
    path.write_bytes(make_samples.packed(again))
    made, _, _ = contents(path)
    assert made.scans == kept.scans
    for field in ("wings", "tailplanes", "weights", "builds"):
        assert getattr(made, field) == getattr(kept, field)
    for old, new in zip(kept.outlines, made.outlines, strict=True):
        assert replace(old, nodes=()) == replace(new, nodes=())
        assert [(n.x, n.z) for n in new.nodes] == [pytest.approx((n.x, n.z), abs=0.02) for n in old.nodes]
