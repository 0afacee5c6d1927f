"""--voice-of: the log names whose voice lines are heard with, and confidence follows it."""

import io
import queue
from pathlib import Path

import numpy as np
import pytest

from fieldvoice.commands.wiring.heard_line import meanings
from fieldvoice.commands.wiring.listening import Arrivals, Ended, Line
from fieldvoice.commands.wiring.live_job import LiveJob
from fieldvoice.commands.wiring.screen.screen_output import LineOutput
from fieldvoice.devices.clock import Clock
from fieldvoice.devices.joblog import read_log
from fieldvoice.jobstate.events import NO_OWN_VOICE, LineHeard, OwnVoiceUsed
from support.small_procedure import TEXT

DANA = OwnVoiceUsed("dana", "d" * 64, 0.5)
WAYS = (("vacuum four hundred microns", 0.8), ("vacuum five hundred microns", 0.2))


def _speak(folder: Path, voice: OwnVoiceUsed | None) -> None:
    arrivals: Arrivals = queue.Queue()
    arrivals.put(Line(WAYS[0][0], "voice", 0.8, np.zeros(1600, np.int16), WAYS))
    arrivals.put(Ended("voice"))
    with LiveJob(folder, (TEXT, "small"), Clock(), LineOutput(io.StringIO())) as job:
        job.start({}, voice=voice)
        job.work(arrivals, {"voice"})


def _logged(folder: Path) -> list[OwnVoiceUsed | LineHeard]:
    events = [entry.event for entry in read_log(folder).entries]
    return [event for event in events if isinstance(event, OwnVoiceUsed | LineHeard)]


def test_the_voice_stands_before_the_first_line_and_once(tmp_path: Path) -> None:
    for _ in range(2):
        _speak(tmp_path / "a", DANA)
    first, *lines = _logged(tmp_path / "a")
    assert first == DANA
    assert [type(event) for event in lines] == [LineHeard] * 2


def test_going_on_without_it_is_logged_and_typing_changes_nothing(tmp_path: Path) -> None:
    for voice in (DANA, None, NO_OWN_VOICE):
        _speak(tmp_path / "a", voice)
    voices = [event for event in _logged(tmp_path / "a") if isinstance(event, OwnVoiceUsed)]
    assert voices == [DANA, NO_OWN_VOICE]


def test_nothing_is_logged_of_a_job_that_never_had_one(tmp_path: Path) -> None:
    _speak(tmp_path / "a", NO_OWN_VOICE)
    assert [type(event) for event in _logged(tmp_path / "a")] == [LineHeard]


@pytest.mark.parametrize(("sureness", "surer"), [(0.5, True), (-0.5, False)])
def test_lines_of_a_speaker_heard_well_are_surer(
    tmp_path: Path, sureness: float, surer: bool
) -> None:
    _speak(tmp_path / "plain", NO_OWN_VOICE)
    _speak(tmp_path / "own", OwnVoiceUsed("dana", "d" * 64, sureness))
    (plain,), (_, own) = _logged(tmp_path / "plain"), _logged(tmp_path / "own")
    assert isinstance(plain, LineHeard)
    assert isinstance(own, LineHeard)
    assert own.confidence != plain.confidence
    assert (own.confidence > plain.confidence) is surer
    alone = [meanings(WAYS, sureness=by)[0].confidence for by in (0.0, sureness)]
    assert (alone[1] > alone[0]) is surer
