"""Where two features meet: units and facts, depths and jumps; by typed lines, folded anew."""

from __future__ import annotations

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.depths import READINGS_AND_HOLDS
from fieldvoice.language.parser import understand
from fieldvoice.procedure.check import load
from fieldvoice.procedure.reader import shipped
from support.bench import Bench
from support.job_bench import JobBench
from support.small_procedure import TEXT


def hear(bench: JobBench, *lines: str) -> str:
    """Typed lines; after each a fresh process would have the same job."""
    text = ""
    for line in lines:
        text = bench.say(line)
        assert bench.refolded() == bench.job
    return text


def two_units(*lines: str) -> JobBench:
    bench = JobBench(TEXT)
    hear(bench, "understood", *lines, "new unit two", "understood")
    return bench


# --- units and facts ------------------------------------------------------------------------------


def test_a_fact_of_the_place_told_in_one_unit_holds_in_the_others_and_goes_with_it() -> None:
    bench = two_units()
    hear(bench, "altitude is 5280 feet", "technician Ann Lee")
    for state in bench.job.states.values():
        assert state.facts == {"altitude": "5280 ft", "technician": "Ann Lee"}
    hear(bench, "take that back")
    assert [dict(s.facts) for s in bench.job.states.values()] == [{"altitude": "5280 ft"}] * 2
    hear(bench, "altitude is 1000 feet", "take that back")
    assert [dict(s.facts) for s in bench.job.states.values()] == [{"altitude": "5280 ft"}] * 2


def test_a_fact_of_the_equipment_stays_with_its_unit() -> None:
    bench = two_units()
    hear(bench, "unit one refrigerant is R-32", "refrigerant is R-410A")
    assert [s.facts["refrigerant"] for s in bench.job.states.values()] == ["R-32", "R-410A"]
    assert bench.job.open == "unit two"


def test_a_fact_of_the_place_told_before_holds_in_a_new_unit_and_a_restart_keeps_it() -> None:
    bench = two_units("altitude is 5280 feet")
    assert bench.job.state.facts == {"altitude": "5280 ft"}
    bench.resume()
    assert bench.job.states["unit one"].facts == bench.job.state.facts == {"altitude": "5280 ft"}


# --- units and depths -----------------------------------------------------------------------------


def test_a_new_unit_speaks_as_the_one_before_it() -> None:
    bench = JobBench(load(shipped("evacuate-and-release")))
    hear(bench, "readings and holds", "prompt the gates", "louder", "new unit two")
    first, second = bench.job.states.values()
    assert (second.depth, second.prompted, second.voice) == (
        READINGS_AND_HOLDS, first.prompted, first.voice)
    assert second.prompted == {"gates"}
    hear(bench, "every step")
    assert {state.depth for state in bench.job.states.values()} == {"every-step"}


def test_gear_is_not_asked_again_for_the_second_unit_and_the_lockout_is() -> None:
    bench = JobBench(load(shipped("evacuate-and-release")))
    hear(bench, "next", "new unit two")
    assert bench.job.state.carried.keys() == {"gear"}
    assert bench.job.state.step == "power-off"
    assert bench.job.state.unacknowledged() == ["lockout"]


def test_jump_and_carried_test_work_in_the_second_unit_alone() -> None:
    bench = JobBench(load(shipped("evacuate-and-release")))
    hear(bench, "new unit two", "nitrogen test passed yesterday by Lee Park")
    first, second = bench.job.states.values()
    assert second.tests_carried
    assert not first.tests_carried
    hear(bench, "go to evacuation", "yes", "done by others", "same reason")
    first, second = bench.job.states.values()
    assert (len(first.jumps), len(second.jumps)) == (0, 1)
    assert first.step == "gear"


# --- jumps and lists ------------------------------------------------------------------------------


def at_a_list() -> Bench:
    """A step behind others that are only listed."""
    bench = Bench(load(shipped("evacuate-and-release")), depth=READINGS_AND_HOLDS)
    assert bench.state.listed
    return bench


def test_nothing_goes_out_of_turn_over_a_list_that_nobody_answered_for() -> None:
    for line in ("go to evacuation", "skip this stage because no time",
                 "nitrogen test passed yesterday by Lee Park", "skip because no time"):
        bench = at_a_list()
        said = bench.say(understand(line), words=line)
        assert "list done" in said, line
        assert not [*bench.events(e.StepSkipped), *bench.events(e.TestCarried)]
        for after in ("list done", line):
            bench.say(understand(after), words=after)
        assert bench.state.question or bench.events(e.StepSkipped) or bench.events(e.TestCarried)


def test_back_over_a_jump_leads_to_the_step_and_the_list_it_came_from() -> None:
    bench = at_a_list()
    before = bench.state.step
    for line in ("list done", "go to evacuation", "yes", "done by others", "same reason", "back"):
        bench.say(understand(line), words=line)
    assert (bench.state.step, bench.state.left_open) == (before, ())
    assert bench.refolded() == bench.state


def test_what_is_listed_is_open_too() -> None:
    bench = at_a_list()
    said = bench.say(understand("open steps"), words="open steps")
    assert bench.state.listed[0].replace("-", " ") in said


# --- reasons and facts ----------------------------------------------------------------------------


def test_a_reason_that_sounds_like_a_name_is_the_reason() -> None:
    bench = Bench(TEXT)
    for line in ("understood", "skip", "the customer is in a hurry"):
        bench.say(understand(line), words=line)
    assert bench.events(e.StepSkipped)[-1].reason == "the customer is in a hurry"
    assert not bench.events(e.FactTold)


def test_a_line_for_another_unit_can_start_its_hold_with_the_reading() -> None:
    said = understand("unit two start the hold at two ninety")
    assert said.to_dict()["said"]["intent"] == "start-hold-at"
    assert understand("unit 2 note a dent").name() != "for-unit"
