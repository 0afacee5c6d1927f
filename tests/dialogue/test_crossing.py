"""Where the work goes from one stage to another, the log says so, by names that all jobs share."""

from __future__ import annotations

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i
from fieldvoice.procedure.check import load
from fieldvoice.procedure.reader import shipped, shipped_names
from fieldvoice.procedure.stage_check import spoken_names
from support import every_sort
from support.bench import Bench


def crossed(bench: Bench) -> list[tuple[str, ...]]:
    return [(v.event.kind, v.event.stage, getattr(v.event, "outcome", "")) for v in bench.log
            if isinstance(v.event, e.StageEntered | e.StageLeft)]


@pytest.mark.parametrize("name", shipped_names())
def test_every_shipped_stage_has_a_name_that_all_jobs_share(name: str) -> None:
    stages = load(shipped(name)).stages.values()
    assert [s.name for s in stages if s.everywhere not in spoken_names()] == []


def test_a_stage_is_entered_before_its_first_step_and_left_before_the_next_one() -> None:
    bench = every_sort.at(Bench(every_sort.TEXT), "stand")
    assert crossed(bench) == [
        ("stage-entered", "ready", ""), ("stage-left", "ready", "done"),
        ("stage-entered", "evacuate", "")]
    kinds = [v.event.kind for v in bench.log]
    assert kinds.index("stage-entered") < kinds.index("step-opened")


def test_a_verdict_that_leads_back_and_the_end_of_the_job_leave_the_stage() -> None:
    bench = every_sort.at(Bench(every_sort.TEXT), "stand")
    every_sort.run_hold(bench, every_sort.TIGHT, 455)
    every_sort.at(bench, "finish-up")
    bench.say(i.Next())
    assert bench.state.finished
    assert crossed(bench)[-2:] == [("stage-entered", "close", ""), ("stage-left", "close", "done")]
    assert bench.state.in_stage is None


def test_going_back_over_the_border_leaves_the_stage_back() -> None:
    bench = every_sort.at(Bench(every_sort.TEXT), "pull")
    bench.say(i.Back())
    assert bench.state.open_step.stage == "ready"
    assert crossed(bench)[-2:] == [("stage-left", "evacuate", "back"),
                                   ("stage-entered", "ready", "")]


def test_taking_back_and_putting_back_over_the_border_is_told_each_time() -> None:
    bench = every_sort.at(Bench(every_sort.TEXT), "pull")
    bench.say(i.TakeBack())
    assert bench.state.in_stage == bench.state.open_step.stage == "ready"
    bench.say(i.PutBack())
    assert bench.state.in_stage == bench.state.open_step.stage == "evacuate"
    assert bench.refolded() == bench.state


def test_a_log_without_stages_goes_on_with_the_one_that_is_open() -> None:
    bench = every_sort.at(Bench(every_sort.TEXT), "pull")
    kept = [v.event for v in bench.log if not isinstance(v.event, e.StageEntered | e.StageLeft)]
    bench.log = [e.Entry(n, bench.now, event) for n, event in enumerate(kept, 1)]
    bench.resume()
    assert isinstance(bench.state, JobState)
    assert bench.state.in_stage == "evacuate"
