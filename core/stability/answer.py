"""The answer: what two independent witnesses say together, and what to do about it.

The rule is the CLA fraction against the aim (common practice, no source); the handbook is firmness in
yaw with its band, and the static margin where there is a wing. A builder cuts wood on it: it may be
unsure, never sure and wrong. Only ``within`` says that nothing needs to be done.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from core.design import Design
from core.stability.answer_notes import Note, at_odds, guessed, not_in_it
from core.stability.fin_needed import fin_factor, fin_for_both, fin_size
from core.stability.guesses import each_surface, not_entered, sizes_guessed
from core.stability.lateral.rudder import OVER
from core.stability.lateral.yaw import yaw_parts
from core.stability.photographs import left_over, unstraightened
from core.stability.ranges import CN_BETA, LITTLE_DEG, SAFE_MARGIN
from core.stability.readings import Readings, Verdict
from core.stability.wording import aim_words, fin_change, next_step, percent
from core.units import format_length, format_number

AnswerState = Literal["missing", "stop", "incomplete", "doubt", "below", "above", "within"]

SHORT: dict[AnswerState, str] = {
    "missing": "no answer yet", "stop": "do not fly it so", "incomplete": "not complete", "doubt": "in doubt",
    "below": "below the aim", "above": "above the aim", "within": "within the aim",
}


@dataclass(frozen=True)
class Answer:
    """What window, bench sheet and command line say at their head.

    ``figure`` is empty while the answer is missing; then ``sentence`` is the one next step.
    ``plus_minus`` and ``cla_fraction`` are parts of 1, ``cn_beta`` is (low, best, high) per radian.
    """

    state: AnswerState
    sentence: str
    figure: str = ""
    spread: str = ""
    """How far the figure may be off: "± 0.6 %"; empty while it is not known."""
    state_words: str = ""
    meaning: str = ""
    advice: str = ""
    sure: str = ""
    """The ± with the largest of its parts by name."""
    left_out: tuple[Note, ...] = ()
    guessed: tuple[Note, ...] = ()
    at_odds: tuple[Note, ...] = ()
    cla_fraction: float | None = None
    plus_minus: float | None = None
    cn_beta: tuple[float, float, float] | None = None

    @property
    def words(self) -> tuple[str, ...]:
        """What it says, a sentence each."""
        state = f"{self.state_words[:1].upper()}{self.state_words[1:]}." if self.state_words else ""
        return tuple(part for part in (self.sentence, state, self.meaning, self.advice) if part)

    @property
    def short(self) -> str:
        """The state in two or three words, for a list."""
        return SHORT[self.state]

    @property
    def notes(self) -> tuple[Note, ...]:
        """All lines under it."""
        return (*self.at_odds, *self.left_out, *self.guessed)

    @property
    def handbook_content(self) -> bool | None:
        """True if firmness in yaw is at least the usual least and its band above nought; None: not known."""
        if self.cn_beta is None:
            return None
        return self.cn_beta[1] >= CN_BETA[0] and self.cn_beta[0] >= 0.0

    @property
    def settled(self) -> bool:
        """True if it is neither stop nor doubt: a change that leads here needs no second thought."""
        return self.state not in ("missing", "stop", "incomplete", "doubt")


def answer(design: Design, readings: Readings) -> Answer:
    """The answer for ``design``, whose ``readings`` these are: the first state that fits."""
    notes = not_in_it(design, readings), guessed(design, readings), at_odds(design, readings)
    fraction = readings.value("cla_fraction")
    if fraction is None:
        return Answer("missing", next_step(design, readings), left_out=notes[0], guessed=notes[1],
                      at_odds=notes[2])
    said = _Said(design, readings)
    state, state_words, meaning, advice, tail = said.found()
    side = "behind" if fraction >= 0 else "ahead of"
    return Answer(
        state, f"The CLA lies {percent(abs(fraction))} of the tail arm {side} the CG{tail}.",
        percent(fraction), _spread(readings), state_words, meaning, advice, _sure(design, readings),
        *notes, fraction, readings.value("cla_fraction_error"), said.band,
    )


def _spread(readings: Readings) -> str:
    error = readings.value("cla_fraction_error")
    # Never "± 0.0 %": no tracing is that good.
    return "" if error is None else f"± {max(100.0 * error, 0.1):.1f} %"


def _sure(design: Design, readings: Readings) -> str:
    if readings.value("cla_fraction_error") is None:
        return ""
    units = design.display_units
    parts = {
        f"the CG (± {format_length(design.sure.cg_mm, units)})": "cla_fraction_error_cg",
        f"tracing (± {format_length(design.sure.tracing_mm, units)})": "cla_fraction_error_tracing",
        "height and thickness of wing and tailplane": "cla_fraction_error_surfaces",
        f"the photograph (± {format_length(left_over(design), units)} after straightening)":
            "cla_fraction_error_photograph",
    }
    largest = max(parts, key=lambda name: readings.value(parts[name]) or 0.0)
    part = max(100.0 * (readings.value(parts[largest]) or 0.0), 0.1)
    return f"{_spread(readings)}; its largest part is {largest}, {part:.1f} %."


Found = tuple[AnswerState, str, str, str, str]
"""State, its words, what it means, what to do, and what is added to the sentence with the figure."""


class _Said:
    """The two witnesses of one design, and what they say together."""

    def __init__(self, design: Design, readings: Readings) -> None:
        self.design, self.readings = design, readings
        reading = readings["cla_fraction"]
        assert reading.value is not None and reading.verdict is not None
        self.fraction: float = reading.value
        self.rule: Verdict = reading.verdict
        self.firm = readings.value("cn_beta")
        low, high = readings.value("cn_beta_low"), readings.value("cn_beta_high")
        self.band: tuple[float, float, float] | None = None
        if self.firm is not None and low is not None and high is not None:
            self.band = low, self.firm, high
        self.margin = readings.value("static_margin")

    def found(self) -> Found:
        """The first state that fits, from the top."""
        aim = f"the aim of {aim_words(self.design.aim)}"
        stop, what_then = self._stop()
        if stop:
            return "stop", "do not fly it so", stop, what_then, ""
        incomplete = self._incomplete()
        if incomplete is not None:
            return incomplete
        if self.rule != "within":
            meaning, advice = self._off_the_aim()
            return self.rule, f"{self.rule} {aim}", meaning, advice, ""
        reasons = self._doubts()
        if reasons:
            meaning = " ".join(reason for reason, _ in reasons)
            advice = " ".join(dict.fromkeys(remedy for _, remedy in reasons if remedy))
            return "doubt", f"in doubt, though within {aim_words(self.design.aim)}", meaning, advice, ""
        return "within", f"within {aim}", self._content(), self._nothing_to_do(), ""

    # Stop

    def _stop(self) -> tuple[str, str]:
        """(why it must not be flown, what to do); empty where nothing forbids it."""
        why, then = [], []
        if self.margin is not None and self.margin < 0.0:
            why.append(
                f"The CG lies behind the neutral point (static margin {percent(self.margin)}): it cannot be "
                "flown by hand."
            )
            chord = self.readings.value("mac")
            if chord is not None:
                by = format_length((SAFE_MARGIN - self.margin) * chord, self.design.display_units)
                then.append(f"Move the CG {by} forward, to a static margin of {percent(SAFE_MARGIN, 0)}.")
        if self.band is not None and self.band[1] <= 0.0:
            why.append(f"By the handbook it is more likely than not unstable in yaw: {self._cn_words()}.")
            then.append(self._for_both or "It needs a longer tail arm, or less nose.")
        return " ".join(why), " ".join(then)

    # Incomplete

    def _incomplete(self) -> Found | None:
        names = not_entered(self.design)
        flat = [scan.file for scan in unstraightened(self.design)]
        if flat:
            return (
                "incomplete", "not complete",
                f"{flat[0]} looks like a photograph: measured as it is, the figure may be off by points.",
                "Straighten it by four corners (the Straighten hand), or say that it is flat.",
                ", as the photograph stands",
            )
        if not names:
            return None
        both = " and ".join(names)
        tail = f", without {both}"
        meaning = f"It will change when {'they are' if len(names) > 1 else 'it is'} entered"
        meaning += ": each counts twice in the side area, and the handbook needs the wing to judge yaw."
        advice = f"Enter the {both} (list Wings at the left), or say that it has none."
        return "incomplete", "not complete", meaning, advice, tail

    # Doubt

    def _doubts(self) -> list[tuple[str, str]]:
        """(why the figure within the aim may mislead, what would settle it)."""
        found: list[tuple[str, str]] = []
        least = CN_BETA[0]
        if self.band is None:
            found.append((f"The rule is met; the handbook cannot be asked: {self._no_handbook()}.", ""))
        elif self.band[1] < least or self.band[0] < 0.0:
            found.append((
                f"The rule is met, the handbook is not: {self._cn_words()}; {least:g} or more is usual.",
                self._for_both,
            ))
        elif self._bare_low() < 0.0:
            found.append((
                "The rule is met, the handbook only with the wing's part, which goes with its lift: "
                f"without it Cnβ may be as low as {format_number(self._bare_low(), 3)}.",
                self._for_both,
            ))
        error = self.readings.value("cla_fraction_error")
        aim = self.design.aim
        if error is not None and not aim.low <= self.fraction - error <= self.fraction + error <= aim.high:
            found.append((
                f"It may as well lie outside the aim: {percent(self.fraction - error)} to "
                f"{percent(self.fraction + error)}.",
                self._surer(),
            ))
        names = [
            surface.name for group, at, surface in each_surface(self.design)
            if sizes_guessed(self.design, group, at)
        ]
        if names:
            both = " and ".join(names)
            found.append((
                f"A guess decides it: {both} {'stands' if len(names) == 1 else 'stand'} at sizes that the "
                "program put.",
                f"Type the sizes of {both}, or confirm them.",
            ))
        chord = self.readings.value("mac")
        if self.margin is not None and chord is not None and self.margin * chord < self.design.sure.cg_mm:
            found.append((
                f"The CG may as well lie behind the neutral point: static margin {percent(self.margin)}, "
                f"± {percent(self.design.sure.cg_mm / chord)} for the CG alone.",
                f"Move the CG forward, to a static margin of {percent(SAFE_MARGIN, 0)}.",
            ))
        return found

    def _no_handbook(self) -> str:
        if "wing" in self.design.left_out and not self.design.wings:
            return "without a wing it has nothing to go by"
        return self.readings["cn_beta"].missing or "its inputs are missing"

    def _surer(self) -> str:
        parts = {
            "Find the CG more closely": "cla_fraction_error_cg",
            "Trace more closely": "cla_fraction_error_tracing",
            "Measure heights and thicknesses of wing and tailplane": "cla_fraction_error_surfaces",
            "Take a flatter photograph, from further off, or scan the plan": "cla_fraction_error_photograph",
        }
        what = max(parts, key=lambda name: self.readings.value(parts[name]) or 0.0)
        goal = percent(self.design.aim.cla_fraction, 0)
        return f"{what}, or bring the CLA nearer to {goal}."

    # Below and above

    def _off_the_aim(self) -> tuple[str, str]:
        advice = self._rule_advice()
        if self.rule == "below":
            meaning = (
                "By the rule it tries to swap ends: the side area balances ahead of the CG."
                if self.fraction <= 0 else
                "By the rule it yaws freely, and in the extreme swaps ends; aerobatics like it lower."
            )
        else:
            meaning = (
                "By the rule it holds its heading like a weathercock; in the extreme the rudder cannot "
                "overcome it."
            )
        if self.band is None:
            return f"{meaning} The handbook cannot be asked: {self._no_handbook()}.", advice
        low, best, _ = self.band
        least, most = CN_BETA
        weak, strong = best < least or low < 0.0, best > most
        if self.rule == "below" and strong:
            return (
                f"{meaning} The handbook finds it very firm ({self._cn_words()}): the two pull apart.",
                "Firmness first, and that it has: leave the fin as it is, or move side area aft by the body.",
            )
        if self.rule == "above" and weak:
            return (
                f"{meaning} The handbook finds it loose ({self._cn_words()}): the two pull apart.",
                f"Firmness first: do not take fin away. {self._for_both}".rstrip(),
            )
        if weak:
            meaning = f"{meaning} The handbook finds it loose too: {self._cn_words()}."
            return meaning, self._more_for_both(advice)
        agrees = "The handbook finds it very firm too" if strong else "By the handbook it holds its heading"
        if self._bare_low() < 0.0:
            agrees += ", but only with the wing's part, which goes with its lift"
        return f"{meaning} {agrees}: {self._cn_words()}.", advice

    def _rule_advice(self) -> str:
        design, readings = self.design, self.readings
        change = fin_change(readings, design.aim.cla_fraction)
        more, goal = self.rule == "below", percent(design.aim.cla_fraction, 0)
        factor = fin_factor(readings)
        if change is None:
            # Aft the CG makes it less firm in yaw and in pitch.
            aft = (factor is None or factor < 1.0) and (self.margin is None or self.margin > SAFE_MARGIN)
            return (
                f"No fin at this tail arm can bring it to {goal}: move side area aft, or the CG forward."
                if more else
                f"Taking fin away cannot bring it to {goal}: move {'the CG aft, or ' * aft}"
                "side area forward."
            )
        word = "more" if more else "less"
        if not more and factor is not None and change < (factor - 1.0) * self._fin_area:
            spare = max(1.0 - factor, 0.0) * self._fin_area
            much = f"no more than {self._size(spare)}" if spare > 0.01 * self._fin_area else "none"
            return (
                f"For {goal} it would need about {self._size(change)} less fin and rudder, but the handbook "
                f"spares {much}: move side area forward{' for the rest' if much != 'none' else ''}."
            )
        return f"For {goal} it needs about {self._size(change)} {word} fin and rudder in all."

    def _more_for_both(self, advice: str) -> str:
        """The rule's advice, or the handbook's where that asks for more still."""
        factor = fin_factor(self.readings)
        change = fin_change(self.readings, self.design.aim.cla_fraction)
        if factor is None or change is None:
            return advice
        return advice if (factor - 1.0) * self._fin_area <= change else self._for_both

    # Within

    def _content(self) -> str:
        assert self.band is not None
        _, best, _ = self.band
        slip = self.readings.value("sideslip_full_rudder_deg")
        head = f"Rule and handbook agree that it holds its heading ({self._cn_words()})"
        if best > CN_BETA[1]:
            return f"{head}; the handbook finds it very firm."
        if slip is not None and slip < LITTLE_DEG:
            return f"{head}; full rudder holds {slip:.0f}° of slip only, which is little."
        answers = slip is not None or self.readings["sideslip_full_rudder_deg"].missing == OVER
        return f"{head} and still answers the rudder." if answers else f"{head}."

    def _nothing_to_do(self) -> str:
        if self.margin is None:
            return (
                "Nothing needs to be done to the fin. Whether the CG is safe in pitch is not judged here: "
                f"{self.readings['static_margin'].missing}."
            )
        if self.margin < SAFE_MARGIN:
            margin = percent(self.margin)
            return f"Nothing needs to be done to the fin. The static margin, {margin}, is touchy in pitch."
        return "Nothing needs to be done."

    # Common words

    @property
    def _for_both(self) -> str:
        return fin_for_both(self.design, self.readings)

    def _size(self, change: float) -> str:
        return fin_size(change, self.design, self.readings)

    @property
    def _fin_area(self) -> float:
        return self.readings.side.tail_moments.area

    def _bare_low(self) -> float:
        """The low end of the band without the wing's part; 0 where it is not known."""
        parts = yaw_parts(self.readings.aeroplane)
        return 0.0 if isinstance(parts, str) else parts.low_without_wing

    def _cn_words(self) -> str:
        assert self.band is not None
        low, best, high = (format_number(value, 3) for value in self.band)
        return f"Cnβ {best}, between {low} and {high}"
