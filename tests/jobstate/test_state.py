"""The job state is the fold of its events, whatever is said and in whatever pieces it is folded."""

from __future__ import annotations

import json
import random
from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fieldvoice.dialogue import assistant
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.state import JobState, fold
from fieldvoice.language import intents as i
from fieldvoice.procedure.check import load
from fieldvoice.procedure.reader import shipped
from support.bench import START, Bench
from support.every_sort import TEXT, at
from support.walker import Walker, edges

QUANTITIES = (None, "vacuum", "suction-pressure", "outdoor-temperature", "nitrogen-pressure")
UNITS = (None, "microns", "psig", "degF", "ft", "torr", "pounds", "nonsense")
LABELS = (None, "hold", "nitrogen", "oil")
OPTIONS = ("flammable", "not-flammable", "break-with-nitrogen", "wet")

decimals = st.decimals(-100, 40000, places=1) | st.sampled_from(
    [Decimal(n) for n in (5, 70, 118, 300, 412, 455)])
spans = st.integers(-5, 3600).map(lambda s: timedelta(seconds=s))
units, quantities = st.sampled_from(UNITS), st.sampled_from(QUANTITIES)
labels = st.sampled_from(LABELS)
readings = st.builds(i.Reading, decimals, units, quantities)
intents = st.one_of(
    readings,
    st.builds(i.Readings, st.lists(readings, min_size=1, max_size=3).map(tuple)),
    st.builds(i.Correction, decimals, units),
    st.builds(i.ChangeReading, st.sampled_from(QUANTITIES[1:]), decimals, units),
    st.builds(i.Choose, st.sampled_from(OPTIONS)),
    st.builds(i.Skip, st.sampled_from([None, "no time"])),
    st.builds(i.StartHold, st.none() | spans),
    st.builds(i.StartTimer, spans, labels),
    st.builds(i.AddTime, spans, labels),
    st.builds(i.StopTimer, labels),
    st.builds(i.HowLongLeft, labels),
    st.builds(i.AskLast, quantities),
    st.builds(i.AskForecast, st.none() | decimals, units),
    st.builds(i.ChangeVoice, st.sampled_from(["louder", "quiet"])),
    st.builds(i.Note, st.just("scratched cap")),
    st.builds(i.GoTo, st.sampled_from([None, "evacuation"]),
              st.sampled_from(["evacuate", "close out", "banana"]),
              st.sampled_from([None, "back"])),
    st.builds(i.SkipStage, st.sampled_from([None, "no access"])),
    st.builds(i.CarryTest, st.sampled_from(["nitrogen-test", "standing-test"]),
              st.sampled_from([None, "passed", "failed"]),
              st.sampled_from([None, "1 days ago", "2026-13-01"]),
              st.sampled_from([None, "Lee"])),
    st.builds(i.Because, st.sampled_from(["same reason", "the unit's manual says so"])),
    st.sampled_from([i.SaidWhen("1 days ago"), i.AskSkipped()]),
    st.builds(i.NotUnderstood, st.just("What?"), st.sampled_from(["unknown", "two-ways"])),
    st.sampled_from([
        i.TakeBack(), i.PutBack(), i.PutBack(), i.AskElapsed(), i.Yes(), i.No(),
        i.Understood(), i.Next(), i.Back(), i.Repeat(),
        i.WhatNow(), i.WhereAreWe(), i.Why(), i.NotApplicable(), i.StartNote(), i.EndNote(),
        i.AskVerdict(), i.AskTargetSuperheat(), i.AskSuperheat(), i.AskSubcooling(),
        i.AskCharge(), i.AskBoilingPoint(), i.Help(), i.StandBy(), i.BackToWork(), i.FinishJob(),
    ]),
)
turns = st.tuples(intents, st.none() | st.floats(0, 1), st.integers(0, 400))


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.lists(turns, min_size=1, max_size=200))
def test_whatever_is_said_the_sheet_is_the_fold_of_its_log(
    said: list[tuple[i.Intent, float | None, int]],
) -> None:
    bench = Bench(TEXT)
    for intent, confidence, seconds in said:
        bench.say(intent, confidence=confidence)
        bench.wait(seconds=seconds)
    assert bench.refolded() == bench.state
    assert [v.seq for v in bench.log] == list(range(1, len(bench.log) + 1))


@settings(max_examples=30, deadline=None)
@given(st.lists(turns, min_size=1, max_size=30))
def test_every_turn_that_is_not_ignored_is_answered(
    said: list[tuple[i.Intent, float | None, int]],
) -> None:
    bench = Bench(TEXT)
    for intent, confidence, _ in said:
        quiet = bench.state.standing_by or bench.state.open_note is not None
        bench.say(intent, confidence=confidence)
        line = bench.events(e.LineHeard)[-1]
        assert bench.replies or quiet or line.outcome == "ignored"


