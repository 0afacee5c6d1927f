"""Fewer lines, the same log: what an inspector wants is in it at every depth."""

from __future__ import annotations

from functools import cache

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.depths import DEPTHS, EVERY_STEP, LIMITS_ONLY, READINGS_AND_HOLDS
from support.bench import Bench
from support.trouble_free import METERING, lines, worked

MOST_LINES = 60
METERS = pytest.mark.parametrize("metering", METERING)
FEW = pytest.mark.parametrize("depth", [READINGS_AND_HOLDS, LIMITS_ONLY])


@cache
def _job(depth: str, metering: str) -> Bench:
    return worked(lines(depth, metering), depth)


def _done(bench: Bench) -> list[str]:
    return [v.step for v in bench.events(e.StepDone)]  # type: ignore[attr-defined]


def _content(bench: Bench) -> dict[str, list[tuple[object, ...]]]:
    """What happened, but for how it was told."""
    found: dict[str, list[tuple[object, ...]]] = {}
    for entry in bench.log:
        match entry.event:
            case e.StepDone(step=step):
                found.setdefault("done", []).append((step,))
            case e.StepSkipped(step=step, reason=reason):
                found.setdefault("skipped", []).append((step, reason))
            case e.CautionAcknowledged(caution=caution):
                found.setdefault("acknowledged", []).append((caution,))
            case e.BranchTaken(step=step, option=option, to=to):
                found.setdefault("ways", []).append((step, option, to))
            case e.VerdictGiven(about=about, verdict=verdict, step=step):
                found.setdefault("verdicts", []).append((about, verdict, step))
            case e.ReadingTaken(quantity=quantity, value=value, unit=unit, step=step, hold=hold,
                                within=within):
                found.setdefault("readings", []).append(
                    (quantity, value, unit, step, hold, within))
            case e.TimerStarted(label=label, seconds=seconds):
                found.setdefault("timers", []).append((label, seconds))
    return found


@METERS
@FEW
def test_the_log_holds_the_same(depth: str, metering: str) -> None:
    job, every = _job(depth, metering), _job(EVERY_STEP, metering)
    assert job.state.ending == every.state.ending == "commissioned"
    assert _content(job) == _content(every)


@METERS
@FEW
def test_a_commissioning_without_trouble_takes_at_most_60_lines(depth: str, metering: str) -> None:
    assert len(_job(depth, metering).events(e.LineHeard)) <= MOST_LINES
    assert len(_job(EVERY_STEP, metering).events(e.LineHeard)) > 2 * MOST_LINES


@METERS
@pytest.mark.parametrize("depth", DEPTHS)
def test_no_step_is_done_before_the_line_that_confirms_it(depth: str, metering: str) -> None:
    job = _job(depth, metering)
    heard = {v.seq for v in job.log if isinstance(v.event, e.LineHeard)}
    for entry in job.log:
        if isinstance(entry.event, e.StepDone) and entry.event.line is None:
            hold = job.procedure.step(entry.event.step).hold
            assert hold is not None  # it ran out
            assert not entry.event.listed
        elif isinstance(entry.event, e.StepDone | e.CautionAcknowledged | e.ReadingTaken):
            assert entry.event.line in heard
            assert entry.event.line == max(seq for seq in heard if seq < entry.seq)


@METERS
@FEW
def test_each_gate_and_each_caution_to_acknowledge_has_a_line_of_a_word_for_it(
    depth: str, metering: str
) -> None:
    job = _job(depth, metering)
    words = {v.seq: v.event.words for v in job.log if isinstance(v.event, e.LineHeard)}
    for entry in job.log:
        if isinstance(entry.event, e.CautionAcknowledged):
            assert "understood" in words[entry.event.line]
        elif isinstance(entry.event, e.StepDone) and job.procedure.step(entry.event.step).gate:
            step = job.procedure.step(entry.event.step)
            said = words[entry.event.line]
            waited = bool(step.needs or step.hold)
            assert waited or "done" in said or said.startswith("start the hold")


@METERS
def test_what_is_listed_is_named_before_the_line_that_confirms_it(metering: str) -> None:
    job = _job(READINGS_AND_HOLDS, metering)
    named: dict[str, int] = {}
    for entry in job.log:
        if isinstance(entry.event, e.StepsListed):
            named |= dict.fromkeys(entry.event.steps, entry.seq)
        if isinstance(entry.event, e.StepDone) and entry.event.listed:
            assert named[entry.event.step] < entry.seq


def test_only_limits_cautions_timers_and_questions_are_spoken_at_the_last_depth() -> None:
    job = _job(LIMITS_ONLY, "fixed-orifice")
    said = [v.event for v in job.log if isinstance(v.event, e.Said)]
    aloud = [v for v in said if v.aloud]
    prompts = [v.text for v in aloud if v.tone == "prompt"]
    assert {v.tone for v in said if not v.aloud} == {"prompt"}
    words = [text for text in prompts if text.startswith("Say understood")]
    assert len(words) == 7  # the word for each caution is a part of it
    assert [text for text in prompts if text not in words] == [
        "Final nitrogen pressure and ambient temperature?", "Final vacuum?",
        "Commissioned. Job finished."]
    assert not [v.text for v in aloud if "inside the limit" in v.text]
