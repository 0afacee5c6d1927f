"""The network in a model's final.mdl: weights read from the file, and others put in their place.

Only the layout of Fieldvoice's own models is known: affine layers with matrices of 16 bits (Kaldi's
CM2), a first one over five frames, pairs of a narrow and a wide one, and the output. A changed
network has as many bytes: new numbers are written where the old ones stood.
"""

from __future__ import annotations

import re
import struct
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fieldvoice.acoustics.errors import LayoutError

Floats = NDArray[np.float32]

_MATRIX, _VECTOR = b"<LinearParams> CM2 ", b"<BiasParams> FV \x04"
_STEPS = 65535
_NODE = re.compile(rb"component-node name=([\w.]+) component=\S+ input=(.*)")
_OFFSET = re.compile(rb"Offset\([\w.]+, (-?\d+)\)")
_KEEP = re.compile(rb"Sum\(Scale\(([\d.]+), ")


@dataclass(frozen=True)
class Affine:
    """Weight [out, in] and bias [out]."""

    weight: Floats
    bias: Floats


@dataclass(frozen=True)
class Block:
    """A residual layer: KEEP x + relu(up([d(t), d(t + reach)])), d = down([x(t - reach), x(t)])."""

    down: Affine
    up: Affine
    reach: int  # frames of 10 ms


@dataclass(frozen=True)
class Weights:
    """The whole network."""

    first: Affine  # over the frames -2 to 2
    blocks: tuple[Block, ...]
    output: Affine
    keep: float  # share of a block's input that is added to its output

    @property
    def hidden(self) -> int:
        """Channels between the blocks."""
        return len(self.first.bias)

    def affines(self) -> list[Affine]:
        """All of them as they stand in the file."""
        inner = [a for block in self.blocks for a in (block.down, block.up)]
        return [self.first, *inner, self.output]


def read_weights(data: bytes) -> Weights:
    """The network of a final.mdl. Raises LayoutError for one of another layout."""
    affines = [_affine(data, at) for at in _places(data)]
    nodes = {m[1].decode(): m[2] for m in _NODE.finditer(data)}
    keep = _KEEP.search(data)
    downs = [source for name, source in nodes.items() if name.endswith(".down")]
    if keep is None or len(affines) != 2 * len(downs) + 2 or not downs:
        raise _other_layout()
    reaches = [max(abs(int(o)) for o in _OFFSET.findall(source)) for source in downs]
    inner = affines[1:-1]
    blocks = tuple(map(Block, inner[::2], inner[1::2], reaches))
    weights = Weights(affines[0], blocks, affines[-1], float(keep[1]))
    if not fits_together(weights):
        raise _other_layout()
    return weights


def with_weights(data: bytes, weights: Weights) -> bytes:
    """The file with another network of the same shape in it."""
    changed = bytearray(data)
    for at, affine in zip(_places(data), weights.affines(), strict=True):
        matrix = _packed(affine.weight)
        bias = affine.bias.astype("<f4").tobytes()
        start = at + len(matrix) + len(_VECTOR) + 4
        changed[at : at + len(matrix)] = matrix
        changed[start : start + len(bias)] = bias
    return bytes(changed)


def _places(data: bytes) -> list[int]:
    """Where the numbers of each affine begin."""
    return [m.end() for m in re.finditer(re.escape(_MATRIX), data)]


def _affine(data: bytes, at: int) -> Affine:
    try:
        low, span, rows, columns = struct.unpack_from("<ffii", data, at)
        steps = np.frombuffer(data, "<u2", rows * columns, at + 16).reshape(rows, columns)
        at += 16 + 2 * rows * columns
        (size,) = struct.unpack_from("<i", data, at + len(_VECTOR))
        if not data.startswith(_VECTOR, at) or size != rows:
            raise _other_layout()
        bias = np.frombuffer(data, "<f4", size, at + len(_VECTOR) + 4)
    except (struct.error, ValueError):
        raise _other_layout() from None
    weight = low + steps.astype(np.float64) * (span / _STEPS)
    return Affine(weight.astype(np.float32), bias.astype(np.float32))


def _packed(weight: Floats) -> bytes:
    """Kaldi's compressed matrix CM2: 16 bits a number, evenly spaced."""
    low, high = float(weight.min()), float(weight.max())
    span = high - low or 1.0
    steps = np.round((weight.astype(np.float64) - low) * (_STEPS / span)).astype("<u2")
    return struct.pack("<ffii", low, span, *weight.shape) + steps.tobytes()


def fits_together(weights: Weights) -> bool:
    """Whether each matrix takes what the one before it gives."""
    hidden, bottleneck = weights.hidden, len(weights.blocks[0].down.bias)
    fits = weights.first.weight.shape[1] == 200 and weights.output.weight.shape[1] == hidden
    for block in weights.blocks:
        fits &= block.down.weight.shape == (bottleneck, 2 * hidden)
        fits &= block.up.weight.shape == (hidden, 2 * bottleneck)
    rising = all(a.reach <= b.reach for a, b in pairwise(weights.blocks))
    return fits and rising


def _other_layout() -> LayoutError:
    return LayoutError("this speech model is not one of Fieldvoice's own layout, so it cannot be "
                       "fitted to a voice; leave out --model")
