import numpy as np
import pytest

from fieldvoice.acoustics.final_mdl import read_weights
from fieldvoice.acoustics.lexicon import read_lexicon
from fieldvoice.acoustics.mfcc import mfcc
from fieldvoice.devices.soundfile import read_sound
from fieldvoice.devices.vosk_recognizer import OWN_MODEL
from fieldvoice.ownvoice.network import Passage, adapted, identity

needs_model = pytest.mark.skipif(not OWN_MODEL.is_dir(), reason="needs the speech model")


def some_features(frames=23, rows=2):
    return np.random.default_rng(1).standard_normal((rows, frames, 40)).astype(np.float32)


def some_change(weights):
    rng = np.random.default_rng(2)
    return {name: (0.1 * rng.standard_normal(v.shape)).astype(np.float32)
            for name, v in identity(weights).items()}


def test_there_is_an_output_every_fourth_frame(small):
    lengths = [Passage(small, identity(small), some_features(n)).scores.shape[1]
               for n in (1, 4, 5, 23)]
    assert lengths == [1, 1, 2, 6]


def test_an_adaptation_laid_over_the_network_is_the_same_as_folded_into_its_weights(small):
    change, features = some_change(small), some_features()
    laid_over = Passage(small, change, features).scores
    folded = Passage(adapted(small, change), identity(small), features).scores
    assert folded == pytest.approx(laid_over, abs=1e-4)
    assert abs(laid_over - Passage(small, identity(small), features).scores).max() > 0.1


def test_no_adaptation_leaves_the_weights_as_they_are(small):
    unchanged = adapted(small, identity(small))
    for mine, before in zip(unchanged.affines(), small.affines(), strict=True):
        assert np.array_equal(mine.weight, before.weight)
        assert np.array_equal(mine.bias, before.bias)


def test_the_gradient_is_what_small_changes_make(small):
    change, features = some_change(small), some_features()
    passage = Passage(small, change, features)
    way = np.random.default_rng(3).standard_normal(passage.scores.shape).astype(np.float32)
    gradient = passage.back(way)
    assert gradient.keys() == change.keys()
    rng = np.random.default_rng(4)
    for name, value in change.items():
        step = rng.standard_normal(value.shape).astype(np.float32) * 1e-3
        ahead, behind = (
            (Passage(small, {**change, name: value + by * step}, features).scores * way).sum()
            for by in (1, -1))
        assert (ahead - behind) / 2 == pytest.approx((gradient[name] * step).sum(), abs=3e-4), name


@needs_model
def test_the_shipped_network_scores_as_training_has_it():
    torch = pytest.importorskip("torch")
    from fieldvoice.training.network.restore import folded_network

    path = OWN_MODEL / "am" / "final.mdl"
    weights = read_weights(path.read_bytes())
    trained = folded_network(read_weights(path.read_bytes())).eval()
    for module in trained.modules():
        module.eps = 0.0  # the normalizations are folded away: theirs are the identity
    with torch.no_grad():  # its narrow layers have no shift of their own
        for block, mine in zip([*trained.stem, *trained.body], weights.blocks, strict=True):
            mine.down.bias[:] = 0
            assert block.down.bias is None
        features = some_features(61) * 10
        scores = trained(torch.tensor(features)).numpy()
    assert Passage(weights, identity(weights), features).scores == pytest.approx(scores, abs=1e-3)


@needs_model
def test_the_shipped_network_hears_the_phones_that_were_said(demo_line):
    sound, words = demo_line
    weights, lexicon = read_weights((OWN_MODEL / "am" / "final.mdl").read_bytes()), read_lexicon(
        OWN_MODEL)
    scores = Passage(weights, identity(weights), mfcc(sound)[None]).scores[0]
    best = scores.argmax(1)
    heard = [p for p, before in zip(best, [0, *best], strict=False) if p not in (0, before)]
    ways = [lexicon[word] for word in words.split()]
    said = {()}
    for word in ways:
        said = {(*so_far, *phones) for so_far in said for phones in word}
    assert tuple(heard) in said


@pytest.fixture
def demo_line():
    from pathlib import Path

    folder = Path(__file__).resolve().parents[2] / "recordings_demo" / "print-shop"
    return read_sound(folder / "twelve-hundred-microns-1.flac"), "twelve hundred microns"
