"""Going through steps: cautions, next, back, skip, gates, choices, conditions, endings."""

from __future__ import annotations

from datetime import timedelta

import pytest

from fieldvoice.dialogue.assistant import DEFERENCE, DEFERENCE_SPOKEN
from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from fieldvoice.procedure.settings import ProcedureError
from fieldvoice.quantity.errors import ReadingError
from support.bench import Bench
from support.every_sort import TEXT, at


@pytest.fixture
def bench() -> Bench:
    return Bench(TEXT)


def test_beginning_defers_to_code_instructions_and_licence_before_all_else(bench: Bench) -> None:
    assert bench.replies[0].text == DEFERENCE
    assert bench.tones == ["caution", "caution", "prompt", "prompt", "caution"]
    assert "Let us begin." in bench.text


def test_the_introduction_is_shown_and_the_first_words_aloud_are_few(bench: Bench) -> None:
    aloud = [reply.told for reply in bench.replies if reply.aloud]
    assert "Let us begin." not in aloud
    assert aloud[0] == DEFERENCE_SPOKEN
    assert [reply.tone for reply in bench.replies if not reply.aloud] == ["prompt"]


def test_the_start_is_logged_with_what_the_procedure_was(bench: Bench) -> None:
    started = bench.log[0].event
    assert isinstance(started, e.JobStarted)
    assert (started.job, started.procedure) == ("bench", "every-sort")
    assert started.procedure_sha256 == bench.procedure.sha256


@pytest.mark.parametrize(
    ("site", "error"),
    [({"criterion": "nobody's"}, ProcedureError), ({"altitude": "high"}, ReadingError)],
)
def test_a_site_that_cannot_be_is_refused_at_the_start(
    site: dict[str, str], error: type[Exception]
) -> None:
    with pytest.raises(error):
        Bench(TEXT, site)


def test_a_life_saving_caution_holds_the_step_until_it_is_acknowledged(bench: Bench) -> None:
    assert "Lock out" not in bench.text
    assert bench.say(i.Next()) == "First the caution: say understood."
    assert bench.say(i.Yes()) == "First the caution: say understood."
    assert bench.say(i.Understood()) == "Lock out the power."
    acknowledged = bench.events(e.CautionAcknowledged)
    assert [(v.step, v.caution) for v in acknowledged] == [("lock", "power")]


def test_next_does_the_step_and_says_the_next_one(bench: Bench) -> None:
    bench.say(i.Understood())
    assert bench.say(i.Next()) == "Flammable, or not flammable?"
    assert bench.kinds()[-2:] == ["step-done", "step-opened"]


def test_next_is_refused_while_a_reading_is_missing(bench: Bench) -> None:
    at(bench, "pull")
    assert bench.say(i.Next()) == "I need the vacuum, at most 500 microns. Or say skip."
    assert bench.state.step == "pull"
    assert bench.events(e.LineHeard)[-1].outcome == "refused"


def test_next_is_refused_where_a_choice_or_a_hold_is_due(bench: Bench) -> None:
    at(bench, "class")
    assert bench.say(i.Next()) == "Choose: flammable, or not flammable."
    at(bench, "stand")
    assert bench.say(i.Next()) == "Say start the hold to begin the standing vacuum."


def test_a_choice_is_logged_and_an_unknown_one_refused(bench: Bench) -> None:
    at(bench, "class")
    assert "Wet is no choice here." in bench.say(i.Choose("wet"))
    bench.say(i.Choose("flammable"))
    branch = bench.events(e.BranchTaken)[-1]
    assert (branch.step, branch.option, branch.to) == ("class", "flammable", "clear-area")
    assert bench.state.step == "clear-area"


def test_a_step_that_does_not_apply_is_passed_over_and_logged(bench: Bench) -> None:
    at(bench, "outdoor")
    skipped = bench.events(e.StepSkipped)[-1]
    assert (skipped.step, skipped.line) == ("clear-area", None)
    assert "not-flammable" in skipped.reason


WARM = """\
procedure by-reading "A step that hangs on a reading"
limit coldest = 35 degF source "UFGS 15182 section 3.3.3"
stage work "Work"
step outdoor
  say "Tell me the outdoor temperature."
  read outdoor-temperature
step warm
  only when outdoor-temperature at most coldest
  say "Warm it."
step last
  say "Pack up."
  end done
"""


@pytest.mark.parametrize(("degrees", "step"), [(20, "warm"), (35, "warm"), (36, "last")])
def test_a_step_may_hang_on_a_reading(degrees: int, step: str) -> None:
    bench = Bench(WARM)
    bench.read(degrees, "degF")
    assert bench.state.step == step
    skipped = [v for v in bench.events(e.StepSkipped) if isinstance(v, e.StepSkipped)]
    assert [v.reason for v in skipped] == (
        ["does not apply: outdoor-temperature is 36 °F"] if step == "last" else [])
    assert bench.refolded() == bench.state


def test_a_reading_that_was_not_taken_leaves_the_step_in() -> None:
    bench = Bench(WARM)
    bench.say(i.Skip("no thermometer"))
    assert bench.state.step == "warm"


