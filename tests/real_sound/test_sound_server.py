"""The virtual microphone and loudspeaker of the tests do what they stand for."""

from pathlib import Path

import numpy as np

from support.sound_server import RATE, sound_server

TONE = np.rint(8_000 * np.sin(2 * np.pi * 440 * np.arange(RATE) / RATE)).astype(np.int16)


def test_what_is_spoken_reaches_the_microphone(tmp_path: Path) -> None:
    with sound_server(tmp_path / "sound") as server, server.recorded("mic") as heard:
        server.speak(TONE)
        sound = heard.sound()
    loud = np.flatnonzero(np.abs(sound.astype(int)) > 4_000)
    assert len(loud) > RATE // 4
    assert np.abs(sound.astype(int)).max() < 9_000


def test_a_microphone_that_is_removed_comes_back(tmp_path: Path) -> None:
    with sound_server(tmp_path / "sound") as server:
        assert "mic" in server.control("list", "short", "sources").split()
        server.remove_microphone()
        assert "mic" not in server.control("list", "short", "sources").split()
        server.bring_microphone_back()
        assert "mic" in server.control("list", "short", "sources").split()


def test_the_microphone_hears_the_loudspeaker_softer_by_twenty_decibels(tmp_path: Path) -> None:
    with sound_server(tmp_path / "sound") as server:
        server.echo(-20.0)
        with server.recorded("mic") as heard:
            server.speak(TONE, device="room")
            sound = heard.sound()
    assert 500 < np.abs(sound.astype(int)).max() < 1_200
