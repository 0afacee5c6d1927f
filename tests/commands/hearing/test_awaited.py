"""An ear that was made before the job was open knows what the job waits for."""

import io
import queue
from decimal import Decimal
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from fieldvoice.commands.wiring.hearing.awaited import Awaited
from fieldvoice.commands.wiring.hearing.wanted import Hearing
from fieldvoice.commands.wiring.listening import Arrivals, Ended, Line
from fieldvoice.commands.wiring.live_job import LiveJob
from fieldvoice.commands.wiring.open_ears import _open_microphone
from fieldvoice.commands.wiring.screen.screen_output import LineOutput
from fieldvoice.devices.clock import Clock
from fieldvoice.devices.vosk_recognizer import OWN_MODEL
from fieldvoice.language.intents import Reading, Understood
from support.fake_recognizer import FakeRecognizer
from support.small_procedure import TEXT

MICRONS = Reading(Decimal(410))


def test_before_there_is_a_job_nothing_is_waited_for() -> None:
    awaited = Awaited()
    assert not awaited(MICRONS)
    awaited.by = lambda said: said == MICRONS
    assert awaited(MICRONS)
    assert not awaited(Understood())


@pytest.mark.skipif(
    not (OWN_MODEL / "am" / "final.mdl").is_file(),
    reason="the speech model is not in this checkout",
)
def test_the_open_job_tells_it_and_tells_another_thing_at_the_next_step(tmp_path: Path) -> None:
    how = Hearing(microphone="line.wav", read=lambda path: np.zeros(1, np.int16),
                  ear=FakeRecognizer)  # fmt: skip
    nobody: Any = SimpleNamespace(
        sounding_at=lambda at: False, opening=SimpleNamespace(), run=lambda *work: None)
    with LiveJob(tmp_path / "job", (TEXT, "small"), Clock(), LineOutput(io.StringIO())) as job:
        job.start({})
        arrivals: Arrivals = queue.Queue()
        assert _open_microphone(job, nobody, how, arrivals, print, nobody) is not None
        assert (how.awaited(Understood()), how.awaited(MICRONS)) == (True, False)
        arrivals.put(Line("understood", "typed"))
        arrivals.put(Ended("typed"))
        job.work(arrivals, {"typed"})
        assert (how.awaited(Understood()), how.awaited(MICRONS)) == (False, True)