def test_an_answer_known_before_the_job_is_not_asked_for() -> None:
    bench = Bench(TEXT, {"class": "flammable"})
    bench.say(i.Understood())
    bench.say(i.Next())
    assert bench.state.step == "clear-area"
    assert bench.state.answer("class") == "flammable"


def test_a_step_carried_from_elsewhere_is_passed_over_with_its_reason(bench: Bench) -> None:
    bench.happen(e.StepCarried("class", "done for unit one at 9:14"))
    bench.say(i.Understood())
    bench.say(i.Next())
    left = bench.events(e.StepSkipped)[0]
    assert (left.step, left.reason) == ("class", "done for unit one at 9:14")
    assert bench.state.step != "class"
    assert "class" in bench.state.carried


def test_back_opens_the_step_before_afresh_and_takes_its_way_back(bench: Bench) -> None:
    at(bench, "outdoor")
    assert bench.say(i.Back()) == "Back one step. Flammable, or not flammable?"
    assert bench.state.answer("class") is None
    bench.say(i.Back())
    assert bench.say(i.Back()) == "This is the first step."


def test_skip_asks_for_a_reason_and_takes_any_words(bench: Bench) -> None:
    at(bench, "pull")
    assert bench.say(i.Skip()) == "What is the reason? Or say no."
    assert bench.state.expects_free_text
    bench.say(i.NotUnderstood("no such words"), words="the pump is at another site")
    skipped = bench.events(e.StepSkipped)[-1]
    assert (skipped.step, skipped.reason) == ("pull", "the pump is at another site")
    assert bench.state.step == "stand"


def test_skip_with_its_reason_is_done_at_once(bench: Bench) -> None:
    at(bench, "pull")
    assert "Skipped: no time." in bench.say(i.Skip("no time"))


@pytest.mark.parametrize(
    ("intent", "words", "confidence", "told"),
    [
        (i.NotUnderstood("?"), "no [unk]", 0.6, "Not understood."),
        (i.No(), "no", 0.6, "Not heard for sure: no."),
        (i.Yes(), "yes", None, "Not taken: yes."),
        (i.Next(), "next", None, "Not taken: next."),
        (i.NotUnderstood("1,210?", "two-ways"), "twelve ten", None, "1,210?"),
        (i.NotUnderstood("?"), "...", None, "Not understood."),
        (i.NotUnderstood("?"), "so " * 80, None, "Not understood."),
        (i.Choose("wet"), "", None, ""),
    ],
)
def test_what_is_no_clear_reason_skips_nothing_and_is_asked_again(
    bench: Bench, intent: i.Intent, words: str, confidence: float | None, told: str
) -> None:
    at(bench, "pull")
    bench.say(i.Skip())
    if intent == i.Choose("wet"):
        assert bench.say(intent, words="wet", confidence=0.6).startswith("Skip it: wet?")
    else:
        said = bench.say(intent, words=words, confidence=confidence)
        assert said == f"{told} What is the reason to skip pull? Or say no."
    assert bench.state.step == "pull"
    assert bench.state.question is not None


def test_no_time_is_a_reason_and_no_is_none(bench: Bench) -> None:
    at(bench, "pull")
    bench.say(i.Skip())
    bench.say(i.Skip("no time"), words="no time", confidence=0.99)
    assert bench.events(e.StepSkipped)[-1].reason == "no time"


def test_a_reason_heard_badly_is_read_back(bench: Bench) -> None:
    at(bench, "pull")
    bench.say(i.Skip())
    said = bench.say(i.Skip("no time"), words="no time", confidence=0.6)
    assert said == "Skip it: no time? Say yes or no."
    bench.say(i.No())
    assert bench.state.step == "pull"


def test_a_way_that_the_step_offers_is_taken_although_a_reason_was_asked_for(bench: Bench) -> None:
    at(bench, "pull")
    bench.say(i.Skip())
    bench.say(i.Choose("break-with-nitrogen"), words="break with nitrogen")
    assert bench.state.step == "sweep"
    assert bench.state.question is None


def test_no_leaves_the_step_open_when_a_reason_was_asked_for(bench: Bench) -> None:
    at(bench, "pull")
    bench.say(i.Skip())
    assert bench.say(i.No()) == "All right, not skipped."
    assert bench.state.step == "pull"
    assert bench.state.question is None


def test_a_reading_given_instead_of_a_reason_is_not_lost(bench: Bench) -> None:
    at(bench, "pull")
    bench.say(i.Skip())
    bench.read(900, "microns")
    assert bench.state.last("vacuum") is not None
    assert bench.state.expects_free_text


def test_a_reason_that_was_only_heard_as_sound_keeps_the_sound(bench: Bench) -> None:
    at(bench, "pull")
    bench.say(i.Skip())
    asked = bench.say(i.NotUnderstood("?"), words="[unk]", confidence=0.2, clip="clips/7.wav")
    assert asked == "Skip it, with what you said as the reason? Say yes or no."
    bench.say(i.Yes())
    assert bench.events(e.StepSkipped)[-1].reason == "kept as sound"


