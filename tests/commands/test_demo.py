"""Recorded jobs: read from a folder, heard line by line against a simulated clock, and judged."""

import time
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from fieldvoice.commands import demo
from fieldvoice.commands.wiring import simulated_time
from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.commands.wiring.recorded_jobs import read_job
from fieldvoice.commands.wiring.replay import Replay
from fieldvoice.commands.wiring.replay_score import judged
from fieldvoice.devices.joblog import read_log
from fieldvoice.devices.recognizer import Utterance
from fieldvoice.devices.soundfile import read_sound
from fieldvoice.jobstate.events import (
    JobFinished,
    JobResumed,
    LineHeard,
    ReadingTaken,
    Reminded,
    TimerFinished,
    VerdictGiven,
)
from fieldvoice.jobstate.timers import LAST_MINUTE, TEN_SECONDS
from fieldvoice.language.parser import understand
from support.small_procedure import TEXT, TIGHT_JOB
from support.wav_file import write_wav

Capture = pytest.CaptureFixture[str]


class Reader:
    """A recognizer that reads the number of the line from the sound, and the words from a list."""

    def __init__(self, words: list[str], confidence: float = 0.99) -> None:
        self.words, self.confidence = words, confidence

    def hear(self, pcm: np.ndarray) -> Utterance:
        words = self.words[int(pcm[0])]
        return Utterance(words, self.confidence if words else 0.0)


def recorded(folder: Path, lines: list[tuple[int, str]]) -> Path:
    """A job's folder whose sounds carry nothing but their number."""
    folder.mkdir()
    (folder / "small.procedure").write_text(TEXT, encoding="utf-8")
    told = 'title = "A small job"\nprocedure = "small.procedure"\n'
    told += 'start = 2026-03-02T09:00:00-05:00\n[site]\naltitude = "0 ft"\n'
    for number, (seconds, words) in enumerate(lines):
        write_wav(folder / f"{number:02}.wav", np.full(1_600, number, dtype=np.int16))
        told += f'[[line]]\nfile = "{number:02}.wav"\ntext = "{words}"\nat = "+{seconds}s"\n'
    (folder / "job.toml").write_text(told, encoding="utf-8")
    return folder


def play(folder: Path, into: Path, words: list[str]) -> Replay:
    replay = Replay(read_job(folder), into, Reader(words), None)  # type: ignore[arg-type]
    replay.play()
    return replay


def test_a_recorded_job_is_heard_answered_logged_and_reported(
    tmp_path: Path, capsys: Capture
) -> None:
    folder = recorded(tmp_path / "small", list(TIGHT_JOB))
    replay = play(folder, tmp_path / "out", [words for _, words in TIGHT_JOB])
    assert replay.score.counts == {"right": len(TIGHT_JOB)}
    entries = read_log(tmp_path / "out").entries
    events = [entry.event for entry in entries]
    assert JobFinished("released") in events
    assert [v.verdict for v in events if isinstance(v, VerdictGiven)] == ["tight"]
    sources = {(e.source, e.clip is not None) for e in events if isinstance(e, LineHeard)}
    assert sources == {("recording", True)}
    told = capsys.readouterr().out
    for needed in ("heard", "99% sure", "meant", "prompt", "timers",
                   "Result: Standing vacuum: tight", "report.html", "log.jsonl"):  # fmt: skip
        assert needed in told
    assert (tmp_path / "out" / "report.html").stat().st_size > 2_000


def test_each_clip_is_the_sound_that_was_decoded(tmp_path: Path) -> None:
    folder = recorded(tmp_path / "small", list(TIGHT_JOB[:3]))
    play(folder, tmp_path / "out", [words for _, words in TIGHT_JOB])
    heard = [e.event for e in read_log(tmp_path / "out").entries if isinstance(e.event, LineHeard)]
    for number, event in enumerate(heard):
        assert event.clip is not None
        np.testing.assert_array_equal(
            read_sound(tmp_path / "out" / event.clip), read_sound(folder / f"{number:02}.wav")
        )


