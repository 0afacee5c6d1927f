"""What the network puts out, and how wide it is; without torch, for the making of the graph."""

from __future__ import annotations

from dataclasses import dataclass

PHONES = [
    "AA", "AE", "AH", "AO", "AW", "AY", "B", "CH", "D", "DH", "EH", "ER", "EY", "F", "G", "HH",
    "IH", "IY", "JH", "K", "L", "M", "N", "NG", "OW", "OY", "P", "R", "S", "SH", "T", "TH", "UH",
    "UW", "V", "W", "Y", "Z", "ZH",
]  # fmt: skip
BLANK = 0  # also silence; phone k of PHONES has index k + 1
SUBSAMPLING = 4  # one output every 40 ms
KEEP = 0.66  # share of a layer's input that is added to its output


@dataclass(frozen=True)
class Size:
    """Widths of the network."""

    hidden: int = 640
    bottleneck: int = 144
    layers: int = 10  # at the 40 ms rate
    stem: tuple[int, ...] = (1,)  # reach in 10 ms frames of full-rate layers after the first
    contexts: tuple[int, ...] = ()  # layers at 40 ms behind which the whole row is attended to
