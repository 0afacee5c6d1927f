"""Several units in one job: each with its own sheet, and no line taken for a wrong one."""

from __future__ import annotations

import pytest

from fieldvoice.dialogue.units import begin_unit
from fieldvoice.dialogue.units.which_unit import LONG_AGO
from fieldvoice.errors import FieldvoiceError
from fieldvoice.jobstate import events as e
from fieldvoice.procedure.check import load
from fieldvoice.procedure.model import Procedure
from support.job_bench import JobBench
from support.small_procedure import TEXT

OTHER = TEXT.replace("procedure pump-down", "procedure pump-again", 1)
MINUTES_LONG_AGO = LONG_AGO.total_seconds() / 60 + 1


def lookup(name: str) -> Procedure:
    if name != "pump-again":
        raise FieldvoiceError(f"no procedure {name!r}")
    return load(OTHER)


@pytest.fixture
def bench() -> JobBench:
    """One unit, at its first step."""
    bench = JobBench(TEXT, find=lookup)
    bench.say("understood")
    return bench


@pytest.fixture
def two(bench: JobBench) -> JobBench:
    """Two units, both waiting for their vacuum; the second is open."""
    bench.say("new unit two")
    bench.say("understood")
    return bench


def read(bench: JobBench, unit: str) -> list[str]:
    return [v.value for v in bench.events(e.ReadingTaken, unit) if isinstance(v, e.ReadingTaken)]


# --- beginning and opening ----------------------------------------------------------------------


def test_a_new_unit_has_its_own_sheet_and_is_open(bench: JobBench) -> None:
    assert bench.say("vacuum four hundred ten") != ""
    said = bench.say("new unit two")
    assert said.startswith("Unit two: ")
    assert (bench.job.open, bench.job.state.step) == ("unit two", "pull")
    assert not bench.job.state.acknowledged
    assert bench.job.states["unit one"].step == "isolate"


def test_the_opening_words_are_not_given_again_for_the_same_procedure(bench: JobBench) -> None:
    assert "Local code, the equipment's own instructions and" not in bench.say("new unit two")


def test_a_unit_that_was_never_begun_is_begun_only_after_a_yes(bench: JobBench) -> None:
    assert bench.say("unit two") == "Unit two is not open. Begin it? Say yes or no."
    assert list(bench.job.states) == ["unit one"]
    assert bench.say("no") == "All right, not done."
    assert list(bench.job.states) == ["unit one"]
    bench.say("go to unit two")
    assert bench.say("yes").startswith("Unit two: ")
    assert bench.job.open == "unit two"


def test_a_line_for_a_unit_that_was_never_begun_is_refused_and_nothing_logged(
    bench: JobBench,
) -> None:
    said = bench.say("unit five four hundred microns")
    assert said == "Unit five is not open. Say new unit five to begin it."
    assert not bench.events(e.ReadingTaken)


def test_a_reading_in_place_of_a_yes_is_logged_and_the_unit_not_begun(bench: JobBench) -> None:
    bench.say("unit two")
    bench.say("vacuum nine hundred")
    assert read(bench, "unit one") == ["900"]
    assert "Nothing was asked" in bench.say("yes")
    assert list(bench.job.states) == ["unit one"]


def test_a_unit_is_begun_once(two: JobBench) -> None:
    assert two.say("new unit two") == "Unit two was begun already. Say unit two to open it."
    assert two.say("new unit one") == "Unit one was begun already. Say unit one to open it."


def test_opening_a_unit_says_where_it_stands_and_what_it_asks_for(two: JobBench) -> None:
    assert two.say("unit one") == "Unit one, step pull. Run the pump and read the gauge."
    two.say("vacuum four hundred ten")
    said = two.say("unit two")
    assert said.startswith("Unit two, step pull.")
    assert two.say("back to unit one").startswith("Unit one, step isolate. Last vacuum 410 microns")


