"""Work by voice: what arrives from the microphone is kept as sound, logged and answered."""

import argparse
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import numpy as np
import pytest

from fieldvoice.commands.wiring.listening import Ended, Line
from fieldvoice.commands.wiring.open_job import OpenJob
from fieldvoice.commands.work import _Desk, _facts
from fieldvoice.devices.joblog import read_log
from fieldvoice.devices.soundfile import read_sound
from fieldvoice.jobstate.events import Event, LineHeard, NoteTaken, ReadingTaken
from support.small_procedure import TEXT

SOUND = np.arange(1_600, dtype=np.int16)


class Bench:
    """A job at work whose microphone is a list of lines."""

    def __init__(self, folder: Path, stack: ExitStack) -> None:
        self.folder = folder
        self.desk = _Desk(argparse.Namespace(typed=True, practice=False), stack)
        self.open = stack.enter_context(
            OpenJob(folder, TEXT, "small", self.desk.clock, self.desk.reply, self.desk.watch)
        )
        self.open.start({})

    def hear(self, *lines: tuple[str, float]) -> None:
        for words, confidence in lines:
            self.desk.arrivals.put(Line(words, "voice", confidence, SOUND))
        self.desk.arrivals.put(Ended("typed"))
        self.desk.loop(self.open)

    @property
    def events(self) -> list[Event]:
        return [entry.event for entry in read_log(self.folder).entries]

    @property
    def heard(self) -> list[LineHeard]:
        return [event for event in self.events if isinstance(event, LineHeard)]


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with ExitStack() as stack:
        yield Bench(tmp_path / "job", stack)


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
    assert _facts(["altitude=5280 ft", "a = b=c"]) == {"altitude": "5280 ft", "a": "b=c"}


class Voice:
    """A speaker that keeps what it was given."""

    def __init__(self) -> None:
        self.said: list[str] = []
        self.changes: list[str] = []

    def say(self, text: str) -> None:
        self.said.append(text)

    def change(self, change: str) -> None:
        self.changes.append(change)


def test_an_answer_is_shown_in_figures_and_spoken_in_words(bench: Bench) -> None:
    bench.desk.speaker = voice = Voice()  # type: ignore[assignment]
    bench.hear(("understood", 0.99), ("four hundred ten microns", 0.95))
    assert any("four hundred ten microns" in said for said in voice.said)
    assert not any(figure in said for said in voice.said for figure in "0123456789")


def test_a_job_gone_on_with_is_spoken_as_it_was_before(bench: Bench) -> None:
    bench.hear(("understood", 0.99), ("louder", 0.99), ("slow down", 0.99))
    bench.desk.speaker = voice = Voice()  # type: ignore[assignment]
    bench.desk.speak_as_before(bench.open)
    assert voice.changes == ["louder", "slower"]
