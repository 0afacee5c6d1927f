"""Text of a recognizer that writes figures and signs becomes the words that were said."""

import random
from decimal import Decimal

import pytest

from fieldvoice.language.parser import understand
from fieldvoice.language.speech_text import say_number
from fieldvoice.training.evaluate.written_text import words_of


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("19,725", "nineteen thousand seven hundred twenty five"),
        ("Four thousand, three hundred ninety.", "four thousand three hundred ninety"),
        ("4,300,90.", "four thousand three hundred ninety"),
        ("800 and 19 PSI", "eight hundred and nineteen p s i"),
        ("260.07 PSIG", "two hundred sixty point zero seven p s i g"),
        (".5 microns", "point five microns"),
        ("-5 degrees", "minus five degrees"),
        ("fourteen-twelve", "fourteen twelve"),
        ("007", "zero zero seven"),
        ("torque 916 and a quarter", "torque nine sixteen and a quarter"),
        ("make it 30 09", "make it thirty oh nine"),
        ("8 lbs 3 oz", "eight pounds three ounces"),
        ("Super heat 30", "superheat thirty"),
        ("12°F", "twelve degrees fahrenheit"),
        ("12 C", "twelve celsius"),
        ("12.5%", "twelve point five percent"),
        ("19th", "nineteen"),
        ("That's wrong!", "that's wrong"),
        ("", ""),
    ],
)
def test_written_text_is_said_again(text: str, words: str) -> None:
    assert " ".join(words_of(text)) == words


def test_every_way_of_writing_a_number_has_its_value() -> None:
    for n in random.Random(4).sample(range(20_000), 120):
        for text in (str(n), f"{n:,}", f"{n:,}.", say_number(Decimal(n)).capitalize()):
            heard = understand(" ".join(words_of(text)), typed=False)
            assert getattr(heard, "value", None) == n, text


def test_another_number_stays_another_number() -> None:
    heard = understand(" ".join(words_of("3,07")), typed=False)
    assert getattr(heard, "value", None) == 307