def test_the_units_are_told_with_step_hold_and_last_reading(two: JobBench) -> None:
    two.say("vacuum four hundred ten")
    two.say("start the hold")
    assert two.say("how are the units", after=60) == (
        "Unit two is open. Unit one, step pull. "
        "Unit two, step isolate. Hold: 9 minutes left. Last vacuum 410 microns.")


def test_indoor_units_and_the_first_of_them(bench: JobBench) -> None:
    bench.say("new indoor two")
    assert bench.say("indoor one").startswith("Indoor one, step pull.")
    assert bench.job.open == "unit one"
    assert bench.say("unit one").startswith("Indoor one")


def test_another_procedure_is_found_by_name_and_its_hash_is_in_the_log(bench: JobBench) -> None:
    bench.say("new unit two pump-again")
    started = bench.events(e.JobStarted, "unit two")[0]
    assert isinstance(started, e.JobStarted)
    assert started.procedure_sha256 == load(OTHER).sha256
    said = bench.say("new unit three no-such")
    assert said.startswith("Unit three was not begun: no procedure 'no-such'")
    assert list(bench.job.states) == ["unit one", "unit two"]


def test_what_holds_for_the_place_is_taken_over_and_the_refrigerant_is_not() -> None:
    bench = JobBench(TEXT, {"altitude": "5280 ft", "refrigerant": "R-410A"})
    bench.say("new unit two")
    assert bench.job.state.facts == {"altitude": "5280 ft"}


