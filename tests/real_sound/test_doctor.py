"""`fieldvoice doctor` through a real sound server: what it finds of microphones, good and bad."""

import json
import os
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fieldvoice.commands.checks.sound import SENTENCE
from support.heard_back import sound
from support.sound_server import RATE, SoundServer, sound_server

ROOM = np.rint(np.random.default_rng(1).normal(0.0, 25.0, RATE * 60)).astype(np.int16)


@pytest.fixture
def server(tmp_path: Path) -> Iterator[SoundServer]:
    with sound_server(tmp_path / "sound") as server:
        yield server


def doctor(
    server: SoundServer, loudness: float = 1.0, *options: str, speaks: bool = True
) -> dict[str, Any]:
    """The findings; the sentence is said, so loud, when the doctor asks for it."""
    sentence = np.clip(sound(SENTENCE) * loudness, -32_768, 32_767).astype(np.int16)
    process = subprocess.Popen(
        [sys.executable, "-m", "fieldvoice", "doctor", "--json", *options], stdout=subprocess.PIPE,
        stderr=subprocess.PIPE, text=True,
        env={**os.environ, **server.environment, "XDG_DATA_HOME": str(server.folder)},
    )  # fmt: skip
    if speaks:
        threading.Thread(target=_hum, args=(server, process), daemon=True).start()
    assert process.stderr is not None
    for line in process.stderr:
        if speaks and "Please say now" in line:
            server.speak(sentence)
    told = json.loads(process.communicate(timeout=120)[0])
    return {finding["about"]: finding for finding in told["findings"]}


def _hum(server: SoundServer, process: subprocess.Popen[str]) -> None:
    """The room, which is never wholly still."""
    while process.poll() is None:
        try:
            server.speak(ROOM[: RATE * 5])
        except subprocess.CalledProcessError:
            return


def test_a_good_microphone_a_sentence_and_the_voice_heard_back(server: SoundServer) -> None:
    server.echo(-20.0)
    found = doctor(server)
    assert found["microphone"]["standing"] == "ok"
    assert found["room"]["standing"] == "ok"
    assert -75 < found["room"]["figures"]["noise_dbfs"] < -45
    assert (found["speech"]["standing"], found["speech"]["figures"]["heard"]) == ("ok", SENTENCE)
    assert found["voice"]["standing"] == "ok"
    assert found["voice"]["figures"]["came_back_db"] == pytest.approx(-20.0, abs=4.0)


def test_a_microphone_and_a_voice_are_used_by_name(server: SoundServer) -> None:
    """Of two, the one that is not the usual one: it hears the loudspeaker's sound alone."""
    server.control(
        "load-module", "module-remap-source", "source_name=second", "master=room.monitor",
        "source_properties=device.description=Second",
    )  # fmt: skip
    found = doctor(server, 1.0, "--microphone", "second", "--voice", "pico")
    assert found["microphone"]["figures"]["used"] == "Second"
    assert "muted or dead" in found["room"]["found"]
    assert found["voice"]["figures"]["came_back_db"] == pytest.approx(0.0, abs=3.0)


def test_no_loudspeaker_is_told(server: SoundServer) -> None:
    server.control("load-module", "module-pipe-source", f"file={server.folder}/pipe",
                   "source_name=lone")  # fmt: skip
    server.control("unload-module", "module-remap-source")
    server.control("unload-module", "module-null-sink")
    found = doctor(server, speaks=False)
    assert found["microphone"]["standing"] == "ok"
    assert found["loudspeaker"]["standing"] == "bad"
    assert found["voice"]["standing"] == "skipped"


def test_no_microphone_but_a_monitor_is_told(server: SoundServer) -> None:
    server.remove_microphone()
    found = doctor(server)
    assert found["microphone"]["standing"] == "bad"
    assert "only a monitor" in found["microphone"]["found"]
    assert found["speech"]["standing"] == "skipped"


def test_a_muted_microphone_is_told(server: SoundServer) -> None:
    server.control("set-source-mute", "mic", "1")
    found = doctor(server)
    assert "muted or dead" in found["room"]["found"]
    assert found["speech"]["standing"] == "bad"


def test_clipped_speech_is_told(server: SoundServer) -> None:
    found = doctor(server, loudness=60.0)
    assert found["speech"]["standing"] == "bad"
    assert "move away" in found["speech"]["to_do"]


def test_without_a_sound_server_all_else_is_looked_at(server: SoundServer) -> None:
    server.stop()
    found = doctor(server)
    assert found["disk"]["standing"] == "ok"
    assert found["microphone"]["standing"] == "bad"
    assert found["voice"]["standing"] == "skipped"
