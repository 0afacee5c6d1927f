"""Sound files: any rate and number of channels becomes the same 16 kHz mono sound."""

import os
import struct
import subprocess
import sys
import wave
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from fieldvoice.devices import soundfile as soundfile_module
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


# --- limits -------------------------------------------------------------------------------------


def wav(rate: int = RATE, channels: int = 1, frames: int = 1_600, said: int | None = None) -> bytes:
    """A WAV file whose header may say anything."""
    size = frames * channels * 2
    form = struct.pack("<HHIIHH", 1, channels, rate, rate * channels * 2 & 0xFFFFFFFF,
                       channels * 2, 16)
    told = size if said is None else said
    return (b"RIFF" + struct.pack("<I", 36 + size) + b"WAVEfmt " + struct.pack("<I", 16) + form
            + b"data" + struct.pack("<I", told) + bytes(size))


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (wav(rate=7), "has 7 samples a second; from 4,000"),
        (wav(rate=0), "not sound that can be read"),
        (wav(rate=2_000), "has 2,000 samples a second"),
        (wav(channels=100), "has 100 channels; at most 32"),
        (wav(said=1_000_000), "cut short: it holds 0%"),
        (wav()[:1_644], "cut short: it holds 50%"),
        (wav()[:30], "not sound"),
        (wav(frames=0, said=0), "holds no sound"),
    ],
)
def test_an_absurd_or_lying_header_is_refused(tmp_path: Path, data: bytes, why: str) -> None:
    (tmp_path / "a.wav").write_bytes(data)
    with pytest.raises(SoundFileError, match=why):
        read_sound(tmp_path / "a.wav")


@pytest.mark.parametrize("said", [0, 0xFFFFFFFF])
def test_a_recorder_that_did_not_know_the_length_is_heard_to_the_end(
    tmp_path: Path, said: int
) -> None:
    (tmp_path / "a.wav").write_bytes(wav(said=said))
    assert len(read_sound(tmp_path / "a.wav")) == 1_600


@pytest.mark.parametrize("name", ["a.bin", "a", "a.mp3", "a.flac"])
def test_the_bytes_say_what_it_is_and_not_the_name(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_bytes(wav())
    assert len(read_sound(tmp_path / name)) == 1_600


def test_a_flac_file_that_is_cut_short_is_refused(tmp_path: Path) -> None:
    soundfile = pytest.importorskip("soundfile", reason="writes the FLAC file of this check")
    noise = np.random.default_rng(1).normal(0, 3_000, RATE * 4).astype(np.int16)
    soundfile.write(tmp_path / "a.flac", noise, RATE)
    whole = (tmp_path / "a.flac").read_bytes()
    (tmp_path / "a.flac").write_bytes(whole[: len(whole) // 2])
    with pytest.raises(SoundFileError, match="cut short"):
        read_sound(tmp_path / "a.flac")


def test_ten_hours_are_refused_within_little_memory(tmp_path: Path) -> None:
    """A file with a hole: on the disk it takes nothing."""
    head = wav(rate=8_000, frames=0, said=8_000 * 36_000 * 2)
    with (tmp_path / "a.wav").open("wb") as file:
        file.write(head)
        file.truncate(len(head) + 8_000 * 36_000 * 2)
    (peak_mb, told) = _in_a_process_of_its_own(tmp_path / "a.wav")
    assert "longer than an hour" in told
    assert peak_mb < 1_500


@pytest.mark.parametrize("device", ["/dev/zero", "/dev/urandom", "/dev/null"])
def test_an_endless_or_empty_device_is_refused(device: str) -> None:
    if not Path(device).exists():
        pytest.skip(f"no {device} here")
    with pytest.raises(SoundFileError, match=r"not sound|empty|goes on beyond"):
        read_sound(Path(device))


def test_an_endless_pipe_of_sound_is_refused_by_its_limit(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(soundfile_module, "MOST_BYTES", 5_000_000)
    with endless_pipe(tmp_path / "pipe", wav(said=0xFFFFFFFF)) as pipe, pytest.raises(
        SoundFileError, match=r"goes on beyond 5 MB, which is the limit"
    ):
        read_sound(pipe)


@pytest.mark.parametrize("sends", [b"", wav()[:100]], ids=["nothing", "a beginning"])
def test_a_pipe_that_gives_nothing_is_not_waited_for(
    sends: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(soundfile_module, "QUIET_S", 0.2)
    os.mkfifo(tmp_path / "pipe")
    writer = os.open(tmp_path / "pipe", os.O_RDWR)
    os.write(writer, sends)
    with pytest.raises(SoundFileError, match="gave no sound for"):
        read_sound(tmp_path / "pipe")
    os.close(writer)


def test_sound_is_read_from_a_pipe_that_ends(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    with subprocess.Popen(["sh", "-c", f"sleep 0.2; printf X > {tmp_path}/began; "
                           f"cat {tmp_path}/a.wav > {tmp_path}/pipe"]):
        (tmp_path / "a.wav").write_bytes(wav())
        assert len(read_sound(tmp_path / "pipe")) == 1_600


@contextmanager
def endless_pipe(path: Path, head: bytes) -> Iterator[Path]:
    """A pipe into which sound is sent as long as somebody reads."""
    os.mkfifo(path)
    path.with_suffix(".head").write_bytes(head)
    sender = subprocess.Popen(["sh", "-c", f"cat {path}.head /dev/zero > {path}"],
                              stderr=subprocess.DEVNULL)
    try:
        yield path
    finally:
        sender.kill()
        sender.wait()


def _in_a_process_of_its_own(path: Path) -> tuple[float, str]:
    """Most memory in MB that reading took, and what was said."""
    script = (
        "import resource, sys\n"
        "from pathlib import Path\n"
        "from fieldvoice.devices.soundfile import SoundFileError, read_sound\n"
        "try:\n    read_sound(Path(sys.argv[1]))\n"
        "except SoundFileError as error:\n    print(error)\n"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)\n"
    )
    run = subprocess.run([sys.executable, "-c", script, str(path)], capture_output=True, text=True,
                         check=True)
    told, peak = run.stdout.splitlines()
    return float(peak), told
