"""The network of training and the one that weighs lines, packed of it, give the same scores."""

import numpy as np
import pytest

torch = pytest.importorskip("torch")

from fieldvoice.training.network.second import packed  # noqa: E402
from fieldvoice.training.network.shape import Size  # noqa: E402
from fieldvoice.training.network.tdnn import Network  # noqa: E402


@pytest.mark.parametrize("contexts", [(), (1,), (0, 2)])
@pytest.mark.parametrize("frames", [1, 4, 43])
def test_a_packed_network_scores_as_the_trained_one(contexts, frames):
    torch.manual_seed(3)
    network = Network(Size(24, 8, 3, (1,), contexts))
    for _ in range(3):  # gives the normalizations means and variances of their own
        network(2 + 3 * torch.randn(4, 60, 40))
    for name, values in network.named_parameters():
        if name.startswith("contexts") and name.endswith("out.weight"):
            torch.nn.init.normal_(values, std=0.5)
    network.eval()
    features = 2 + 3 * torch.randn(frames, 40)
    with torch.no_grad():
        trained = network(features[None])[0].numpy()
    found = packed(network.state_dict()).scores(features.numpy())
    assert found.shape == trained.shape
    assert np.abs(found - trained).max() < 1e-4
    assert np.abs(trained).max() > 0.1