def test_times_in_the_log_are_simulated_and_reminders_come_when_due(tmp_path: Path) -> None:
    folder = recorded(tmp_path / "small", list(TIGHT_JOB))
    began = time.monotonic()
    play(folder, tmp_path / "out", [words for _, words in TIGHT_JOB])
    entries = read_log(tmp_path / "out").entries
    job_time = entries[-1].at - entries[0].at
    assert job_time == timedelta(seconds=sum(seconds for seconds, _ in TIGHT_JOB))
    assert job_time.total_seconds() > time.monotonic() - began
    taken = [e for e in entries if isinstance(e.event, ReadingTaken)]
    reminded = {e.event.mark: e for e in entries if isinstance(e.event, Reminded)}
    due = next(e.at for e in entries if isinstance(e.event, TimerFinished))
    left = {mark: due - reminded.pop(mark).at for mark in (LAST_MINUTE, TEN_SECONDS)}
    assert left == {LAST_MINUTE: timedelta(minutes=1), TEN_SECONDS: timedelta(seconds=10)}
    assert list(reminded) == ["0 min", "1 min", "2 min", "5 min"]
    for reminder in reminded.values():
        assert any(timedelta(0) <= t.at - reminder.at < timedelta(seconds=60) for t in taken)


def test_a_wrongly_heard_line_is_counted_and_shown(tmp_path: Path, capsys: Capture) -> None:
    lines = list(TIGHT_JOB[:3])
    folder = recorded(tmp_path / "small", lines)
    replay = play(folder, tmp_path / "out", ["understood", "nine hundred microns", "suction ten"])
    assert replay.score.counts["wrong"] + replay.score.counts["asked back"] == 1
    assert '"vacuum four hundred ten"' in capsys.readouterr().out


@pytest.mark.parametrize(
    ("said", "heard", "outcome", "mark"),
    [
        ("four hundred microns", "four hundred microns", "accepted", "right"),
        ("four hundred microns", "four hundred microns", "asked-back", "asked back"),
        ("four hundred microns", "five hundred microns", "accepted", "wrong"),
        ("four hundred microns", "five hundred microns", "asked-back", "asked back"),
        ("four hundred microns", "", "ignored", "not taken"),
        ("four hundred microns", "five hundred microns", "refused", "not taken"),
        ("did you see the game", "", "ignored", "right"),
        ("did you see the game", "next", "ignored", "right"),
        ("did you see the game", "next", "accepted", "wrong"),
    ],
)
def test_how_a_line_went(said: str, heard: str, outcome: str, mark: str) -> None:
    meant = (understand(words, typed=False) for words in (said, heard))
    assert judged(*meant, outcome) == mark


@pytest.mark.parametrize("why", ["reason", "gate", "finish", "jump", "carry"])
def test_a_question_that_follows_from_the_line_does_not_doubt_how_it_was_heard(why: str) -> None:
    said, other = (understand(words, typed=False)
                   for words in ("go to evacuation", "go to recovery"))
    assert judged(said, said, "asked-back", why) == "right"
    assert judged(said, other, "asked-back", why) == "wrong"
    assert judged(said, said, "asked-back", "confidence") == "asked back"


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("+40s", 40), ("40 s", 40), ("+10min", 600), ("+1h 30min", 5_400), ("2.5 min", 150)],
)
def test_a_span_of_time_is_read(text: str, seconds: float) -> None:
    assert simulated_time.span(text) == timedelta(seconds=seconds)


@pytest.mark.parametrize("text", ["", "+", "soon", "10", "10 parsecs", "-5s", "5s then"])
def test_what_is_no_span_of_time_is_refused(text: str) -> None:
    with pytest.raises(CommandError, match="like \\+40s"):
        simulated_time.span(text)


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        ('title = "A small job"', "", "'title' is missing"),
        ('"00.wav"', '"99.wav"', "no sound file"),
        ('at = "+5s"', 'when = "+5s"', "unknown key 'when'"),
        ('at = "+5s"', 'at = "soon"', "no span of time"),
        ('text = "understood"', 'text = ""', "needs the text"),
        ("start = 2026", "start = 'x' # 2026", "start must be a date"),
        ("[site]", "[site", "job.toml"),
    ],
)
def test_a_broken_description_of_a_job_is_refused(
    tmp_path: Path, old: str, new: str, why: str
) -> None:
    folder = recorded(tmp_path / "small", list(TIGHT_JOB[:1]))
    path = folder / "job.toml"
    assert old in path.read_text(encoding="utf-8")
    path.write_text(path.read_text(encoding="utf-8").replace(old, new), encoding="utf-8")
    with pytest.raises(CommandError, match=why):
        read_job(folder)


