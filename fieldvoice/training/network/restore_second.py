"""A shipped second network to train on: `python -m fieldvoice.training.network.restore_second`.

second.py folds normalizations into the layers around them. Training measures them anew on each
batch, so a block is put back as it lies, its output already of unit spread; what was folded into
the first layer, and into each layer of attention, must be undone, measured on training speech.
"""

from __future__ import annotations

import torch
from torch import Tensor

from fieldvoice.secondear import network as shipped
from fieldvoice.secondear.network_file import FILE, read
from fieldvoice.training.network.restore import fill, normalize, unfolded
from fieldvoice.training.network.second import NEXT_TO_NOTHING
from fieldvoice.training.network.shape import Size
from fieldvoice.training.network.tdnn import Network, Norm, measure_norms


def folded_network(packed: shipped.Network) -> Network:
    """A network that computes what the packed one does; all of its normalizations are folded."""
    hidden, bottleneck = len(packed.first.weight), len(packed.body[0].down.weight)
    contexts = tuple(n for n, block in enumerate(packed.body) if block.context)
    size = Size(hidden, bottleneck, len(packed.body), (1,) * len(packed.stem), contexts)
    network = Network(size).eval()
    fill(network.first, packed.first)
    _add(network.first_norm, packed.shift)
    _add(network.input_norm, 0.0)
    layers = zip([*network.stem, *network.body], [*packed.stem, *packed.body], strict=True)
    for layer, block in layers:
        fill(layer.down, block.down)
        fill(layer.up, block.up)
        _add(layer.norm, block.shift)
    for n in contexts:
        context, held = network.contexts[str(n)], packed.body[n].context
        assert held is not None
        fill(context.query, held.query)
        fill(context.out, held.out)
        _add(context.norm, 0.0)
    fill(network.output, packed.output)
    return network


@torch.no_grad()
def unfold(network: Network, features: list[Tensor]) -> None:
    """Undo what folding moved across the normalizations, measured on `features`."""
    normalize(network.input_norm, network.first, torch.cat([f.flatten(0, 1) for f in features]))
    for n in network.size.contexts:
        context = network.contexts[str(n)]
        seen: list[Tensor] = []
        hook = context.register_forward_pre_hook(lambda _, x, seen=seen: seen.append(x[0]))
        for one in features:
            network(one)
        hook.remove()
        normalize(context.norm, context.query, torch.cat([x.flatten(0, 1) for x in seen]))
    measure_norms(network, features)


@torch.no_grad()
def _add(norm: Norm, shift: Tensor | float) -> None:
    """Let the normalization only add."""
    norm.running_mean.copy_(-torch.as_tensor(shift))
    norm.running_var.fill_(1 - NEXT_TO_NOTHING)


if __name__ == "__main__":
    unfolded(__doc__ or "", lambda model: folded_network(read(model / FILE)), unfold)
