"""`fieldvoice learn-voice` with a real microphone and a real loudspeaker, on a terminal."""

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np

from fieldvoice.commands.wiring.voices.recordings import prompts
from fieldvoice.devices.soundfile import read_sound
from support.heard_back import sound
from support.real_terminal import RealTerminal
from support.sound_server import RATE, SoundServer, sound_server

LOUD = 300  # of 32,768


@contextmanager
def _prompted(
    tmp_path: Path, server: SoundServer, *options: str
) -> Iterator[RealTerminal]:
    env = {**server.environment, "TERM": "xterm", "XDG_DATA_HOME": str(tmp_path / "data"),
           "XDG_CACHE_HOME": str(tmp_path / "cache"), "PYTHONSAFEPATH": "1"}
    command = [sys.executable, "-m", "fieldvoice", "learn-voice", "dana", *options]
    with RealTerminal(command, env, tmp_path, width=120, height=40) as terminal:
        yield terminal


def _recorded(tmp_path: Path) -> list[str]:
    lines = tmp_path / "data" / "fieldvoice" / "voices" / "dana" / "lines"
    return sorted(file.name for file in lines.glob("*.wav"))


def test_lines_read_aloud_are_kept_one_by_one_and_it_can_be_ended(tmp_path: Path) -> None:
    with sound_server(tmp_path / "sound") as server, _prompted(tmp_path, server) as terminal:
        for number, words in enumerate(prompts()[:3], 1):
            terminal.wait_for(f"{number} of {len(prompts())}:   {words}")
            time.sleep(0.5)
            server.speak(np.concatenate([sound(words), np.zeros(RATE, np.int16)]))
        terminal.wait_for(f"4 of {len(prompts())}:")
        terminal.type("stop\r")
        assert terminal.wait() == 2
        assert "only 3 of 3 lines can be learned from, and 20 are needed" in terminal.text
    assert _recorded(tmp_path) == ["001.wav", "002.wav", "003.wav"]
    said = read_sound(tmp_path / "data/fieldvoice/voices/dana/lines/001.wav")
    assert np.abs(said.astype(int)).max() > LOUD


def test_a_line_said_by_the_loudspeaker_is_not_taken_for_the_technicians(tmp_path: Path) -> None:
    with (
        sound_server(tmp_path / "sound") as server, server.recorded() as said,
        _prompted(tmp_path, server, "--aloud") as terminal,
    ):  # fmt: skip
        server.echo(-20.0)
        terminal.wait_for(f"1 of {len(prompts())}:   {prompts()[0]}")
        until = time.monotonic() + 60
        while not _over(said.sound()):
            assert time.monotonic() < until, "nothing was said"
            time.sleep(0.2)
        time.sleep(3)
        assert _recorded(tmp_path) == []
        assert "not kept" not in terminal.text
        server.speak(np.concatenate([sound(prompts()[0]), np.zeros(RATE, np.int16)]))
        terminal.wait_for(f"2 of {len(prompts())}:")
        assert _recorded(tmp_path) == ["001.wav"]
        terminal.type("\x03")
        assert terminal.wait() == 130


def _over(heard: np.ndarray) -> bool:
    """Whether it was said, and has ended."""
    loud = np.flatnonzero(np.abs(heard.astype(int)) > LOUD)
    return len(loud) > RATE // 2 and len(heard) - loud[-1] > RATE
