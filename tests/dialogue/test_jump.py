"""Going to a stage out of turn: what it leaves undone is said, and what protects keeps a reason."""

from __future__ import annotations

from datetime import timedelta

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from fieldvoice.language.parser import understand
from fieldvoice.procedure.check import load
from fieldvoice.procedure.reader import shipped
from support.bench import Bench
from support.every_sort import TEXT, at

NAMED = TEXT.replace('stage evacuate "Evacuate"', 'stage evacuate "Evacuate" called evacuation') \
    .replace('stage repair "Repair"',
             'stage repair "Repair" called repair needs nitrogen-pressure at most low') \
    .replace('stage close "Close out"', 'stage close "Close out" called close-out')


def hear(bench: Bench, *lines: str) -> str:
    """Typed lines; returns what the last one brought."""
    text = ""
    for line in lines:
        text = bench.say(understand(line), words=line)
        assert bench.refolded() == bench.state
    return text


def job(name: str) -> Bench:
    return Bench(load(shipped(name)))


def skipped(bench: Bench) -> list[tuple[str, str]]:
    return [(x.step, x.reason) for x in bench.state.trail if x.skipped and x.line is not None]


# --- forward ------------------------------------------------------------------------------------


def test_a_jump_says_in_one_sentence_what_it_leaves_undone_and_waits_for_a_yes() -> None:
    bench = at(Bench(NAMED), "class")
    text = hear(bench, "go to close out")
    assert text == ("That leaves 5 steps undone in Make ready and Evacuate; 1 protects you or the "
                    "system: stand. Go to Close out? Say yes or no.")
    assert bench.state.step == "class"
    assert hear(bench, "no").startswith("All right, we stay.")
    assert (bench.state.step, skipped(bench)) == ("class", [])


def test_each_protective_step_keeps_its_own_reason_and_every_step_is_an_event() -> None:
    bench = Bench(NAMED)
    assert hear(bench, "go to close out", "yes") == (
        "Why is lock left undone, and 1 more? Say the reason, or no.")
    assert "Why is stand left undone? Say the reason, or no. Or same reason" in hear(
        bench, "done by others")
    text = hear(bench, "the customer is in a hurry")
    assert text.startswith("6 steps left undone: done by others; the customer is in a hurry.")
    assert skipped(bench) == [
        ("lock", "done by others"), ("class", "jumped over, to Close out"),
        ("clear-area", "jumped over, to Close out"), ("outdoor", "jumped over, to Close out"),
        ("pull", "jumped over, to Close out"), ("stand", "the customer is in a hurry")]
    assert bench.state.step == "finish-up"
    jump = bench.events(e.Jumped)[-1]
    assert (jump.step, jump.origin, jump.back) == ("finish-up", "lock", False)


def test_the_same_reason_can_stand_for_all_the_rest() -> None:
    bench = job("commission-split-system")
    hear(bench, "go to evacuation", "yes", "done by others", "same reason")
    protective = [r for s, r in skipped(bench) if s in ("power-off", "at-zero", "test-hold")]
    assert protective == ["done by others"] * 3
    assert bench.state.step == "way-down"


def test_same_reason_is_none_before_one_was_given() -> None:
    bench = Bench(NAMED)
    text = hear(bench, "go to close out", "yes", "same reason")
    assert bench.state.step == "lock"
    assert "Why is lock left undone" in text


def test_steps_that_do_not_apply_are_not_among_those_left_undone() -> None:
    bench = at(Bench(NAMED), "outdoor")
    hear(bench, "go to close out", "yes", "no time")
    assert [s for s, _ in skipped(bench)] == ["outdoor", "pull", "stand"]


def test_what_was_done_is_not_left_undone_by_a_jump() -> None:
    bench = at(Bench(NAMED), "stand")
    assert "That leaves 1 step undone in Evacuate" in hear(bench, "go to close out")


def test_the_target_gives_its_cautions() -> None:
    bench = job("commission-split-system")
    text = hear(bench, "go to release", "yes", "done by others", "same reason")
    assert "The vacuum gauge takes no pressure and no oil." in text


def test_a_reading_said_while_the_question_is_open_is_logged_and_asked_again() -> None:
    bench = Bench(NAMED)
    text = hear(bench, "go to close out", "outdoor temperature 70 F")
    assert "70 °F" in text
    assert "Go to Close out? Say yes or no." in text
    assert bench.state.last("outdoor-temperature") is not None


def test_a_jump_waits_until_an_open_question_is_answered() -> None:
    bench = at(Bench(NAMED), "stand")
    hear(bench, "skip")
    assert hear(bench, "go to evacuation") == (
        "Not taken: go to evacuation. What is the reason to skip stand? Or say no.")
    assert bench.state.step == "stand"
    bench = at(Bench(NAMED), "pull")
    hear(bench, "finish the job")
    assert hear(bench, "go to close out") == (
        "Not taken: go to close out. Finish the job now? Say yes or no.")


