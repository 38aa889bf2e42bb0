"""From servo to control surface: how far it moves, the horn for a wanted throw, slack of pull-pull wires.

Exact geometry in one plane. A rod joins two arms; its length is what makes both arms square to it with
everything at neutral, and how far apart the pivots stand is taken as :func:`rod_length` says. A horn
whose holes are set back stands out of square by that much. The throws come from the intersection of
two circles, the check beside them from the ratio of the arms (small angles). What cannot be computed
comes back as a str: the reason, a short clause for the window.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from msgspec.structs import replace

from core.design import LIMIT
from core.design_bench import Linkage
from core.stability.ballast import OUT_OF_REACH

ROD_ARMS = 10.0
"""How many times the longer arm a rod or wire is taken to be: the design does not hold its length."""
NEAR_DEAD_DEG = 20.0
"""An arm that comes nearer than this to lying in line with its rod is near dead centre (common practice)."""
SLACK_FELT = 0.5
"""mm of slack in the idle wire from which a surface is loose at full throw (common practice, no source)."""
STRETCH_FELT = 0.1
"""mm that wires would have to stretch from which they bind the servo (common practice, no source)."""
_STEPS = 45
_MOST_THROW = 80.0
_MOST_SET_BACK = 0.9
_TOO_FAR = "the servo turns further than the rod can follow: use a shorter arm or a longer horn"

_Pin = tuple[float, float]
# A table of linkages asks the same again and again; a linkage never changes, it is replaced.
_kept = lru_cache(maxsize=128)


@dataclass(frozen=True)
class Throw:
    """What a linkage gives, in degrees, and in mm at the trailing edge square to its neutral line.

    ``pushed``, ``pulled``: the surface's angle at full travel with the rod going aft and forward;
    for a pull-pull pair both are the same. ``by_ratio``: travel times the ratio of the arms, right
    for small angles. ``near_dead``: what comes near dead centre, a clause, or empty. ``rod_matters``:
    how many degrees the throw changes at most with rods half as long as taken.
    """

    pushed: float
    pulled: float
    by_ratio: float
    surface_chord: float
    near_dead: str
    rod_matters: float

    @property
    def least(self) -> float:
        """The smaller of the two throws, degrees: what can be counted on both ways."""
        return min(self.pushed, self.pulled)

    def at_edge(self, degrees: float) -> float:
        """mm at the trailing edge for a throw: chord × sin."""
        return edge_distance(self.surface_chord, degrees)


@dataclass(frozen=True)
class PullPull:
    """The wire that is not pulled, through the travel of the servo.

    Lengths in mm. ``wire``: of each as rigged at neutral. ``at_full``: slack of the idle wire at full
    travel; below nothing: how much it would have to stretch. ``worst``: the same where it is greatest
    in size, at ``worst_servo_deg`` of the servo and ``worst_surface_deg`` of the surface.
    """

    wire: float
    at_full: float
    worst: float
    worst_servo_deg: float
    worst_surface_deg: float

    @property
    def wire_at_worst(self) -> float:
        """How long the idle wire would have to be at the worst place, mm."""
        return self.wire - self.worst


def edge_distance(chord: float, degrees: float) -> float:
    """mm that a trailing edge moves square to its neutral line: chord × sin (exact)."""
    return chord * math.sin(math.radians(degrees))


def rod_length(driving: float, driven: float) -> float:
    """Length in mm that a rod between two arms is taken to have: ten times the longer arm."""
    return ROD_ARMS * max(driving, driven)


def swing(
    turn_deg: float, driving: float, driven: float, rod: float, set_back: float = 0.0, *,
    paired: bool = False,
) -> float | None:
    """Turn in degrees of the driven arm when the driving one turns by ``turn_deg``; aft is positive.

    Both stand square to a rod of ``rod`` mm at neutral, the driven hole ``set_back`` aft of square.
    ``paired``: one wire of a pair instead, both pivots on the centre line between the wires. From the
    intersection of the circles about both ends; None where they do not meet.
    """
    pivot, hole, length = _at_neutral(driving, driven, rod, set_back, paired)
    return _followed(_pin(driving, turn_deg), pivot, hole, driven, length)


@_kept
def throw_of(linkage: Linkage) -> Throw | str:
    """The throw both ways; the horn's side of a bell crank goes aft as the servo's side does."""
    fault = _fault(linkage)
    if fault:
        return fault
    found = _both_ways(linkage, ROD_ARMS)
    if found is None:
        return _TOO_FAR
    pushed, pulled, margin = found
    short = _both_ways(linkage, 0.5 * ROD_ARMS)
    matters = math.inf if short is None else max(abs(short[0] - pushed), abs(short[1] - pulled))
    ratio = linkage.servo_arm / _square(linkage)
    if linkage.crank_in is not None and linkage.crank_out is not None:
        ratio *= linkage.crank_out / linkage.crank_in
    return Throw(
        pushed, pulled, linkage.servo_travel_deg * ratio, linkage.surface_chord, _near_dead(margin), matters
    )


@_kept
def horn_for(linkage: Linkage, wanted_deg: float) -> float | str:
    """The horn in mm with which the smaller of the two throws is ``wanted_deg``; all else stays.

    Halving of the interval: a longer horn always throws less.
    """
    if not 0.0 < wanted_deg <= _MOST_THROW:
        return f"give a throw greater than 0° and up to {_MOST_THROW:g}°"
    shortest = abs(linkage.horn_set_back) / _MOST_SET_BACK * 1.0001 + 1e-3
    fault = _fault(replace(linkage, horn=shortest + 1.0))
    if fault:
        return fault
    if not linkage.servo_travel_deg > 0.0:
        return "the servo does not move: enter its travel"

    def enough(horn: float) -> bool:
        found = _both_ways(replace(linkage, horn=horn), ROD_ARMS)
        return found is None or min(found[:2]) >= wanted_deg

    low, high = shortest, 2.0 * shortest + linkage.servo_arm
    while enough(high):
        low, high = high, 2.0 * high
        if high > LIMIT:
            return OUT_OF_REACH
    for _ in range(54):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if enough(middle) else (low, middle)
    found = _both_ways(replace(linkage, horn=high), ROD_ARMS)
    if found is None or abs(min(found[:2]) - wanted_deg) > 1e-6:
        return "no horn gives so much throw: use a longer servo arm or more travel of the servo"
    return high


@_kept
def pull_pull_of(linkage: Linkage) -> PullPull | str:
    """Slack or stretch of the idle wire of a pull-pull pair, the pulled one taut, through the travel.

    Two wires from a double arm to a double horn, both pivots on the centre line. The pulled wire
    turns the surface; what the idle one then spans is compared with its length.
    """
    fault = _fault(linkage)
    if fault:
        return fault
    if not linkage.pull_pull:
        return "this linkage is a rod: choose pull-pull to check the wires"
    found = _slack(linkage)
    if found is None:
        return _TOO_FAR
    # Of places alike but for rounding, the one furthest out.
    worst = max(found, key=lambda step: (round(abs(step[2]), 9), step[0]))
    wire = _at_neutral(*_last_arms(linkage), linkage.horn_set_back, True)[2]
    return PullPull(wire, found[-1][2], worst[2], worst[0], worst[1])


@_kept
def set_back_without_slack(linkage: Linkage) -> float | str:
    """The horn's set-back in mm that leaves the idle wire neither slack nor stretched at full travel.

    The nearest to 0 there is, no further than half the horn; by halving of the interval.
    """
    fault = _fault(replace(linkage, horn_set_back=0.0))
    if fault:
        return fault

    def slack(set_back: float) -> float | None:
        found = _slack(replace(linkage, horn_set_back=set_back))
        return None if found is None else found[-1][2]

    now = slack(0.0)
    if now is None:
        return _TOO_FAR
    if abs(now) < 1e-9:
        return 0.0
    # Slack is mended by holes further forward, stretch by holes further aft.
    inner, step = 0.0, -math.copysign(0.02 * linkage.horn, now)
    for _ in range(25):
        outer = inner + step
        there = slack(outer)
        if there is None:
            break
        if there * now <= 0.0:
            for _ in range(50):
                middle = 0.5 * (inner + outer)
                between = slack(middle)
                if between is not None and between * now > 0.0:
                    inner = middle
                else:
                    outer = middle
            return 0.5 * (inner + outer)
        inner = outer
    return "no set-back of the horn takes the slack away: choose other arms"


def slack_words(found: PullPull) -> str:
    """What the slack means: "slack", "binds" or "true" (limits are common practice, no source)."""
    if found.worst > SLACK_FELT:
        return "slack"
    return "binds" if found.worst < -STRETCH_FELT else "true"


def _fault(linkage: Linkage) -> str:
    arms = [linkage.servo_arm, linkage.horn, linkage.surface_chord]
    arms += [arm for arm in (linkage.crank_in, linkage.crank_out) if arm is not None]
    if not all(abs(v) <= LIMIT for v in (*arms, linkage.horn_set_back, linkage.servo_travel_deg)):
        return OUT_OF_REACH
    if not linkage.servo_arm > 0.0:
        return "enter the servo arm"
    if not linkage.horn > 0.0:
        return "enter the horn"
    if (linkage.crank_in is None) != (linkage.crank_out is None):
        return "enter both arms of the bell crank, or none"
    if not all(arm > 0.0 for arm in arms[3:]):
        return "give the bell crank arms longer than 0"
    if not arms[2] > 0.0:
        return "enter the chord of the surface from hinge to trailing edge"
    if not min(arms) > 1e-3 or max(arms) > 1e4 * min(arms):
        return "the arms are too unlike in length to work: check what was typed"
    if abs(linkage.horn_set_back) > _MOST_SET_BACK * linkage.horn:
        return "the horn's holes are set back nearly as far as the horn is long: check both"
    if not 0.0 <= linkage.servo_travel_deg <= 90.0:
        return "give the servo a travel between 0° and 90°"
    return ""


def _square(linkage: Linkage) -> float:
    """The part of the horn that stands square to the hinge, mm: what a small movement works on."""
    return math.sqrt(linkage.horn**2 - linkage.horn_set_back**2)


def _last_arms(linkage: Linkage, rod_arms: float = ROD_ARMS) -> tuple[float, float, float]:
    """(arm that drives the horn, horn, rod between them), mm."""
    driving = linkage.servo_arm if linkage.crank_out is None else linkage.crank_out
    return driving, linkage.horn, rod_arms / ROD_ARMS * rod_length(driving, linkage.horn)


def _crank_turn(linkage: Linkage, turn_deg: float, rod_arms: float = ROD_ARMS) -> float | None:
    """Turn of what drives the horn, degrees: of the bell crank, or of the servo itself."""
    if linkage.crank_in is None:
        return turn_deg
    rod = rod_arms / ROD_ARMS * rod_length(linkage.servo_arm, linkage.crank_in)
    return swing(turn_deg, linkage.servo_arm, linkage.crank_in, rod)


def _both_ways(linkage: Linkage, rod_arms: float) -> tuple[float, float, dict[str, float]] | None:
    """(throw pushed, throw pulled, how near each arm comes to dead centre in degrees), or None."""
    driving, horn, rod = _last_arms(linkage, rod_arms)
    ends: list[float] = []
    margin: dict[str, float] = {}
    for way in (1.0, -1.0):
        if linkage.pull_pull and way > 0.0:
            # The other wire is the one that pulls then: both ways are alike.
            continue
        for step in range(1, _STEPS + 1):
            servo = way * linkage.servo_travel_deg * step / _STEPS
            crank = _crank_turn(linkage, servo, rod_arms)
            surface = None if crank is None else swing(
                crank, driving, horn, rod, linkage.horn_set_back, paired=linkage.pull_pull
            )
            if crank is None or surface is None:
                return None
            lean = math.degrees(math.asin(linkage.horn_set_back / horn))
            near = {"the servo arm": abs(servo), "the horn": abs(surface + lean)}
            if linkage.crank_in is not None:
                near["the bell crank"] = abs(crank)
            for name, angle in near.items():
                margin[name] = min(margin.get(name, 90.0), 90.0 - angle)
        ends.append(abs(surface or 0.0))
    return ends[0], ends[-1], margin


def _near_dead(margin: dict[str, float]) -> str:
    # A hair's breadth of tolerance: 70° of travel, as typed, is at the limit and not past it.
    near = [name for name, left in margin.items() if left < NEAR_DEAD_DEG - 1e-9]
    if not near:
        return ""
    comes = "comes" if len(near) == 1 else "come"
    return f"{' and '.join(near)} {comes} near dead centre: use less travel, or other holes"


def _slack(linkage: Linkage) -> list[tuple[float, float, float]] | None:
    """(servo, surface in degrees, slack of the idle wire in mm) through the travel from neutral; or None."""
    driving, horn, rod = _last_arms(linkage)
    pivot, hole, wire = _at_neutral(driving, horn, rod, linkage.horn_set_back, True)
    found = []
    for step in range(_STEPS + 1):
        servo = linkage.servo_travel_deg * step / _STEPS
        crank = _crank_turn(linkage, -servo)
        surface = None if crank is None else _followed(_pin(driving, crank), pivot, hole, horn, wire)
        if crank is None or surface is None:
            return None
        # The idle wire mirrors the pulled one: its ends go aft where those of the other go forward.
        arm = _pin(driving, -crank)
        turned = _turned(hole, -surface)
        spans = math.hypot(pivot[0] + turned[0] - arm[0], pivot[1] + turned[1] - arm[1])
        found.append((servo, abs(surface), wire - spans))
    return found


def _pin(radius: float, turn_deg: float) -> _Pin:
    """(aft, out) of an arm's hole, square to the line aft at neutral, turned so that it goes aft."""
    turn = math.radians(turn_deg)
    return radius * math.sin(turn), radius * math.cos(turn)


