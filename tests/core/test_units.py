"""Parsing and formatting of lengths, masses, angles and fractions."""

from __future__ import annotations

import math
import tracemalloc
from collections.abc import Callable
from typing import NoReturn

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from core.design import DisplayUnits
from core.units import (
    GRAMS_PER_LB,
    GRAMS_PER_OZ,
    MM_PER_IN,
    UnitError,
    format_angle,
    format_area,
    format_fine,
    format_fraction,
    format_length,
    format_mass,
    format_number,
    format_speed,
    format_typed,
    nudge_step,
    parse_angle,
    parse_fraction,
    parse_length,
    parse_mass,
    parse_number,
    parse_speed,
    read_as_inches,
)

ALL_UNITS: tuple[DisplayUnits, ...] = ("mm", "in", "in64")
UNITS = st.sampled_from(ALL_UNITS)
# What a format may round away, in mm: half of its last place, and a little for the float itself.
ROUNDING = {"mm": 0.05, "in": 0.005 * 25.4, "in64": 25.4 / 64}
FLOAT = 1e-9
INSIDE = st.floats(-999_000, 999_000)
PIECES = st.sampled_from(
    [*"0123456789.,/-+−–'\"′″’”½⅜°%e ", "in", "ft", "mm", "m", "cm", "kg", "lb", "oz", "g", "nan", "inf",
     "1e9", "\x00", "\n", "\ud800", "İ", "٣", "²", "per cent"]
)
HOSTILE = st.one_of(st.text(max_size=80), st.lists(PIECES, max_size=24).map("".join))


def parse_air(text: str) -> float:
    return parse_number(text, low=0.5, high=2.0, what="Air density in kg/m³")


PARSERS: list[tuple[Callable[[str], float], float]] = [
    (lambda text: parse_length(text, "mm"), 1e6),
    (lambda text: parse_length(text, "in"), 1e6),
    (lambda text: parse_length(text, "in64"), 1e6),
    (lambda text: parse_mass(text, "mm"), 1e6),
    (lambda text: parse_mass(text, "in"), 1e6),
    (parse_angle, 360.0),
    (parse_fraction, 10.0),
    (parse_air, 2.0),
]


def test_units_are_those_of_the_agreement_of_1959() -> None:
    """International yard and pound agreement of 1959; NIST SP 811, Appendix B (from memory).

    1 yd = 0.9144 m and 1 lb = 0.45359237 kg exactly; 3 ft to the yard, 12 in to the foot, 16 oz to the
    pound. Parsing rounds once, so the expectations are met to the last bit.
    """
    assert parse_length("3 ft", "mm") == parse_length("36 in", "mm") == 914.4
    assert parse_length("1 in", "mm") == MM_PER_IN == 25.4
    assert parse_length("1 ft", "mm") == 304.8
    assert parse_mass("1 lb", "mm") == GRAMS_PER_LB == 453.59237
    assert parse_mass("16 oz", "mm") == 453.59237
    assert parse_mass("1 oz", "mm") == GRAMS_PER_OZ == 453.59237 / 16


