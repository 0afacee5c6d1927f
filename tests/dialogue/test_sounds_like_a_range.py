"""A spoken range is never taken for a number: "five to eight" sounds like "five two eight"."""

from __future__ import annotations

from decimal import Decimal

import pytest

from fieldvoice.dialogue import assistant
from fieldvoice.dialogue.assistant import Heard
from fieldvoice.language import intents as i
from fieldvoice.language.parser import sounds_like_a_range, understand
from support.bench import Bench
from support.every_sort import TEXT, at


@pytest.mark.parametrize(
    ("words", "doubtful"),
    [
        ("five two eight", True), ("one two five", True), ("four two nine microns", True),
        ("suction five two eight", True), ("twenty two fifty", True),
        ("three two seven p s i", True), ("make that five two eight", True),
        ("change the last suction pressure to five two eight", True),
        ("eight two five", False), ("five two five", False), ("four twelve", False),
        ("two hundred", False), ("twenty two", False), ("forty two feet", False),
        ("two two two", False), ("one eighteen", False), ("add two minutes", False), ("", False),
        ("five to eight", False),  # asked back as it stands
    ],
)  # fmt: skip
def test_a_number_that_rises_across_two_sounds_like_a_range(words: str, doubtful: bool) -> None:
    assert sounds_like_a_range(words) == doubtful


@pytest.mark.parametrize("low", range(1, 10))
@pytest.mark.parametrize("high", range(1, 10))
def test_every_range_of_two_figures_is_asked_back_however_it_is_heard(low: int, high: int) -> None:
    names = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
    asked = understand(f"{names[low]} to {names[high]}", typed=False)
    assert isinstance(asked, i.NotUnderstood)
    if low < high:
        assert sounds_like_a_range(f"{names[low]} two {names[high]}")


def hear(bench: Bench, words: str) -> str:
    """A line heard clearly."""
    intent = understand(words, typed=False)
    heard = Heard(intent, words, "voice", 0.99, range_too=sounds_like_a_range(words))
    bench.take_in(assistant.handle(bench.state, heard, bench.now))
    return bench.text


@pytest.fixture
def pull() -> Bench:
    return at(Bench(TEXT), "pull")


def test_such_a_number_is_read_back_before_it_counts(pull: Bench) -> None:
    said = hear(pull, "five two eight")
    assert said == ("528 microns? That sounds like a range, too. "
                    "Say yes, no, or the value again.")
    assert pull.state.last("vacuum") is None
    hear(pull, "yes")
    last = pull.state.last("vacuum")
    assert last is not None
    assert last.now.value == Decimal(528)


def test_it_counts_at_once_beside_a_reading_that_bears_it_out(pull: Bench) -> None:
    pull.read(610)
    hear(pull, "five two eight")
    last = pull.state.last("vacuum")
    assert last is not None
    assert last.now.value == Decimal(528)


def test_a_correction_that_sounds_like_a_range_is_read_back_too(pull: Bench) -> None:
    pull.read(4200)
    assert "That sounds like a range, too." in hear(pull, "correction five two eight")
