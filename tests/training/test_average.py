"""Averaged trainings: each weight is the mean, and networks of unlike sizes are refused."""

from __future__ import annotations

from typing import Any

import pytest

torch = pytest.importorskip("torch")

from fieldvoice.training.network.average import average  # noqa: E402
from fieldvoice.training.network.shape import Size  # noqa: E402
from fieldvoice.training.network.tdnn import Network  # noqa: E402

SIZE = Size(hidden=24, bottleneck=6, layers=1)


def _trained(seed: int) -> dict[str, Any]:
    torch.manual_seed(seed)
    priors = torch.rand(40).softmax(0)
    return {"weights": Network(SIZE).state_dict(), "priors": priors, "size": SIZE.hidden,
            "steps": 10 * seed}  # fmt: skip


def test_each_weight_is_the_mean_by_shares() -> None:
    first, second = _trained(1), _trained(2)
    found = average([first, second], [3.0, 1.0])
    for name, value in found["weights"].items():
        if value.is_floating_point():
            expected = 0.75 * first["weights"][name] + 0.25 * second["weights"][name]
            assert torch.allclose(value, expected, atol=1e-6), name
    assert torch.allclose(found["priors"].sum(), torch.ones(()))
    Network(SIZE).load_state_dict(found["weights"])
    assert found["steps"] == 10, "what is no weight is the first one's"


def test_a_mean_with_itself_changes_nothing() -> None:
    one = _trained(3)
    found = average([one, one], [0.3, 0.7])
    for name, value in found["weights"].items():
        assert torch.allclose(value, one["weights"][name], atol=1e-6), name


@pytest.mark.parametrize("shares", [[0.0, 0.0], [1.0, -0.5]])
def test_shares_that_weigh_nothing_are_refused(shares: list[float]) -> None:
    with pytest.raises(ValueError, match="shares"):
        average([_trained(1), _trained(2)], shares)


def test_networks_of_unlike_sizes_are_refused() -> None:
    with pytest.raises(ValueError, match="different sizes"):
        average([_trained(1), {**_trained(2), "size": 99}], [1.0, 1.0])