@pytest.mark.parametrize(
    ("text", "default", "mm"),
    [
        ("52 in", "mm", 52 * 25.4),
        ('52"', "mm", 52 * 25.4),
        ("52in", "mm", 52 * 25.4),
        ("52 IN.", "mm", 52 * 25.4),
        ("52 inches", "mm", 52 * 25.4),
        ("3 3/32", "in", (3 + 3 / 32) * 25.4),
        ("3 3/32", "in64", (3 + 3 / 32) * 25.4),
        ("3 3/32 in", "mm", (3 + 3 / 32) * 25.4),
        ("3 3/32", "mm", (3 + 3 / 32) * 25.4),
        ("½", "mm", 12.7),
        ("3-3/32 in", "mm", (3 + 3 / 32) * 25.4),
        ("−3-3/32 in", "mm", -(3 + 3 / 32) * 25.4),
        ("33/32 in", "mm", 33 / 32 * 25.4),
        ("3½″", "mm", 3.5 * 25.4),
        ("3-½ in", "mm", 3.5 * 25.4),
        ("⅜”", "mm", 0.375 * 25.4),
        ("¼ in", "mm", 0.25 * 25.4),
        ("1⁄4 in", "mm", 0.25 * 25.4),
        ("½ mm", "mm", 0.5),
        ("1.32 m", "mm", 1320),
        ("1.32 metres", "in", 1320),
        ("132 cm", "mm", 1320),
        ("1 m 32 cm", "in", 1320),
        ("1320", "mm", 1320),
        ("1320", "in", 1320 * 25.4),
        ("  12\u00a0mm ", "in", 12),
        ("5 ft 6 in", "mm", 66 * 25.4),
        ("5ft6in", "mm", 66 * 25.4),
        ("5' 6 1/2\"", "mm", 66.5 * 25.4),
        ("5′ 6½″", "mm", 66.5 * 25.4),
        ("5’ 6”", "mm", 66 * 25.4),
        ("5' 6''", "mm", 66 * 25.4),
        ("5' 6", "mm", 66 * 25.4),
        ("-5 ft 6 in", "mm", -66 * 25.4),
        ("− 3.5", "mm", -3.5),
        ("+3.5", "mm", 3.5),
        (".5", "mm", 0.5),
        ("5.", "mm", 5),
        ("1.5e2 mm", "mm", 150),
        ("1,320.5", "mm", 1320.5),
        ("1.320,5", "mm", 1320.5),
        ("2,5 cm", "mm", 25),
        ("2,54", "mm", 2.54),
        ("1,3205", "mm", 1.3205),
        ("0,250", "mm", 0.25),
        ("1320,500", "mm", 1320.5),
        ("1,000,000", "mm", 1e6),
    ],
)
def test_lengths_as_builders_type_them(text: str, default: DisplayUnits, mm: float) -> None:
    assert parse_length(text, default) == pytest.approx(mm, rel=1e-14)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "No length stands here"),
        ("   ", "No length stands here"),
        ("nan", "“nan” is not a length"),
        ("inf", "“inf” is not a length"),
        ("-", "“-” is not a length"),
        ("–", "“–” is not a length"),
        ("--3", "“--3” is not a length"),
        ("in", "“in” is not a length"),
        ("1,320", "can be read as 1320 or as 1.320"),
        ("12,345 mm", "can be read as 12345 or as 12.345"),
        ("12 thou", "the unknown unit “thou”; the units known here are mm, cm, m, in, ft"),
        ("12 mil", "unknown unit “mil”"),
        ("12 µm", "is not a length"),
        ("3/0 in", "divides by zero"),
        ("0/0 in", "divides by zero"),
        ("3 5/4 in", "has 5/4 after a whole number"),
        ("3 - 1/2 in", "is not a length"),
        ("1 320", "do not go together"),
        ("6 in 5 ft", "do not go together"),
        ("5 ft 20 mm", "do not go together"),
        ("5 ft 6 in 2", "do not go together"),
        ("1.2.3", "is not a number"),
        ("1,2,3", "is not a number"),
        ("3,", "is not a number"),
        ("1e999", "more than 1 000 000 mm"),
        ("-1e7", "more than 1 000 000 mm"),
        ("1001 m", "more than 1 000 000 mm"),
        ("9" * 64, "more than 1 000 000 mm"),
        ("9" * 65, "has 65 characters, more than 64"),
        ("3; 4", "is not a length"),
    ],
)
def test_what_is_not_a_length_is_refused_in_one_sentence(text: str, said: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_length(text, "mm")
    message = str(caught.value)
    assert said in message
    assert message.endswith(".")
    assert ("; " in message) and "\n" not in message


def test_limit_itself_is_taken() -> None:
    assert parse_length("1000 m", "mm") == 1e6
    assert parse_length("−1000 m", "mm") == -1e6


class _Unread(str):
    """A text of which nothing but its length and its beginning may be asked."""

    def _refused(self, *_: object, **__: object) -> NoReturn:
        raise AssertionError("the text was read")

    strip = lower = upper = casefold = replace = translate = split = partition = rpartition = _refused
    startswith = endswith = find = isdigit = isascii = encode = __iter__ = _refused


def test_a_huge_text_is_refused_without_being_read() -> None:
    text = _Unread("1" * 50_000_000)
    tracemalloc.start()
    try:
        for parse, _ in PARSERS:
            with pytest.raises(UnitError, match="50000000 characters"):
                parse(text)
        # Nor is it copied, by whatever is not a method of the text itself.
        assert tracemalloc.get_traced_memory()[1] < 1_000_000
    finally:
        tracemalloc.stop()


@pytest.mark.parametrize(
    ("text", "units", "grams"),
    [
        ("185", "mm", 185),
        ("185 g", "in", 185),
        ("6.5", "in", 6.5 * 453.59237 / 16),
        ("6.5 oz", "mm", 6.5 * 453.59237 / 16),
        ("6 1/2 oz", "mm", 6.5 * 453.59237 / 16),
        ("1.2 kg", "mm", 1200),
        ("2 lb 3 oz", "mm", (2 + 3 / 16) * 453.59237),
        ("3 lbs", "in64", 3 * 453.59237),
        ("−20 g", "mm", -20),
    ],
)
def test_masses(text: str, units: DisplayUnits, grams: float) -> None:
    assert parse_mass(text, units) == pytest.approx(grams, rel=1e-14)


@pytest.mark.parametrize("text", ["", "3 stone", "2 lb 3", "12 mm", "1001 kg", "3 oz 2 lb"])
def test_masses_refused(text: str) -> None:
    with pytest.raises(UnitError):
        parse_mass(text, "mm")


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("25 %", 0.25), ("25%", 0.25), ("25", 0.25), ("0.25", 0.25), ("0,25", 0.25), ("1/4", 0.25),
        ("25 per cent", 0.25), ("25 percent", 0.25), ("1", 0.01), ("1 %", 0.01), ("1.5", 0.015), ("2", 0.02),
        ("0.99", 0.99), ("−1", -0.01), ("100", 1.0),
        ("−25", -0.25), ("−0.25", -0.25), ("0", 0.0),
    ],
)
def test_fractions(text: str, value: float) -> None:
    assert parse_fraction(text) == pytest.approx(value, rel=1e-14)


