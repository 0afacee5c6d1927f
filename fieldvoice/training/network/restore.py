"""Trainable weights of a shipped model: `python -m fieldvoice.training.network.restore`.

final.mdl has every normalization folded into its neighbours (kaldi_nnet.build). Training measures
normalizations anew anyway, on each batch, so only what was moved across them must be undone: the
scale and shift of the input, and the shifts that the residual stream gathers up to the output.
"""

from __future__ import annotations

import argparse
import random
from collections.abc import Callable
from pathlib import Path

import torch
from torch import Tensor, nn

from fieldvoice.acoustics.final_mdl import Affine, Weights, read_weights
from fieldvoice.training.network.features import Mfcc
from fieldvoice.training.network.second import NEXT_TO_NOTHING
from fieldvoice.training.network.shape import KEEP, Size
from fieldvoice.training.network.tdnn import Network, Norm, measure_norms
from fieldvoice.training.network.train import phone_error
from fieldvoice.training.speech import augment
from fieldvoice.training.speech.corpus import Batch, Corpus, load, plain_batch

UTTERANCES = 600  # of training speech, over which the normalizations are measured


def folded_network(weights: Weights) -> Network:
    """A network of the folded weights; its size is read from their shapes (one layer at 10 ms)."""
    blocks, bottleneck = weights.blocks, len(weights.blocks[0].down.bias)
    network = Network(Size(weights.hidden, bottleneck, len(blocks) - 1, (1,)))
    for layer, block in zip([*network.stem, *network.body], blocks, strict=True):
        fill(layer.down, block.down)
        fill(layer.up, block.up)
    fill(network.first, weights.first)
    fill(network.output, weights.output)
    return network


@torch.no_grad()
def fill(layer: nn.Linear, affine: Affine) -> None:
    """Give a layer its numbers."""
    layer.weight.copy_(torch.tensor(affine.weight))
    if layer.bias is not None:
        layer.bias.copy_(torch.tensor(affine.bias))


@torch.no_grad()
def normalize(norm: Norm, layer: nn.Linear, x: Tensor) -> None:
    """Let the normalization normalize `x` [frames, channels], and the layer behind it undo that."""
    mean, spread = x.mean(0), (x.var(0) + NEXT_TO_NOTHING).sqrt()
    norm.running_mean.copy_(mean)
    norm.running_var.copy_(x.var(0))
    taps = layer.weight.shape[1] // len(mean)
    layer.bias.add_(layer.weight @ mean.repeat(taps))
    layer.weight.mul_(spread.repeat(taps))


@torch.no_grad()
def unfold(network: Network, features: list[Tensor]) -> None:
    """Undo what folding moved across the normalizations, measured on `features`."""
    normalize(network.input_norm, network.first, torch.cat([f.flatten(0, 1) for f in features]))
    measure_norms(network, features)
    constant = torch.zeros(network.size.hidden)
    for norm in (network.first_norm, *(b.norm for b in (*network.stem, *network.body))):
        spread = (norm.running_var + NEXT_TO_NOTHING).sqrt()
        constant = KEEP * constant - norm.running_mean / spread
    network.output.bias.sub_(network.output.weight @ constant)


def batches_of(corpus: Corpus, strength: float, size: int = 50) -> list[Tensor]:
    """Features of the corpus, augmented; each batch of utterances alike in length."""
    mfcc, bank = Mfcc(), augment.NoiseBank(torch.device("cpu"), rows=64, seconds=16)
    rng = random.Random(1)
    spoken = sorted((corpus.draw(rng) for _ in range(UTTERANCES)), key=lambda s: len(s.sound))
    found = []
    for first in range(0, len(spoken) - size + 1, size):
        batch: Batch = plain_batch(spoken[first : first + size])
        sound = augment.site(batch.sound.float(), batch.level, bank, torch.tensor(strength))
        found.append(mfcc(sound))
    return found


def unfolded(
    about: str, folded: Callable[[Path], Network], undo: Callable[[Network, list[Tensor]], None]
) -> None:
    """Read the arguments, unfold a network of the model folder, check it and write it."""
    parser = argparse.ArgumentParser(description=about.split("\n")[0])
    parser.add_argument("--model", type=Path, default=Path("fieldvoice/model"))
    parser.add_argument("--speech", type=Path, required=True, help="folder of training shards")
    parser.add_argument("--held-out", type=Path, required=True, help="to check the result on")
    parser.add_argument("--out", type=Path, required=True, help="file for train.py --start")
    a = parser.parse_args()
    torch.manual_seed(1)
    speech, held_out = Corpus(), Corpus()
    load(speech, sorted(a.speech.rglob("*.json"))[::5])
    load(held_out, sorted(a.held_out.rglob("*.json")))
    network = folded(a.model)
    undo(network, batches_of(speech, 0.7))
    print(f"held-out phone errors {phone_error(network, Mfcc(), held_out.all()):.2%} clean")
    torch.save({"weights": network.state_dict()}, a.out)


def shipped(model: Path) -> Network:
    """The first network of a model folder, folded."""
    return folded_network(read_weights((model / "am" / "final.mdl").read_bytes()))


if __name__ == "__main__":
    unfolded(__doc__ or "", shipped, unfold)
