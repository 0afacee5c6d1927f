"""The acoustic network: a factorized time-delay network that Kaldi's nnet3 can run unchanged."""

from __future__ import annotations

from dataclasses import dataclass

import torch
from torch import Tensor, nn

PHONES = (
    "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH"
).split()
BLANK = 0  # also silence; phone k of PHONES has index k + 1
SUBSAMPLING = 3  # one output every 30 ms
KEEP = 0.66  # share of a layer's input that is added to its output


@dataclass(frozen=True)
class Size:
    """Widths of the network."""

    hidden: int = 512
    bottleneck: int = 112
    layers: int = 9  # at the 30 ms rate
    stem: tuple[int, ...] = (1, 1)  # reach, in 10 ms frames, of the full-rate layers after the first


class FactoredLayer(nn.Module):
    """x -> KEEP x + norm(relu(affine(bottleneck([x(t-1), x(t)])) over [t, t+1]))."""

    def __init__(self, hidden: int, bottleneck: int, dropout: float) -> None:
        super().__init__()
        self.down = nn.Conv1d(hidden, bottleneck, 2, bias=False)
        self.up = nn.Conv1d(bottleneck, hidden, 2)
        self.norm = nn.BatchNorm1d(hidden, affine=False)
        self.dropout = nn.Dropout1d(dropout)

    def forward(self, x: Tensor) -> Tensor:
        """Same length in and out; the ends see repeated frames, as Kaldi's do."""
        padded = nn.functional.pad(x, (1, 1), mode="replicate")
        y: Tensor = self.norm(torch.relu(self.up(self.down(padded))))
        return KEEP * x + self.dropout(y)


class Network(nn.Module):
    """MFCC [batch, frames, 40] to phone scores [batch, ceil(frames / 3), 40] (before softmax)."""

    def __init__(self, size: Size, dropout: float = 0.1) -> None:
        super().__init__()
        self.size = size
        hidden, bottleneck = size.hidden, size.bottleneck
        self.input_norm = nn.BatchNorm1d(40, affine=False)
        self.first = nn.Conv1d(40, hidden, 5)
        self.first_norm = nn.BatchNorm1d(hidden, affine=False)
        self.stem = nn.ModuleList(FactoredLayer(hidden, bottleneck, dropout) for _ in size.stem)
        self.body = nn.ModuleList(
            FactoredLayer(hidden, bottleneck, dropout) for _ in range(size.layers)
        )
        self.output = nn.Conv1d(hidden, len(PHONES) + 1, 1)

    def forward(self, features: Tensor) -> Tensor:
        """Scores every third frame: 0, 3, 6, ..."""
        x = self.input_norm(features.transpose(1, 2))
        x = nn.functional.pad(x, (2, 2), mode="replicate")
        x = self.first_norm(torch.relu(self.first(x)))
        for layer in self.stem:
            x = layer(x)
        x = x[:, :, ::SUBSAMPLING]
        for layer in self.body:
            x = layer(x)
        scores: Tensor = self.output(x).transpose(1, 2)
        return scores


def parameters(network: nn.Module) -> int:
    """How many numbers the network holds."""
    return sum(p.numel() for p in network.parameters())
