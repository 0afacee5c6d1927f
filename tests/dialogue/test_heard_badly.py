"""Lines of which a part went unheard, and numbers that were too loud for the microphone."""

from datetime import datetime
from typing import TypeVar

import pytest

from fieldvoice.devices.clock import SimulatedClock
from fieldvoice.dialogue.belief.carries_number import has_number
from fieldvoice.jobstate.events import Clip, Entry, Event, LineHeard, ReadingTaken, Said
from fieldvoice.jobstate.state import JobState
from fieldvoice.language.parser import understand
from fieldvoice.procedure.check import load
from fieldvoice.session import Session
from support.bench import START
from support.small_procedure import TEXT

AGAIN = "I was still talking. Say that again."
E = TypeVar("E", bound=Event)


class JobSession:
    """A session on a list for the log and a clock moved by hand."""

    def __init__(self) -> None:
        state, clock = JobState.empty(load(TEXT)), SimulatedClock(START)
        self.entries: list[Entry] = []
        self.session = Session(state, self.append, lambda reply: None, clock.now)
        self.session.begin("bench", {})

    def append(self, event: Event, at: datetime) -> Entry:
        self.entries.append(Entry(len(self.entries) + 1, at, event))
        return self.entries[-1]

    def last(self, kind: type[E]) -> E:
        return [e.event for e in self.entries if isinstance(e.event, kind)][-1]

    def count(self, kind: type[E]) -> int:
        return sum(isinstance(e.event, kind) for e in self.entries)


@pytest.fixture
def job() -> JobSession:
    found = JobSession()
    found.session.hear_line("understood", "typed")
    return found


def readings(state: JobState) -> int:
    return len(state.readings)


def test_a_line_that_was_cut_is_logged_asked_back_and_counts_for_nothing(job: JobSession) -> None:
    before = readings(job.session.state)
    job.session.hear_cut("five hundred microns", AGAIN, Clip("clips/1.wav"))
    heard = job.last(LineHeard)
    assert (heard.words, heard.source, heard.outcome, heard.clip) == (
        "five hundred microns", "voice", "asked-back", "clips/1.wav")
    assert heard.intent["kind"] == "cut-short"
    assert (job.last(Said).text, job.last(Said).tone) == (AGAIN, "question")
    assert readings(job.session.state) == before
    job.session.hear_line("five hundred microns", "voice", 0.99)
    assert readings(job.session.state) == before + 1


def test_an_open_question_stays_open(job: JobSession) -> None:
    job.session.hear_line("five hundred microns", "voice", 0.6)
    question = job.session.state.question
    assert question is not None
    job.session.hear_cut("no", AGAIN)
    assert job.session.state.question == question
    job.session.hear_line("yes", "voice", 0.99)
    assert job.session.state.question is None
    assert isinstance(job.last(ReadingTaken), ReadingTaken)


def test_standing_by_it_asks_nothing(job: JobSession) -> None:
    job.session.hear_line("stand by", "typed")
    said = job.count(Said)
    job.session.hear_cut("five hundred", AGAIN)
    assert job.last(LineHeard).outcome == "ignored"
    assert job.count(Said) == said


def test_a_note_is_not_given_the_half_of_a_line(job: JobSession) -> None:
    job.session.hear_line("take a note", "typed")
    job.session.hear_cut("flare was", AGAIN)
    note = job.session.state.open_note
    assert note is not None
    assert note.words == ()
    assert job.last(LineHeard).outcome == "asked-back"


def test_a_number_that_was_too_loud_is_asked_back(job: JobSession) -> None:
    before = readings(job.session.state)
    job.session.hear_line("five hundred microns", "voice", 0.99, clipped=True)
    assert job.last(LineHeard).outcome == "asked-back"
    assert readings(job.session.state) == before
    job.session.hear_line("yes", "voice", 0.99, clipped=True)  # no number: taken as it is
    assert readings(job.session.state) == before + 1


@pytest.mark.parametrize(("line", "number"), [
    ("five hundred microns", True), ("suction pressure one eighteen", True),
    ("start a five minute hold", True), ("correction four eighty", True),
    ("next", False), ("yes", False), ("where are we", False), ("start the hold", False),
])  # fmt: skip
def test_which_lines_carry_a_number(line: str, number: bool) -> None:
    assert has_number(understand(line)) is number
