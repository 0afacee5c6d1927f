"""Work by voice: what arrives from the microphone is kept as sound, logged and answered."""

import io
import queue
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from fieldvoice.__main__ import main
from fieldvoice.commands.wiring.facts_given import read_facts
from fieldvoice.commands.wiring.hearing import options
from fieldvoice.commands.wiring.listening import Arrivals, Deed, Ended, Line
from fieldvoice.commands.wiring.live_job import LiveJob
from fieldvoice.commands.wiring.screen.screen_output import LineOutput
from fieldvoice.devices import mouth
from fieldvoice.devices.clock import Clock, SimulatedClock
from fieldvoice.devices.joblog import read_log
from fieldvoice.devices.soundfile import read_sound
from fieldvoice.jobstate.events import (
    DepthChanged,
    Event,
    LineHeard,
    NoteTaken,
    ReadingTaken,
    TimerFinished,
    TimerStarted,
)
from support.small_procedure import TEXT
from support.terminal import Shown, stands_large

SOUND = np.arange(1_600, dtype=np.int16)


class Voice:
    """A speaker that keeps what it was given."""

    standing = "silent"

    def __init__(self) -> None:
        self.said: list[str] = []
        self.changes: list[str] = []
        self.signals: list[str] = []
        self.asked: list[bool] = []  # of each text: it answers a line
        self._asked = True
        self.ended_by_key: list[bool] = []  # the opening, by each line

    def new_turn(self, *, asked: bool, opening: bool = False) -> None:
        self._asked = asked

    def end_opening(self, *, by_key: bool) -> None:
        self.ended_by_key.append(by_key)

    def say(self, text: str, tone: str) -> None:
        self.said.append(text)
        self.asked.append(self._asked)

    def signal(self, kind: str) -> None:
        self.signals.append(kind)

    def hush(self) -> None:
        self.said.append("hushed")

    def close(self) -> None:
        self.said.append("closed")

    def change(self, change: str) -> None:
        self.changes.append(change)


