"""Sound files: any rate and number of channels becomes the same 16 kHz mono sound."""

import wave
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from fieldvoice.devices.soundfile import (
    RATE,
    SoundFileError,
    read_sound,
    resample,
    to_int16,
)
from support.wav_file import write_wav

RATES = [8_000, 11_025, 16_000, 22_050, 24_000, 32_000, 44_100, 48_000, 96_000]


def tone(hertz: float, rate: int, seconds: float = 0.5, level: float = 0.5) -> NDArray[np.float64]:
    return level * np.sin(2 * np.pi * hertz * np.arange(int(rate * seconds)) / rate)


def write(path: Path, samples: NDArray[np.float64], rate: int, width: int = 2) -> Path:
    """`samples` (frames, channels) in -1..1 as a PCM file of `width` bytes a sample."""
    whole = np.rint(samples * (2 ** (8 * width - 1) - 1)).astype("<i4")
    raw = whole.reshape(-1, 1).view(np.uint8)[:, :width].tobytes()
    with wave.open(str(path), "wb") as out:
        out.setparams((samples.shape[1], width, rate, 0, "NONE", ""))
        out.writeframes(raw)
    return path


def level_db(samples: NDArray[np.float64]) -> float:
    middle = samples[len(samples) // 4 : -len(samples) // 4]
    return float(20 * np.log10(np.sqrt(2 * np.mean(middle**2)) + 1e-12))


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("hertz", [100, 1_000, 3_400])
def test_a_tone_keeps_its_phase_and_level_at_every_rate(rate: int, hertz: float) -> None:
    heard = resample(tone(hertz, rate), rate, RATE)
    expected = tone(hertz, RATE)
    assert abs(len(heard) - len(expected)) <= 1
    middle = slice(RATE // 8, 3 * RATE // 8)
    assert np.max(np.abs(heard[middle] - expected[middle])) < 5e-4  # 60 dB below the tone


@pytest.mark.parametrize("rate", [22_050, 44_100, 48_000])
@pytest.mark.parametrize("hertz", [8_300, 10_000])
def test_what_16_khz_cannot_carry_is_removed_and_not_folded_back(rate: int, hertz: float) -> None:
    # Nyquist (Shannon 1949): above 8 kHz nothing may remain, at whatever frequency it folds to.
    assert level_db(resample(tone(hertz, rate), rate, RATE)) < -75


@pytest.mark.parametrize("rate", [44_100, 48_000])
def test_speech_up_to_7_khz_passes_unchanged(rate: int) -> None:
    assert level_db(resample(tone(7_000, rate), rate, RATE)) == pytest.approx(-6.02, abs=0.05)


@pytest.mark.parametrize("rate", [1, 7, 12_347, 192_000])
def test_odd_rates_keep_the_duration(rate: int) -> None:
    assert len(resample(np.zeros(rate), rate, RATE)) == RATE


@pytest.mark.parametrize("rate", [0, -8_000])
def test_a_rate_that_is_none_is_refused(rate: int) -> None:
    with pytest.raises(ValueError, match="over 0"):
        resample(np.zeros(4), rate, RATE)


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("channels", [1, 2, 6])
def test_a_wav_of_any_rate_and_channels_is_read(tmp_path: Path, rate: int, channels: int) -> None:
    samples = np.repeat(tone(440, rate)[:, None], channels, axis=1)
    heard = read_sound(write(tmp_path / "a.wav", samples, rate))
    assert heard.dtype == np.int16
    middle = slice(RATE // 8, 3 * RATE // 8)
    error = heard[middle] / 32768.0 - tone(440, RATE)[middle]
    assert np.max(np.abs(error)) < 1e-3


@pytest.mark.parametrize("width", [2, 3, 4])
def test_a_wav_of_any_width_is_read(tmp_path: Path, width: int) -> None:
    heard = read_sound(write(tmp_path / "a.wav", tone(440, RATE)[:, None], RATE, width))
    assert np.max(np.abs(heard / 32768.0 - tone(440, RATE))) < 1e-3


def test_channels_are_averaged(tmp_path: Path) -> None:
    both = np.stack([tone(440, RATE), -tone(440, RATE)], axis=1)
    assert np.max(np.abs(read_sound(write(tmp_path / "a.wav", both, RATE)))) <= 1


def test_a_flac_file_equals_the_wav_it_was_made_from(tmp_path: Path) -> None:
    soundfile = pytest.importorskip("soundfile", reason="writes the FLAC file of this check")
    pcm = to_int16(tone(440, RATE))
    soundfile.write(tmp_path / "a.flac", pcm, RATE)
    np.testing.assert_array_equal(read_sound(tmp_path / "a.flac"), pcm)


def test_what_is_written_is_read_back_exactly(tmp_path: Path) -> None:
    pcm = np.array([0, 1, -1, 32767, -32768, 1234], dtype=np.int16)
    write_wav(tmp_path / "a.wav", pcm)
    np.testing.assert_array_equal(read_sound(tmp_path / "a.wav"), pcm)


def test_loud_samples_are_clipped_and_not_wrapped() -> None:
    assert to_int16(np.array([1.5, -1.5, 0.0])).tolist() == [32767, -32768, 0]


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "empty"),
        (b"RIFF", "not sound"),
        (b"hello, this is text" * 20, "not sound"),
        (b"fLaC" + b"\0" * 100, "not sound"),
    ],
)
def test_a_file_that_is_not_sound_is_refused(tmp_path: Path, data: bytes, why: str) -> None:
    (tmp_path / "a.wav").write_bytes(data)
    with pytest.raises(SoundFileError, match=f"a.wav.*{why}"):
        read_sound(tmp_path / "a.wav")


def test_a_wav_without_samples_is_refused(tmp_path: Path) -> None:
    with pytest.raises(SoundFileError, match="holds no sound"):
        read_sound(write(tmp_path / "a.wav", np.zeros((0, 1)), RATE))


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    with pytest.raises(SoundFileError, match="No such file"):
        read_sound(tmp_path / "none.wav")
    with pytest.raises(SoundFileError, match="cannot read"):
        read_sound(tmp_path)
