from dataclasses import replace

import numpy as np
import pytest

from fieldvoice.acoustics.errors import LayoutError
from fieldvoice.acoustics.final_mdl import read_weights, with_weights
from fieldvoice.devices.vosk_recognizer import OWN_MODEL
from fieldvoice.training.network import kaldi_nnet
from fieldvoice.training.network.shape import KEEP, Size

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


def test_what_training_wrote_is_read_back(tmp_path):
    rng, size = np.random.default_rng(6), Size(hidden=48, bottleneck=12, layers=2)
    wide, narrow = 48, 12
    shapes = {"first.weight": (wide, 200), "first.bias": (wide,), "input_norm": 40,
              "first_norm": wide, "output.weight": (40, wide), "output.bias": (40,)}
    for block in ("stem.0", "body.0", "body.1"):
        shapes |= {f"{block}.down.weight": (narrow, 2 * wide), f"{block}.norm": wide,
                   f"{block}.up.weight": (wide, 2 * narrow), f"{block}.up.bias": (wide,)}
    written = kaldi_nnet.build(random_weights(shapes, rng), size)
    kaldi_nnet.write_model(tmp_path / "final.mdl", written, np.full(40, 1 / 40))
    found = read_weights((tmp_path / "final.mdl").read_bytes())
    assert ([b.reach for b in found.blocks], found.keep) == ([1, 4, 4], KEEP)
    affines = [values for _, _, values, _ in written.components if values]
    for mine, (weight, bias) in zip(found.affines(), affines, strict=True):
        assert mine.weight == pytest.approx(weight, abs=0.51 * float(np.ptp(weight)) / 65535)
        assert np.array_equal(mine.bias, bias.astype(np.float32))


def random_weights(shapes, rng):
    found = {name: rng.standard_normal(shape) for name, shape in shapes.items()
             if isinstance(shape, tuple)}
    for name, channels in shapes.items():
        if name not in found:
            found[f"{name}.running_mean"] = rng.standard_normal(channels)
            found[f"{name}.running_var"] = rng.uniform(0.5, 2.0, channels)
    return found


@pytest.mark.parametrize("damaged", [b"", b"\0B<TransitionModel> and nothing else"])
def test_what_is_no_model_of_ours_is_refused(damaged):
    with pytest.raises(LayoutError, match="Fieldvoice's own layout"):
        read_weights(damaged)


def test_a_file_cut_short_is_refused(data):
    with pytest.raises(LayoutError, match="Fieldvoice's own layout"):
        read_weights(data[: len(data) // 2])
