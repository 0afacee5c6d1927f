"""The opening of a job, spoken by the real program: one may speak into its pauses."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from support import sounds
from support.live_program import live_program
from support.sound_server import sound_server

NEXT = sounds.line("bakery-unit-two/next-1")[sounds.RATE // 2 :]  # without its lead of silence
PAUSE_S = 0.4  # longer than any pause within a part, and as soon as people begin
LOUD = 300  # of 32,768


def test_a_line_spoken_into_a_pause_of_the_opening_is_heard_and_ends_it(tmp_path: Path) -> None:
    with (
        sound_server(tmp_path / "sound") as server, server.recorded() as said,
        live_program(tmp_path, server.environment) as program,
    ):  # fmt: skip
        server.echo(-20.0)

        def paused() -> bool:
            loud = np.flatnonzero(np.abs(said.sound().astype(int)) > LOUD)
            sounded_s = (loud[-1] - loud[0]) / sounds.RATE if len(loud) else 0.0
            return sounded_s > 2.0 and len(said.sound()) - loud[-1] > PAUSE_S * sounds.RATE

        program.wait(paused)
        server.speak(NEXT)
        assert program.wait_heard(1) == ["next"]
        assert program.events("line-heard")[0]["outcome"] == "accepted", program.output
