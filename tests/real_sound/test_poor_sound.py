"""A microphone that is muted, too low or too loud, at the real program."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from support import sounds
from support.live_program import at_work, listens
from support.sound_server import RATE, SoundServer

READING = sounds.line("bakery-unit-two/01")


@contextmanager
def humming(server: SoundServer, decibels: float = -55.0) -> Iterator[None]:
    """A room is never wholly still."""
    path = server.folder / "hum.raw"
    path.write_bytes(sounds.noise(120.0, decibels).astype("<i2").tobytes())
    process = subprocess.Popen(
        ["pacat", "--playback", "-d", "mouth", "--raw", "--format=s16le", f"--rate={RATE}",
         "--channels=1", "--latency-msec=20", str(path)], env={**os.environ, **server.environment},
    )  # fmt: skip
    try:
        yield
    finally:
        process.terminate()
        process.wait()


def test_a_muted_microphone_is_told_and_so_is_its_sound_that_comes_back(tmp_path: Path) -> None:
    with at_work(tmp_path) as (server, program), humming(server):
        listens(server, program)
        assert "is it muted?" not in program.output
        server.control("set-source-mute", "mic", "1")
        program.wait_for("is it muted?")
        server.speak(READING)
        program.type("where are we")
        program.wait_for("Make safe, step")
        server.control("set-source-mute", "mic", "0")
        program.wait_for("The microphone gives sound again.")
        assert len(program.heard()) == 1
        listens(server, program, 2)


def test_a_microphone_turned_down_still_hears_and_one_that_is_too_loud_says_so(
    tmp_path: Path,
) -> None:
    with at_work(tmp_path) as (server, program), humming(server):
        listens(server, program)
        server.control("set-source-volume", "mic", "-20dB")
        server.speak(READING)
        assert program.wait_heard(2)[1] == "refrigerant amount five pounds"
        assert "Too loud" not in program.output
        server.control("set-source-volume", "mic", "0dB")
        server.speak(sounds.louder(READING, 20.0))
        program.wait_for("Too loud. Move the microphone away.")
        taken = [e for e in program.events("line-heard")[3:] if e["outcome"] == "accepted"]
        assert taken == []  # a number in it is not to be trusted
