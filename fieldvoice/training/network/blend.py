"""Blend two models, normalizations folded in: `python -m fieldvoice.training.network.blend`.

For a model and one that was trained on from it, where only what was shipped of the first is left:
their weights lie in one valley (average.py), and folding moves both alike as long as the
normalizations have hardly changed.
"""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path

from fieldvoice.acoustics.final_mdl import Affine, Weights, read_weights, with_weights


def blended(first: Weights, second: Weights, share: float) -> Weights:
    """`share` 0..1 of the second, the rest of the first; of one shape."""

    def mix(a: Affine, b: Affine) -> Affine:
        return Affine(a.weight + share * (b.weight - a.weight), a.bias + share * (b.bias - a.bias))

    pairs = zip(first.blocks, second.blocks, strict=True)
    blocks = tuple(replace(a, down=mix(a.down, b.down), up=mix(a.up, b.up)) for a, b in pairs)
    return replace(first, first=mix(first.first, second.first), blocks=blocks,
                   output=mix(first.output, second.output))  # fmt: skip


def main() -> None:
    """Read the arguments."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("first", type=Path, help="a final.mdl")
    parser.add_argument("second", type=Path, help="that of a training which went on from it")
    parser.add_argument("--share", type=float, default=0.5, help="of the second")
    parser.add_argument("--out", type=Path, required=True, help="final.mdl to write")
    a = parser.parse_args()
    first = a.first.read_bytes()
    found = blended(read_weights(first), read_weights(a.second.read_bytes()), a.share)
    a.out.write_bytes(with_weights(first, found))


if __name__ == "__main__":
    main()
