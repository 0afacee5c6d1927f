"""Ctrl-C while `fieldvoice learn-voice` records or fits, on a terminal."""

import sys
from importlib import resources
from pathlib import Path

import numpy as np
import pytest

from fieldvoice.commands.wiring.recorded_jobs import read_job
from fieldvoice.commands.wiring.voices.recordings import prompts
from fieldvoice.devices.soundfile import read_sound
from fieldvoice.devices.vosk_recognizer import OWN_MODEL
from support import real_terminal
from support.heard_back import sound
from support.wav_file import write_wav

pytestmark = pytest.mark.skipif(not OWN_MODEL.is_dir(), reason="needs the speech model")
DEMO = Path(str(resources.files("fieldvoice.recordings_demo"))) / "print-shop"
CTRL_C = "\x03"


@pytest.fixture(autouse=True)
def _patient(monkeypatch: pytest.MonkeyPatch) -> None:
    """Much is loaded and heard before anything is shown; a busy machine takes a minute for it."""
    monkeypatch.setattr(real_terminal, "PATIENCE_S", 180.0)


def _terminal(tmp_path: Path, *options: str) -> real_terminal.RealTerminal:
    env = {"TERM": "xterm", "XDG_DATA_HOME": str(tmp_path / "data"), "PYTHONSAFEPATH": "1",
           "XDG_CACHE_HOME": str(tmp_path / "cache")}
    command = [sys.executable, "-m", "fieldvoice", "learn-voice", "dana", *options]
    return real_terminal.RealTerminal(command, env, tmp_path, width=120)


def _left(tmp_path: Path) -> list[str]:
    voices = tmp_path / "data" / "fieldvoice" / "voices"
    return sorted(str(file.relative_to(voices)) for file in voices.rglob("*") if file.is_file())


def test_while_lines_are_recorded_what_was_recorded_is_kept(tmp_path: Path) -> None:
    spoken = np.concatenate([sound(prompts()[0]), np.zeros(16_000 * 60, np.int16)])
    write_wav(tmp_path / "spoken.wav", spoken)
    with _terminal(tmp_path, "--microphone", "spoken.wav") as terminal:
        terminal.wait_for(f"2 of {len(prompts())}:")
        terminal.type(CTRL_C)
        assert terminal.wait() == 130
        assert "interrupted; nothing was learned, and what was recorded is kept in" in terminal.text
        assert "Traceback" not in terminal.text
    assert _left(tmp_path) == ["dana/lines/001.wav", "dana/lines/lines.txt"]


def test_while_it_learns_nothing_half_written_is_left(tmp_path: Path) -> None:
    folder = tmp_path / "sounds"
    folder.mkdir()
    lines = [line for line in read_job(DEMO).lines if line.sound][:24]
    for line in lines:
        assert line.sound is not None
        write_wav(folder / f"{line.sound.name}.wav", read_sound(line.sound))
    listed = "".join(f"{line.sound.name}.wav {line.text}\n" for line in lines if line.sound)
    (folder / "lines.txt").write_text(listed)
    with _terminal(tmp_path, "--from", "sounds") as terminal:
        terminal.wait_for("Learning from")
        terminal.wait_for("% of 100 %")
        terminal.type(CTRL_C)
        assert terminal.wait() == 130
        assert "interrupted; nothing was learned" in terminal.text
        assert "Traceback" not in terminal.text
    assert _left(tmp_path) == []
