from dataclasses import replace

import numpy as np
import pytest

from fieldvoice.devices.vosk_recognizer import OWN_MODEL
from fieldvoice.ownvoice.errors import VoiceError
from fieldvoice.ownvoice.final_mdl import read_weights, with_weights

pytestmark = pytest.mark.skipif(not OWN_MODEL.is_dir(), reason="needs the speech model")


@pytest.fixture(scope="module")
def data() -> bytes:
    return (OWN_MODEL / "am" / "final.mdl").read_bytes()


def test_the_same_weights_make_the_same_file(data):
    assert with_weights(data, read_weights(data)) == data


def test_other_weights_are_read_back_within_a_step_of_sixteen_bits(data):
    weights = read_weights(data)
    first = replace(weights.first, weight=weights.first.weight * 1.5, bias=weights.first.bias + 1)
    again = read_weights(with_weights(data, replace(weights, first=first)))
    step = float(np.ptp(first.weight)) / 65535
    assert again.first.weight == pytest.approx(first.weight, abs=step)
    assert np.array_equal(again.first.bias, first.bias)
    assert np.array_equal(again.output.weight, weights.output.weight)


def test_a_changed_file_has_as_many_bytes_and_the_same_before_the_first_number(data):
    weights = read_weights(data)
    first = replace(weights.first, bias=weights.first.bias + 1)
    changed = with_weights(data, replace(weights, first=first))
    begin = data.index(b"<LinearParams>")
    assert len(changed) == len(data)
    assert changed[:begin] == data[:begin]
    assert changed != data


def test_the_weights_agree_with_those_that_training_goes_on_from(data):
    pytest.importorskip("torch")
    from fieldvoice.training.network.restore import affine_parts

    parts = affine_parts(OWN_MODEL / "am" / "final.mdl")
    for mine, (weight, bias) in zip(read_weights(data).affines(), parts, strict=True):
        assert np.array_equal(mine.weight, weight.numpy())
        assert np.array_equal(mine.bias, bias.numpy())


@pytest.mark.parametrize("damaged", [b"", b"\0B<TransitionModel> and nothing else"])
def test_what_is_no_model_of_ours_is_refused(damaged):
    with pytest.raises(VoiceError, match="Fieldvoice's own layout"):
        read_weights(damaged)


def test_a_file_cut_short_is_refused(data):
    with pytest.raises(VoiceError, match="Fieldvoice's own layout"):
        read_weights(data[: len(data) // 2])