@pytest.mark.parametrize(("text", "said"), [("", "No fraction"), ("1001 %", "1000 %"), ("25 mm", "are %")])
def test_fractions_refused(text: str, said: str) -> None:
    with pytest.raises(UnitError, match=said):
        parse_fraction(text)


@pytest.mark.parametrize(
    ("text", "degrees"),
    [("2", 2), ("2.5°", 2.5), ("−1 deg", -1), ("1° 30′", 1.5), ("-1 1/2 degrees", -1.5), ("360", 360)],
)
def test_angles(text: str, degrees: float) -> None:
    assert parse_angle(text) == degrees


@pytest.mark.parametrize(("text", "said"), [("", "No angle"), ("361", "360°"), ("1 rad", "unit “rad”")])
def test_angles_refused(text: str, said: str) -> None:
    with pytest.raises(UnitError, match=said):
        parse_angle(text)


def test_numbers_keep_to_their_limits_and_name_themselves() -> None:
    assert parse_air("1.225") == parse_air("1,2250") == 1.225
    assert (parse_air("0.5"), parse_air("2")) == (0.5, 2.0)
    for text in ("0.49", "2.01", "-1", "", "x", "1.2 kg", "1e999"):
        with pytest.raises(UnitError, match=r"^Air density in kg/m³: .*\.$"):
            parse_air(text)
    with pytest.raises(UnitError, match="from −5 to 5"):
        parse_number("6", low=-5, high=5, what="Turn")


