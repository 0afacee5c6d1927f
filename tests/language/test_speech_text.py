"""What stands on the screen is spoken in words, and numbers come back unchanged."""

import re
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from num2words import num2words

from fieldvoice.language.intents import Reading
from fieldvoice.language.parser import understand
from fieldvoice.language.speech_text import figures, say, say_number, spoken_units


@pytest.mark.parametrize(
    ("screen", "spoken"),
    [
        ("412 microns", "four hundred twelve microns"),
        ("1 micron", "one micron"),
        ("1,250 microns", "one thousand two hundred fifty microns"),
        ("9:40 left", "nine minutes forty seconds left"),
        ("2:05 PM", "two oh five P M"), ("9:00 AM", "nine A M"),
        ("11:45 AM,", "eleven forty five A M,"),
        ("1:02:03 left", "one hour two minutes three seconds left"),
        ("0:01", "one second"),
        ("0:00", "zero seconds"),
        ("-5 psig", "minus five p s i"),
        ("68 \u00b0F", "sixty eight degrees fahrenheit"),
        ("1 \u00b0C", "one degree celsius"),
        ("29.9 inHg vacuum", "twenty nine point nine inches of vacuum"),
        ("400-500 microns", "four hundred to five hundred microns"),
        ("3/8 in flare", "three eighths inches flare"),
        ("1/2 in", "one half inches"),
        ("1 3/8 in", "one and three eighths inches"),
        ("5%", "five percent"),
        ("Add 6.4 oz.", "Add six point four ounces."),
        ("a 10 min hold", "a ten minute hold"),
        ("18 ft-lb", "eighteen foot pounds"),
        ("R-410A", "R four ten A"),
        ("class A2L, not A1", "class A two L, not A one"),
        ("R-32 or R-454B", "R thirty two or R four fifty four B"),
        ("R-407C, R-500, R-1234yf", "R four oh seven C, R five hundred, R twelve thirty four y f"),
        ("Hold: 1 hour 10 minutes left", "Hold: one hour ten minutes left"),
        ("step 3 of 12", "step three of twelve"),
        ("no number here", "no number here"),
        ("Job try-2026-11-27-093012.", "Job try November twenty seven, nine thirty."),
        ("on 2026-03-05", "on March five"),
        ("logged at 14:05", "logged at fourteen oh five"),
        ("section 3.3.3.", "section three point three point three."),
        ("2nd floor", "2nd floor"),
        ("20-25 psig", "twenty to twenty five p s i"),
    ],
)  # fmt: skip
def test_screen_text_is_said_in_words(screen, spoken):
    assert say(screen) == spoken


def test_the_figures_of_a_text_are_given_as_they_are_said():
    assert figures("R-410A: 3.5 oz, 104 psig at minute 2.1.") == [
        "three point five ounces", "one hundred four p s i", "two point one",
    ]  # fmt: skip


# Source: the library num2words; American usage leaves out its "and", commas and hyphens.
@pytest.mark.parametrize("start", range(0, 100_000, 10_000))
def test_numbers_are_said_as_the_library_num2words_says_them(start):
    numbers = range(start, start + 10_000, 7)
    plain = {n: re.sub(r",| and", "", num2words(n)).replace("-", " ") for n in numbers}
    wrong = [n for n in numbers if say_number(Decimal(n)) != plain[n]]
    assert not wrong


@pytest.mark.parametrize("unit", sorted(spoken_units()))
def test_a_value_with_its_unit_is_heard_as_the_same_value(unit):
    spoken = say(f"412 {unit}")
    assert re.search(r"\d", spoken) is None
    heard = understand(spoken)
    if isinstance(heard, Reading):  # times and a few shop units are no readings
        assert heard.value == 412


def test_a_number_without_end_cannot_be_said():
    with pytest.raises(ValueError, match="finite"):
        say_number(Decimal("Infinity"))


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=200))
def test_any_text_can_be_said(text):
    assert isinstance(say(text), str)


@settings(max_examples=300, deadline=None)
@given(
    st.decimals(min_value=0, max_value=99_999, places=2), st.sampled_from(["microns", "psig", "A"])
)
def test_no_figure_is_left_in_what_is_said(value, unit):
    assert re.search(r"[\d,]", say(f"{value:,f} {unit}")) is None
