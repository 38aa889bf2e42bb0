"""Firmness in yaw as it stands on a scale: the band, the best estimate, and where each witness puts it."""

from __future__ import annotations

from dataclasses import dataclass

from core.stability.ranges import CN_BETA, span_words
from core.stability.readings import Readings
from core.units import format_number

CHARTS, LATTICE = "charts", "lattice"
"""The two witnesses of the fin's part, by the words that stand at their ticks."""
WITNESSES = {
    CHARTS: "the handbook's charts, the fin run down to the body's centre line",
    LATTICE: "a lattice of vortices, with the body's images and the tailplane as an end plate",
}
NOT_A_PROMISE = "The band is the distance between methods, not a promise."
SWAPS = "swaps ends"


@dataclass(frozen=True)
class Firmness:
    """Cnβ per radian: the band's ends, the best estimate, and the whole by each witness of the fin."""

    low: float
    best: float
    high: float
    charts: float | None = None
    lattice: float | None = None

    @property
    def witnesses(self) -> dict[str, float]:
        """The whole by each witness that has something to say, the weaker first."""
        found = {CHARTS: self.charts, LATTICE: self.lattice}
        return dict(sorted(((k, v) for k, v in found.items() if v is not None), key=lambda item: item[1]))


def firmness(readings: Readings) -> Firmness | None:
    """What the yaw readings put on the scale; None while Cnβ is missing.

    A witness stands at the best estimate with its own fin in place of the mean of both.
    """
    low, best, high = (readings.value(key) for key in ("cn_beta_low", "cn_beta", "cn_beta_high"))
    if low is None or best is None or high is None:
        return None
    mean = readings.value("cn_beta_fin")
    both = (readings.value(key) for key in ("cn_beta_fin_handbook", "cn_beta_fin_lattice"))
    charts, lattice = (
        None if fin is None or mean is None else best - mean + fin for fin in both
    )
    return Firmness(low, best, high, charts, lattice)


def firmness_words(found: Firmness) -> str:
    """All that the scale shows, to be read aloud or in a tip."""
    best, low, high = (format_number(v, 3) for v in (found.best, found.low, found.high))
    lines = [f"Firmness in yaw, Cnβ per radian: best estimate {best}, between {low} and {high}."]
    lines += [
        f"With the fin by {WITNESSES[name]}: {format_number(value, 3)}."
        for name, value in found.witnesses.items()
    ]
    where = "below" if found.best < CN_BETA[0] else "above" if found.best > CN_BETA[1] else "within"
    lines.append(f"That is {where} the usual range, {span_words(CN_BETA)}. Below nought it {SWAPS}.")
    return "\n".join([*lines, NOT_A_PROMISE])
