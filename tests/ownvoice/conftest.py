"""A network so small that its gradient can be checked number by number."""

import numpy as np
import pytest

from fieldvoice.acoustics.final_mdl import Affine, Block, Weights


def _affine(rng, outputs, inputs):
    weight = rng.standard_normal((outputs, inputs)) / np.sqrt(inputs)
    return Affine(weight.astype(np.float32), rng.standard_normal(outputs).astype(np.float32))


@pytest.fixture
def small() -> Weights:
    """12 channels, narrow layers of 5, one block at 10 ms and two at 40 ms, 6 outputs."""
    rng = np.random.default_rng(7)
    blocks = tuple(Block(_affine(rng, 5, 24), _affine(rng, 12, 10), n) for n in (1, 4, 4))
    return Weights(_affine(rng, 12, 200), blocks, _affine(rng, 6, 12), 0.66)
