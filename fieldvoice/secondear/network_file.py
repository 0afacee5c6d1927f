"""The second network as a small file: small whole numbers, with a step for each row of a matrix.

numpy's .npz: for each affine layer in order N.steps (whole [out, in]), N.step (float32 [out]) and
N.bias (float32 [out]); the blocks' reach in frames of 10 ms; the share that a block keeps.
"""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import numpy as np

from fieldvoice.ownvoice.errors import VoiceError
from fieldvoice.ownvoice.final_mdl import Affine, Block, Weights, fits_together

FINENESS = 0.06  # a step, of a row's standard deviation: what is finer changes nothing heard
MOST_SMALL = 127  # steps that 8 bits hold; a matrix of uneven columns takes 16


def to_bytes(weights: Weights) -> bytes:
    """The file."""
    told = {"reach": np.array([b.reach for b in weights.blocks], np.int32),
            "keep": np.array(weights.keep, np.float32)}
    for n, affine in enumerate(weights.affines()):
        step = np.maximum(FINENESS * affine.weight.std(1), 1e-12).astype(np.float32)
        steps = np.round(affine.weight / step[:, None])
        told[f"{n}.steps"] = steps.astype(np.int8 if abs(steps).max() <= MOST_SMALL else np.int16)
        told[f"{n}.step"], told[f"{n}.bias"] = step, affine.bias.astype(np.float32)
    file = io.BytesIO()
    np.savez_compressed(file, **told)  # type: ignore[arg-type]  # numpy's stubs: allow_pickle
    return file.getvalue()


def read(path: Path) -> Weights:
    """The network. Raises VoiceError for a file that is damaged or of another layout."""
    try:
        with np.load(io.BytesIO(path.read_bytes()), allow_pickle=False) as held:
            affines = [Affine(held[f"{n}.steps"] * held[f"{n}.step"][:, None], held[f"{n}.bias"])
                       for n in range(2 * len(held["reach"]) + 2)]
            reach, keep = held["reach"].tolist(), float(held["keep"])
    except (OSError, ValueError, KeyError, TypeError, EOFError, zipfile.BadZipFile):
        raise VoiceError(f"{path} is damaged; copy the model folder again") from None
    inner = affines[1:-1]
    blocks = tuple(map(Block, inner[::2], inner[1::2], reach))
    weights = Weights(affines[0], blocks, affines[-1], keep)
    if not blocks or not fits_together(weights):
        raise VoiceError(f"{path} is damaged; copy the model folder again")
    return weights

