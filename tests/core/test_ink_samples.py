"""A fin of a sample, followed along the ink of its own scan, against the line that was drawn there."""

from __future__ import annotations

import io
import sys
import zipfile
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely
from drawn_ink import Picture, curve_points
from PIL import Image

from core.ink.centring import centred, nearest_ink
from core.ink.fitting import nodes_along
from core.ink.following import follow

SAMPLES = Path(__file__).resolve().parents[2] / "sample_designs"
if str(SAMPLES) not in sys.path:
    sys.path.append(str(SAMPLES))

from plans import TRUE_PLANS  # noqa: E402
from shaping import edge_points  # noqa: E402


@pytest.mark.parametrize(("slug", "fin"), [("tallow-twin", "fins")])
def test_fin_in_six_clicks_or_fewer(slug: str, fin: str) -> None:
    """Clicks 2 px off the nodes of the inked run; within 0.25 mm but for its two ends.

    There the drawn line ends within another line, and 2 mm are left out as in ``fitting.residuals``.
    """
    plan = TRUE_PLANS[slug]
    with zipfile.ZipFile(SAMPLES / f"{slug}.sternpost") as container:
        data = container.read(plan.scan.file)
    with Image.open(io.BytesIO(data)) as opened:
        picture = Picture(np.asarray(opened.convert("L")), plan.mm_to_px)
    tracing = plan.tracing(fin)
    nodes, inked = tracing.outline.nodes, tracing.inked
    start = next(i for i in range(len(nodes)) if inked[i] and not inked[i - 1])
    run = [start]
    while inked[run[-1]]:
        run.append((run[-1] + 1) % len(nodes))
    assert len(run) <= 6
    clicks = picture.px(np.array([(nodes[i].x, nodes[i].z) for i in run]))
    clicks += np.random.default_rng(7).normal(0.0, 2.0, clicks.shape)
    at = [nearest_ink(picture.grey, (float(u), float(v)), 8.0) or (float(u), float(v)) for u, v in clicks]
    ways = [follow(picture.grey, a, b) for a, b in pairwise(at)]
    path = np.vstack([way for way in ways if way is not None])
    assert len(ways) == len(run) - 1
    assert all(way is not None for way in ways)
    joints = nodes_along(picture.mm(centred(picture.grey, path)))
    assert len(joints) <= 12
    true = np.vstack([edge_points(nodes, i, np.linspace(0.0, 1.0, 200)) for i in run[:-1]])
    curve = curve_points(joints, closed=False)
    for points, line in ((curve, true), (true, curve)):
        clear = np.min([np.hypot(*(points - end).T) for end in (true[0], true[-1])], axis=0) > 2.0
        off = shapely.distance(shapely.points(points[clear]), shapely.LineString(line))
        assert off.max() < 0.25
