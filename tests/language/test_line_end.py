"""How far words are a whole line: what may grow waits, and what stands for itself ends soon."""

import random
from decimal import Decimal

import pytest

from fieldvoice.language.decoding_graph import random_sentence
from fieldvoice.language.intents import Intent, NotUnderstood, Reading
from fieldvoice.language.line_end import SHORTEST_S, LineEnd, line_end, one_line
from fieldvoice.language.parser import understand


@pytest.mark.parametrize(
    "words",
    [
        "next", "yes", "no", "take that back", "start the hold", "how long left",
        "four hundred microns", "vacuum four hundred microns", "start a ten minute hold",
        "three pounds four ounces", "one eighteen suction three forty liquid",
    ],
)  # fmt: skip
def test_a_command_and_a_reading_with_its_unit_can_grow_no_further(words: str) -> None:
    assert line_end(words) is LineEnd.WHOLE


@pytest.mark.parametrize(
    "words",
    [
        "four", "four hundred", "four hundred twelve", "vacuum four hundred", "minus five",
        "suction one eighteen", "one eighteen p s i", "three pounds", "twenty two feet",
        "hold for ten minutes", "unit one", "unit twenty", "no make that four hundred",
    ],
)  # fmt: skip
def test_a_figure_may_grow_by_a_number_or_a_unit(words: str) -> None:
    assert line_end(words) is LineEnd.MAY_GROW


@pytest.mark.parametrize(
    "words", ["start a", "vacuum", "four hundred and", "start the hold at", "go to", "ten minutes"]
)
def test_half_a_sentence_is_known_as_such(words: str) -> None:
    assert line_end(words) is LineEnd.HALF_SAID


@pytest.mark.parametrize("words", ["", "[unk]", "[unk] next", "six hundred next", "next hundred"])
def test_what_begins_no_sentence_is_no_line(words: str) -> None:
    assert line_end(words) is LineEnd.NO_LINE


def test_every_beginning_of_a_sentence_may_go_on_or_is_a_whole_line() -> None:
    rng = random.Random(3)
    for _ in range(40):
        sentence = random_sentence(rng)
        for at in range(1, len(sentence)):
            begun = line_end(" ".join(sentence[:at]))
            assert begun.may_go_on or begun.is_line, sentence[:at]


def test_a_line_is_one_exactly_where_it_is_understood() -> None:
    rng = random.Random(4)
    for _ in range(40):
        words = " ".join(random_sentence(rng))
        understood = not isinstance(understand(words, typed=False), NotUnderstood)
        assert line_end(words).is_line == understood, words


def test_no_number_is_cut_at_a_word_after_which_it_goes_on() -> None:
    for words in ("four hundred twelve microns", "twelve hundred and fifty", "nineteen ninety",
                  "one eighteen point five", "five thousand two hundred"):  # fmt: skip
        said = words.split()
        for at in range(1, len(said)):
            assert line_end(" ".join(said[:at])) is not LineEnd.WHOLE, said[:at]


def test_what_may_grow_waits_longer_and_half_a_sentence_longest() -> None:
    whole, may_grow, half = LineEnd.WHOLE, LineEnd.MAY_GROW, LineEnd.HALF_SAID
    assert SHORTEST_S == whole.silence_s <= 0.5 < may_grow.silence_s < half.silence_s <= 1.5
    assert all(end.silence_s >= SHORTEST_S for end in LineEnd)


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("four hundred", "twelve microns"), ("four hundred", "seventy five"),
        ("unit one", "two seventy five"), ("start", "the hold"),
        ("vacuum four hundred", "microns"), ("one eighteen", "p s i"),
    ],
)  # fmt: skip
def test_a_figure_said_with_a_pause_is_one_line(first: str, second: str) -> None:
    assert one_line(first, second)


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("four hundred microns", "next"), ("two seventy microns", "six hundred"),
        ("static pressure at zero inches", "negative ten pounds"),
        ("line length at oh point nine millimeter", "torque is five hundred"),
        ("suction one eighteen liquid three forty", "superheat nine"),
    ],
)  # fmt: skip
def test_readings_that_mean_the_same_one_by_one_are_no_one_line(first: str, second: str) -> None:
    assert not one_line(first, second)


def microns(said: Intent) -> bool:
    """What a job waits for: a vacuum, after four hundred thirty."""
    return (isinstance(said, Reading) and said.quantity in (None, "vacuum")
            and said.unit in (None, "microns") and 55 < said.value < 1700)  # fmt: skip


@pytest.mark.parametrize(
    "words",
    ["four hundred twelve", "four twelve", "three sixty five", "four one two", "three oh five",
     "vacuum three eighty one"],
)  # fmt: skip
def test_a_figure_that_the_job_waits_for_ends_as_soon_as_any_sentence(words: str) -> None:
    assert line_end(words, microns) is LineEnd.READ
    assert line_end(words, microns).silence_s == SHORTEST_S
    assert line_end(words) is LineEnd.MAY_GROW


@pytest.mark.parametrize(
    "words", ["four hundred", "twelve hundred", "three eighty", "vacuum four hundred"]
)
def test_one_that_can_become_another_ends_a_little_later(words: str) -> None:
    assert line_end(words, microns) is LineEnd.READ_SO_FAR
    assert SHORTEST_S < line_end(words, microns).silence_s < line_end(words).silence_s


@pytest.mark.parametrize(
    "words", ["four", "thirty seven", "five thousand", "one eighteen p s i", "suction one eighteen"]
)
def test_a_figure_that_nobody_waits_for_waits_as_long_as_ever(words: str) -> None:
    assert line_end(words, microns) is line_end(words) is LineEnd.MAY_GROW


@pytest.mark.parametrize("words", ["next", "four hundred and", "[unk]", "four hundred microns"])
def test_what_is_no_bare_figure_ends_as_ever(words: str) -> None:
    assert line_end(words, lambda said: True) is line_end(words)


def test_a_figure_that_ends_soon_still_takes_what_follows_at_once() -> None:
    for words in ("three eighty", "four hundred"):
        assert line_end(words, microns).is_line
        assert line_end(words, microns).may_go_on


def test_of_two_figures_in_a_row_and_one_in_two_pieces_the_one_that_is_waited_for_counts() -> None:
    assert one_line("four hundred", "twelve", microns)
    assert one_line("thirteen", "seventy", microns)
    assert one_line("sixteen hundred", "ninety", microns)
    assert one_line("sixty", "five", lambda said: said == Reading(Decimal(65)))
    fewer = [Reading(Decimal(60)), Reading(Decimal(5))]
    assert not one_line("sixty", "five", lambda said: said in fewer)