def test_a_line_that_was_not_taken_is_said_again(tmp_path: Path) -> None:
    folder = recorded(tmp_path / "small", list(TIGHT_JOB))
    job = (folder / "job.toml").read_text(encoding="utf-8")
    again = len(TIGHT_JOB)
    write_wav(folder / "again.wav", np.full(1_600, again, dtype=np.int16))
    job = job.replace('file = "00.wav"', 'file = "00.wav"\nagain = "again.wav"')
    (folder / "job.toml").write_text(job, encoding="utf-8")
    words = ["", *(said for _, said in TIGHT_JOB[1:]), TIGHT_JOB[0][1]]
    replay = play(folder, tmp_path / "out", words)
    assert replay.score.counts == {"said again": 1, "right": len(TIGHT_JOB) - 1}


def _with_sound(folder: Path, of: str, key: str, number: int) -> None:
    """Give the line of that file another sound."""
    write_wav(folder / f"{key}.wav", np.full(1_600, number, dtype=np.int16))
    job = (folder / "job.toml").read_text(encoding="utf-8")
    job = job.replace(f'file = "{of}"', f'file = "{of}"\n{key} = "{key}.wav"')
    (folder / "job.toml").write_text(job, encoding="utf-8")


class Doubting(Reader):
    """Is not sure of some lines, by their number."""

    def __init__(self, words: list[str], unsure: set[int]) -> None:
        super().__init__(words)
        self.unsure = unsure

    def hear(self, pcm: np.ndarray) -> Utterance:
        sure = 0.6 if int(pcm[0]) in self.unsure else 0.99
        return Utterance(self.words[int(pcm[0])], sure)


@pytest.mark.parametrize(
    ("first", "again", "mark"),
    [
        ("vacuum four hundred ten", "", "asked back"),  # heard, asked back: yes
        ("vacuum four hundred ninety", "vacuum four hundred ten", "asked back"),  # said again
    ],
)
def test_what_is_asked_back_is_answered_as_a_technician_would(
    tmp_path: Path, first: str, again: str, mark: str
) -> None:
    folder, count = recorded(tmp_path / "small", list(TIGHT_JOB)), len(TIGHT_JOB)
    said = [words for _, words in TIGHT_JOB]
    place = said.index("vacuum four hundred ten")
    _with_sound(folder, f"{place:02}.wav", "again", count)
    _with_sound(folder, f"{place:02}.wav", "yes", count + 1)
    words = [*said[:place], first, *said[place + 1:], again, "yes"]
    reader = Doubting(words, {place})
    replay = Replay(read_job(folder), tmp_path / "out", reader, None)  # type: ignore[arg-type]
    replay.play()
    assert replay.score.counts == {mark: 1, "right": count - 1}
    taken = [e.event for e in read_log(tmp_path / "out").entries]
    assert "410" in [t.value for t in taken if isinstance(t, ReadingTaken)]
    assert "490" not in [t.value for t in taken if isinstance(t, ReadingTaken)]


def test_a_job_that_stops_goes_on_from_the_disk_and_takes_typed_lines(
    tmp_path: Path, capsys: Capture
) -> None:
    folder = recorded(tmp_path / "small", list(TIGHT_JOB))
    job = (folder / "job.toml").read_text(encoding="utf-8")
    seconds, words = TIGHT_JOB[1]
    old = f'file = "01.wav"\ntext = "{words}"\nat = "+{seconds}s"\n'
    assert old in job
    job = job.replace(old, f'typed = "410 um"\nat = "+{seconds}s"\nstopped = "2h"\n')
    (folder / "job.toml").write_text(job, encoding="utf-8")
    replay = play(folder, tmp_path / "out", [said for _, said in TIGHT_JOB])
    assert replay.score.counts == {"right": len(TIGHT_JOB)}
    entries = read_log(tmp_path / "out").entries
    place = next(n for n, v in enumerate(entries) if isinstance(v.event, JobResumed))
    assert entries[place].at - entries[place - 1].at == timedelta(hours=2)
    assert JobFinished("released") in [v.event for v in entries]
    told = capsys.readouterr().out
    assert "2 hours later:" in told
    assert 'typed  "410 um"' in told


def test_a_demo_writes_beside_an_earlier_one_and_beside_a_broken_link(tmp_path: Path) -> None:
    folder = tmp_path / "leak {found}"
    assert demo._free(folder) == folder
    folder.symlink_to(tmp_path / "gone")
    (tmp_path / "leak {found}-2").mkdir()
    assert demo._free(folder) == tmp_path / "leak {found}-3"
