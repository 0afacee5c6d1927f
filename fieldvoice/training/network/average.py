"""Average trainings that share their start: `python -m fieldvoice.training.network.average`.

Trainings that went on from the same weights lie in one valley; the mean of where they ended lies
lower in it than each (Wortsman et al., ICML 2022: read from memory).
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

import torch
from torch import Tensor


def mean(tensors: list[Tensor], shares: list[float]) -> Tensor:
    """Weighed by `shares`; counts, which are no numbers to average, from the first."""
    if not tensors[0].is_floating_point():
        return tensors[0]
    parts = [t.float() * (share / sum(shares)) for t, share in zip(tensors, shares, strict=True)]
    return torch.stack(parts).sum(0)


def average(trained: list[dict[str, Any]], shares: list[float]) -> dict[str, Any]:
    """Files of train.py as one: weights and priors averaged, the rest of the first.

    ValueError where their sizes differ or no share is positive.
    """
    if any(one["size"] != trained[0]["size"] for one in trained):
        raise ValueError(f"networks of different sizes: {[one['size'] for one in trained]}")
    if min(shares) < 0 or sum(shares) <= 0:
        raise ValueError(f"shares {shares}: none may be negative and their sum must not be 0")
    weights = {
        name: mean([one["weights"][name] for one in trained], shares)
        for name in trained[0]["weights"]
    }
    priors = mean([one["priors"] for one in trained], shares)
    return {**trained[0], "weights": weights, "priors": priors}


def main() -> None:
    """Read the arguments."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--out", type=Path, required=True, help="file for export.py")
    parser.add_argument("--shares", type=float, nargs="*", help="one for each file; else alike")
    parser.add_argument("files", type=Path, nargs="+", help="files of train.py")
    a = parser.parse_args()
    shares = a.shares or [1.0] * len(a.files)
    if len(shares) != len(a.files):
        parser.error(f"{len(shares)} shares for {len(a.files)} files: give one for each")
    trained = [torch.load(path, weights_only=True) for path in a.files]
    torch.save(average(trained, shares), a.out)


if __name__ == "__main__":
    main()
