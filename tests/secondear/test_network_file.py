import numpy as np
import pytest

from fieldvoice.devices.vosk_recognizer import OWN_MODEL
from fieldvoice.ownvoice.errors import VoiceError
from fieldvoice.ownvoice.final_mdl import Affine, Block, Weights, read_weights
from fieldvoice.secondear import network_file
from fieldvoice.secondear.second_ear import FILE

RNG = np.random.default_rng(4)


def affine(rows, columns, uneven=1.0):
    weight = RNG.standard_normal((rows, columns)).astype(np.float32)
    weight[:, 0] *= uneven
    return Affine(weight, RNG.standard_normal(rows).astype(np.float32))


def small(uneven=1.0):
    block = Block(affine(3, 16), affine(8, 6), 4)
    return Weights(affine(8, 200, uneven), (block, block), affine(5, 8), 0.66)


@pytest.mark.parametrize("uneven", [1.0, 300.0])
def test_a_network_comes_back_but_for_half_a_step(tmp_path, uneven):
    weights = small(uneven)
    file = tmp_path / "network.npz"
    file.write_bytes(network_file.to_bytes(weights))
    found = network_file.read(file)
    assert [b.reach for b in found.blocks] == [4, 4]
    assert found.keep == pytest.approx(0.66)
    for old, new in zip(weights.affines(), found.affines(), strict=True):
        step = network_file.FINENESS * old.weight.std(1, keepdims=True)
        assert (abs(old.weight - new.weight) <= 0.501 * step).all()
        assert (old.bias == new.bias).all()


def test_the_shipped_one_has_the_shape_of_the_first_network():
    first = read_weights((OWN_MODEL / "am" / "final.mdl").read_bytes())
    second = network_file.read(OWN_MODEL / FILE)
    shapes = [[a.weight.shape for a in weights.affines()] for weights in (first, second)]
    assert shapes[0] == shapes[1]
    assert [b.reach for b in first.blocks] == [b.reach for b in second.blocks]


@pytest.mark.parametrize("spoil", [
    lambda data: b"", lambda data: data[: len(data) // 2], lambda data: b"PK" + data[2:900],
    lambda data: data.replace(b"keep", b"kept"), lambda data: b"not a zip at all"])
def test_a_damaged_file_is_named(tmp_path, spoil):
    file = tmp_path / "network.npz"
    file.write_bytes(spoil(network_file.to_bytes(small())))
    with pytest.raises(VoiceError, match=r"network\.npz is damaged; copy the model folder again"):
        network_file.read(file)


def test_a_file_that_is_not_there_is_named(tmp_path):
    with pytest.raises(VoiceError, match="is damaged"):
        network_file.read(tmp_path / "network.npz")
