import numpy as np
import pytest

from fieldvoice.acoustics.mfcc import mfcc

RNG = np.random.default_rng(3)
NOISE = (RNG.standard_normal(16_000) * 800).astype(np.int16)


def test_frames_are_counted_as_kaldi_does():
    assert [len(mfcc(NOISE[:n])) for n in (0, 399, 400, 559, 560, 16_000)] == [0, 0, 1, 1, 2, 98]


def test_a_tone_is_what_kaldi_makes_of_it():
    """Against values that kaldi-native-fbank 1.23 gave for a kilohertz, dither off."""
    tone = (8000 * np.sin(2 * np.pi * 1000 * np.arange(16_000) / 16_000)).astype(np.int16)
    found = mfcc(tone)[50]
    kaldi = [49.62158, 50.54061, -65.728516, -110.79212, -30.075054, 40.5929]
    assert found[:6] == pytest.approx(kaldi, abs=0.02)


def test_digital_silence_is_floored():
    assert np.isfinite(mfcc(np.zeros(800, np.int16))).all()


def test_features_agree_with_those_of_training():
    torch = pytest.importorskip("torch")
    from fieldvoice.training.network.features import Mfcc

    trained_on = Mfcc()(torch.tensor(NOISE[None].astype(np.float32)))[0].numpy()
    assert mfcc(NOISE) == pytest.approx(trained_on, abs=0.01)


def test_a_shorter_vocal_tract_agrees_too():
    torch = pytest.importorskip("torch")
    from fieldvoice.training.network.features import Mfcc

    trained_on = Mfcc((1.1,))(torch.tensor(NOISE[None].astype(np.float32)))[0].numpy()
    assert mfcc(NOISE, 1.1) == pytest.approx(trained_on, abs=0.01)
