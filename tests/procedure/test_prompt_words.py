"""How long a prompt is when it is spoken, and what counts as a list."""

from __future__ import annotations

from decimal import Decimal

import pytest
from num2words import num2words

from fieldvoice.procedure.check import load
from fieldvoice.procedure.prompt_words import lists, spoken_words

TEXT = """\
procedure words "Words"
limit deep = 300 microns source "common practice"
limit cold = -5 degF source "common practice"
limit full = 450 psig source "common practice"
stage one "One"
step way
  say "Single pull, or triple evacuation?"
  choose single-pull
  choose triple-evacuation
step last say "Done." show "{limit.deep}, {limit.cold}, {limit.full}." end done
"""


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Open both core tools.", 4),
        ("Below {limit.deep} we hold.", 6),  # three hundred microns
        ("Raise to {limit.full}, then tell me.", 11),  # four hundred fifty p s i
        ("Above {limit.cold}.", 5),  # minus five degrees Fahrenheit
        ("Round {lap} of {laps}.", 4),
        ("A psi or two - no more.", 6),
        ("At 1250 microns.", 7),  # one thousand two hundred fifty
        ("{answer.way}.", 2),
        ("Last {vacuum.last}, {hold.remaining} left.", 11),
    ],
)
def test_values_count_as_they_are_read_aloud(text: str, words: int) -> None:
    assert spoken_words(load(TEXT), text) == words


@pytest.mark.parametrize("number", [*range(0, 130, 7), 300, 305, 450, 1000, 1500, 3000, 23500])
def test_numbers_have_as_many_words_as_num2words_gives_them(number: int) -> None:
    words = num2words(number).replace("-", " ").replace(",", "").replace(" and ", " ").split()
    assert spoken_words(load(TEXT), f"{Decimal(number)}") == len(words)


@pytest.mark.parametrize(
    ("text", "listed"),
    [
        ("Cut, ream, flare anew, oil the face.", True),
        ("Panels on, tools counted and area aired.", True),
        ("Weigh in, recover, or no charge needed?", False),
        ("Is it flammable? Say flammable, or not flammable.", False),
        ("Shut the regulator, then say start the hold.", False),
        ("Fit the caps, to the unit's torque.", False),
    ],
)
def test_a_list_of_deeds_is_seen(text: str, listed: bool) -> None:
    assert lists(text) is listed
