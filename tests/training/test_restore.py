"""Weights read back from a shipped model go on where training stopped."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

torch = pytest.importorskip("torch")

from fieldvoice.acoustics.final_mdl import read_weights  # noqa: E402
from fieldvoice.training.network import kaldi_nnet, restore  # noqa: E402
from fieldvoice.training.network.shape import Size  # noqa: E402
from fieldvoice.training.network.tdnn import Network, measure_norms  # noqa: E402


def _trained(features: list[torch.Tensor]) -> Network:
    torch.manual_seed(4)
    network = Network(Size(hidden=48, bottleneck=12, layers=2), dropout=0.0)
    measure_norms(network, features)
    return network


def test_a_restored_network_says_what_the_trained_one_said(tmp_path: Path) -> None:
    torch.manual_seed(5)
    features = [torch.randn(50, 60, 40) * 3 + torch.linspace(-2, 2, 40) for _ in range(10)]
    trained = _trained(features)
    weights = {k: v.double().numpy() for k, v in trained.state_dict().items() if v.dim()}
    path = tmp_path / "final.mdl"
    kaldi_nnet.write_model(path, kaldi_nnet.build(weights, trained.size), np.full(40, 1 / 40))
    found = restore.folded_network(read_weights(path.read_bytes()))
    assert found.size == trained.size
    before = (found(features[0]) - trained.eval()(features[0])).abs().mean()
    restore.unfold(found, features)
    after = (found(features[0]) - trained(features[0])).abs().mean()
    assert after < 0.02 * trained(features[0]).abs().mean() < before
