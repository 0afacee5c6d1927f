"""Every kind of question, every kind of line: answered, done and asked again, or told not taken."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from copy import copy
from datetime import timedelta
from decimal import Decimal
from functools import cache

import pytest

from fieldvoice.dialogue import assistant, pending_question
from fieldvoice.dialogue.asking.kinds import KINDS, OUT_OF_TURN, kind_of, waiting_in
from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from support.bench import Bench
from support.every_sort import NOISE, UNSURE, taken

TEXT = """\
procedure every-question "One question of each kind"
limit deep = 500 microns source "common practice"
limit wait = 10 min source "common practice"
limit watch = 60 min source "common practice"
limit room-charge = 0.33 lb then room-charge of refrigerant-class source "common practice"
stage ready "Make ready"
step refrigerant-amount
  say "Tell me the refrigerant amount."
  read refrigerant-amount
step refrigerant-class
  say "Not flammable, mildly flammable, or highly flammable?"
  choose not-flammable
  choose mildly-flammable
  choose highly-flammable
step room-size
  only when refrigerant-class is mildly-flammable or highly-flammable
  only when refrigerant-amount at least room-charge
  say "Check that the room is large enough."
step cool
  say "Let it cool."
  timer watch "fire watch"
step insulate
  say "Insulate the joints."
stage evacuate "Evacuate"
step pull
  say "Pull below {limit.deep}."
  read vacuum at most deep
  anytime sweep "when it stalls" then stand
stage standing "Stand" called standing-test part of standing-test
step stand
  say "Start the hold."
  gate
  hold wait "settling"
stage close "Close out" called close-out
step add
  say "Add a little, then tell me the charge added."
  read charge-added
step last
  say "Pack up."
  end done "All done."
