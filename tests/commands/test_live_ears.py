"""What arrives at a live job besides lines: what was cut, keys, and the end of all ears."""

import io
import queue
from pathlib import Path
from typing import cast

import numpy as np
import pytest

from fieldvoice.commands.wiring.hearing.ears import Ears, EarsStanding
from fieldvoice.commands.wiring.hearing.key import TalkKey
from fieldvoice.commands.wiring.listening import Arrivals, CutShort, Deed, Ended, Line
from fieldvoice.commands.wiring.live_job import LiveJob
from fieldvoice.commands.wiring.screen.screen_output import LineOutput
from fieldvoice.devices.clock import Clock
from fieldvoice.devices.joblog import read_log
from fieldvoice.jobstate.events import LineHeard
from support.small_procedure import TEXT

SOUND = np.ones(1_600, dtype=np.int16)


class PretendedEars:
    def __init__(self, state: str) -> None:
        self.state, self.key = state, TalkKey(True)

    def standing(self) -> EarsStanding:
        return EarsStanding(self.state, -60.0)

    def talk(self, on: bool) -> None:
        self.key.turn(on)


def work(folder: Path, *arrived: Line | CutShort | Deed | Ended, state: str = "listening") -> tuple[
    LiveJob, list[LineHeard], str
]:
    out = io.StringIO()
    with LiveJob(folder, (TEXT, "small"), Clock(), LineOutput(out)) as job:
        job.ears = cast(Ears, PretendedEars(state))
        job.start({})
        arrivals: Arrivals = queue.Queue()
        for one in arrived:
            arrivals.put(one)
        job.work(arrivals, {"typed", "voice"})
    heard = [e.event for e in read_log(folder).entries if isinstance(e.event, LineHeard)]
    return job, heard, out.getvalue()


END = (Ended("typed"), Ended("voice"))


def test_what_was_cut_is_logged_with_its_sound_and_asked_for_again(tmp_path: Path) -> None:
    cut = CutShort("five", "I was still talking. Say that again.", SOUND)
    _, (heard,), shown = work(tmp_path / "job", cut, *END)
    assert (heard.words, heard.outcome) == ("five", "asked-back")
    assert heard.clip is not None
    assert (tmp_path / "job" / heard.clip).exists()
    assert "I was still talking. Say that again." in shown


@pytest.mark.parametrize(("deed", "words"), [("next", "next"), ("again", "say again")])
def test_keys_stand_for_lines(tmp_path: Path, deed: str, words: str) -> None:
    _, (heard,), _ = work(tmp_path / "job", Deed(deed), *END)
    assert (heard.words, heard.source) == (words, "typed")


def test_the_talk_key_turns_the_ears_on_and_off(tmp_path: Path) -> None:
    job, heard, _ = work(tmp_path / "job", Deed("talk"), Deed("unknown"), *END)
    assert job.ears is not None
    assert job.ears.key.on
    assert heard == []
    job, _, _ = work(tmp_path / "job", Deed("talk"), Deed("talk"), *END)
    assert job.ears is not None
    assert not job.ears.key.on


def test_without_keys_and_without_a_microphone_the_work_ends(tmp_path: Path) -> None:
    work(tmp_path / "job", Ended("typed"), state="lost")
