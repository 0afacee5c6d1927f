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
from torch import Tensor

from fieldvoice.acoustics.final_mdl import Floats, Weights, read_weights
from fieldvoice.training.network.features import Mfcc
from fieldvoice.training.network.shape import KEEP, Size
from fieldvoice.training.network.tdnn import Network, measure_norms
from fieldvoice.training.network.train import phone_error
from fieldvoice.training.speech import augment
from fieldvoice.training.speech.corpus import Batch, Corpus, load, plain_batch

UTTERANCES = 600  # of training speech, over which the normalizations are measured


def folded_network(weights: Weights) -> Network:
    """A network of the folded weights; its size is read from their shapes (one layer at 10 ms)."""
    blocks, bottleneck = weights.blocks, len(weights.blocks[0].down.bias)
    network = Network(Size(weights.hidden, bottleneck, len(blocks) - 1, (1,)))
    for layer, block in zip([*network.stem, *network.body], blocks, strict=True):
        _fill(layer.down.weight, block.down.weight)
        _fill(layer.up.weight, block.up.weight)
        _fill(layer.up.bias, block.up.bias)
    for linear, affine in ((network.first, weights.first), (network.output, weights.output)):
        _fill(linear.weight, affine.weight)
        _fill(linear.bias, affine.bias)
    return network


@torch.no_grad()
def _fill(parameter: Tensor, values: Floats) -> None:
    parameter.copy_(torch.tensor(values))


@torch.no_grad()
def unfold(network: Network, features: list[Tensor]) -> None:
    """Undo what folding moved across the normalizations, measured on `features`."""
    everything = torch.cat([f.flatten(0, 1) for f in features])
    network.input_norm.running_mean.copy_(everything.mean(0))
    network.input_norm.running_var.copy_(everything.var(0))
    scale = (everything.var(0) + 1e-5).rsqrt()
    shift = -everything.mean(0) * scale
    network.first.weight.div_(scale.repeat(5))
    network.first.bias.sub_(network.first.weight @ shift.repeat(5))
    measure_norms(network, features)
    constant = torch.zeros(network.size.hidden)
    for norm in (network.first_norm, *(b.norm for b in (*network.stem, *network.body))):
        constant = KEEP * constant - norm.running_mean * (norm.running_var + 1e-5).rsqrt()
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
