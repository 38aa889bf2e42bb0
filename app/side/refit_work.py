"""What a refit asks and what comes of it, worked out beside the drawing thread."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from app.kit.worker import Job
from core.design import Design
from core.redesign.probe import Target
from core.redesign.refit import WayCost, present_cost, ways_table
from core.redesign.refit_ways import LABELS, WayKey


@dataclass(frozen=True)
class Asked:
    """What the fields of the window say. Lengths in mm; None: the way's own. ``firm`` counts for both."""

    design: Design
    target: Target
    value: float
    firm: float
    dorsal: float | None
    ventral: float | None
    weight: str | None


@dataclass(frozen=True)
class Found:
    """The answer to that, with the figures of the design as it is."""

    asked: Asked
    present: Mapping[str, float | None]
    rows: list[WayCost]


_CLOSE = {"cla_fraction": 5e-4, "cn_beta": 5e-4}
"""Half of the last place that is shown of either."""


def at_target(found: Found) -> bool:
    """True if the design as it is has what is asked already, as far as its figures are shown."""
    asked, present = found.asked, found.present
    fraction, firm = present.get("cla_fraction"), present.get("cn_beta")
    if asked.target == "cn_beta":
        return firm is not None and abs(firm - asked.value) < _CLOSE["cn_beta"]
    near = fraction is not None and abs(fraction - asked.value) < _CLOSE["cla_fraction"]
    if asked.target == "cla_fraction":
        return near
    return near and firm is not None and firm > asked.firm - _CLOSE["cn_beta"]


def undo_name(way: WayKey) -> str:
    """What undo calls a refit by that way."""
    label = LABELS[way]
    return f"refit: {label[:1].lower()}{label[1:]}"


def work_out(job: Job, asked: Asked) -> Found:
    """All ways, in the worker's thread; ``CancelledError`` when the job is gone."""
    tried = 0

    def gone() -> bool:
        nonlocal tried
        tried += 1
        if tried % 20 == 0:
            job.tell(tried)
        return job.gone()

    rows = ways_table(
        asked.design, asked.target, asked.value, firm=asked.firm, dorsal_length=asked.dorsal,
        ventral_length=asked.ventral, weight=asked.weight, cancelled=gone,
    )
    return Found(asked, present_cost(asked.design), rows)
