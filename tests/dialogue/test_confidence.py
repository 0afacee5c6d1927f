"""Interpretation counts meanings, not words, and leans to what the job waits for."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldvoice.dialogue.assistant import decide
from fieldvoice.dialogue.confidence import (
    ACCEPT_FROM,
    CALIBRATION,
    IGNORE_BELOW,
    Decision,
    Hypothesis,
    best_interpretation,
    weighed,
)
from fieldvoice.language import intents as i
from fieldvoice.language.parser import understand


def guesses(*ways: tuple[str, float]) -> list[Hypothesis]:
    return [Hypothesis(understand(words, typed=False), words, share) for words, share in ways]


def nothing(_: i.Intent) -> bool:
    return False


def test_words_that_mean_the_same_are_believed_together() -> None:
    ways = guesses(("nine hundred microns", 0.4), ("four hundred microns", 0.35),
                   ("four hundred micron", 0.25))  # fmt: skip
    best = best_interpretation(ways, nothing)
    assert best.words == "four hundred microns"
    two = guesses(("four hundred microns", 0.6), ("nine hundred microns", 0.4))
    alone = best_interpretation(two, nothing)
    assert best.confidence > alone.confidence > 0.5  # two wordings are a little more than one


def test_doubt_about_a_small_word_alone_is_no_doubt() -> None:
    unsure = best_interpretation(guesses(("start the hold", 0.5), ("start a hold", 0.5)), nothing)
    sure = best_interpretation(guesses(("start the hold", 1.0)), nothing)
    assert unsure.confidence == pytest.approx(sure.confidence, abs=0.01)


def test_what_is_expected_is_believed_before_what_is_not() -> None:
    ways = guesses(("fifty microns", 0.55), ("fifteen microns", 0.45))
    expected = ways[1].intent
    assert best_interpretation(ways, nothing).intent == ways[0].intent
    assert best_interpretation(ways, lambda intent: intent == expected).intent == expected


def test_a_sure_line_wins_against_an_expectation() -> None:
    ways = guesses(("skip", 0.95), ("six", 0.05))
    best = best_interpretation(ways, lambda intent: isinstance(intent, i.Reading))
    assert best.intent == i.Skip()


def test_odds_are_multiplied() -> None:
    ways = guesses(("fifty microns", 0.5), ("fifteen microns", 0.5))
    leaning, other = weighed(ways, lambda intent: intent == ways[0].intent)
    assert leaning.weight / other.weight == pytest.approx(CALIBRATION.expected)
    assert leaning.intent == ways[0].intent


def test_even_one_way_alone_is_not_certain() -> None:
    assert 0.9 < best_interpretation(guesses(("next", 1.0)), nothing).confidence < 1.0


def test_no_guess_is_refused() -> None:
    with pytest.raises(ValueError, match="nothing was guessed"):
        best_interpretation([], nothing)


@given(st.lists(st.floats(0.001, 1.0), min_size=1, max_size=6))
def test_confidence_is_a_share(weights: list[float]) -> None:
    lines = ["next", "skip", "yes", "no", "ten microns", "go back"]
    shares = [weight / sum(weights) for weight in weights]
    best = best_interpretation(guesses(*zip(lines, shares, strict=False)), nothing)
    assert 0.0 < best.confidence < 1.0


@pytest.mark.parametrize(
    ("line", "sure", "middling"),
    [
        ("four hundred microns", Decision.ACCEPT, Decision.ASK),
        ("skip", Decision.ACCEPT, Decision.ASK),
        ("what now", Decision.ACCEPT, Decision.ACCEPT),
        ("four to five hundred", Decision.ACCEPT, Decision.ACCEPT),  # asked back whatever was meant
        ("microns the next", Decision.ACCEPT, Decision.IGNORE),
        ("[unk] next [unk]", Decision.IGNORE, Decision.IGNORE),
    ],
)
def test_what_costs_nothing_to_answer_is_answered_and_the_rest_is_asked_about(
    line: str, sure: Decision, middling: Decision
) -> None:
    intent = understand(line, typed=False)
    assert decide(intent, (1 + ACCEPT_FROM) / 2, line) is sure
    assert decide(intent, (ACCEPT_FROM + IGNORE_BELOW) / 2, line) is middling
    assert decide(intent, IGNORE_BELOW / 2, line) is Decision.IGNORE


def test_a_typed_line_is_believed() -> None:
    assert decide(understand("skip"), None) is Decision.ACCEPT
