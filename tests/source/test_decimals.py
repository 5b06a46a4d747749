"""Decimal numbers read exactly and printed shortest, against Python's own decimal arithmetic."""

import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gpre.source.decimals import decimal_places, format_decimal, read_decimal

FINITE = st.floats(allow_nan=False, allow_infinity=False)
# As NISTIR 6556, 3.3.2.1 has it: optional sign, digits with at most one point, no exponent.
WRITTEN = re.compile(r"-?(\d+\.?\d*|\.\d+)")


@given(FINITE, st.integers(0, 8), st.booleans(), st.booleans(), st.booleans())
def test_what_is_printed_is_a_number_of_the_standard_and_near(
    value: float, places: int, point: bool, trailing: bool, leading_zero: bool
) -> None:
    text = format_decimal(value, places, point=point, trailing=trailing, leading_zero=leading_zero)
    assert WRITTEN.fullmatch(text)
    exact = Decimal(repr(value))
    assert abs(Decimal(text) - exact) * 2 <= Decimal(1).scaleb(-places)
    assert not (text.startswith("-") and Decimal(text) == 0)
    assert decimal_places(text) == places if trailing else decimal_places(text) <= places


@given(st.decimals(-10_000, 10_000, places=5), st.integers(0, 5))
def test_no_shorter_text_says_the_same(value: Decimal, places: int) -> None:
    text = format_decimal(value, places, point=False, leading_zero=False)
    assert not text.endswith(".")
    assert not re.search(r"\.\d*0$", text)
    assert not re.match(r"-?0\d|-?0\.", text)
    assert Decimal(text) == value.quantize(Decimal(1).scaleb(-places), "ROUND_HALF_EVEN")


@pytest.mark.parametrize(
    ("value", "places", "expected"),
    [
        (0.0, 3, "0."),
        (-0.0, 3, "0."),
        (-0.0004, 3, "0."),
        (5.0, 3, "5."),
        (12.5, 3, "12.5"),
        (0.125, 2, "0.12"),  # a tie goes to the even digit
        (0.375, 2, "0.38"),
        (2.675, 2, "2.68"),  # a tie in the decimal text, though not in binary
        (1e-7, 3, "0."),
        (1e22, 0, "10000000000000000000000."),
        (Decimal("1.00050"), 4, "1.0005"),
        (-0.5, 3, "-0.5"),
    ],
)
def test_examples_of_rounding(value: float, places: int, expected: str) -> None:
    assert format_decimal(value, places) == expected


def test_manners_of_printing() -> None:
    assert format_decimal(5, 3, point=False) == "5"
    assert format_decimal(5.5, 3, point=False) == "5.5"
    assert format_decimal(5, 3, trailing=True) == "5.000"
    assert format_decimal(-0.25, 3, leading_zero=False) == "-.25"
    assert format_decimal(0, 3, leading_zero=False) == "0."
    assert format_decimal(0, 2, leading_zero=False, trailing=True) == ".00"
    assert format_decimal(10, 0, point=False) == "10"


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_what_is_not_finite_is_refused(value: float) -> None:
    with pytest.raises(ValueError, match="cannot be written"):
        format_decimal(value, 3)


def test_negative_places_are_refused() -> None:
    with pytest.raises(ValueError, match="places"):
        format_decimal(1.0, -1)


def test_reading_is_exact_and_blanks_mean_nothing() -> None:
    assert read_decimal(b"+0. 12 34") == Decimal("0.1234")  # the example of NISTIR 6556, 3.3
    assert read_decimal("-.5") == Decimal("-0.5")
    assert read_decimal("7.") == 7
    assert decimal_places("-1.2500") == 4
    assert decimal_places(b"12") == 0


@pytest.mark.parametrize("text", ["", ".", "-", "1e3", "1,5", "--1", "1.2.3", "nan", "٣", b"\xb2"])
def test_what_is_no_number_is_refused(text: str | bytes) -> None:
    with pytest.raises(ValueError, match="no number"):
        read_decimal(text)


@given(FINITE)
def test_reading_back_what_was_printed_in_full(value: float) -> None:
    exact = Decimal(repr(value))
    places = max(0, -int(exact.as_tuple().exponent))
    assert float(read_decimal(format_decimal(value, places))) == value
