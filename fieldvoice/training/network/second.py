"""Pack a network as a model's second one: `python -m fieldvoice.training.network.second`.

The second network weighs the ways that the first one leaves (fieldvoice/secondear/). It has the
same layers and lexicon, and was trained on from the same weights by other speech.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from fieldvoice.ownvoice.final_mdl import read_weights
from fieldvoice.secondear.network_file import to_bytes
from fieldvoice.secondear.second_ear import FILE


def main() -> None:
    """Read the arguments."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("network", type=Path, help="a final.mdl")
    parser.add_argument("--model", type=Path, default=Path("fieldvoice/model"),
                        help="folder that it becomes the second network of")  # fmt: skip
    a = parser.parse_args()
    data = to_bytes(read_weights(a.network.read_bytes()))
    (a.model / FILE).parent.mkdir(exist_ok=True)
    (a.model / FILE).write_bytes(data)
    print(f"{a.model / FILE}: {len(data) / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
