"""Keys against the voice of the real program on its screen."""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np

from support import sounds
from support.live_program import LiveProgram, live_program
from support.sound_server import Recording, sound_server

UNDERSTOOD = sounds.line("bakery-unit-two/understood-1")
F2 = b"\x1bOQ"
LOUD = 300  # of 32,768


def quiet_for(said: Recording) -> float:
    """Seconds since the loudspeaker sounded last."""
    loud = np.flatnonzero(np.abs(said.sound().astype(int)) > LOUD)
    return (len(said.sound()) - int(loud[-1] if len(loud) else 0)) / sounds.RATE


def speaks(program: LiveProgram, said: Recording) -> None:
    program.wait(lambda: len(said.sound()) > 0 and quiet_for(said) < 0.1)


def test_a_key_silences_what_is_said_and_the_next_line_is_heard(tmp_path: Path) -> None:
    with (
        sound_server(tmp_path / "sound") as server, server.recorded() as said,
        live_program(tmp_path, server.environment, terminal="xterm-256color") as program,
    ):  # fmt: skip
        program.wait(lambda: program.events("said"))
        speaks(program, said)  # the introduction, of twenty seconds
        time.sleep(0.5)
        program.press(F2)
        program.wait(lambda: quiet_for(said) > 3.0, timeout=10)  # no pause is so long
        server.speak(UNDERSTOOD)
        assert program.wait_heard(1) == ["understood"]