@pytest.mark.parametrize(
    ("mm", "units", "text"),
    [
        (318, "mm", "318.0 mm"),
        (318, "in", "12.52 in"),
        (318, "in64", "12 17/32 in"),
        (-3 / 32 * 25.4, "in64", "−3/32 in"),
        (0, "in64", "0 in"),
        (-0.1, "in64", "0 in"),
        (25.4 * 63.6 / 64, "in64", "1 in"),
        (-0.04, "mm", "0.0 mm"),
        (-12.34, "mm", "−12.3 mm"),
        (1e6, "mm", "1000000.0 mm"),
        (math.nan, "mm", "–"),
        (math.inf, "in", "–"),
        (-math.inf, "in64", "–"),
        (1.7e308, "in64", "–"),
    ],
)
def test_length_texts(mm: float, units: DisplayUnits, text: str) -> None:
    assert format_length(mm, units) == text


def test_what_is_cut_is_told_finer_than_a_rule_reads() -> None:
    assert [format_fine(318, units) for units in ALL_UNITS] == ["318.0 mm", "12.520 in", "12 33/64 in"]


@pytest.mark.parametrize(
    ("mm", "units", "text"),
    [
        (318.0, "mm", "318.0 mm"), (318.25, "mm", "318.25 mm"), (1.588, "mm", "1.588 mm"),
        (100 / 3, "mm", "33.3 mm"), (25.4 * 0.1875, "in", "0.1875 in"), (25.4 * 12.5, "in", "12.50 in"),
        (318.0, "in", "12.52 in"), (25.4 * 3 / 64, "in64", "3/64 in"), (318.0, "in64", "12 17/32 in"),
        (math.nan, "in64", "–"), (math.inf, "mm", "–"),
    ],
)
def test_what_was_typed_keeps_its_own_precision(mm: float, units: DisplayUnits, text: str) -> None:
    assert format_typed(mm, units) == text
    if math.isfinite(mm):
        assert format_typed(parse_length(text, units), units) == text


def test_a_bare_fraction_is_told_to_be_inches_where_lengths_are_mm() -> None:
    assert read_as_inches(" 3  3/32", "mm") == "3 3/32 in"
    assert read_as_inches("3 3/32", "in") == read_as_inches("3 3/32 in", "mm") == ""
    assert read_as_inches("3.5", "mm") == read_as_inches("x", "mm") == ""


def test_signs_and_bare_figures() -> None:
    assert format_length(3, "mm", signed=True) == "+3.0 mm"
    assert format_length(-3, "mm", signed=True) == "−3.0 mm"
    assert format_length(0.01, "mm", signed=True) == "0.0 mm"
    assert format_length(25.4, "in64", signed=True, with_unit=False) == "+1"
    assert format_length(318, "mm", with_unit=False) == "318.0"
    assert format_area(34_200, "mm", signed=True, with_unit=False) == "+3.42"


def test_other_texts() -> None:
    assert format_area(34_200, "mm") == "3.42 dm²"
    assert format_area(3_420, "mm") == "0.342 dm²"
    assert format_area(9_999, "mm") == "1.00 dm²"
    assert format_area(53 * 25.4**2, "in") == "53.0 sq in"
    assert format_area(5.3 * 25.4**2, "in64") == "5.30 sq in"
    assert format_mass(185, "mm") == "185 g"
    assert format_mass(18.54, "mm") == "18.5 g"
    assert format_mass(99.97, "mm") == "100 g"
    assert format_mass(185, "in") == "6.53 oz"
    assert format_mass(453.59237, "in") == "16.0 oz"
    assert format_fraction(0.246) == "24.6 %"
    assert format_fraction(-0.0001) == "0.0 %"
    assert format_fraction(0.004, signed=True) == "+0.4 %"
    assert format_angle(-1) == "−1.0°"
    assert format_angle(0.25, places=2) == "0.25°"
    assert format_number(12, 1, unit="m/s") == "12.0 m/s"
    nothing = (
        format_area(math.nan, "mm"), format_mass(math.inf, "in"), format_fraction(math.nan),
        format_angle(math.inf), format_number(math.nan, 2, unit="m/s"),
    )
    assert set(nothing) == {"–"}


def test_nudges() -> None:
    assert nudge_step("mm") == 1.0
    assert nudge_step("in") == nudge_step("in64") == 25.4 / 16


