"""What makers type, against exact arithmetic done apart from the code."""

from __future__ import annotations

import contextlib
import datetime
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grading import units
from grading.units import UnreadableError

MM_PER_INCH = Fraction("25.4")  # NIST SP 811, appendix B
VULGAR = {"½": Fraction(1, 2), "¼": Fraction(1, 4), "¾": Fraction(3, 4), "⅛": Fraction(1, 8), "⅞": Fraction(7, 8)}

inches = st.tuples(st.integers(1, 300), st.integers(1, 127), st.integers(2, 128)).filter(lambda t: t[1] < t[2])


@given(inches)
@pytest.mark.parametrize(
    "spelling",
    [
        "{} {}/{}",
        "{}-{}/{}",
        "{} {}/{} in",
        '{} {}/{}"',
        " {}\u00a0{}\u2044{} INCHES ",
        "{}  {} / {} in.",
        "+{} {}/{}″",
    ],
)
def test_every_spelling_of_a_mixed_fraction_of_an_inch_is_exact(spelling, parts):
    whole, over, under = parts
    assert units.length(spelling.format(*parts), "in") == (whole + Fraction(over, under)) * MM_PER_INCH


@pytest.mark.parametrize(("sign", "fraction"), VULGAR.items())
@pytest.mark.parametrize("spelling", ["8{}", "8 {}", "8{} in", '8{}"', "8-{}"])
def test_a_fraction_sign_is_its_fraction(spelling, sign, fraction):
    assert units.length(spelling.format(sign), "in") == (8 + fraction) * MM_PER_INCH


@given(
    st.decimals(0, 390, places=2), st.sampled_from([("mm", 1), ("cm", 10), ("Centimetres", 10), ("in", MM_PER_INCH)])
)
def test_decimals_with_point_or_comma_are_exact_in_every_unit(figure: Decimal, unit):
    word, size = unit
    for text in (str(figure), str(figure).replace(".", ",")):
        assert units.length(f" {text} {word}", "mm") == Fraction(figure) * size


@given(st.floats(-900, 900, allow_subnormal=False))
def test_a_spreadsheets_float_counts_as_the_decimal_it_prints(figure):
    assert units.signed_length(figure, "mm") == Fraction(Decimal(repr(figure)))


def test_the_units_in_force_holds_only_where_the_cell_names_none():
    assert units.length("21.5", "cm") == 215
    assert units.length("21.5 mm", "cm") == Fraction(43, 2)


@pytest.mark.parametrize("minus", ["-", "- ", "\u2212", "\u2013"])
def test_a_minus_of_any_kind_holds_for_the_whole_mixed_figure(minus):
    assert units.signed_length(f"{minus}2 1/2", "cm") == -25


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        (None, "blank-cell"),
        ("  ", "blank-cell"),
        ("abc", "not-a-number"),
        ("nan", "not-a-number"),
        (float("nan"), "not-a-number"),
        (float("inf"), "not-a-number"),
        (True, "not-a-number"),
        ("21.", "not-a-number"),
        ("1 234", "not-a-number"),
        ("8 5/4", "not-a-number"),
        ("8.5 3/4", "not-a-number"),
        ("3/0", "not-a-number"),
        ("1e308", "not-a-number"),
        ("9" * 300, "not-a-number"),
        (1e308, "too-large"),
        pytest.param(10**5000, "too-large", id="thousands of digits"),
        ("11 m", "unknown-unit"),
        ("8³", "unknown-unit"),
        ("1,234.5", "ambiguous-number"),
        ("1.234,5", "ambiguous-number"),
        ("1,234", "ambiguous-number"),
        (datetime.datetime(2026, 4, 3), "date-for-number"),
        ("6 %", "not-a-length"),
    ],
)
def test_what_is_no_length_is_refused_with_its_reason(typed, code):
    with pytest.raises(UnreadableError) as refusal:
        units.length(typed, "cm")
    assert refusal.value.code == code


@given(st.text(max_size=20) | st.floats() | st.integers() | st.booleans() | st.binary(max_size=3))
def test_nothing_a_cell_can_hold_raises_anything_else(value):
    for read in (units.number, units.percent, lambda cell: units.signed_length(cell, "in")):
        with contextlib.suppress(UnreadableError):
            assert isinstance(read(value), Fraction)


def test_a_measurement_is_above_zero_and_a_length_not_below():
    assert units.length(0, "mm") == 0
    with pytest.raises(UnreadableError, match="below zero"):
        units.length("-0.1", "mm")
    with pytest.raises(UnreadableError, match="is zero"):
        units.measurement("0,0", "mm")


def test_a_percentage_is_a_share_of_one():
    assert units.percent("6,5 %") == units.number("6.5%") == Fraction(13, 200)
    with pytest.raises(UnreadableError):
        units.percent("6.5")


@given(
    st.fractions(-900, 900),
    st.sampled_from([("mm", Fraction(1, 10)), ("cm", Fraction(1, 10)), ("in", MM_PER_INCH / 16)]),
)
def test_what_is_shown_reads_back_to_within_half_a_step(mm, unit_and_step):
    unit, step = unit_and_step
    assert abs(units.signed_length(units.show(mm, unit), unit) - mm) <= step / 2


@pytest.mark.parametrize(
    ("mm", "unit", "text"),
    [(222.25, "in", "8 3/4"), (25.4, "in", "1"), (3.175, "in", "1/8"), (0, "in", "0"), (-0.01, "cm", "0.0"),
     (220, "cm", "22.0"), (114.5, "mm", "114.5"), (121.96, "mm", "122")],
)  # fmt: skip
def test_lengths_show_as_a_tape_shows_them(mm, unit, text):
    assert units.show(mm, unit) == text


@given(st.decimals(-400, 400, places=2), st.sampled_from([-3e-8, 0.0, 3e-8]))
def test_a_half_is_rounded_as_it_is_written_whatever_noise_its_float_has(mm, noise):
    """Python's decimal module rounds what is written; floats worked out differ from that in their last digits."""
    tenths = mm.quantize(Decimal("0.1"), ROUND_HALF_UP)
    assert units.rounded(float(mm) + noise, 1) == float(tenths)
    assert Decimal(units.show(float(mm) + noise, "mm")) == tenths
    assert Decimal(units.show(float(mm) + noise, "cm")) == tenths / 10
