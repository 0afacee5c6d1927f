"""Work that stops anywhere in the whole commissioning: where it goes on, back, and skipped."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from functools import cache

import pytest

from fieldvoice.dialogue import prompts
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Entry
from fieldvoice.jobstate.state import JobState, fold
from fieldvoice.language import intents as i
from fieldvoice.procedure.check import load
from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.reader import shipped
from support.bench import Bench
from support.made_once import made_once
from support.transcripts import FOLDER, replay
from support.walker import Walker, edges

TRANSCRIPT = FOLDER / "commissioning.txt"
Moment = tuple[str, bool, list[Entry]]  # step, whether a hold runs, the log so far


@cache
def _procedure() -> Procedure:
    return load(shipped("commission-split-system"))


@cache
def _moments() -> dict[str, Moment]:
    """The log as it stands in the middle of every step, and of every hold."""
    return made_once("moments", _worked)


def _worked() -> dict[str, Moment]:
    _, kept = replay(TRANSCRIPT.read_text(encoding="utf-8"))
    found = dict(_stops(kept.log))
    seen = {step for step, _, _ in found.values()}
    for edge in edges(_procedure()):  # the steps that the kept job has no need of
        if edge[0] not in seen and edge[1] != "passed over":
            walker = Walker(_procedure())
            walker.walk(edge)
            found = dict(_stops(walker.bench.log)) | found
            seen = {step for step, _, _ in found.values()}
    return found


def _stops(log: list[Entry]) -> Iterator[tuple[str, Moment]]:
    """Between any two lines and before a timer runs out, by the step that is open then."""
    state = JobState.empty(_procedure())
    for place, entry in enumerate(log):
        if isinstance(entry.event, e.LineHeard | e.TimerFinished) and state.step is not None:
            held = state.hold is not None and state.hold.running
            name = f"{state.step}{' in its hold' if held else ''}"
            yield name, (state.step, held, log[:place])
        state = fold(state, [entry])


def _stopped(name: str) -> Bench:
    """A fresh process twenty minutes after the work stopped there."""
    _, _, log = _moments()[name]
    bench = Bench(_procedure())
    bench.log, bench.now = list(log), log[-1].at + timedelta(minutes=20)
    return bench


NAMES = [name for s in _procedure().steps for name in (
    s.name, *([f"{s.name} in its hold"] if s.hold else []))]


def test_the_work_is_stopped_in_every_step_and_in_every_hold() -> None:
    steps = _procedure().steps
    assert set(NAMES) == set(_moments())
    assert {step for step, _, _ in _moments().values()} == {s.name for s in steps}
    held = {step for step, in_hold, _ in _moments().values() if in_hold}
    assert held == {s.name for s in steps if s.hold}


@pytest.mark.parametrize("name", NAMES)
def test_going_on_says_where_it_stands_and_what_comes_next(name: str) -> None:
    step, held, _ = _moments()[name]
    bench = _stopped(name)
    before = bench.refolded()
    said = bench.resume()
    stage = _procedure().stages[_procedure().step(step).stage].title
    assert said.startswith(f"Job bench goes on. {stage}, step {step.replace('-', ' ')}.")
    assert bench.state.step == step or held  # a hold that ran out meanwhile may lead on
    assert "ran out" in said or not held or bench.state.hold is not None
    waits, now_open = before.unacknowledged(), bench.state.open_step
    assert now_open is not None
    if waits:
        assert _procedure().cautions[waits[0]].text in said
    elif bench.state.hold is None:
        assert prompts.fill(now_open.say, bench.state, bench.now) in said
    else:
        assert "Final " in said or prompts.waits_for(bench.state) in said
        assert now_open.say not in said  # it was started long ago
    assert " 0 seconds" not in said
    assert bench.refolded() == bench.state


@pytest.mark.parametrize("name", NAMES)
def test_what_was_read_before_the_stop_still_counts(name: str) -> None:
    _, _, log = _moments()[name]
    bench = _stopped(name)
    bench.resume()
    assert [t.seq for t in bench.state.readings] == [t.seq for t in _state(log).readings]
    assert bench.state.branches[:len(_state(log).branches)] == _state(log).branches


def _state(log: list[Entry]) -> JobState:
    return fold(JobState.empty(_procedure()), log)


@pytest.mark.parametrize("name", NAMES[3:])
def test_after_the_stop_one_can_still_go_back(name: str) -> None:
    bench = _stopped(name)
    bench.resume()
    at = bench.state.step
    if bench.state.question is not None:
        bench.say(i.No())
    bench.say(i.Back())
    assert bench.text.startswith("Back one step.")
    assert bench.state.step != at or bench.state.visits[str(at)] > 1
    assert not (bench.state.hold and bench.state.hold.running)
    assert bench.refolded() == bench.state


@pytest.mark.parametrize("name", NAMES)
def test_after_the_stop_the_step_can_be_skipped_with_a_reason_that_is_kept(name: str) -> None:
    bench = _stopped(name)
    bench.resume()
    if bench.state.question is not None:
        bench.say(i.No())
    step = bench.state.open_step
    assert step is not None
    asked = bench.say(i.Skip())
    assert asked == "What is the reason? Or say no."
    bench.say(i.NotUnderstood("?"), words="the office wants it so")
    if step.gate:
        assert bench.replies[-1].tone == "question"
        bench.say(i.Yes())
    skipped = [v for v in bench.events(e.StepSkipped) if isinstance(v, e.StepSkipped)]
    assert ("the office wants it so", step.name) in [(v.reason, v.step) for v in skipped]
    assert bench.state.finished or bench.state.step != step.name or len(bench.state.visits) > 1
    assert bench.refolded() == bench.state
