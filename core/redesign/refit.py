"""Refit: how large must the fin be now? The answer outright, by whichever way, and what it costs."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Literal

from core.design import Design
from core.geometry.overlay import OverlayError
from core.redesign.outline_edits import EditError
from core.redesign.probe import Probe, Target
from core.redesign.refit_ways import LABELS, WAYS, Way, WayKey, way_of
from core.redesign.refit_words import NAMES, Goal, moves, words_of
from core.redesign.solving import roots_of
from core.redesign.tail import stands
from core.redesign.weight_edits import nose_x
from core.stability.aeroplane import Values
from core.stability.answer import Answer, AnswerState, answer
from core.stability.balance import cg_of, surface_masses
from core.stability.ballast import weighed
from core.stability.catalogue import TERMS
from core.stability.fin_needed import FIRM_CN_BETA
from core.stability.ranges import FIN_VOLUME, LITTLE_DEG, STATIC_MARGIN, span_words
from core.stability.readings import ReadingsEngine, scale_known
from core.stability.recount import recount
from core.stability.wording import percent, shown
from core.units import format_mass

_POLISHING = 6
_CLOSE_BY = 0.003
_MET, _NEARLY = 1e-7, 1e-5


class CancelledError(Exception):
    """The caller no longer wants the result."""


@dataclass(frozen=True)
class Refit:
    """What a refit came to. Lengths in mm, masses in g.

    Where ``solved`` is false, ``design`` is the one that comes nearest: something to look at, not to
    put in unasked.
    """

    way: WayKey
    label: str
    target: Target
    wanted: float
    solved: bool
    design: Design
    parameter: float
    unit: Literal["×", "mm", "g"]
    before: float | None
    """The target reading of the design as it was; None where it was missing."""
    reached: float
    readings: Mapping[str, float | None]
    """By reading key, those of ``design``; None where missing."""
    other_roots: tuple[float, ...]
    """Parameters that give the wanted value as well."""
    words: tuple[str, ...]
    """What is done, what it comes to, other answers."""
    cautions: tuple[str, ...]
    """What to look at before it is built."""
    answer: Answer
    """What would be said of ``design``."""


@dataclass(frozen=True)
class WayCost:
    """What one way would cost. Figures are None where they are missing, all where ``why`` is set."""

    way: WayKey
    label: str
    why: str | None
    """Why this way does not lead there; None where it does."""
    refit: Refit | None
    """The answer, or the nearest that can be had; None where the way cannot be gone at all."""
    fin_area: float | None = None
    """mm²."""
    fin_height: float | None = None
    """mm, exposed, of one fin of the largest group."""
    fin_chord: float | None = None
    """mm, MAC of the same."""
    mass: float | None = None
    """g, lead not included."""
    lead: float | None = None
    """g of lead in the nose to bring the CG by the weights back; below 0: so much may come out."""
    fin_volume: float | None = None
    cn_beta: float | None = None
    cla_fraction: float | None = None
    sideslip_full_rudder_deg: float | None = None
    spiral_parameter: float | None = None
    static_margin: float | None = None

    @property
    def state(self) -> AnswerState | None:
        """The state of the answer that the result would have; None without one."""
        return self.refit.answer.state if self.refit is not None else None

    @property
    def doubtful(self) -> bool:
        """True if the result must not be flown so, or rule and handbook are not both content with it."""
        return self.state in ("stop", "doubt")


def refit(
    design: Design, way: WayKey, target: Target, value: float, *, firm: float = FIRM_CN_BETA,
    length: float | None = None, weight: str | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Refit:
    """The design changed by ``way`` until the reading ``target`` is ``value``.

    ``both``: until the CLA fraction is at least ``value``, Cnβ at least ``firm``, and one of them only
    just; solved where the CLA fraction does not leave the aim upwards for that.

    Of several answers the one nearest to the present design is put in, the others are named. Where
    outlines weigh by area and the CG comes from the weights, the fin's own weight moves the CG while
    it is being solved. ``length`` and ``weight`` as in ``way_of``. EditError where the way cannot be
    gone or the reading is missing all along it; ``CancelledError`` when ``cancelled`` says so.
    """
    chosen = way_of(design, way, length=length, weight=weight)
    return _refit(design, chosen, target, value, firm, Probe(), cancelled)


def ways_table(
    design: Design, target: Target, value: float, *, firm: float = FIRM_CN_BETA,
    dorsal_length: float | None = None, ventral_length: float | None = None, weight: str | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> list[WayCost]:
    """What each way to ``value`` would cost, or why it does not lead there.

    In the order of ``WAYS``, but those first whose result is neither doubtful nor forbidden, and those
    last that do not lead there.
    """
    probe = Probe()
    rows = []
    lengths: dict[str, float | None] = {"dorsal": dorsal_length, "ventral": ventral_length}
    for key in WAYS:
        try:
            way = way_of(design, key, length=lengths.get(key), weight=weight)
            found = _refit(design, way, target, value, firm, probe, cancelled)
        except (EditError, OverlayError) as error:
            rows.append(WayCost(key, LABELS[key], str(error), None))
            continue
        rows.append(_cost(design, found))
    return sorted(rows, key=lambda row: 2 if row.why is not None else 1 if row.doubtful else 0)


def present_cost(design: Design) -> Mapping[str, float | None]:
    """The same figures of the design as it is, by the field names of ``WayCost``."""
    return _figures(design, design, _numbers(Probe().values(design)))


def lead_needed(before: Design, after: Design) -> float | None:
    """Grams of lead in the nose that bring the CG of ``after`` where it has to be (moments, exact).

    That is the mark of ``after`` where the CG comes from the mark, else where the weights of
    ``before`` balance. Below 0: so much could be taken out of the nose. None without weights or nose.
    """
    now, then, nose = weighed(after), weighed(before), nose_x(after)
    if isinstance(now, str) or nose is None:
        return None
    if after.cg_from == "mark":
        wanted = after.cg_mark.x if after.cg_mark is not None else None
    else:
        wanted = None if isinstance(then, str) else then.x
    if wanted is None or abs(wanted - nose) < 1.0:
        return None
    return now.grams * (now.x - wanted) / (wanted - nose)


def _refit(
    design: Design, way: Way, target: Target, value: float, firm: float, probe: Probe,
    cancelled: Callable[[], bool] | None,
) -> Refit:
    if not math.isfinite(value):
        raise EditError(f"a refit needs a number to bring {NAMES[target]} to: type one")
    if target != "cla_fraction" and scale_known(design):
        probe.begin(design)
    reasons: list[str] = []

    def function(x: float, near: bool = True) -> float:
        if cancelled is not None and cancelled():
            raise CancelledError
        try:
            found = probe.read(way.make(x), target, value, firm, near=near)
        except (EditError, OverlayError) as error:
            found = str(error)
        if isinstance(found, str):
            reasons.append(found)
            return math.nan
        return found

    roots = roots_of(function, value, way.grid)
    polished = (_polished(way, target, value, firm, probe, function, x) for x in roots.roots)
    found = [x for x in polished if x is not None]
    if target != "cla_fraction" and not found and abs(roots.nearest_value - value) < _CLOSE_BY:
        # So near that the coarse lattice may have hidden it, or put it where there is a step.
        roots = roots_of(partial(function, near=False), value, way.grid)
        found = list(roots.roots)
    if roots.nearest is None:
        raise EditError(f"{NAMES[target]} is missing: {reasons[0]}")
    good = [x for x in found if target != "both" or _inside(probe, way.make(x))]
    solved = bool(good)
    parameter = min(good or found or [roots.nearest], key=lambda x: _away(way, x))
    others = tuple(x for x in good if x != parameter)
    made = way.make(parameter)
    # Somebody may cut wood on this one: its areas are counted a second time.
    why = recount(made).disagreement(probe.aeroplane(made).side, design.display_units)
    if why is not None:
        raise EditError(why)
    plain: Target = "cn_beta" if target == "cn_beta" else "cla_fraction"
    reached = probe.read(made, plain)
    before = probe.read(design, plain)
    start = None if isinstance(before, str) else before
    numbers, old = _numbers(probe.values(made)), _numbers(probe.values(design))
    assert not isinstance(reached, str)
    goal = Goal(design, target, value, firm, reached, numbers.get("cn_beta"))
    return Refit(
        way=way.key, label=way.label, target=target, wanted=value, solved=solved, design=made,
        parameter=parameter, unit=way.unit, before=start, reached=reached, readings=numbers,
        other_roots=others,
        words=words_of(goal, way, parameter, solved, others, roots.at_limit, start, numbers, old),
        cautions=_cautions(design, made, way, numbers, old) if moves(way, parameter) else (),
        answer=answer(made, ReadingsEngine().read(made)),
    )


def _polished(
    way: Way, target: Target, value: float, firm: float, probe: Probe, near: Callable[[float], float],
    x: float,
) -> float | None:
    """A root of the figures that a search looks at, moved to where the whole ones are met (secants).

    None where they are met nowhere near: a lattice jumps where a tailplane comes to lie on the fin's tip.
    """
    if target == "cla_fraction":
        return x
    low, high = min(way.grid), max(way.grid)
    step = 1e-4 * (high - low)
    for turn in range(_POLISHING):
        whole = probe.read(way.make(x), target, value, firm)
        if isinstance(whole, str):
            return None
        if abs(whole - value) < _MET:
            return x
        if turn == _POLISHING - 1:
            return x if abs(whole - value) < _NEARLY else None
        aside = x + step if x + step <= high else x - step
        slope = (near(aside) - near(x)) / (aside - x)
        if not math.isfinite(slope) or slope == 0.0:
            return None
        x = min(max(x - (whole - value) / slope, low), high)
    return None


def _inside(probe: Probe, design: Design) -> bool:
    """True if the CLA fraction does not lie above the aim."""
    fraction = probe.read(design, "cla_fraction")
    return not isinstance(fraction, str) and fraction <= design.aim.high + 1e-9


def _away(way: Way, x: float) -> float:
    return abs(math.log(x)) if way.unit == "×" else abs(x - way.start)


def _numbers(values: Values) -> dict[str, float | None]:
    return {key: None if isinstance(value, str) else value for key, value in values.items()}


def _cautions(
    before: Design, after: Design, way: Way, now: Mapping[str, float | None],
    then: Mapping[str, float | None],
) -> tuple[str, ...]:
    said = []
    if way.key in ("scale", "height", "chord", "arm") and not stands(after):
        said.append("The fin no longer touches the fuselage: draw its root on.")
    if way.key == "ventral":
        said.append("See that the ventral fin clears the ground at the attitude of take-off and landing.")
        said.append("The lattice and the side area count it; the handbook and the fin centre leave it out.")
    margin, was = now.get("static_margin"), then.get("static_margin")
    if margin is not None:
        figure = shown(TERMS["static_margin"], margin, before.display_units)
        least, most = STATIC_MARGIN
        if margin < 0.0:
            said.append(f"Static margin {figure}: it would be unstable in pitch. Do not fly it so.")
        elif margin < least and (was is None or margin < was - 1e-6):
            said.append(f"Static margin {figure}: less than {percent(least, 0)} is touchy in pitch.")
        elif margin > most and was is not None and margin > was + 1e-6:
            said.append(
                f"Static margin {figure}: more than {percent(most, 0)} is nose-heavy; it may not flare."
            )
    slip = now.get("sideslip_full_rudder_deg")
    if slip is not None and slip < LITTLE_DEG:
        said.append(f"Full rudder holds {slip:.0f}° of sideslip only: little rudder authority.")
    volume = now.get("fin_volume")
    if volume is not None and not FIN_VOLUME[0] <= volume <= FIN_VOLUME[1]:
        side = "under" if volume < FIN_VOLUME[0] else "over"
        said.append(f"Fin volume {volume:.3f} is {side} the range {span_words(FIN_VOLUME)}.")
    lead = lead_needed(before, after)
    already = lead_needed(before, before) or 0.0
    if lead is not None and abs(lead - already) >= 1.0:
        mass = format_mass(abs(lead), before.display_units)
        said.append(
            f"To balance there by the weights as entered, put {mass} of lead in the nose."
            if lead > 0.0 else f"By the weights as entered it balances there with {mass} less in the nose."
        )
    grown = way.key not in ("arm", "cg") and _moves_mass(before, after)
    if grown:
        said.append(
            "What the tail gains or loses weighs nothing here: make parts for it, or give fin and "
            "rudder their grams per dm²."
        )
    return tuple(said)


def _moves_mass(before: Design, after: Design) -> bool:
    """True if outlines were changed of which none weighs anything, though weights are entered."""
    if not before.weights or cg_of(before)[0] is None:
        return False
    old = {id(o) for o in before.outlines}
    changed = {o.id for o in after.outlines if id(o) not in old}
    return bool(changed) and changed.isdisjoint(i for mass in surface_masses(after) for i in mass.ids)


def _cost(design: Design, found: Refit) -> WayCost:
    figures = _figures(design, found.design, found.readings)
    why = None if found.solved else found.words[0]
    return WayCost(found.way, found.label, why, found, **figures)


def _figures(before: Design, after: Design, numbers: Mapping[str, float | None]) -> dict[str, float | None]:
    return {
        "fin_area": numbers.get("fin_area"), "fin_height": numbers.get("fin_exposed_height"),
        "fin_chord": numbers.get("fin_mac"), "mass": numbers.get("mass"),
        "lead": lead_needed(before, after),
        "fin_volume": numbers.get("fin_volume"), "cn_beta": numbers.get("cn_beta"),
        "cla_fraction": numbers.get("cla_fraction"),
        "sideslip_full_rudder_deg": numbers.get("sideslip_full_rudder_deg"),
        "spiral_parameter": numbers.get("spiral_parameter"),
        "static_margin": numbers.get("static_margin"),
    }
