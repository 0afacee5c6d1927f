"""Steps that are only done are listed before what follows them, and done together with it."""

from __future__ import annotations

import pytest

from fieldvoice.dialogue.assistant import Heard
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.depths import EVERY_STEP, LIMITS_ONLY, READINGS_AND_HOLDS
from fieldvoice.language import intents as i
from fieldvoice.language.parser import understand
from support.bench import Bench

TEXT = """\
procedure few "Few words"
limit deep = 500 microns source "common practice"
limit wait = 10 min source "common practice"
caution power "Prove it dead. Trust no switch." acknowledge
caution gloves "Gloves on."
stage rig "Rig"
step gear
  say "Put your gloves on."
  caution gloves
step oil
  say "Change the pump oil."
step hoses
  say "Connect the hoses."
step pull
  say "Pull below {limit.deep}."
  read vacuum at most deep
  anytime break-with-nitrogen "when it stalls" then shut
step shut
  say "Shut the pump's valve."
  gate
step gauge
  say "Check the gauge."
  gate
step stop
  say "Stop the pump."
step stand
  say "Say start the hold."
  gate
  hold wait "standing vacuum" ask vacuum at 0 1 2 min judge decay deep
  on tight go to lock
  on wet go to pull
  on leaking go to pull
  on not-yet-clear go to stand
stage power "Power"
step lock
  say "Lock it out."
  caution power
  gate
step wires
  say "Check the wires."
  gate
step breaker
  say "Check the breaker."
  gate
step tidy
  say "Tidy up."
  always
step label
  say "Write the label."
step covers
  say "Put the covers on."
  gate
step leave
  say "Leave the record."
  end done "Done."
"""


def few(depth: str = READINGS_AND_HOLDS) -> Bench:
    return Bench(TEXT, depth=depth)


def say(bench: Bench, *lines: str) -> str:
    for line in lines:
        bench.say(understand(line), words=line)
    return bench.text


def done(bench: Bench) -> list[str]:
    return [left.step for left in bench.state.trail if not left.skipped]


def lines_of(bench: Bench) -> dict[str, int | None]:
    return {left.step: left.line for left in bench.state.trail}


def test_steps_that_are_only_done_are_passed_by_and_not_yet_done() -> None:
    bench = few()
    assert bench.state.step == "pull"
    assert bench.state.listed == ("gear", "oil", "hoses")
    assert done(bench) == []
    assert "Gloves on." in bench.text
    assert "Change the pump oil" not in bench.text


def test_they_are_done_with_the_step_after_them_each_in_the_log_by_the_line_that_dealt_with_it(
) -> None:
    bench = few()
    say(bench, "vacuum 900 microns")
    assert done(bench) == []  # outside the limit: the step goes on
    say(bench, "vacuum 450 microns")
    line = bench.seq(e.LineHeard)
    assert done(bench) == ["gear", "oil", "hoses", "pull"]
    assert set(lines_of(bench).values()) == {line}
    marks = [v.listed for v in bench.events(e.StepDone)]  # type: ignore[attr-defined]
    assert marks == [True, True, True, False]
    assert bench.refolded() == bench.state


def test_every_step_stays_as_it_was() -> None:
    bench = few(EVERY_STEP)
    assert bench.state.step == "gear"
    assert bench.events(e.StepsListed) == []
    say(bench, "next", "next", "next", "vacuum 450")
    assert bench.state.step == "shut"
    say(bench, "next")
    assert bench.state.step == "gauge"


def test_the_list_is_read_when_it_is_asked_for() -> None:
    assert say(few(), "list") == (
        "1, put your gloves on. 2, change the pump oil. 3, connect the hoses.")
    assert "Every step has its own prompt." in say(few(EVERY_STEP), "list")


def test_the_list_can_be_done_ahead_of_the_step_behind_it() -> None:
    bench = few()
    say(bench, "list done")
    assert done(bench) == ["gear", "oil", "hoses"]
    assert bench.state.listed == ()
    assert bench.state.step == "pull"
    say(bench, "vacuum 450")
    assert done(bench) == ["gear", "oil", "hoses", "pull"]


def test_one_of_the_list_that_was_not_done_is_opened_by_itself() -> None:
    bench = few()
    say(bench, "number two not done")
    assert (bench.state.step, bench.state.listed) == ("oil", ("gear",))
    say(bench, "skip because no oil")
    assert done(bench) == []  # what stands before it comes first
    say(bench, "list done", "skip because no oil")
    assert done(bench) == ["gear"]
    assert [left.step for left in bench.state.trail if left.skipped] == ["oil"]
    assert (bench.state.step, bench.state.listed) == ("pull", ("hoses",))
    say(bench, "vacuum 450")
    assert done(bench) == ["gear", "hoses", "pull"]