class Bench:
    """A job at work whose microphone is a list of lines."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.out = io.StringIO()
        self.voice = Voice()
        self.job = LiveJob(
            folder, (TEXT, "small"), Clock(), LineOutput(self.out),
            self.voice,  # type: ignore[arg-type]
        )  # fmt: skip
        self.job.start({})

    def hear(self, *lines: tuple[str, float]) -> None:
        arrivals: Arrivals = queue.Queue()
        for words, confidence in lines:
            arrivals.put(Line(words, "voice", confidence, SOUND))
        arrivals.put(Ended("voice"))
        self.job.work(arrivals, {"voice"})

    @property
    def events(self) -> list[Event]:
        return [entry.event for entry in read_log(self.folder).entries]

    @property
    def heard(self) -> list[LineHeard]:
        return [event for event in self.events if isinstance(event, LineHeard)]


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    bench = Bench(tmp_path / "job")
    with bench.job:
        yield bench


def test_a_spoken_line_is_logged_with_its_sound_and_confidence(bench: Bench) -> None:
    bench.hear(("understood", 0.99), ("four hundred ten microns", 0.98))
    first, second = bench.heard
    assert (second.words, second.source, second.confidence) == (
        "four hundred ten microns", "voice", 0.98,
    )  # fmt: skip
    assert first.clip != second.clip
    assert second.clip is not None
    np.testing.assert_array_equal(read_sound(bench.folder / second.clip), SOUND)
    assert any(isinstance(event, ReadingTaken) for event in bench.events)


def test_a_reading_heard_late_has_the_time_at_which_it_was_said_but_never_before_the_log(
    bench: Bench,
) -> None:
    bench.hear(("understood", 0.99))
    begun = read_log(bench.folder).entries[-1].at
    time.sleep(0.6)
    for late_s in (0.4, 20.0):
        ended = time.monotonic() - late_s
        arrivals: Arrivals = queue.Queue()
        arrivals.put(Line("four hundred ten microns", "voice", 0.98, SOUND, ended=ended))
        arrivals.put(Ended("voice"))
        bench.job.work(arrivals, {"voice"})
    first, second = [entry.at for entry in read_log(bench.folder).entries
                     if isinstance(entry.event, LineHeard)][1:]
    now = datetime.now().astimezone()
    assert begun <= first <= second
    assert (now - first).total_seconds() > 0.39


def test_noise_without_words_leaves_neither_line_nor_sound(bench: Bench) -> None:
    bench.hear(("", 0.0), ("", 0.0))
    assert bench.heard == []
    assert list((bench.folder / "clips").iterdir()) == []


def test_the_sound_of_a_note_is_kept_even_when_no_word_is_known(bench: Bench) -> None:
    bench.hear(("take a note", 0.95), ("", 0.0), ("", 0.0), ("end note", 0.95))
    (note,) = [event for event in bench.events if isinstance(event, NoteTaken)]
    assert len(note.clips) >= 2
    assert all((bench.folder / clip).is_file() for clip in note.clips)


def test_a_doubtful_reading_is_asked_back_and_not_logged(bench: Bench) -> None:
    bench.hear(("understood", 0.97), ("four hundred ten microns", 0.5))
    assert bench.heard[-1].outcome == "asked-back"
    assert not any(isinstance(event, ReadingTaken) for event in bench.events)


def test_facts_are_read_as_a_table() -> None:
    assert read_facts(["altitude=5280 ft", "a = b=c"]) == {"altitude": "5280 ft", "a": "b=c"}


def test_an_answer_is_shown_in_figures_and_spoken_in_words(bench: Bench) -> None:
    bench.hear(("understood", 0.99), ("four hundred ten microns", 0.99))
    assert "410 microns, inside the limit." in bench.out.getvalue()
    assert any("four hundred ten microns" in said for said in bench.voice.said)
    assert not any(figure in said for said in bench.voice.said for figure in "0123456789")


def test_the_voice_changes_as_it_is_told_and_a_job_gone_on_with_is_spoken_as_before(
    tmp_path: Path,
) -> None:
    first = Bench(tmp_path / "job")
    with first.job:
        first.hear(("understood", 0.99), ("louder", 0.99), ("slow down", 0.99))
    assert first.voice.changes == ["louder", "slower"]
    again = Bench(tmp_path / "job")
    with again.job:
        assert again.voice.changes == ["louder", "slower"]


def test_in_practice_the_screen_follows_the_time_that_is_let_pass(tmp_path: Path) -> None:
    out, arrivals = Shown(), Arrivals()
    clock = SimulatedClock(datetime(2026, 3, 2, 9, tzinfo=UTC))
    with LiveJob(tmp_path / "job", (TEXT, "small"), clock, out) as job:
        job.start({})
        for words in ("understood", "410 um", "start the hold", "+60s"):
            arrivals.put(Line(words, "typed"))
        arrivals.put(Ended("typed"))
        job.work(arrivals, {"typed"})
    assert stands_large("410", out.lines())
    assert stands_large("9:00", out.lines())


def test_keys_stand_for_lines_or_do_what_a_device_offers(tmp_path: Path) -> None:
    shown, arrivals, voice = Shown(), Arrivals(), Voice()
    with LiveJob(
        tmp_path / "job", (TEXT, "small"), Clock(), shown, voice,  # type: ignore[arg-type]
    ) as job:  # fmt: skip
        job.start({})
        for deed in ("again", "next", "hush", "talk"):
            arrivals.put(Deed(deed))
        arrivals.put(Ended("typed"))
        job.work(arrivals, {"typed"})
    heard = [entry.event.words for entry in read_log(tmp_path / "job").entries
             if isinstance(entry.event, LineHeard)]
    assert heard == ["say again", "next"]
    assert voice.said.count("hushed") == 1


def practise(job: Path, procedure: Path, lines: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(lines))
    assert main(["work", str(procedure), "--job", str(job), "--practice"]) == 0


def test_a_practised_job_goes_on_at_the_moment_where_its_log_ends(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    job, procedure = tmp_path / "job", tmp_path / "small.procedure"
    procedure.write_text(TEXT, encoding="utf-8")
    practise(job, procedure, "understood\n410 um\nstart the hold\n410 um\n+4min\n", monkeypatch)
    stopped = read_log(job).entries
    capsys.readouterr()
    practise(job, procedure, "how long left\n+10min\n", monkeypatch)
    said = capsys.readouterr().out
    assert "Hold: 5 minutes 55 seconds left." in said  # the four minutes let pass are not lost
    assert "Hold finished: 10 minutes." in said
    entries = read_log(job).entries
    times = [entry.at for entry in entries]
    assert times == sorted(times)
    assert times[len(stopped)] == times[len(stopped) - 1]  # no time passes between the sessions
    hold = next(v for v in entries if isinstance(v.event, TimerFinished))
    due = next(v.event.due for v in entries if isinstance(v.event, TimerStarted))
    assert hold.at - datetime.fromisoformat(due) < timedelta(seconds=1)


def test_a_job_begins_at_a_depth_and_goes_on_at_it_until_it_is_told_another(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "job"

    def work(*options: str) -> None:
        monkeypatch.setattr("sys.stdin", io.StringIO("where are we\n"))
        assert main(["work", "make-safe", "--practice", "--job", str(folder), *options]) == 0

    for given in (["--depth", "readings-and-holds"], [], ["--depth", "limits-only"], []):
        work(*given)
    log = read_log(folder).entries
    assert [v.event.depth for v in log if isinstance(v.event, DepthChanged)] == [
        "readings-and-holds", "limits-only"]


def test_what_is_only_shown_is_not_spoken(tmp_path: Path) -> None:
    with (quiet := Bench(tmp_path / "quiet")).job:
        quiet.hear(("limits only", 0.99), ("understood", 0.99))
        before = len(quiet.voice.said)
        quiet.hear(("four ten microns", 0.99))
        assert quiet.voice.said[before:] == ["four hundred ten microns."]
        assert "start the hold" in quiet.out.getvalue()


def test_what_time_brings_is_told_from_what_a_line_asked_for(bench: Bench) -> None:
    said = len(bench.voice.said)
    bench.hear(("understood", 0.99))
    assert all(bench.voice.asked[said:])
    assert bench.voice.asked[said:]


def test_each_spoken_line_has_its_tone_and_a_typed_one_none(bench: Bench) -> None:
    bench.hear(("understood", 0.99), ("four hundred ten microns", 0.5), ("", 0.0))
    assert bench.voice.signals == ["heard", "asked-back"]
    arrivals: Arrivals = queue.Queue()
    for arrived in (Line("no", "typed"), Ended("typed")):
        arrivals.put(arrived)
    bench.job.work(arrivals, {"typed"})
    assert bench.voice.signals == ["heard", "asked-back"]


def test_no_tone_sounds_while_standing_by(bench: Bench) -> None:
    bench.hear(("understood", 0.99), ("stand by", 0.99))
    before = len(bench.voice.signals)
    bench.hear(("four hundred ten microns", 0.99))
    assert len(bench.voice.signals) == before


def test_the_last_words_are_said_before_the_program_ends(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "job")
    with bench.job:
        bench.hear(("understood", 0.99))
        assert "closed" not in bench.voice.said
    assert bench.voice.said[-1] == "closed"


def test_the_voices_of_the_command_line_are_those_that_there_are() -> None:
    assert set(options.VOICES) == set(mouth.VOICES)
    assert next(iter(mouth.VOICES)) == options.VOICES[0]
