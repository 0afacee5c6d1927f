"""A disk that takes no more: what was learned or recorded before still stands, whole."""

import resource
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest

from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.commands.wiring.voices.kept import VoicePlace
from fieldvoice.commands.wiring.voices.recordings import Recordings, prompts
from fieldvoice.ownvoice.voice_file import Figures, Voice

FIGURES = Figures(30, 21, 24, 14, 0.8)
SOUND = (3000 * np.random.default_rng(1).standard_normal(16_000)).astype(np.int16)


@contextmanager
def files_up_to(count: int) -> Iterator[None]:
    """No file grows beyond so many bytes, as on a full disk."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    try:
        resource.setrlimit(resource.RLIMIT_FSIZE, (count, hard))
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def _voice(numbers: int) -> Voice:
    return Voice("dana", "0" * 64, "2026-03-02T14:14:05+00:00", 60, 141.5, FIGURES, FIGURES,
                 {"input.shift": np.ones(numbers, np.float32)})


def test_an_earlier_voice_stays_and_nothing_half_written_is_left(tmp_path: Path) -> None:
    place = VoicePlace("dana", tmp_path / "dana")
    place.keep(_voice(10))
    old = place.file.read_bytes()
    with files_up_to(4_000), pytest.raises(CommandError) as caught:
        place.keep(_voice(10_000))
    told = str(caught.value)
    assert str(place.file) in told
    assert "the voice learned earlier stays as it was. Make room there" in told
    assert place.file.read_bytes() == old
    assert [file.name for file in place.folder.iterdir()] == ["voice"]


def test_without_an_earlier_one_there_is_none(tmp_path: Path) -> None:
    place = VoicePlace("dana", tmp_path / "dana")
    with files_up_to(4_000), pytest.raises(CommandError) as caught:
        place.keep(_voice(10_000))
    assert "stays as it was" not in str(caught.value)
    assert list(place.folder.iterdir()) == []


def test_lines_recorded_before_stay_listed(tmp_path: Path) -> None:
    recordings = Recordings(tmp_path / "lines")
    recordings.keep(prompts()[0], SOUND)
    with files_up_to(4_000), pytest.raises(OSError, match=r"002\.wav"):
        recordings.keep(prompts()[1], SOUND)
    assert [line.words for line in recordings.lines([])] == prompts()[:1]
    assert sorted(file.name for file in recordings.folder.iterdir()) == ["001.wav", "lines.txt"]
