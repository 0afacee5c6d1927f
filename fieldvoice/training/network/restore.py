"""Trainable weights of a shipped model: `python -m fieldvoice.training.network.restore`.

final.mdl has every normalization folded into its neighbours (kaldi_nnet.build). Training measures
normalizations anew anyway, on each batch, so only what was moved across them must be undone: the
scale and shift of the input, and the shifts that the residual stream gathers up to the output.
"""

from __future__ import annotations

import argparse
import random
import struct
from pathlib import Path

import numpy as np
import torch
from torch import Tensor

from fieldvoice.training.network.features import Mfcc
from fieldvoice.training.network.shape import KEEP, Size
from fieldvoice.training.network.tdnn import Network, measure_norms
from fieldvoice.training.network.train import phone_error
from fieldvoice.training.speech import augment
from fieldvoice.training.speech.corpus import Batch, Corpus, load, plain_batch

UTTERANCES = 600  # of training speech, over which the normalizations are measured


def affine_parts(path: Path) -> list[tuple[Tensor, Tensor]]:
    """Weight and bias of each affine component of a final.mdl, in order."""
    data, at, found = path.read_bytes(), 0, []
    while (at := data.find(b"<LinearParams> CM2 ", at)) >= 0:
        at += len(b"<LinearParams> CM2 ")
        low, span, rows, columns = struct.unpack_from("<ffii", data, at)
        steps = np.frombuffer(data, "<u2", rows * columns, at + 16).reshape(rows, columns)
        at += 16 + 2 * rows * columns + len(b"<BiasParams> FV \x04")
        (size,) = struct.unpack_from("<i", data, at)
        bias = np.frombuffer(data, "<f4", size, at + 4)
        weight = low + steps.astype(np.float64) * (span / 65535)
        found.append((torch.tensor(weight, dtype=torch.float32), torch.tensor(bias)))
    return found


def folded_network(parts: list[tuple[Tensor, Tensor]]) -> Network:
    """A network of the folded weights; its size is read from their shapes (one layer at 10 ms)."""
    (first, first_bias), *layers, (output, output_bias) = parts
    hidden, bottleneck = len(first), len(layers[0][0])
    network = Network(Size(hidden, bottleneck, len(layers) // 2 - 1, (1,)))
    with torch.no_grad():
        network.first.weight.copy_(first)
        network.first.bias.copy_(first_bias)
        blocks = [*network.stem, *network.body]
        for block, (down, _), (up, bias) in zip(blocks, layers[::2], layers[1::2], strict=True):
            block.down.weight.copy_(down)
            block.up.weight.copy_(up)
            block.up.bias.copy_(bias)
        network.output.weight.copy_(output)
        network.output.bias.copy_(output_bias)
    return network


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


def main() -> None:
    """Read the arguments."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--model", type=Path, default=Path("fieldvoice/model"))
    parser.add_argument("--speech", type=Path, required=True, help="folder of training shards")
    parser.add_argument("--held-out", type=Path, required=True, help="to check the result on")
    parser.add_argument("--out", type=Path, required=True, help="file for train.py --start")
    a = parser.parse_args()
    torch.manual_seed(1)
    speech, held_out = Corpus(), Corpus()
    load(speech, sorted(a.speech.rglob("*.json"))[::5])
    load(held_out, sorted(a.held_out.rglob("*.json")))
    network = folded_network(affine_parts(a.model / "am" / "final.mdl"))
    unfold(network, batches_of(speech, 0.7))
    print(f"held-out phone errors {phone_error(network, Mfcc(), held_out.all()):.2%} clean")
    torch.save({"weights": network.state_dict()}, a.out)


if __name__ == "__main__":
    main()
