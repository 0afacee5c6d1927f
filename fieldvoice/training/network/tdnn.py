"""The acoustic network: a factorized time-delay network that Kaldi's nnet3 can run unchanged."""

from __future__ import annotations

from collections.abc import Iterable

import torch
from torch import Tensor, nn

from fieldvoice.training.network.shape import KEEP, PHONES, SUBSAMPLING, Size

HEADS = 4  # of attention
MOMENTUM = 0.1  # of the normalizations' running statistics while training


class Norm(nn.BatchNorm1d):
    """Batch normalization without learned scale over the channels of [batch, time, channels]."""

    def __init__(self, channels: int) -> None:
        super().__init__(channels, affine=False, momentum=MOMENTUM)

    def forward(self, x: Tensor) -> Tensor:
        """Normalize each channel over batch and time."""
        flat: Tensor = super().forward(x.flatten(0, 1))
        return flat.view(x.shape)


def splice(x: Tensor, taps: int) -> Tensor:
    """[batch, time, c] to [batch, time - taps + 1, taps * c]: each frame beside those after it."""
    length = x.shape[1] - taps + 1
    return torch.cat([x[:, k : k + length] for k in range(taps)], -1)


def repeat_ends(x: Tensor, frames: int) -> Tensor:
    """Repeat the first and last frame, as Kaldi does at the ends of the sound."""
    return torch.cat([x[:, :1].expand(-1, frames, -1), x, x[:, -1:].expand(-1, frames, -1)], 1)


class FactoredLayer(nn.Module):
    """x -> KEEP x + norm(relu(up([down([x(t-1), x(t)]), the same at t+1])))."""

    def __init__(self, hidden: int, bottleneck: int, dropout: float) -> None:
        super().__init__()
        self.down = nn.Linear(2 * hidden, bottleneck, bias=False)
        self.up = nn.Linear(2 * bottleneck, hidden)
        self.norm = Norm(hidden)
        self.dropout = dropout

    def forward(self, x: Tensor) -> Tensor:
        """Same length in and out."""
        y = self.norm(torch.relu(self.up(splice(self.down(splice(repeat_ends(x, 1), 2)), 2))))
        if self.training:  # whole channels of a row at a time
            ones = torch.ones(len(y), 1, y.shape[2], device=y.device, dtype=y.dtype)
            y = y * nn.functional.dropout(ones, self.dropout)
        return torch.add(y, x, alpha=KEEP)


class Context(nn.Module):
    """x -> x + out(attention over the whole row), of normalized x."""

    def __init__(self, hidden: int, width: int, heads: int) -> None:
        super().__init__()
        self.heads = heads
        self.norm = Norm(hidden)
        self.query = nn.Linear(hidden, 3 * width)
        self.out = nn.Linear(width, hidden)
        nn.init.normal_(self.out.weight, std=1e-3)  # hardly a change to begin with
        nn.init.zeros_(self.out.bias)

    def forward(self, x: Tensor) -> Tensor:
        """Same shape in and out."""
        rows, time, _ = x.shape
        both = self.query(self.norm(x)).view(rows, time, 3, self.heads, -1)
        query, key, value = both.permute(2, 0, 3, 1, 4)
        taken = nn.functional.scaled_dot_product_attention(query, key, value)
        return x + self.out(taken.transpose(1, 2).reshape(rows, time, -1))


class Network(nn.Module):
    """MFCC [batch, frames, 40] to phone scores [batch, ceil(frames / 4), 40] (before softmax)."""

    def __init__(self, size: Size, dropout: float = 0.04) -> None:
        super().__init__()
        self.size = size
        hidden, bottleneck = size.hidden, size.bottleneck
        self.input_norm = Norm(40)
        self.first = nn.Linear(5 * 40, hidden)
        self.first_norm = Norm(hidden)
        self.stem = nn.ModuleList(FactoredLayer(hidden, bottleneck, dropout) for _ in size.stem)
        self.body = nn.ModuleList(
            FactoredLayer(hidden, bottleneck, dropout) for _ in range(size.layers)
        )
        self.output = nn.Linear(hidden, len(PHONES) + 1)
        self.contexts = nn.ModuleDict(
            {str(n): Context(hidden, bottleneck, HEADS) for n in size.contexts}
        )

    def forward(self, features: Tensor) -> Tensor:
        """Scores every fourth frame: 0, 4, 8, ..."""
        x = self.first(splice(repeat_ends(self.input_norm(features), 2), 5))
        x = self.first_norm(torch.relu(x))
        for layer in self.stem:
            x = layer(x)
        x = x[:, ::SUBSAMPLING]
        for n, layer in enumerate(self.body):
            x = layer(x)
            if str(n) in self.contexts:
                x = self.contexts[str(n)](x)
        scores: Tensor = self.output(x)
        return scores


@torch.no_grad()
def measure_norms(network: nn.Module, features: Iterable[Tensor]) -> None:
    """Set the running statistics to plain means over all `features`, dropout off."""
    norms = [m for m in network.modules() if isinstance(m, Norm)]
    network.eval()
    for norm in norms:
        norm.reset_running_stats()
        norm.momentum = None  # a plain mean over all that follow
        norm.train()
    for one in features:
        network(one)
    network.eval()
    for norm in norms:
        norm.momentum = MOMENTUM


def parameters(network: nn.Module) -> int:
    """How many numbers the network holds."""
    return sum(p.numel() for p in network.parameters())
