"""A test held before this job, or in another one: it counts with its date and who held it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from fieldvoice.dialogue import assistant
from fieldvoice.dialogue.assistant import Heard
from fieldvoice.dialogue.expectation import expected
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.earlier_job import EarlierJob, EarlierResult, NoSuchJob
from fieldvoice.language import intents as i
from fieldvoice.language.parser import understand
from fieldvoice.procedure.check import load
from fieldvoice.procedure.reader import shipped
from support.bench import START, Bench

YESTERDAY = START - timedelta(days=1)  # 3 May 2026
WHOLE = "nitrogen test passed yesterday by Lee Park 450 psig 24 h"


def job(name: str = "commission-split-system", site: Mapping[str, str] | None = None) -> Bench:
    return Bench(load(shipped(name)), site)


def hear(bench: Bench, *lines: str, jobs: Mapping[str, EarlierJob] | None = None) -> str:
    """Typed lines; `jobs` are the other jobs that can be read."""

    def look_up(name: str) -> EarlierJob:
        if jobs is None or name not in jobs:
            raise NoSuchJob(f"there is no job {name}")
        return jobs[name]

    for line in lines:
        heard = Heard(understand(line), line, "typed")
        bench.take_in(assistant.handle(bench.state, heard, bench.now, look_up))
        assert bench.refolded() == bench.state
    return bench.text


def at_the_test() -> Bench:
    """A commissioning at the first step of its nitrogen test."""
    bench = job()
    hear(bench, "go to nitrogen test", "yes", "done by others", "same reason")
    assert bench.state.step == "valves-shut"
    return bench


# --- as told ------------------------------------------------------------------------------------


def test_a_test_told_in_one_line_counts_and_the_job_goes_on_behind_it() -> None:
    bench = at_the_test()
    text = hear(bench, WHOLE)
    assert text.startswith("Nitrogen test carried over: passed 3 May, Lee Park. Not measured here.")
    assert bench.state.step == "let-off"  # what may still stand in it is let off with its caution
    told = bench.events(e.TestCarried)
    assert told == [e.TestCarried("nitrogen", "passed", "2026-05-03", "Lee Park", "",
                                  {"told": "450 psig 24 h"}, told[0].line)]
    assert bench.state.carried["test-hold"] == "carried over: passed 3 May, Lee Park"
    assert bench.state.results == ()
    assert bench.state.acknowledged == frozenset()


def test_it_can_be_told_before_the_job_comes_to_it() -> None:
    bench = job("evacuate-and-release")
    hear(bench, WHOLE)
    assert bench.state.step == "gear"
    hear(bench, "go to the pump rig", "yes", "done by others", "same reason")
    assert "tightness" not in [x.step for x in bench.state.left_open]


def test_what_is_missing_is_asked_for_one_by_one() -> None:
    bench = at_the_test()
    assert hear(bench, "nitrogen test is done") == (
        "Did the nitrogen test pass? Say passed or failed.")
    assert "When was the nitrogen test?" in hear(bench, "yes")
    assert "When was it?" in hear(bench, "banana")
    assert hear(bench, "yesterday") == "Who held the nitrogen test? Say or type the name."
    assert "passed 3 May, Lee Park" in hear(bench, "Lee Park")


def test_help_and_the_recognizer_know_what_is_waited_for() -> None:
    bench = at_the_test()
    hear(bench, "nitrogen test is done")
    assert "passed; failed; or no." in hear(bench, "help")
    assert expected(bench.state).options == ("passed", "failed")
    hear(bench, "passed")
    assert "yesterday; two days ago; or no." in hear(bench, "help")
    assert "said-when" in expected(bench.state).intents
    hear(bench, "yesterday")
    assert "the name; no; or" in hear(bench, "help")


def test_a_name_that_is_only_sound_is_kept_as_sound() -> None:
    bench = at_the_test()
    hear(bench, "nitrogen test passed yesterday")
    bench.say(i.NotUnderstood("?", "unknown"), confidence=0.4, words="[unk]", clip="clips/9.wav")
    assert bench.text == "Is that the name: what you said? Say yes or no."
    hear(bench, "yes")
    assert bench.events(e.TestCarried)[-1].by == "name kept as sound"


def test_what_the_technician_of_this_job_held_needs_no_name() -> None:
    assert "passed 3 May, the technician of this job" in hear(
        at_the_test(), "we did the nitrogen test yesterday", "passed")


@pytest.mark.parametrize(("line", "said"), [
    ("nitrogen test failed yesterday by Lee", "A failed nitrogen test is not carried over."),
    ("nitrogen test passed 2026-05-05 by Lee", "5 May is still to come."),
    ("nitrogen test passed 2026-13-45 by Lee", "2026-13-45 is no date."),
    ("nitrogen test passed 2026-02-30 by Lee", "2026-02-30 is no date."),
    ("nitrogen test from job no-such", "Not carried over: there is no job no-such."),
    ("nitrogen test from job bench", "Not carried over: that is this job."),
])
def test_what_cannot_count_is_refused_with_the_reason(line: str, said: str) -> None:
    bench = at_the_test()
    assert said in hear(bench, line)
    assert (bench.events(e.TestCarried), bench.state.step) == ([], "valves-shut")
    assert bench.state.question is None


def test_a_no_to_did_it_pass_or_a_failed_one_carries_nothing() -> None:
    for answer in ("no", "failed"):
        bench = at_the_test()
        assert "not carried over" in hear(bench, "nitrogen test done yesterday", answer)
        assert bench.events(e.TestCarried) == []


def test_an_old_test_is_asked_about() -> None:
    bench = at_the_test()
    assert hear(bench, "nitrogen test passed 2026-01-04 by Lee") == (
        "That was 120 days ago. Was nothing opened since? Say yes or no.")
    assert hear(bench, "no").startswith("All right, not carried over.")
    hear(bench, "nitrogen test passed 2026-01-04 by Lee", "yes")
    assert bench.events(e.TestCarried)[-1].at == "2026-01-04"


def test_a_procedure_without_that_test_refuses_it() -> None:
    assert "This procedure has no standing test to carry over." in hear(
        job("nitrogen-test"), "standing test passed yesterday by Lee")


def test_what_was_measured_here_is_not_replaced() -> None:
    bench = at_the_test()
    bench.happen(e.VerdictGiven("nitrogen", "failed", {}, "test-hold"))
    assert "It was held here: failed. What was measured here counts." in hear(bench, WHOLE)


def test_a_running_hold_comes_first() -> None:
    bench = job("nitrogen-test")
    hear(bench, "go to first stage", "yes", "done by others", "same reason", "understood",
         "understood", "75 psig", "start the hold")
    assert bench.state.hold is not None
    assert "Say stop the hold first" in hear(bench, WHOLE)


def test_the_verdict_says_that_it_was_not_measured_here() -> None:
    bench = at_the_test()
    hear(bench, WHOLE)
    assert hear(bench, "what's the verdict") == (
        "The nitrogen test was not measured here. It was carried over: passed 3 May, Lee Park.")


def test_a_carried_over_test_is_taken_back_whole_and_put_back_whole() -> None:
    bench = at_the_test()
    hear(bench, WHOLE)
    assert hear(bench, "undo").startswith("Took back the carried-over test.")
    assert bench.state.step == "valves-shut"
    assert (bench.state.tests_carried, dict(bench.state.carried)) == ((), {})
    hear(bench, "put that back")
    assert bench.state.step == "let-off"
    assert len(bench.state.tests_carried) == 1


def test_who_goes_to_the_test_after_all_holds_it_here() -> None:
    bench = at_the_test()
    hear(bench, WHOLE, "back to the nitrogen test")
    assert bench.state.step == "valves-shut"
    assert "test-hold" not in bench.state.carried


def test_the_test_after_a_repair_is_a_new_one_and_never_carried() -> None:
    bench = at_the_test()
    hear(bench, WHOLE)
    assert not [name for name in bench.state.carried if name.startswith("retest-")]
    assert not {"search", "gaining", "repair", "let-off", "test-tag"} & bench.state.carried.keys()


def test_a_standing_test_asks_to_see_that_it_still_stands() -> None:
    bench = job("release-and-close")
    text = hear(bench, "standing test passed yesterday by Mo")
    assert "See that it still stands under vacuum." in text
    assert "held" in bench.state.carried


# --- from another job -----------------------------------------------------------------------------


def earlier(verdict: str = "tight", at: datetime = YESTERDAY, **more: object) -> EarlierJob:
    result = EarlierResult("decay", verdict, at, {"Final": "310 microns"})
    return replace(EarlierJob("unit-12b", "ab12", "Lee Park", {"decay": result}), **more)


def test_a_result_is_read_from_the_other_jobs_log_with_its_hash() -> None:
    bench = job("release-and-close")
    text = hear(bench, "standing test from job unit-12b", jobs={"unit-12b": earlier()})
    assert "tight 3 May, Lee Park, job unit-12b. Not measured here." in text
    told = bench.events(e.TestCarried)[-1]
    assert (told.source, told.figures) == (
        "unit-12b", {"Final": "310 microns", "log": "ab12"})


@pytest.mark.parametrize(("other", "said"), [
    (earlier("leaking"), "there it ended leaking"),
    (earlier(results={}), "job unit-12b has no standing test result"),
    (earlier(results={}, carried=("decay",)), "carried it over itself: name the job that measured"),
    (earlier(facts={"refrigerant": "R-32"}), "refrigerant there R-32, here R-410A"),
    (earlier(si={"refrigerant-amount": 9.9}), "refrigerant amount on the plate there is another"),
    (earlier(at=START + timedelta(days=2)), "6 May is still to come"),
])
def test_a_result_of_another_system_or_a_bad_one_is_refused(other: EarlierJob, said: str) -> None:
    bench = job("release-and-close", {"refrigerant": "R-410A"})
    hear(bench, "refrigerant amount 5 lb")
    assert said in hear(bench, "standing test from job unit-12b", jobs={"unit-12b": other})
    assert bench.events(e.TestCarried) == []


def test_two_spellings_of_one_refrigerant_are_one() -> None:
    bench = job("release-and-close", {"refrigerant": "R-410A"})
    hear(bench, "standing test from job unit-12b",
         jobs={"unit-12b": earlier(facts={"refrigerant": "R410A"})})
    assert len(bench.events(e.TestCarried)) == 1
