"""The loop: what came in is logged first and answered after, whatever breaks in between."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from fieldvoice.devices.clock import SimulatedClock
from fieldvoice.devices.joblog import JobLog, read_log
from fieldvoice.devices.joblog.lines import FIRST_PREV, write_line
from fieldvoice.dialogue.assistant import Reply
from fieldvoice.jobstate import reducer
from fieldvoice.jobstate.draft import Draft
from fieldvoice.jobstate.events import (
    Clip,
    Entry,
    Event,
    JobFinished,
    JobResumed,
    LineHeard,
    NoteTaken,
    ReadingTaken,
    Said,
    StepSkipped,
    TimerFinished,
    VerdictGiven,
)
from fieldvoice.jobstate.state import JobState, fold
from fieldvoice.language.intents import Next, NotUnderstood, Reading
from fieldvoice.procedure.check import load
from fieldvoice.session import Session
from support.small_procedure import TEXT, TIGHT_JOB

START = datetime(2026, 3, 2, 14, 0, tzinfo=UTC)
EMPTY = JobState.empty(load(TEXT))


class Desk:
    """A session on plain fakes: a list for the log, a list for the mouth, a clock moved by hand."""

    def __init__(self, state: JobState = EMPTY, at: datetime = START) -> None:
        self.clock = SimulatedClock(at)
        self.happened: list[Entry | Reply] = []
        self.first_seq = state.next_seq
        self.session = Session(state, self.append, self.happened.append, self.clock.now)

    def append(self, event: Event, at: datetime) -> Entry:
        entry = Entry(self.first_seq + len(self.entries), at, event)
        self.happened.append(entry)
        return entry

    @property
    def entries(self) -> list[Entry]:
        return [h for h in self.happened if isinstance(h, Entry)]

    @property
    def events(self) -> list[Event]:
        return [entry.event for entry in self.entries]

    @property
    def replies(self) -> list[str]:
        return [h.text for h in self.happened if isinstance(h, Reply)]

    def of(self, kind: type[Event]) -> list[Event]:
        return [event for event in self.events if isinstance(event, kind)]

    def wait(self, seconds: int) -> None:
        for _ in range(seconds):
            self.clock.move(timedelta(seconds=1))
            self.session.tick()

    def say(self, words: str, source: str = "voice", confidence: float | None = 0.99) -> None:
        self.session.hear_line(words, source, None if source == "typed" else confidence)


def begun() -> Desk:
    desk = Desk()
    desk.session.begin("unit-12b", {})
    return desk


def worked(lines: tuple[tuple[int, str], ...] = TIGHT_JOB) -> Desk:
    desk = begun()
    for seconds, words in lines:
        desk.wait(seconds)
        desk.say(words)
    return desk


def test_a_job_worked_by_voice_ends_released_with_a_computed_verdict() -> None:
    desk = worked()
    assert [v.verdict for v in desk.of(VerdictGiven) if isinstance(v, VerdictGiven)] == ["tight"]
    assert desk.of(JobFinished) == [JobFinished("released")]
    values = [r.value for r in desk.of(ReadingTaken) if isinstance(r, ReadingTaken)]
    assert values == ["900", "410", "412", "420", "425", "428", "430"]


def test_every_reply_comes_after_the_events_it_rests_on() -> None:
    desk = begun()
    desk.happened.clear()
    desk.first_seq = desk.session.state.next_seq
    desk.say("understood")
    kinds = [isinstance(h, Reply) for h in desk.happened]
    assert True in kinds
    assert kinds == sorted(kinds)
    assert isinstance(desk.events[0], LineHeard)


def test_every_reply_is_logged_as_said() -> None:
    desk = worked()
    assert len(desk.of(Said)) == len(desk.replies)


def test_the_state_is_the_fold_of_what_was_logged() -> None:
    desk = worked()
    assert fold(EMPTY, desk.entries) == desk.session.state


def test_every_event_is_folded_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folded: list[int] = []
    apply = reducer.apply

    def counted(draft: Draft, entry: Entry) -> None:
        folded.append(entry.seq)
        apply(draft, entry)

    monkeypatch.setattr(reducer, "apply", counted)
    with JobLog.create(tmp_path / "job", TEXT) as log:
        clock = SimulatedClock(START)
        session = Session(EMPTY, log.append, lambda _: None, clock.now)
        session.begin("job", {})
        for seconds, words in TIGHT_JOB[:6]:
            clock.move(timedelta(seconds=seconds))
            session.hear_line(words, "typed")
            session.tick()
    assert folded == [entry.seq for entry in read_log(tmp_path / "job").entries]


def test_a_hold_runs_out_by_ticks_alone() -> None:
    desk = worked(TIGHT_JOB[:4])
    assert not desk.of(TimerFinished)
    desk.wait(601)
    assert desk.of(TimerFinished) == [TimerFinished("hold")]


@pytest.mark.parametrize("good", [0, 1, 2])
def test_when_the_log_fails_nothing_is_answered_and_the_state_holds_what_was_logged(
    good: int,
) -> None:
    desk = begun()
    desk.say("understood")
    entries, replies = len(desk.entries), len(desk.replies)
    append = desk.append

    def fail_after(event: Event, at: datetime) -> Entry:
        if len(desk.entries) >= entries + good:
            raise OSError("disk full")
        return append(event, at)

    desk.session._append = fail_after
    with pytest.raises(OSError, match="disk full"):
        desk.say("nine hundred microns")
    assert len(desk.replies) == replies
    assert len(desk.entries) == entries + good
    assert desk.session.state == fold(EMPTY, desk.entries)


@pytest.mark.parametrize("kept", range(1, len(worked().entries)))
def test_after_a_crash_at_any_event_the_job_goes_on_from_what_is_on_disk(kept: int) -> None:
    logged = worked().entries[:kept]
    state = fold(EMPTY, logged)
    desk = Desk(state, logged[-1].at + timedelta(minutes=2))
    desk.session.resume()
    assert isinstance(desk.events[0], JobResumed)
    desk.say("what now")
    assert desk.session.state.readings[: len(state.readings)] == state.readings
    assert desk.session.state == fold(state, desk.entries)


def test_a_job_resumed_from_disk_has_the_same_state(tmp_path: Path) -> None:
    clock = SimulatedClock(START)
    with JobLog.create(tmp_path / "job", TEXT) as log:
        session = Session(EMPTY, log.append, lambda reply: None, clock.now)
        session.begin("job", {})
        for seconds, words in TIGHT_JOB[:6]:
            clock.move(timedelta(seconds=seconds))
            session.tick()
            session.hear_line(words, "recording", 0.9, Clip("clips/x.wav"))
    assert fold(EMPTY, read_log(tmp_path / "job").entries) == session.state


def test_digits_may_be_typed_but_are_never_heard() -> None:
    desk = begun()
    assert isinstance(desk.session.hear_line("412 microns", "typed"), Reading)
    assert isinstance(desk.session.hear_line("412 microns", "voice", 0.9), NotUnderstood)


def test_a_typed_and_a_spoken_line_mean_the_same() -> None:
    desk = begun()
    assert desk.session.hear_line("next", "typed") == desk.session.hear_line("next", "voice", 0.9)
    assert desk.session.hear_line("next", "typed") == Next()


def test_a_line_heard_keeps_words_source_confidence_and_clip() -> None:
    desk = begun()
    desk.session.hear_line("understood", "voice", 0.83, Clip("clips/000007.wav", "ab12", 46))
    (heard,) = desk.of(LineHeard)
    assert isinstance(heard, LineHeard)
    assert (heard.words, heard.source, heard.confidence, heard.clip) == (
        "understood", "voice", 0.83, "clips/000007.wav",
    )  # fmt: skip
    assert (heard.clip_sha256, heard.clip_bytes) == (
        "ab12", 46,
    )  # fmt: skip


def test_the_reason_for_a_skip_may_be_any_words() -> None:
    desk = begun()
    desk.say("understood", "typed")
    desk.say("skip", "typed")
    assert desk.session.state.expects_free_text
    desk.say("the gauge is broken", "typed")
    skipped = desk.of(StepSkipped)
    assert [s.reason for s in skipped if isinstance(s, StepSkipped)] == ["the gauge is broken"]


def test_a_note_may_be_any_words_until_end_note() -> None:
    desk = begun()
    for words in ("take a note", "valve cap was cracked", "next", "end note"):
        desk.say(words, "typed")
    (note,) = desk.of(NoteTaken)
    assert isinstance(note, NoteTaken)
    assert "valve cap was cracked" in note.text
    assert desk.session.state.step == "pull"


def test_while_standing_by_only_the_way_back_counts() -> None:
    desk = begun()
    for words in ("understood", "stand by", "four hundred microns"):
        desk.say(words)
    assert not desk.of(ReadingTaken)
    for words in ("back to work", "four hundred microns"):
        desk.say(words)
    assert len(desk.of(ReadingTaken)) == 1


def test_the_watcher_sees_each_entry_once_and_in_order() -> None:
    seen: list[int] = []
    watch: Callable[[Entry], None] = lambda entry: seen.append(entry.seq)  # noqa: E731
    desk = Desk()
    session = Session(EMPTY, desk.append, lambda reply: None, desk.clock.now, watch)
    session.begin("job", {})
    session.hear_line("understood", "typed")
    assert seen == [entry.seq for entry in desk.entries]


def test_bytes_that_are_no_character_are_answered_and_can_be_logged() -> None:
    desk = begun()
    before = len(desk.replies)
    desk.say("\udcff\udcfe 412", "typed")
    desk.say("note: \udc80 cap", "typed")
    assert len(desk.replies) > before
    lines = [write_line(entry, 0.0, FIRST_PREV).decode("utf-8") for entry in desk.entries]
    assert any('"text": "? cap"' in line for line in lines)


# --- several ways of hearing ----------------------------------------------------------------------


def test_of_two_ways_to_hear_a_line_the_one_that_the_step_waits_for_counts() -> None:
    desk = Desk()
    desk.session.begin("attic", {})
    desk.session.hear_line("understood", "typed")
    ways = [("volts five hundred fifty", 0.52), ("vacuum five hundred fifty", 0.48)]
    intent = desk.session.hear_line(ways[0][0], "voice", 0.52, None, ways)
    assert intent == Reading(Decimal(550), None, "vacuum")
    line = next(event for event in reversed(desk.events) if isinstance(event, LineHeard))
    assert line.words == "vacuum five hundred fifty"
    assert line.confidence is not None
    assert 0.48 < line.confidence < 0.9


def test_a_doubt_that_changes_no_meaning_asks_nothing() -> None:
    desk = Desk()
    desk.session.begin("attic", {})
    desk.session.hear_line("understood", "typed")
    ways = [("four hundred micron", 0.5), ("four hundred microns", 0.5)]
    desk.session.hear_line(ways[0][0], "voice", 0.5, None, ways)
    assert [e.value for e in desk.events if isinstance(e, ReadingTaken)] == ["400"]
