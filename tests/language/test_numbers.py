"""Number words become exact Decimals, and what could be two numbers becomes none."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from num2words import num2words

from fieldvoice.language.intents import NotUnderstood, Reading
from fieldvoice.language.parser import understand
from fieldvoice.language.speech_text import ONES, say_number

CORNERS = [
    *range(0, 1300), *range(1900, 2130), *range(9900, 10130), *range(19990, 20030),
    *range(99900, 100_000),
]  # fmt: skip


def value(line):
    """The number of a line that is one; otherwise the refusal."""
    intent = understand(line)
    return intent.value if isinstance(intent, Reading) else intent


@pytest.mark.parametrize(
    ("words", "number"),
    [
        ("four hundred and twelve", "412"), ("four twelve", "412"), ("four one two", "412"),
        ("twelve fifty", "1250"), ("twenty-five hundred", "2500"), ("one oh five", "105"),
        ("one ten", "110"), ("one eighteen", "118"), ("point six", "0.6"),
        ("two and a half thousand", "2500"), ("one point two thousand", "1200"),
        ("minus five", "-5"), ("negative five", "-5"), ("five below zero", "-5"),
        ("five hundred even", "500"), ("five hundred flat", "500"), ("a hundred", "100"),
        ("a thousand", "1000"), ("three and a quarter", "3.25"), ("half", "0.5"),
        ("minus point five", "-0.5"), ("minus three and a half", "-3.5"), ("minus zero", "0"),
        ("four point five zero", "4.50"), ("nine nine nine nine nine nine", "999999"),
    ],
)  # fmt: skip
def test_a_number_is_exact_in_every_way_of_saying_it(words, number):
    assert str(value(words)) == number


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("1,200", "1200"), ("12,345", "12345"), ("-5", "-5"), ("\u22125", "-5"), (".6", "0.6"),
        ("0.10", "0.10"), ("3/8", "0.375"), ("-1/2", "-0.5"), ("1 3/8", "1.375"),
        ("-1 1/2", "-1.5"),
        ("1-3/8", "1.375"), ("3\u00bd", "3.5"), ("007", "7"),
    ],
)  # fmt: skip
def test_a_typed_number_is_exact(typed, number):
    assert value(typed) == Decimal(number)


@pytest.mark.parametrize(
    "words",
    ["twelve ten", "thirty forty", "four two", "twelve five", "six ty", "point", "hundred", "a",
     "and", "oh", "oh five", "zero five", "minus", "four hundred point", "1,20", "1..2", "1/3",
     "--5", "5-", "- 5",
     "four five six seven eight nine one", "one hundred thousand"],
)  # fmt: skip
def test_what_is_no_number_is_refused(words):
    assert isinstance(value(words), NotUnderstood)


@pytest.mark.parametrize("start", range(10))
def test_every_tenth_part_of_the_numbers_to_99_999_comes_back_from_its_words(start):
    numbers = [n for n in CORNERS if n % 10 == start] + list(
        range(start * 10_000, start * 10_000 + 10_000, 17)
    )
    wrong = [n for n in numbers if value(say_number(Decimal(n))) != n]
    assert not wrong


# Source: the library num2words (its English is British: "four hundred and twelve").
@pytest.mark.parametrize("start", range(10))
def test_numbers_agree_with_the_library_num2words(start):
    numbers = [n for n in CORNERS if n % 10 == start] + list(
        range(start * 10_000, start * 10_000 + 10_000, 37)
    )
    wrong = [n for n in numbers if value(num2words(n)) != n]
    assert not wrong


# Source: the library num2words.
@settings(max_examples=300, deadline=None)
@given(st.decimals(min_value=0, max_value=99_999, places=3))
def test_decimals_agree_with_the_library_num2words(number):
    words = num2words(str(number))  # as text, so that no figure is lost in a float
    assert value(words) == number


@settings(max_examples=500, deadline=None)
@given(st.integers(0, 99_999), st.sampled_from([0, 1, 2, 3]), st.booleans())
def test_a_decimal_comes_back_from_its_words(figures, places, below):
    number = Decimal(figures).scaleb(-places) * (-1 if below else 1)
    found = value(say_number(number))
    assert found == number
    assert found.is_zero() or str(found) == str(number)


@settings(max_examples=300, deadline=None)
@given(st.integers(100, 999_999))
def test_figures_one_by_one_are_the_number(number):
    assert value(" ".join(ONES[int(figure)] for figure in str(number))) == number
