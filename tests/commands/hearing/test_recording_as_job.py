"""A recording made on site becomes a job, with the recording's times."""

from __future__ import annotations

import io
import json
import os
import re
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from fieldvoice.__main__ import main
from fieldvoice.commands.wiring.find_procedure import find_text
from fieldvoice.commands.wiring.hearing.awaited import Awaited
from fieldvoice.commands.wiring.keeping.log_for_review import log_for_review
from fieldvoice.commands.wiring.open_job import OpenJob
from fieldvoice.commands.wiring.recording import hear_into_job
from fieldvoice.commands.wiring.recording.recorded_work import RecordedWork
from fieldvoice.devices.clock import Clock
from fieldvoice.devices.joblog import read_log
from fieldvoice.devices.recognizer import Utterance, Way
from fieldvoice.devices.recorded_at import recorded_at
from fieldvoice.devices.soundfile import RATE, read_sound
from fieldvoice.jobstate import events as e
from fieldvoice.language.intents import Understood
from support.fake_recognizer import FakeRecognizer
from support.wav_file import write_wav

Capture = pytest.CaptureFixture[str]
BEGAN = datetime.fromisoformat("2024-03-02T09:14:00-05:00")
SAID = {  # minute at which it is said, in order; a sample's value stands for it
    0.2: "understood", 0.4: "next", 0.6: "vacuum four hundred twelve microns",
    0.8: "start a one minute timer", 2.2: "correction four eighty",
}