def test_a_running_hold_is_asked_about_first_and_stops_with_the_jump() -> None:
    bench = at(Bench(NAMED), "stand")
    hear(bench, "start the hold")
    assert "The hold has 10 minutes to go, and stops." in hear(bench, "go to evacuation")
    assert bench.state.hold is not None
    assert bench.state.hold.running
    hear(bench, "yes")
    assert bench.state.step == "pull"
    assert "timer-stopped" in bench.kinds()


def test_an_answer_not_heard_for_certain_makes_no_jump() -> None:
    bench = Bench(NAMED)
    hear(bench, "go to close out")
    assert "Go to Close out?" in bench.say(i.Yes(), confidence=0.7, words="yes")
    assert bench.state.step == "lock"


def test_a_jump_not_heard_for_certain_is_asked_whether_and_then_what_it_leaves() -> None:
    bench = Bench(NAMED)
    asked = bench.say(i.GoTo("close-out"), confidence=0.7, words="go to close out")
    assert asked == "Go to close out? Say yes or no."
    assert "That leaves 6 steps undone" in hear(bench, "yes")


# --- back ---------------------------------------------------------------------------------------


def test_a_jump_back_opens_the_stage_afresh_and_keeps_what_was_read() -> None:
    bench = at(Bench(NAMED), "stand")
    assert hear(bench, "go to evacuation").endswith("Go to Evacuate? Say yes or no.")
    text = hear(bench, "yes")
    assert text.startswith("Back to Evacuate.")
    assert (bench.state.step, bench.state.visits["pull"]) == ("pull", 2)
    assert bench.state.last("vacuum") is not None
    assert hear(bench, "back").startswith("Back to where we were.")
    assert bench.state.step == "stand"


def test_what_was_done_before_a_jump_back_is_to_be_done_anew() -> None:
    bench = at(Bench(NAMED), "stand")
    hear(bench, "skip: no time", "yes")
    assert bench.state.step == "finish-up"
    hear(bench, "back to evacuation")
    assert "That leaves 2 steps undone in Evacuate; 1 protects" in hear(bench, "go to close out")


def test_a_name_of_several_stages_means_the_one_ahead_else_the_newest_visited() -> None:
    bench = job("commission-split-system")
    hear(bench, "go to evacuation", "yes", "done by others", "same reason")
    hear(bench, "back to the nitrogen test")
    assert bench.state.step == "valves-shut"
    hear(bench, "go to evacuation", "yes", "done by others", "same reason")
    assert bench.state.step == "way-down"


# --- safe order ---------------------------------------------------------------------------------


def test_evacuation_is_not_gone_to_while_nitrogen_is_logged_in_the_system() -> None:
    bench = job("commission-split-system")
    hear(bench, "nitrogen pressure 150 psig")
    assert hear(bench, "go to evacuation") == (
        "The nitrogen pressure was last 150 psig. Evacuate wants at most 0 psig. "
        "Bring it there first and tell me.")
    assert bench.state.question is None
    hear(bench, "nitrogen pressure 0 psig")
    assert "Go to Evacuate?" in hear(bench, "go to evacuation")


def test_a_pressure_told_while_the_jump_is_asked_about_stops_it() -> None:
    bench = job("commission-split-system")
    hear(bench, "go to evacuation", "nitrogen pressure 150 psig")
    assert "The nitrogen pressure was last 150 psig." in hear(bench, "yes")
    assert (bench.state.step, bench.state.question) == ("gear", None)


@pytest.mark.parametrize("line", ["back to the nitrogen test", "back to evacuation",
                                  "go to the joints", "go to dry out", "go to leak search"])
def test_once_the_charge_is_in_nothing_before_it_is_gone_back_to(line: str) -> None:
    bench = job("commission-split-system")
    hear(bench, "go to release", "yes", "done by others", "same reason", "next", "next", "next",
         "understood", "next", "understood", "suction 60 psig")
    assert bench.state.step == "open-liquid"
    assert hear(bench, line) == ("Crack liquid is done: there is no going back before that in "
                                 "this job.")


def test_with_the_lock_off_no_jump_leads_back_before_it_until_it_is_locked_out_again() -> None:
    bench = job("charge-and-start-up")
    hear(bench, "go to power on", "yes", "done by others", "same reason", "next")
    assert bench.state.step == "power-on"
    assert hear(bench, "back to the electrics") == (
        "Lock off is done. First dead again: say go to lock out.")
    hear(bench, "go to make safe")  # it is proved dead on that way
    assert bench.state.step == "gear"


