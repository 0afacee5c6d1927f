from dataclasses import replace

import numpy as np
import pytest

from fieldvoice.acoustics.criterion import log_softmax, said
from fieldvoice.acoustics.mfcc import mfcc
from fieldvoice.ownvoice.fit import HOW, Line, fit, rivals_of
from fieldvoice.ownvoice.network import Passage, identity

QUICK = replace(HOW, rounds=6, noisy=0.3, rate=0.05)
LEXICON = {"one": [(1, 2)], "two": [(3,)], "three": [(4, 5), (5,)]}


@pytest.fixture
def lines() -> list[Line]:
    rng = np.random.default_rng(8)
    return [Line((900 * rng.standard_normal(9000)).astype(np.int16), (1 + k % 5, 1 + (k + 2) % 5))
            for k in range(6)]


def surprise(weights, by, lines):
    """How unlikely what was said is."""
    total = 0.0
    for line in lines:
        scores = Passage(weights, by, mfcc(line.sound)[None]).scores
        total -= said(log_softmax(scores), [scores.shape[1]], [line.phones])[0][0]
    return total


@pytest.mark.parametrize("by_ctc", [False, True])
def test_what_was_said_becomes_likelier(small, lines, by_ctc):
    rivals = None if by_ctc else rivals_of(LEXICON, 6)
    change = fit(small, lines, rivals, QUICK)
    assert surprise(small, change, lines) < 0.9 * surprise(small, identity(small), lines)


def test_the_same_lines_give_the_same_voice(small, lines):
    one, other = (fit(small, lines, rivals_of(LEXICON, 6), QUICK) for _ in range(2))
    assert all(np.array_equal(one[name], other[name]) for name in one)


def test_shrinkage_keeps_it_near_no_change(small, lines):
    def size(shrink):
        change = fit(small, lines, None, replace(QUICK, rounds=25, shrink=shrink))
        return sum(float((v**2).sum()) for name, v in change.items() if name != "input.turn")

    assert size(5.0) < 0.7 * size(0.0)


def test_it_ends_when_its_time_is_over(small, lines):
    shares: list[float] = []
    fit(small, lines, None, replace(QUICK, rounds=10**6, limit_s=0.2), shares.append)
    assert 1 <= len(shares) < 10**5


def test_a_line_too_short_for_its_words_spoils_nothing(small, lines):
    short = Line(lines[0].sound[:500], (1, 2, 3, 4, 5))
    change = fit(small, [*lines, short], rivals_of(LEXICON, 6), QUICK)
    assert all(np.isfinite(v).all() for v in change.values())
