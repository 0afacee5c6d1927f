"""The second network as a small file: small whole numbers, with a step for each row of a matrix.

numpy's .npz: of each affine layer NAME.steps (whole [out, in]), NAME.step (float32 [out]) and
NAME.bias (float32 [out]); NAME.shift of what is added behind a layer. NAME is first, output, or
stem.N or body.N with .down, .up, .query, .out. And keep, and the number of heads.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator, Mapping
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldvoice.acoustics.final_mdl import Affine
from fieldvoice.devices.recognizer import ModelError
from fieldvoice.secondear.network import TAPS, Block, Context, Network

FILE = Path("second", "network.npz")  # in a model folder
FINENESS = 0.09  # a step, of a row's standard deviation: what is finer changes nothing heard
MOST_SMALL = 127  # steps that 8 bits hold; a matrix of uneven columns takes 16

Held = Mapping[str, NDArray[np.generic]]


def to_bytes(network: Network) -> bytes:
    """The file."""
    told: dict[str, NDArray[np.generic]] = {"keep": np.array(network.keep, np.float32)}
    contexts = [c for block in network.body if (c := block.context)]
    told["heads"] = np.array(contexts[0].heads if contexts else 0, np.int32)
    told["first.shift"] = network.shift
    for name, block in _blocks(network):
        told[f"{name}.shift"] = block.shift
    for name, affine in affines(network):
        step = np.maximum(FINENESS * affine.weight.std(1), 1e-12).astype(np.float32)
        steps = np.round(affine.weight / step[:, None])
        small = np.abs(steps).max() <= MOST_SMALL
        told[f"{name}.steps"] = steps.astype(np.int8 if small else np.int16)
        told[f"{name}.step"], told[f"{name}.bias"] = step, affine.bias.astype(np.float32)
    file = io.BytesIO()
    np.savez_compressed(file, **told)  # type: ignore[arg-type]  # numpy's stubs: allow_pickle
    return file.getvalue()


def read(path: Path) -> Network:
    """The network. Raises ModelError for a file that is damaged or of another layout."""
    try:
        with np.load(io.BytesIO(path.read_bytes()), allow_pickle=False) as held:
            network = _network({name: held[name] for name in held.files})
        network.scores(np.zeros((TAPS, network.first.weight.shape[1] // TAPS), np.float32))
    except (OSError, ValueError, KeyError, TypeError, IndexError, EOFError, zipfile.BadZipFile):
        raise ModelError(f"{path} is damaged; copy the model folder again") from None
    return network


def check(path: Path) -> None:
    """At a glance, before a microphone is opened. Raises ModelError for a file that is cut off."""
    if not zipfile.is_zipfile(path):
        raise ModelError(f"{path} is damaged; copy the model folder again")


def affines(network: Network) -> Iterator[tuple[str, Affine]]:
    """All of them with their names."""
    yield "first", network.first
    for name, block in _blocks(network):
        yield f"{name}.down", block.down
        yield f"{name}.up", block.up
        if block.context:
            yield f"{name}.query", block.context.query
            yield f"{name}.out", block.context.out
    yield "output", network.output


def _blocks(network: Network) -> Iterator[tuple[str, Block]]:
    for part, blocks in (("stem", network.stem), ("body", network.body)):
        for n, block in enumerate(blocks):
            yield f"{part}.{n}", block


def _network(held: Held) -> Network:
    stem, body = (_part(held, part) for part in ("stem", "body"))
    return Network(_affine(held, "first"), _floats(held["first.shift"]), stem, body,
                   _affine(held, "output"), float(_floats(held["keep"])))


def _part(held: Held, part: str) -> tuple[Block, ...]:
    count = sum(name.startswith(f"{part}.") and name.endswith(".shift") for name in held)
    return tuple(_block(held, f"{part}.{n}") for n in range(count))


def _block(held: Held, name: str) -> Block:
    context = None
    if f"{name}.query.steps" in held:
        query, out = _affine(held, f"{name}.query"), _affine(held, f"{name}.out")
        context = Context(query, out, int(_floats(held["heads"])))
    down, up = _affine(held, f"{name}.down"), _affine(held, f"{name}.up")
    return Block(down, up, _floats(held[f"{name}.shift"]), context)


def _affine(held: Held, name: str) -> Affine:
    weight = _floats(held[f"{name}.steps"]) * _floats(held[f"{name}.step"])[:, None]
    return Affine(weight, _floats(held[f"{name}.bias"]))


def _floats(numbers: NDArray[np.generic]) -> NDArray[np.float32]:
    if numbers.dtype.kind not in "if":
        raise ValueError("no numbers")
    return numbers.astype(np.float32)