def _turned(hole: _Pin, turn_deg: float) -> _Pin:
    """``hole``, from its pivot, turned so that what stands out goes aft."""
    sin, cos = math.sin(math.radians(turn_deg)), math.cos(math.radians(turn_deg))
    return hole[0] * cos + hole[1] * sin, hole[1] * cos - hole[0] * sin


def _at_neutral(
    driving: float, driven: float, rod: float, set_back: float, paired: bool
) -> tuple[_Pin, _Pin, float]:
    """(driven pivot from the driving one, driven hole from its own pivot, length of the rod), mm."""
    hole = (set_back, math.sqrt(driven**2 - set_back**2))
    if paired:
        # Both wires run from centre line to centre line; with unlike arms they draw together.
        return (rod, 0.0), hole, math.hypot(rod + set_back, hole[1] - driving)
    return (rod - set_back, driving - hole[1]), hole, rod


def _followed(pin: _Pin, pivot: _Pin, hole: _Pin, radius: float, rod: float) -> float | None:
    """Degrees that the driven arm turns aft to keep its hole ``rod`` from ``pin``; None: it cannot."""
    across, out = pin[0] - pivot[0], pin[1] - pivot[1]
    apart = math.hypot(across, out)
    if apart <= 0.0:
        return None
    # Law of cosines in the triangle pin, driven pivot, hole.
    cosine = (radius**2 + apart**2 - rod**2) / (2.0 * radius * apart)
    if abs(cosine) > 1.0:
        return None
    bearing = math.atan2(across, out)
    # Of the two places, the one on the side where the arm stands at neutral: aft of the line to the pin.
    aft = math.degrees(bearing + math.acos(cosine) - math.atan2(hole[0], hole[1]))
    return (aft + 180.0) % 360.0 - 180.0
