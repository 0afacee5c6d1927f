"""Confidence weighs evidence; a sole way of hearing a line is not sure for that alone."""

import json
from dataclasses import fields, replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldvoice.dialogue.belief import model as models
from fieldvoice.dialogue.belief.clarity import CLEAR, QUIET_DB, Clarity
from fieldvoice.dialogue.belief.evidence import MOST_MARGIN, NAMES, Evidence, gather
from fieldvoice.dialogue.belief.model import Model, shipped
from fieldvoice.dialogue.confidence import (
    ACCEPT_FROM,
    CALIBRATION,
    Hypothesis,
    best_interpretation,
    interpretations,
    weighed,
)
from fieldvoice.language import intents as i
from fieldvoice.language.parser import understand

NEVER_SURER = ("sole", "sole_in_noise", "rivals", "noise", "loud_noise", "unlike", "twin",
               "twin_in_noise", "clipped", "short")
TORN = (("fifty microns", 0.9), ("fifteen microns", 0.1))
SURE = (("four hundred microns", 1.0),)


def nothing(_: i.Intent) -> bool:
    return False


def guesses(ways: tuple[tuple[str, float], ...]) -> list[Hypothesis]:
    return [Hypothesis(understand(words, typed=False), words, share) for words, share in ways]


def confidence(ways: tuple[tuple[str, float], ...], clarity: Clarity = CLEAR) -> float:
    return best_interpretation(guesses(ways), nothing, clarity=clarity).confidence


@pytest.mark.parametrize("ways", [TORN, SURE, (("next", 0.98), ("six", 0.02)), (("five", 1.0),)])
@settings(deadline=None)
@given(st.floats(-5, 60), st.floats(0, 60), st.floats(0, 0.5), st.floats(0, 0.5))
def test_more_noise_and_more_clipping_never_make_a_line_surer(
    ways: tuple[tuple[str, float], ...], above_db: float, more_db: float, clipped: float,
    more: float,
) -> None:
    worse = confidence(ways, Clarity(above_db, clipped + more))
    assert worse <= confidence(ways, Clarity(above_db + more_db, clipped))


def test_noise_and_clipping_count_at_all() -> None:
    for ways in (TORN, SURE):
        assert confidence(ways, Clarity(5.0)) < confidence(ways)
        assert confidence(ways, Clarity(QUIET_DB, 0.05)) < confidence(ways)


def test_words_that_fit_their_sound_badly_are_less_sure() -> None:
    """Another way may have been dropped, or none of ours was said."""
    fits, badly, worse = (Clarity(QUIET_DB, unlike=u) for u in (-0.3, 0.5, 1.9))
    for ways in (TORN, SURE):
        assert confidence(ways, fits) == confidence(ways)
        assert confidence(ways) > confidence(ways, badly) > confidence(ways, worse)


@pytest.mark.parametrize(("mixed_up", "plain"), [
    ("fifty microns", "five microns"), ("sixteen", "six"), ("one eighteen", "one eight")])
def test_in_noise_a_number_on_teen_or_ty_is_less_sure(mixed_up: str, plain: str) -> None:
    noise = Clarity(12.0)
    assert confidence(((mixed_up, 1.0),), noise) < confidence(((plain, 1.0),), noise)
    assert confidence(((mixed_up, 1.0),)) == confidence(((plain, 1.0),))


@pytest.mark.parametrize("line", ["sixty microns", "five", "suction one eighteen"])
def test_a_sole_way_is_not_sure(line: str) -> None:
    """Another one may have been dropped: in noise, or in sound that was cut off at full scale."""
    assert confidence(((line, 1.0),), Clarity(0.0)) < ACCEPT_FROM
    assert confidence(((line, 1.0),), Clarity(QUIET_DB, 0.1)) < ACCEPT_FROM


def test_a_sole_way_is_no_surer_than_one_whose_rivals_are_known_to_be_far() -> None:
    far = (("four hundred microns", 0.9999), ("five hundred microns", 0.0001))
    assert confidence(SURE) <= confidence(far)


def test_a_rival_without_any_share_speaks_against_nothing() -> None:
    found = interpretations(guesses((("four hundred microns", 1.0), ("next", 0.0))), nothing)
    assert [one.confidence for one in found] == [confidence((("four hundred microns", 1.0),
                                                            ("next", 1e-300))), 0.0]


def test_clear_sound_without_a_rival_needs_no_question() -> None:
    assert confidence(SURE) >= ACCEPT_FROM
    assert confidence((("suction one eighteen", 1.0),)) >= ACCEPT_FROM


@settings(deadline=None)
@given(st.floats(0.5, 0.98), st.floats(0.0, 0.02))
def test_a_stronger_rival_never_makes_a_line_surer(share: float, less: float) -> None:
    def torn(share: float) -> float:
        return confidence((("fifty microns", share), ("fifteen microns", 1.0 - share)))

    assert torn(share) <= torn(share + less)