class Ear(FakeRecognizer):
    """Hears the n-th thing said where the samples are n."""

    def finish(self) -> Utterance | None:
        heard = super().finish()
        if heard is None:
            return None
        words = list(SAID.values())[int(heard.words.split()[0]) // 1000 - 1]
        return Utterance(words, 0.99, (), (Way(words, 1.0),))


@pytest.fixture
def recording(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Two and a half minutes: a second of sound for each line."""
    pcm = np.zeros(150 * RATE, np.int16)
    for number, minute in enumerate(SAID, start=1):
        begin = int(minute * 60 * RATE)
        pcm[begin : begin + RATE] = 1000 * number
    write_wav(tmp_path / "site.wav", pcm)
    monkeypatch.setattr(hear_into_job, "load_ear", lambda model, awaited: Ear())
    return tmp_path / "site.wav"


def hear(recording: Path, *more: str) -> int:
    return main(["hear", str(recording), "--job", str(recording.parent / "job"), *more])


NEW = ("--procedure", "evacuate-and-release", "--began", BEGAN.isoformat())


def entries(recording: Path) -> tuple[e.Entry, ...]:
    return read_log(recording.parent / "job").entries


def lines(recording: Path) -> dict[str, e.Entry]:
    return {v.event.words: v for v in entries(recording) if isinstance(v.event, e.LineHeard)}


def test_every_line_has_its_time_in_the_recording_and_its_clip(recording: Path) -> None:
    assert hear(recording, *NEW) == 0
    heard = lines(recording)
    assert list(heard) == list(SAID.values())
    for minute, words in SAID.items():
        ended = BEGAN + timedelta(minutes=minute, seconds=1)
        assert timedelta(0) <= heard[words].at - ended <= timedelta(seconds=0.5), words
        event: Any = heard[words].event
        clip = read_sound(recording.parent / "job" / event.clip)
        assert event.source == "recording"
        assert 1000 * (list(SAID.values()).index(words) + 1) in clip


def test_timers_run_in_the_recordings_time(recording: Path) -> None:
    hear(recording, *NEW)
    started, over = (next(v.at for v in entries(recording) if isinstance(v.event, kind))
                     for kind in (e.TimerStarted, e.TimerFinished))
    assert timedelta(minutes=1) <= over - started <= timedelta(minutes=1, seconds=1)


def test_it_says_which_recording_and_that_it_is_real_work(
    recording: Path, capsys: Capture
) -> None:
    hear(recording, *NEW)
    assert "as given" in capsys.readouterr().err
    first, *_ = entries(recording)
    (told,) = (v.event for v in entries(recording) if isinstance(v.event, e.RecordingHeard))
    assert (first.event.mode, first.at) == (e.RECORDING, BEGAN)
    assert (told.file, told.seconds, told.known_by) == ("site.wav", 150.0, "given")
    assert main(["report", str(recording.parent / "job")]) == 0
    page = (recording.parent / "job" / "report.html").read_text(encoding="utf-8")
    assert "Heard afterwards from a sound recording" in page


def test_json_is_events_and_replies(recording: Path, capsys: Capture) -> None:
    assert hear(recording, *NEW, "--json") == 0
    told = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [t["data"]["words"] for t in told if t.get("kind") == "line-heard"] == [*SAID.values()]


def hear_until_the_third(recording: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = RecordedWork._hear_line

    def until_the_third(self: RecordedWork, line: Any) -> None:
        whole(self, line)
        if sum(self.outcomes.values()) == 3:
            raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(RecordedWork, "_hear_line", until_the_third)
        assert hear(recording, *NEW) == 130


def test_interrupted_it_goes_on_where_the_log_ends_and_hears_nothing_twice(
    recording: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    hear_until_the_third(recording, monkeypatch)
    assert list(lines(recording)) == list(SAID.values())[:3]
    assert hear(recording, "--go-on") == 0  # when it began stands in the log
    words = [v.event.words for v in entries(recording) if isinstance(v.event, e.LineHeard)]
    assert words == list(SAID.values())


def test_after_a_review_the_rest_is_heard_at_its_own_time(
    recording: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    hear_until_the_third(recording, monkeypatch)
    folder = recording.parent / "job"
    (taken,) = [v.seq for v in entries(recording) if isinstance(v.event, e.ReadingTaken)]
    with log_for_review(folder) as (log, moment):
        log.append(e.ReadingAmended(taken, "421", "microns", 56.13, "Pa", "Bo", "photo"), moment)
    assert main(["amend", str(folder), "place", "Mill", "--by", "Bo", "--why", "it was left"]) == 0
    assert hear(recording, "--go-on") == 0
    heard = lines(recording)
    assert list(heard) == list(SAID.values())
    assert heard["correction four eighty"].at - BEGAN <= timedelta(minutes=2.3)
    assert main(["log", "verify", str(folder)]) == 0
    assert main(["report", str(folder)]) == 0
    page = (folder / "report.html").read_text(encoding="utf-8")
    assert "09:14 to 09:16 (2 min)" in page


def test_behind_later_work_on_site_the_rest_is_refused_and_it_says_why(
    recording: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    hear_until_the_third(recording, monkeypatch)
    with OpenJob(recording.parent / "job", *find_text(NEW[1]), Clock(), lambda reply: None) as job:
        job.start({})
    before = entries(recording)
    assert hear(recording, "--go-on") == 2
    assert "the job was worked on until" in capsys.readouterr().err
    assert entries(recording) == before


def test_what_was_logged_is_not_heard_again(recording: Path, capsys: Capture) -> None:
    hear(recording, *NEW)
    assert hear(recording, *NEW) == 2
    assert "holds a job already: add --go-on" in capsys.readouterr().err
    before = entries(recording)
    assert hear(recording, "--go-on", "--began", "2024-03-02T08:00:00-05:00") == 2
    assert "the job was worked on until" in capsys.readouterr().err
    assert entries(recording) == before


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ((), "a new job needs its procedure"),
        (("--go-on",), "there is no job"),
        ((*NEW[:2], "--began", "soon"), "--began soon: write it like"),
        ((*NEW[:2], "--began", "2999-01-01 10:00"), "still to come"),
        ((*NEW, "--split"), "leave --split away"),
        ((*NEW, "--site", "nonsense=1"), "--site"),
    ],
)
def test_what_cannot_be_is_refused_and_leaves_no_folder(
    recording: Path, capsys: Capture, more: tuple[str, ...], why: str
) -> None:
    assert hear(recording, *more) == 2
    assert why in capsys.readouterr().err
    assert not (recording.parent / "job").exists()


def test_without_a_beginning_the_files_last_change_tells_it(
    recording: Path, capsys: Capture
) -> None:
    ended = BEGAN + timedelta(seconds=150)
    os.utime(recording, (ended.timestamp(), ended.timestamp()))
    hear(recording, *NEW[:2])
    assert "last changed" in capsys.readouterr().err
    assert entries(recording)[0].at == BEGAN


def test_a_broadcast_wave_says_when_it_was_recorded(recording: Path) -> None:
    # EBU Tech 3285: OriginationDate and OriginationTime follow 256 + 32 + 32 characters
    told = b"bext" + (602).to_bytes(4, "little") + (b"\0" * 320 + b"2024-03-0209:14:00").ljust(602)
    data = recording.read_bytes()
    recording.write_bytes(data[:12] + told + data[12:])
    assert recorded_at(recording) == datetime(2024, 3, 2, 9, 14).astimezone()


def test_the_ear_is_told_what_the_job_waits_for(
    recording: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    waited = list[bool]()

    class Asking(Ear):
        def __init__(self, awaited: Awaited) -> None:
            super().__init__()
            self.awaited = awaited

        def feed(self, chunk: NDArray[np.int16]) -> Utterance | None:
            waited.append(self.awaited(Understood()))
            return super().feed(chunk)

    monkeypatch.setattr(hear_into_job, "load_ear", lambda model, awaited: Asking(awaited))
    hear(recording, *NEW)
    assert set(waited) == {False, True}  # not at the beginning; later a caution waits for it


def test_a_timer_that_ran_when_the_recording_ended_is_not_overdue_by_todays_clock(
    recording: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    write_wav(recording, read_sound(recording)[: 70 * RATE])  # of the minute 18 s are not heard
    folder = recording.parent / "data" / "fieldvoice" / "jobs" / "job"
    monkeypatch.setenv("XDG_DATA_HOME", str(recording.parent / "data"))
    assert main(["hear", str(recording), "--job", "job", *NEW]) == 0
    capsys.readouterr()
    main(["jobs"])
    assert "timer 1 minute left when last heard" in capsys.readouterr().out
    monkeypatch.setattr("sys.stdin", io.StringIO("how long left\n"))
    assert main(["work", "evacuate-and-release", "--job", "job", "--typed"]) == 0
    said = [v.event.text for v in read_log(folder).entries if isinstance(v.event, e.Said)]
    (over,) = (text for text in said if "ran out" in text)
    assert re.fullmatch(r"Timer: 1 minute ran out \d+ days ago, with nobody listening\.", over)
    capsys.readouterr()
    main(["jobs"])
    assert "timer" not in capsys.readouterr().out