@given(INSIDE, UNITS, st.booleans(), st.booleans())
@example(999_000.0, "in64", False, False)
def test_a_shown_length_reads_back(mm: float, units: DisplayUnits, signed: bool, with_unit: bool) -> None:
    text = format_length(mm, units, signed=signed, with_unit=with_unit)
    assert abs(parse_length(text, units) - mm) <= ROUNDING[units] + FLOAT


@given(INSIDE, UNITS)
def test_a_shown_length_keeps_its_text(mm: float, units: DisplayUnits) -> None:
    """What is typed back unchanged must not creep: the text of the text is the text."""
    text = format_length(mm, units)
    assert format_length(parse_length(text, units), units) == text


@given(INSIDE, UNITS, st.sampled_from(ALL_UNITS))
def test_a_shown_length_with_its_unit_reads_alike_under_any_default(
    mm: float, units: DisplayUnits, default: DisplayUnits
) -> None:
    text = format_length(mm, units)
    assert parse_length(text, default) == parse_length(text, units)


@given(st.floats(-900_000, 900_000), UNITS)
def test_a_shown_mass_reads_back(grams: float, units: DisplayUnits) -> None:
    ounces = abs(grams) / GRAMS_PER_OZ
    if units == "mm":
        rounding = 0.5 if abs(grams) >= 99.9 else 0.05
    else:
        rounding = GRAMS_PER_OZ * (0.05 if ounces >= 9.99 else 0.005)
    assert abs(parse_mass(format_mass(grams, units), units) - grams) <= rounding + FLOAT


@given(st.floats(-9.9, 9.9))
def test_a_shown_fraction_and_angle_read_back(value: float) -> None:
    assert abs(parse_fraction(format_fraction(value)) - value) <= 0.0005 + FLOAT
    assert abs(parse_angle(format_angle(value * 36)) - value * 36) <= 0.05 + FLOAT


@settings(max_examples=300)
@given(HOSTILE)
@example("1" * 32 + " " + "1" * 31)
@example("1," * 32)
@example("1 " * 32)
@example("e" * 64)
@example("1e-999 in")
@example("\ud800")
def test_any_text_gives_a_number_within_limits_or_a_unit_error(text: str) -> None:
    for parse, limit in PARSERS:
        try:
            value = parse(text)
        except UnitError as error:
            message = str(error)
            assert message.isprintable()
            assert len(message) < 250
            assert message.endswith(".")
        else:
            assert math.isfinite(value)
            assert abs(value) <= limit


@given(st.floats(), UNITS)
def test_formatters_take_any_float(value: float, units: DisplayUnits) -> None:
    texts = (
        format_length(value, units), format_area(value, units), format_mass(value, units),
        format_fraction(value), format_angle(value),
    )
    for text in texts:
        assert 0 < len(text) < 30
        assert "-" not in text and "nan" not in text and "inf" not in text


@pytest.mark.parametrize(
    ("text", "m_s"),
    [
        ("12", 12.0), ("12.5 m/s", 12.5), ("36 km/h", 10.0), ("36kmh", 10.0), ("100 ft/s", 30.48),
        ("60 mph", 26.8224), ("3600 kt", None), ("10 kt", 18520 / 3600),
    ],
)
def test_speeds(text: str, m_s: float | None) -> None:
    # Mile 1609.344 m, foot 0.3048 m, nautical mile 1852 m: exact by definition.
    if m_s is None:
        with pytest.raises(UnitError, match="speed"):
            parse_speed(text, "mm")
    else:
        assert parse_speed(text, "mm") == pytest.approx(m_s, rel=1e-12)


@pytest.mark.parametrize("text", ["", "x", "0", "-3", "12 furlongs", "nan", "1e9", "m/s", "9" * 200])
def test_what_is_no_speed(text: str) -> None:
    with pytest.raises(UnitError):
        parse_speed(text, "mm")


def test_a_speed_comes_back_as_it_is_shown() -> None:
    assert format_speed(12.0, "mm") == "12.0 m/s"
    assert format_speed(0.44704 * 27, "in") == "27.0 mph"
    assert parse_speed("27", "in") == pytest.approx(27 * 0.44704)