def test_events_come_back_from_json_as_they_were() -> None:
    procedure = load(shipped("evacuate-and-release"))
    walker = Walker(procedure)
    walker.walk(next(v for v in edges(procedure) if v[1] == "wet"))
    back = [
        e.Entry(v.seq, v.at, e.Event.from_dict(
            v.event.kind, json.loads(json.dumps(v.event.to_dict(), allow_nan=False))))
        for v in walker.bench.log
    ]
    state = fold(JobState.empty(procedure), back)
    assert state.step == walker.bench.state.step
    assert state.readings == walker.bench.state.readings
    assert state.undoable == walker.bench.state.undoable
    assert [r.verdict for r in state.results] == [r.verdict for r in walker.bench.state.results]


def test_folding_in_pieces_is_folding_at_once() -> None:
    procedure = load(shipped("evacuate-and-release"))
    walker = Walker(procedure)
    walker.walk(next(v for v in edges(procedure) if v[1] == "leaking"))
    log = walker.bench.log
    chance = random.Random(7)
    state, done = JobState.empty(procedure), 0
    while done < len(log):
        size = chance.randint(1, 40)
        state = fold(state, log[done:done + size])
        done += size
    assert state == walker.bench.state


def test_a_state_stays_as_it_was_when_more_is_folded_into_another() -> None:
    bench = Bench(TEXT)
    states = [JobState.empty(bench.procedure)]
    for intent in (
        i.Understood(), i.Next(), i.Choose("flammable"), i.Next(),
        i.Reading(Decimal(70), "degF", None), i.Reading(Decimal(900), "microns", None),
        i.Correction(Decimal(450)), i.StartHold(), i.Back(), i.PutBack(), i.TakeBack(),
        i.StartTimer(timedelta(minutes=5), "oil"), i.Note("a note"), i.TakeBack(), i.PutBack(),
    ):
        bench.say(intent)
    for entry in bench.log:
        states.append(fold(states[-1], [entry]))
    assert states[-1].history.withdrawals
    for length, state in enumerate(states):
        assert state == fold(JobState.empty(bench.procedure), bench.log[:length])
        assert state.readings == fold(JobState.empty(bench.procedure), bench.log[:length]).readings


def test_what_was_taken_back_already_cannot_be_taken_back_again() -> None:
    bench = at(Bench(TEXT), "pull")
    bench.read(900)
    bench.read(450)  # done with that, and on to the next step
    bench.say(i.StartTimer(timedelta(minutes=5), "oil"))
    bench.say(i.Back())  # the step counts no more as done; its reading does
    assert [line.kind for line in bench.state.undoable][-2:] == ["reading-taken", "timer-started"]
    withdrawn = bench.state.history.withdrawn
    assert not [s for line in bench.state.undoable for s in line.seqs if s in withdrawn]


def test_a_damaged_log_is_refused_for_work_and_read_as_far_as_it_goes_for_a_reader() -> None:
    empty = JobState.empty(load(TEXT))
    whole = [
        e.Entry(1, START, e.JobStarted("bench", "every-sort", "", "0", {})),
        e.Entry(2, START, e.StepOpened("evacuate", "pull")),
        e.Entry(5, START, e.ReadingTaken("vacuum", "900", "microns", 120.0, "Pa", "pull")),
        e.Entry(6, START, e.TimerStarted("oil", 60.0, "no time")),
        e.Entry(7, START, e.NoteTaken("a note")),
    ]
    with pytest.raises(ValueError, match="event 5 follows 2"):
        fold(empty, whole)
    with pytest.raises(ValueError, match="no time"):
        fold(fold(empty, whole[:3], lenient=True), whole[3:])
    state = fold(empty, whole, lenient=True)
    assert [r.now.said for r in state.readings] == ["900"]
    assert (len(state.timers), state.notes[0].text, state.next_seq) == (0, "a note", 8)


def test_before_a_job_has_begun_nothing_is_done() -> None:
    state = JobState.empty(load(TEXT))
    for intent in (i.Next(), i.Skip(), i.Reading(Decimal(412), "microns"), i.TakeBack()):
        outcome = assistant.handle(state, assistant.Heard(intent, "words", "typed"), START)
        assert [r.text for r in outcome.replies] == ["No job has begun."]
    assert assistant.handle(state, assistant.Tick(), START).events == ()


def test_a_gap_in_the_log_is_refused() -> None:
    state = JobState.empty(load(TEXT))
    with pytest.raises(ValueError, match="event 2 follows 0: the log has a gap"):
        fold(state, [e.Entry(2, START, e.BackAtWork())])


def test_an_event_of_a_newer_kind_of_log_does_no_harm() -> None:
    class SomethingNew(e.Event):
        """Not known to the fold."""

    state = fold(JobState.empty(load(TEXT)), [e.Entry(1, START, SomethingNew())])
    assert state.next_seq == 2
    del e.KINDS["something-new"]


def test_the_figures_of_a_verdict_are_as_json_gives_them() -> None:
    given = e.VerdictGiven("forecast", "soon", {"readings": ({"minutes": 1.0}, (2, 3))})
    back = e.Event.from_dict(given.kind, json.loads(json.dumps(given.to_dict())))
    assert back == given