def test_back_into_the_raising_of_pressure_begins_where_the_vacuum_gauge_is_looked_for() -> None:
    bench = job("commission-split-system")
    hear(bench, "go to evacuation", "yes", "done by others", "same reason")
    hear(bench, "go to full pressure")
    assert bench.state.step == "gauge-off"


# --- the stage itself, and what is none -----------------------------------------------------------


def test_a_stage_can_be_skipped_for_a_reason_its_gates_with_their_own() -> None:
    bench = at(Bench(NAMED), "pull")
    assert "Go to Close out?" in hear(bench, "skip this stage because no access")
    assert "Why is stand left undone?" in hear(bench, "yes")
    hear(bench, "the roof is wet")
    assert skipped(bench) == [("pull", "no access"), ("stand", "the roof is wet")]
    bench = at(Bench(NAMED), "pull")
    assert hear(bench, "skip this stage") == "What is the reason? Or say no."
    assert "Go to Close out?" in hear(bench, "no access")


def test_an_unknown_stage_is_refused_with_those_there_are_the_near_ones_aloud() -> None:
    bench = Bench(NAMED)
    assert hear(bench, "go to banana") == (
        "No stage here is called banana. Near are: evacuation, close out and repair.")
    assert bench.replies[0].text.endswith(
        "There are: Make ready, evacuation, repair, close out.")
    assert "No stage here is called joints" in hear(bench, "go to the joints")
    assert bench.state.step == "lock"


def test_a_stage_without_a_spoken_name_is_reached_by_its_title() -> None:
    bench = at(Bench(NAMED), "pull")
    hear(bench, "go to make ready")
    assert bench.state.step == "lock"


def test_the_last_stage_cannot_be_skipped_over_its_end() -> None:
    bench = at(Bench(NAMED), "stand")
    hear(bench, "skip: no time", "yes")
    assert "Nothing comes behind this stage" in hear(bench, "skip this stage because no access")


# --- left open, and taken back --------------------------------------------------------------------


def test_what_is_left_open_is_told_on_request_and_at_the_end_until_it_is_done() -> None:
    bench = at(Bench(NAMED), "pull")
    assert hear(bench, "what did we skip") == "Nothing was left undone."
    hear(bench, "go to close out", "yes", "no time")
    assert hear(bench, "what did we skip") == (
        "2 steps left undone: stand, pull. No time; jumped over, to Close out.")
    assert "stand (protective): no time" in bench.replies[0].text
    hear(bench, "go to evacuation")
    bench.read(450, "microns")
    assert hear(bench, "what did we skip") == "1 step left undone: stand. No time."
    hear(bench, "skip: no time", "yes")
    assert hear(bench, "next") == "1 step left undone: stand. All done. Job finished."


def test_a_step_that_does_not_apply_or_was_left_by_another_way_is_not_open() -> None:
    bench = at(Bench(NAMED), "pull")
    hear(bench, "break with nitrogen", "5 psig")
    assert bench.state.left_open == ()
    bench = at(Bench(NAMED), "outdoor")
    hear(bench, "not applicable")
    assert bench.state.left_open == ()


def test_a_jump_is_taken_back_whole_and_put_back_whole() -> None:
    bench = at(Bench(NAMED), "pull")
    hear(bench, "go to close out", "yes", "no time")
    assert hear(bench, "undo").startswith("Took back the jump.")
    assert (bench.state.step, bench.state.left_open, bench.state.jumps) == ("pull", (), ())
    assert hear(bench, "put that back").startswith("Put back the jump.")
    assert bench.state.step == "finish-up"
    assert len(bench.state.left_open) == 2
    hear(bench, "undo")
    assert hear(bench, "back").startswith("Back one step.")
    assert bench.state.step == "outdoor"


def test_back_after_a_jump_is_back_to_where_it_came_from() -> None:
    bench = at(Bench(NAMED), "pull")
    hear(bench, "go to close out", "yes", "no time", "back")
    assert (bench.state.step, bench.state.left_open) == ("pull", ())


@pytest.mark.parametrize(("lines", "wanted"), [
    (("go to close out", "yes"), "no access; same reason; or no."),
    (("skip this stage",), "no access; not needed; or no."),
])
def test_help_names_the_answers(lines: tuple[str, ...], wanted: str) -> None:
    bench = Bench(NAMED)
    hear(bench, *lines)
    assert hear(bench, "help").startswith(f"You can say: {wanted}")


def test_a_crash_between_two_reasons_loses_none() -> None:
    bench = Bench(NAMED)
    hear(bench, "go to close out", "yes", "done by others")
    bench.now += timedelta(minutes=3)
    assert "Why is stand left undone?" in bench.resume()
    hear(bench, "no access")
    assert skipped(bench)[0] == ("lock", "done by others")
    assert skipped(bench)[-1] == ("stand", "no access")
