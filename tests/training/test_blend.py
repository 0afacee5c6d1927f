"""Blending two models weight by weight."""

import numpy as np
import pytest

from fieldvoice.acoustics.final_mdl import Affine, read_weights, with_weights
from fieldvoice.devices.vosk_recognizer import OWN_MODEL
from fieldvoice.training.network.blend import blended

pytestmark = pytest.mark.skipif(not OWN_MODEL.is_dir(), reason="needs the speech model")


def test_a_blend_lies_between_and_is_written_as_such():
    data = (OWN_MODEL / "am" / "final.mdl").read_bytes()
    one = read_weights(data)
    other = blended(one, one, 0.5)
    doubled = [Affine(2 * a.weight, a.bias + 1) for a in one.affines()]
    two = read_weights(with_weights(data, _with(one, doubled)))
    half = read_weights(with_weights(data, blended(one, two, 0.5)))
    for a, same, b in zip(one.affines(), other.affines(), half.affines(), strict=True):
        assert np.array_equal(a.weight, same.weight)
        assert np.allclose(b.weight, 1.5 * a.weight, atol=2e-4 * np.abs(a.weight).max())
        assert np.allclose(b.bias, a.bias + 0.5, atol=1e-5)


def _with(weights, affines):
    from dataclasses import replace

    first, *inner, output = affines
    blocks = tuple(
        replace(block, down=down, up=up)
        for block, down, up in zip(weights.blocks, inner[::2], inner[1::2], strict=True)
    )
    return replace(weights, first=first, blocks=blocks, output=output)
