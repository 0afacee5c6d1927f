"""A file or a pipe as the microphone, in real time."""

import os
import threading
import time
from pathlib import Path

import numpy as np
import pytest

from fieldvoice.devices.ears import Block, Microphone, is_played
from fieldvoice.devices.ears.played import is_pipe
from fieldvoice.devices.soundfile import SoundFileError, read_sound
from support.wav_file import write_wav

SOUND = np.arange(8_000, dtype=np.int16)


def blocks_of(ear: Microphone) -> list[Block]:
    """All sound until it ends."""
    thread = threading.Thread(target=ear.keep, args=(lambda: True,), daemon=True)
    thread.start()
    thread.join(20)
    assert ear.ended
    found = []
    while (block := ear.block(0)) is not None:
        found.append(block)
    return found


def test_a_file_is_heard_whole_at_the_pace_of_real_time(tmp_path: Path) -> None:
    write_wav(tmp_path / "line.wav", SOUND)
    ear = Microphone(pytest.fail, str(tmp_path / "line.wav"), read_sound)
    began = time.monotonic()
    found = blocks_of(ear)
    assert time.monotonic() - began >= 0.5
    assert np.concatenate([block.samples for block in found]).tolist() == SOUND.tolist()
    assert found[-1].end - found[0].at == pytest.approx(0.5)
    assert not any(block.after_gap for block in found)


def test_a_pipe_is_heard_to_its_end_though_its_bytes_come_in_odd_pieces(tmp_path: Path) -> None:
    path = tmp_path / "pipe"
    os.mkfifo(path)
    assert is_pipe(str(path))

    def write() -> None:
        time.sleep(0.1)  # nobody writes yet
        data = SOUND.astype("<i2").tobytes()
        with path.open("wb", buffering=0) as file:
            for at in range(0, len(data), 333):
                file.write(data[at : at + 333])

    threading.Thread(target=write, daemon=True).start()
    began = time.monotonic()
    found = blocks_of(Microphone(pytest.fail, str(path), read_sound))
    assert time.monotonic() - began >= 0.5
    assert np.concatenate([block.samples for block in found]).tolist() == SOUND.tolist()


def test_close_ends_a_pipe_that_nobody_writes_to(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    ear = Microphone(pytest.fail, str(tmp_path / "pipe"))
    thread = threading.Thread(target=ear.keep, args=(lambda: True,), daemon=True)
    thread.start()
    ear.close()
    thread.join(10)
    assert not thread.is_alive()
    assert not ear.ended


def test_a_missing_file_is_refused_at_once() -> None:
    with pytest.raises(SoundFileError, match="check the path"):
        Microphone(pytest.fail, "missing.wav", read_sound)


@pytest.mark.parametrize(("name", "played"), [("-", True), ("a/b", True), ("x.FLAC", True),
                                              ("Headset", False), ("USB Audio 2.0", False)])
def test_names_of_files_are_told_from_names_of_devices(name: str, played: bool) -> None:
    assert is_played(name) is played
