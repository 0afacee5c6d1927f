"""The second network, forward: the layers of the first, and attention over the whole sound.

A line is weighed when all of it is known, so this network may look at all of it: three of its
layers compare each moment with every other one, and so learn the speaker and the noise from the
line itself (self-attention, Vaswani et al., 2017: read from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fieldvoice.acoustics.final_mdl import Affine, Floats

SUBSAMPLING = 4  # frames of 10 ms for an output
TAPS = 5  # frames of the first layer


@dataclass(frozen=True)
class Context:
    """x + out(attention(query(x))); query gives queries, keys and values of all heads."""

    query: Affine
    out: Affine
    heads: int


@dataclass(frozen=True)
class Block:
    """keep x + relu(up([d(t), d(t + reach)])) + shift, d = down([x(t - reach), x(t)])."""

    down: Affine
    up: Affine
    shift: Floats
    context: Context | None = None  # behind it


@dataclass(frozen=True)
class Network:
    """Features [frames, 40] to scores [ceil(frames / 4), 40 outputs]."""

    first: Affine  # over the frames -2 to 2
    shift: Floats  # added behind it
    stem: tuple[Block, ...]  # at the rate of the features
    body: tuple[Block, ...]  # at that of the outputs
    output: Affine
    keep: float

    def scores(self, features: Floats) -> Floats:
        """Before softmax. ValueError without a frame."""
        ends = np.concatenate([features[:1], features[:1], features, features[-1:], features[-1:]])
        spliced = np.concatenate([ends[k : k + len(features)] for k in range(TAPS)], 1)
        x = _relu(_affine(spliced, self.first)) + self.shift
        for block in self.stem:
            x = self._through(block, x)
        x = x[::SUBSAMPLING]
        for block in self.body:
            x = self._through(block, x)
        return _affine(x, self.output)

    def _through(self, block: Block, x: Floats) -> Floats:
        down, up = block.down, block.up
        before = np.concatenate([x[:1], x])
        behind = np.concatenate([x, x[-1:]])
        narrow = _affine(np.concatenate([before, behind], 1), down)
        wide = _relu(_affine(np.concatenate([narrow[:-1], narrow[1:]], 1), up))
        y: Floats = self.keep * x + wide + block.shift
        return y if block.context is None else y + _attended(y, block.context)


def _attended(x: Floats, by: Context) -> Floats:
    """[time, channels]: what each moment takes from all others."""
    both = _affine(x, by.query).reshape(len(x), 3, by.heads, -1)
    query, key, value = (both[:, k].transpose(1, 0, 2) for k in range(3))  # [heads, time, width]
    alike = query @ key.transpose(0, 2, 1) / np.sqrt(query.shape[2], dtype=np.float32)
    share = np.exp(alike - alike.max(2, keepdims=True))
    share /= share.sum(2, keepdims=True)
    taken = (share @ value).transpose(1, 0, 2).reshape(len(x), -1)
    return _affine(taken, by.out)


def _affine(x: Floats, by: Affine) -> Floats:
    y: Floats = x @ by.weight.T
    y += by.bias
    return y


def _relu(x: NDArray[np.float32]) -> Floats:
    return np.maximum(x, 0, out=x)
