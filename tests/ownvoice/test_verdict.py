"""What was learned of a speaker is kept only where lines held back show that it helps."""

from dataclasses import replace

import numpy as np
import pytest

from fieldvoice.ownvoice.sureness import LEAST, MOST, sureness
from fieldvoice.ownvoice.verdict import Hearing, figures, gain, why_no_better

RIGHT = Hearing(0, True, True, True, 0.98, 0.98)
ASKED = replace(RIGHT, taken=False, belief=0.8, sure=0.8)
WRONG = Hearing(0, False, False, False, 0.1, 0.6)


def lines(*each: Hearing) -> list[Hearing]:
    """A hearing a line."""
    return [replace(one, line=number) for number, one in enumerate(each)]


def test_a_tie_is_refused():
    same = lines(*[RIGHT] * 24)
    assert why_no_better(same, same) == "as many are misunderstood or asked back as without it"


def test_one_lucky_line_among_many_is_no_gain():
    before, after = lines(*[RIGHT] * 23, ASKED), lines(*[RIGHT] * 24)
    assert "it could not be chance" in why_no_better(before, after)


def test_fewer_questions_are_no_gain_where_what_was_said_is_believed_less():
    doubted = replace(WRONG, belief=0.6)
    before, after = lines(*[ASKED] * 2, *[doubted] * 3), lines(*[RIGHT] * 2, *[WRONG] * 3)
    assert why_no_better(before, after) == "what was said is not believed more"


def test_many_lines_believed_more_are_a_gain():
    assert why_no_better(lines(*[ASKED] * 8, *[RIGHT] * 16), lines(*[RIGHT] * 24)) == ""


def test_more_misunderstood_is_refused_however_much_the_others_gain():
    before, after = lines(*[ASKED] * 23, RIGHT), lines(*[RIGHT] * 23, WRONG)
    assert why_no_better(before, after) == "1 are misunderstood with it, 0 without"


def test_more_asked_back_is_refused():
    sure, doubted = replace(RIGHT, belief=0.5), replace(ASKED, belief=0.95)
    assert why_no_better(lines(*[sure] * 12), lines(*[doubted] * 12)) == (
        "12 are asked back with it, 0 without")


def test_two_hearings_of_a_line_are_no_two_witnesses():
    before, after = [ASKED] * 3 + [WRONG] * 3, [RIGHT] * 6
    once = gain(lines(*before), lines(*after))
    twice = gain([h for h in lines(*before) for _ in range(2)],
                 [h for h in lines(*after) for _ in range(2)])
    assert twice == pytest.approx(once)


def test_the_figures_count_a_question_as_half_a_misunderstanding():
    found = figures(lines(RIGHT, RIGHT, ASKED, WRONG))
    assert (found.lines, found.exact, found.meaning, found.taken) == (4, 3, 3, 2)
    assert (found.asked, found.cost) == (1, 1.5)
    assert found.belief == pytest.approx((0.98 * 0.98 * 0.8 * 0.1) ** 0.25, abs=1e-4)


def test_no_line_is_no_figure():
    with pytest.raises(ValueError, match="no line was heard"):
        figures([])


def heard(right: int, wrong: int, sure: float) -> list[Hearing]:
    return [replace(RIGHT, sure=sure)] * right + [replace(WRONG, sure=sure)] * wrong


def test_a_speaker_whose_doubted_lines_are_all_right_is_surer():
    assert 0.1 < sureness(heard(100, 0, 0.95)) <= MOST


def test_a_speaker_whose_sure_lines_are_often_wrong_is_less_sure():
    assert LEAST <= sureness(heard(90, 10, 0.99)) < -0.5


@pytest.mark.parametrize("told", [heard(98, 2, 0.98), heard(3, 0, 0.9), heard(1, 0, 1.0), []])
def test_what_cannot_be_told_is_nothing(told):
    assert sureness(told) == 0.0


def test_it_is_bounded_whatever_was_heard():
    assert sureness(heard(5000, 0, 0.7)) == MOST
    assert sureness(heard(0, 5000, 0.999)) == LEAST


def test_single_words_do_not_count():
    assert sureness([replace(one, sure=None) for one in heard(0, 500, 0.99)]) == 0.0


def test_it_makes_confidence_true_of_a_speaker_who_differs():
    rng, by = np.random.default_rng(3), -0.9
    odds = rng.normal(3.0, 1.0, 600)
    right = rng.random(600) < 1 / (1 + np.exp(-(odds + by)))
    told = [replace(RIGHT, right=bool(r), sure=float(1 / (1 + np.exp(-o))))
            for o, r in zip(odds, right, strict=True)]
    assert sureness(told) == pytest.approx(by, abs=0.3)
