"""The network forward and backward, with what is adapted to a speaker laid over it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fieldvoice.acoustics.final_mdl import Affine, Block, Floats, Weights

SUBSAMPLING = 4  # frames of 10 ms for an output
CEPSTRA, TAPS = 40, 5

Adaptation = dict[str, Floats]  # by name; all zeros change nothing


def identity(weights: Weights) -> Adaptation:
    """The adaptation that changes nothing.

    input.turn, input.shift: an affine transform of the features. N.narrow, N.narrow-shift: scale
    (its logarithm) and shift of each channel of block N's narrow layer, N.wide and N.wide-shift of
    its wide one; block 0 is the first layer. output.turn, output.shift: of the scores.
    """
    hidden, outputs = weights.hidden, len(weights.output.bias)
    found = {"input.turn": np.zeros((CEPSTRA, CEPSTRA), np.float32),
             "input.shift": np.zeros(CEPSTRA, np.float32)}
    for n in range(len(weights.blocks) + 1):
        widths = {"wide": hidden}
        if n:
            widths["narrow"] = len(weights.blocks[n - 1].down.bias)
        for name, width in widths.items():
            found[f"{n}.{name}"] = np.zeros(width, np.float32)
            found[f"{n}.{name}-shift"] = np.zeros(width, np.float32)
    found["output.shift"] = np.zeros(outputs, np.float32)
    return found


def adapted(weights: Weights, by: Adaptation) -> Weights:
    """The network with an adaptation folded into its weights."""
    turn = np.eye(CEPSTRA, dtype=np.float32) + by["input.turn"]
    spliced = weights.first.weight.reshape(-1, TAPS, CEPSTRA)
    shift = (spliced @ by["input.shift"]).sum(1)
    first = Affine((spliced @ turn.T).reshape(len(spliced), -1), weights.first.bias + shift)
    first = _scaled(first, by["0.wide"], by["0.wide-shift"])
    blocks = tuple(
        Block(_scaled(block.down, by[f"{n}.narrow"], by[f"{n}.narrow-shift"], after=True),
              _scaled(block.up, by[f"{n}.wide"], by[f"{n}.wide-shift"]), block.reach)
        for n, block in enumerate(weights.blocks, 1)
    )  # fmt: skip
    output = replace(weights.output, bias=weights.output.bias + by["output.shift"])
    return Weights(first, blocks, output, weights.keep)


def _scaled(affine: Affine, scale: Floats, shift: Floats, after: bool = False) -> Affine:
    """exp(scale) (a + shift); `after`: exp(scale) a + shift."""
    by = np.exp(scale)
    bias = by * affine.bias + shift if after else by * (affine.bias + shift)
    return Affine(affine.weight * by[:, None], bias)


@dataclass
class _Passed:
    """What the way back needs of a block."""

    narrow: Floats  # [rows, time + 2 gaps..., narrow] before scale and shift
    wide: Floats  # after relu, before the scale


class Passage:
    """One way forward through the adapted network, and back."""

    def __init__(self, weights: Weights, by: Adaptation, features: Floats) -> None:
        """`features` [rows, frames, 40]; the rows' `scores` are [rows, ceil(frames / 4), 41]."""
        self._w, self._by, self._features = weights, by, features
        self._passed: list[_Passed] = []
        x = self._first(features)
        self._full = x.shape[1]
        for n, block in enumerate(weights.blocks, 1):
            if block.reach > 1 and x.shape[1] == self._full and self._full > 1:
                x = np.ascontiguousarray(x[:, ::SUBSAMPLING])
            x = self._block(n, block, x)
        self._last = x
        self.scores: Floats = _times(x, weights.output.weight.T) + (
            weights.output.bias + by["output.shift"])

    def _first(self, features: Floats) -> Floats:
        turned = features + _times(features, self._by["input.turn"]) + self._by["input.shift"]
        ends = np.concatenate([turned[:, :1], turned[:, :1], turned,
                               turned[:, -1:], turned[:, -1:]], 1)
        length = features.shape[1]
        spliced = np.concatenate([ends[:, k : k + length] for k in range(TAPS)], 2)
        z = _times(spliced, self._w.first.weight.T)
        z += self._w.first.bias + self._by["0.wide-shift"]
        wide = np.maximum(z, 0, out=z)
        self._passed.append(_Passed(spliced, wide))
        scaled: Floats = wide * np.exp(self._by["0.wide"])
        return scaled

    def _block(self, n: int, block: Block, x: Floats) -> Floats:
        hidden, width = self._w.hidden, len(block.down.bias)
        both = np.concatenate([block.down.weight[:, :hidden], block.down.weight[:, hidden:]])
        taps = _times(x, both.T)
        earlier, here = taps[..., :width], taps[..., width:]
        narrow = np.concatenate([earlier[:, :1], earlier], 1)
        narrow += np.concatenate([here, here[:, -1:]], 1)
        narrow += block.down.bias
        scaled = narrow * np.exp(self._by[f"{n}.narrow"]) + self._by[f"{n}.narrow-shift"]
        z = _times(np.concatenate([scaled[:, :-1], scaled[:, 1:]], 2), block.up.weight.T)
        z += block.up.bias + self._by[f"{n}.wide-shift"]
        wide = np.maximum(z, 0, out=z)
        self._passed.append(_Passed(narrow, wide))
        y: Floats = self._w.keep * x + wide * np.exp(self._by[f"{n}.wide"])
        return y

    def back(self, gradient: Floats) -> Adaptation:
        """The gradient by the adaptation from that by the scores."""
        found: Adaptation = {"output.shift": gradient.sum((0, 1))}
        dx = _times(gradient, self._w.output.weight)
        for n in range(len(self._w.blocks), 0, -1):
            dx = self._block_back(n, self._w.blocks[n - 1], dx, found)
            if dx.shape[1] != self._full and self._passed[n - 1].wide.shape[1] == self._full:
                whole = np.zeros((len(dx), self._full, dx.shape[2]), np.float32)
                whole[:, ::SUBSAMPLING] = dx
                dx = whole
        self._first_back(dx, found)
        return found

    def _wide_back(self, n: int, dy: Floats, found: Adaptation) -> Floats:
        """Through scale and relu."""
        wide = self._passed[n].wide
        scaled = dy * np.exp(self._by[f"{n}.wide"])
        found[f"{n}.wide"] = np.einsum("btc,btc->c", scaled, wide)
        dz: Floats = scaled * (wide > 0)
        found[f"{n}.wide-shift"] = dz.sum((0, 1))
        return dz

    def _block_back(self, n: int, block: Block, dy: Floats, found: Adaptation) -> Floats:
        hidden, width = self._w.hidden, len(block.down.bias)
        dz = self._wide_back(n, dy, found)
        pair = _times(dz, block.up.weight)
        scaled = np.zeros((len(dz), dz.shape[1] + 1, width), np.float32)
        scaled[:, :-1] = pair[..., :width]
        scaled[:, 1:] += pair[..., width:]
        by = np.exp(self._by[f"{n}.narrow"])
        found[f"{n}.narrow"] = by * np.einsum("btc,btc->c", scaled, self._passed[n].narrow)
        found[f"{n}.narrow-shift"] = scaled.sum((0, 1))
        narrow = scaled * by
        taps = np.concatenate([narrow[:, 1:], narrow[:, :-1]], 2)
        taps[:, 0, :width] += narrow[:, 0]
        taps[:, -1, width:] += narrow[:, -1]
        both = np.concatenate([block.down.weight[:, :hidden], block.down.weight[:, hidden:]])
        return self._w.keep * dy + _times(taps, both)

    def _first_back(self, dy: Floats, found: Adaptation) -> None:
        dz = self._wide_back(0, dy, found)
        spliced = _times(dz, self._w.first.weight)
        length = dz.shape[1]
        ends = np.zeros((len(dz), length + TAPS - 1, CEPSTRA), np.float32)
        for k in range(TAPS):
            ends[:, k : k + length] += spliced[..., k * CEPSTRA : (k + 1) * CEPSTRA]
        turned = ends[:, 2:-2]
        turned[:, 0] += ends[:, :2].sum(1)
        turned[:, -1] += ends[:, -2:].sum(1)
        found["input.shift"] = turned.sum((0, 1))
        flat = self._features.reshape(-1, CEPSTRA)
        found["input.turn"] = flat.T @ np.ascontiguousarray(turned).reshape(-1, CEPSTRA)


def _times(x: Floats, matrix: NDArray[np.float32]) -> Floats:
    """[rows, time, a] by [a, b]."""
    rows, time, channels = x.shape
    product: Floats = x.reshape(rows * time, channels) @ matrix
    return product.reshape(rows, time, -1)
