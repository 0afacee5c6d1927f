"""A second network read back from what was shipped goes on where training stopped."""

from __future__ import annotations

import copy

import pytest

torch = pytest.importorskip("torch")

from fieldvoice.training.network import restore_second  # noqa: E402
from fieldvoice.training.network.second import packed  # noqa: E402
from fieldvoice.training.network.shape import Size  # noqa: E402
from fieldvoice.training.network.tdnn import Network, measure_norms  # noqa: E402


@pytest.mark.parametrize("contexts", [(), (1,), (0, 2)])
def test_a_restored_second_network_normalizes_as_the_trained_one(contexts: tuple[int, ...]) -> None:
    torch.manual_seed(5)
    features = [torch.randn(50, 60, 40) * 3 + torch.linspace(-2, 2, 40) for _ in range(10)]
    trained = Network(Size(hidden=48, bottleneck=12, layers=3, contexts=contexts), dropout=0.0)
    for name, values in trained.named_parameters():
        if name.startswith("contexts") and name.endswith("out.weight"):
            torch.nn.init.normal_(values, std=0.5)
    measure_norms(trained, features)

    found = restore_second.folded_network(packed(trained.state_dict()))
    assert found.size == trained.size
    assert _apart(found, trained, features[0]) < 1e-4
    # while training goes on, each batch is normalized by itself: that too must be the same
    before = _apart(_training(found), _training(trained), features[0])
    restore_second.unfold(found, features)
    assert _apart(found, trained, features[0]) < 0.02
    assert _apart(_training(found), _training(trained), features[0]) < 0.02 < before


def _training(network: Network) -> Network:
    network = copy.deepcopy(network).train()
    for layer in (*network.stem, *network.body):
        layer.dropout = 0.0
    return network


@torch.no_grad()
def _apart(one: Network, other: Network, features: torch.Tensor) -> float:
    scores = other(features)
    return float((one(features) - scores).abs().mean() / scores.abs().mean())
