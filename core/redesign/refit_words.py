"""What a refit came to, in sentences."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from core.design import Design
from core.redesign.probe import Target
from core.redesign.refit_ways import Way
from core.stability.catalogue import TERMS
from core.stability.wording import shown
from core.units import format_area, format_length

NAMES: dict[Target, str] = {
    "cla_fraction": "the CLA fraction", "cn_beta": "Cnβ", "both": "the CLA fraction and Cnβ",
}


@dataclass(frozen=True)
class Goal:
    """What was asked for and what came of it, for the sentences."""

    design: Design
    target: Target
    value: float
    firm: float
    reached: float
    cn_beta: float | None

    @property
    def name(self) -> str:
        """What is brought to a value."""
        return NAMES[self.target]

    def _told(self, fraction: float, cn_beta: float | None, least: str = "") -> str:
        units = self.design.display_units
        if self.target == "both":
            firm = "" if cn_beta is None else f" and {least}{shown(TERMS['cn_beta'], cn_beta, units)}"
            return f"{shown(TERMS['cla_fraction'], fraction, units)}{firm}"
        return shown(TERMS[self.target], fraction, units)

    @property
    def got(self) -> str:
        """What it is now, in figures."""
        return self._told(self.reached, self.cn_beta)

    @property
    def wanted(self) -> str:
        """What was asked for."""
        return self._told(self.value, self.firm, "at least ")


def words_of(
    goal: Goal, way: Way, parameter: float, solved: bool, others: tuple[float, ...], at_limit: bool,
    start: float | None, numbers: Mapping[str, float | None], old: Mapping[str, float | None],
) -> tuple[str, ...]:
    """A refit in sentences: what is changed, what comes of it, what else would do; or how near it comes."""
    units, name, got, wanted = goal.design.display_units, goal.name, goal.got, goal.wanted
    reached = goal.reached
    if not solved:
        if start is not None and abs(reached - start) < 1e-9 and not moves(way, parameter):
            return (
                f"{way.label}: this cannot bring {name} to {wanted}; it leads away from it, or not at "
                f"all: {got} as it is.",
            )
        limit = ", as far as this way goes" if at_limit else ""
        return (
            f"{way.label}: this cannot bring {name} to {wanted}. The nearest is {got}{limit}: "
            + _lower(way.told(parameter)),
        )
    if not moves(way, parameter):
        return (f"This way changes nothing: {name} {_is(goal)} {got} already.",)
    said = [way.told(parameter), f"{name[:1].upper()}{name[1:]} {_is(goal)} then {got}."]
    area, was = numbers.get("fin_area"), old.get("fin_area")
    if area is not None and was is not None and abs(area - was) > 0.5:
        size, more = format_area(area, units), format_area(area - was, units, signed=True)
        high = numbers.get("fin_exposed_height")
        tall = f", {format_length(high, units)} high" if high is not None else ""
        said.append(f"Fin area {size} ({more}){tall}.")
    if others:
        also = "; ".join(_lower(way.told(x)).rstrip(".") for x in others)
        said.append(f"There are {len(others) + 1} answers this way; the nearest is given. Also: {also}.")
    return tuple(said)


def _is(goal: Goal) -> str:
    return "are" if goal.target == "both" else "is"


def _lower(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]


def moves(way: Way, parameter: float) -> bool:
    """True if the way at that parameter changes anything."""
    return abs(parameter - way.start) > 1e-9
