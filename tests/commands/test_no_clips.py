"""--no-clips: no sound is kept, and log and report say so; remembered when the job goes on."""

import io
import queue
from pathlib import Path

import numpy as np
import pytest

from fieldvoice.__main__ import main
from fieldvoice.commands.wiring.listening import Arrivals, Ended, Line
from fieldvoice.commands.wiring.live_job import LiveJob
from fieldvoice.commands.wiring.screen.screen_output import LineOutput
from fieldvoice.devices.clock import Clock
from fieldvoice.devices.joblog import read_log
from fieldvoice.jobstate.events import ClipsKept, LineHeard, NoteTaken
from support.small_procedure import TEXT

SOUND = np.arange(1_600, dtype=np.int16)


def _speak(folder: Path, *lines: str, clips: bool | None = None) -> None:
    arrivals: Arrivals = queue.Queue()
    for words in lines:
        arrivals.put(Line(words, "voice", 0.98, SOUND))
    arrivals.put(Ended("voice"))
    with LiveJob(folder, (TEXT, "small"), Clock(), LineOutput(io.StringIO())) as job:
        job.start({}, clips=clips)
        job.work(arrivals, {"voice"})


def _clips(folder: Path) -> int:
    return len(list((folder / "clips").iterdir()))


def test_no_sound_is_kept_of_any_line_and_a_note_keeps_its_words(tmp_path: Path) -> None:
    _speak(tmp_path / "a", "understood", "take a note", "the valve", "end note", clips=False)
    events = [entry.event for entry in read_log(tmp_path / "a").entries]
    assert _clips(tmp_path / "a") == 0
    assert [e.clip for e in events if isinstance(e, LineHeard)] == [None] * 4
    (note,) = [e for e in events if isinstance(e, NoteTaken)]
    assert (note.text, note.clips) == ("the valve", [])
    assert ClipsKept(False) in events


def test_it_is_remembered_when_the_job_goes_on_and_can_be_changed(tmp_path: Path) -> None:
    folder = tmp_path / "a"
    _speak(folder, "understood", clips=False)
    _speak(folder, "what now")
    assert _clips(folder) == 0
    _speak(folder, "what now", clips=True)
    assert _clips(folder) == 1
    _speak(folder, "what now", clips=False)
    assert _clips(folder) == 1


def test_sound_is_kept_unless_it_is_asked_not_to(tmp_path: Path) -> None:
    _speak(tmp_path / "a", "understood")
    assert _clips(tmp_path / "a") == 1


@pytest.mark.parametrize(
    ("clips", "said"), [(None, None), (False, "not kept, as was asked for")]
)
def test_the_report_says_that_no_sound_was_kept(
    tmp_path: Path, clips: bool | None, said: str | None
) -> None:
    _speak(tmp_path / "a", "understood", clips=clips)
    assert main(["report", str(tmp_path / "a")]) == 0
    page = (tmp_path / "a" / "report.html").read_text("utf-8")
    assert ("Sound of lines" in page) == (said is not None)
    assert said is None or said in page