def test_what_is_done_already_is_asked_before_the_first_step_opens(
    bench: JobBench, monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(
        begin_unit, "done_once",
        lambda new, others: [e.StepCarried("pull", f"done for {', '.join(others)}")])
    bench.say("new unit two")
    assert bench.job.state.carried == {"pull": "done for unit one"}
    assert bench.job.state.step == "isolate"


# --- which unit a line is for ---------------------------------------------------------------------


def test_a_line_that_names_its_unit_counts_there_without_opening_it(two: JobBench) -> None:
    said = two.say("unit one four hundred ten microns")
    assert said.startswith("Unit one: ")
    assert (read(two, "unit one"), read(two, "unit two")) == (["410"], [])
    assert two.job.open == "unit two"
    assert two.job.states["unit one"].step == "isolate"


def test_a_reading_is_the_open_units_while_it_was_spoken_to_lately(two: JobBench) -> None:
    two.say("vacuum nine hundred")
    assert (read(two, "unit one"), read(two, "unit two")) == ([], ["900"])


def test_a_reading_that_two_wait_for_after_a_long_time_is_asked(two: JobBench) -> None:
    two.wait(minutes=MINUTES_LONG_AGO)
    assert two.say("four hundred ten") == "For which unit? Say unit two or unit one."
    assert not two.events(e.ReadingTaken)
    assert two.say("unit one").startswith("Unit one: ")
    assert (read(two, "unit one"), read(two, "unit two")) == (["410"], [])
    assert two.job.open == "unit two"


def test_a_unit_that_was_never_begun_is_no_answer_to_which(two: JobBench) -> None:
    two.wait(minutes=MINUTES_LONG_AGO)
    two.say("four hundred ten")
    assert two.say("unit seven") == "For which unit? Say unit one or unit two."
    two.say("unit two")
    assert read(two, "unit two") == ["410"]


def test_one_unit_is_never_asked_which(bench: JobBench) -> None:
    bench.wait(minutes=MINUTES_LONG_AGO)
    assert "which unit" not in bench.say("four hundred ten")
    assert read(bench, "unit one") == ["410"]


def test_a_question_which_unit_is_dropped_by_a_no_and_told_when_replaced(two: JobBench) -> None:
    two.wait(minutes=MINUTES_LONG_AGO)
    two.say("four hundred ten")
    assert two.say("no") == "Dropped."
    two.wait(minutes=MINUTES_LONG_AGO)
    two.say("four hundred ten")
    assert "The reading 410 before was dropped: no unit was said." in two.say("where are we")
    assert not two.events(e.ReadingTaken)
    assert two.job.course.question is None


@pytest.mark.parametrize("words", ["take that back", "correction four twenty", "put that back"])
def test_a_repair_after_a_line_for_another_unit_is_asked(two: JobBench, words: str) -> None:
    two.say("vacuum nine hundred")
    two.say("unit one vacuum eight hundred")
    assert two.say(words) == "For which unit? Say unit two or unit one."
    assert not two.events(e.Withdrawn)
    assert not two.events(e.ReadingCorrected)


def test_a_repair_goes_to_the_unit_that_is_then_named(two: JobBench) -> None:
    two.say("vacuum nine hundred")
    two.say("unit one vacuum eight hundred")
    two.say("correction seven fifty")
    two.say("unit one")
    assert [len(v) for v in (two.events(e.ReadingCorrected, u) for u in two.job.states)] == [1, 0]


def test_taking_back_acts_on_the_open_unit_only(two: JobBench) -> None:
    two.say("unit one vacuum eight hundred")
    two.say("vacuum nine hundred")
    assert two.say("take that back").startswith("Took back 900 microns.")
    assert len(two.job.states["unit one"].readings) == 1


def test_two_readings_of_one_quantity_in_one_breath_are_refused(two: JobBench) -> None:
    said = two.say("vacuum 400 vacuum 420")
    assert said.endswith("One vacuum at a time. Say the one number that counts.")
    assert not two.events(e.ReadingTaken)


def test_a_yes_goes_to_the_unit_that_asked_in_the_line_before(two: JobBench) -> None:
    assert two.say("unit one vacuum eight hundred", confidence=0.7).startswith("Unit one: ")
    assert two.say("yes").startswith("Unit one: ")
    assert (read(two, "unit one"), read(two, "unit two")) == (["800"], [])


def test_a_reason_goes_to_the_unit_that_asked_for_it(two: JobBench) -> None:
    assert two.say("unit one skip") == "Unit one: What is the reason? Or say no."
    two.say("the gauge is broken")
    assert two.events(e.StepSkipped, "unit one")
    assert not two.events(e.StepSkipped, "unit two")


def test_after_a_switch_a_yes_does_not_answer_the_unit_that_was_left(two: JobBench) -> None:
    two.say("skip")
    two.say("unit one")
    two.say("no access")
    assert not two.events(e.StepSkipped, "unit two")
    assert two.job.states["unit two"].question is not None


def test_an_acknowledgement_that_two_units_wait_for_is_asked(bench: JobBench) -> None:
    bench.say("new unit two")
    bench.say("new unit three")
    bench.say("unit two what now")
    assert bench.say("understood") == "For which unit? Say unit three or unit two."


def test_a_switch_that_was_not_heard_for_sure_is_asked(two: JobBench) -> None:
    assert two.say("unit one", confidence=0.7) == "Open unit one? Say yes or no."
    assert two.job.open == "unit two"
    two.say("yes")
    assert two.job.open == "unit one"


def test_what_answers_after_another_unit_was_spoken_to_names_the_open_one(two: JobBench) -> None:
    two.say("unit one vacuum eight hundred")
    assert two.say("vacuum nine hundred").startswith("Unit two: ")
    assert not two.say("vacuum eight ninety").startswith("Unit two: ")


# --- the whole job -------------------------------------------------------------------------------


def test_standing_by_and_the_voice_hold_for_the_whole_job(two: JobBench) -> None:
    two.say("louder")
    two.say("stand by")
    assert all(state.standing_by for state in two.job.states.values())
    two.say("unit one vacuum eight hundred")
    assert not two.events(e.ReadingTaken)
    two.say("back to work")
    assert not any(state.standing_by for state in two.job.states.values())
    assert two.job.voice == ("louder",)


def test_a_note_belongs_to_the_open_unit_and_takes_the_names_of_units(two: JobBench) -> None:
    two.say("take a note")
    two.say("unit one")
    two.say("end note")
    assert two.job.open == "unit two"
    assert [n.text for n in two.job.states["unit two"].notes] == ["unit one"]
    assert not two.job.states["unit one"].notes


def test_finishing_closes_one_unit_and_the_job_with_the_last(two: JobBench) -> None:
    two.say("finish the job")
    assert two.say("yes") == "Unit two is finished. Still open: unit one."
    assert not two.job.finished
    assert two.say("next") == "Unit two is finished. Say unit one to go on."
    two.say("unit one")
    two.say("finish the job")
    assert two.say("yes") == "Unit one is finished, and so is the job."
    assert two.job.finished


# --- three standing tests at once ---------------------------------------------------------------


def at_the_hold(bench: JobBench) -> None:
    for unit in ("unit two", "unit three"):
        bench.say(f"new {unit}")
        bench.say("understood")
    for unit in ("one", "two", "three"):
        bench.say(f"unit {unit} vacuum four hundred")


def test_three_standing_tests_overlap_and_each_gets_its_own_verdict(bench: JobBench) -> None:
    at_the_hold(bench)
    bench.say("unit one start the hold")
    bench.say("unit one four hundred five microns")
    bench.wait(minutes=1)
    bench.say("unit two start the hold")
    bench.say("unit two four hundred microns")
    bench.wait(minutes=1)
    bench.say("start the hold")
    bench.say("four hundred two")
    bench.say("unit one four hundred seven microns")
    bench.say("unit two")
    bench.say("five hundred fifty")
    bench.wait(minutes=3)
    bench.say("eight hundred")
    bench.say("unit one four hundred nine microns")
    bench.say("unit three four hundred four microns")
    bench.resume()
    assert bench.refolded().open == "unit two"
    said = bench.wait(minutes=5)
    assert "Unit one: Hold finished: 10 minutes." in said
    assert said.count("Hold finished") == 1
    bench.say("unit one four hundred ten microns")
    bench.wait(minutes=1)
    bench.say("unit two twelve hundred microns")
    said = bench.wait(minutes=1)
    assert "Unit three: Hold finished: 10 minutes." in said
    bench.say("unit three four hundred six microns")
    verdicts = {unit: [r.verdict for r in state.results]
                for unit, state in bench.job.states.items()}
    assert verdicts["unit one"] == ["tight"]
    assert verdicts["unit three"] == ["tight"]
    assert verdicts["unit two"][-1:] != ["tight"]
    assert verdicts["unit two"]


def test_a_reading_after_another_unit_called_for_one_is_asked(bench: JobBench) -> None:
    at_the_hold(bench)
    bench.say("unit one start the hold")
    bench.say("unit one four hundred five microns")
    bench.say("vacuum four hundred one")
    assert read(bench, "unit three")[-1] == "401"
    assert bench.wait(minutes=1) == "Unit one: Minute 1. Vacuum?"
    assert bench.say("four hundred eight") == "For which unit? Say unit three or unit one."
    bench.say("unit one")
    assert read(bench, "unit one")[-1] == "408"


def test_announcements_of_two_units_stay_apart_in_the_order_of_their_time(bench: JobBench) -> None:
    at_the_hold(bench)
    bench.say("unit two start a five minute timer", after=10)
    bench.say("unit one start a five minute timer", after=1)
    bench.now = bench.now.replace(minute=bench.now.minute + 6)
    bench.wait(seconds=1)
    said = [reply.text for reply in bench.replies if "finished" in reply.text]
    assert [text.partition(":")[0] for text in said] == ["Unit two", "Unit one"]


def test_after_a_kill_every_unit_is_as_it_was_and_tells_what_ran_out(two: JobBench) -> None:
    two.say("vacuum four hundred")
    two.say("unit one start a five minute timer")
    two.now = two.now.replace(minute=two.now.minute + 20)
    said = two.resume()
    assert said.startswith("Unit two: Job bench goes on.")
    assert "Unit one: Timer: 5 minutes ran out 15 minutes ago, while away." in said


def test_a_job_whose_open_unit_is_finished_goes_on_with_the_others(two: JobBench) -> None:
    two.say("finish the job")
    two.say("yes")
    assert two.resume() == (
        "Job bench goes on. Unit two is finished. Say unit one to go on.")
