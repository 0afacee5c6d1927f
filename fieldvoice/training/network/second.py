"""Pack a trained network as a model's second one: `python -m fieldvoice.training.network.second`.

The second network weighs the ways that the first one leaves (fieldvoice/secondear/). The first
decodes in Kaldi, which knows no attention; this one need not. Normalizations are folded into the
layers around them, but for what they add.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
import torch
from torch import Tensor

from fieldvoice.acoustics.final_mdl import Affine, Floats
from fieldvoice.secondear.network import TAPS, Block, Context, Network
from fieldvoice.secondear.network_file import FILE, to_bytes
from fieldvoice.training.network.shape import KEEP
from fieldvoice.training.network.tdnn import HEADS

NEXT_TO_NOTHING = 1e-5  # added to a variance, as torch does

State = dict[str, Tensor]


def packed(state: State) -> Network:
    """The network of a file that train.py keeps. KeyError for one of other layers."""
    held = {name: value.float().numpy() for name, value in state.items()}
    scale, shift = _norm(held, "input_norm")
    first = _before(_affine(held, "first"), np.tile(scale, TAPS), np.tile(shift, TAPS))
    scale, shift = _norm(held, "first_norm")
    stem, body = (tuple(_block(held, part, n) for n in range(_count(held, part)))
                  for part in ("stem", "body"))  # fmt: skip
    return Network(_times(first, scale), shift, stem, body, _affine(held, "output"), KEEP)


def _count(held: dict[str, Floats], part: str) -> int:
    return sum(name.startswith(f"{part}.") and name.endswith(".up.bias") for name in held)


def _block(held: dict[str, Floats], part: str, n: int) -> Block:
    scale, shift = _norm(held, f"{part}.{n}.norm")
    up = _times(_affine(held, f"{part}.{n}.up"), scale)
    context = None
    if part == "body" and f"contexts.{n}.query.weight" in held:
        query = _before(_affine(held, f"contexts.{n}.query"), *_norm(held, f"contexts.{n}.norm"))
        context = Context(query, _affine(held, f"contexts.{n}.out"), HEADS)
    return Block(_affine(held, f"{part}.{n}.down"), up, shift, context)


def _affine(held: dict[str, Floats], name: str) -> Affine:
    weight = held[f"{name}.weight"]
    return Affine(weight, held.get(f"{name}.bias", np.zeros(len(weight), np.float32)))


def _norm(held: dict[str, Floats], name: str) -> tuple[Floats, Floats]:
    """x -> scale x + shift, which is what a normalization does once it is trained."""
    scale: Floats = 1 / np.sqrt(held[f"{name}.running_var"] + NEXT_TO_NOTHING)
    return scale, -held[f"{name}.running_mean"] * scale


def _before(affine: Affine, scale: Floats, shift: Floats) -> Affine:
    """The layer with a normalization before it in it."""
    return Affine(affine.weight * scale, affine.bias + affine.weight @ shift)


def _times(affine: Affine, scale: Floats) -> Affine:
    """The layer with what its outputs are multiplied by, behind a relu too: it is positive."""
    return Affine(affine.weight * scale[:, None], affine.bias * scale)


def main() -> None:
    """Read the arguments."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("trained", type=Path, help="a file of train.py")
    parser.add_argument("--model", type=Path, default=Path("fieldvoice/model"),
                        help="folder that it becomes the second network of")  # fmt: skip
    a = parser.parse_args()
    data = to_bytes(packed(torch.load(a.trained, weights_only=True)["weights"]))
    (a.model / FILE).parent.mkdir(exist_ok=True)
    (a.model / FILE).write_bytes(data)
    print(f"{a.model / FILE}: {len(data) / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
