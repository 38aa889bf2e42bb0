"""Draw, scan and trace the three sample designs, and write them as .sternpost files.

    python sample_designs/make_samples.py [--out DIR]

Everything is seeded: the same versions of numpy, Pillow and shapely give the same files.
"""

from __future__ import annotations

import argparse
import io
import sys
import zipfile
from dataclasses import dataclass
from pathlib import Path

import msgspec
import numpy as np
from numpy.typing import NDArray

HERE = Path(__file__).resolve().parent
if str(HERE.parent) not in sys.path:
    sys.path.append(str(HERE.parent))

from fitting import fit, hand_set, residuals  # noqa: E402
from paper import darkness, scanned  # noqa: E402
from plan_parts import Plan  # noqa: E402
from plans import TRUE_PLANS  # noqa: E402

from core.design import Design, Scan  # noqa: E402
from core.design_file import encode  # noqa: E402
from core.stability.side_area import SideAreaCounter  # noqa: E402

STAMP = (2001, 5, 12, 9, 0, 0)


@dataclass(frozen=True)
class Sample:
    """A finished sample; ``off`` are the distances (mm) of its outlines from the drawn lines."""

    design: Design
    picture: bytes
    off: NDArray[np.float64]


def build(plan: Plan) -> Sample:
    """Draw the plan, scan it, and fit its outlines to the ink of that scan."""
    picture = scanned(plan.sheet, plan.scan)
    dark = darkness(picture)
    rng = np.random.default_rng(plan.scan.seed + 1)
    mm_per_px = 25.4 / plan.scan.dpi
    outlines, off = [], []
    for tracing in plan.tracings:
        fitted = fit(dark, plan.mm_to_px, hand_set(tracing, rng, mm_per_px), tracing)
        outlines.append(fitted)
        off.append(residuals(tracing, fitted))
    design = msgspec.structs.replace(
        plan.bare,
        scans=(Scan("plan", plan.scan.file, to_mm=plan.scan.to_mm),),
        outlines=tuple(outlines),
    )
    return Sample(design, picture, np.concatenate(off))


def packed(sample: Sample) -> bytes:
    """The container; both entries are stored, so that no version of zlib shows in it."""
    held = io.BytesIO()
    entries = (("design.json", encode(sample.design)), (sample.design.scans[0].file, sample.picture))
    with zipfile.ZipFile(held, "w", zipfile.ZIP_STORED) as container:
        for name, data in entries:
            entry = zipfile.ZipInfo(name, STAMP)
            entry.external_attr = 0o644 << 16
            entry.create_system = 3
            container.writestr(entry, data)
    return held.getvalue()


def cla_fraction(design: Design) -> float:
    """CLA aft of the marked CG as a part of the tail arm, by the counting of the core."""
    side = SideAreaCounter().count(design)
    cla, fin_centre = side.cla, side.tail_moments.centroid()
    if cla is None or fin_centre is None or design.cg_mark is None:
        raise ValueError(f"{design.title}: no side area, no vertical tail or no CG; add what is missing")
    return (cla[0] - design.cg_mark.x) / (fin_centre[0] - design.cg_mark.x)


def main(arguments: list[str] | None = None) -> None:
    """Write every sample into a folder and say how well it was traced."""
    parser = argparse.ArgumentParser(description="Draw, scan and trace the sample designs.")
    parser.add_argument(
        "--out", type=Path, default=HERE, help="folder to write to (default: beside this script)"
    )
    out: Path = parser.parse_args(arguments).out
    out.mkdir(parents=True, exist_ok=True)
    for slug, plan in TRUE_PLANS.items():
        sample = build(plan)
        data = packed(sample)
        (out / f"{slug}.sternpost").write_bytes(data)
        width, height = plan.scan.size
        print(
            f"{slug}: scan {width} × {height} px, {len(sample.picture) / 1e6:.2f} MB; "
            f"traced {np.median(sample.off):.3f} mm off in the median, {sample.off.max():.3f} mm at worst; "
            f"CLA fraction {cla_fraction(sample.design):.3f}"
        )


if __name__ == "__main__":
    main()