def test_a_number_that_is_not_in_the_list_does_nothing() -> None:
    bench = few()
    assert "Only 3 listed." in say(bench, "number four not done")
    assert bench.state.step == "pull"


def test_a_step_is_not_skipped_over_a_list_that_nobody_has_confirmed() -> None:
    bench = few()
    for line in ("skip", "skip because no time", "not applicable"):
        assert "First what comes before it." in say(bench, line)
        assert (bench.state.step, bench.state.question) == ("pull", None)
    say(bench, "list done", "skip because no time")
    assert bench.state.step == "gauge"


def test_finishing_early_leaves_the_list_not_done() -> None:
    bench = few()
    say(bench, "finish the job", "yes")
    assert bench.state.finished
    assert done(bench) == []
    listed = [v for v in bench.state.history.visits if v.before]
    assert [bench.state.history.standing(v) for v in listed] == ["listed"] * 3


def test_a_way_out_before_the_step_is_done_confirms_the_list() -> None:
    bench = few()
    say(bench, "break with nitrogen")
    assert done(bench) == ["gear", "oil", "hoses"]


def test_taking_back_the_step_takes_its_list_back_too_and_putting_back_restores_both() -> None:
    bench = few()
    say(bench, "vacuum 450")
    text = say(bench, "take that back")
    assert "450 microns" in text
    assert (bench.state.step, done(bench)) == ("pull", [])
    assert bench.state.listed == ("gear", "oil", "hoses")
    say(bench, "put that back")
    assert done(bench) == ["gear", "oil", "hoses", "pull"]
    assert bench.state.step == "gauge"
    say(bench, "take that back", "vacuum 440")
    assert done(bench) == ["gear", "oil", "hoses", "pull"]
    assert bench.refolded() == bench.state


def test_back_goes_to_the_step_that_was_prompted_before_with_its_list() -> None:
    bench = few()
    say(bench, "vacuum 450", "back")
    assert (bench.state.step, done(bench)) == ("pull", [])
    assert bench.state.listed == ("gear", "oil", "hoses")
    assert say(bench, "back") == "This is the first step."


def test_a_correction_out_of_the_limit_opens_the_step_again_and_keeps_what_was_done() -> None:
    bench = few()
    say(bench, "vacuum 450", "correction 700")
    assert bench.state.step == "pull"
    assert done(bench) == ["gear", "oil", "hoses"]
    say(bench, "vacuum 460")
    assert done(bench) == ["gear", "oil", "hoses", "pull"]


def test_a_list_that_is_asked_for_one_by_one_opens_its_first_step() -> None:
    bench = few()
    say(bench, "every step")
    assert bench.state.step == "gear"
    say(bench, "next", "next", "next")
    assert bench.state.step == "pull"
    say(bench, "vacuum 450")
    assert done(bench) == ["gear", "oil", "hoses", "pull"]


def test_a_step_that_has_been_read_at_is_not_put_off_again() -> None:
    bench = few()
    say(bench, "vacuum 900", "every step")
    assert bench.state.step == "pull"
    say(bench, "vacuum 450")
    assert done(bench) == ["gear", "oil", "hoses", "pull"]
    assert bench.state.step == "shut"


def test_the_depth_can_be_changed_while_a_question_is_open_which_stays_open() -> None:
    bench = few(EVERY_STEP)
    say(bench, "skip")
    say(bench, "readings and holds")
    assert bench.state.question is not None
    assert bench.state.depth == READINGS_AND_HOLDS
    say(bench, "no", "next")
    assert (bench.state.step, bench.state.listed) == ("pull", ("oil", "hoses"))


def test_resuming_keeps_depth_and_list() -> None:
    bench = few()
    text = bench.resume()
    assert bench.state.depth == READINGS_AND_HOLDS
    assert bench.state.listed == ("gear", "oil", "hoses")
    assert "Pull below 500 microns." in text
    say(bench, "vacuum 450")
    assert done(bench) == ["gear", "oil", "hoses", "pull"]


# --- gates ---------------------------------------------------------------------------------------


def test_gates_that_follow_each_other_are_confirmed_by_one_word_and_logged_one_by_one() -> None:
    bench = few()
    say(bench, "vacuum 450")
    assert bench.state.step == "gauge"
    said = [r.text.split("\n")[0] for r in bench.replies if r.tone == "prompt"]
    assert said == ["Shut the pump's valve.", "Check the gauge.", "Say done for both."]
    say(bench, "done")
    assert done(bench)[-2:] == ["shut", "gauge"]
    assert lines_of(bench)["shut"] == lines_of(bench)["gauge"] == bench.seq(e.LineHeard)


