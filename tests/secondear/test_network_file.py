import numpy as np
import pytest

from fieldvoice.acoustics.final_mdl import Affine, read_weights
from fieldvoice.devices.recognizer import ModelError
from fieldvoice.devices.vosk_recognizer import OWN_MODEL
from fieldvoice.secondear import network_file
from fieldvoice.secondear.network import Block, Context, Network
from fieldvoice.secondear.network_file import FILE

RNG = np.random.default_rng(4)
FEATURES = RNG.standard_normal((30, 40)).astype(np.float32)


def numbers(*shape):
    return RNG.standard_normal(shape).astype(np.float32) / np.float32(np.sqrt(shape[-1]))


def affine(rows, columns, uneven=1.0):
    weight = numbers(rows, columns)
    weight[:, 0] *= uneven
    return Affine(weight, numbers(rows))


def block(context=False):
    attended = Context(affine(12, 8), affine(8, 4), heads=2) if context else None
    return Block(affine(3, 16), affine(8, 6), numbers(8), attended)


def small(uneven=1.0):
    return Network(affine(8, 200, uneven), numbers(8), (block(),), (block(), block(True)),
                   affine(5, 8), 0.66)


def kept(tmp_path, network):
    file = tmp_path / "network.npz"
    file.write_bytes(network_file.to_bytes(network))
    return network_file.read(file)


@pytest.mark.parametrize("uneven", [1.0, 300.0])
def test_a_network_comes_back_but_for_half_a_step(tmp_path, uneven):
    network = small(uneven)
    found = kept(tmp_path, network)
    pairs = zip(network_file.affines(network), network_file.affines(found), strict=True)
    for (name, old), (same, new) in pairs:
        assert same == name
        step = network_file.FINENESS * old.weight.std(1, keepdims=True)
        assert (abs(old.weight - new.weight) <= 0.501 * step).all()
        assert (old.bias == new.bias).all()
    assert found.keep == pytest.approx(0.66)
    assert (found.body[1].shift == network.body[1].shift).all()
    assert found.body[1].context.heads == 2
    assert found.body[0].context is None


def test_the_scores_of_the_file_are_nearly_those_of_the_network(tmp_path):
    network = small()
    whole, packed = network.scores(FEATURES), kept(tmp_path, network).scores(FEATURES)
    assert whole.shape == (8, 5)
    assert np.corrcoef(whole.ravel(), packed.ravel())[0, 1] > 0.99
    assert not np.array_equal(whole, packed)


def test_attention_lets_each_moment_see_all_of_the_sound():
    changed = FEATURES.copy()
    changed[-1] += 5.0
    network = small()
    near = Network(network.first, network.shift, network.stem, (block(), block()),
                   network.output, network.keep)
    assert np.array_equal(near.scores(FEATURES)[0], near.scores(changed)[0])
    assert not np.allclose(network.scores(FEATURES)[0], network.scores(changed)[0])


def test_the_shipped_one_gives_the_outputs_of_the_first_network():
    first = read_weights((OWN_MODEL / "am" / "final.mdl").read_bytes())
    second = network_file.read(OWN_MODEL / FILE)
    assert second.scores(FEATURES).shape == (8, len(first.output.bias))


@pytest.mark.parametrize("spoil", [
    lambda data: b"", lambda data: data[: len(data) // 2], lambda data: b"PK" + data[2:900],
    lambda data: data.replace(b"keep", b"kept"), lambda data: b"not a zip at all",
    lambda data: data.replace(b"body.0.up", b"body.0.op")])
def test_a_damaged_file_is_named(tmp_path, spoil):
    file = tmp_path / "network.npz"
    file.write_bytes(spoil(network_file.to_bytes(small())))
    with pytest.raises(ModelError, match=r"network\.npz is damaged; copy the model folder again"):
        network_file.read(file)


def test_a_file_that_is_cut_off_is_seen_at_a_glance(tmp_path):
    file = tmp_path / "network.npz"
    file.write_bytes(network_file.to_bytes(small()))
    network_file.check(file)
    file.write_bytes(file.read_bytes()[:-40])
    with pytest.raises(ModelError, match="is damaged"):
        network_file.check(file)


def test_layers_that_do_not_fit_together_are_no_network(tmp_path):
    network = small()
    other = Network(network.first, network.shift, network.stem, network.body, affine(5, 9), 0.66)
    with pytest.raises(ModelError, match="is damaged"):
        kept(tmp_path, other)


def test_a_file_that_is_not_there_is_named(tmp_path):
    with pytest.raises(ModelError, match="is damaged"):
        network_file.read(tmp_path / "network.npz")