"""


def _to(step: str) -> Bench:
    """The job at a step, with a plate and an outdoor temperature read."""
    bench = Bench(TEXT, {"refrigerant": "R-32"})
    bench.read("4.0", "lb")
    bench.read(95, "degF", "outdoor-temperature")
    for option, at in (("", "refrigerant-class"), ("mildly-flammable", "cool"), ("", "insulate"),
                       ("", "pull"), ("450", "stand"), ("", "add")):
        if bench.state.step == step:
            break
        if option == "450":
            bench.read(450)
        elif option:
            bench.say(i.Choose(option))
        elif bench.state.step == "stand":
            bench.say(i.StartHold())
            bench.wait(minutes=10)
        elif bench.state.step != at:
            bench.say(i.Next())
    assert bench.state.step == step
    return bench


def _after(step: str, *lines: tuple[i.Intent, float | None]) -> Bench:
    bench = _to(step)
    for intent, confidence in lines:
        bench.say(intent, confidence=confidence)
    assert bench.state.question is not None
    return bench


def _restarted(bench: Bench) -> Bench:
    """The computer is started anew while the hold runs."""
    bench.say(i.StartHold())
    bench.now += timedelta(minutes=14)
    restarted = e.Restarted(bench.now.isoformat(), ran={"the hold": 840.0})
    bench.take_in(assistant.resume(bench.state, bench.now, restarted=restarted))
    assert bench.state.question is not None
    return bench


def _reading(value: str, unit: str | None = None, quantity: str | None = None) -> i.Reading:
    return i.Reading(Decimal(value), unit, quantity)


QUESTIONS: dict[str, Callable[[], Bench]] = {
    "value": lambda: _after("pull", (_reading("40000"), None)),
    "value unsure": lambda: _after("pull", (_reading("900"), UNSURE)),
    "change": lambda: _after(
        "pull", (_reading("900"), None), (i.Correction(Decimal(88000)), None)),
    "command": lambda: _after("pull", (i.Back(), UNSURE)),
    "skip reason": lambda: _after("pull", (i.Skip(), None)),
    "end reason": lambda: _after("pull", (i.StopTimer("fire watch"), None)),
    "skip": lambda: _after("stand", (i.Skip("no time"), None)),
    "cut short": lambda: _after("pull", (i.StopTimer("fire watch"), None), (
        i.NotUnderstood("?"), None)),
    "finish": lambda: _after("refrigerant-class", (i.FinishJob(), None)),
    "contradiction": lambda: _after("refrigerant-class", (i.Choose("not-flammable"), None)),
    "room": lambda: _after("add", (_reading("2", "oz"), None)),
    "fact": lambda: _after("pull", (i.TellFact("refrigerant", "R-410A"), None)),
    "name": lambda: _after("pull", (i.TellFact("technician"), None)),
    "jump": lambda: _after("pull", (i.GoTo("close-out"), None)),
    "carry": lambda: _after("pull", (i.CarryTest("standing-test"), None)),
    "why jump": lambda: _after("pull", (i.GoTo("close-out"), None), (i.Yes(), None)),
    "why stage": lambda: _after("pull", (i.SkipStage(), None)),
    "who": lambda: _after("pull", (i.CarryTest("standing-test", "passed", "1 days ago"), None)),
    "why short": lambda: _after("stand", (i.StartHold(timedelta(minutes=5)), None)),
    "clock": lambda: _restarted(_to("stand")),
}


@cache
def _asked(asked: str) -> Bench:
    return QUESTIONS[asked]()


REASONS = ("skip reason", "end reason")


def at_question(asked: str) -> Bench:
    """The job where that is asked."""
    bench = copy(_asked(asked))
    bench.log = list(bench.log)
    return bench


LINES: dict[str, i.Intent] = {
    "its value": _reading("700", "microns", "vacuum"),
    "a bare number": _reading("700"),
    "another reading": _reading("118", "psig", "suction-pressure"),
    "a unit alone": _reading("1.5", "torr"),
    "two readings": i.Readings((_reading("118", "psig", "suction-pressure"),
                                _reading("700", "microns", "vacuum"))),
    "a doubtful reading": _reading("300", "degF", "liquid-temperature"),
    "a reading that cannot be": _reading("4", "ft", "vacuum"),
    "correction": i.Correction(Decimal("94")),
    "a change by name": i.ChangeReading("outdoor-temperature", Decimal(90)),
    "yes": i.Yes(), "no": i.No(),
    "understood": i.Understood(),
    "next": i.Next(), "back": i.Back(), "skip": i.Skip(), "skip with reason": i.Skip("no access"),
    "not applicable": i.NotApplicable(),
    "choice": i.Choose("mildly-flammable"),
    "take back": i.TakeBack(), "put back": i.PutBack(),
    "start hold": i.StartHold(), "start timer": i.StartTimer(timedelta(minutes=5)),
    "stop timer": i.StopTimer("oil"), "add time": i.AddTime(timedelta(minutes=5)),
    "typed note": i.Note("a dent"), "start note": i.StartNote(), "end note": i.EndNote(),
    "a question of theirs": i.AskLast(), "what now": i.WhatNow(), "repeat": i.Repeat(),
    "help": i.Help(), "where are we": i.WhereAreWe(), "voice": i.ChangeVoice("louder"),
    "stand by": i.StandBy(), "finish": i.FinishJob(),
    "okay": i.Okay(), "never mind": i.NeverMind(),
    "a fact": i.TellFact("liquid-line", "3/8"), "a name to follow": i.TellFact("customer"),
    "go to": i.GoTo("close-out"), "skip stage": i.SkipStage("no time"),
    "carry test": i.CarryTest("standing-test", "passed", "1 days ago", "Lee"),
    "which day": i.SaidWhen("1 days ago"), "because": i.Because("the unit's manual"),
    "change depth": i.ChangeDepth("readings-and-holds"), "prompt kind": i.PromptKind("gates"),
    "list": i.ReadList(), "list done": i.ListDone(), "not done": i.NotDone(),
    "understood done": i.UnderstoodDone(),
    "next, a reading": i.NextReadings((_reading("118", "psig", "suction-pressure"),)),
    "start at": i.StartHoldAt((_reading("420", "microns", "vacuum"),)),
    "what was skipped": i.AskSkipped(),
    "not understood": i.NotUnderstood("I do not know blob.", "unknown"),
    "two ways": i.NotUnderstood("Is that forty two, or four point two?", "two-ways"),
    "range": i.NotUnderstood("That is a range. Say one number.", "range"),
}

# What becomes of each line beside each question: L logged, the question put again; Q their question
# answered, ours put again; A answers the question; I in its place, and said so; D done beside it,
# the question put again; W waits behind it; N told that it was not taken, the question put again;
# S the question keeps silent until the note ends or they are back.
TABLE = """
                         val uns chg cmd ski end skp cut fin con roo fct nam jmp car wjp wst who sho clk