def test_the_shipped_coefficients_keep_to_their_signs() -> None:
    weights = shipped().weights
    assert set(weights) <= set(NAMES)
    assert all(weights.get(name, 0.0) <= 0.0 for name in NEVER_SURER)
    assert weights["margin"] > 0.0 <= weights.get("clear_margin", 0.0)


def test_evidence_tells_what_there_is() -> None:
    ranked = weighed(guesses((("five", 0.6), ("back", 0.3), ("[unk]", 0.1))), nothing)
    found = gather(ranked, Clarity(10.0, 0.01))
    assert (found.sole, found.short, found.number, found.rivals) == (0.0, 1.0, 1.0, 2.0)
    assert (found.noise, found.loud_noise) == pytest.approx((2.0, 0.0))
    assert found.clipped == pytest.approx(4.6, abs=0.1)
    alone = gather(weighed(guesses((("five", 1.0),)), nothing), CLEAR)
    assert (alone.sole, alone.margin + alone.clear_margin) == (1.0, MOST_MARGIN)
    assert (alone.noise, alone.clipped) == (0.0, 0.0)


def test_no_meaning_is_refused() -> None:
    with pytest.raises(ValueError, match="no meaning"):
        gather([], CLEAR)


def test_coefficients_of_evidence_that_nobody_gathers_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "fitted.json"
    path.write_text(json.dumps({"intercept": 0.0, "weights": {"moonlight": 1.0}}))
    with pytest.raises(KeyError, match="moonlight"):
        models.read(path)


def test_confidence_is_the_logistic_function() -> None:
    evidence = Evidence(*(0.0 for _ in fields(Evidence)))
    assert Model(0.0, {}).confidence(evidence) == 0.5
    assert Model(0.0, {"margin": 2.0}).confidence(replace(evidence, margin=1.0)) == pytest.approx(
        0.8808, abs=1e-4
    )


# --- ways that mean nothing else -----------------------------------------------------------------


def test_words_that_sound_the_same_are_no_rivals() -> None:
    """"five two eight" sounds like "five to eight": the sound cannot tell, and adds no doubt."""
    both = (("five two eight microns", 0.7), ("five to eight microns", 0.3))
    assert confidence(both) == confidence((("five two eight microns", 1.0),))
    found = interpretations(guesses(both), nothing)
    assert [one.words for one in found] == ["five two eight microns"]


def test_the_likelier_of_two_that_sound_the_same_counts() -> None:
    both = (("four hundred to five hundred", 0.6), ("four hundred two five hundred", 0.4))
    assert best_interpretation(guesses(both), nothing).words == "four hundred to five hundred"


@pytest.mark.parametrize(("said", "put_in"), [
    ("eight zero nine six two", "eight zero oh nine six two"),
    ("three nine oh four", "three nine oh oh four"),
    ("point zero five", "point zero oh five"),
])  # fmt: skip
def test_an_oh_laid_over_the_end_of_another_is_no_rival(said: str, put_in: str) -> None:
    both = ((said, 0.945), (put_in, 0.055))
    assert confidence(both) == confidence(((said, 1.0),))


def test_an_oh_that_was_perhaps_said_is_a_rival() -> None:
    both = (("three nine oh four", 0.7), ("three nine oh oh four", 0.3))
    assert confidence(both) < ACCEPT_FROM
    two = (("three nine oh oh four", 0.95), ("three nine oh four", 0.05))
    assert best_interpretation(guesses(two), nothing).words == "three nine oh oh four"
    assert len(weighed(guesses(two), nothing)) == 2


# --- all meanings --------------------------------------------------------------------------------


@settings(deadline=None)
@given(st.lists(st.floats(0.001, 1.0), min_size=1, max_size=5), st.floats(0, 40))
def test_confidences_of_all_meanings_add_to_one_at_most_likeliest_first(
    weights: list[float], above_db: float
) -> None:
    lines = ["next", "skip", "yes", "no", "ten microns"]
    ways = tuple(zip(lines, (w / sum(weights) for w in weights), strict=False))
    found = [one.confidence for one in interpretations(guesses(ways), nothing,
                                                       clarity=Clarity(above_db))]  # fmt: skip
    assert found == sorted(found, reverse=True)
    assert sum(found) <= 1.0 + 1e-9
    assert min(found) > 0.0


def test_a_single_word_leans_more_to_what_is_waited_for() -> None:
    assert CALIBRATION.expected_alone > CALIBRATION.expected > 1.0
    ways = guesses((("back", 0.7), ("five", 0.3)))
    best = best_interpretation(ways, lambda intent: isinstance(intent, i.Reading))
    assert best.words == "five"
    assert best.confidence < ACCEPT_FROM
