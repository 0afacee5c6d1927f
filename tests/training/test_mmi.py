"""The sums over all phone sequences, against every path written out."""

from __future__ import annotations

import itertools

import pytest

torch = pytest.importorskip("torch")

from fieldvoice.training.network import mmi  # noqa: E402

PHONES_USED, FRAMES = 3, 4


def _scores(rows: int) -> torch.Tensor:
    scores = torch.randn(FRAMES, rows, mmi.CONTEXTS, dtype=torch.float64)
    scores[..., PHONES_USED + 1 :] = -1e4
    return scores.log_softmax(-1)


def _every_path(log_probs: torch.Tensor, trigram: torch.Tensor) -> torch.Tensor:
    total = torch.zeros((), dtype=torch.float64)
    for row in range(log_probs.shape[1]):
        chance = torch.zeros((), dtype=torch.float64)
        for path in itertools.product(range(PHONES_USED + 1), repeat=FRAMES):
            said = [k for k, _ in itertools.groupby(path) if k]
            one = torch.stack([log_probs[t, row, k] for t, k in enumerate(path)]).sum().exp()
            for a, b, c in zip([0, 0, *said], [0, *said], said, strict=False):
                one = one * trigram[a, b, c]
            chance = chance + one
        total = total + chance.log()
    return total


def _trigram() -> torch.Tensor:
    return mmi.phone_trigram([[1, 1, 2], [2, 1, 1, 3], [3, 3, 2, 1]] * 5).double()


def test_chances_of_what_follows_add_up_to_one() -> None:
    chances = _trigram()
    assert torch.allclose(chances.sum(-1), torch.ones(mmi.CONTEXTS, mmi.CONTEXTS).double())
    assert not chances[..., 0].any(), "nobody says 'none yet'"
    assert chances[1, 1, 2] > chances[1, 1, 1], "as counted"


def test_the_sum_and_its_gradient_are_those_of_every_path() -> None:
    torch.manual_seed(3)
    trigram, scores = _trigram(), _scores(rows=2)
    ours, theirs = (scores.clone().requires_grad_() for _ in range(2))
    value = mmi.Denominator(trigram, rows=2, frames=FRAMES)(ours)
    expected = _every_path(theirs, trigram)
    value.backward()
    expected.backward()
    assert torch.allclose(value, expected)
    used = slice(0, PHONES_USED + 1)
    assert torch.allclose(ours.grad[..., used], theirs.grad[..., used], atol=1e-10)


def _said_paths(said: list[int]) -> list[tuple[int, ...]]:
    paths = itertools.product(range(PHONES_USED + 1), repeat=FRAMES)
    return [p for p in paths if [k for k, _ in itertools.groupby(p) if k] == said]


def test_what_is_wrong_is_what_no_path_of_the_sentence_has() -> None:
    torch.manual_seed(4)
    scores, said = _scores(rows=1).requires_grad_(), [2, 3]
    loss = torch.nn.functional.ctc_loss(
        scores, torch.tensor([said]), [FRAMES], [len(said)], 0, "sum"
    )
    shares = torch.zeros(FRAMES, mmi.CONTEXTS, dtype=torch.float64)
    for path in _said_paths(said):
        chance = torch.stack([scores[t, 0, k] for t, k in enumerate(path)]).sum().exp().item()
        for t, k in enumerate(path):
            shares[t, k] += chance
    shares = shares / shares.sum(1, keepdim=True)
    assert torch.allclose(mmi.wrongness(scores, loss)[:, 0], 1 - shares, atol=1e-9)
    assert shares[0, 1] == 0 < shares[0, 2] < 1, "phone 1 is said in no path"