def test_a_gate_wants_a_reason_and_a_yes(bench: Bench) -> None:
    bench.say(i.Understood())
    bench.say(i.NotApplicable())
    assert "protects" in bench.say(i.NotUnderstood("?"), words="no power on site yet")
    assert bench.state.step == "lock"
    assert bench.say(i.Next()) == "Not taken: next. Skip it? Say yes or no."
    bench.say(i.Yes())
    assert bench.events(e.StepSkipped)[-1].reason == "no power on site yet"


def test_a_gate_stays_when_the_answer_is_no(bench: Bench) -> None:
    bench.say(i.Understood())
    bench.say(i.Skip("no time"))
    assert bench.say(i.No()) == "All right, not done."
    assert bench.state.step == "lock"


def test_not_applicable_needs_no_reason_where_there_is_no_gate(bench: Bench) -> None:
    at(bench, "pull")
    bench.say(i.NotApplicable())
    assert bench.events(e.StepSkipped)[-1].reason == "not applicable"


def test_a_reading_outside_takes_the_way_that_the_procedure_gives_for_it(bench: Bench) -> None:
    at(bench, "outdoor")
    text = bench.read(20, "degF")
    assert text == "20 °F. That is below 35 °F. Warm it, 20 °F is cold."
    assert bench.events(e.BranchTaken)[-1].option == "outside"


def test_an_exit_may_be_taken_before_the_step_is_done(bench: Bench) -> None:
    at(bench, "pull")
    bench.say(i.Choose("break-with-nitrogen"))
    assert bench.state.step == "sweep"


def test_repeat_until_counts_its_rounds_and_says_which_it_is(bench: Bench) -> None:
    at(bench, "pull")
    said = [bench.say(i.Choose("break-with-nitrogen"))]
    for _ in range(2):
        bench.read(5, "psig")
        bench.say(i.StartHold())
        said.append(bench.wait(minutes=5))
    assert "Sweep 1 of 2" in said[0]
    assert "Sweep 2 of 2" in said[1]
    assert bench.state.step == "pull"


def test_the_ending_closes_the_job_and_nothing_is_done_after_it(bench: Bench) -> None:
    at(bench, "stand")
    bench.say(i.Skip("no time"))
    bench.say(i.Yes())
    assert bench.say(i.Next()) == "1 step left undone: stand. All done. Job finished."
    assert bench.state.ending == "done"
    assert bench.read(400, "microns") == "This job is finished."
    assert bench.state.last("vacuum").si == pytest.approx(450 * 0.133322387, rel=1e-6)


def test_finish_asks_while_steps_are_open(bench: Bench) -> None:
    at(bench, "pull")
    assert "still open" in bench.say(i.FinishJob())
    bench.say(i.No())
    assert not bench.state.finished
    bench.say(i.FinishJob())
    assert bench.say(i.Yes()) == "Job finished."
    assert bench.state.ending == "stopped-early"


def test_the_screen_shows_more_than_is_spoken(bench: Bench) -> None:
    at(bench, "pull")
    bench.say(i.WhatNow())
    prompt = next(r for r in bench.replies if r.tone == "prompt")
    assert prompt.spoken == "Pull below 500 microns."
    assert "Longer words for the screen." in prompt.text


@pytest.mark.parametrize(
    ("step", "examples"),
    [
        ("lock", "understood; say again; or what now"),
        ("class", "flammable; not flammable; or what now"),
        ("outdoor", "outdoor temperature seventy-two; skip; or what now"),
        ("pull", "four hundred twelve microns; skip; or what now"),
        ("stand", "start the hold; why; or what now"),
    ],
)
def test_help_gives_three_examples_that_fit_the_step(
    bench: Bench, step: str, examples: str
) -> None:
    at(bench, step)
    assert bench.say(i.Help()) == f"You can say: {examples}."


def test_why_explains_the_step_or_says_that_nothing_is_written(bench: Bench) -> None:
    at(bench, "pull")
    assert bench.say(i.Why()) == "Water boils away."
    at(bench, "stand")
    assert "gives no reason" in bench.say(i.Why())


def test_repeat_says_the_last_replies_again_with_their_tones(bench: Bench) -> None:
    at(bench, "pull")
    before = [(r.tone, r.spoken or r.text) for r in bench.replies]
    bench.say(i.Repeat())
    assert [(r.tone, r.text) for r in bench.replies] == before
    bench.say(i.Repeat())
    assert [(r.tone, r.text) for r in bench.replies] == before


def test_where_are_we_names_stage_step_reading_and_timers(bench: Bench) -> None:
    at(bench, "stand")
    bench.say(i.StartHold())
    bench.now += timedelta(minutes=2)
    text = bench.say(i.WhereAreWe())
    assert "Evacuate, step stand." in text
    assert "Last vacuum 450 microns, 2 minutes ago." in text
    assert "Hold: 8 minutes left." in text