def test_a_gate_with_a_caution_to_acknowledge_stands_by_itself() -> None:
    bench = at_lock(few())
    assert (bench.state.step, bench.state.listed) == ("lock", ())
    say(bench, "understood and done")
    assert bench.state.step == "breaker"
    assert bench.state.listed == ("wires",)


def test_gates_keep_their_own_prompt_where_that_is_asked_for() -> None:
    bench = few()
    say(bench, "prompt the gates", "vacuum 450")
    assert (bench.state.step, bench.state.listed) == ("shut", ())
    say(bench, "don't prompt the gates", "done")
    assert bench.state.step == "stand"


def test_a_gate_is_not_confirmed_by_a_reading() -> None:
    bench = few()
    say(bench, "vacuum 450", "vacuum 440")
    assert "shut" not in done(bench)


def test_a_plain_step_can_ask_to_be_prompted_always() -> None:
    bench = at_lock(few())
    say(bench, "understood and done", "done")
    assert bench.state.step == "tidy"
    say(bench, "done")
    assert (bench.state.step, bench.state.listed) == ("covers", ("label",))


def at_lock(bench: Bench) -> Bench:
    say(bench, "vacuum 450")
    if bench.state.depth == EVERY_STEP:
        say(bench, "next")
    say(bench, "done", "start the hold at 450")
    for value in (451, 452):
        bench.wait(minutes=1)
        say(bench, f"{value} microns")
    bench.wait(minutes=9)
    say(bench, "453 microns")
    assert bench.state.step == "lock"
    return bench


# --- one line for what belongs together ----------------------------------------------------------


def test_the_start_of_the_hold_confirms_what_is_listed_before_it() -> None:
    bench = few()
    say(bench, "vacuum 450", "done")
    assert (bench.state.step, bench.state.listed) == ("stand", ("stop",))
    say(bench, "start the hold")
    assert done(bench)[-1] == "stop"
    assert say(bench, "take that back").startswith("Took back the start of the timer.")
    assert done(bench)[-1] == "gauge"
    assert bench.state.listed == ("stop",)


def test_a_hold_starts_with_the_reading_of_its_first_minute() -> None:
    bench = few()
    say(bench, "vacuum 450", "done", "start the hold at 450")
    assert bench.state.hold is not None
    assert [t.minute for t in bench.state.hold_readings()] == [0.0]
    assert "Vacuum?" not in bench.text


def test_a_reading_outside_its_limit_starts_no_hold() -> None:
    bench = few()
    text = say(bench, "start the hold at 900")
    assert (bench.state.step, bench.state.hold) == ("pull", None)
    assert "That is above 500 microns." in text
    assert "No hold has started." in text


def test_a_gate_before_the_hold_is_prompted_before_a_line_can_start_it() -> None:
    one_gate = TEXT.replace('step gauge\n  say "Check the gauge."\n  gate\nstep stop\n'
                            '  say "Stop the pump."\n', "")
    assert one_gate != TEXT
    bench = Bench(one_gate, depth=READINGS_AND_HOLDS)
    text = say(bench, "start the hold at 450")  # the last reading of the pull and no more
    assert (bench.state.step, bench.state.listed) == ("stand", ("shut",))
    assert bench.state.hold is None
    assert "Shut the pump's valve." in text
    assert "No hold has started." in text
    say(bench, "start the hold at 450")
    assert bench.state.hold is not None
    assert done(bench)[-1] == "shut"


def test_a_doubtful_reading_starts_no_hold() -> None:
    bench = few()
    say(bench, "vacuum 450", "done")
    bench.say(understand("start the hold at 4"), confidence=0.7, words="start the hold at four")
    assert bench.state.question is not None
    say(bench, "yes")
    assert [t.now.said for t in bench.state.readings][-1] == "4"


def test_understood_alone_acknowledges_and_does_not_confirm_the_step() -> None:
    bench = at_lock(few())
    say(bench, "understood")
    assert (bench.state.step, bench.state.unacknowledged()) == ("lock", [])
    say(bench, "done")
    assert "lock" in done(bench)


def test_one_line_acknowledges_and_confirms_each_in_the_log() -> None:
    bench = at_lock(few())
    assert bench.replies[-1].text == "Say understood and done."
    say(bench, "understood and done")
    line = bench.seq(e.LineHeard)
    assert bench.events(e.CautionAcknowledged) == [e.CautionAcknowledged("lock", "power", line)]
    assert lines_of(bench)["lock"] == line


