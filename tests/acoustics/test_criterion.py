from itertools import product

import numpy as np
import pytest

from fieldvoice.acoustics.criterion import Rivals, log_softmax, phone_trigram, said

LABELS = 4
RNG = np.random.default_rng(5)
SCORES = log_softmax((2 * RNG.standard_normal((2, 6, LABELS))).astype(np.float32))


def collapsed(path):
    return tuple(p for p, before in zip(path, (0, *path), strict=False) if p not in (0, before))


def all_paths(row, length):
    for path in product(range(LABELS), repeat=length):
        yield path, np.exp(sum(SCORES[row, t, p] for t, p in enumerate(path)))


def added_up(row, length, chance_of):
    """Log of the sum over all paths, and each label's share at each output, one by one."""
    shares = np.zeros((length, LABELS))
    for path, chance in all_paths(row, length):
        for t, p in enumerate(path):
            shares[t, p] += chance * chance_of(collapsed(path))
    return np.log(shares[0].sum()), shares / shares.sum(1, keepdims=True)


@pytest.mark.parametrize(("row", "length", "target"), [
    (0, 6, (1, 2)), (0, 6, (3, 3)), (1, 5, (2, 1, 3)), (1, 4, ()), (0, 2, (2, 1))])
def test_the_chance_of_what_was_said_is_the_sum_of_all_its_paths(row, length, target):
    totals, shares = said(SCORES, [6 - row, 6 - row] if length > 4 else [length] * 2,
                          [target, target])
    length = 6 - row if length > 4 else length
    total, expected = added_up(row, length, lambda phones: phones == target)
    assert totals[row] == pytest.approx(total, abs=1e-4)
    assert shares[row, :length] == pytest.approx(expected, abs=1e-4)
    assert not shares[row, length:].any()


def test_rows_of_different_lengths_do_not_disturb_each_other():
    both, shares = said(SCORES, [6, 4], [(1, 2), (3,)])
    alone, own = said(SCORES[1:, :4], [4], [(3,)])
    assert both[1] == pytest.approx(alone[0])
    assert shares[1, :4] == pytest.approx(own[0], abs=1e-6)


def test_what_does_not_fit_into_its_sound_has_no_shares():
    totals, shares = said(SCORES, [2, 6], [(1, 2, 3), (1,)])
    assert np.isneginf(totals[0])
    assert not shares[0].any()
    assert np.isfinite(totals[1])


@pytest.mark.parametrize(("row", "length"), [(0, 6), (1, 4)])
def test_the_rivals_are_all_sequences_of_phones_weighed_by_the_trigram(row, length):
    trigram = phone_trigram([(1, 2, 3), (1, 2, 2, 1), (3, 1)], LABELS)

    def chance_of(phones):
        context = zip((0, 0, *phones), (0, *phones), phones, strict=False)
        return np.prod([trigram[a, b, c] for a, b, c in context])

    totals, shares = Rivals(trigram)(SCORES, [6, 4])
    total, expected = added_up(row, length, chance_of)
    assert totals[row] == pytest.approx(total, abs=1e-4)
    assert shares[row, :length] == pytest.approx(expected, abs=1e-4)
    assert not shares[row, length:].any()


def test_the_trigram_agrees_with_that_of_training():
    torch = pytest.importorskip("torch")
    from fieldvoice.training.network import mmi

    sequences = [[1, 2, 3], [3, 4, 5, 5, 7], [1, 2, 9, 30]]
    mine = phone_trigram(map(tuple, sequences), mmi.CONTEXTS)
    assert torch.allclose(torch.tensor(mine), mmi.phone_trigram(sequences), atol=1e-6)