its value                A   A   A   L   L   L   L   L   L   L   L   L   L   L   L   L   L   L   L   L
a bare number            A   A   A   L   L   L   N   L   N   N   W   L   L   L   L   L   L   L   N   N
another reading          L   L   L   L   L   L   L   L   L   L   L   L   L   L   L   L   L   L   L   L
a unit alone             A   A   A   L   L   L   L   L   L   L   L   L   L   L   L   L   L   L   L   L
two readings             A   A   A   L   L   L   L   L   L   L   L   L   L   L   L   L   L   L   L   L
a doubtful reading       W   W   W   W   W   W   W   W   W   W   W   W   W   W   W   W   W   W   W   W
a reading that cannot be N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
correction               A   A   A   L   L   L   L   L   L   L   L   L   L   L   L   L   L   L   L   L
a change by name         L   L   L   L   L   L   L   L   L   L   L   L   L   L   L   L   L   L   L   L
yes                      A   A   A   A   N   N   A   A   A   A   A   A   N   A   A   N   N   N   N   A
no                       A   A   A   A   A   A   A   A   A   A   A   A   A   A   A   A   A   A   A   A
understood               N   N   N   I   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
next                     N   N   N   I   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
back                     N   N   N   A   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
skip                     N   N   N   I   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
skip with reason         N   N   N   I   A   A   N   N   N   N   N   N   N   N   N   A   A   N   A   N
not applicable           N   N   N   I   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
choice                   N   N   N   I   A   A   N   N   N   I   N   N   N   N   N   A   A   N   A   N
take back                A   A   A   A   A   A   A   A   A   A   A   A   A   A   A   A   A   A   A   N
put back                 N   N   N   I   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
start hold               N   N   N   I   N   N   N   N   N   N   N   N   N   N   N   N   N   N   I   N
start timer              N   N   N   I   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
stop timer               N   N   N   I   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
add time                 N   N   N   I   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
typed note               D   D   D   D   D   D   D   D   D   D   D   D   D   D   D   D   D   D   D   D
start note               S   S   S   S   S   S   S   S   S   S   S   S   S   S   S   S   S   S   S   S
end note                 N   N   N   I   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
a question of theirs     Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q
what now                 Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q
repeat                   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q
help                     Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q
where are we             Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q
voice                    Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q
stand by                 S   S   S   S   S   S   S   S   S   S   S   S   S   S   S   S   S   S   S   S
finish                   N   N   N   I   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
okay                     N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
never mind               A   A   A   A   A   A   A   A   A   A   A   A   A   A   A   A   A   A   A   N
a fact                   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q
a name to follow         N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
go to                    N   N   N   I   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
skip stage               N   N   N   I   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
carry test               N   N   N   I   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
which day                N   N   N   I   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
because                  N   N   N   I   A   A   N   N   N   N   N   N   N   N   N   A   A   N   A   N
change depth             Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q
prompt kind              Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q
list                     Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q
list done                N   N   N   I   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
not done                 N   N   N   I   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
understood done          N   N   N   I   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
next, a reading          N   N   N   A   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
start at                 N   N   N   A   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N   N
what was skipped         Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q   Q
not understood           N   N   N   N   A   A   N   N   N   N   N   N   I   N   N   A   A   A   A   N
two ways                 N   N   N   N   N   N   N   N   N   N   N   N   I   N   N   N   N   N   N   N
range                    N   N   N   N   N   N   N   N   N   N   N   N   I   N   N   N   N   N   N   N
"""  # noqa: E501  a column for each kind of question


def cells() -> Iterator[tuple[str, str, str]]:
    """Question, line and what becomes of it."""
    for row in TABLE.splitlines()[2:]:
        line, marks = row[:25].strip(), row[25:].split()
        assert len(marks) == len(QUESTIONS)
        yield from ((asked, line, mark) for asked, mark in zip(QUESTIONS, marks, strict=True))


def became(bench: Bench, line: i.Intent) -> str:
    """What becomes of a line: its letter in the table."""
    asked, before = bench.state.question, len(bench.log)
    assert asked is not None
    said = bench.say(line)
    outcome = bench.events(e.LineHeard)[-1].outcome
    new = [v.event for v in bench.log[before:]]
    logged = any(isinstance(v, e.ReadingTaken | e.ReadingCorrected) for v in new)
    closed = [v.answer for v in new if isinstance(v, e.Answered) and v.asked == asked.seq]
    assert bench.replies, "a line vanished without a word"
    if closed:
        return "I" if closed[0] == "replaced" and not logged else "A"
    assert bench.state.question == asked
    if bench.state.standing_by or bench.state.open_note:
        return "S"
    assert pending_question.again(bench.state) in [r.text for r in bench.replies], said
    if any(isinstance(v, e.Asked) for v in new):
        assert "next." in said
        return "W"
    if logged:
        return "L"
    if outcome in ("refused", "asked-back"):
        return "N"
    return "D" if any(isinstance(v, e.NoteTaken) for v in new) else "Q"


@pytest.mark.parametrize(("asked", "line", "mark"), list(cells()))
def test_each_line_beside_each_question_is_done_or_told_not_taken(
    asked: str, line: str, mark: str
) -> None:
    bench = at_question(asked)
    assert became(bench, LINES[line]) == mark
    assert bench.refolded() == bench.state


@pytest.mark.parametrize("asked", QUESTIONS)
@pytest.mark.parametrize("line", LINES)
def test_what_was_not_heard_for_sure_is_never_lost_beside_a_question(asked: str, line: str) -> None:
    bench = at_question(asked)
    question = bench.state.question
    said = bench.say(LINES[line], confidence=UNSURE, words="mumbled")
    outcome = bench.events(e.LineHeard)[-1].outcome
    assert said or outcome == "ignored"
    if bench.state.question == question and outcome != "ignored":
        away = bench.state.standing_by or bench.state.open_note is not None
        assert away or pending_question.again(bench.state) in [r.text for r in bench.replies]


@pytest.mark.parametrize("asked", QUESTIONS)
@pytest.mark.parametrize("line", LINES)
def test_noise_beside_a_question_does_nothing(asked: str, line: str) -> None:
    bench = at_question(asked)
    before = bench.kinds()
    bench.say(LINES[line], confidence=NOISE, words="so it sounds")
    new = bench.kinds()[len(before):]
    assert new in ([], ["answered", "asked"])  # a reason is read back, however badly heard
    question = _asked(asked).state.question
    assert question is not None
    assert not new or kind_of(question) in (*REASONS, OUT_OF_TURN)


def test_every_kind_of_question_is_in_the_table() -> None:
    asked = [_asked(name).state.question for name in QUESTIONS]
    assert {kind_of(question) for question in asked if question is not None} == set(KINDS)


# --- doubtful values in a row -------------------------------------------------------------------


def two_doubts() -> Bench:
    """A vacuum that is asked about, and a liquid line temperature behind it."""
    bench = _after("pull", (_reading("40000"), None))
    said = bench.read(300, "degF", "liquid-temperature")
    assert said.startswith("Liquid line temperature 300 \u00b0F: I ask about that next. 40,000 mic")
    assert bench.events(e.LineHeard)[-1].outcome == "asked-back"
    return bench


def test_a_doubtful_value_is_asked_about_once_the_question_before_is_answered() -> None:
    bench = two_doubts()
    said = bench.say(i.Yes())
    assert said.endswith("Liquid line temperature 300 \u00b0F? Say yes, no, or the value again.")
    assert taken(bench)[-1] == ("vacuum", "40000", "microns")
    bench.say(i.Yes())
    assert taken(bench)[-1] == ("liquid-temperature", "300", "degF")
    assert bench.state.question is None


def test_the_row_lasts_over_a_restart() -> None:
    bench = two_doubts()
    assert "40,000 microns? Say yes" in bench.resume()
    assert "Liquid line temperature 300" in bench.say(i.No())
    assert "Liquid line temperature 300" in bench.resume()


def test_a_newer_doubtful_value_of_the_same_quantity_takes_the_place_of_the_one_in_the_row(
) -> None:
    bench = two_doubts()
    bench.read(290, "degF", "liquid-temperature")
    assert len(bench.state.questions) == 2
    assert "290" in bench.say(i.No())


def test_values_not_confirmed_when_the_job_is_closed_are_told() -> None:
    bench = _after("pull", (i.FinishJob(), None), (i.NotUnderstood("?"), None), (i.No(), None),
                   (i.StopTimer("fire watch"), None), (i.NotUnderstood("?"), None))
    bench.say(i.Yes())
    bench.say(i.FinishJob())
    bench.read(300, "degF", "liquid-temperature")
    assert "300 \u00b0F was not confirmed and is dropped." in bench.say(i.Yes())
    assert bench.state.finished


def test_a_question_asked_at_once_comes_before_those_that_wait() -> None:
    """A yes always answers what was asked last."""
    bench = _after("refrigerant-class", (i.Back(), UNSURE))
    bench.read(300, "degF", "liquid-temperature")
    said = bench.say(i.Choose("not-flammable"))
    assert said.startswith("Not done: back.")
    assert said.endswith("Does the plate say so? Say yes or no.")
    assert bench.say(i.No()).endswith("300 \u00b0F? Say yes, no, or the value again.")


def test_a_waiting_take_back_does_not_take_back_what_is_said_meanwhile() -> None:
    bench = _after("pull", (_reading("900"), None), (i.TakeBack(), UNSURE))
    said = bench.read(118, "psig", "suction-pressure")
    assert said.startswith("Not done: take-back. Suction pressure 118 psig.")
    assert "Nothing was asked." in bench.say(i.Yes())
    assert len(taken(bench)) == 4


# --- when the question is closed ----------------------------------------------------------------


def test_a_step_that_got_all_it_needs_meanwhile_goes_on_once_the_question_is_answered() -> None:
    bench = _after("pull", (i.Back(), UNSURE))
    bench.read(450)
    assert bench.state.step == "pull"
    assert bench.say(i.No()) == "All right, not done. Stand. Start the hold."
    assert bench.state.step == "stand"


def test_a_step_without_what_it_needs_stays() -> None:
    bench = _after("pull", (i.Back(), UNSURE))
    bench.read(900)
    bench.say(i.No())
    assert bench.state.step == "pull"


def test_a_question_about_a_step_goes_with_the_step_when_its_hold_runs_out() -> None:
    bench = _to("stand")
    bench.say(i.StartHold())
    bench.say(i.Skip("no time"))
    said = bench.wait(minutes=10)
    assert "Skip: dropped, as another step is open now." in said
    assert bench.state.step == "add"
    assert "Nothing was asked." in bench.say(i.Yes())
    assert bench.state.step == "add"


def test_a_question_about_a_timer_goes_when_the_timer_is_over() -> None:
    bench = _after("pull", (i.StopTimer("fire watch"), None))
    said = bench.wait(minutes=61)
    assert "That timer is over, so nothing is cut short." in said
    assert bench.state.question is None


def test_a_charge_taken_out_again_answers_the_question_of_the_room() -> None:
    bench = QUESTIONS["room"]()
    said = bench.read(-3, "oz")
    assert said == "-3 oz. Then the room is large enough. Pack up."
    assert bench.state.step == "last"


def test_noise_that_sounds_like_a_reading_is_no_reading_where_a_reason_was_asked_for() -> None:
    bench = QUESTIONS["skip reason"]()
    before = taken(bench)
    bench.read(700, "microns", confidence=NOISE)
    assert taken(bench) == before


def test_work_out_of_turn_goes_on_for_no_noise() -> None:
    """Talk near by, taken for a reason, a name: nothing happens before a yes."""
    for asked in ("why jump", "who", "why short"):
        bench = at_question(asked)
        before = bench.kinds()
        noise = i.NotUnderstood("?", "unknown")
        assert "Is that the" in bench.say(noise, confidence=NOISE, words="is it lunch")
        assert bench.kinds()[len(before):] == ["answered", "asked"]
        bench.say(i.No())
        assert not {"step-skipped", "jumped", "test-carried", "timer-started"}.intersection(
            bench.kinds()[len(before):])


def test_out_of_turn_each_thing_that_takes_a_reason_or_a_name_is_asked_about() -> None:
    asked = [state.question for name in QUESTIONS if (state := _asked(name).state).question]
    waiting = {type(waiting_in(q)) for q in asked if q and kind_of(q) == OUT_OF_TURN}
    assert waiting == {i.GoTo, i.SkipStage, i.CarryTest, i.StartHold}