def test_where_every_step_is_prompted_the_step_is_heard_before_it_is_confirmed() -> None:
    bench = few(EVERY_STEP)
    say(bench, "next", "next", "next", "vacuum 450", "next", "next", "next")
    say(bench, "start the hold at 450")
    for _ in range(10):
        bench.wait(minutes=1)
        say(bench, "451 microns")
    assert bench.state.step == "lock"
    say(bench, "understood and done")
    assert (bench.state.step, bench.state.unacknowledged()) == ("lock", [])
    assert bench.text == "Lock it out."


def test_done_and_the_reading_of_the_next_step_are_one_line() -> None:
    bench = Bench(TEXT.replace('step stop\n  say "Stop the pump."',
                               'step stop\n  say "Read it."\n  read suction-pressure'),
                  depth=READINGS_AND_HOLDS)
    say(bench, "vacuum 450", "done suction pressure 118")
    assert done(bench)[-3:] == ["shut", "gauge", "stop"]
    assert bench.state.step == "stand"


def test_several_readings_of_one_breath_serve_their_steps_in_any_order() -> None:
    asked = "".join(f'step {q}\n  say "Tell me {q}."\n  read {q}\n' for q in (
        "suction-pressure", "suction-temperature", "liquid-pressure", "liquid-temperature"))
    text = f'procedure four "Four"\nstage one "One"\n{asked}step last\n  say "Go."\n  end done\n'
    bench = Bench(text, depth=READINGS_AND_HOLDS)
    say(bench, "liquid line 95 liquid 340 suction 118 suction line 52")
    assert bench.state.step == "last"
    assert [t.step for t in bench.state.readings] == [
        "suction-pressure", "suction-temperature", "liquid-pressure", "liquid-temperature"]
    assert [r.text for r in bench.replies if r.tone == "prompt"] == ["Go."]


# --- what is heard -------------------------------------------------------------------------------


@pytest.mark.parametrize("asked", ["what now", "say again", "where are we", "why", "help", "list"])
def test_what_is_asked_for_is_said_aloud_at_every_depth(asked: str) -> None:
    bench = few(LIMITS_ONLY)
    say(bench, asked)
    assert all(reply.aloud for reply in bench.replies)


def test_a_reading_outside_its_limit_is_told_aloud_where_prompts_are_only_shown() -> None:
    bench = few(LIMITS_ONLY)
    assert not [r for r in bench.replies if r.tone == "prompt" and r.aloud]
    assert [r.text for r in bench.replies if r.tone == "caution" and r.aloud][-1] == "Gloves on."
    say(bench, "vacuum 900")
    assert [(r.text, r.aloud) for r in bench.replies] == [
        ("900 microns. That is above 500 microns.", True)]
    say(bench, "vacuum 450")
    assert bench.replies[0].text == "450 microns."
    assert not any(reply.aloud for reply in bench.replies[1:])


def test_kinds_of_steps_can_keep_their_spoken_prompt() -> None:
    bench = few(LIMITS_ONLY)
    say(bench, "prompt the gates", "vacuum 450")
    assert [r.text for r in bench.replies if r.tone == "prompt" and r.aloud] == [
        "Shut the pump's valve."]


def test_a_question_is_asked_aloud_at_every_depth() -> None:
    bench = few(LIMITS_ONLY)
    bench.say(i.Reading(understand("4").value), confidence=0.7, words="four")  # type: ignore[attr-defined]
    assert [(r.tone, r.aloud) for r in bench.replies] == [("question", True)]


def test_a_line_that_is_not_heard_for_sure_changes_no_depth() -> None:
    bench = few(EVERY_STEP)
    intent = i.ChangeDepth(LIMITS_ONLY)
    bench.say(intent, confidence=0.7, words="limits only")
    assert bench.state.depth == EVERY_STEP
    assert Heard(intent, "limits only", "voice", 0.7).intent == intent
    say(bench, "yes")
    assert bench.state.depth == LIMITS_ONLY


def test_a_step_that_asks_for_a_fact_is_prompted_and_not_listed() -> None:
    text = TEXT.replace('step oil\n', 'step plate\n  know refrigerant\n  say "Which refrigerant?"\n'
                        'step oil\n')
    bench = Bench(text, depth=READINGS_AND_HOLDS)
    assert bench.state.step == "plate"
    assert "Which refrigerant?" in bench.text
    bench.say(understand("refrigerant is R-454B"), words="refrigerant is R-454B")
    assert bench.state.facts["refrigerant"] == "R-454B"
    assert (bench.state.step, bench.state.listed) == ("pull", ("oil", "hoses"))
